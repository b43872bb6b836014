# SPDX-License-Identifier: MIT
"""Find a unit in the closed list, and say what to write when it is not there."""

from __future__ import annotations

import unicodedata

from middlecut.errors import NotFoundError, UnitError
from middlecut.units.table import DIMENSIONS, TABLE, Dimension, Unit

__all__ = ["dimension_of", "find_dimension", "find_unit", "from_si", "plain", "quoted"]

PLAIN_SCALES = frozenset({"", "vol_20C", "sg"})
"""Scales whose numbers need no table."""

_GALLON, _QUART = ("gal_us", "gal_imp"), ("qt_us", "qt_imp")
_PINT, _OUNCE = ("pt_us", "pt_imp"), ("floz_us", "floz_imp")
_MANY_SIZES = {
    "gal": _GALLON,
    "gallon": _GALLON,
    "gallons": _GALLON,
    "qt": _QUART,
    "quart": _QUART,
    "quarts": _QUART,
    "pt": _PINT,
    "pint": _PINT,
    "pints": _PINT,
    "floz": _OUNCE,
    "fluidounce": _OUNCE,
    "fluidounces": _OUNCE,
}
"""Names used for different sizes in different countries, and what we call those we know."""


def _key(text: str) -> str:
    return text.replace(" ", "").replace("_", "")


def _spellings(dimension: Dimension) -> dict[str, Unit]:
    found: dict[str, Unit] = {}
    for unit in dimension.units:
        for spelling in (unit.symbol, *unit.spellings):
            found[_key(spelling)] = unit
            found.setdefault(_key(spelling).casefold(), unit)
    return found


_UNITS = {row.name: _spellings(row) for row in TABLE}


def plain(text: str) -> str:
    """Return the text with one kind of space, minus sign and micro sign."""
    # NFKC would make the letter o of the ordinal sign that some keyboards give for degrees.
    clean = unicodedata.normalize("NFKC", text.replace("º", "°")).replace("−", "-")
    return " ".join(clean.split())


def quoted(dimension: Dimension) -> str:
    """Return the example of a dimension as it stands in a plan."""
    return dimension.example if dimension.bare else f'"{dimension.example}"'


def nearest(word: str, words: list[str]) -> tuple[str, ...]:
    """Return the one word that looks most like the given one, if any does."""
    from difflib import get_close_matches  # noqa: PLC0415 - only when something is wrong

    return tuple(get_close_matches(word, words, n=1, cutoff=0.5))


def find_dimension(name: str) -> Dimension:
    """Return the dimension of that name or raise NotFoundError."""
    if name not in DIMENSIONS:
        raise NotFoundError("kind of quantity", name, nearest(name, list(DIMENSIONS)))
    return DIMENSIONS[name]


def dimension_of(unit: str) -> tuple[str, ...]:
    """Return the names of the dimensions a unit can belong to.

    Parameters
    ----------
    unit : str
        A unit as a person writes it.

    Returns
    -------
    names : tuple of str
        In the order of :data:`DIMENSIONS`; empty for an unknown unit.

    Examples
    --------
    >>> dimension_of("kW")
    ('power',)
    >>> dimension_of("parsec")
    ()
    """
    key = _key(plain(unit))
    return tuple(
        name for name, table in _UNITS.items() if key and (key in table or key.casefold() in table)
    )


def find_unit(text: str, number: float, dimension: Dimension, field: str, raw: object) -> Unit:
    """Return the unit, or raise the UnitError that says what to write instead."""
    table = _UNITS[dimension.name]
    key = _key(text)
    found = table.get(key) or table.get(key.casefold())
    if found is not None:
        return found
    if dimension.bare:
        allowed = f"a {dimension.label} is written without a unit"
        raise UnitError(field, raw, allowed, f"Write {number:g}.")
    allowed = f"a {dimension.label} is written in {dimension.symbols}"
    if dimension.name == "strength" and text in {"", "%"}:
        why = "a per cent sign alone does not say of what" if text else "the unit is missing"
        choice = f'"{number:g} %vol" if it is by volume, "{number:g} %mass" if it is by mass'
        raise UnitError(field, raw, f"{why}; {allowed}", f"Write {choice}.")
    if not text:
        example, unit = dimension.example.split(" ", 1)
        shown = f"{number:g}" if number > 0.0 else example
        remedy = f'Write for example "{shown} {unit}".'
        raise UnitError(field, raw, f"the unit is missing; {allowed}", remedy)
    sizes = _MANY_SIZES.get(key.casefold(), ()) if dimension.name == "volume" else ()
    if sizes:
        choice = " or ".join(f'"{number:g} {size}"' for size in sizes)
        raise UnitError(field, raw, f'"{text}" has more than one size', f"Write {choice}.")
    others = dimension_of(text)
    if others:
        allowed = f'"{text}" is a unit of {DIMENSIONS[others[0]].label}; {allowed}'
    near = nearest(key, [unit.symbol for unit in dimension.units])
    remedy = f'Did you mean "{number:g} {near[0]}"?' if near else f"Write {quoted(dimension)}."
    raise UnitError(field, raw, allowed, remedy)


def to_si(number: float, unit: Unit, dimension: Dimension, field: str, raw: object) -> float:
    """Return the number in SI, or raise UnitError for a scale only a table can convert."""
    if unit.scale not in PLAIN_SCALES:
        raise UnitError(
            field, raw, f'"{unit.symbol}" is a scale of its own', f"Write {quoted(dimension)}."
        )
    inverse = 1.0 / unit.factor
    # Dividing by a whole number keeps "26 L" at 0.026 where a product would miss it by one digit.
    value = number / inverse if inverse == round(inverse) else number * unit.factor
    return value + unit.offset


def from_si(value: float, dimension: str, unit: str) -> float:
    """Return an SI value as a number in the named unit.

    Parameters
    ----------
    value : float
        In SI.
    dimension : str
        A name in :data:`DIMENSIONS`.
    unit : str
        A unit of that dimension.

    Returns
    -------
    number : float
        The value in that unit.

    Raises
    ------
    UnitError
        If the dimension has no such unit or its scale needs a table.
    NotFoundError
        If there is no such dimension.

    Examples
    --------
    >>> from_si(0.0125, "volume", "L")
    12.5
    """
    kind = find_dimension(dimension)
    found = find_unit(plain(unit), value, kind, kind.label, unit)
    to_si(0.0, found, kind, kind.label, unit)
    return (value - found.offset) / found.factor
