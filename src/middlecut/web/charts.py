# SPDX-License-Identifier: MIT
"""Charts drawn on the server: the picture for first paint, print and no script; data and table too.

A chart is given in SI and drawn in the units of the person who looks. The same object gives the
SVG (:func:`draw_chart`), the data of the live twin on canvas (:func:`pack_chart`) and the table
behind both (:func:`tabulate_chart`), so the three cannot differ.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from markupsafe import Markup, escape

from middlecut.units import System, format_quantity, from_si, unit_of
from middlecut.web.mark_lanes import Placed, lanes_needed, place_marks
from middlecut.web.scale_ticks import nice_ticks, show_tick

__all__ = [
    "Axis",
    "Chart",
    "ChartTable",
    "Mark",
    "Series",
    "draw_chart",
    "pack_chart",
    "tabulate_chart",
]

Dash = Literal["solid", "dash", "dot"]
_WIDTH, _HEIGHT = 480.0, 300.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 52.0, 14.0, 30.0, 44.0
_LANE, _LETTER = 17.0, 8.2
"""Height of a lane of words above the drawing, and the width of a letter at its largest."""


@dataclass(frozen=True, slots=True)
class Axis:
    """An axis.

    Parameters
    ----------
    label : str
        What it shows, without the unit.
    dimension : str
        Kind of quantity as :mod:`middlecut.units` names it; it gives the unit.
    low, high : float or None
        Ends that the axis shows at least. [SI]
    """

    label: str
    dimension: str
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True)
class Series:
    """A line or a set of points.

    Parameters
    ----------
    name : str
        For the legend: "predicted", "measured".
    points : tuple of (float, float)
        [SI]
    kind : {"line", "points", "band"}
        A band is a range without a line; its points are where its numbers are read.
    dash : {"solid", "dash", "dot"}
        Lines differ by pattern before they differ by colour.
    low, high : tuple of float
        Band beside each point; empty when unknown. [SI]
    ink : int or None
        Which of the four inks, from 0; None takes the next. Points share that of their line.
    """

    name: str
    points: tuple[tuple[float, float], ...]
    kind: Literal["line", "points", "band"] = "line"
    dash: Dash = "solid"
    low: tuple[float, ...] = ()
    high: tuple[float, ...] = ()
    ink: int | None = None


@dataclass(frozen=True, slots=True)
class Mark:
    """A place on the horizontal axis with a word: a cut, an addition.

    Parameters
    ----------
    x : float
        [SI]
    label : str
    happened : bool
        What happened is a solid line, what is expected a dotted one.
    """

    x: float
    label: str
    happened: bool = False


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart.

    Parameters
    ----------
    id : str
        Unique on its page; letters, digits and hyphens.
    title : str
        Caption.
    x, y : Axis
    series : tuple of Series
    marks : tuple of Mark
    note : str
        Below the caption: source, what the band means.
    """

    id: str
    title: str
    x: Axis
    y: Axis
    series: tuple[Series, ...]
    marks: tuple[Mark, ...] = field(default=())
    note: str = ""

    @property
    def empty(self) -> bool:
        """Whether there is nothing to draw."""
        return not any(series.points for series in self.series)


@dataclass(frozen=True, slots=True)
class ChartTable:
    """The numbers of a chart as words.

    Parameters
    ----------
    columns : tuple of str
    rows : tuple of tuple of str
    """

    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class _Frame:
    """Where numbers in shown units lie on the drawing."""

    x_low: float
    x_high: float
    y_low: float
    y_high: float
    lanes: int = 0

    @property
    def top(self) -> float:
        """Upper end of the drawing, below the words of its marks."""
        return _TOP + _LANE * self.lanes

    @property
    def height(self) -> float:
        """Of everything."""
        return _HEIGHT + _LANE * self.lanes

    def x(self, value: float) -> float:
        return _LEFT + _part(value, self.x_low, self.x_high) * (_WIDTH - _LEFT - _RIGHT)

    def y(self, value: float) -> float:
        bottom = self.height - _BOTTOM
        return bottom - _part(value, self.y_low, self.y_high) * (bottom - self.top)


