# SPDX-License-Identifier: MIT
"""Read the log of a run from a CSV file: readings and marks in one table."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from middlecut import units
from middlecut.errors import InputError
from middlecut.insight.reading_names import ALSO, known_name
from middlecut.insight.readings import Reading, Refusal
from middlecut.insight.readings_csv import COLUMNS, parse_reading, read_rows
from middlecut.insight.run_marks import MARKS, Mark

__all__ = ["RunLog", "entry_of", "read_run_log"]

_UNITS = {"power": "fraction", "coolant": "power"}


@dataclass(frozen=True, slots=True)
class RunLog:
    """What stands in a file.

    Parameters
    ----------
    entries : tuple of (Reading or Mark)
        In the order of the file, not yet checked.
    refused : tuple of Refusal
        Rows that could not be read, with their lines.
    notes : tuple of str
        Names that were taken as others; each a sentence.
    """

    entries: tuple[Reading | Mark, ...]
    refused: tuple[Refusal, ...]
    notes: tuple[str, ...] = ()

    @property
    def last(self) -> float:
        """Latest time in it. [s] 0 without entries."""
        return max((one.time for one in self.entries), default=0.0)


def read_run_log(path: str | Path) -> RunLog:
    """Read a file of readings and marks.

    Columns as for readings alone. The quantity of a mark is ``power-on``, ``first-drop``,
    ``power`` (value: the setting), ``coolant`` (value: the duty), ``cut`` (value: the name of the
    cut that ended) or ``heat-off``.

    Parameters
    ----------
    path : str or Path
        The file, UTF-8.

    Returns
    -------
    RunLog
        Rows that cannot be read are refused with their line.

    Raises
    ------
    NotFoundError
        If there is no such file.
    InputError
        If it is no table with the needed columns.
    """
    entries: list[Reading | Mark] = []
    refused: list[Refusal] = []
    taken: dict[str, str] = {}
    for line, row in read_rows(path, needed=COLUMNS[:3], known=COLUMNS):
        try:
            entry = entry_of(row)
        except InputError as error:
            refused.append(Refusal(None, str(error), line))
            continue
        entries.append(entry)
        word = row["quantity"]
        if word.casefold() in ALSO:
            taken[word] = entry.kind if isinstance(entry, Mark) else entry.quantity
    notes = tuple(f"{word!r} is taken as {name}." for word, name in taken.items())
    return RunLog(tuple(entries), tuple(refused), notes)


def entry_of(row: dict[str, str]) -> Reading | Mark:
    """Return the reading or mark of one row of text.

    Parameters
    ----------
    row : dict of str to str
        Cells by column.

    Returns
    -------
    Reading or Mark
        In SI, not yet checked.

    Raises
    ------
    InputError
        If a cell cannot be read.
    """
    name = known_name(row["quantity"], row["value"])
    named = {**row, "quantity": name}
    return _mark(named) if name in MARKS else parse_reading(named)


def _mark(row: dict[str, str]) -> Mark:
    kind: Any = row["quantity"]  # one of MARKS, as the caller has seen
    time = units.parse_quantity(row["time"], "duration", field="time", example="20 min")
    text = row["value"]
    if kind == "cut":
        return Mark(time, "cut", cut=text)
    if kind in _UNITS:
        value = units.parse_quantity(text, _UNITS[kind])
        return Mark(time, kind, value)
    if text:
        raise InputError("value", text, f"a mark {kind!r} has no value", "Leave the cell empty.")
    return Mark(time, kind)
