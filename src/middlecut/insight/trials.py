# SPDX-License-Identifier: MIT
"""Dose ladders: a row of glasses with more and more flavour spirit, and the rate for the batch."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from middlecut.errors import InputError, OutOfRangeError
from middlecut.liquid import alcoholometry
from middlecut.steps.dilute import water_to_strength
from middlecut.steps.lot import Lot
from middlecut.steps.mixing import mixed, water_lot

__all__ = ["LARGEST_RATE", "Dose", "Glass", "dose_batch", "dose_ladder", "even_rates"]

LARGEST_RATE = 1.0
"""Most flavour spirit per volume of base that a ladder takes; beyond that it is the base."""
_MOST_GLASSES = 26
_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@dataclass(frozen=True, slots=True)
class Glass:
    """One glass of a ladder.

    Parameters
    ----------
    glass : str
        A letter, in the order of the rates given.
    rate : float
        Flavour spirit per volume of base, both at 20 °C. [m³ m⁻³]
    base_volume, dose_volume : float
        What goes in. [m³ at 20 °C]
    dose_mass : float
        The dose on a kitchen scale. [kg]
    water : float
        Added to come to the strength of the tasting; 0 without one. [kg]
    volume : float
        Of the glass, contraction counted. [m³ at 20 °C]
    strength : float
        Of the glass, 0 to 1.
    batch_strength : float
        Of a batch with this rate, without the water of the tasting, 0 to 1.
    """

    glass: str
    rate: float
    base_volume: float
    dose_volume: float
    dose_mass: float
    water: float
    volume: float
    strength: float
    batch_strength: float


@dataclass(frozen=True, slots=True)
class Dose:
    """What a rate means for the whole batch.

    Parameters
    ----------
    rate : float
        [m³ m⁻³]
    volume : float
        Flavour spirit to add. [m³ at 20 °C]
    mass : float
        The same on a scale. [kg]
    lot : Lot
        What it makes.
    short_by : float
        Flavour spirit that is missing; 0 when there is enough. [m³ at 20 °C]
    largest_rate : float
        What all the flavour spirit there is would give. [m³ m⁻³]
    """

    rate: float
    volume: float
    mass: float
    lot: Lot
    short_by: float
    largest_rate: float

    def to_dict(self) -> dict[str, Any]:
        """Return it in SI units as plain JSON types."""
        names = ("rate", "volume", "mass", "short_by", "largest_rate")
        return {**{name: getattr(self, name) for name in names}, "lot": self.lot.to_dict()}


def even_rates(highest: float, glasses: int) -> tuple[float, ...]:
    """Return evenly spaced rates from nothing to the highest.

    Parameters
    ----------
    highest : float
        The last rate. [m³ m⁻³] Above 0, at most 1.
    glasses : int
        How many, the one without any dose included; 2 to 26.

    Returns
    -------
    tuple of float
        Starting with 0.

    Raises
    ------
    OutOfRangeError
        If the rate or the number is out of its range.

    Examples
    --------
    >>> even_rates(0.08, 5)
    (0.0, 0.02, 0.04, 0.06, 0.08)
    """
    _check_rate(highest, least=1e-6)
    if not 2 <= glasses <= _MOST_GLASSES:
        raise OutOfRangeError(
            "glasses", glasses, 2, _MOST_GLASSES, remedy="A nose tires after six or so."
        )
    return tuple(round(highest * step / (glasses - 1), 12) for step in range(glasses))


def dose_ladder(
    base: Lot,
    flavour: Lot,
    rates: Sequence[float],
    *,
    glass_volume: float,
    tasting_strength: float | None = None,
) -> tuple[Glass, ...]:
    """Return what goes into each glass of a dose ladder.

    Masses add, so the volume and the strength of each glass count contraction.

    Parameters
    ----------
    base : Lot
        The spirit that is to be flavoured.
    flavour : Lot
        The flavour spirit.
    rates : sequence of float
        Flavour spirit per volume of base. [m³ m⁻³] 0 to 1, at most 26 of them.
    glass_volume : float
        Base spirit in each glass. [m³ at 20 °C] 1e-6 to 1e-3.
    tasting_strength : float or None
        Strength every glass is let down to, 0.05 to 1. None: as it comes.

    Returns
    -------
    tuple of Glass
        In the order of the rates.

    Raises
    ------
    OutOfRangeError
        If a rate, the glass or the strength is out of its range.
    InputError
        If there is no rate, one stands twice, or a lot is empty.

    Notes
    -----
    The balance only; that a nose judges a glass against the one before it is left out: mix the
    glasses up and taste them blind.

    References
    ----------
    .. [1] :cite:t:`oiml_r22`, densities behind the volumes.

    Examples
    --------
    Twenty millilitres of 45 % vol with 5 % of a spirit of 60 % vol:

    >>> base = Lot("base", water=0.598, ethanol=0.363)
    >>> flavour = Lot("orange", water=0.43526, ethanol=0.47352)
    >>> row = dose_ladder(base, flavour, (0.05,), glass_volume=20e-6)[0]
    >>> round(row.dose_volume * 1e6, 3), round(row.dose_mass * 1e3, 2), round(row.strength, 3)
    (1.0, 0.91, 0.457)
    """
    _check_ladder(rates, glass_volume, tasting_strength)
    _check_lots(base, flavour)
    return tuple(
        _glass(base, flavour, name, rate, poured=glass_volume, strength=tasting_strength)
        for name, rate in zip(_LETTERS, rates, strict=False)
    )


def dose_batch(base: Lot, flavour: Lot, rate: float) -> Dose:
    """Return what a chosen rate means for all of the base.

    Parameters
    ----------
    base : Lot
        All the spirit that is to be flavoured.
    flavour : Lot
        All the flavour spirit there is.
    rate : float
        Flavour spirit per volume of base. [m³ m⁻³] 0 to 1.

    Returns
    -------
    Dose
        Exact amount, what it makes, and what is missing where it is not enough; the mixture is
        told as if it were enough.

    Raises
    ------
    OutOfRangeError
        If the rate is out of its range.
    InputError
        If a lot is empty.

    References
    ----------
    .. [1] :cite:t:`oiml_r22`, densities behind the volumes.

    Examples
    --------
    >>> base = Lot("base", water=0.598, ethanol=0.363)
    >>> flavour = Lot("orange", water=0.043526, ethanol=0.047352)
    >>> found = dose_batch(base, flavour, 0.05)
    >>> round(found.volume / base.volume, 12), found.short_by, round(found.largest_rate, 3)
    (0.05, 0.0, 0.098)
    """
    _check_rate(rate)
    _check_lots(base, flavour)
    wanted = rate * base.volume
    part = flavour.part(wanted / flavour.volume)
    return Dose(
        rate=rate,
        volume=wanted,
        mass=part.mass,
        lot=mixed([base, part], base.name),
        short_by=max(wanted - flavour.volume, 0.0),
        largest_rate=flavour.volume / base.volume,
    )


def _glass(
    base: Lot, flavour: Lot, name: str, rate: float, *, poured: float, strength: float | None
) -> Glass:
    dose = flavour.part(rate * poured / flavour.volume)
    both = mixed([base.part(poured / base.volume), dose], name)
    water = 0.0 if strength is None else water_to_strength(both, strength)
    glass = mixed([both, water_lot(water)], name)
    return Glass(
        glass=name,
        rate=rate,
        base_volume=poured,
        dose_volume=rate * poured,
        dose_mass=dose.mass,
        water=water,
        volume=glass.volume,
        strength=glass.strength,
        batch_strength=both.strength,
    )


def _check_rate(rate: float, least: float = 0.0) -> None:
    if not (math.isfinite(rate) and least <= rate <= LARGEST_RATE):
        raise OutOfRangeError(
            "rate", rate, least, LARGEST_RATE, unit="m³/m³",
            remedy="Above that, take the flavour spirit for the base.",
        )  # fmt: skip


def _check_ladder(rates: Sequence[float], glass: float, strength: float | None) -> None:
    if not 1 <= len(rates) <= _MOST_GLASSES:
        raise InputError("rates", len(rates), f"1 to {_MOST_GLASSES} glasses make a ladder", "")
    for rate in rates:
        _check_rate(rate)
    if len(set(rates)) != len(rates):
        raise InputError("rates", "twice", "each rate stands once", "Leave the second one out.")
    if not (math.isfinite(glass) and 1e-6 <= glass <= 1e-3):
        raise OutOfRangeError(
            "glass volume", glass, 1e-6, 1e-3, unit="m³", remedy="A glass holds 1 mL to 1 L."
        )
    if strength is not None and not 0.05 <= strength <= 1.0:
        raise OutOfRangeError("tasting strength", strength, 0.05, 1.0, remedy="20 %vol is usual.")


def _check_lots(*lots: Lot) -> None:
    for lot in lots:
        if not lot.volume > 0.0:
            raise InputError("lot", lot.name, "there is nothing in it", "Take a lot with liquid.")
        alcoholometry.mass_fraction_from_strength(lot.strength)
