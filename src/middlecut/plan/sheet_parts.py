# SPDX-License-Identifier: MIT
"""The parts a sheet is made of: plain data, no units chosen yet."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from middlecut.steps.result import Caution, Figure

__all__ = ["Cell", "Column", "Level", "Phrase", "Section", "Sheet", "Table"]

Cell = str | float | None
"""What stands in a table: words, an SI number whose kind the column names, or nothing."""


@dataclass(frozen=True, slots=True)
class Phrase:
    """A sentence with gaps for quantities.

    Parameters
    ----------
    template : str
        With "{}" for each quantity.
    quantities : tuple of (float, str)
        SI value and kind of quantity, in order.
    """

    template: str
    quantities: tuple[tuple[float, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table.

    Parameters
    ----------
    label : str
        Its head.
    dimension : str
        Kind of quantity of its numbers; "" for words.
    """

    label: str
    dimension: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """A table.

    Parameters
    ----------
    title : str
        Above the table.
    columns : tuple of Column
        At least one.
    rows : tuple of tuple of Cell
        Each as long as there are columns.
    note : str
        Below the table.
    """

    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class Section:
    """What the sheet says of one step.

    Parameters
    ----------
    step_id, kind : str
        As in the plan.
    heading : str
        Plain words.
    phrases : tuple of Phrase
        What to do and what will happen.
    figures : tuple of Figure
        Numbers with their range and basis.
    tables : tuple of Table
        What to look for, what is made, where the compounds go.
    cautions : tuple of Caution
        Dangers first.
    """

    step_id: str
    kind: str
    heading: str
    phrases: tuple[Phrase, ...]
    figures: tuple[Figure, ...]
    tables: tuple[Table, ...]
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True)
class Level:
    """One compound in one lot.

    Parameters
    ----------
    lot, compound : str
        Names.
    typical, low, high : float
        [kg m⁻³ of the lot at 20 °C]
    basis : str
        Weakest along the way.
    """

    lot: str
    compound: str
    typical: float
    low: float
    high: float
    basis: str


@dataclass(frozen=True, slots=True)
class Sheet:
    """The predicted table of a plan, ready to be rendered.

    Parameters
    ----------
    title : str
        Name of the batch.
    summary : tuple of Phrase
        The whole batch in a few sentences.
    sections : tuple of Section
        One per step, in order.
    totals : tuple of Figure
        Over the whole plan.
    accounts : tuple of Table
        Where everything came from and went.
    lots : Table
        Every lot as made.
    levels : tuple of Level
        Every compound in every lot.
    cautions : tuple of Caution
        What holds for every plan.
    not_modelled : tuple of str
        What the numbers leave out.
    legend : tuple of (str, str)
        What each basis means.
    citations : tuple of str
        Keys of CITATIONS.bib.
    provenance : tuple of (str, str)
        Code version and models.
    ranges : tuple of str
        How the ranges were made; none without draws.
    measure_next : Table or None
        What to measure to narrow them.
    rests_on : tuple of str
        What it rests on beside the plan.
    """

    title: str
    summary: tuple[Phrase, ...]
    sections: tuple[Section, ...]
    totals: tuple[Figure, ...]
    accounts: tuple[Table, ...]
    lots: Table
    levels: tuple[Level, ...]
    cautions: tuple[Caution, ...]
    not_modelled: tuple[str, ...]
    legend: tuple[tuple[str, str], ...]
    citations: tuple[str, ...]
    provenance: tuple[tuple[str, str], ...]
    ranges: tuple[str, ...] = ()
    measure_next: Table | None = None
    rests_on: tuple[str, ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """Return the sheet in SI units as plain JSON types."""
        return asdict(self)
