# SPDX-License-Identifier: MIT
"""What an ingredient brings into a liquid, and what it keeps: shared by all entry points."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from middlecut.errors import InputError, NotFoundError
from middlecut.liquid import extraction, volatility
from middlecut.liquid.extraction_table import Range
from middlecut.steps.columns import StillSource
from middlecut.steps.lot import Amount, Lot
from middlecut.steps.mixing import weakest

if TYPE_CHECKING:
    from middlecut.liquid.ingredients import Ingredient, Marker
    from middlecut.steps.parameters import Addition
    from middlecut.steps.scenario import Scenario

__all__ = [
    "KEPT",
    "PARTITION_FACTOR",
    "RECOVERED",
    "SPENT",
    "Shares",
    "add_amount",
    "amount_of",
    "displaced_volume",
    "drawn",
    "form_of",
    "kept_liquid",
    "released_solids",
    "source_lot",
    "sources_for_still",
    "spread",
]

SPENT = "spent solids"
"""Name of the loss: what an ingredient does not give off."""
KEPT = "liquid kept in spent solids"
"""Name of the loss: liquid that goes out with the strained ingredient."""

PARTITION_FACTOR = 3.0
"""How far the partition between solid and liquid may be off, up or down: what
:func:`middlecut.liquid.extraction.solid_liquid_partition` says of itself."""
SOLID_DENSITY = 1200.0
"""Of plant matter without the air in it. [kg m⁻³] General handbooks (memory)."""

RECOVERED: Mapping[str, Range] = {
    "charge": Range(0.60, 0.75, 0.90),
    "basket": Range(0.40, 0.60, 0.80),
}
"""Share of the volatile oil that a run gets out of botanicals, by entry point.

