# SPDX-License-Identifier: MIT
"""What yeast makes of extract: Balling's balance.

Of 2.0665 g of extract yeast makes 1 g of ethanol, 0.9565 g of carbon dioxide and 0.11 g of yeast,
which adds up exactly. Balling drew it from beer wort; a plain sugar wash grows less yeast and lies
a few per cent above it.
"""

from __future__ import annotations

from typing import overload

import numpy as np

from middlecut.errors import InputError
from middlecut.liquid.alcoholometry.ranges import Floats, admit, check_range
from middlecut.liquid.extract.gravity import (
    check_gravity,
    gravity_from_plato,
    plato_from_gravity,
)

__all__ = [
    "CARBON_DIOXIDE_YIELD",
    "EXTRACT_PER_ETHANOL",
    "YEAST_YIELD",
    "apparent_attenuation",
    "ethanol_mass_fraction",
    "final_gravity_from_attenuation",
    "real_attenuation",
    "real_extract",
]

EXTRACT_PER_ETHANOL = 2.0665
"""Extract used up for each ethanol made. [kg kg⁻¹] Balling (memory)."""
CARBON_DIOXIDE_YIELD = 0.9565
"""Carbon dioxide made with each ethanol. [kg kg⁻¹] Balling (memory)."""
YEAST_YIELD = 0.11
"""Dry yeast grown with each ethanol. [kg kg⁻¹] Balling (memory)."""
ORIGINAL_SHARE = 0.1808
"""Share of the original extract in the real extract. Balling (read)."""

LOWEST_WORT = 1.001
"""Lowest gravity that counts as a wort, SG 20/20; our choice."""
HIGHEST_ATTENUATION = 1.25
"""Highest apparent attenuation taken: a wash of plain sugar comes to about 1.22. (estimate)"""
ROUNDING = 1e-12
"""How far a final gravity or extract may pass the original one by rounding."""

_GONE = CARBON_DIOXIDE_YIELD + YEAST_YIELD
PER_CENT = 100.0


def check_gravities(gravity: Floats, final_gravity: Floats) -> None:
    """Raise unless each pair is that of a wort and of a wash made from it."""
    check_gravity(gravity)
    check_gravity(final_gravity, "final_gravity")
    check_range(
        "gravity",
        gravity,
        LOWEST_WORT,
        2.0,
        source="a wort",
        remedy="Give the gravity before fermenting.",
    )
    above = np.greater(final_gravity, gravity + ROUNDING)
    if np.any(above):
        place = np.unravel_index(int(np.argmax(above)), np.shape(above))
        raise InputError(
            "final_gravity",
            float(np.broadcast_to(final_gravity, np.shape(above))[place]),
            "it cannot be above the gravity before fermenting",
            "Give both at the same temperature, the original one first.",
        )


@overload
def real_extract(original_extract: float, apparent_extract: float) -> float: ...
@overload
def real_extract(original_extract: Floats, apparent_extract: Floats) -> Floats: ...
def real_extract(original_extract: Floats, apparent_extract: Floats) -> Floats:
    r"""Return the real extract of a wash from its original and apparent extract.

    :math:`E_r = 0.1808\,E_o + 0.8192\,E_a`; ethanol makes a wash lighter than its extract says.

    Parameters
    ----------
    original_extract : float or ndarray
        Mass fraction of extract in the wort, 0 to 0.31 (a hundredth of the degrees Plato).
    apparent_extract : float or ndarray
        What the gravity of the wash looks like on the same scale, -0.06 to 0.31.

    Returns
    -------
    real_extract : float or ndarray
        Mass fraction of extract in the wash.

    Raises
    ------
    OutOfRangeError
        If an extract is outside its range or not a number.

    Notes
    -----
    Drawn from beer; wash without dextrins follows it less well.

    References
    ----------
    .. [1] :cite:t:`balling1865`, as quoted by :cite:t:`cutaia2009`.

    Examples
    --------
    >>> round(real_extract(0.12, 0.03), 5)
    0.04627
    """
    original, apparent = admit(original_extract), admit(apparent_extract)
    check_range("original_extract", original, 0.0, 0.31, remedy="Give a fraction, not °P.")
    check_range("apparent_extract", apparent, -0.06, 0.31, remedy="Give a fraction, not °P.")
    return ORIGINAL_SHARE * original + (1.0 - ORIGINAL_SHARE) * apparent


