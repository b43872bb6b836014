# SPDX-License-Identifier: MIT
"""The forecast of a run that learns from its readings, in the words and figures of its page."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import lru_cache
from typing import TYPE_CHECKING

from middlecut.app.expectation import read_plan
from middlecut.app.giving_way import WAY
from middlecut.app.reasons import reason_of
from middlecut.app.views.charge import ChargeKey, loaded_charge
from middlecut.app.views.frame import StepFrame
from middlecut.app.views.outlook import Outlook
from middlecut.app.views.readings import power_shares, run_readings
from middlecut.app.views.run import RunView
from middlecut.errors import ConvergenceError, InputError
from middlecut.insight.calibrated import parse_still
from middlecut.insight.readings import Reading

if TYPE_CHECKING:
    from middlecut.insight.run_forecast import RunForecast
    from middlecut.insight.run_marks import Mark

__all__ = ["Said", "forecast_said", "sharpened"]

ROUGHLY = 15.0
"""A forecast is remembered for so long. [s]"""


@dataclass(frozen=True, slots=True)
class Said:
    """What the readings say of the run.

    Parameters
    ----------
    forecast : RunForecast or None
        None when there is none.
    trouble : str
        Why there is none.
    fitted : bool
        Whether it starts from the still as an earlier run showed it.
    """

    forecast: RunForecast | None
    trouble: str = ""
    fitted: bool = False


def forecast_said(frame: StepFrame, view: RunView, now: datetime, *, fit: str = "") -> Said:
    """Return the forecast of a run under way.

    Parameters
    ----------
    frame : StepFrame
        Of a distil step.
    view : RunView
        The same run.
    now : datetime
    fit : str
        Document of a fitted still that takes the place of the plan's description; "" for none.

    Returns
    -------
    said : Said
    """
    if view.started is None or view.phase != "during":
        return Said(None, "The run is not under way.")
    # Upwards, lest the reading that was just taken lies in the future.
    clock = math.ceil((now - view.started).total_seconds() / ROUGHLY) * ROUGHLY
    try:
        entries = _entries(frame, view)
        key = _Key(frame.plan_text, frame.id, entries, clock, fit, ChargeKey(loaded_charge(frame)))
        return Said(_forecast(key), fitted=bool(fit))
    except (InputError, ConvergenceError) as error:
        return Said(None, reason_of(error))


def sharpened(plain: Outlook, said: Said, view: RunView, now: datetime) -> Outlook:
    """Return an outlook with the time and volume of the forecast in it, where there is one.

    Parameters
    ----------
    plain : Outlook
        By the plan's prediction.
    said : Said
    view : RunView
    now : datetime

    Returns
    -------
    outlook : Outlook
    """
    running = view.running
    if said.forecast is None or running is None or view.started is None:
        return plain
    cut = next((one for one in said.forecast.cuts if one.into == running.cut.into), None)
    if cut is None or cut.state == "to come" or cut.called:
        return plain
    left = max(cut.left.median, 0.0)
    return replace(
        plain,
        time_left=left,
        low=max(cut.left.low, 0.0),
        high=max(cut.left.high, 0.0),
        volume_left=max(cut.to_come.median, 0.0),
        volume_low=max(cut.to_come.low, 0.0),
        volume_high=max(cut.to_come.high, 0.0),
        ends_at=now + timedelta(seconds=left),
        basis=(
            "by a forecast that learns from the readings"
            + (" and knows the still from an earlier run" if said.fitted else "")
            + "; nine runs of ten end in this range"
        ),
    )


@dataclass(frozen=True, slots=True)
class _Key:
    """All that a forecast depends on."""

    text: str
    step: str
    entries: tuple[Reading | Mark, ...]
    clock: float
    fit: str
    charge: ChargeKey


@lru_cache(maxsize=16)
def _forecast(key: _Key) -> RunForecast:
    from middlecut.insight.forecast import forecast_run  # noqa: PLC0415 - heavy; only beside a run

    with WAY.awaited():
        return forecast_run(
            read_plan(key.text),
            key.step,
            key.entries,
            now=key.clock,
            charge=key.charge.lot,
            still=parse_still(key.fit, "calibration") if key.fit else None,
        )


def _entries(frame: StepFrame, view: RunView) -> tuple[Reading | Mark, ...]:
    """Return readings and marks of a run, on a clock that starts with power on."""
    from middlecut.insight.run_marks import Mark  # noqa: PLC0415 - with the forecast

    start, drop = view.started, view.first_drop
    if start is None:
        return ()
    marks = [Mark(0.0, "power-on")]
    full = view.still.heater_power
    for time, share in power_shares(frame.state, frame.id, start, full_power=full):
        marks.append(Mark(max(time, 0.0), "power", share))
    if drop is None:
        return tuple(marks)
    late = (drop - start).total_seconds()
    marks.append(Mark(late, "first-drop"))
    marks.extend(
        Mark((one.ended - start).total_seconds(), "cut", cut=one.cut.into)
        for one in view.cuts
        if one.called is not None and one.ended is not None
    )
    readings = (
        replace(one, time=one.time + late, since=None if one.since is None else one.since + late)
        for one in run_readings(frame.state, frame.id, drop)
    )
    return (*marks, *readings)
