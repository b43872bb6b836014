# SPDX-License-Identifier: MIT
"""Set routes and the fate of a compound as text."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from middlecut.insight.figures import shown_level, shown_number
from middlecut.insight.route_short import in_short
from middlecut.insight.route_words import cost_sentence, risk_words, shown_share
from middlecut.plan.sheet_parts import Column
from middlecut.plan.text_table import lay_out
from middlecut.units import format_quantity

if TYPE_CHECKING:
    from middlecut.insight.fate import Fate
    from middlecut.insight.route_model import Route, RouteRow, Routes

__all__ = ["fate_text", "routes_text"]

_AMOUNTS = {
    "given": "",
    "plan": " (as much as the plan has)",
    "usual": " (5 g per litre of it; --amount sets another)",
}
_WORTH_TELLING = 0.01
_PER_CENT = "\u00a0%"  # holds a number and its sign on one line while wrapping


def routes_text(found: Routes, width: int, most: int | None = None) -> str:
    """Return all routes as text: an overview, each route, what the comparison says."""
    weight = format_quantity(found.amount, "mass")
    title = f"{weight} of {found.ingredient} on the way to {found.lot}"
    basis = _AMOUNTS[found.amount_basis]
    parts = [title, "=" * len(title), ""]
    if basis:
        parts += [f"The amount: {weight}{basis}.", ""]
    parts += ["In short", ""]
    for text in in_short(found):
        parts += _item(text, width)
    parts += ["", "What arrives of what it holds", ""]
    parts += _overview(found, width)
    parts += ["", "What each way costs", "", *_costs(found, width)]
    for route in found.routes:
        parts += ["", *_route(route, found.lot, width, most)]
    if found.closed:
        parts += ["", "Not possible in this plan", ""]
        for closed in found.closed:
            parts += _item(f"{closed.entry_point}: {closed.reason}. {closed.remedy}", width)
    parts += ["", "Compound by compound", ""]
    for text in found.conclusions:
        parts += _item(text, width)
    parts.append("")
    for text in found.notes:
        parts += textwrap.wrap(text, width)
    return "\n".join(parts)


def _item(text: str, width: int) -> list[str]:
    lines = textwrap.wrap(
        text.strip().replace(" %", _PER_CENT),
        width,
        initial_indent="  ",
        subsequent_indent="      ",
        break_on_hyphens=False,
    )
    return [line.replace(_PER_CENT, " %") for line in lines]


def _overview(found: Routes, width: int) -> list[str]:
    names = list(dict.fromkeys(row.compound for route in found.routes for row in route.rows))
    head = [Column("compound"), *(Column(_label(route), "fraction") for route in found.routes)]
    body = []
    for name in names:
        cells = []
        for route in found.routes:
            share = next((row.share for row in route.rows if row.compound == name), None)
            cells.append("" if share is None else shown_share(share))
        body.append([name, *cells])
    return lay_out(head, body, width=width)


def _costs(found: Routes, width: int) -> list[str]:
    head = [
        Column("entry point"),
        Column("more time", "value"),
        Column("alcohol its solids keep", "value"),
        Column(f"{found.lot} in the end", "value"),
        Column("beyond a note"),
    ]
    body = [
        [
            _label(route),
            format_quantity(route.added_time, "duration") if route.added_time > 60.0 else "none",
            format_quantity(route.cost.alcohol_kept, "volume"),
            format_quantity(route.cost.volume_with, "volume"),
            risk_words(route),
        ]
        for route in found.routes
    ]
    without = max((route.cost.volume_without for route in found.routes), default=0.0)
    return [
        *lay_out(head, body, width=width),
        f"  Without the ingredient: {format_quantity(without, 'volume')} of {found.lot}.",
    ]


def _label(route: Route) -> str:
    return route.entry_point.replace("-", " ")


def _route(route: Route, lot: str, width: int, most: int | None) -> list[str]:
    title = f"{route.entry_point}: {route.how}"
    lines = textwrap.wrap(title, width)
    lines += ["-" * max(map(len, lines)), ""]
    head = [
        Column("compound"),
        Column(f"in {lot}", "number"),
        Column("times threshold", "number"),
        Column("lost to"),
    ]
    rows = sorted(route.rows, key=_weight)
    lines += lay_out(head, [_cells(row) for row in rows[:most]], width=width)
    if most is not None and len(rows) > most:
        lines.append(f"  {len(rows) - most} more with --all")
    lines.append("")
    lines += textwrap.wrap(route.sentence, width)
    lines += textwrap.wrap(cost_sentence(route, lot), width)
    where, *written = route.edit.split("\n")
    lines += _item(f"in the plan, {where}", width)
    lines += ["", *(f"  {line}".rstrip() for line in written), ""]
    for caution in route.cautions:
        word = "" if caution.severity == "note" else f"{caution.severity.upper()} "
        lines += _item(f"{word}{caution.text}", width)
    return lines


def _weight(row: RouteRow) -> tuple[float, float]:
    """Return what rows are sorted by: those that can be smelled first."""
    return (0.0 if row.odour is None else -row.odour.oav_high, -row.concentration)


def _cells(row: RouteRow) -> list[str]:
    losses = [
        f"{place} {shown_share(share)}"
        for place, share in row.shares.items()
        if place != "bottle" and share >= _WORTH_TELLING
    ]
    odour = row.odour
    times = "" if odour is None else (
        f"{shown_number(odour.oav)} ({shown_number(odour.oav_low)}–{shown_number(odour.oav_high)})"
    )  # fmt: skip
    return [
        f"{row.compound} (made by yeast)" if row.made else row.compound,
        _banded(row),
        times,
        ", ".join(losses[:2]),
    ]


def _banded(row: RouteRow) -> str:
    """Return the level and its band, all three in the unit of the level."""
    level = shown_level(row.concentration)
    number, _, unit = level.partition(" ")
    if not unit:
        return level
    factor = {"mg/L": 1.0, "µg/L": 1e3, "ng/L": 1e6}[unit]
    low, high = row.concentration_low * factor, row.concentration_high * factor
    return f"{number} ({shown_number(low)}–{shown_number(high)}) {unit}"


def fate_text(way: Fate, width: int) -> str:
    """Return where a compound ends, place by place."""
    title = f"Where all of the {way.compound} ends"
    body = [[end.place, end.name, end.step, shown_share(end.share)] for end in way.ends]
    head = [
        Column("place"),
        Column("lot or loss"),
        Column("step"),
        Column("share", "fraction"),
    ]
    return "\n".join([title, "-" * len(title), "", *lay_out(head, body, width=width)])
