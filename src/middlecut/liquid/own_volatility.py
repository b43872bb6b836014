# SPDX-License-Identifier: MIT
"""Volatility of a compound of the user's own, from whatever they have.

ln γ∞ is a straight line in the ethanol volume fraction (log-linear cosolvency). Where the line lies
is what the compounds of the table teach about their boiling point and log P, moved by each number
that the user gives, all with its own uncertainty: a straight line through normal priors and
measurements, which also tells how far K may be off.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from middlecut.liquid import alcoholometry, equilibrium
from middlecut.liquid.own_names import OwnAnchor, OwnCompound
from middlecut.liquid.ranges import Array

__all__ = ["OwnVolatility", "henry_of", "own_volatility"]

REFERENCE = 298.15
WATER_CONCENTRATION = 55345.0
"""Of water at 25 °C. [mol m⁻³]"""
PRESSURE = 101325.0

FISHTINE = 1.06
"""K_F of esters, ketones, ethers; alcohols and phenols have up to 1.3."""
USUAL_SLOPE = 6250.0
"""d ln(Henry constant)/d(1/T) that carries one from 25 °C to 100 °C; median of the table. [K]"""
SLOPE_BEND = 0.35
"""How much less than its slope at 25 °C says a Henry constant falls up to 100 °C, in ln K."""

_CALORIES = 1.98720425  # cal/(mol K), the unit of Fishtine's correlation
_ETHANOL_VOLUME, _WATER_VOLUME = 58.7, 18.07  # cm³/mol, as in the volatility tables
_FIT = np.linspace(330.0, 385.0, 45)

_RULE_MEAN = np.array([-0.21, 0.64])
_RULE_COVARIANCE = np.array([[1.79, 1.20], [1.20, 1.51]])
"""ln γ in water less the solubility rule, and ln γ in ethanol, over 115 compounds of the table."""
_CURVE_SPREAD = 0.85
"""One sigma of ln(γ in water/γ in ethanol) about what log P says, over the same."""
_BEND = np.array([0.0, 0.3, 0.3])
"""How far ln γ may be from a straight line in equal volumes and in ethanol, one sigma."""
_UNKNOWN = 12.0
_MEASURED = math.log(1.3)
_CONSTANT = math.log(1.8)
_CONSTANT_OWN_SLOPE = 0.65
_CONSTANT_USUAL_SLOPE = 0.95


@dataclass(frozen=True, slots=True, eq=False)
class OwnVolatility:
    """What follows for the volatility of one compound.

    Parameters
    ----------
    ln_gamma : tuple of float
        In water and in ethanol; where no boiling point is known, of the pressure below.
    pressure_coefficients : ndarray, shape (3,)
        ln(P/Pa) = c0 + c1/T + c2 ln T.
    deviation : tuple of float
        One sigma of ln K in water, in equal volumes, in ethanol.
    grade, basis : str
        As in the volatility tables.
    anchor, vapour_pressure_basis : str
        In words.
    """

    ln_gamma: tuple[float, float]
    pressure_coefficients: Array
    deviation: tuple[float, float, float]
    grade: str
    basis: str
    anchor: str
    vapour_pressure_basis: str

    @property
    def highest(self) -> float:
        """The highest K at 101.325 kPa: in boiling water, or in boiling ethanol."""
        at = np.array([373.15, 351.45])
        design = np.stack([np.ones_like(at), 1.0 / at, np.log(at)], axis=1)
        logs = design @ self.pressure_coefficients + np.array(self.ln_gamma) - math.log(PRESSURE)
        return math.exp(min(float(logs.max()), 700.0))

    @property
    def factors(self) -> tuple[float, float]:
        """One-sigma factor of K near water, and between water and ethanol."""
        water, *middle = (max(math.exp(one), 1.3) for one in self.deviation)
        return round(water, 2), round(max(water, *middle), 2)


def fishtine_pressure(temperature: Array, boiling_point: float) -> Array:
    """Return the vapour pressure through a boiling point, with Fishtine's K_F (Lyman, method 1)."""
    offset = -18.0 + 0.19 * boiling_point
    enthalpy = FISHTINE * (8.75 + _CALORIES * math.log(boiling_point))
    scale = enthalpy * (boiling_point - offset) ** 2 / (0.97 * _CALORIES * boiling_point)
    exponent = scale * (1.0 / (boiling_point - offset) - 1.0 / (temperature - offset))
    found: Array = PRESSURE * np.exp(exponent)
    return found


