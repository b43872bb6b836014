# SPDX-License-Identifier: MIT
"""Set the difference between two predictions as text or CSV."""

from __future__ import annotations

import csv
import io
import math
import textwrap
from typing import TYPE_CHECKING

from middlecut.liquid import alcoholometry
from middlecut.plan.quantities import show
from middlecut.plan.sheet_parts import Column
from middlecut.plan.text_table import lay_out
from middlecut.units import System, from_si, unit_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from middlecut.insight.explore import Change, Difference

__all__ = ["render_difference", "render_difference_csv"]

_COMPOUNDS = 12
_ROWS = 12
_OF_LOTS = frozenset({"volume at 20 °C", "strength", "pure alcohol"})
"""Figures of a step that are those of the lot it makes."""
_LEAST = {
    "volume": 0.5e-6,
    "pure_alcohol": 0.5e-6,
    "mass": 5e-5,
    "duration": 30.0,
    "energy": 3600.0,
    "strength": 5e-4,
    "fraction": 5e-4,
    "temperature": 0.05,
    "gravity": 5e-4,
    "power": 0.5,
}
"""Changes below which nothing is seen, in SI."""
_ALIKE = 4
"""So many compounds of one lot that change by one share are told in one line."""


def render_difference(difference: Difference, width: int = 88, system: System = "metric") -> str:
    """Set a difference as text: cautions, lots, the compounds that move most, steps, totals.

    What does not change beyond rounding is left out, and the largest change comes first.

    Parameters
    ----------
    difference : Difference
        As :func:`middlecut.what_if` returns it.
    width : int
        Columns.
    system : {"metric", "us"}
        System of units.

    Returns
    -------
    str
        Ends with a line break.
    """
    settings = ", ".join(f"{key} = {value}" for key, value in difference.changes.items())
    title = f"What if {settings}"
    lines = [title, "=" * min(len(title), width)]
    rows = difference.rows
    if not rows and not any(difference.to_dict()["cautions"].values()):
        return "\n".join([*lines, "", "Nothing becomes different."]) + "\n"
    if difference.first_step:
        lines += ["", f"The first step that goes differently is {difference.first_step}."]
    lines += _cautions(difference, width)
    rows = tuple(row for row in rows if _seen(row))
    lots = _grouped([row for row in rows if row.group == "lot"], _last(difference))
    lines += _first_ones("Lots", lots, width, system)
    compounds = [row for row in rows if row.group == "compound"]
    lines += _compounds("Compounds", compounds, _last(difference), width)
    steps = [row for row in rows if row.group == "step" and row.label not in _OF_LOTS]
    lines += _first_ones("Steps", sorted(steps, key=_weight, reverse=True), width, system)
    totals = sorted((row for row in rows if row.group == "total"), key=_weight, reverse=True)
    lines += _block("Totals", _told(totals, system), width)
    return "\n".join(lines) + "\n"


def _cautions(difference: Difference, width: int) -> list[str]:
    found = difference.to_dict()["cautions"]
    said = [f"New {text}" for text in found["new"]]
    said += [f"No longer {text}" for text in found["gone"]]
    lines = [
        line
        for text in said or ["No caution comes or goes."]
        for line in textwrap.wrap(text, width, subsequent_indent="  ")
    ]
    return ["", *lines]


def _first_ones(heading: str, rows: Sequence[Change], width: int, system: System) -> list[str]:
    """Return the rows that change most, and how many more there are."""
    told = _told(rows, system)
    lines = _block(heading, told[:_ROWS], width)
    if len(told) > _ROWS:
        lines.append(f"  {len(told) - _ROWS} smaller changes are in the CSV and JSON forms.")
    return lines


def _grouped(rows: Sequence[Change], last: str) -> list[Change]:
    """Return the rows of lots, that of the end first, then those that change most."""
    most: dict[str, float] = {}
    for row in rows:
        most[row.name] = max(most.get(row.name, 0.0), _weight(row))
    return sorted(
        rows, key=lambda row: (row.name != last, -most[row.name], row.name, -_weight(row))
    )


def _seen(row: Change) -> bool:
    """Say whether a change is more than rounding."""
    if row.before is None or row.after is None or row.dimension not in _LEAST:
        return True
    return abs(row.after - row.before) >= _LEAST[row.dimension]


def _weight(row: Change) -> float:
    """Return the size of a change as a share."""
    before, after = row.before or 0.0, row.after or 0.0
    if row.dimension in {"temperature", "gravity"} and before and after:
        return abs(after - before) / (100.0 if row.dimension == "temperature" else 0.1)
    if before <= 0.0 or after <= 0.0:
        return math.inf if before != after else 0.0
    return abs(math.log(after / before))


