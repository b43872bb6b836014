# SPDX-License-Identifier: MIT
"""Scales of strength: by volume at 20 °C, by mass, by amount of substance, US proof at 60 °F."""

from __future__ import annotations

from typing import overload

from middlecut.liquid.alcoholometry import surface
from middlecut.liquid.alcoholometry.ranges import Array, Floats, admit, check_range
from middlecut.liquid.alcoholometry.surface import (
    ETHANOL_DENSITY_20,
    ROW_20C,
    ROW_60F,
    Row,
    check_mass_fraction,
    density_20,
    polynomial,
    solve_array,
    solve_scalar,
)

__all__ = [
    "ETHANOL_MOLAR_MASS",
    "WATER_MOLAR_MASS",
    "mass_fraction_from_mole_fraction",
    "mass_fraction_from_proof",
    "mass_fraction_from_strength",
    "mole_fraction_from_mass_fraction",
    "mole_fraction_from_strength",
    "proof_from_mass_fraction",
    "proof_from_strength",
    "strength_from_density",
    "strength_from_mass_fraction",
    "strength_from_proof",
]

ETHANOL_MOLAR_MASS = 46.06844e-3
"""Molar mass of ethanol. [kg mol⁻¹]"""
WATER_MOLAR_MASS = 18.01528e-3
"""Molar mass of water. [kg mol⁻¹]"""

_ETHANOL_DENSITY_60F = float(polynomial(ROW_60F, 1.0))
_STRENGTH_20C: Row = (*(value / ETHANOL_DENSITY_20 for value in ROW_20C), 0.0)
_STRENGTH_60F: Row = (*(value / _ETHANOL_DENSITY_60F for value in ROW_60F), 0.0)


def check_strength(strength: Floats, name: str = "strength") -> None:
    """Raise unless every strength lies within 0 and 1."""
    check_range(
        name,
        strength,
        0.0,
        1.0,
        remedy="Give a fraction by volume at 20 °C: 0.40 for 40 % vol.",
    )


def _solve(row: Row, target: Floats) -> Floats:
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
    return _solve(_STRENGTH_20C, value)


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
    0.71888
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


def check_proof(proof: Floats, name: str = "proof") -> None:
    """Raise unless every proof lies within 0 and 200."""
    check_range(name, proof, 0.0, 200.0, unit="US proof", source="27 CFR 30.11")


@overload
def proof_from_mass_fraction(mass_fraction: float) -> float: ...
@overload
def proof_from_mass_fraction(mass_fraction: Array) -> Array: ...
def proof_from_mass_fraction(mass_fraction: Floats) -> Floats:
    r"""Return the US proof of a mixture: twice its per cent by volume at 60 °F.

    :math:`p = 200\, w \rho(w, t) / \rho(1, t)` with t = 15.5556 °C.

    Parameters
    ----------
    mass_fraction : float or ndarray
        Ethanol over ethanol and water, by mass, 0 to 1.

    Returns
    -------
    proof : float or ndarray
        US proof at 60 °F, 0 to 200.

    Raises
    ------
    OutOfRangeError
        If a mass fraction is outside 0 to 1 or not a number.

    Notes
    -----
    The US gauging tables rest on densities of 1913; they agree with this to 0.1 proof.

    References
    ----------
    .. [1] :cite:t:`cfr27part30`, section 30.11.

    Examples
    --------
    >>> proof_from_mass_fraction(1.0)
    200.0
    """
    w = admit(mass_fraction)
    check_mass_fraction(w)
    return 200.0 * (w * polynomial(ROW_60F, w) / _ETHANOL_DENSITY_60F)


@overload
def mass_fraction_from_proof(proof: float) -> float: ...
@overload
def mass_fraction_from_proof(proof: Array) -> Array: ...
def mass_fraction_from_proof(proof: Floats) -> Floats:
    """Return the mass fraction of ethanol of a mixture of known US proof.

    The root of :func:`proof_from_mass_fraction`, kept in a bracket.

    Parameters
    ----------
    proof : float or ndarray
        US proof at 60 °F, 0 to 200.

    Returns
    -------
    mass_fraction : float or ndarray
        Ethanol over ethanol and water, by mass, 0 to 1.

    Raises
    ------
    OutOfRangeError
        If a proof is outside 0 to 200 or not a number.

    Notes
    -----
    There and back agrees to 1e-10 proof.

    References
    ----------
    .. [1] :cite:t:`cfr27part30`, section 30.11.

    Examples
    --------
    >>> mass_fraction_from_proof(200.0)
    1.0
    """
    value = admit(proof)
    check_proof(value)
    return _solve(_STRENGTH_60F, value / 200.0)


@overload
def proof_from_strength(strength: float) -> float: ...
@overload
def proof_from_strength(strength: Array) -> Array: ...
def proof_from_strength(strength: Floats) -> Floats:
    """Return the US proof of a mixture of known strength at 20 °C.

    Not twice the strength in per cent: proof is a scale at 60 °F. Both are functions of the mass
    fraction, which carries one to the other exactly.

    Parameters
    ----------
    strength : float or ndarray
        Fraction by volume at 20 °C, 0 to 1.

    Returns
    -------
    proof : float or ndarray
        US proof at 60 °F, 0 to 200.

    Raises
    ------
    OutOfRangeError
        If a strength is outside 0 to 1 or not a number.

    Notes
    -----
    The two scales differ by at most about 0.2 proof.

    References
    ----------
    .. [1] :cite:t:`cfr27part30`, section 30.11.

    Examples
    --------
    >>> round(proof_from_strength(0.5), 2)
    99.88
    """
    return proof_from_mass_fraction(mass_fraction_from_strength(strength))


@overload
def strength_from_proof(proof: float) -> float: ...
@overload
def strength_from_proof(proof: Array) -> Array: ...
def strength_from_proof(proof: Floats) -> Floats:
    """Return the strength at 20 °C of a mixture of known US proof.

    By way of the mass fraction (:func:`mass_fraction_from_proof`).

    Parameters
    ----------
    proof : float or ndarray
        US proof at 60 °F, 0 to 200.

    Returns
    -------
    strength : float or ndarray
        Fraction by volume at 20 °C, 0 to 1.

    Raises
    ------
    OutOfRangeError
        If a proof is outside 0 to 200 or not a number.

    Notes
    -----
    The two scales differ by at most about 0.1 % vol.

    References
    ----------
    .. [1] :cite:t:`cfr27part30`, section 30.11.

    Examples
    --------
    >>> round(strength_from_proof(100.0), 4)
    0.5006
    """
    return strength_from_mass_fraction(mass_fraction_from_proof(proof))


def strength_60f(mass_fraction: Floats) -> Floats:
    """Return the fraction by volume at 60 °F, also a little beyond 0 to 1."""
    return mass_fraction * polynomial(ROW_60F, mass_fraction) / _ETHANOL_DENSITY_60F
