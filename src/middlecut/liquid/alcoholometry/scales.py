# SPDX-License-Identifier: MIT
"""Scales of strength: by volume at 20 °C, by mass and by amount of substance."""

from __future__ import annotations

from typing import overload

from middlecut.liquid.alcoholometry import surface
from middlecut.liquid.alcoholometry.ranges import Array, Floats, admit, check_range
from middlecut.liquid.alcoholometry.surface import (
    ETHANOL_DENSITY_20,
    ROW_20C,
    Row,
    check_mass_fraction,
    density_20,
    solve_array,
    solve_scalar,
)

__all__ = [
    "ETHANOL_MOLAR_MASS",
    "WATER_MOLAR_MASS",
    "mass_fraction_from_mole_fraction",
    "mass_fraction_from_strength",
    "mole_fraction_from_mass_fraction",
    "mole_fraction_from_strength",
    "strength_from_density",
    "strength_from_mass_fraction",
]

ETHANOL_MOLAR_MASS = 46.06844e-3
"""Molar mass of ethanol. [kg mol⁻¹]"""
WATER_MOLAR_MASS = 18.01528e-3
"""Molar mass of water. [kg mol⁻¹]"""

_STRENGTH_20C: Row = (*(value / ETHANOL_DENSITY_20 for value in ROW_20C), 0.0)


def check_strength(strength: Floats, name: str = "strength") -> None:
    """Raise unless every strength lies within 0 and 1."""
    check_range(
        name,
        strength,
        0.0,
        1.0,
        remedy="Give a fraction by volume at 20 °C: 0.40 for 40 %vol.",
    )


def solve_row(row: Row, target: Floats) -> Floats:
    """Return where a scale that runs from 0 to 1 with the mass fraction meets the target."""
    if isinstance(target, float):
        return target if target in (0.0, 1.0) else solve_scalar(row, target)
    return solve_array(row, target)


@overload
def strength_from_mass_fraction(mass_fraction: float) -> float: ...
@overload
def strength_from_mass_fraction(mass_fraction: Array) -> Array: ...
def strength_from_mass_fraction(mass_fraction: Floats) -> Floats:
    r"""Return the strength by volume at 20 °C.

    :math:`q = w \rho(w, 20) / \rho(1, 20)`.

    Parameters
    ----------
    mass_fraction : float or ndarray
        Ethanol over ethanol and water, by mass, 0 to 1.

    Returns
    -------
    strength : float or ndarray
        Volume of the ethanol alone over the volume of the mixture, both at 20 °C, 0 to 1.

    Raises
    ------
    OutOfRangeError
        If a mass fraction is outside 0 to 1 or not a number.

    Notes
    -----
    The ethanol density is that of the formula (789.2391), not the rounded 789.24 of the European
    texts; the choice moves a strength by 1e-6 of itself.

    References
    ----------
    .. [1] :cite:t:`directive76766`, Annex, point 4.

    Examples
    --------
    >>> strength_from_mass_fraction(1.0)
    1.0
    """
    if isinstance(mass_fraction, float):
        w = float(mass_fraction)
        return w * density_20(w) / ETHANOL_DENSITY_20
    w_array = admit(mass_fraction)
    return w_array * density_20(w_array) / ETHANOL_DENSITY_20


@overload
def mass_fraction_from_strength(strength: float) -> float: ...
@overload
def mass_fraction_from_strength(strength: Array) -> Array: ...
def mass_fraction_from_strength(strength: Floats) -> Floats:
    """Return the mass fraction of ethanol of a mixture of known strength by volume.

    The root of :func:`strength_from_mass_fraction`, kept in a bracket.

    Parameters
    ----------
    strength : float or ndarray
        Fraction by volume at 20 °C, 0 to 1.

    Returns
    -------
    mass_fraction : float or ndarray
        Ethanol over ethanol and water, by mass, 0 to 1.

    Raises
    ------
    OutOfRangeError
        If a strength is outside 0 to 1 or not a number.

    Notes
    -----
    The strength rises with the mass fraction everywhere, so the root is the only one. There and
    back agrees to 1e-12.

    References
    ----------
    .. [1] :cite:t:`directive76766`, Annex, point 4.

    Examples
    --------
    >>> round(mass_fraction_from_strength(0.5183), 3)
    0.442
    """
    value = admit(strength)
    check_strength(value)
    return solve_row(_STRENGTH_20C, value)


