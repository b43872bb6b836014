# SPDX-License-Identifier: MIT
"""What goes back together: a cut and the power set with it, a start and the heat put on."""

from __future__ import annotations

from dataclasses import replace

from middlecut.app.batch import Batch
from middlecut.app.batch_events import EntryWithdrawn, StepStarted
from middlecut.app.events import Event
from middlecut.app.spirit_events import CutCalled, PowerSet

__all__ = ["withdrawals"]


def withdrawals(
    state: Batch, target: str, reason: str = "", key: str = ""
) -> tuple[EntryWithdrawn, ...]:
    """Return the withdrawals that undo what was entered in one go.

    Parameters
    ----------
    state : Batch
    target : str
        Id of the entry: one that holds, or a withdrawal that is to be taken back.
    reason : str
    key : str
        Of the entry that undoes; where it is in the record already, what it undid is returned.

    Returns
    -------
    bodies : tuple of EntryWithdrawn
        In an order in which each can be carried out.
    """
    kept = tuple(
        one.event.body
        for one in state.entries.values()
        if key and one.event.key == key and isinstance(one.event.body, EntryWithdrawn)
    )
    if any(one.target == target for one in kept):
        return tuple(replace(one, reason=reason) for one in kept)
    entry = state.entries.get(target)
    others = () if entry is None else _along(state, entry.event)
    first = EntryWithdrawn(target, reason)
    rest = tuple(EntryWithdrawn(one.id, reason) for one in others)
    # What rests on a start goes before it, and comes back after it.
    return (first, *rest) if entry and _undoes(entry.event) else (*rest, first)


def _undoes(event: Event) -> bool:
    return isinstance(event.body, EntryWithdrawn)


def _along(state: Batch, event: Event) -> list[Event]:
    """Return the settings of the power entered with a cut or a start, and their withdrawals."""
    if not event.key:
        return []
    twins = [
        entry.event
        for entry in state.entries.values()
        if entry.holds and entry.event.key == event.key and entry.event.id != event.id
    ]
    if isinstance(event.body, CutCalled | StepStarted):
        return [one for one in twins if isinstance(one.body, PowerSet)]
    if isinstance(event.body, EntryWithdrawn) and _is_head(state, event.body.target):
        return [one for one in twins if _undoes(one)]
    return []


def _is_head(state: Batch, target: str) -> bool:
    entry = state.entries.get(target)
    return entry is not None and isinstance(entry.event.body, CutCalled | StepStarted)
