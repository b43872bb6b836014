# SPDX-License-Identifier: MIT
"""The three kinds of state there are, behind one door: batch, still, workshop."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from middlecut.app.batch import Batch, evolve, evolve_all, fresh
from middlecut.app.decide import Command, decide, foreseen
from middlecut.app.events import Draft, Event
from middlecut.app.ports import Document
from middlecut.app.projections import documents_of
from middlecut.app.stills import StillState, decide_still, evolve_still
from middlecut.app.workshop import Workshop, decide_workshop, evolve_workshop
from middlecut.errors import NotFoundError

__all__ = [
    "WORKSHOP",
    "State",
    "batch_stream",
    "decide_any",
    "documents_after",
    "evolve_any",
    "fresh_state",
    "still_stream",
]

WORKSHOP = "workshop"
"""The stream of settings and devices."""

State = Batch | StillState | Workshop


def batch_stream(batch: str) -> str:
    """Return the stream of a batch by its id."""
    return f"batch/{batch}"


def still_stream(name: str) -> str:
    """Return the stream of a still by its name."""
    return f"still/{name}"


def fresh_state(stream: str) -> State:
    """Return the state of a stream nothing has happened in.

    Raises
    ------
    NotFoundError
        If a stream cannot have that name.
    """
    kind, _, rest = stream.partition("/")
    if kind == "batch" and rest:
        return fresh(rest)
    if kind == "still" and rest:
        return StillState(rest)
    if stream == WORKSHOP:
        return Workshop()
    raise NotFoundError("stream", stream)


def decide_any(
    state: State, command: Command, *, now: datetime, ids: Callable[[], str]
) -> tuple[Draft, ...]:
    """Decide by the rules of the state's kind; raises as those do."""
    if isinstance(state, Batch):
        return decide(state, command, now=now, ids=ids)
    if isinstance(state, StillState):
        return decide_still(state, command, now=now, ids=ids)
    return decide_workshop(state, command, now=now, ids=ids)


def evolve_any(state: State, events: tuple[Event, ...]) -> State:
    """Return the state after more events."""
    if isinstance(state, Batch):
        return evolve_all(state, events)
    for event in events:
        if isinstance(state, StillState):
            state = evolve_still(state, event)
        else:
            state = evolve_workshop(state, event)
    return state


def documents_after(state: State, drafts: tuple[Draft, ...], now: datetime) -> tuple[Document, ...]:
    """Return the documents that hold once the drafts are in the record."""
    if not isinstance(state, Batch):
        return ()
    for draft in drafts:
        state = evolve(state, foreseen(draft, state, now))
    return documents_of(state)
