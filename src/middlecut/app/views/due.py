# SPDX-License-Identifier: MIT
"""What is due: the dates of the shed, with those of a fermentation from its own forecast.

The record keeps the dates of a plan. A fermentation does not keep to them, so its dates are those
that its page shows: by its readings, or by the usual course where there are none.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta, tzinfo

from middlecut.app.batch import Batch, StepState
from middlecut.app.expectation import read_plan
from middlecut.app.outline import FIRST_TASTE, late_addition, waiting_due
from middlecut.app.projections import DueItem, ShedRow, arranged, shed, when_word
from middlecut.app.record import Record
from middlecut.app.spirit_events import WoodSampled
from middlecut.app.views.ferment import additions_made, fermentation_now
from middlecut.errors import MiddlecutError
from middlecut.insight.fermentation_forecast import FermentationForecast
from middlecut.steps.band import Band
from middlecut.steps.parameters import Ferment, Steep, Wood

__all__ = ["SILENCE", "shed_rows"]

SILENCE = timedelta(days=2)
"""After so long without a gravity one is asked for; our choice."""
_DATED = ("ferment", "steep", "wood")
"""Kinds of steps that take days."""


def shed_rows(record: Record, *, now: datetime, zone: tzinfo = UTC) -> tuple[ShedRow, ...]:
    """Return the shed list with every date as the page of its step has it.

    Parameters
    ----------
    record : Record
    now : datetime
    zone : tzinfo
        In which "today" is meant.

    Returns
    -------
    rows : tuple of ShedRow
        Open batches by what is due, then by when they were last touched; closed ones at the end.
    """
    rows = shed(record.store.documents("shed"), now=now, zone=zone)
    return arranged(_refreshed(record, row, now, zone) for row in rows)


def _refreshed(record: Record, row: ShedRow, now: datetime, zone: tzinfo) -> ShedRow:
    busy = [step for step, kind, word in row.steps if kind in _DATED and word == "under way"]
    if row.closed or not busy:
        return row
    items = list(row.due)
    try:
        state = record.batch(row.batch)
        for where in state.steps():
            if where.outline.step in busy:
                dates = _of_fermentation if where.outline.kind == "ferment" else _of_waiting
                found = tuple(dates(state, where, now, zone))
                items = [one for one in items if one.step != where.outline.step]
                items.extend(found)
    except MiddlecutError:
        # Such as a plan of another release: its own dates stand, and its pages say what is wrong.
        return row
    return row.with_due(items)


def _of_fermentation(
    state: Batch, where: StepState, now: datetime, zone: tzinfo
) -> Iterator[DueItem]:
    start = where.started
    plan = None if state.plan is None else read_plan(state.plan.text)
    step = None if plan is None else plan.step(where.outline.step)
    if start is None or plan is None or not isinstance(step, Ferment):
        return
    found = fermentation_now(state, plan, where, now)
    begun = start

    def item(key: str, what: str, due: Band, later: float = 0.0) -> DueItem:
        low, at, high = (
            begun + timedelta(seconds=max(value, 0.0) + later)
            for value in (due.low, due.median, due.high)
        )
        return DueItem(step.id, what, at, when_word(at, now, zone), low, high, key)

    made = additions_made(state, step.id)
    planned = [one for one in step.additions if one.attenuation is not None or one.time is not None]
    for one, late in zip(planned, found.additions, strict=True):
        if one.ingredient.name not in made and late.due.median > 0.0:
            key = f"addition {one.ingredient.name}"
            yield item(key, late_addition(one), late.due)
    seen = _seen_done(found)
    if not seen:
        yield item("done", "the fermentation should be done: read the gravity", found.done)
        yield from _silence(step.id, found, begun, now, zone)
    if step.settling:
        yield item("clear", "the wash should be clear: draw it off", found.done, step.settling)
    elif seen:
        yield item("end", "the fermentation is done: draw it off and end the step", found.done)


def _of_waiting(state: Batch, where: StepState, now: datetime, zone: tzinfo) -> Iterator[DueItem]:
    start = where.started
    step = None if state.plan is None else read_plan(state.plan.text).step(where.outline.step)
    if start is None or not isinstance(step, Steep | Wood):
        return
    sampled = any(
        body.step == step.id and event.utc > start for event, body in state.of(WoodSampled)
    )
    for one in waiting_due(step):
        if one.what == FIRST_TASTE and sampled:
            continue
        at = start + timedelta(seconds=one.after)
        yield DueItem(step.id, one.what, at, when_word(at, now, zone))


def _seen_done(found: FermentationForecast) -> bool:
    """Whether a reading was taken after the fermentation was done by its readings."""
    return found.by_readings and found.used[-1].time >= found.done.median


def _silence(
    step: str, found: FermentationForecast, start: datetime, now: datetime, zone: tzinfo
) -> Iterator[DueItem]:
    last = found.used[-1].time if found.used else 0.0
    heard = start + timedelta(seconds=last)
    days = math.floor((now - heard) / timedelta(days=1))
    if now - heard >= SILENCE:
        at = heard + SILENCE
        what = f"{days} days without a reading: read the gravity"
        yield DueItem(step, what, at, when_word(at, now, zone), key="silence")
