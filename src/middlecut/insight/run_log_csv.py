# SPDX-License-Identifier: MIT
"""Read the log of a run from a CSV file: readings and marks in one table."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from middlecut import units
from middlecut.errors import InputError
from middlecut.insight.readings import Reading, Refusal
from middlecut.insight.readings_csv import COLUMNS, parse_reading, read_rows
from middlecut.insight.run_marks import MARKS, Mark

__all__ = ["RunLog", "read_run_log"]

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
    """

    entries: tuple[Reading | Mark, ...]
    refused: tuple[Refusal, ...]

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
    for line, row in read_rows(path, needed=COLUMNS[:3], known=COLUMNS):
        try:
            mark = row["quantity"] in MARKS
            entries.append(_mark(row) if mark else parse_reading(row))
        except InputError as error:
            refused.append(Refusal(None, str(error), line))
    return RunLog(tuple(entries), tuple(refused))


def _mark(row: dict[str, str]) -> Mark:
    kind: Any = row["quantity"]  # one of MARKS, as the caller has seen
    time = units.parse_quantity(row["time"], "duration", field="time")
    text = row["value"]
    if kind == "cut":
        return Mark(time, "cut", cut=text)
    if kind in _UNITS:
        value = units.parse_quantity(text, _UNITS[kind])
        return Mark(time, kind, value)
    if text:
        raise InputError("value", text, f"a mark {kind!r} has no value", "Leave the cell empty.")
    return Mark(time, kind)
