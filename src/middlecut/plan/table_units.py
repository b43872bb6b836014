# SPDX-License-Identifier: MIT
"""Give each column of a table one unit, said once in its head, so that a wide table stays one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from middlecut.plan.quantities import show
from middlecut.plan.sheet_parts import Cell, Column
from middlecut.units import DIMENSIONS, System, format_quantity, from_si

__all__ = ["one_unit_each"]

_JOINED = "\u00a0"  # keeps the words of a unit on one line of a head
_MOST = 1000.0
"""Largest number written in the smaller unit of a column that has two."""
_WITH_PARTS = frozenset({"", "count", "duration"})
"""Kinds of columns whose cells are words, bare numbers or have units of their own inside."""


def one_unit_each(
    columns: Sequence[Column],
    rows: Sequence[Sequence[Cell]],
    body: Sequence[Sequence[str]],
    system: System,
) -> tuple[list[Column], list[list[str]]]:
    """Return heads with the unit of their column, and cells without.

    Parameters
    ----------
    columns : sequence of Column
    rows : sequence of sequence of (float, str or None)
        Numbers in SI.
    body : sequence of sequence of str
        The same as they would be shown one by one.
    system : {"metric", "us"}
        System of units.

    Returns
    -------
    columns : list of Column
    body : list of list of str
    """
    heads = list(columns)
    cells = [list(row) for row in body]
    for at, column in enumerate(columns):
        if column.dimension in _WITH_PARTS:
            continue
        places = [n for n, row in enumerate(rows) if isinstance(row[at], float)]
        texts = [body[n][at] for n in places]
        units = {_unit(text) for n, text in zip(places, texts, strict=True) if rows[n][at]}
        if len(units) > 1 and column.dimension == "volume":
            values = {n: float(rows[n][at] or 0.0) for n in places}
            unit, shown = _volumes(list(values.values()), system)
            texts = [f"{text} {unit}" for text in shown]
            units = {unit}
        if len(units) != 1:
            continue
        (unit,) = units
        heads[at] = replace(column, label=f"{column.label} {unit.replace(' ', _JOINED)}")
        for n, text in zip(places, texts, strict=True):
            cells[n][at] = text.split(" ", 1)[0]
    return heads, cells


def _unit(text: str) -> str:
    return text.split(" ", 1)[1] if " " in text else ""


def _volumes(values: Sequence[float], system: System) -> tuple[str, list[str]]:
    """Return one unit for volumes, and the volumes in it, to three digits."""
    kind = DIMENSIONS["volume"]
    small, large = kind.us if system == "us" else kind.metric
    most = from_si(max(values), "volume", small)
    symbol = small if most < _MOST else large
    unit = _unit(format_quantity(_SAMPLES[symbol], "volume", system=system))
    return unit, [_three(from_si(value, "volume", symbol)) for value in values]


_SAMPLES = {"mL": 1e-4, "L": 5e-3, "floz_us": 1e-4, "gal_us": 5e-3}
"""Volumes that are shown in each unit."""


def _three(number: float) -> str:
    return show(number, "ratio") if number else "0"
