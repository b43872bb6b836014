# SPDX-License-Identifier: MIT
"""Read quantities: text with a unit becomes an SI float or a tagged scale."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from typing import Literal

from middlecut.errors import UnitError
from middlecut.units.lookup import find_dimension, find_unit, plain, quoted, to_si
from middlecut.units.table import DIMENSIONS, Dimension

__all__ = ["Gravity", "Strength", "parse_gravity", "parse_quantity", "parse_strength"]

LONGEST = 60
"""Characters a quantity may have; anything longer is no quantity."""

_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)")
_TOKEN = re.compile(r"[+-]?[0-9](?:[0-9 .,'’]*[0-9])?")
_GROUPED = re.compile(r"[+-]?[0-9]{1,3}(?:[ .,'’][0-9]{3})+(?:[.,][0-9]+)?")
_DOUBTFUL = re.compile(r"[+-]?[1-9][0-9]{0,2},[0-9]{3}")
_PART = re.compile(r"([0-9]+(?:[.,][0-9]+)?) ?([^\W\d_]+) ?")


@dataclass(frozen=True, slots=True)
class Strength:
    """A strength on the scale it was written in.

    Parameters
    ----------
    kind : {"vol_20C", "mass", "proof_60F"}
        Fraction by volume at 20 °C, fraction by mass, or US proof at 60 °F.
    value : float
        0 to 1 for the first two, degrees of proof for the third.
    """

    kind: Literal["vol_20C", "mass", "proof_60F"]
    value: float


@dataclass(frozen=True, slots=True)
class Gravity:
    """A gravity on the scale it was written in.

    Parameters
    ----------
    kind : {"sg", "plato"}
        Specific gravity 20/20 °C, or degrees Plato (extract in per cent by mass).
    value : float
        Number on that scale.
    """

    kind: Literal["sg", "plato"]
    value: float


def _ungrouped(token: str) -> str:
    """Return a grouped number without its grouping marks, decimals kept where they are plain."""
    digits = re.sub(r"[ '’]", "", token)
    marks = [mark for mark in digits if mark in ".,"]
    if len(marks) == 1:
        return digits.replace(",", ".") if digits != token else digits.replace(marks[0], "")
    if len(set(marks)) == 1:
        return digits.replace(marks[0], "")
    head, _, tail = digits.rpartition(marks[-1]) if marks else (digits, "", "")
    return re.sub("[.,]", "", head) + (f".{tail}" if tail else "")


def _refuse_grouping(text: str, dimension: Dimension, field: str, raw: object) -> None:
    found = _TOKEN.match(text)
    token = found.group() if found else ""
    rest = text[len(token) :]
    if _NUMBER.fullmatch(token):
        if dimension.name != "gravity" and _DOUBTFUL.fullmatch(token):
            decimal = token.replace(",", ".")
            choice = f'"{token.replace(",", "")}{rest}", or "{decimal}{rest}" if you mean'
            allowed = "a comma before three digits may group them or mark a decimal"
            raise UnitError(field, raw, allowed, f"Write {choice} {float(decimal):g}{rest}.")
    elif _GROUPED.fullmatch(token):
        raise UnitError(
            field, raw, "digits may not be grouped", f'Write "{_ungrouped(token)}{rest}".'
        )


def _finite(number: str | float, raw: object, dimension: Dimension, field: str) -> float:
    try:
        value = float(number)
    except OverflowError:
        value = math.inf
    if not math.isfinite(value):
        raise UnitError(field, raw, "a finite number is needed", f"Write {quoted(dimension)}.")
    return value


def _split(raw: object, dimension: Dimension, field: str) -> tuple[float, str]:
    """Return number and unit text of one quantity."""
    remedy = f"Write {quoted(dimension)}."
    if isinstance(raw, bool) or not isinstance(raw, (str, int, float)):
        raise UnitError(field, raw, f"a {dimension.label} is needed", remedy)
    if not isinstance(raw, str):
        return _finite(raw, raw, dimension, field), ""
    if len(raw) > LONGEST:
        raise UnitError(field, raw, "this is too long for a quantity", remedy)
    text = plain(raw)
    _refuse_grouping(text, dimension, field, raw)
    match = _NUMBER.match(text)
    if match is None and dimension.name == "count":
        remedy = f"Write a whole number, like {dimension.example}."
        raise UnitError(field, raw, "a whole number in digits is wanted", remedy)
    if match is None:
        raise UnitError(field, raw, f"a {dimension.label} starts with a number", remedy)
    rest = text[match.end() :].strip()
    if re.match(r"[eE][+-]?[0-9]", rest):
        raise UnitError(field, raw, "powers of ten are not read", f"Write it out. {remedy}")
    if rest[:1] and rest[0] in "0123456789.,'’/±-+":
        raise UnitError(field, raw, "one number and one unit are wanted", remedy)
    return _finite(match.group().replace(",", "."), raw, dimension, field), rest


def _fitting(dimension: Dimension, example: str) -> Dimension:
    """Return the kind of quantity with an example that fits the field."""
    return replace(dimension, example=example) if example else dimension


def _compound_duration(raw: str, field: str) -> float | None:
    """Return the seconds of "1 h 25 min", or None if the text is no such thing."""
    text = plain(raw)
    parts = _PART.findall(text)
    if len(parts) < 2 or _PART.sub("", text):
        return None
    duration = DIMENSIONS["duration"]
    total, last = 0.0, math.inf
    for number, name in parts:
        unit = find_unit(name, float(number.replace(",", ".")), duration, field, raw)
        if unit.factor >= last:
            return None
        last = unit.factor
        total += float(number.replace(",", ".")) * unit.factor
    return total


def parse_quantity(text: object, dimension: str, *, field: str = "", example: str = "") -> float:
    """Read a quantity with its unit and return it in SI.

    Point and comma are both decimal marks; grouped digits, powers of ten and bare numbers where a
    unit is needed are refused with the remedy.

    Parameters
    ----------
    text : object
        What was written: a string such as "7,4 %vol"; a number where the dimension has no unit.
    dimension : str
        A name in :data:`DIMENSIONS`.
    field : str
        Name of the field, for the message.
    example : str
        A good value of this field, for the message; that of the kind of quantity if left out.

    Returns
    -------
    value : float
        In the SI unit of the dimension.

    Raises
    ------
    UnitError
        If the text is no such quantity. The range is not judged here.
    NotFoundError
        If there is no such dimension.

    Notes
    -----
    A duration may have parts: "1 h 25 min". A strength or gravity is returned only if it is
    written in %vol or SG; other scales need :func:`parse_strength` or :func:`parse_gravity`.

    References
    ----------
    .. [1] :cite:t:`nist_sp811`, appendix B.8.

    Examples
    --------
    >>> round(parse_quantity("2 gal_us", "volume") * 1000, 6)
    7.570824
    >>> parse_quantity("1 h 30 min", "duration")
    5400.0
    """
    kind = _fitting(find_dimension(dimension), example)
    name = field or kind.label
    if dimension == "duration" and isinstance(text, str) and len(text) <= LONGEST:
        total = _compound_duration(text, name)
        if total is not None:
            return total
    number, rest = _split(text, kind, name)
    return to_si(number, find_unit(rest, number, kind, name, text), kind, name, text)


def parse_strength(text: object, *, field: str = "strength", example: str = "") -> Strength:
    """Read a strength on any of its scales.

    Parameters
    ----------
    text : object
        Such as "62 %vol", "120 proof" or "40 % mass".
    field : str
        Name of the field, for the message.
    example : str
        A good value of this field, for the message; that of the kind of quantity if left out.

    Returns
    -------
    strength : Strength
        Tagged with its scale; proof stays proof at 60 °F.

    Raises
    ------
    UnitError
        If the text is no strength. A lone per cent sign is refused: it does not say of what.

    Examples
    --------
    >>> parse_strength("120 proof")
    Strength(kind='proof_60F', value=120.0)
    """
    kind = _fitting(DIMENSIONS["strength"], example)
    number, rest = _split(text, kind, field)
    unit = find_unit(rest, number, kind, field, text)
    if unit.scale == "proof_60F":
        return Strength("proof_60F", number)
    return Strength("mass" if unit.scale == "mass" else "vol_20C", number / 100.0)


def parse_gravity(text: object, *, field: str = "gravity", example: str = "") -> Gravity:
    """Read a gravity as specific gravity or in degrees Plato.

    Parameters
    ----------
    text : object
        Such as "1.062 SG" or "15 °P".
    field : str
        Name of the field, for the message.
    example : str
        A good value of this field, for the message; that of the kind of quantity if left out.

    Returns
    -------
    gravity : Gravity
        Tagged with its scale.

    Raises
    ------
    UnitError
        If the text is no gravity.

    Examples
    --------
    >>> parse_gravity("1,062 SG")
    Gravity(kind='sg', value=1.062)
    """
    kind = _fitting(DIMENSIONS["gravity"], example)
    number, rest = _split(text, kind, field)
    unit = find_unit(rest, number, kind, field, text)
    return Gravity("plato" if unit.scale == "plato" else "sg", number)
