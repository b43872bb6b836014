# SPDX-License-Identifier: MIT
"""A record that lives as long as the process: for tests and for trying things out."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import datetime

from middlecut.adapters.appending import (
    Listeners,
    check_expected,
    made_before,
    make_rows,
)
from middlecut.app.chain import check_rows
from middlecut.app.codec import ROOT_DIGEST, to_event
from middlecut.app.events import Draft, Event, Row
from middlecut.app.ports import Document, Listener
from middlecut.errors import ConflictError, StoreError

__all__ = ["MemoryStore"]


class MemoryStore:
    """Keeps rows in a list; fulfils the contract of :class:`middlecut.app.ports.Store`."""

    def __init__(self) -> None:
        self._rows: list[Row] = []
        self._documents: dict[tuple[str, str], str] = {}
        self._listeners = Listeners()
        self._door = threading.Lock()

    @property
    def location(self) -> str:
        """Where the record is."""
        return "memory only"

    def append(
        self,
        stream: str,
        expected_version: int,
        drafts: Sequence[Draft],
        idempotency_key: str,
        *,
        synced_utc: datetime,
        documents: Sequence[Document] = (),
    ) -> tuple[Event, ...]:
        """Keep drafts at the end of a stream, or return what the key made before."""
        with self._door:
            known = [row for row in self._rows if row.key == idempotency_key]
            if known:
                return made_before(known, stream, drafts)
            version = sum(row.stream == stream for row in self._rows)
            check_expected(stream, expected_version, version, len(drafts))
            last = self._rows[-1] if self._rows else None
            rows = make_rows(
                drafts,
                stream=stream,
                version=version,
                last=(last.sequence, last.digest) if last else (0, ROOT_DIGEST),
                key=idempotency_key,
                synced_utc=synced_utc,
            )
            taken = {row.id for row in self._rows}
            if taken & {row.id for row in rows} or len({row.id for row in rows}) != len(rows):
                raise StoreError("An event of that id is already in the record.")
            events = tuple(to_event(row) for row in rows)
            self._rows.extend(rows)
            self._documents.update({(one.name, one.key): one.content for one in documents})
        self._listeners.tell(events)
        return events

    def find_key(self, idempotency_key: str) -> tuple[Event, ...]:
        """Return the events a key made; none if it was never used."""
        return tuple(to_event(row) for row in self.rows() if row.key == idempotency_key)

    def read_stream(self, stream: str, after: int = 0) -> tuple[Event, ...]:
        """Return the events of a stream with versions above ``after``."""
        return tuple(
            to_event(row) for row in self.rows() if row.stream == stream and row.version > after
        )

    def read_all(self, after: int = 0, limit: int | None = None) -> tuple[Event, ...]:
        """Return the events of the record with sequences above ``after``."""
        with self._door:
            return tuple(to_event(row) for row in self._rows[after:][:limit])

    def rows(self, after: int = 0) -> Iterator[Row]:
        """Give the rows of the record as they are kept."""
        with self._door:
            return iter(tuple(self._rows[after:]))

    def last_sequence(self) -> int:
        """Return the sequence of the last event; 0 for an empty record."""
        return len(self._rows)

    def streams(self, kind: str) -> tuple[str, ...]:
        """Return the streams of a kind, in the order of their first events."""
        found = (row.stream for row in self.rows() if row.stream.partition("/")[0] == kind)
        return tuple(dict.fromkeys(found))

    def documents(self, name: str) -> Mapping[str, str]:
        """Return the documents of a projection by key."""
        with self._door:
            kept = self._documents.items()
            return {key: content for (of, key), content in kept if of == name}

    def replace_documents(self, documents: Iterable[Document], sequence: int) -> None:
        """Put these in the place of all documents; ConflictError if the record has grown on."""
        with self._door:
            if len(self._rows) != sequence:
                raise ConflictError("The record has grown on; compute the documents again.")
            self._documents = {(one.name, one.key): one.content for one in documents}

    def load_rows(self, rows: Iterable[Row]) -> int:
        """Fill an empty record with rows, digests checked; return how many."""
        with self._door:
            if self._rows:
                raise ConflictError("Only an empty record can be filled.")
            self._rows = list(check_rows(rows))
            return len(self._rows)

    def subscribe(self, listener: Listener) -> Callable[[], None]:
        """Call ``listener`` after each commit; return what ends that."""
        return self._listeners.add(listener)

    def close(self) -> None:
        """Nothing is held."""
