# SPDX-License-Identifier: MIT
"""A record in SQLite (one file) or PostgreSQL, through one writer's door."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, RowMapping, Select, delete, func, insert, select, text
from sqlalchemy.exc import SQLAlchemyError

from middlecut.adapters.appending import (
    Listeners,
    check_expected,
    made_before,
    make_rows,
)
from middlecut.adapters.engines import postgres_engine, sqlite_engine, url_of
from middlecut.adapters.tables import DOCUMENTS, EVENTS
from middlecut.adapters.troubles import cannot_prepare, told
from middlecut.adapters.upgrading import upgrade
from middlecut.app.chain import check_rows
from middlecut.app.codec import ROOT_DIGEST, row_to_mapping, to_event
from middlecut.app.events import Draft, Event, Row
from middlecut.app.ports import Document, Listener
from middlecut.errors import ConflictError

__all__ = ["SqlStore"]

LOCK = 7_023_911
"""Number of PostgreSQL's advisory lock that the one writer at a time holds."""

BATCH = 1000


class SqlStore:
    """Keeps the record in SQL; fulfils the contract of :class:`middlecut.app.ports.Store`.

    Parameters
    ----------
    place : str or pathlib.Path
        A file for SQLite, made with its folder if missing, or postgresql://USER@HOST/DATABASE.

    Raises
    ------
    StoreError
        If the record cannot be opened or is of a newer release.
    InputError
        If the place is neither.
    """

    def __init__(self, place: str | Path) -> None:
        url = url_of(place)
        if url is None:
            path = Path(place).expanduser().absolute()
            self._location = str(path)
            self._prepare_folder(path)
            self._writer = sqlite_engine(path, writer=True)
            self._reader = sqlite_engine(path, writer=False)
        else:
            self._location = url.set(drivername="postgresql").render_as_string(hide_password=True)
            self._writer = self._reader = postgres_engine(url)
        self._lock_first = url is not None
        self._door = threading.Lock()
        self._listeners = Listeners()
        try:
            with self._writing() as connection:
                upgrade(connection)
        except BaseException:
            self.close()
            raise

    @property
    def location(self) -> str:
        """Where the record is; without passwords."""
        return self._location

    def _prepare_folder(self, path: Path) -> None:
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise cannot_prepare(path, error) from error

    @contextlib.contextmanager
    def _speaking(self, engine: Engine) -> Iterator[Connection]:
        """Give a connection within a transaction; turn the database's errors into sentences."""
        try:
            with engine.begin() as connection:
                yield connection
        except SQLAlchemyError as error:
            raise told(error, self._location) from error

    @contextlib.contextmanager
    def _writing(self) -> Iterator[Connection]:
        """Give the one connection that may write; nobody else writes meanwhile."""
        with self._door, self._speaking(self._writer) as connection:
            if self._lock_first:
                connection.execute(text(f"SELECT pg_advisory_xact_lock({LOCK})"))
            yield connection

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
        with self._writing() as connection:
            known = _rows(connection, _of_key(idempotency_key))
            if known:
                return made_before(known, stream, drafts)
            version = _version(connection, stream)
            check_expected(stream, expected_version, version, len(drafts))
            rows = make_rows(
                drafts,
                stream=stream,
                version=version,
                last=_last(connection),
                key=idempotency_key,
                synced_utc=synced_utc,
            )
            events = tuple(to_event(row) for row in rows)
            connection.execute(insert(EVENTS), [row_to_mapping(row) for row in rows])
            for document in documents:
                _put(connection, document)
        # The transaction is committed: what is told is on disk.
        self._listeners.tell(events)
        return events

    def find_key(self, idempotency_key: str) -> tuple[Event, ...]:
        """Return the events a key made; none if it was never used."""
        return self._events(_of_key(idempotency_key))

    def read_stream(self, stream: str, after: int = 0) -> tuple[Event, ...]:
        """Return the events of a stream with versions above ``after``."""
        wanted = select(EVENTS).where(EVENTS.c.stream == stream, EVENTS.c.version > after)
        return self._events(wanted.order_by(EVENTS.c.version))

    def read_all(self, after: int = 0, limit: int | None = None) -> tuple[Event, ...]:
        """Return the events of the record with sequences above ``after``."""
        return self._events(_after(after).limit(limit))

    def _events(self, wanted: Select[Any]) -> tuple[Event, ...]:
        with self._speaking(self._reader) as connection:
            rows = _rows(connection, wanted)
        return tuple(to_event(row) for row in rows)

    def rows(self, after: int = 0) -> Iterator[Row]:
        """Give the rows of the record as they are kept, a thousand at a time."""
        while True:
            with self._speaking(self._reader) as connection:
                found = _rows(connection, _after(after).limit(BATCH))
            yield from found
            if len(found) < BATCH:
                return
            after = found[-1].sequence

    def last_sequence(self) -> int:
        """Return the sequence of the last event; 0 for an empty record."""
        with self._speaking(self._reader) as connection:
            return _last(connection)[0]

    def streams(self, kind: str) -> tuple[str, ...]:
        """Return the streams of a kind, in the order of their first events."""
        mine = (EVENTS.c.stream == kind) | EVENTS.c.stream.startswith(f"{kind}/", autoescape=True)
        wanted = select(EVENTS.c.stream).where(mine, EVENTS.c.version == 1)
        with self._speaking(self._reader) as connection:
            return tuple(connection.execute(wanted.order_by(EVENTS.c.sequence)).scalars())

    def documents(self, name: str) -> Mapping[str, str]:
        """Return the documents of a projection by key."""
        wanted = select(DOCUMENTS.c.key, DOCUMENTS.c.content).where(DOCUMENTS.c.name == name)
        with self._speaking(self._reader) as connection:
            return {str(row.key): str(row.content) for row in connection.execute(wanted)}

    def replace_documents(self, documents: Iterable[Document], sequence: int) -> None:
        """Put these in the place of all documents; ConflictError if the record has grown on."""
        with self._writing() as connection:
            if _last(connection)[0] != sequence:
                raise ConflictError("The record has grown on; compute the documents again.")
            connection.execute(delete(DOCUMENTS))
            for document in documents:
                _put(connection, document)

    def load_rows(self, rows: Iterable[Row]) -> int:
        """Fill an empty record with rows, digests checked; return how many. All or none."""
        count = 0
        with self._writing() as connection:
            if _last(connection)[0]:
                raise ConflictError("Only an empty record can be filled.")
            for row in check_rows(rows):
                connection.execute(insert(EVENTS), row_to_mapping(row))
                count += 1
        return count

    def subscribe(self, listener: Listener) -> Callable[[], None]:
        """Call ``listener`` after each commit of this process; return what ends that."""
        return self._listeners.add(listener)

    def close(self) -> None:
        """Let go of files and connections."""
        self._reader.dispose()
        self._writer.dispose()


