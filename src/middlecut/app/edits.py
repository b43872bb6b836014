# SPDX-License-Identifier: MIT
"""Edits that must not overwrite: kept only if nobody changed the same thing since it was seen."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from middlecut.app.events import Body, Event
from middlecut.app.record import Entry, Record
from middlecut.app.use_cases import note
from middlecut.errors import ConflictError

__all__ = ["OVERTAKEN", "keep_edit"]

OVERTAKEN = (
    "Somebody else changed this after you opened the page. Nothing of yours was kept yet: both "
    "stand here, choose and save again."
)


def keep_edit(
    record: Record,
    batch: str,
    *bodies: Body,
    same: Callable[[Body], bool],
    seen: int | None,
    entry: Entry,
) -> tuple[Event, ...]:
    """Record an edit unless the same thing was edited since it was seen.

    Unlike :attr:`Entry.seen`, other entries of the batch do not stand in the way: on a bench with
    two devices a reading comes in every minute.

    Parameters
    ----------
    record : Record
    batch : str
    *bodies : Body
    same : callable
        Whether an entry is about the same thing.
    seen : int or None
        Version of the batch the person was looking at; None: whatever it is now.
    entry : Entry

    Returns
    -------
    later : tuple of Event
        What somebody else entered about the same thing, oldest first; nothing was kept then. Empty
        when the edit is in the record.

    Raises
    ------
    InputError, NotFoundError, ConflictError, StoreError
        As :func:`middlecut.app.use_cases.note`.
    """
    while True:
        state = record.batch(batch)
        later = tuple(
            event
            for event in state.holding()
            if seen is not None and event.version > seen and same(event.body)
        )
        if later and not (entry.key and any(event.key == entry.key for event in later)):
            return later
        try:
            note(record, batch, *bodies, entry=replace(entry, seen=state.version))
        except ConflictError:
            # A reading came in between the look and the write: look again.
            if record.batch(batch).version == state.version:
                raise
        else:
            return ()
