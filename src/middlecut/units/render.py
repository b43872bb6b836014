# SPDX-License-Identifier: MIT
"""Write quantities: an SI float becomes text in the units a person uses."""

from __future__ import annotations

import math
from itertools import pairwise

from middlecut.errors import InputError
from middlecut.units.lookup import find_dimension, from_si
from middlecut.units.table import Dimension, System

__all__ = ["format_quantity", "unit_of"]

_MAIN = {"power": "W", "duration": "h"}
_STEP_UP = {
    ("floz_us", "gal_us"): 128.0,
    ("g", "oz"): 14.2,  # half an ounce: what is less is weighed in grams
    ("oz", "lb"): 16.0,
    ("in", "ft"): 24.0,
    ("mm", "m"): 1000.0,
    ("cm2", "m2"): 10000.0,
    ("min", "h"): 60.0,
}
"""How many of the smaller unit it takes before the next larger one is used, where not one."""

_SHOWN = {
    "floz_us": "US fl oz",
    "gal_us": "US gal",
    "ft3": "cu ft",
    "proof_gal": "proof gal",
    "gal_us/h": "US gal/h",
    "floz_us/min": "US fl oz/min",
}


def _ladder(kind: Dimension, system: str) -> tuple[str, ...]:
    if system not in {"metric", "us"}:
        raise InputError("system", system, "it is metric or us", 'Write "metric" or "us".')
    return kind.us if system == "us" else kind.metric


def unit_of(dimension: str, system: System = "metric") -> str:
    """Return the main unit a dimension is shown in.

    Parameters
    ----------
    dimension : str
        A name in :data:`DIMENSIONS`.
    system : {"metric", "us"}
        System of units.

    Returns
    -------
    symbol : str
        As :func:`from_si` accepts it.

    Raises
    ------
    NotFoundError
        If there is no such dimension.

    Examples
    --------
    >>> unit_of("volume"), unit_of("temperature", "us")
    ('L', '°F')
    """
    ladder = _ladder(find_dimension(dimension), system)
    return _MAIN.get(dimension, ladder[-1])


def format_quantity(
    value: float, dimension: str, *, system: System = "metric", digits: int | None = None
) -> str:
    """Write an SI value in the units a person uses.

    Parameters
    ----------
    value : float
        In the SI unit of the dimension.
    dimension : str
        A name in :data:`DIMENSIONS`.
    system : {"metric", "us"}
        System of units.
    digits : int or None
        Significant digits; for dimensions with a fixed number of decimals, those. None for the
        usual ones.

    Returns
    -------
    text : str
        Number, a space and the unit; "unknown" for NaN.

    Raises
    ------
    NotFoundError
        If there is no such dimension.

    Notes
    -----
    A strength is written in %vol in both systems; proof is a scale of its own at 60 °F, and its
    value has to be computed first and shown as dimension "proof".

    Examples
    --------
    >>> format_quantity(0.0254, "volume")
    '25.4 L'
    >>> format_quantity(351.30, "temperature", system="us")
    '172.7 °F'
    >>> format_quantity(5100.0, "duration")
    '1 h 25 min'
    """
    kind = find_dimension(dimension)
    ladder = _ladder(kind, system)
    if math.isnan(value):
        return "unknown"
    if dimension == "duration" and digits is None and 3570.0 <= abs(value) < 172800.0:
        return _hours_and_minutes(value)
    symbol = _choose(value, dimension, ladder)
    number = from_si(value, dimension, symbol)
    if kind.decimals is None:
        text = _significant(number, 3 if digits is None else digits)
    else:
        text = f"{number:.{kind.decimals if digits is None else digits}f}"
    if float(text) == 0.0:
        text = text.lstrip("-")
    return f"{text} {_SHOWN.get(symbol, symbol)}".rstrip()


def _hours_and_minutes(value: float) -> str:
    hours, minutes = divmod(round(abs(value) / 60.0), 60)
    sign = "-" if value < 0.0 else ""
    return f"{sign}{hours} h {minutes} min" if minutes else f"{sign}{hours} h"


def _choose(value: float, dimension: str, ladder: tuple[str, ...]) -> str:
    """Return the largest unit of the ladder the value fills, after rounding to three digits."""
    if value == 0.0:
        return _MAIN.get(dimension, ladder[-1])
    chosen = ladder[0]
    for below, symbol in pairwise(ladder):
        step = _STEP_UP.get((below, symbol))
        if step is not None:
            filled = abs(from_si(value, dimension, below)) >= step
        else:
            filled = abs(from_si(value, dimension, symbol)) >= 0.9995
        chosen = symbol if filled else chosen
    return chosen


def _significant(number: float, digits: int) -> str:
    if number == 0.0 or math.isinf(number):
        return f"{number:.0f}"
    magnitude = math.floor(math.log10(abs(float(f"{number:.{max(0, digits - 1)}e}"))))
    return f"{number:.{max(0, digits - 1 - magnitude)}f}"