Common practice (estimate): 60 to 90 % in the boiler over 1.5 to 3 h, 40 to 80 % in a basket at
60 to 80 % vol over 1 to 3 h.
"""


@dataclass(frozen=True, slots=True)
class Shares:
    """Where the content of one compound of an ingredient goes, as shares that add up to 1.

    Parameters
    ----------
    liquid : Range
        In the liquid at the end; typical belongs to the other shares.
    kept, blown, converted : float
        Still in the solids; carried off with CO2; turned into something else by yeast.
    basis : str
        The weakest of the numbers used.
    """

    liquid: Range
    kept: float
    blown: float = 0.0
    converted: float = 0.0
    basis: str = "estimate"


def form_of(addition: Addition) -> str:
    """Return how far an ingredient is broken up, in words for a person.

    Parameters
    ----------
    addition : Addition

    Returns
    -------
    str
        One word.
    """
    return addition.form or addition.ingredient.usual_form


def spread(content: Range, share: Range) -> Range:
    """Return content times share, their ranges joined as of independent causes.

    Parameters
    ----------
    content : Range
        [kg]
    share : Range
        0 to 1.

    Returns
    -------
    Range
        Distances on a logarithmic scale add as squares; a low of 0 stays 0.
    """
    typical = content.typical * share.typical
    if typical <= 0.0:
        return Range(0.0, 0.0, content.high * share.high)
    low = 0.0
    if content.low > 0.0 and share.low > 0.0:
        parts = math.log(content.typical / content.low), math.log(share.typical / share.low)
        low = typical * math.exp(-math.hypot(*parts))
    parts = math.log(content.high / content.typical), math.log(share.high / share.typical)
    return Range(low, typical, typical * math.exp(math.hypot(*parts)))


def amount_of(marker: Marker, mass: float, share: Range | None = None, basis: str = "") -> Amount:
    """Return how much of a compound an amount of ingredient brings.

    Parameters
    ----------
    marker : Marker
        Of the ingredient.
    mass : float
        Of the ingredient. [kg]
    share : Range or None
        The part meant; None: all of it.
    basis : str
        Of the share.

    Returns
    -------
    Amount
        [kg]
    """
    content = Range(marker.low * mass, marker.typical * mass, marker.high * mass)
    part = spread(content, share) if share is not None else content
    return Amount(part.typical, part.low, part.high, weakest(marker.basis, basis or marker.basis))


def add_amount(total: dict[str, Amount], name: str, amount: Amount) -> None:
    """Add an amount to those of the same name.

    Parameters
    ----------
    total : dict of str to Amount
        Changed.
    name : str
        Of the compound.
    amount : Amount
        [kg]
    """
    total[name] = total[name].plus(amount) if name in total else amount


def drawn(addition: Addition, scenario: Scenario) -> Addition:
    """Return an addition with the contents that a scenario assumes.

    Parameters
    ----------
    addition : Addition
    scenario : Scenario
        Its factors go by the name of the ingredient and the compound.

    Returns
    -------
    Addition
    """
    if not scenario.content:
        return addition
    ingredient = addition.ingredient
    markers = tuple(
        replace(
            marker,
            typical=marker.typical * scenario.content_factor(ingredient.name, marker.compound),
        )
        for marker in ingredient.markers
    )
    return replace(addition, ingredient=replace(ingredient, markers=markers))


def source_lot(addition: Addition) -> Lot:
    """Return an ingredient as a source in the account: its water and its compounds.

    Parameters
    ----------
    addition : Addition

    Returns
    -------
    Lot
        Under the name of the ingredient. What dissolves of it is counted when it does.
    """
    ingredient, mass = addition.ingredient, addition.amount
    return Lot(
        ingredient.name,
        water=ingredient.moisture * mass,
        ethanol=0.0,
        amounts={marker.compound: amount_of(marker, mass) for marker in ingredient.tracked},
    )


def kept_liquid(additions: Iterable[Addition]) -> float:
    """Return the liquid that goes out with strained ingredients.

    Parameters
    ----------
    additions : iterable of Addition

    Returns
    -------
    float
        [kg]
    """
    return sum(item.ingredient.water_absorption * item.amount for item in additions)


def displaced_volume(additions: Iterable[Addition]) -> float:
    """Return the room that ingredients take up in a vessel once they are wet.

    Parameters
    ----------
    additions : iterable of Addition

    Returns
    -------
    float
        [m³] Of the plant matter; the liquid in its pores is that of the vessel.
    """
    return sum(item.amount for item in additions) / SOLID_DENSITY


def released_solids(
    addition: Addition,
    *,
    time: float,
    temperature: float,
    strength: float,
    stirred: bool = False,
) -> float:
    """Return what dissolves of an ingredient beside its compounds.

    Parameters
    ----------
    addition : Addition
    time : float
        Contact. [s]
    temperature : float
        [K]
    strength : float
        Of the liquid, 0 to 1.
    stirred : bool
        All the time, against an occasional shake.

    Returns
    -------
    float
        [kg]
    """
    ingredient = addition.ingredient
    release = extraction.extraction(
        "soluble matter",
        ingredient,
        form=addition.form,
        temperature=temperature,
        strength=strength,
        stirred=stirred,
    )
    reached = -math.expm1(-release.rate.typical * time)
    return ingredient.soluble_share * addition.amount * reached


def sources_for_still(
    addition: Addition, *, temperature: float, strength: float
) -> tuple[StillSource, ...]:
    """Return the compounds of an ingredient as the distil step takes them.

    The rate is that of the tissue at the boil. Of what can boil, the accessible share is at most
    what common practice gets out of boiler or basket; all else follows the tissue alone.

    Parameters
    ----------
    addition : Addition
        With entry point "charge" or "basket".
    temperature : float
        Of the boiling liquid. [K]
    strength : float
        Of the charge, 0 to 1.

    Returns
    -------
    tuple of StillSource
        One a tracked compound.

    Raises
    ------
    InputError
        If the ingredient is meant for another entry point.

    Notes
    -----
    Recovery of oil by entry point is common practice, an estimate; the range of it is joined with
    that of the content.
    """
    point: Literal["charge", "basket"]
    if addition.entry_point == "charge":
        point = "charge"
    elif addition.entry_point == "basket":
        point = "basket"
    else:
        allowed = 'in a distil step an ingredient goes into the "charge" or the "basket"'
        raise InputError("add", addition.entry_point, allowed)
    return tuple(
        _still_source(addition, marker, point, temperature=temperature, strength=strength)
        for marker in addition.ingredient.tracked
    )


def _still_source(
    addition: Addition,
    marker: Marker,
    point: Literal["charge", "basket"],
    *,
    temperature: float,
    strength: float,
) -> StillSource:
    ingredient: Ingredient = addition.ingredient
    release = extraction.extraction(
        marker.compound,
        ingredient,
        form=addition.form,
        temperature=temperature,
        strength=strength,
    )
    share, basis = release.accessible, release.basis
    if _boils(marker.compound):
        most = RECOVERED[point]
        share = Range(*(min(getattr(share, end), getattr(most, end)) for end in _ENDS))
        basis = "estimate"
    whole = amount_of(marker, addition.amount)
    part = amount_of(marker, addition.amount, share, basis)
    scale = 1.0 / share.typical if share.typical > 0.0 else 0.0
    amount = Amount(whole.typical, part.low * scale, part.high * scale, part.basis)
    return StillSource(
        ingredient=ingredient.name,
        compound=marker.compound,
        amount=amount,
        accessible=share.typical,
        release=release.rate.typical,
        entry_point=point,
    )


_ENDS = ("low", "typical", "high")


def _boils(compound: str) -> bool:
    try:
        volatility.grade(compound)
    except NotFoundError:
        return False
    return True
