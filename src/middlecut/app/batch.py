# SPDX-License-Identifier: MIT
"""A batch being carried out: what holds now, and what each event changes of it.

State is a fold of events; nothing here reads a clock, makes an id or touches a disk. Which new
events may follow is decided in :mod:`middlecut.app.decide`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from types import MappingProxyType
from typing import TypeVar

from middlecut.app.batch_events import (
    BatchClosed,
    BatchOpened,
    EntryWithdrawn,
    PlanAdopted,
    ReadingCorrected,
    ReadingTaken,
    StepFinished,
    StepOutline,
    StepStarted,
)
from middlecut.app.events import Body, Event
from middlecut.app.spirit_events import JarFilled

__all__ = ["Batch", "Entry", "Reading", "StepState", "evolve", "evolve_all", "fresh", "replay"]

Kind = TypeVar("Kind", bound=Body)


@dataclass(frozen=True, slots=True)
class Entry:
    """One event of the batch and whether it holds.

    Parameters
    ----------
    event : Event
    holds : bool
        False while it is withdrawn.
    """

    event: Event
    holds: bool = True


@dataclass(frozen=True, slots=True)
class Reading:
    """A reading with its last correction applied.

    Parameters
    ----------
    id : str
        Of the first event; a further correction points at it.
    utc : datetime
    taken : ReadingTaken
        With the corrected values.
    corrected_by : str or None
        Id of the correction that holds.
    """

    id: str
    utc: datetime
    taken: ReadingTaken
    corrected_by: str | None = None


@dataclass(frozen=True, slots=True)
class StepState:
    """Where a step of the plan stands.

    Parameters
    ----------
    outline : StepOutline
    started, finished : datetime or None
    """

    outline: StepOutline
    started: datetime | None = None
    finished: datetime | None = None

    @property
    def word(self) -> str:
        """planned, under way or done."""
        if self.finished is not None:
            return "done"
        return "planned" if self.started is None else "under way"


@dataclass(frozen=True, slots=True)
class Batch:
    """The state of a batch.

    Parameters
    ----------
    id : str
        The part of the stream's id after the slash.
    version : int
        Of the last event that went in; 0 before the first.
    entries : mapping of str to Entry
        Every event by its id, in order.
    by_type : mapping of str to tuple of str
        The ids of the events of each type, in order: what is asked for most is found at once.
    """

    id: str
    version: int = 0
    entries: Mapping[str, Entry] = field(default_factory=lambda: MappingProxyType({}))
    by_type: Mapping[str, tuple[str, ...]] = field(default_factory=lambda: MappingProxyType({}))

    def holding(self) -> Iterator[Event]:
        """Give the events that hold, in order."""
        return (entry.event for entry in self.entries.values() if entry.holds)

    def of(self, kind: type[Kind]) -> tuple[tuple[Event, Kind], ...]:
        """Return the events of one kind that hold, each with its body."""
        entries = (self.entries[one] for one in self.by_type.get(kind.NAME, ()))
        return tuple(
            (entry.event, entry.event.body)
            for entry in entries
            if entry.holds and isinstance(entry.event.body, kind)
        )

    @property
    def name(self) -> str:
        """The person's name for it; "" before it is opened."""
        return next((body.name for _, body in self.of(BatchOpened)), "")

    @property
    def plan(self) -> PlanAdopted | None:
        """The plan that holds."""
        plans = self.of(PlanAdopted)
        return plans[-1][1] if plans else None

    @property
    def closed(self) -> bool:
        """Whether the batch is over."""
        return bool(self.of(BatchClosed))

    def steps(self) -> tuple[StepState, ...]:
        """Return where each step of the plan stands, in the plan's order."""
        plan = self.plan
        started = {body.step: event.utc for event, body in self.of(StepStarted)}
        finished = {body.step: event.utc for event, body in self.of(StepFinished)}
        return tuple(
            StepState(one, started.get(one.step), finished.get(one.step))
            for one in (plan.steps if plan else ())
        )

    def readings(self, step: str | None = None) -> tuple[Reading, ...]:
        """Return the readings that hold, corrected, in the order they were taken."""
        corrections = {body.target: (event.id, body) for event, body in self.of(ReadingCorrected)}
        found = [
            _corrected(Reading(event.id, event.utc, body), corrections.get(event.id))
            for event, body in self.of(ReadingTaken)
            if step in (None, body.step)
        ]
        return tuple(sorted(found, key=lambda reading: reading.utc))

    def jars(self, step: str | None = None) -> tuple[JarFilled, ...]:
        """Return the jars that were filled."""
        return tuple(body for _, body in self.of(JarFilled) if step in (None, body.step))


def _corrected(reading: Reading, correction: tuple[str, ReadingCorrected] | None) -> Reading:
    if correction is None:
        return reading
    by, body = correction
    taken = replace(
        reading.taken,
        value=body.value,
        temperature=body.temperature,
        reference=body.reference,
        uncertainty=body.uncertainty,
        as_entered=body.as_entered,
    )
    when = reading.utc + timedelta(seconds=body.later)
    return replace(reading, utc=when, taken=taken, corrected_by=by)


def fresh(batch_id: str) -> Batch:
    """Return a batch nothing has happened to."""
    return Batch(batch_id)


def _put(entries: dict[str, Entry], event: Event) -> None:
    entries[event.id] = Entry(event)
    if isinstance(event.body, EntryWithdrawn):
        _set_holds(entries, event.body.target, holds=False)


def _set_holds(entries: dict[str, Entry], target: str, *, holds: bool) -> None:
    entry = entries.get(target)
    while entry is not None and entry.holds != holds:
        entries[entry.event.id] = replace(entry, holds=holds)
        # Withdrawing a withdrawal puts back what that one took away.
        if not isinstance(entry.event.body, EntryWithdrawn):
            return
        entry, holds = entries.get(entry.event.body.target), not holds


def evolve(state: Batch, event: Event) -> Batch:
    """Return the state after one more event.

    Parameters
    ----------
    state : Batch
    event : Event
        Whatever is in the record; it is not judged again.

    Returns
    -------
    state : Batch
        A new one; the given one is left alone.
    """
    return evolve_all(state, (event,))


def replay(batch_id: str, events: Iterable[Event]) -> Batch:
    """Return the state after all the events of a stream: the fold of :func:`evolve`, in one go."""
    return evolve_all(fresh(batch_id), events)


def evolve_all(state: Batch, events: Iterable[Event]) -> Batch:
    """Return the state after more events, in one go."""
    entries = dict(state.entries)
    added: dict[str, list[str]] = {}
    version = state.version
    for event in events:
        _put(entries, event)
        added.setdefault(event.type, []).append(event.id)
        version = event.version
    by_type = dict(state.by_type)
    for kind, ids in added.items():
        by_type[kind] = (*by_type.get(kind, ()), *ids)
    return Batch(state.id, version, MappingProxyType(entries), MappingProxyType(by_type))
