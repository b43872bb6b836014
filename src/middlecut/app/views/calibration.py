# SPDX-License-Identifier: MIT
"""What a finished run says of its still: readings of the record, given to the fit."""

from __future__ import annotations

import json
from datetime import datetime
from functools import lru_cache

from middlecut.app.events import Event
from middlecut.app.expectation import read_plan
from middlecut.app.record import Entry, Record
from middlecut.app.shop_events import FittedValue, StillCalibrated
from middlecut.app.states import still_stream
from middlecut.app.use_cases import describe_still
from middlecut.app.views.charge import ChargeKey, loaded_charge, planned_charge
from middlecut.app.views.frame import StepFrame
from middlecut.app.views.readings import power_shares, run_readings
from middlecut.app.views.run import RunView, run_view
from middlecut.errors import InputError, NotFoundError
from middlecut.insight.calibrate import calibrate_still
from middlecut.insight.calibrated import CalibratedStill, parse_still
from middlecut.insight.readings import CheckedReadings, Reading, check_readings
from middlecut.insight.still_model import LoggedRun, log_run

__all__ = ["checked_run", "fit_run", "keep_fit", "kept_fit", "run_of", "still_text"]

_FIRST_MOMENTS = 2.0
"""Seconds after the first drop; a change of power lies within the run, not at its start."""
_SAME_POWER = 1e-3


def checked_run(frame: StepFrame) -> CheckedReadings:
    """Return the readings of a run, sorted into those that count and those that do not."""
    view = run_view(frame)
    if view.first_drop is None:
        return CheckedReadings(())
    charge = loaded_charge(frame) or planned_charge(frame)
    return check_readings(run_readings(frame.state, frame.id, view.first_drop), charge=charge)


def fit_run(frame: StepFrame) -> CalibratedStill:
    """Fit the still of a run to its readings.

    Parameters
    ----------
    frame : StepFrame
        Of a distil step that was carried out.

    Returns
    -------
    calibrated : CalibratedStill
        Remembered, as a fit takes seconds.

    Raises
    ------
    InputError
        If there are not enough readings; says what is missing.
    ConvergenceError
        If no still fits.
    """
    view = run_view(frame)
    changes, ends = _as_carried_out(frame, view)
    return _fit(
        frame.plan_text,
        frame.id,
        checked_run(frame).used,
        changes,
        ends,
        charge=ChargeKey(loaded_charge(frame)),
    )


def run_of(frame: StepFrame) -> LoggedRun:
    """Return a run of the record as a still is fitted to it.

    Parameters
    ----------
    frame : StepFrame
        Of a distil step that was carried out.

    Returns
    -------
    run : LoggedRun

    Raises
    ------
    InputError
        If the first drop is not in the record.
    NotFoundError
        If it is no distil step.
    """
    changes, ends = _as_carried_out(frame, run_view(frame))
    return log_run(
        read_plan(frame.plan_text),
        frame.id,
        checked_run(frame).used,
        charge=loaded_charge(frame),
        power_changes=changes,
        cut_ends=ends,
    )


def _as_carried_out(
    frame: StepFrame, view: RunView
) -> tuple[tuple[tuple[float, float], ...] | None, tuple[float, ...] | None]:
    """Return changes of power and ends of cuts since the first drop; None where not recorded."""
    start = view.first_drop
    if start is None:
        raise InputError(
            "readings", 0, "the first drop is in the record of the run", "Call the first cut."
        )
    return _changes(frame, view, start), _ends(view, start)


def _ends(view: RunView, start: datetime) -> tuple[float, ...] | None:
    """Return when each cut gave way to the next; None where not all were called in their order.

    A cut that was called again gave way for good when the next one was called for the first time.
    """
    begun = [one.called for one in view.cuts]
    ended = [one.ended for one in view.cuts if one.ended is not None]
    known = [at for at in begun if at is not None]
    if len(known) < len(begun) or len(ended) < len(begun) or known != sorted(known):
        return None
    return tuple((at - start).total_seconds() for at in (*known[1:], max(ended)))


