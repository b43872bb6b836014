# SPDX-License-Identifier: MIT
"""Ingredients in the vapour basket and in the boiler: what fits, and what can block or scorch."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from middlecut.errors import InputError
from middlecut.liquid import equilibrium
from middlecut.steps.additions import displaced_volume, form_of
from middlecut.steps.result import Caution
from middlecut.units import format_quantity

if TYPE_CHECKING:
    from middlecut.steps.curve import RunFacts
    from middlecut.steps.lot import Lot
    from middlecut.steps.parameters import Addition
    from middlecut.steps.still import Still

__all__ = [
    "Bed",
    "basket_cautions",
    "bed_liquid",
    "bed_of",
    "charge_cautions",
    "check_additions",
    "check_bed",
    "soaked_volume",
    "still_temperature",
]

SWELLING = 1.3
"""How much dried matter swells in the vapour; fresh matter does not. An estimate."""
FULL = 0.8
"""Share of the basket a wetted bed should not exceed; our choice, no published figure exists."""
MOST_HELD = 0.3
"""Share of the charge that a wetted bed may hold; our choice."""
MOST_SOAKED = 0.5
"""Share of the charge that solids in the boiler may soak up before they can burn; our choice."""
LIFTING = 0.25
"""Pressure drop over the weight of the bed from which vapour begins to cut channels; our choice, a
quarter of what would lift it."""

_PIECE = {"whole": 6.0e-3, "coarse": 2.0e-3, "fine": 0.4e-3}  # [m] estimate
_VOID = 0.40
_WET_VOID = 0.75  # share of the voids that the film leaves open; estimate
_VAPOUR_DENSITY = 1.25  # [kg m⁻³] about 75 % vol in the vapour at 80 °C and 100 kPa, ideal gas
_VAPOUR_VISCOSITY = 1.1e-5  # [Pa s] ethanol and water near 80 °C (memory)
_LATENT_HEAT = 1.2e6  # [J kg⁻¹] of such a vapour, between ethanol's 850e3 and water's 2257e3
_GRAVITY = 9.80665
_SOLIDS_WATCH = 60.0  # [kg m⁻³] of plant matter in a boiler heated from inside; our choice


@dataclass(frozen=True, slots=True)
class Bed:
    """The bed that the ingredients make in the basket.

    Parameters
    ----------
    volume : float
        Wetted and swollen, of all ingredients. [m³]
    depth : float
        In a basket as wide as it is tall. [m]
    vapour_speed : float
        On the empty cross-section at the largest boil-up. [m s⁻¹]
    pressure_drop : float
        Over all ingredients, one layer above the other. [Pa]
    lifting : float
        Pressure drop over the weight per area, of the layer that is lifted first; from 1 on it is.
    loosest : str
        Form and name of that ingredient.
    """

    volume: float
    depth: float
    vapour_speed: float
    pressure_drop: float
    lifting: float
    loosest: str


def _grams(mass: float) -> str:
    return format_quantity(mass, "mass")


def _litres(volume: float) -> str:
    return format_quantity(volume, "volume")


def _bed_volume(addition: Addition) -> float:
    swelling = SWELLING if addition.ingredient.moisture < 0.5 else 1.0
    return addition.amount / addition.ingredient.bulk_density * swelling


def bed_liquid(additions: Iterable[Addition]) -> float:
    """Return the liquid that the bed in the basket holds while vapour passes.

    Parameters
    ----------
    additions : iterable of Addition
        Those for other entry points are passed over.

    Returns
    -------
    float
        [m³] What the ingredients absorb, at the density of such a condensate; an estimate.
    """
    return sum(
        item.ingredient.water_absorption * item.amount / 860.0
        for item in additions
        if item.entry_point == "basket"
    )


def bed_of(additions: Sequence[Addition], *, basket_volume: float, boil_up: float) -> Bed:
    """Return the bed that ingredients make together and how hard the vapour presses on it.

    Pressure drop after Ergun for layers of pieces of one size each, a quarter of the voids filled
    with film.

    Parameters
    ----------
    additions : sequence of Addition
        What lies in the basket, at least one.
    basket_volume : float
        [m³]
    boil_up : float
        Largest heat into the boiling liquid. [W]

    Returns
    -------
    Bed

    Notes
    -----
    After :cite:t:`ergun1952`. Size of the pieces, voids and film are estimates: good to a factor
    of 3, enough to tell ground from crushed. The basket is taken as tall as wide. Powder that
    trickles into the voids of coarser pieces presses harder than layers do; that is left out.
    """
    width = (4.0 * basket_volume / math.pi) ** (1.0 / 3.0)
    area = math.pi * width**2 / 4.0
    speed = boil_up / _LATENT_HEAT / _VAPOUR_DENSITY / area
    volume = drop = 0.0
    lifting = (-1.0, "")
    for item in additions:
        layer = _bed_volume(item)
        layer_drop = _pressure_gradient(_PIECE[form_of(item)], speed) * layer / area
        weight = item.amount * (1.0 + item.ingredient.water_absorption) * _GRAVITY / area
        volume, drop = volume + layer, drop + layer_drop
        lifting = max(lifting, (layer_drop / weight, _named(item)))
    return Bed(volume, volume / area, speed, drop, *lifting)


def _pressure_gradient(size: float, speed: float) -> float:
    """[Pa m⁻¹] of pieces of one size at a speed on the empty cross-section."""
    void = _VOID * _WET_VOID
    viscous = 150.0 * _VAPOUR_VISCOSITY * (1 - void) ** 2 / (void**3 * size**2) * speed
    inertial = 1.75 * _VAPOUR_DENSITY * (1 - void) / (void**3 * size) * speed**2
    return viscous + inertial


def _named(addition: Addition) -> str:
    return f"{form_of(addition)} {addition.ingredient.name}"


def check_additions(additions: tuple[Addition, ...], charge_volume: float, still: Still) -> None:
    """Refuse ingredients that the still has no room for.

    Parameters
    ----------
    additions : tuple of Addition
        Of a distil step.
    charge_volume : float
        Liquid in the boiler. [m³]
    still : Still

    Raises
    ------
    InputError
        If there is no basket, the bed does not fit it, boiler and charge do not leave room, or the
        solids in the boiler would soak up the charge.
    """
    basket = [item for item in additions if item.entry_point == "basket"]
    if basket:
        _check_basket(basket, still)
    inside = [item for item in additions if item.entry_point == "charge"]
    solids = displaced_volume(inside)
    if solids > 0.0 and charge_volume + solids > still.boiler_volume:
        raise InputError(
            "add",
            f"{_litres(solids)} of plant matter in the charge",
            f"with {_litres(charge_volume)} of liquid it does not go into a boiler of "
            f"{_litres(still.boiler_volume)}",
            "Take less of either.",
        )
    soaked = soaked_volume(inside)
    if 0.0 < charge_volume <= soaked:
        mass = sum(item.amount for item in inside)
        most = mass * MOST_SOAKED * charge_volume / soaked
        raise InputError(
            "add",
            f"{_grams(mass)} of {'; '.join(item.ingredient.name for item in inside)}",
            f"in the charge they would soak up {_litres(soaked)}, all of the "
            f"{_litres(charge_volume)} there are: nothing would be left to boil",
            f"Take at most {_grams(most)}, or a larger charge.",
        )


def soaked_volume(additions: Iterable[Addition]) -> float:
    """Return the liquid that ingredients soak up.

    Parameters
    ----------
    additions : iterable of Addition

    Returns
    -------
    float
        [m³] At the density of the liquid that the table of ingredients has it for, 1 kg/L; an
        estimate.
    """
    return sum(item.ingredient.water_absorption * item.amount for item in additions) / 1e3


def _check_basket(basket: list[Addition], still: Still) -> None:
    names = "; ".join(item.ingredient.name for item in basket)
    if still.basket_volume <= 0.0:
        raise InputError(
            "add",
            names,
            f"still {still.name} has no vapour basket",
            'Give the still a basket_volume = "0.6 L", or use the entry point "charge".',
        )
    volume = sum(item.amount / item.ingredient.bulk_density for item in basket)
    if volume > still.basket_volume:
        most = sum(item.amount for item in basket) * still.basket_volume / volume
        raise InputError(
            "add",
            f"{_grams(sum(item.amount for item in basket))} of {names}",
            f"loose it fills {_litres(volume)} and the basket of {still.name} holds "
            f"{_litres(still.basket_volume)}",
            f"Take at most {_grams(most * FULL / SWELLING)}, to leave room for swelling.",
        )


def check_bed(additions: tuple[Addition, ...], charge_volume: float) -> None:
    """Refuse a bed that holds back too much of the charge.

    Parameters
    ----------
    additions : tuple of Addition
        Of a distil step.
    charge_volume : float
        Liquid in the boiler. [m³]

    Raises
    ------
    InputError
        If the wetted bed would hold more than three tenths of the charge; our choice, beyond which
        the run is no longer that of the boiler.
    """
    held = bed_liquid(additions)
    if held > MOST_HELD * charge_volume:
        mass = sum(item.amount for item in additions if item.entry_point == "basket")
        most = mass * MOST_HELD * charge_volume / held
        raise InputError(
            "add",
            f"{_grams(mass)} in the basket",
            f"wetted it holds about {_litres(held)} of a charge of {_litres(charge_volume)}",
            f"Take at most {_grams(most)}, or a larger charge.",
        )


def still_temperature(charge: Lot, pressure: float) -> float:
    """Return the temperature at which a charge boils.

    Parameters
    ----------
    charge : Lot
    pressure : float
        [Pa]

    Returns
    -------
    float
        [K]
    """
    return float(equilibrium.bubble_point(charge.ethanol_mole_fraction, pressure)[0])


def basket_cautions(
    additions: Iterable[Addition], still: Still, facts: RunFacts
) -> tuple[Caution, ...]:
    """Return what can block the vapour path when ingredients lie in the basket.

    Parameters
    ----------
    additions : iterable of Addition
        Of the run; those for other entry points are passed over.
    still : Still
    facts : RunFacts
        Of the run.

    Returns
    -------
    tuple of Caution
        Once for the whole bed, with the numbers of bed and vapour.
    """
    inside = [item for item in additions if item.entry_point == "basket"]
    if not inside:
        return ()
    bed = bed_of(inside, basket_volume=still.basket_volume, boil_up=facts.vapour_heat_peak)
    share = bed.volume / still.basket_volume
    load = _load_caution(bed, " and ".join(_named(item) for item in inside))
    if share <= FULL:
        return (load,)
    amounts = " and ".join(f"{_grams(item.amount)} of {_named(item)}" for item in inside)
    text = (
        f"Wetted and swollen, {amounts} fill about {share * 100:.0f} % of the basket: the vapour "
        "path can close. Take less, and keep a path that cannot be blocked open to the air."
    )
    full = Caution("basket-full", _severity(share), text, share, FULL, "1",
                   "estimate of swelling; limit is our choice")  # fmt: skip
    return (full, load)


def _severity(share: float) -> Literal["danger", "watch"]:
    return "danger" if share > 1.0 else "watch"


def _load_caution(bed: Bed, names: str) -> Caution:
    source = "Ergun; sizes are estimates"
    weighed = "the bed's weight" if names == bed.loosest else f"the weight of {bed.loosest}"
    press = (
        f"vapour at up to {bed.vapour_speed * 100:.2g} cm/s through {bed.depth * 100:.2g} cm of "
        f"{names}, about {bed.pressure_drop:.2g} Pa, at most {bed.lifting * 100:.2g} % of {weighed}"
    )
    if bed.lifting <= LIFTING:
        text = f"The bed lets the vapour through: {press}. Never close the path behind it."
        return Caution("basket-load", "note", text, bed.lifting, LIFTING, "1", source)
    text = (
        f"Blocked path ahead: {press}. Such a bed is lifted or plugs. Crush instead of "
        "grinding, tie powder loosely in cloth, or turn the heat down."
    )
    severity = _severity(bed.lifting)
    return Caution("basket-blocked", severity, text, bed.lifting, LIFTING, "1", source)


def charge_cautions(
    additions: Iterable[Addition], charge_volume: float, still: Still
) -> tuple[Caution, ...]:
    """Return what ingredients in the boiler can do.

    Parameters
    ----------
    additions : iterable of Addition
        Those for other entry points are passed over.
    charge_volume : float
        Liquid in the boiler. [m³]
    still : Still

    Returns
    -------
    tuple of Caution
        Foam, scorching, and solids that bump or block.
    """
    inside = [item for item in additions if item.entry_point == "charge"]
    if not inside:
        return ()
    mass = sum(item.amount for item in inside)
    level = mass / charge_volume
    names = "; ".join(item.ingredient.name for item in inside)
    fill = (charge_volume + displaced_volume(inside)) / still.boiler_volume
    found = []
    soaked = soaked_volume(inside)
    if soaked > MOST_SOAKED * charge_volume:
        most = mass * MOST_SOAKED * charge_volume / soaked
        text = (
            f"{_grams(mass)} of {names} soak up about {_litres(soaked)} of the "
            f"{_litres(charge_volume)} in the boiler: little is left to boil, and less with every "
            f"litre that comes over. Solids that lie dry on the heat burn. Take at most "
            f"{_grams(most)}, or a larger charge."
        )
        found.append(Caution("charge-soaked", "danger", text, soaked / charge_volume, MOST_SOAKED,
                             "1", "estimate of the soaking; limit is our choice"))  # fmt: skip
    if fill > still.safe_fill * (1.0 + 1e-9):
        text = (
            f"With {names} the boiler is {fill * 100:.0f} % full; safe fill is "
            f"{still.safe_fill * 100:.0f} %. Above it liquid and solids can boil over and block "
            "the vapour path. Take less of either."
        )
        found.append(Caution("charge-full", "danger", text, fill, still.safe_fill, "1"))
    elif fill > 0.5:
        text = (
            f"Plant matter foams: with {names} the boiler is {fill * 100:.0f} % full. Keep a "
            "foaming charge to half, and heat the last degrees slowly."
        )
        found.append(Caution("charge-foam", "watch", text, fill, 0.5, "1",
                             "laboratory practice; no published figure for stills"))  # fmt: skip
    heavy = level > _SOLIDS_WATCH or any(form_of(item) == "fine" for item in inside)
    text = (
        f"{_grams(mass)} of {names} in {_litres(charge_volume)} ({level:.3g} g/L) lie in "
        "the boiling liquid: they scorch on a hot element or bottom, and can reach the head. Tie "
        "them in cloth away from the heat, put them in before heating, never into hot liquid."
    )
    found.append(Caution("charge-solids", "watch" if heavy else "note", text, level,
                         _SOLIDS_WATCH, "kg/m³"))  # fmt: skip
    return tuple(found)