@overload
def ethanol_mass_fraction(original_extract: float, real_extract: float) -> float: ...
@overload
def ethanol_mass_fraction(original_extract: Floats, real_extract: Floats) -> Floats: ...
def ethanol_mass_fraction(original_extract: Floats, real_extract: Floats) -> Floats:
    r"""Return the mass fraction of ethanol in a wash from its original and real extract.

    :math:`A = (E_o - E_r) / (2.0665 - 1.0665\,E_o)`, which is the balance of
    2.0665 g of extract to 1 g of ethanol when 1.0665 g leave as gas and yeast.

    Parameters
    ----------
    original_extract : float or ndarray
        Mass fraction of extract in the wort, 0 to 0.31.
    real_extract : float or ndarray
        Mass fraction of extract in the wash, 0 to 0.31.

    Returns
    -------
    mass_fraction : float or ndarray
        Ethanol over the whole wash, solids included, by mass.

    Raises
    ------
    OutOfRangeError
        If an extract is outside its range or not a number.
    InputError
        If more extract is left than there was.

    Notes
    -----
    94.6 % of the ethanol that theory allows from a hexose; on plain sugar a few per cent low.

    References
    ----------
    .. [1] :cite:t:`balling1865`, as quoted by :cite:t:`cutaia2009`.

    Examples
    --------
    >>> round(ethanol_mass_fraction(0.12, 0.04627), 5)
    0.03803
    """
    original, left = admit(original_extract), admit(real_extract)
    check_range("original_extract", original, 0.0, 0.31, remedy="Give a fraction, not °P.")
    check_range("real_extract", left, 0.0, 0.31, remedy="Give a fraction, not °P.")
    if np.any(np.greater(left, original + ROUNDING)):
        raise InputError(
            "real_extract",
            float(np.max(left)),
            "it cannot be above the original extract",
            "Give the extract of the wort first.",
        )
    used = original - left
    used = max(used, 0.0) if isinstance(used, float) else used.clip(0.0)  # rounding is taken back
    return used / (EXTRACT_PER_ETHANOL - _GONE * original)


@overload
def apparent_attenuation(gravity: float, final_gravity: float) -> float: ...
@overload
def apparent_attenuation(gravity: Floats, final_gravity: Floats) -> Floats: ...
def apparent_attenuation(gravity: Floats, final_gravity: Floats) -> Floats:
    r"""Return the share of the extract that looks used up on a hydrometer.

    :math:`(E_o - E_a) / E_o` in degrees Plato.

    Parameters
    ----------
    gravity : float or ndarray
        Before fermenting, SG 20/20. Valid 1.001 to 1.13.
    final_gravity : float or ndarray
        Of the wash, SG 20/20. Valid 0.98 to ``gravity``.

    Returns
    -------
    attenuation : float or ndarray
        Above 1 when the wash is lighter than water.

    Raises
    ------
    OutOfRangeError
        If a gravity is outside its range or not a number.
    InputError
        If the final gravity is above the first.

    Notes
    -----
    Ethanol makes the wash lighter, so this is more than the share really used up.

    References
    ----------
    .. [1] :cite:t:`cutaia2009`.

    Examples
    --------
    >>> round(apparent_attenuation(1.04838, 1.01176), 2)
    0.75
    """
    start, end = admit(gravity), admit(final_gravity)
    check_gravities(start, end)
    original = plato_from_gravity(start)
    return (original - plato_from_gravity(end)) / original