def draw_chart(chart: Chart, *, system: System = "metric") -> Markup:
    """Return the chart as SVG without styles of its own; classes carry the look.

    Parameters
    ----------
    chart : Chart
    system : {"metric", "us"}

    Returns
    -------
    svg : Markup
    """
    shown = [_in_units(chart, series, system) for series in chart.series]
    x_ticks, y_ticks = _ticks(chart, shown, system)
    frame = _Frame(x_ticks[0], x_ticks[-1], y_ticks[0], y_ticks[-1])
    spots = [frame.x(_convert(mark.x, chart.x, system)) for mark in chart.marks]
    widths = [len(mark.label) * _LETTER for mark in chart.marks]
    placed = place_marks(
        list(zip(spots, widths, strict=True)), left=_LEFT, right=_WIDTH - _RIGHT + 8.0
    )
    frame = replace(frame, lanes=lanes_needed(placed))
    parts = [
        (
            f'<svg class="chart" viewBox="0 0 {_WIDTH:g} {frame.height:g}" role="img" '
            f'aria-labelledby="{escape(chart.id)}-name">'
        ),
        f'<title id="{escape(chart.id)}-name">{escape(chart.title)}</title>',
        *_grid(frame, x_ticks, y_ticks),
        *_axis_words(chart, frame, system),
        *_marks(chart, frame, list(zip(spots, placed, strict=True))),
    ]
    for number, series in enumerate(shown):
        parts += _draw_series(series, frame, number)
    parts.append("</svg>")
    return Markup("".join(parts))  # noqa: S704 - every word in it went through escape


def pack_chart(chart: Chart, *, system: System = "metric") -> Markup:
    """Return the chart as JSON for the live twin, safe inside a script element."""
    shown = [_in_units(chart, series, system) for series in chart.series]
    data = {
        "id": chart.id,
        "title": chart.title,
        "x": {"label": chart.x.label, "unit": _unit(chart.x, system)},
        "y": {
            "label": chart.y.label,
            "unit": _unit(chart.y, system),
            **{
                end: _convert(value, chart.y, system)
                for end, value in (("low", chart.y.low), ("high", chart.y.high))
                if value is not None
            },
        },
        "marks": [
            {
                "x": _convert(mark.x, chart.x, system),
                "label": mark.label,
                "happened": mark.happened,
            }
            for mark in chart.marks
        ],
        "series": [
            {
                "name": series.name,
                "kind": series.kind,
                "dash": series.dash,
                "ink": series.ink,
                "x": [point[0] for point in series.points],
                "y": [point[1] for point in series.points],
                "low": list(series.low),
                "high": list(series.high),
            }
            for series in shown
        ],
    }
    text = json.dumps(data, allow_nan=False, separators=(",", ":"))
    for mark in "<>&\u2028\u2029":
        text = text.replace(mark, f"\\u{ord(mark):04x}")
    return Markup(text)  # noqa: S704 - no character in it can end the element


def tabulate_chart(chart: Chart, *, system: System = "metric", most: int = 40) -> ChartTable:
    """Return the numbers as a table; a dense line is thinned to ``most`` evenly spaced rows."""
    columns = [f"{chart.x.label}", *(series.name for series in chart.series)]
    cells: dict[float, dict[int, str]] = {}
    shown: set[float] = set()
    for number, series in enumerate(chart.series):
        chosen = _thinned(len(series.points), most)
        if series.kind == "band":  # beside the line it belongs to, where the two are read alike
            beside = [at for at, (x, _) in enumerate(series.points) if x in shown]
            chosen = beside or chosen
        shown |= {series.points[index][0] for index in chosen}
        for index in chosen:
            x, y = series.points[index]
            text = format_quantity(y, chart.y.dimension, system=system)
            if series.low and series.high:
                low = format_quantity(series.low[index], chart.y.dimension, system=system)
                high = format_quantity(series.high[index], chart.y.dimension, system=system)
                between = f"{low} to {high}"
                text = between if series.kind == "band" else f"{text} ({between})"
            cells.setdefault(x, {})[number] = text
    rows = tuple(
        (
            format_quantity(x, chart.x.dimension, system=system),
            *(row.get(number, "") for number in range(len(chart.series))),
        )
        for x, row in sorted(cells.items())
    )
    return ChartTable(tuple(columns), rows)


def _thinned(count: int, most: int) -> Sequence[int]:
    if count <= most:
        return range(count)
    return sorted({round(step * (count - 1) / (most - 1)) for step in range(most)})


def _unit(axis: Axis, system: System) -> str:
    return unit_of(axis.dimension, system)


def _convert(value: float, axis: Axis, system: System) -> float:
    return float(from_si(value, axis.dimension, unit_of(axis.dimension, system)))


