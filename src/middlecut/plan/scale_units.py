# SPDX-License-Identifier: MIT
"""Write a new value of a plan in the unit its author used, and not more exactly than one pours."""

from __future__ import annotations

import math
import re

from middlecut import units
from middlecut.liquid import alcoholometry
from middlecut.plan.scale_values import plan_quantity

__all__ = ["as_written", "rounded"]

_WRITTEN = re.compile(r"\s*[+-]?[0-9]+(?:[.,][0-9]+)?\s*([^\s\d].*?)\s*")


def rounded(number: float, digits: int) -> float:
    """Return a number to so many significant digits.

    Parameters
    ----------
    number : float
        Any.
    digits : int
        At least 1.

    Returns
    -------
    float

    Examples
    --------
    >>> rounded(18.3749, 4), rounded(12345.0, 3)
    (18.37, 12300.0)
    """
    if number == 0.0 or not math.isfinite(number):
        return number
    return round(number, digits - 1 - math.floor(math.log10(abs(number))))


def as_written(raw: object, value: float, dimension: str, digits: int | None) -> str:
    """Return a value as a plan would have it beside what stands there now.

    Parameters
    ----------
    raw : object
        What stands there, such as "18 qt_us".
    value : float
        The new value. [SI]
    dimension : str
        Its kind of quantity.
    digits : int or None
        Significant digits, of a strength always five; None for as many as a plan ever needs.

    Returns
    -------
    str
        In the unit of ``raw`` where it has one that fits, else as :func:`plan_quantity` chooses.

    Examples
    --------
    >>> as_written("2 gal_us", 0.0189, "volume", 4)
    '4.993 gal_us'
    >>> as_written("1 h 25 min", 5100.0, "duration", 3)
    '85 min'
    """
    match = _WRITTEN.fullmatch(raw) if isinstance(raw, str) else None
    unit = match[1] if match else ""
    number = _number(value, dimension, unit)
    if number is None:
        number_text, _, unit = plan_quantity(value, dimension).partition(" ")
        number = float(number_text) if digits else None
        if number is None:
            return f"{number_text} {unit}".rstrip()
    places = 8 if digits is None else 5 if dimension == "strength" else digits
    return f"{_plain(rounded(number, places))} {unit}".rstrip()


def _number(value: float, dimension: str, unit: str) -> float | None:
    """Return a value as a number in a unit; None where the unit is none of that kind."""
    kinds = units.dimension_of(unit) if unit else ()
    if dimension == "mass" and "volume" in kinds:  # water may be given either way
        return units.from_si(value / alcoholometry.WATER_DENSITY_20, "volume", unit)
    if dimension not in kinds:
        return None
    if dimension == "strength" and "proof" in kinds:
        return float(alcoholometry.proof_from_strength(value))
    if dimension == "strength" and units.parse_strength(f"1 {unit}").kind == "mass":
        return 100.0 * float(alcoholometry.mass_fraction_from_strength(value))
    return units.from_si(value, dimension, unit)


def _plain(number: float) -> str:
    """Return a number without a power of ten and without idle zeros."""
    text = f"{number:.12f}".rstrip("0").rstrip(".")
    return text or "0"