def _pressure(own: OwnCompound, temperature: Array) -> Array:
    """Return the vapour pressure; without a boiling point, a pressure that only has its slope."""
    if own.boiling_point is not None:
        return fishtine_pressure(temperature, own.boiling_point)
    slope = own.henry_slope or USUAL_SLOPE
    found: Array = PRESSURE * np.exp(-slope * (1.0 / temperature - 1.0 / 373.15))
    return found


def _mole_fraction(strength: float) -> float:
    return float(alcoholometry.mole_fraction_from_strength(strength))


def _share(strength: float) -> float:
    """Return the volume fraction of ethanol as the volatility tables reckon it."""
    ethanol = _ETHANOL_VOLUME * _mole_fraction(strength)
    return ethanol / (ethanol + _WATER_VOLUME * (1.0 - _mole_fraction(strength)))


def _rules(own: OwnCompound) -> tuple[Array, Array]:
    """Return mean and covariance of ln γ in water and in ethanol before anything is measured."""
    log_p = own.log_p or 0.0
    if own.boiling_point is not None:
        soluble = math.log(WATER_CONCENTRATION / 1e3) + math.log(10.0) * (log_p - 0.5)
        return _RULE_MEAN + np.array([soluble, 0.0]), _RULE_COVARIANCE
    fall = math.log(10.0) * (0.93 * log_p + 0.40) + math.log(_ETHANOL_VOLUME / _WATER_VOLUME)
    tied = _UNKNOWN**2
    covariance = np.array([[tied, tied], [tied, tied + _CURVE_SPREAD**2]])
    return np.array([0.0, -fall]), covariance


def _measured(own: OwnCompound) -> Iterator[tuple[float, float, float]]:
    """Yield place, ln γ and its one sigma for each number that the user gives."""
    if own.henry is not None:
        at = np.array([REFERENCE])
        constant = math.log(WATER_CONCENTRATION / own.henry / float(_pressure(own, at)[0]))
        if own.boiling_point is not None:
            yield 0.0, constant, _CONSTANT
        elif own.henry_slope is not None:
            yield 0.0, constant - SLOPE_BEND, _CONSTANT_OWN_SLOPE
        else:
            yield 0.0, constant, _CONSTANT_USUAL_SLOPE
    for anchor in own.anchors:
        x = _mole_fraction(anchor.strength)
        temperature, y = equilibrium.bubble_point(x, PRESSURE)
        value = anchor.value * (y / x if anchor.relative else 1.0)
        pressure = float(_pressure(own, np.array([temperature]))[0])
        yield _share(anchor.strength), math.log(value * PRESSURE / pressure), _MEASURED


