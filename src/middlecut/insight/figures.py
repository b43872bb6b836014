# SPDX-License-Identifier: MIT
"""Pictures of routes: a heat map of markers by entry point, and the flow of one compound."""

from __future__ import annotations

import csv
import io
import math
from typing import TYPE_CHECKING

from middlecut.insight.drawing import (
    ACCENT,
    FADED,
    INK,
    PAPER,
    RULE,
    Box,
    Drawing,
    Ribbon,
    Words,
    clipped,
    shade,
)
from middlecut.insight.flow_layout import Place, lay_out_flow
from middlecut.insight.route_words import shown_share
from middlecut.units import format_quantity

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from middlecut.insight.fate import Fate
    from middlecut.insight.route_model import RouteRow, Routes

__all__ = ["draw_fate", "draw_routes", "fate_csv", "routes_csv", "shown_level", "shown_number"]

_CELL, _ROW, _LEFT, _TOP = 124.0, 44.0, 268.0, 112.0
_LOW, _HIGH = -1.0, 3.0
"""Decimal logarithms of the odour activity values where the shades begin and end."""
_DEEPEST = 0.62
"""Deepest shade: ink on it still has a contrast above 5."""
_WIDTH, _SIDE = 1160.0, 196.0
_FLOW_TOP, _FLOW_HEIGHT = 96.0, 470.0
_BAR = 12.0
_LEAST = 1e-3


def draw_routes(found: Routes) -> Drawing:
    """Draw what arrives of each marker by each entry point.

    Shades follow the odour activity value from 0.1 to 1000 on a logarithmic scale; every cell says
    its numbers in words, so the shade tells nothing that is not written.

    Parameters
    ----------
    found : Routes
        As :func:`middlecut.routes` returns them.

    Returns
    -------
    Drawing
        With a title and a description.
    """
    points = [route.entry_point for route in found.routes]
    names = list(dict.fromkeys(row.compound for route in found.routes for row in route.rows))
    rows = {(route.entry_point, row.compound): row for route in found.routes for row in route.rows}
    width = max(_LEFT + _CELL * len(points) + 24.0, 640.0)
    closed = [f"{one.entry_point}: {one.reason}." for one in found.closed]
    height = _TOP + _ROW * len(names) + 76.0 + 18.0 * len(closed)
    weight = format_quantity(found.amount, "mass")
    title = f"{weight} of {found.ingredient}: what arrives in {found.lot}"
    drawing = Drawing(width, height, title, " ".join(found.conclusions))
    put = drawing.parts.append
    put(Words(24.0, 34.0, title, 19.0, bold=True))
    put(Words(24.0, 56.0, "level in the lot, and how many times its odour threshold", 13.0, FADED))
    for column, point in enumerate(points):
        middle = _LEFT + _CELL * (column + 0.5)
        put(Words(middle, _TOP - 12.0, point, anchor="middle", bold=True))
    for line, name in enumerate(names):
        top = _TOP + _ROW * line
        put(Words(_LEFT - 12.0, top + 27.0, clipped(name, _LEFT - 36.0), anchor="end"))
        for column, point in enumerate(points):
            drawing.parts += _cell(rows.get((point, name)), point, _LEFT + _CELL * column, top)
    foot = _TOP + _ROW * len(names) + 28.0
    drawing.parts += _key(foot)
    for number, text in enumerate(closed):
        put(Words(24.0, foot + 40.0 + 18.0 * number, clipped(text, width - 48.0), 13.0, FADED))
    return drawing


