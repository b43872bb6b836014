# SPDX-License-Identifier: MIT
"""Ingredients in a fermenting wash: extracted, blown off with CO2, converted by yeast."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from middlecut.errors import InputError
from middlecut.liquid import compounds, extraction_table
from middlecut.steps.additions import (
    KEPT,
    SPENT,
    Shares,
    add_amount,
    amount_of,
    drawn,
    form_of,
    kept_liquid,
    released_solids,
    source_lot,
)
from middlecut.steps.food import food_cautions
from middlecut.steps.gravity_course import gravity_course
from middlecut.steps.lot import Amount, Lot
from middlecut.steps.mixing import mixed, weakest
from middlecut.steps.result import Caution, Entry, Figure
from middlecut.steps.scenario import AIR, NOMINAL, SOLID, Scenario
from middlecut.steps.wash_release import addition_start, release_in_wash, timed
from middlecut.units import format_quantity

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from middlecut.liquid.ingredients import Marker
    from middlecut.steps.parameters import Addition, Ferment

    Array = NDArray[np.float64]

__all__ = ["BLOWN_OFF", "CONVERTED", "WashAdditions", "add_to_wash"]

BLOWN_OFF = "blown off with CO2"
CONVERTED = "converted by yeast"
_MADE_BY_YEAST = "made by yeast"


@dataclass(frozen=True, slots=True)
class WashAdditions:
    """What the ingredients of a wash change.

    Parameters
    ----------
    wash : Lot
        With everything in it, before it is racked.
    kept : Lot
        The liquid that goes out with the spent solids.
    came, went : mapping of str to Lot
        Ingredients; the spent solids and the liquid they keep.
    extra : mapping of str to Entry
        What is blown off and what yeast converts.
    figures : tuple of Figure
    cautions : tuple of Caution
    citations : tuple of str
        Keys of the models used.
    """

    wash: Lot
    kept: Lot | None = None
    came: Mapping[str, Lot] = field(default_factory=dict)
    went: Mapping[str, Lot] = field(default_factory=dict)
    extra: Mapping[str, Entry] = field(default_factory=dict)
    figures: tuple[Figure, ...] = ()
    cautions: tuple[Caution, ...] = ()
    citations: tuple[str, ...] = ()


def add_to_wash(
    parameters: Ferment, wash: Lot, *, carbon_dioxide: float, scenario: Scenario = NOMINAL
) -> WashAdditions:
    """Put the ingredients of a ferment step into its wash.

    Parameters
    ----------
    parameters : Ferment
        The step.
    wash : Lot
        The finished wash without them.
    carbon_dioxide : float
        Given off. [kg]
    scenario : Scenario
        What is assumed beyond the plan.

    Returns
    -------
    WashAdditions
        The wash with them, and where everything went.

    Raises
    ------
    InputError
        If a time does not fit the step, or the spent solids would soak up the wash.
    """
    if not parameters.additions:
        return WashAdditions(wash)
    tally = _Tally(wash)
    course = gravity_course(parameters.temperature).scaled(
        scenario.process_factor(parameters.id, "midpoint"),
        scenario.process_factor(parameters.id, "slope"),
    )
    end = parameters.duration + parameters.settling
    for planned in parameters.additions:
        addition = timed(planned, course=course, end=end) if scenario.lean else planned
        shares = release_in_wash(
            addition,
            wash=wash,
            carbon_dioxide=carbon_dioxide,
            temperature=parameters.temperature,
            duration=parameters.duration,
            settling=parameters.settling,
            coarse=scenario.lean,
            course=course,
            air_factors={
                marker.compound: scenario.process_factor(AIR, marker.compound)
                for marker in addition.ingredient.tracked
            },
            solid_factors={
                marker.compound: scenario.process_factor(
                    SOLID + addition.ingredient.name, marker.compound
                )
                for marker in addition.ingredient.tracked
            },
        )
        tally.add(drawn(addition, scenario), shares, parameters)
    whole = tally.whole()
    liquid = kept_liquid(parameters.additions)
    if liquid >= whole.mass:
        raise InputError(
            "add",
            f"{_kilograms(sum(item.amount for item in parameters.additions))} of ingredients",
            f"they would soak up {_kilograms(liquid)}, and there are only {_kilograms(wash.mass)} "
            f"of wash and {_kilograms(whole.mass - wash.mass)} of water and solubles of their own",
            "Add less.",
        )
    kept = whole.part(liquid / whole.mass, KEPT)
    return WashAdditions(
        wash=whole.part(1.0 - liquid / whole.mass),
        kept=kept,
        came=tally.came,
        went={SPENT: Lot(SPENT, water=0.0, ethanol=0.0, amounts=tally.spent), KEPT: kept},
        extra=tally.extra,
        figures=(
            *tally.figures,
            Figure(
                "kept", "wash kept in the spent solids", kept.volume, "volume", basis="estimate"
            ),
        ),
        cautions=(*_sugar(parameters), *food_cautions(parameters.additions)),
        citations=("fuller2017", "mayer2000", "sander2015", "ethanol_entrainment", "spillman1998"),
    )


def _kilograms(mass: float) -> str:
    return format_quantity(mass, "mass")


def _sugar(parameters: Ferment) -> tuple[Caution, ...]:
    sugar = sum(
        marker.typical * addition.amount
        for addition in parameters.additions
        for marker in addition.ingredient.markers
        if marker.compound == "fermentable sugar"
    )
    if sugar <= 0.0:
        return ()
    text = (
        f"The fruit brings about {_kilograms(sugar)} of sugar, which is not fermented here: add it "
        "to the gravity of the wort if it matters."
    )
    return (Caution("fruit-sugar", "note", text, sugar, None, "kg", "ingredient table"),)


class _Tally:
    """Adds up what several ingredients do to one wash."""

    def __init__(self, wash: Lot) -> None:
        self.wash = wash
        self.amounts = dict(wash.amounts)
        self.water = self.solids = 0.0
        self.came: dict[str, Lot] = {}
        self.spent: dict[str, Amount] = {}
        self.extra: dict[str, Entry] = {}
        self.figures: list[Figure] = []

    def whole(self) -> Lot:
        return replace(
            self.wash,
            water=self.wash.water + self.water,
            solids=self.wash.solids + self.solids,
            amounts=self.amounts,
        )

    def add(self, addition: Addition, shares: Mapping[str, Shares], step: Ferment) -> None:
        source, end = source_lot(addition), step.duration + step.settling
        start = addition_start(addition, temperature=step.temperature, end=end)
        stay = end - start if addition.contact is None else addition.contact
        solids = released_solids(
            addition, time=stay, temperature=step.temperature, strength=self.wash.strength
        )
        source = replace(source, solids=solids)
        self.water += source.water
        self.solids += solids
        before = self.came.get(source.name)
        self.came[source.name] = source if before is None else mixed([before, source], source.name)
        for marker in addition.ingredient.tracked:
            self._compound(addition, marker, shares[marker.compound])
        number = len(self.figures) // 2 + 1
        label = f"{form_of(addition)} {source.name}"
        self.figures += [
            Figure(f"add_{number}_start", f"add {label} after", start, "duration",
                   basis="estimate" if addition.time is None else "computed"),
            Figure(f"add_{number}_contact", f"{label} stays in for", stay, "duration"),
        ]  # fmt: skip

    def _compound(self, addition: Addition, marker: Marker, shares: Shares) -> None:
        name = marker.compound
        whole = amount_of(marker, addition.amount)
        part = amount_of(marker, addition.amount, shares.liquid, shares.basis)
        add_amount(self.amounts, name, part)
        add_amount(self.spent, name, whole.scaled(shares.kept))
        went = {
            BLOWN_OFF: whole.typical * shares.blown,
            CONVERTED: whole.typical * shares.converted,
        }
        self._enter(name, Entry({}, went))
        change = extraction_table.conversion(name)
        if change is not None and change.product and shares.converted > 0.0:
            factor = shares.converted * change.product_share * _mass_ratio(name, change.product)
            made = replace(whole.scaled(factor), basis=weakest(whole.basis, shares.basis))
            add_amount(self.amounts, change.product, made)
            self._enter(change.product, Entry({_MADE_BY_YEAST: made.typical}, {}))

    def _enter(self, name: str, entry: Entry) -> None:
        before = self.extra.get(name)
        if before is not None:
            entry = Entry(_sum(before.came, entry.came), _sum(before.went, entry.went))
        self.extra[name] = entry


def _sum(first: Mapping[str, float], second: Mapping[str, float]) -> dict[str, float]:
    return {key: first.get(key, 0.0) + second.get(key, 0.0) for key in {**first, **second}}


def _mass_ratio(reactant: str, product: str) -> float:
    return compounds.find(product).molar_mass / compounds.find(reactant).molar_mass
