# SPDX-License-Identifier: MIT
"""Dilution and blending by mass balance, so that contraction is exact.

Mass adds up when liquids are mixed and volume does not: ethanol and water pack closer together than
apart. Everything here goes from volumes to masses, adds, and goes back.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Generic, NamedTuple, TypeVar, overload

import numpy as np

from middlecut.errors import InputError
from middlecut.liquid.alcoholometry.ranges import Array, Floats, admit
from middlecut.liquid.alcoholometry.scales import (
    check_strength,
    mass_fraction_from_strength,
    strength_from_mass_fraction,
)
from middlecut.liquid.alcoholometry.surface import WATER_DENSITY_20, density_20
from middlecut.liquid.alcoholometry.volumes import check_amount

__all__ = [
    "Blend",
    "DilutionStage",
    "Water",
    "blend",
    "contraction",
    "dilution_stages",
    "dilution_water",
    "stage_strengths",
]


Kind = TypeVar("Kind", float, Array)


class Water(NamedTuple, Generic[Kind]):
    """Water to add.

    Parameters
    ----------
    mass : float or ndarray
        [kg]
    volume : float or ndarray
        At 20 °C. [m³]
    """

    mass: Kind
    volume: Kind


class Blend(NamedTuple):
    """What a blend comes to.

    Parameters
    ----------
    volume : float
        At 20 °C, after contraction. [m³]
    strength : float
        Fraction by volume at 20 °C, 0 to 1.
    """

    volume: float
    strength: float


@dataclass(frozen=True, slots=True)
class DilutionStage:
    """One addition of water on the way down to a strength.

    Parameters
    ----------
    strength : float
        After this addition; fraction by volume at 20 °C, 0 to 1.
    water : float
        Added in this stage. [kg]
    water_total : float
        Added so far, this stage included. [kg]
    volume : float
        Of the spirit after this stage, at 20 °C. [m³]
    """

    strength: float
    water: float
    water_total: float
    volume: float


def _check_target(strength: Floats, target_strength: Floats) -> None:
    check_strength(strength)
    check_strength(target_strength, "target_strength")
    if np.any(np.less_equal(target_strength, 0.0)):
        raise InputError(
            "target_strength",
            0.0,
            "it must be above 0",
            "No amount of water takes all the strength away.",
        )
    above = np.greater(target_strength, strength)
    if np.any(above):
        place = np.unravel_index(int(np.argmax(above)), above.shape)
        wanted = float(np.broadcast_to(target_strength, above.shape)[place])
        there = float(np.broadcast_to(strength, above.shape)[place])
        raise InputError(
            "target_strength",
            wanted,
            f"water only lowers a strength, and the spirit has {there:.4g}",
            "Ask for less, or blend with a stronger spirit.",
        )


@overload
def dilution_water(volume: float, strength: float, target_strength: float) -> Water[float]: ...
@overload
def dilution_water(
    volume: Floats, strength: Floats, target_strength: Floats
) -> Water[float] | Water[Array]: ...
def dilution_water(
    volume: Floats, strength: Floats, target_strength: Floats
) -> Water[float] | Water[Array]:
    r"""Return the water that brings a spirit to a lower strength.

    The ethanol stays: a mass m of mass fraction w becomes :math:`m w / w'`, and the water is the
    difference.

    Parameters
    ----------
    volume : float or ndarray
        Spirit, at 20 °C. [m³]
    strength : float or ndarray
        Of the spirit; fraction by volume at 20 °C, 0 to 1.
    target_strength : float or ndarray
        Wanted; fraction by volume at 20 °C, above 0, at most ``strength``.

    Returns
    -------
    mass : float or ndarray
        Water to add. [kg]
    volume : float or ndarray
        The same water at 20 °C. [m³]

    Raises
    ------
    OutOfRangeError
        If a volume is negative, a strength outside 0 to 1, or any is not a number.
    InputError
        If the target is 0 or above the strength.

    Notes
    -----
    Weigh the water where you can: in mass there is no contraction to allow for, and no temperature.
    Dissolved solids are left out.

    References
    ----------
    .. [1] :cite:t:`cfr27part30`, section 30.66, for the published cases this is tested on.

    Examples
    --------
    One hundred litres from 95 to 40 % vol take 144 litres, where plain proportion says 137.5:

    >>> mass, volume = dilution_water(0.1, 0.95, 0.40)
    >>> round(1000.0 * volume)
    144
    """
    spirit, start, end = admit(volume), admit(strength), admit(target_strength)
    check_amount("volume", spirit, "m³")
    _check_target(start, end)
    before, after = mass_fraction_from_strength(start), mass_fraction_from_strength(end)
    # The same strength twice may come back from the inverse with another last digit.
    fall = np.where(np.asarray(start) > np.asarray(end), np.maximum(before - after, 0.0), 0.0)
    mass: Any = spirit * density_20(before) * fall / after
    mass = mass.item() if np.ndim(mass) == 0 else mass
    return Water[Any](mass, mass / WATER_DENSITY_20)


def stage_strengths(strength: float, target_strength: float, additions: int) -> Iterator[float]:
    """Give the strength after each addition, in equal steps down to the target itself."""
    for number in range(1, additions):
        yield strength + number / additions * (target_strength - strength)
    yield target_strength


def dilution_stages(
    volume: float, strength: float, target_strength: float, additions: int
) -> tuple[DilutionStage, ...]:
    """Return the water to add stage by stage, in equal steps of strength.

    Each stage is a :func:`dilution_water` of its own; together they take the water of one.

    Parameters
    ----------
    volume : float
        Spirit, at 20 °C. [m³]
    strength : float
        Of the spirit; fraction by volume at 20 °C, 0 to 1.
    target_strength : float
        Wanted; fraction by volume at 20 °C, above 0, at most ``strength``.
    additions : int
        Number of stages, 1 to 1000.

    Returns
    -------
    stages : tuple of DilutionStage
        In the order of adding.

    Raises
    ------
    OutOfRangeError
        If the volume is negative, a strength outside 0 to 1, or any is not a number.
    InputError
        If the target is 0 or above the strength, or the number of additions is not 1 to 1000.

    Notes
    -----
    Adding water in stages with rests between is common practice against haze; the balance does not
    depend on it.

    Examples
    --------
    >>> stages = dilution_stages(0.01, 0.60, 0.40, 4)
    >>> [round(stage.strength, 2) for stage in stages]
    [0.55, 0.5, 0.45, 0.4]
    """
    if additions not in range(1, 1001):
        raise InputError("additions", additions, "it is a whole number from 1 to 1000")
    water_total = dilution_water(float(volume), float(strength), float(target_strength)).mass
    start_fraction = mass_fraction_from_strength(float(strength))
    mass = float(volume) * density_20(start_fraction)
    ethanol = mass * start_fraction
    stages: list[DilutionStage] = []
    added = 0.0
    for level in stage_strengths(strength, target_strength, additions):
        fraction = mass_fraction_from_strength(level)
        total = water_total if len(stages) == additions - 1 else ethanol / fraction - mass
        stages.append(
            DilutionStage(level, total - added, total, (mass + total) / density_20(fraction))
        )
        added = total
    return tuple(stages)


def _as_parts(volumes: Sequence[float] | Array, strengths: Sequence[float] | Array) -> list[Array]:
    parts = [np.atleast_1d(np.asarray(given, dtype=np.float64)) for given in (volumes, strengths)]
    if parts[0].shape != parts[1].shape or parts[0].ndim != 1:
        raise InputError(
            "strengths",
            f"{parts[1].size} numbers",
            f"one strength goes with each of the {parts[0].size} volumes",
        )
    check_amount("volumes", parts[0], "m³")
    check_strength(parts[1], "strengths")
    if not float(np.sum(parts[0])) > 0.0:
        raise InputError("volumes", 0.0, "at least one must be above 0 m³")
    return parts


def blend(volumes: Sequence[float] | Array, strengths: Sequence[float] | Array) -> Blend:
    """Return the volume and strength of a blend.

    Masses of ethanol and of water add up; volume and strength follow from the sums.

    Parameters
    ----------
    volumes : sequence of float
        Of the parts, at 20 °C. [m³]
    strengths : sequence of float
        Of the parts; fractions by volume at 20 °C, 0 to 1. Water is 0.

    Returns
    -------
    blend : Blend
        Volume at 20 °C [m³] and strength.

    Raises
    ------
    OutOfRangeError
        If a volume is negative, a strength outside 0 to 1, or any is not a number.
    InputError
        If the two do not go together or there is nothing to blend.

    Notes
    -----
    Dissolved solids and congeners are left out. Heat of mixing is left out: fresh blends of strong
    spirit and water are several kelvin warmer, and larger, until they cool.

    References
    ----------
    .. [1] :cite:t:`directive76766`, Annex, point 4.

    Examples
    --------
    Fifty millilitres of ethanol and fifty of water give 96.46 mL:

    >>> round(1e6 * blend([50e-6, 50e-6], [1.0, 0.0]).volume, 2)
    96.46
    """
    parts, levels = _as_parts(volumes, strengths)
    fractions = mass_fraction_from_strength(levels)
    masses = parts * density_20(fractions)
    mass = float(np.sum(masses))
    fraction = min(float(np.sum(masses * fractions)) / mass, 1.0)  # a sum may round up past 1
    return Blend(mass / density_20(fraction), strength_from_mass_fraction(fraction))


def contraction(volumes: Sequence[float] | Array, strengths: Sequence[float] | Array) -> float:
    """Return the volume that goes missing in a blend.

    The sum of the volumes less the volume of the :func:`blend`.

    Parameters
    ----------
    volumes : sequence of float
        Of the parts, at 20 °C. [m³]
    strengths : sequence of float
        Of the parts; fractions by volume at 20 °C, 0 to 1. Water is 0.

    Returns
    -------
    contraction : float
        At 20 °C. [m³] Slightly negative for some blends of two weak liquids, which swell.

    Raises
    ------
    OutOfRangeError
        If a volume is negative, a strength outside 0 to 1, or any is not a number.
    InputError
        If the two do not go together or there is nothing to blend.

    Notes
    -----
    No ethanol is lost; the liquids pack closer.

    References
    ----------
    .. [1] :cite:t:`directive76766`, Annex, point 4.

    Examples
    --------
    >>> round(1e6 * contraction([50e-6, 50e-6], [1.0, 0.0]), 2)
    3.54
    """
    parts, levels = _as_parts(volumes, strengths)
    return float(np.sum(parts)) - blend(parts, levels).volume
