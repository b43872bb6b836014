# SPDX-License-Identifier: MIT
"""What every store does alike when it appends or loads: the rules of the port, on plain rows."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime

from middlecut.app.codec import to_event, to_row
from middlecut.app.events import Draft, Event, Row
from middlecut.app.ports import Listener
from middlecut.errors import ConflictError, StoreError

__all__ = ["Listeners", "check_expected", "made_before", "make_rows"]


def made_before(found: Sequence[Row], stream: str, drafts: Sequence[Draft]) -> tuple[Event, ...]:
    """Return what a key made before, or raise ConflictError if that was something else."""
    events = tuple(to_event(row) for row in found)
    same = [event.body for event in events] == [draft.body for draft in drafts]
    if events and not (same and events[0].stream == stream):
        raise ConflictError(
            "That entry's key was already used for something else; it was not kept. Enter it again."
        )
    return events


def check_expected(stream: str, expected_version: int, version: int, drafts: int) -> None:
    """Refuse a stale version.

    Raises
    ------
    ConflictError
        If the stream has gone on.
    StoreError
        If nothing is to be appended.
    """
    if not drafts:
        raise StoreError("Nothing was given to be kept.")
    if version != expected_version:
        raise ConflictError(
            f"Somebody else was first: {stream} is at version {version}, the change was made for "
            f"version {expected_version}."
        )


def make_rows(
    drafts: Sequence[Draft],
    *,
    stream: str,
    version: int,
    last: tuple[int, str],
    key: str,
    synced_utc: datetime,
) -> tuple[Row, ...]:
    """Return the rows of drafts that go at the end of the record.

    Parameters
    ----------
    drafts : sequence of Draft
    stream : str
    version : int
        Of the stream before them.
    last : tuple of (int, str)
        Sequence and digest of the record's last row.
    key : str
    synced_utc : datetime

    Returns
    -------
    rows : tuple of Row
    """
    sequence, digest = last
    rows: list[Row] = []
    for part, draft in enumerate(drafts):
        row = to_row(
            draft,
            sequence=sequence + part + 1,
            stream=stream,
            version=version + part + 1,
            synced_utc=synced_utc,
            key=key,
            part=part,
            digest_before=digest,
        )
        digest = row.digest
        rows.append(row)
    return tuple(rows)


class Listeners:
    """Those who want to hear of every commit."""

    def __init__(self) -> None:
        self._all: list[Listener] = []

    def add(self, listener: Listener) -> Callable[[], None]:
        """Add one; return what takes it away again."""
        self._all.append(listener)

        def leave() -> None:
            if listener in self._all:
                self._all.remove(listener)

        return leave

    def tell(self, events: tuple[Event, ...]) -> None:
        """Tell everyone of events that are in the record."""
        for listener in tuple(self._all):
            listener(events)