def _in_units(chart: Chart, series: Series, system: System) -> Series:
    kept = [
        index
        for index, point in enumerate(series.points)
        if math.isfinite(point[0]) and math.isfinite(point[1])
    ]
    banded = bool(series.low) and bool(series.high)
    return Series(
        series.name,
        tuple(
            (
                round(_convert(series.points[index][0], chart.x, system), 6),
                round(_convert(series.points[index][1], chart.y, system), 6),
            )
            for index in kept
        ),
        series.kind,
        series.dash,
        tuple(_convert(series.low[index], chart.y, system) for index in kept) if banded else (),
        tuple(_convert(series.high[index], chart.y, system) for index in kept) if banded else (),
        series.ink,
    )


def _ticks(
    chart: Chart, shown: Iterable[Series], system: System
) -> tuple[list[float], list[float]]:
    xs: list[float] = [_convert(mark.x, chart.x, system) for mark in chart.marks]
    ys: list[float] = []
    for series in shown:
        xs += [point[0] for point in series.points]
        ys += [*(point[1] for point in series.points), *series.low, *series.high]
    for axis, values in ((chart.x, xs), (chart.y, ys)):
        values += [_convert(end, axis, system) for end in (axis.low, axis.high) if end is not None]
    return nice_ticks(xs, 6), nice_ticks(ys, 6)


def _part(value: float, low: float, high: float) -> float:
    return (value - low) / (high - low) if high > low else 0.5


def _grid(frame: _Frame, x_ticks: Sequence[float], y_ticks: Sequence[float]) -> list[str]:
    bottom = frame.height - _BOTTOM
    parts = []
    for tick in y_ticks:
        y = frame.y(tick)
        parts.append(
            f'<line class="rule" x1="{_LEFT:g}" x2="{_WIDTH - _RIGHT:g}" y1="{y:.1f}" '
            f'y2="{y:.1f}"/><text class="tick" text-anchor="end" x="{_LEFT - 7:g}" '
            f'y="{y + 5:.1f}">{show_tick(tick, y_ticks)}</text>'
        )
    for tick in x_ticks:
        x = frame.x(tick)
        parts.append(
            f'<line class="stub" x1="{x:.1f}" x2="{x:.1f}" y1="{bottom:g}" '
            f'y2="{bottom + 5:g}"/><text class="tick" text-anchor="middle" x="{x:.1f}" '
            f'y="{bottom + 19:g}">{show_tick(tick, x_ticks)}</text>'
        )
    return parts


def _axis_words(chart: Chart, frame: _Frame, system: System) -> list[str]:
    def words(axis: Axis) -> str:
        unit = _unit(axis, system)
        return str(escape(f"{axis.label}, {unit}" if unit else axis.label))

    return [
        f'<text class="axis" x="4" y="16">{words(chart.y)}</text>',
        (
            f'<text class="axis" text-anchor="end" x="{_WIDTH - _RIGHT:g}" '
            f'y="{frame.height - 6:g}">{words(chart.x)}</text>'
        ),
    ]


def _marks(chart: Chart, frame: _Frame, spots: Sequence[tuple[float, Placed]]) -> list[str]:
    parts = []
    for mark, (x, place) in zip(chart.marks, spots, strict=True):
        top = _TOP - 6.0 + _LANE * place.lane
        anchor, at = ("end", place.right) if place.right <= x else ("start", place.left)
        kind = "mark happened" if mark.happened else "mark"
        parts.append(
            f'<line class="{kind}" x1="{x:.1f}" x2="{x:.1f}" y1="{top:g}" '
            f'y2="{frame.height - _BOTTOM:g}"/><text class="tick" text-anchor="{anchor}" '
            f'x="{at:.1f}" y="{top + 12.0:g}">{escape(mark.label)}</text>'
        )
    return parts


def _draw_series(series: Series, frame: _Frame, number: int) -> list[str]:
    ink = f"ink-{(number if series.ink is None else series.ink) % 4}"
    spots = [(frame.x(x), frame.y(y)) for x, y in series.points]
    parts = []
    if series.low and series.high:
        upper = [(spot[0], frame.y(high)) for spot, high in zip(spots, series.high, strict=True)]
        lower = [(spot[0], frame.y(low)) for spot, low in zip(spots, series.low, strict=True)]
        outline = _trace([*upper, *reversed(lower)])
        parts.append(f'<polygon class="band {ink}" points="{outline}"/>')
    if series.kind == "points":
        parts += [f'<circle class="dot {ink}" cx="{x:.1f}" cy="{y:.1f}" r="4"/>' for x, y in spots]
    elif spots and series.kind == "line":
        parts.append(f'<polyline class="line {ink} {series.dash}" points="{_trace(spots)}"/>')
    return parts


def _trace(spots: Iterable[tuple[float, float]]) -> str:
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in spots)
