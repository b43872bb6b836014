# SPDX-License-Identifier: MIT
"""Which fits of its stills a batch is predicted with: those known when its runs began."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from functools import lru_cache

from middlecut.app.batch import Batch
from middlecut.app.expectation import StillFit, expect, read_plan
from middlecut.app.reasons import reason_of
from middlecut.app.record import Record
from middlecut.app.shop_events import StillCalibrated, StillDescribed
from middlecut.app.states import still_stream
from middlecut.errors import ConvergenceError, InputError, NotFoundError, PlanError
from middlecut.insight.calibrated import CalibratedStill, parse_still
from middlecut.steps.parameters import Distil

__all__ = ["fits_of"]


def fits_of(record: Record, state: Batch) -> tuple[StillFit, ...]:
    """Return the kept fits that a batch is predicted with.

    Of each still that runs in the batch it is the last fit to be trusted that was kept before the
    first of those runs began, so that no run is ever predicted from its own readings and no
    prediction moves afterwards; and only while the plan describes the still as it was then.

    Parameters
    ----------
    record : Record
    state : Batch

    Returns
    -------
    fits : tuple of StillFit
        Empty where there are none, or the plan cannot be read. Where the plan cannot be carried out
        with one, that one says why and is left out of the prediction.
    """
    if state.plan is None:
        return ()
    try:
        plan = read_plan(state.plan.text)
    except PlanError:
        return ()
    started = {one.outline.step: one.started for one in state.steps()}
    begun: dict[str, list[datetime]] = {}
    for step in plan.steps:
        if isinstance(step, Distil):
            at = started.get(step.id)
            begun.setdefault(step.still, []).extend([] if at is None else [at])
    found: list[StillFit] = []
    for name, moments in begun.items():
        kept = _last_kept(record, name, min(moments, default=None))
        fitted = _parsed(kept.document) if kept else None
        # A plan that describes the still as fitted is predicted with the fit as it is.
        if kept and fitted and plan.stills[name] == fitted.described != fitted.still:
            found.append(StillFit(name, kept.batch, _name(record, kept.batch), kept.document))
    return _carried_out(state.plan.text, tuple(found))


def _last_kept(record: Record, name: str, before: datetime | None) -> StillCalibrated | None:
    """Return the last fit to be trusted of a still, of those kept before a moment."""
    last: StillCalibrated | None = None
    for event in record.store.read_stream(still_stream(name)):
        if before is not None and event.utc >= before:
            continue
        if isinstance(event.body, StillDescribed):
            last = None
        elif isinstance(event.body, StillCalibrated) and event.body.trustworthy:
            last = event.body
    return last


@lru_cache(maxsize=16)
def _parsed(document: str) -> CalibratedStill | None:
    try:
        return parse_still(document, "calibration")
    except InputError:
        return None


def _name(record: Record, batch: str) -> str:
    try:
        return record.batch(batch).name
    except NotFoundError:
        return ""


def _carried_out(text: str, fits: tuple[StillFit, ...]) -> tuple[StillFit, ...]:
    if not fits:
        return ()
    try:
        expect(text, fits)
    except (PlanError, ConvergenceError, InputError) as error:
        return tuple(replace(one, trouble=reason_of(error)) for one in fits)
    return fits