def _changes(
    frame: StepFrame, view: RunView, start: datetime
) -> tuple[tuple[float, float], ...] | None:
    """Return the changes of power within the readings; None where none was recorded.

    The run begins at the plan's power. A change before the first drop counts from its first
    moments; one after the last reading has nothing to say.
    """
    shares = power_shares(frame.state, frame.id, start, full_power=view.still.heater_power)
    if not shares:
        return None
    last = max((one.time for one in checked_run(frame).used), default=0.0)
    now = view.step.cuts[0].power or view.step.power
    before = [share for time, share in shares if time <= _FIRST_MOMENTS]
    found = [(_FIRST_MOMENTS, before[-1])] if before else []
    found += [(time, share) for time, share in shares if _FIRST_MOMENTS < time < last]
    kept = []
    for time, share in found:
        if abs(share - now) > _SAME_POWER:
            kept.append((time, share))
            now = share
    return tuple(kept)


@lru_cache(maxsize=8)
def _fit(
    text: str,
    step: str,
    readings: tuple[Reading, ...],
    changes: tuple[tuple[float, float], ...] | None,
    ends: tuple[float, ...] | None,
    *,
    charge: ChargeKey,
) -> CalibratedStill:
    return calibrate_still(
        read_plan(text),
        step,
        readings,
        charge=charge.lot,
        power_changes=changes,
        cut_ends=ends,
    )


def keep_fit(record: Record, frame: StepFrame, fitted: CalibratedStill, *, entry: Entry) -> Event:
    """Keep a fitted still for later batches; describe it first if the record does not know it.

    Parameters
    ----------
    record : Record
    frame : StepFrame
        The run it was fitted to.
    fitted : CalibratedStill
    entry : Entry

    Returns
    -------
    event : Event

    Raises
    ------
    InputError, StoreError
        If it cannot be kept.
    """
    name = run_view(frame).step.still
    try:
        record.still(name)
    except NotFoundError:
        describe_still(record, name, still_text(frame.plan_text, name))
    body = StillCalibrated(
        values=tuple(
            FittedValue(one.name, one.value, one.standard_error) for one in fitted.parameters
        ),
        trustworthy=fitted.trustworthy,
        reasons=(*fitted.reasons, *fitted.advice),
        batch=frame.state.id,
        step=frame.id,
        document=json.dumps(fitted.to_dict(), ensure_ascii=False, allow_nan=False),
    )
    return record.keep(still_stream(name), (body,), entry=entry)[0]


def kept_fit(record: Record, frame: StepFrame) -> str:
    """Return the last fit to be trusted that is kept of a run's still, as its document.

    Parameters
    ----------
    record : Record
    frame : StepFrame
        Of a distil step.

    Returns
    -------
    document : str
        "" where there is none, or where the plan describes the still otherwise than when it was
        fitted.
    """
    name = run_view(frame).step.still
    try:
        fits = [one for one in record.still(name).calibrated if one.trustworthy]
    except NotFoundError:
        return ""
    if not fits or not fits[-1].document:
        return ""
    try:
        fitted = parse_still(fits[-1].document, "calibration")
    except InputError:
        return ""
    described = read_plan(frame.plan_text).stills[name]  # the prediction may take another fit
    return fits[-1].document if described in {fitted.described, fitted.still} else ""


def still_text(text: str, still: str) -> str:
    """Return the section of a still in the text of a plan.

    Parameters
    ----------
    text : str
        A plan file.
    still : str
        Name of the still.

    Returns
    -------
    section : str

    Raises
    ------
    NotFoundError
        If no section of that name is written out.
    """
    heads = {f"[still.{still}]", f'[still."{still}"]', f"[still.'{still}']"}
    kept: list[str] = []
    for line in text.splitlines():
        bare = line.partition("#")[0].strip()
        if kept and bare.startswith("["):
            break
        if kept or bare in heads:
            kept.append(line)
    if not kept:
        raise NotFoundError("section of the still", still)
    return "\n".join(kept).rstrip() + "\n"
