# SPDX-License-Identifier: MIT
"""A run with ingredients in the boiler or in the vapour basket."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from middlecut.steps.additions import drawn, form_of, sources_for_still
from middlecut.steps.basket import (
    basket_cautions,
    bed_liquid,
    charge_cautions,
    check_additions,
    check_bed,
    still_temperature,
)
from middlecut.steps.distil import distil
from middlecut.steps.food import food_cautions
from middlecut.steps.mixing import mixed, water_lot
from middlecut.steps.result import Caution, Figure, StepResult
from middlecut.steps.scenario import NOMINAL, Scenario

if TYPE_CHECKING:
    from middlecut.steps.lot import Lot
    from middlecut.steps.parameters import Distil
    from middlecut.steps.still import Still

__all__ = ["distil_with_ingredients"]


def distil_with_ingredients(
    parameters: Distil,
    taken: tuple[Lot, ...],
    *,
    still: Still,
    pressure: float,
    scenario: Scenario = NOMINAL,
) -> StepResult:
    """Predict a run with the ingredients of its step.

    Parameters
    ----------
    parameters : Distil
        With its additions.
    taken : tuple of Lot
        What goes into the boiler.
    still : Still
    pressure : float
        [Pa]
    scenario : Scenario
        What is assumed beyond the plan; the tables as they are when left out.

    Returns
    -------
    StepResult
        As :func:`middlecut.steps.distil.distil` gives it, with cautions and figures of the
        ingredients.

    Raises
    ------
    InputError
        If an ingredient does not fit, or the run cannot be done.

    Notes
    -----
    Left out for ingredients in the charge: the water they bring, the liquid they keep and what
    dissolves of them beside their compounds; all small against a charge, and none of it distils.
    """
    if not parameters.additions:
        return distil(parameters, taken, still=still, pressure=pressure, scenario=scenario)
    parameters = replace(
        parameters, additions=tuple(drawn(item, scenario) for item in parameters.additions)
    )
    water = (water_lot(parameters.water),) if parameters.water > 0.0 else ()
    charge = mixed((*taken, *water), "charge")
    check_additions(parameters.additions, charge.volume, still)
    check_bed(parameters.additions, charge.volume)
    temperature = still_temperature(charge, pressure)
    sources = tuple(
        source
        for addition in parameters.additions
        for source in sources_for_still(addition, temperature=temperature, strength=charge.strength)
    )
    result = distil(
        parameters,
        taken,
        still=still,
        pressure=pressure,
        sources=sources,
        bed_liquid=bed_liquid(parameters.additions),
        scenario=scenario,
    )
    if scenario.lean:
        return result
    return replace(
        result,
        cautions=(*result.cautions, *_cautions(parameters, charge, still, result)),
        figures=(*result.figures, *_figures(parameters)),
        citations=(*result.citations, "ergun1952", "fuller2017"),
    )


def _cautions(
    parameters: Distil, charge: Lot, still: Still, result: StepResult
) -> tuple[Caution, ...]:
    found: list[Caution] = []
    if result.curve is not None:
        found += basket_cautions(parameters.additions, still, result.curve.facts)
    found += charge_cautions(parameters.additions, charge.volume, still)
    return (*found, *food_cautions(parameters.additions))


def _figures(parameters: Distil) -> tuple[Figure, ...]:
    where = {"basket": "in the basket", "charge": "in the charge"}
    return tuple(
        Figure(
            f"add_{number}",
            f"{form_of(item)} {item.ingredient.name} {where[item.entry_point]}",
            item.amount,
            "mass",
        )
        for number, item in enumerate(parameters.additions, start=1)
    )
