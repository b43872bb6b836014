# SPDX-License-Identifier: MIT
"""A short list of named numbers, printed as aligned lines or as JSON."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from middlecut.cli.options import System
from middlecut.cli.output import say, say_json
from middlecut.units import DIMENSIONS, format_quantity

__all__ = ["Line", "read_out"]


@dataclass(frozen=True, slots=True)
class Line:
    """One number of a readout.

    Parameters
    ----------
    key : str
        Stable name, for JSON.
    label : str
        Plain words.
    value : float
        In SI.
    dimension : str
        Kind of quantity as :mod:`middlecut.units` names it.
    digits : int or None
        Digits to show; None for the usual ones.
    text : str
        What to show instead of the value in its unit.
    """

    key: str
    label: str
    value: float
    dimension: str
    digits: int | None = None
    text: str = ""

    def shown(self, system: System) -> str:
        """Return the value as a person reads it."""
        return self.text or format_quantity(
            self.value, self.dimension, system=system.value, digits=self.digits
        )


def read_out(
    title: str, lines: Sequence[Line], *, json: bool, system: System, notes: Sequence[str] = ()
) -> None:
    """Print a title, the lines, and notes below them."""
    if json:
        values = {
            line.key: {
                "value": line.value,
                "unit": DIMENSIONS[line.dimension].si,
                "shown": line.shown(system),
            }
            for line in lines
        }
        say_json({"question": title, "values": values, "notes": list(notes)})
        return
    width = max(len(line.label) for line in lines)
    shown = [line.shown(system) for line in lines]
    number_width = max(_number_width(text) for text in shown)
    rows = [
        f"  {line.label:<{width}}  {' ' * (number_width - _number_width(text))}{text}"
        for line, text in zip(lines, shown, strict=True)
    ]
    say("\n".join([title, *rows, *(["", *notes] if notes else [])]))


def _number_width(text: str) -> int:
    """Return how many characters stand before the decimal point or the end of the number."""
    return len(text.split(" ", 1)[0].split(".", 1)[0])