def _cell(row: RouteRow | None, point: str, x: float, y: float) -> Iterable[Box | Words]:
    if row is None:
        yield Box(x + 1.0, y + 1.0, _CELL - 2.0, _ROW - 2.0, PAPER, RULE, f"{point}: none of it")
        return
    level = shown_level(row.concentration)
    oav = None if row.odour is None else row.odour.oav
    depth = 0.0 if oav is None else _depth(oav)
    times = "no threshold" if row.odour is None else f"{shown_number(row.odour.oav)} ×"
    band = f"{shown_level(row.concentration_low)} to {shown_level(row.concentration_high)}"
    title = f"{row.compound} by {point}: {level} ({band}), {times}, {shown_share(row.share)} of it"
    yield Box(x + 1.0, y + 1.0, _CELL - 2.0, _ROW - 2.0, shade(depth), RULE, title)
    middle = x + _CELL / 2.0
    yield Words(middle, y + 19.0, level, 13.0, INK, "middle")
    yield Words(middle, y + 35.0, times, 12.0, INK, "middle", bold=oav is not None and oav >= 1.0)


def _depth(oav: float) -> float:
    if oav <= 0.0:
        return 0.0
    return _DEEPEST * min(max((math.log10(oav) - _LOW) / (_HIGH - _LOW), 0.0), 1.0)


def _key(top: float) -> Iterable[Box | Words]:
    yield Words(24.0, top + 12.0, "times threshold:", 12.0, FADED)
    for number, (oav, label) in enumerate(
        ((0.1, "0.1 or less"), (1.0, "1"), (10.0, "10"), (100.0, "100"), (1000.0, "1000 or more"))
    ):
        x = 132.0 + 96.0 * number
        yield Box(x, top, 16.0, 16.0, shade(_depth(oav)), RULE)
        yield Words(x + 22.0, top + 12.0, label, 12.0, FADED)


def shown_number(value: float) -> str:
    """Return two figures without an exponent; below a hundredth only that it is below.

    Parameters
    ----------
    value : float
        Any number of 0 or more.

    Returns
    -------
    str

    Examples
    --------
    >>> [shown_number(value) for value in (0.0, 0.002, 0.0451, 3.0, 48.6, 1234.0)]
    ['0', '<0.01', '0.045', '3', '49', '1,200']
    """
    if value <= 0.0:
        return "0"
    if value < 0.01:
        return "<0.01"
    if value >= 100.0:
        return f"{float(f'{value:.2g}'):,.0f}"
    text = f"{value:.{max(0, 1 - math.floor(math.log10(value)))}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def shown_level(value: float) -> str:
    """Return a level in the unit that suits it.

    Parameters
    ----------
    value : float
        [mg L⁻¹]

    Returns
    -------
    str

    Examples
    --------
    >>> [shown_level(value) for value in (0.0, 12.0, 0.02, 3e-6)]
    ['none', '12 mg/L', '20 µg/L', '3 ng/L']
    """
    if value <= 0.0:
        return "none"
    for factor, unit in ((1.0, "mg/L"), (1e3, "µg/L")):
        if value * factor >= 0.1:
            return f"{shown_number(value * factor)} {unit}"
    return f"{shown_number(value * 1e6)} ng/L"


def draw_fate(way: Fate) -> Drawing:
    """Draw the flow of one compound from its sources through the steps to where it ends.

    The height of a band is its share of all that the sources bring. Flows below a thousandth are
    left out of the picture and named in its foot; the data hold them.

    Parameters
    ----------
    way : Fate
        As :func:`middlecut.insight.fate.fate` returns it.

    Returns
    -------
    Drawing
        With a title and a description.
    """
    layout = lay_out_flow(
        way,
        width=_WIDTH - 2.0 * _SIDE,
        left=_SIDE,
        top=_FLOW_TOP,
        height=_FLOW_HEIGHT,
        least=_LEAST,
    )
    ends = ", ".join(f"{place} {shown_share(share)}" for place, share in way.shares().items())
    title = f"{way.compound}: {_mass(way.total)} from its sources to where it ends"
    height = layout.bottom + 56.0
    drawing = Drawing(_WIDTH, height, title, f"It ends as: {ends}.")
    put = drawing.parts.append
    put(Words(24.0, 34.0, title, 19.0, bold=True))
    put(Words(24.0, 56.0, clipped(f"ends as: {ends}", _WIDTH - 48.0), 13.0, FADED))
    for ribbon in layout.ribbons:
        text = f"{ribbon.label}: {shown_share(ribbon.share)}, {_mass(ribbon.share * way.total)}"
        colour = ACCENT if ribbon.to_bottle else RULE
        put(Ribbon(ribbon.x, ribbon.y, ribbon.to_x, ribbon.to_y, ribbon.width, colour, text))
    for place in layout.places:
        drawing.parts += _bar(place)
    if layout.hidden > 0.0:
        text = f"Not drawn: flows below {shown_share(_LEAST)} each."
        put(Words(24.0, height - 20.0, text, 12.0, FADED))
    return drawing