def render_difference_csv(difference: Difference, system: System = "metric") -> str:
    """Set a difference as CSV: group, name, key, before, after, unit.

    Parameters
    ----------
    difference : Difference
        As :func:`middlecut.what_if` returns it.
    system : {"metric", "us"}
        System of units.

    Returns
    -------
    str
        With a header line; six significant digits.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(("group", "name", "key", "before", "after", "unit"))
    for row in difference.rows:
        unit = "mg/L" if row.dimension == "mg/L" else unit_of(row.dimension, system)
        values = (_plain(value, row.dimension, unit) for value in (row.before, row.after))
        writer.writerow((row.group, row.name, row.key, *values, unit))
    return out.getvalue()


def _plain(value: float | None, dimension: str, unit: str) -> str:
    if value is None:
        return ""
    return f"{value if dimension == 'mg/L' else from_si(value, dimension, unit):.6g}"


def _last(difference: Difference) -> str:
    """Return the lot that the last step makes."""
    steps = difference.plan.steps
    return str(getattr(steps[-1], "into", "")) if steps else ""


def _strongest(rows: Sequence[Change], last: str) -> list[Change]:
    """Return the compounds that change by the largest factor, those of one lot first."""

    def weight(row: Change) -> tuple[bool, float]:
        before, after = row.before or 0.0, row.after or 0.0
        both = before > 0.0 and after > 0.0
        factor = abs(math.log(after / before)) if both else math.inf
        return (row.name != last, -factor)

    return sorted(rows, key=weight)


def _compounds(heading: str, rows: Sequence[Change], last: str, width: int) -> list[str]:
    """Return the compounds of each lot; those that change by one share stand on one line."""
    groups: dict[tuple[str, str], list[Change]] = {}
    for row in _strongest(rows, last):
        share = _change(row)
        alone = "" if share else row.key
        groups.setdefault((row.name, share or alone), []).append(row)
    body: list[list[str]] = []
    told = 0
    for (name, share), alike in groups.items():
        if len(body) >= _COMPOUNDS:
            break
        if len(alike) < _ALIKE:
            fitting = alike[: _COMPOUNDS - len(body)]
            body += _told(fitting, "metric")
            told += len(fitting)
            continue
        heaviest = sorted(alike, key=lambda row: -max(row.before or 0.0, row.after or 0.0))
        examples = ", ".join(row.label for row in heaviest[:2])
        body.append([f"{name}: {len(alike)} alike, such as {examples}", "", "", share])
        told += len(alike)
    lines = _block(heading, body, width)
    if told < len(rows):
        lines.append(f"  {len(rows) - told} more are in the CSV and JSON forms.")
    return lines


def _told(rows: Sequence[Change], system: System) -> list[list[str]]:
    """Return rows as words; a change too small to be seen is left out."""
    body = [
        [
            f"{row.name}: {row.label}" if row.name else row.label,
            *_both(row, system),
            _change(row, system),
        ]
        for row in rows
    ]
    return [row for row in body if row[1] != row[2]]


def _both(row: Change, system: System) -> tuple[str, str]:
    """Return the numbers before and after, in one unit where each alone would have its own."""
    before, after = (_show(one, row.dimension, system) for one in (row.before, row.after))
    if row.dimension not in {"volume", "mass"} or not row.before or not row.after:
        return before, after
    units = [text.partition(" ")[2] for text in (before, after)]
    if units[0] == units[1]:
        return before, after
    unit = units[0] if row.before > row.after else units[1]
    plain = [from_si(one, row.dimension, unit) for one in (row.before, row.after)]
    return f"{plain[0]:.3g} {unit}", f"{plain[1]:.3g} {unit}"


def _block(heading: str, body: Sequence[Sequence[str]], width: int) -> list[str]:
    if not body:
        return []
    columns = (
        Column(heading.lower()),
        Column("before", "value"),
        Column("after", "value"),
        Column("change", "value"),
    )
    return ["", f"  {heading}", *lay_out(columns, body, width=width)]


def _show(value: float | None, dimension: str, system: System) -> str:
    if value is None:
        return "none"
    return f"{value:.3g} mg/L" if dimension == "mg/L" else show(value, dimension, system=system)


def _change(row: Change, system: System = "metric") -> str:
    before, after = row.before, row.after
    if not before or after is None or row.dimension in {"temperature", "gravity"}:
        return ""
    if row.dimension == "strength" and system == "us":
        proof = [float(alcoholometry.proof_from_strength(one)) for one in (before, after)]
        return f"{proof[1] - proof[0]:+.1f} proof"
    if row.dimension == "strength":
        return f"{(after - before) * 100.0:+.1f} points"
    return f"{(after / before - 1.0) * 100:+.1f} %"
