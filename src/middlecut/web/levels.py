# SPDX-License-Identifier: MIT
"""Traces in words: levels over nine powers of ten and times a threshold, without exponents."""

from __future__ import annotations

import math

__all__ = ["show_level", "show_plain", "show_times"]

_LADDER = ((1e3, "g/L"), (1.0, "mg/L"), (1e-3, "µg/L"), (1e-6, "ng/L"))
_LEAST = 0.1
"""Smallest number shown in a unit before the next smaller unit is taken."""


def show_plain(value: float, digits: int = 3) -> str:
    """Return a number with so many significant digits, thousands apart, never with an exponent.

    Parameters
    ----------
    value : float
    digits : int

    Returns
    -------
    text : str

    Examples
    --------
    >>> [show_plain(value) for value in (18000.0, 231.4, 0.5, 0.00412, 0.0)]
    ['18,000', '231', '0.5', '0.00412', '0']
    """
    if value == 0.0:
        return "0"
    rounded = float(f"{value:.{digits}g}")
    decimals = max(0, digits - 1 - math.floor(math.log10(abs(rounded))))
    text = f"{rounded:,.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def show_level(value: float) -> str:
    """Return a concentration in the unit that suits it.

    Parameters
    ----------
    value : float
        [mg L⁻¹]

    Returns
    -------
    text : str

    Examples
    --------
    >>> [show_level(value) for value in (4210.0, 55.3, 0.0364, 3.2e-5, 4e-13, 0.0)]
    ['4.21 g/L', '55.3 mg/L', '36.4 µg/L', '32 ng/L', 'below 0.1 ng/L', 'none']
    """
    if value <= 0.0:
        return "none"
    for factor, unit in _LADDER:
        least = 1.0 if unit == "g/L" else _LEAST
        if value / factor >= least:
            return f"{show_plain(value / factor)} {unit}"
    return f"below {_LEAST} ng/L"


def show_times(value: float | None) -> str:
    """Return how many times a threshold, with two digits.

    Parameters
    ----------
    value : float or None
        None where no threshold is known.

    Returns
    -------
    text : str

    Examples
    --------
    >>> [show_times(value) for value in (None, 3712.0, 18.7, 0.03, 1e-6, 0.0)]
    ['–', '3,700', '19', '0.03', 'below 0.01', '0']
    """
    if value is None:
        return "–"
    return "below 0.01" if 0.0 < value < 0.01 else show_plain(value, 2)
