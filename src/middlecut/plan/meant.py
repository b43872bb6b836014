# SPDX-License-Identifier: MIT
"""What was probably meant by a quantity that cannot be used, as the remedy to give for it."""

from __future__ import annotations

import re

from middlecut import units
from middlecut.errors import InputError, UnitError

__all__ = ["altitude_in_doubt", "meant", "reworded"]

_WRITTEN = re.compile(r"\s*([0-9]+(?:[.,][0-9]+)?)\s*(\S*)\s*")
_FOREIGN_POWER = {"hp": 745.7, "bhp": 745.7, "ps": 735.5, "cv": 735.5}  # W; by definition
_BRIX = frozenset({"°bx", "bx", "brix", "°brix"})
_THOUSANDFOLD = (900.0, 1200.0)
_LOW_GROUND = 10.0  # m: an altitude below it is hardly ever stated to the millimetre
_MILLIMETRES = re.compile(r"\s*([0-9]{1,3})[.]([0-9]{3})\s*(?:m|metres?|meters?)\s*")


def meant(raw: object, dimension: str) -> str:
    """Return the remedy for a value that looks like another one, or "" if it does not.

    Parameters
    ----------
    raw : object
        As it stands in the file.
    dimension : str
        The kind of quantity that is wanted.

    Returns
    -------
    str
        A sentence.

    Examples
    --------
    >>> meant("1050", "gravity")
    'Write "1.050 SG".'
    >>> meant("2 hp", "power")
    'Write "1.49 kW".'
    """
    found = _WRITTEN.fullmatch(str(raw)) if isinstance(raw, (str, int, float)) else None
    if found is None or isinstance(raw, bool):
        return ""
    number, unit = float(found[1].replace(",", ".")), found[2]
    if dimension == "gravity":
        return _gravity(number, unit)
    if dimension == "power" and unit.lower() in _FOREIGN_POWER:
        watts = number * _FOREIGN_POWER[unit.lower()]
        return f'Write "{units.format_quantity(watts, "power")}".'
    if dimension == "strength" and unit == "%":
        plain = found[1]
        return f'Write "{plain} %vol" if it is by volume, "{plain} %mass" if it is by mass.'
    return ""


def _gravity(number: float, unit: str) -> str:
    low, high = _THOUSANDFOLD
    if low <= number <= high and unit.lower() in {"", "sg"}:
        return f'Write "{number / 1000.0:.3f} SG".'
    if unit.lower() in _BRIX:
        return f'Write "{number:g} °P"; the two scales agree closely.'
    return ""


def reworded(error: InputError, raw: object, dimension: str, sample: str) -> InputError:
    """Return the error of a quantity with what was meant, or with the example named as one.

    Parameters
    ----------
    error : InputError
        As raised in reading the value.
    raw : object
        The value.
    dimension : str
        The kind of quantity that is wanted.
    sample : str
        A good value of the field.

    Returns
    -------
    InputError
    """
    guess = meant(raw, dimension)
    if guess and type(error) in {InputError, UnitError}:
        return type(error)(error.field, error.value, error.allowed, guess)
    if isinstance(error, UnitError) and error.remedy == f"Write {sample}.":
        remedy = f"Write for example {sample}."
        return UnitError(error.field, error.value, error.allowed, remedy)
    return error


def altitude_in_doubt(raw: object) -> object:
    """Return an altitude as it is, unless its point may have been meant to group digits.

    Parameters
    ----------
    raw : object
        As it stands in the file.

    Returns
    -------
    object
        The same.

    Raises
    ------
    UnitError
        If it is a few metres and stated to the millimetre, such as "1.300 m".
    """
    found = _MILLIMETRES.fullmatch(raw) if isinstance(raw, str) else None
    if found is None or float(f"{found[1]}.{found[2]}") >= _LOW_GROUND or found[1] == "0":
        return raw
    metres = f"{float(f'{found[1]}.{found[2]}'):g}"
    raise UnitError(
        "altitude",
        raw,
        f"this reads as {metres} m above the sea, and its three digits may be grouped ones",
        f'Write "{found[1]}{found[2]} m", or "{metres} m" if that is meant.',
    )