@lru_cache(maxsize=256)
def own_volatility(own: OwnCompound) -> OwnVolatility:
    r"""Return what follows for the volatility of a compound from what its user says.

    Before anything is measured, ln γ∞ in water follows the solubility rule of liquids,
    :math:`\log_{10} S = 0.5 - \log P`, and that in ethanol a mean, with the covariance that the
    compounds of the table have about them. Without a boiling point only their difference is known,
    :math:`\ln(\gamma_w/\gamma_e) = \ln 10\,(0.93 \log P + 0.40) + \ln(58.7/18.07)`. Each Henry
    constant and each measured volatility then counts as a normal measurement of ln γ∞ at its place.

    Parameters
    ----------
    own : OwnCompound
        One that distils.

    Returns
    -------
    volatility : OwnVolatility
        With the one-sigma uncertainty of ln K in water, in equal volumes and in ethanol.

    Notes
    -----
    Against the table: a boiling point and log P alone give K in water within a factor of 3.8 and in
    ethanol within 3.4 for two in three of 115 compounds; a Henry constant with the boiling point
    within 1.8 in water; one with a slope within 1.9, without within 2.6. Strong hydrogen bonds
    (phenols, aromatic aldehydes with a hydroxyl) and acids are the worst. A measured volatility is
    taken to be good to a factor of 1.3.

    References
    ----------
    .. [1] :cite:t:`li1998cosolvency`, log-linear cosolvency.
    .. [2] :cite:t:`jain2001`, solubility rule (recalled).
    .. [3] :cite:t:`sander2015`, Henry constants.

    Examples
    --------
    >>> bare = OwnCompound("x", 0.1, log_p=2.0, boiling_point=450.0)
    >>> own_volatility(bare).grade, own_volatility(bare).factors
    ('D', (3.81, 3.81))
    """
    mean, covariance = _rules(own)
    for share, value, deviation in _measured(own):
        row = np.array([1.0 - share, share])
        gain = covariance @ row / (row @ covariance @ row + deviation**2)
        mean = mean + gain * (value - row @ mean)
        covariance = covariance - np.outer(gain, row @ covariance)
    rows = np.array([[1.0, 0.0], [0.5, 0.5], [0.0, 1.0]])
    deviations = np.sqrt(np.einsum("ij,jk,ik->i", rows, covariance, rows) + _BEND**2)
    grade, basis = _grade(own)
    return OwnVolatility(
        ln_gamma=(float(mean[0]), float(mean[1])),
        pressure_coefficients=_coefficients(own),
        deviation=(float(deviations[0]), float(deviations[1]), float(deviations[2])),
        grade=grade,
        basis=basis,
        anchor=_anchor(own),
        vapour_pressure_basis=(
            "its slope only, since no boiling point is given"
            if own.boiling_point is None
            else f"estimate: boiling point {own.boiling_point:g} K and Fishtine factor {FISHTINE:g}"
        ),
    )


def _coefficients(own: OwnCompound) -> Array:
    design = np.column_stack([np.ones_like(_FIT), 1.0 / _FIT, np.log(_FIT)])
    found, *_ = np.linalg.lstsq(design, np.log(_pressure(own, _FIT)), rcond=None)
    return np.asarray(found, dtype=np.float64)


def _grade(own: OwnCompound) -> tuple[str, str]:
    if own.anchors:
        return "B", "measured"
    if own.henry is not None:
        known = own.boiling_point is not None or own.henry_slope is not None
        return ("C", "anchored") if known else ("D", "anchored")
    return "D", "estimated"


def _anchor(own: OwnCompound) -> str:
    parts = [_words(anchor) for anchor in own.anchors]
    if own.henry is not None:
        parts.append(f"Henry constant {own.henry:.3g} mol/(m3 Pa) at 25 C")
    return "; ".join(parts) or "log P and the boiling point, by the solubility rule of liquids"


def _words(anchor: OwnAnchor) -> str:
    kind = "relative volatility" if anchor.relative else "K"
    return f"{kind} {anchor.value:g} at {100 * anchor.strength:g} % vol"


def henry_of(own: OwnCompound) -> tuple[float, float]:
    """Return the Henry constant at 25 °C and its slope, given or from the volatility.

    Parameters
    ----------
    own : OwnCompound
        One that distils.

    Returns
    -------
    constant : float
        [mol m⁻³ Pa⁻¹]
    slope : float
        [K]

    Notes
    -----
    What is not given follows from ln γ∞ in water, taken as the same at 25 °C and at the boil, and
    from the vapour pressure at 25 °C.

    References
    ----------
    .. [1] :cite:t:`sander2015`, definitions.

    Examples
    --------
    >>> given = OwnCompound("x", 0.1, log_p=2.0, boiling_point=450.0, henry=0.06)
    >>> henry_of(given)[0]
    0.06
    """
    ends = np.log(_pressure(own, np.array([REFERENCE, REFERENCE + 1.0])))
    slope = float(ends[0] - ends[1]) / (1.0 / (REFERENCE + 1.0) - 1.0 / REFERENCE)
    if own.henry is not None:
        return own.henry, own.henry_slope or slope
    found = own_volatility(own)
    constant = WATER_CONCENTRATION / math.exp(float(ends[0]) + found.ln_gamma[0])
    return constant, own.henry_slope or slope