@overload
def strength_from_density(density: float, temperature: float) -> float: ...
@overload
def strength_from_density(density: Array, temperature: Floats) -> Array: ...
@overload
def strength_from_density(density: float, temperature: Array) -> Array: ...
def strength_from_density(density: Floats, temperature: Floats) -> Floats:
    """Return the strength of an ethanol-water mixture of known density.

    The root of the international formula (:func:`mass_fraction_from_density`), on the scale by
    volume at 20 °C.

    Parameters
    ----------
    density : float or ndarray
        In vacuo. [kg m⁻³]
    temperature : float or ndarray
        Of the sample when the density was measured. [K] Valid 253.15 to 313.15.

    Returns
    -------
    strength : float or ndarray
        Fraction by volume at 20 °C, 0 to 1.

    Raises
    ------
    OutOfRangeError
        If a density is not between those of water and of ethanol at its temperature, a temperature
        is outside -20 to 40 °C, or either is not a number.

    Notes
    -----
    Dissolved solids make a liquid look weaker; see :func:`strength_with_extract`.

    References
    ----------
    .. [1] :cite:t:`directive76766`, Annex, point 4.

    Examples
    --------
    The density that R 22 tables print for 40 % vol at 20 °C:

    >>> round(strength_from_density(948.05, 293.15), 4)
    0.4
    """
    return strength_from_mass_fraction(surface.mass_fraction_from_density(density, temperature))


@overload
def mole_fraction_from_mass_fraction(mass_fraction: float) -> float: ...
@overload
def mole_fraction_from_mass_fraction(mass_fraction: Array) -> Array: ...
def mole_fraction_from_mass_fraction(mass_fraction: Floats) -> Floats:
    """Return the mole fraction of ethanol in ethanol and water.

    :math:`x = (w/M_e) / (w/M_e + (1-w)/M_w)`.

    Parameters
    ----------
    mass_fraction : float or ndarray
        Ethanol over ethanol and water, by mass, 0 to 1.

    Returns
    -------
    mole_fraction : float or ndarray
        Ethanol over ethanol and water, by amount of substance, 0 to 1.

    Raises
    ------
    OutOfRangeError
        If a mass fraction is outside 0 to 1 or not a number.

    Notes
    -----
    Exact; molar masses 46.06844 and 18.01528 g mol⁻¹.

    Examples
    --------
    >>> round(mole_fraction_from_mass_fraction(46.06844 / (46.06844 + 18.01528)), 12)
    0.5
    """
    w = admit(mass_fraction)
    check_mass_fraction(w)
    ethanol, water = w / ETHANOL_MOLAR_MASS, (1.0 - w) / WATER_MOLAR_MASS
    return ethanol / (ethanol + water)


@overload
def mass_fraction_from_mole_fraction(mole_fraction: float) -> float: ...
@overload
def mass_fraction_from_mole_fraction(mole_fraction: Array) -> Array: ...
def mass_fraction_from_mole_fraction(mole_fraction: Floats) -> Floats:
    """Return the mass fraction of ethanol from its mole fraction.

    :math:`w = x M_e / (x M_e + (1-x) M_w)`.

    Parameters
    ----------
    mole_fraction : float or ndarray
        Ethanol over ethanol and water, by amount of substance, 0 to 1.

    Returns
    -------
    mass_fraction : float or ndarray
        Ethanol over ethanol and water, by mass, 0 to 1.

    Raises
    ------
    OutOfRangeError
        If a mole fraction is outside 0 to 1 or not a number.

    Notes
    -----
    Exact; molar masses 46.06844 and 18.01528 g mol⁻¹.

    Examples
    --------
    >>> round(mass_fraction_from_mole_fraction(0.5), 6)
    0.718879
    """
    x = admit(mole_fraction)
    check_range("mole_fraction", x, 0.0, 1.0, remedy="Give a fraction, not per cent.")
    ethanol, water = x * ETHANOL_MOLAR_MASS, (1.0 - x) * WATER_MOLAR_MASS
    return ethanol / (ethanol + water)


@overload
def mole_fraction_from_strength(strength: float) -> float: ...
@overload
def mole_fraction_from_strength(strength: Array) -> Array: ...
def mole_fraction_from_strength(strength: Floats) -> Floats:
    """Return the mole fraction of ethanol of a mixture of known strength by volume.

    By way of the mass fraction (:func:`mass_fraction_from_strength`).

    Parameters
    ----------
    strength : float or ndarray
        Fraction by volume at 20 °C, 0 to 1.

    Returns
    -------
    mole_fraction : float or ndarray
        Ethanol over ethanol and water, by amount of substance, 0 to 1.

    Raises
    ------
    OutOfRangeError
        If a strength is outside 0 to 1 or not a number.

    Notes
    -----
    Congeners and dissolved solids are left out.

    Examples
    --------
    >>> mole_fraction_from_strength(1.0)
    1.0
    """
    return mole_fraction_from_mass_fraction(mass_fraction_from_strength(strength))
