# SPDX-License-Identifier: MIT
"""What the app needs from outside, as protocols: a store, a clock, ids.

The contract of a store (one suite checks it on every store):

- Events of a stream have versions 1, 2, 3 …; those of the whole record sequences 1, 2, 3 …, in the
  order in which they became visible. Nothing is ever changed or deleted.
- ``append`` keeps all drafts or none, and when it returns they are on disk.
- A version that somebody else was first with raises ConflictError and keeps nothing.
- A key that was used before gives back what it made then and keeps nothing more; for another
  stream or other bodies it raises ConflictError.
- Documents are written in the same transaction as the events they were computed from.
- What cannot be read or written raises StoreError in words for the person.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Protocol

from middlecut.app.events import Draft, Event, Row

__all__ = ["Clock", "Document", "Ids", "Listener", "Restored", "Shelf", "Store"]

Listener = Callable[[tuple[Event, ...]], None]


@dataclass(frozen=True, slots=True)
class Document:
    """A piece of a projection.

    Parameters
    ----------
    name : str
        Of the projection.
    key : str
        Of the piece, such as a batch's id.
    content : str
        Canonical JSON.
    """

    name: str
    key: str
    content: str


class Clock(Protocol):
    """Tells the time."""

    def now(self) -> datetime:
        """Return the time with its zone."""


class Ids(Protocol):
    """Makes ids."""

    def new(self) -> str:
        """Return an id nobody else has."""


class Store(Protocol):
    """Keeps the record."""

    @property
    def location(self) -> str:
        """Where the record is, for the person; without passwords."""

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

    def find_key(self, idempotency_key: str) -> tuple[Event, ...]:
        """Return the events a key made; none if it was never used."""

    def read_stream(self, stream: str, after: int = 0) -> tuple[Event, ...]:
        """Return the events of a stream with versions above ``after``."""

    def read_all(self, after: int = 0, limit: int | None = None) -> tuple[Event, ...]:
        """Return the events of the record with sequences above ``after``."""

    def rows(self, after: int = 0) -> Iterator[Row]:
        """Give the rows of the record as they are kept, not judged."""

    def last_sequence(self) -> int:
        """Return the sequence of the last event; 0 for an empty record."""

    def streams(self, kind: str) -> tuple[str, ...]:
        """Return the streams of a kind ("batch"), in the order of their first events."""

    def documents(self, name: str) -> Mapping[str, str]:
        """Return the documents of a projection by key."""

    def replace_documents(self, documents: Iterable[Document], sequence: int) -> None:
        """Put these in the place of all documents; ConflictError if the record has grown on."""

    def load_rows(self, rows: Iterable[Row]) -> int:
        """Fill an empty record with rows, digests checked; return how many. All or none."""

    def subscribe(self, listener: Listener) -> Callable[[], None]:
        """Call ``listener`` after each commit of this process; return what ends that."""

    def close(self) -> None:
        """Let go of files and connections."""


@dataclass(frozen=True, slots=True)
class Restored:
    """What a restore did.

    Parameters
    ----------
    events : int
        Now in the record.
    location : str
        Where that is.
    set_aside : str
        Where the record that was there before is now; "" if there was none.
    """

    events: int
    location: str
    set_aside: str = ""


class Shelf(Protocol):
    """Knows where records are and how to open, copy and put them back."""

    def default_place(self) -> str:
        """Return where the record is when nobody says otherwise."""

    def open(self, place: str | None = None, *, make: bool = True) -> Store:
        """Open a record; with ``make`` a new one if there is none, else NotFoundError."""

    def back_up(self, store: Store, file: Path, *, force: bool = False) -> int:
        """Write the whole record into one file; return how many events it has."""

    def restore(self, file: Path, place: str | None = None, *, force: bool = False) -> Restored:
        """Put a backup, or an export in JSON Lines, in the place of the record."""