def _bar(place: Place) -> Iterable[Box | Words]:
    colour = ACCENT if place.bottle else INK
    share = shown_share(place.share)
    yield Box(place.x, place.y, _BAR, place.height, colour, title=f"{place.label}: {share}")
    foot = place.y + place.height / 2.0 + 4.5
    if place.kind == "source":
        label = f"{clipped(place.label, place.room, 12.0)} {share}"
        yield Words(place.x - 6.0, foot, label, 12.0, anchor="end")
    elif place.kind == "end":
        label = f"{clipped(place.label, place.room, 12.0)} {share}"
        yield Words(place.x + _BAR + 6.0, foot, label, 12.0, bold=place.bottle)
    else:
        label = clipped(place.label, place.room, 12.0)
        yield Words(place.x + _BAR / 2.0, place.y - 6.0, label, 12.0, anchor="middle", bold=True)


def _mass(mass: float) -> str:
    for factor, unit in ((1e3, "g"), (1e6, "mg"), (1e9, "µg")):
        if mass * factor >= 1.0:
            return f"{mass * factor:.3g} {unit}"
    return f"{mass * 1e9:.2g} µg"


def routes_csv(found: Routes) -> str:
    """Return the numbers of the heat map, one entry point and compound a line.

    Parameters
    ----------
    found : Routes
        As :func:`middlecut.routes` returns them.

    Returns
    -------
    str
        CSV with a header; shares are fractions, a column for each place where something ends.
    """
    rows = [(route, row) for route in found.routes for row in route.rows]
    places = list(dict.fromkeys(place for _, row in rows for place in row.shares))
    head = ["entry_point", "step", "compound", "mg_per_L", "mg_per_L_low", "mg_per_L_high"]
    head += ["share", "oav", "oav_low", "oav_high", *(f"share in {place}" for place in places)]
    lines: list[Sequence[object]] = [head]
    for route, row in rows:
        odour = row.odour
        oav = ["", "", ""] if odour is None else [odour.oav, odour.oav_low, odour.oav_high]
        levels = [row.concentration, row.concentration_low, row.concentration_high]
        shares = [row.shares.get(place, 0.0) for place in places]
        lines.append(
            [route.entry_point, route.step, row.compound, *levels, row.share, *oav, *shares]
        )
    return _csv(lines)


def fate_csv(way: Fate) -> str:
    """Return the flows of a compound, one a line.

    Parameters
    ----------
    way : Fate
        As :func:`middlecut.insight.fate.fate` returns it.

    Returns
    -------
    str
        CSV with a header.
    """
    labels = {node.key: node for node in way.nodes}
    lines: list[Sequence[object]] = [["from", "to", "to_kind", "lot", "kg", "share"]]
    lines += [
        [
            labels[flow.source].label,
            labels[flow.target].label,
            labels[flow.target].kind,
            flow.lot,
            flow.mass,
            flow.share,
        ]
        for flow in way.flows
    ]
    return _csv(lines)


def _csv(lines: Iterable[Sequence[object]]) -> str:
    target = io.StringIO()
    csv.writer(target, lineterminator="\n").writerows(lines)
    return target.getvalue()
