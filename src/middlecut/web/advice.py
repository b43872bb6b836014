# SPDX-License-Identifier: MIT
"""What to write instead, from what was typed: the same number in a unit that fits the field."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import TypeVar

from middlecut.errors import InputError, UnitError
from middlecut.units import dimension_of

__all__ = ["advised", "bare_litres", "meant_gravity"]

Value = TypeVar("Value")
_TYPED = re.compile(r"\s*(\d+(?:[.,]\d+)?)\s*([^\d\s.,].*?)\s*")
_WHOLE = re.compile(r"\s*(\d{3,4})\s*(?:SG)?\s*", re.IGNORECASE)
_FITTING: Mapping[tuple[str, str], str] = {
    ("volume", "kg"): "L",
    ("volume", "g"): "mL",
    ("volume", "lb"): "US gal",
    ("volume", "oz"): "US fl oz",
    ("mass", "l"): "kg",
    ("mass", "ml"): "g",
    ("mass", "us gal"): "lb",
    ("mass", "us fl oz"): "oz",
}
"""Unit of a field's kind that is nearest to one of another kind; water weighs as much."""
_A_LITRE = 10.0
"""Millilitres to the litre that make one per cent."""


def advised(typed: str, dimension: str, act: Callable[[], Value]) -> Value:
    """Do what reads a field; where its unit does not fit, say what to write from what was typed.

    Parameters
    ----------
    typed : str
    dimension : str
        Kind of quantity of the field.
    act : callable
        Without arguments.

    Returns
    -------
    value : what ``act`` returns

    Raises
    ------
    UnitError
        As ``act`` does, with its remedy made of what was typed.
    """
    try:
        return act()
    except UnitError as error:
        remedy = _remedy(typed, dimension)
        if not remedy:
            raise
        raise UnitError(error.field, typed, error.allowed, remedy) from None


def _remedy(typed: str, dimension: str) -> str:
    found = _TYPED.fullmatch(typed)
    if found is None:
        return ""
    number, unit = found[1].replace(",", "."), found[2].strip()
    if dimension == "fraction" and unit.casefold().replace(" ", "") == "ml/l":
        return f'Write "{float(number) / _A_LITRE:g} %": 10 mL/L are one per cent.'
    if dimension in dimension_of(unit):
        return ""
    other = _FITTING.get((dimension, unit.casefold()), "")
    return f'Did you mean "{number} {other}"?' if other else ""


def meant_gravity(typed: str, label: str) -> None:
    """Refuse a gravity without its point, and say where the point belongs.

    Parameters
    ----------
    typed, label : str

    Raises
    ------
    InputError
        For 1040 and the like.
    """
    found = _WHOLE.fullmatch(typed)
    if found and 980 <= int(found[1]) <= 1200:
        meant = f"{int(found[1]) / 1000.0:.3f}"
        words = "a gravity is written with its point"
        raise InputError(label, typed, words, f'Did you mean "{meant}"?')


def bare_litres(typed: str, volume: float, *, least: float, most: float) -> str:
    """Return what to write where a bare number of millilitres was meant in litres; "" if not.

    Parameters
    ----------
    typed : str
    volume : float
        As it was read. [m³]
    least, most : float
        Range the field takes. [m³]

    Returns
    -------
    remedy : str
    """
    bare = typed.strip().replace(",", ".")
    if not bare.replace(".", "", 1).isdigit() or volume >= least:
        return ""
    return f'Did you mean "{bare} L"?' if least <= 1000.0 * volume <= most else ""
