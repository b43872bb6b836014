# SPDX-License-Identifier: MIT
"""The record as a person reads it: every event in order, what holds and what was put right."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from middlecut.app.alcohol import AlcoholEntry
from middlecut.app.batch import Batch
from middlecut.app.batch_events import EntryWithdrawn, ReadingCorrected
from middlecut.app.codec import parse_utc
from middlecut.app.events import Body, Event
from middlecut.app.record import Record
from middlecut.app.views.event_words import event_phrase
from middlecut.plan.sheet_parts import Phrase

__all__ = ["AccountLine", "History", "HistoryRow", "account_lines", "batch_history", "history"]

_LATE = timedelta(minutes=1)
PAGE = 100
"""Events of one page."""


@dataclass(frozen=True, slots=True)
class HistoryRow:
    """One event.

    Parameters
    ----------
    event : Event
    where : str
        Batch or still by name; "" for the workshop.
    batch : str
        Id of the batch; "" for none.
    step : str
    phrase : Phrase
        What was done.
    device : str
        Name of the device; "" for this computer.
    state : str
        "holds", "corrected" or "withdrawn".
    by : int
        Sequence of the event that put it right; 0 for none.
    target : int
        Sequence of the event it puts right; 0 for none.
    late : bool
        Whether it reached the record more than a minute after it was typed.
    """

    event: Event
    where: str
    batch: str
    step: str
    phrase: Phrase
    device: str
    state: str
    by: int
    target: int
    late: bool

    @property
    def apart(self) -> bool:
        """Whether it was typed at another time than it is of."""
        return abs(self.event.entered_utc - self.event.utc) >= _LATE

    @property
    def can_withdraw(self) -> bool:
        """Whether it may be undone by a further entry."""
        return self.state == "holds" and self.event.type not in {"batch.opened", "plan.adopted"}


@dataclass(frozen=True, slots=True)
class History:
    """A page of the record, newest first.

    Parameters
    ----------
    rows : tuple of HistoryRow
    total : int
        Events in all.
    older, newer : int
        Where the pages beside it begin; 0 for none.
    """

    rows: tuple[HistoryRow, ...]
    total: int
    older: int
    newer: int


@dataclass(frozen=True, slots=True)
class AccountLine:
    """A line of the account of pure alcohol.

    Parameters
    ----------
    at : datetime
    batch : str
        Id.
    name : str
        Of the batch.
    entry : AlcoholEntry
    """

    at: datetime
    batch: str
    name: str
    entry: AlcoholEntry


def history(record: Record, *, before: int = 0) -> History:
    """Return a page of the whole record, newest first.

    Parameters
    ----------
    record : Record
    before : int
        Sequence that comes after the newest shown; 0 begins at the end.

    Returns
    -------
    page : History
    """
    last = record.store.last_sequence()
    end = min(before - 1, last) if before else last
    start = max(end - PAGE, 0)
    events = record.store.read_all(start, end - start) if end > start else ()
    names = {one.stream for one in events if one.stream.startswith("batch/")}
    batches = {name.partition("/")[2]: record.batch(name.partition("/")[2]) for name in names}
    rows = _rows(events, batches, _devices(record))
    newer = 0 if end >= last else min(end + PAGE, last) + 1
    return History(rows[::-1], last, start + 1 if start else 0, newer)


def batch_history(record: Record, state: Batch) -> tuple[HistoryRow, ...]:
    """Return every event of a batch, the one that was typed last first."""
    events = sorted(
        (entry.event for entry in state.entries.values()),
        key=lambda event: (event.entered_utc, event.sequence),
    )
    return _rows(events, {state.id: state}, _devices(record))[::-1]


def _devices(record: Record) -> Mapping[str, str]:
    return {name: one.paired.name for name, one in record.workshop().devices.items()}


def _rows(
    events: Iterable[Event], batches: Mapping[str, Batch], devices: Mapping[str, str]
) -> tuple[HistoryRow, ...]:
    righted = {id_: _righted(state) for id_, state in batches.items()}
    return tuple(_row(event, batches, devices, righted) for event in events)


def _row(
    event: Event,
    batches: Mapping[str, Batch],
    devices: Mapping[str, str],
    righted: Mapping[str, Mapping[str, tuple[str, int]]],
) -> HistoryRow:
    kind, _, name = event.stream.partition("/")
    state = batches.get(name) if kind == "batch" else None
    target = _target(event.body, state)
    word, by = righted.get(name, {}).get(event.id, ("holds", 0)) if state else ("holds", 0)
    return HistoryRow(
        event=event,
        where=state.name if state else f"still {name}" if kind == "still" else "",
        batch=name if state else "",
        step=_step(event.body) or (_step(target.body) if target else ""),
        phrase=event_phrase(event.body, target.body if target else None),
        device=devices.get(event.who.device, event.who.device),
        state=word,
        by=by,
        target=target.sequence if target else 0,
        late=event.synced_utc - event.entered_utc > _LATE,
    )


def _step(body: Body) -> str:
    return str(getattr(body, "step", None) or "")


def _target(body: Body, state: Batch | None) -> Event | None:
    if state is None or not isinstance(body, EntryWithdrawn | ReadingCorrected):
        return None
    entry = state.entries.get(body.target)
    return entry.event if entry else None


def _righted(state: Batch) -> dict[str, tuple[str, int]]:
    """Return what no longer stands as it was entered: by id, in which way and by which event."""
    found: dict[str, tuple[str, int]] = {}
    for entry in state.entries.values():
        body = entry.event.body
        if entry.holds and isinstance(body, ReadingCorrected):
            found[body.target] = ("corrected", entry.event.sequence)
    withdrawing = {
        entry.event.body.target: entry.event.sequence
        for entry in state.entries.values()
        if isinstance(entry.event.body, EntryWithdrawn)
    }
    for id_, entry in state.entries.items():
        if not entry.holds:
            found[id_] = ("withdrawn", withdrawing.get(id_, 0))
    return found


def account_lines(
    documents: Mapping[str, str], names: Mapping[str, str]
) -> tuple[AccountLine, ...]:
    """Return every line of the account of pure alcohol, oldest first.

    Parameters
    ----------
    documents : mapping of str to str
        Of the projection "alcohol", by batch.
    names : mapping of str to str
        Of batches by id.

    Returns
    -------
    lines : tuple of AccountLine
    """
    lines = [
        AccountLine(parse_utc(entry["utc"]), batch, names.get(batch, batch), entry)
        for batch, text in documents.items()
        for entry in json.loads(text)
    ]
    return tuple(sorted(lines, key=lambda line: (line.at, line.batch)))