@overload
def real_attenuation(gravity: float, final_gravity: float) -> float: ...
@overload
def real_attenuation(gravity: Floats, final_gravity: Floats) -> Floats: ...
def real_attenuation(gravity: Floats, final_gravity: Floats) -> Floats:
    r"""Return the share of the extract that is really used up.

    By mass: :math:`2.0665\,A\,m / (E_o\,m_0)`, where the mass m of the wash is that of the wort
    less gas and yeast.

    Parameters
    ----------
    gravity : float or ndarray
        Before fermenting, SG 20/20. Valid 1.001 to 1.13.
    final_gravity : float or ndarray
        Of the wash, SG 20/20. Valid 0.98 to ``gravity``.

    Returns
    -------
    attenuation : float or ndarray
        0 to 1.

    Raises
    ------
    OutOfRangeError
        If a gravity is outside its range or not a number.
    InputError
        If the final gravity is above the first, or so low that more extract would be gone than
        there was.

    Notes
    -----
    Some books divide extracts per 100 g of two different liquids instead; that is a few per cent
    lower.

    References
    ----------
    .. [1] :cite:t:`balling1865`, as quoted by :cite:t:`cutaia2009`.

    Examples
    --------
    >>> round(real_attenuation(1.04838, 1.01176), 3)
    0.629
    """
    start, end = admit(gravity), admit(final_gravity)
    check_gravities(start, end)
    original = plato_from_gravity(start) / PER_CENT
    return EXTRACT_PER_ETHANOL * ethanol_per_wort(start, end) / original


def ethanol_per_wort(gravity: Floats, final_gravity: Floats) -> Floats:
    """Return the ethanol made of each kilogram of wort."""
    original = plato_from_gravity(gravity) / PER_CENT
    left = real_extract(original, plato_from_gravity(final_gravity) / PER_CENT)
    if np.any(np.less(left, 0.0)):
        place = np.unravel_index(int(np.argmin(left)), np.shape(left))
        raise InputError(
            "final_gravity",
            float(np.broadcast_to(final_gravity, np.shape(left))[place]),
            "it asks for more ethanol than the extract can give",
            "Correct both readings to 20 °C and read them again; for a wash of plain sugar the "
            "balance may miss by 0.002.",
        )
    ethanol = ethanol_mass_fraction(original, left)
    return ethanol / (1.0 + _GONE * ethanol)


@overload
def final_gravity_from_attenuation(gravity: float, attenuation: float) -> float: ...
@overload
def final_gravity_from_attenuation(gravity: Floats, attenuation: Floats) -> Floats: ...
def final_gravity_from_attenuation(gravity: Floats, attenuation: Floats) -> Floats:
    """Return the final gravity from the apparent attenuation.

    The inverse of :func:`apparent_attenuation`.

    Parameters
    ----------
    gravity : float or ndarray
        Before fermenting, SG 20/20. Valid 1.001 to 1.13.
    attenuation : float or ndarray
        Apparent attenuation, 0 to 1.25.

    Returns
    -------
    final_gravity : float or ndarray
        SG 20/20.

    Raises
    ------
    OutOfRangeError
        If a number is outside its range or not a number.

    Notes
    -----
    Whether the extract suffices for it is left to :func:`ferment_balance`.

    References
    ----------
    .. [1] :cite:t:`cutaia2009`.

    Examples
    --------
    >>> round(final_gravity_from_attenuation(1.04838, 0.75), 4)
    1.0117
    """
    start, share = admit(gravity), admit(attenuation)
    check_gravity(start)
    check_range("gravity", start, LOWEST_WORT, 2.0, source="a wort")
    check_range(
        "attenuation", share, 0.0, HIGHEST_ATTENUATION, remedy="Give a fraction: 0.80 for 80 %."
    )
    return gravity_from_plato(plato_from_gravity(start) * (1.0 - share))
