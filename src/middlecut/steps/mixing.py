# SPDX-License-Identifier: MIT
"""Put lots together: masses add, ranges add, the weakest basis wins, the warmth is shared."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from middlecut.errors import InputError
from middlecut.steps.lot import Amount, Lot
from middlecut.steps.result import Figure

__all__ = [
    "ADDED_WATER",
    "by_name",
    "contraction",
    "mixed",
    "share_of",
    "state_figures",
    "water_lot",
    "weakest",
]

ADDED_WATER = "added water"
"""The name of water as a source in every account."""

_BASIS_ORDER = ("read", "read-abstract", "computed", "memory", "estimate")

_HEAT_CAPACITY_WATER = 4184.0
_HEAT_CAPACITY_ETHANOL = 2440.0
_HEAT_CAPACITY_SOLIDS = 1250.0
# [J kg⁻¹ K⁻¹] at 20 to 25 °C: water and ethanol from the reference equations of state (computed),
# solids as sucrose (memory). The heat of mixing is left out: it warms a half-and-half mixture by
# about 6 K (memory), so a stated temperature is the one after the mixture has cooled again.


def weakest(*bases: str) -> str:
    """Return the weakest of several bases.

    Parameters
    ----------
    bases : str
        Each "read", "read-abstract", "computed", "memory" or "estimate"; any other counts as an
        estimate.

    Returns
    -------
    str
        The one furthest from a measurement.
    """
    ranks = [_BASIS_ORDER.index(basis) if basis in _BASIS_ORDER else 4 for basis in bases]
    return _BASIS_ORDER[max(ranks)] if ranks else "computed"


def mixed(lots: Sequence[Lot], name: str) -> Lot:
    """Put lots together.

    Masses of water, ethanol, solids and every compound add; the volume follows from the mass, so
    contraction is exact. Lows add to lows and highs to highs, as when lots share one cause.

    Parameters
    ----------
    lots : sequence of Lot
        At least one.
    name : str
        Name of the mixture.

    Returns
    -------
    Lot
        Its temperature is the mean weighted by mass and heat capacity; heat of mixing is left out.

    Raises
    ------
    InputError
        If there is nothing to mix.

    Examples
    --------
    >>> both = mixed([Lot("a", water=1.0, ethanol=0.0), Lot("b", water=0.0, ethanol=1.0)], "c")
    >>> round(both.strength, 3)
    0.579
    """
    if not lots:
        raise InputError("lots", 0, "at least one lot is needed", "Name a lot to take from.")
    amounts: dict[str, Amount] = {}
    for lot in lots:
        for compound, amount in lot.amounts.items():
            amounts[compound] = _sum(amounts.get(compound), amount)
    capacities = [_heat_capacity(lot) for lot in lots]
    total = sum(capacities)
    temperature = (
        sum(c * lot.temperature for c, lot in zip(capacities, lots, strict=True)) / total
        if total > 0.0
        else lots[0].temperature
    )
    return Lot(
        name=name,
        water=sum(lot.water for lot in lots),
        ethanol=sum(lot.ethanol for lot in lots),
        solids=sum(lot.solids for lot in lots),
        amounts=amounts,
        temperature=temperature,
    )


def by_name(lots: Iterable[Lot]) -> dict[str, Lot]:
    """Return lots by name, those of the same name put together.

    Parameters
    ----------
    lots : iterable of Lot
        As taken; one lot may have been taken from more than once.

    Returns
    -------
    dict of str to Lot
        In the order met.
    """
    groups: dict[str, list[Lot]] = {}
    for lot in lots:
        groups.setdefault(lot.name, []).append(lot)
    return {name: same[0] if len(same) == 1 else mixed(same, name) for name, same in groups.items()}


def water_lot(mass: float, temperature: float = 293.15) -> Lot:
    """Return plain water as a lot.

    Parameters
    ----------
    mass : float
        [kg]
    temperature : float
        [K]

    Returns
    -------
    Lot
        Under the name every account uses for water put in.
    """
    return Lot(ADDED_WATER, water=mass, ethanol=0.0, temperature=temperature)


def share_of(lot: Lot, volume: float, *, field: str) -> float:
    """Return the share of a lot that a volume makes up.

    Parameters
    ----------
    lot : Lot
        The lot.
    volume : float
        [m³ at 20 °C]
    field : str
        What the volume is for, used in the message.

    Returns
    -------
    float
        0 to 1.

    Raises
    ------
    InputError
        If the volume is negative or more than the lot holds.
    """
    whole = lot.volume
    if not 0.0 <= volume <= whole * (1.0 + 1e-9):
        raise InputError(
            field,
            f"{volume * 1e3:.4g} L",
            f"lot {lot.name!r} holds {whole * 1e3:.4g} L",
            f"Ask for at most {whole * 1e3:.4g} L.",
        )
    return min(volume / whole, 1.0) if whole > 0.0 else 0.0


def state_figures(lot: Lot, *, prefix: str = "", label: str = "") -> tuple[Figure, ...]:
    """Return volume, strength and pure alcohol of a lot as figures of a step.

    Parameters
    ----------
    lot : Lot
        The lot.
    prefix : str
        Put before each key.
    label : str
        Put before each label.

    Returns
    -------
    tuple of Figure
        Three.
    """
    start = f"{label}: " if label else ""
    return (
        Figure(f"{prefix}volume", f"{start}volume at 20 °C", lot.volume, "volume"),
        Figure(f"{prefix}strength", f"{start}strength", lot.strength, "strength"),
        Figure(f"{prefix}pure_alcohol", f"{start}pure alcohol", lot.pure_alcohol, "pure_alcohol"),
    )


def contraction(parts: Iterable[Lot], whole: Lot) -> float:
    """Return how much smaller a mixture is than its parts.

    Parameters
    ----------
    parts : iterable of Lot
        Before.
    whole : Lot
        After.

    Returns
    -------
    float
        [m³ at 20 °C]

    Examples
    --------
    Equal volumes of water and ethanol, 50 + 50 mL, give 96.46 mL:

    >>> from middlecut.liquid import alcoholometry
    >>> water = water_lot(0.05e-3 * alcoholometry.density_20(0.0))
    >>> ethanol = Lot("ethanol", water=0.0, ethanol=0.05e-3 * alcoholometry.density_20(1.0))
    >>> round(100 - contraction([water, ethanol], mixed([water, ethanol], "half")) * 1e6, 1)
    96.5
    """
    return sum(lot.volume for lot in parts) - whole.volume


def _heat_capacity(lot: Lot) -> float:
    return (
        lot.water * _HEAT_CAPACITY_WATER
        + lot.ethanol * _HEAT_CAPACITY_ETHANOL
        + lot.solids * _HEAT_CAPACITY_SOLIDS
    )


def _sum(first: Amount | None, second: Amount) -> Amount:
    if first is None:
        return second
    return Amount(
        first.typical + second.typical,
        first.low + second.low,
        first.high + second.high,
        first.basis if first.basis == second.basis else weakest(first.basis, second.basis),
    )
