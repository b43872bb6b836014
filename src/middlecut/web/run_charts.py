# SPDX-License-Identifier: MIT
"""The chart of a run and the table after it: predicted beside measured."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from middlecut.app.lots_now import known_measures
from middlecut.app.measured import Measured
from middlecut.app.views.frame import StepFrame
from middlecut.app.views.run import RunView
from middlecut.app.views.run_band import Ranged, along_time
from middlecut.steps.band import CurveBand
from middlecut.steps.lot import Lot
from middlecut.web.charts import Axis, Chart, Mark, Series

__all__ = ["CutLine", "after_table", "range_series", "run_chart"]

_MOST_POINTS = 160


@dataclass(frozen=True, slots=True)
class CutLine:
    """A lot of a run, expected and measured.

    Parameters
    ----------
    name : str
    expected : Lot
    measured : Measured
    called : datetime or None
    """

    name: str
    expected: Lot
    measured: Measured
    called: datetime | None


def run_chart(view: RunView, now: datetime, band: CurveBand | None = None) -> Chart:
    """Return strength against time since the first drop, with the cuts and the range if known."""
    curve = view.curve
    step = max(len(curve.time) // _MOST_POINTS, 1)
    kept = [*range(0, len(curve.time), step), len(curve.time) - 1]
    line = [
        (float(curve.time[index]), float(curve.strength[index])) for index in dict.fromkeys(kept)
    ]
    start = view.first_drop
    points: tuple[tuple[float, float], ...] = ()
    marks = [Mark(one.mark.end, f"{one.mark.into} end") for one in view.cuts]
    note = "Upright lines: where the plan expects each cut to end."
    if start is not None:
        points = tuple(
            ((at - start).total_seconds(), value) for at, value in view.measured if at >= start
        )
        marks = [
            Mark((one.called - start).total_seconds(), f"{one.cut.into} called", happened=True)
            for one in view.cuts[1:]
            if one.called is not None
        ]
        marks += [Mark(one.mark.end, f"{one.cut.into} end") for one in view.cuts if not one.ended]
        if view.phase == "during":
            marks.append(Mark((now - start).total_seconds(), "now", happened=True))
        note = "Upright lines: solid for what happened, dotted for what the plan expects."
    return Chart(
        id="run",
        title="Strength of what runs off, since the first drop",
        x=Axis("time", "duration"),
        y=Axis("strength", "strength", low=0.0),
        series=(
            Series("predicted", tuple(line)),
            *range_series(along_time(band, [at for at, _ in line]), ink=0),
            Series("measured, at 20 °C", points, kind="points", ink=1),
        ),
        marks=tuple(marks),
        note=note,
    )


def range_series(
    points: Ranged, *, ink: int, name: str = "nine in ten draws"
) -> tuple[Series, ...]:
    """Return a range as a band of a chart; none where nothing is known."""
    if not points:
        return ()
    middle = tuple((at, (low + high) / 2.0) for at, low, high in points)
    lows = tuple(low for _, low, _ in points)
    highs = tuple(high for _, _, high in points)
    return (Series(name, middle, kind="band", low=lows, high=highs, ink=ink),)


def after_table(frame: StepFrame, view: RunView) -> tuple[CutLine, ...]:
    """Return every lot of a run, expected beside measured."""
    found = known_measures(frame.state, frame.fits)
    called = {one.cut.into: one.called for one in view.cuts}
    return tuple(
        CutLine(name, lot, found.get(name, Measured()), called.get(name))
        for name, lot in frame.result.made.items()
    )
