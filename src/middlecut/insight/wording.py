# SPDX-License-Identifier: MIT
"""Numbers in the sentences of a diagnosis and in the edits it proposes."""

from __future__ import annotations

import math

from middlecut.plan.scale_values import plan_quantity

__all__ = ["percent", "signed", "times", "trace", "written"]

_DAY, _HOUR = 86400.0, 3600.0


def written(value: float, dimension: str) -> str:
    """Return an SI value as a person would write it into a plan.

    Parameters
    ----------
    value : float
        In SI.
    dimension : str
        As for :func:`middlecut.plan.scale_values.plan_quantity`, or "mass_concentration".

    Returns
    -------
    str
        To three or four digits; a whole number of hours or days.

    Examples
    --------
    >>> written(0.03, "mass"), written(172800.0, "duration"), written(5400.0, "duration")
    ('30 g', '2 d', '90 min')
    """
    if dimension == "mass" and value < 1.0:
        return f"{value * 1e3:.4g} g"
    if dimension == "mass_concentration":
        return f"{value:.3g} g/L"
    if dimension == "volume":
        return f"{value * 1e6:.4g} mL" if value < 1e-3 else f"{value * 1e3:.4g} L"
    if dimension != "duration":
        return plan_quantity(value, dimension)
    hours = round(value / _HOUR)
    if value >= _DAY and hours % 24 == 0:
        return f"{hours // 24} d"
    return f"{hours} h" if value >= 3.0 * _HOUR else f"{round(value / 60.0)} min"


def percent(share: float, digits: int = 0) -> str:
    """Return a share as per cent.

    Parameters
    ----------
    share : float
        0 to 1.
    digits : int
        Decimals.

    Returns
    -------
    str

    Examples
    --------
    >>> percent(0.9)
    '90 %'
    """
    return f"{share * 100.0:.{digits}f} %"


def signed(change: float) -> str:
    """Return a relative change with its sign.

    Parameters
    ----------
    change : float
        −0.25 is a quarter less; a fraction.

    Returns
    -------
    str

    Examples
    --------
    >>> signed(-0.252), signed(0.004)
    ('-25 %', '+0.4 %')
    """
    return f"{change * 100.0:+.{1 if abs(change) < 0.01 else 0}f} %"


def times(value: float) -> str:
    """Return a multiple of a threshold.

    Parameters
    ----------
    value : float
        Odour activity value.

    Returns
    -------
    str

    Examples
    --------
    >>> times(320.4), times(0.021)
    ('320 times', '0.021 times')
    """
    if value < 0.001:
        return "less than 0.001 times"
    digits = max(0, 1 - math.floor(math.log10(value)))
    return f"{value:,.{digits}f} times"


def trace(mass: float) -> str:
    """Return a small mass in the unit that fits.

    Parameters
    ----------
    mass : float
        [kg]

    Returns
    -------
    str

    Examples
    --------
    >>> trace(3.32e-8)
    '33.2 µg'
    """
    for unit, factor in (("g", 1e3), ("mg", 1e6), ("µg", 1e9)):
        if mass * factor >= 1.0:
            return f"{mass * factor:.3g} {unit}"
    return f"{mass * 1e12:.3g} ng"