def _of_key(key: str) -> Select[Any]:
    return select(EVENTS).where(EVENTS.c.key == key).order_by(EVENTS.c.part)


def _after(sequence: int) -> Select[Any]:
    return select(EVENTS).where(EVENTS.c.sequence > sequence).order_by(EVENTS.c.sequence)


def _rows(connection: Connection, wanted: Select[Any]) -> list[Row]:
    return [_row(found) for found in connection.execute(wanted).mappings()]


def _row(found: RowMapping) -> Row:
    return Row(**{str(name): value for name, value in found.items()})


def _version(connection: Connection, stream: str) -> int:
    wanted = select(func.max(EVENTS.c.version)).where(EVENTS.c.stream == stream)
    return connection.execute(wanted).scalar() or 0


def _last(connection: Connection) -> tuple[int, str]:
    wanted = select(EVENTS.c.sequence, EVENTS.c.digest).order_by(EVENTS.c.sequence.desc()).limit(1)
    found = connection.execute(wanted).first()
    return (found.sequence, found.digest) if found else (0, ROOT_DIGEST)


def _put(connection: Connection, document: Document) -> None:
    here = (DOCUMENTS.c.name == document.name) & (DOCUMENTS.c.key == document.key)
    connection.execute(delete(DOCUMENTS).where(here))
    connection.execute(
        insert(DOCUMENTS),
        {"name": document.name, "key": document.key, "content": document.content},
    )
