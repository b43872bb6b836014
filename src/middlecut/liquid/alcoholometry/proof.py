# SPDX-License-Identifier: MIT
"""US proof: twice the per cent by volume at 60 °F, a scale of its own."""

from __future__ import annotations

from typing import overload

from middlecut.liquid.alcoholometry.ranges import Array, Floats, admit, check_range
from middlecut.liquid.alcoholometry.scales import (
    mass_fraction_from_strength,
    solve_row,
    strength_from_mass_fraction,
)
from middlecut.liquid.alcoholometry.surface import ROW_60F, Row, check_mass_fraction, polynomial

__all__ = [
    "mass_fraction_from_proof",
    "proof_from_mass_fraction",
    "proof_from_strength",
    "strength_from_proof",
]

_ETHANOL_DENSITY_60F = float(polynomial(ROW_60F, 1.0))
_STRENGTH_60F: Row = (*(value / _ETHANOL_DENSITY_60F for value in ROW_60F), 0.0)


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
    return solve_row(_STRENGTH_60F, value / 200.0)


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
    Twice the strength in per cent is off by at most 0.15 proof.

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
    Half the proof is off by at most 0.08 % vol.

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
