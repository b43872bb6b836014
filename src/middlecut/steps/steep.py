# SPDX-License-Identifier: MIT
"""Leave ingredients in a lot and strain them off."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from middlecut.errors import InputError
from middlecut.liquid import extraction, extraction_table
from middlecut.liquid.extraction_table import Range
from middlecut.steps import hazards
from middlecut.steps.accounts import checked_account
from middlecut.steps.additions import (
    KEPT,
    PARTITION_FACTOR,
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
from middlecut.steps.lot import Amount, Lot
from middlecut.steps.mixing import mixed, state_figures
from middlecut.steps.result import Caution, Figure, StepResult
from middlecut.steps.scenario import NOMINAL, SOLID, Scenario
from middlecut.units import format_quantity

if TYPE_CHECKING:
    from middlecut.liquid.ingredients import Marker
    from middlecut.steps.parameters import Addition, Steep

__all__ = ["check_steep", "steep"]

_WEAK = 0.20
_DONE = 0.90


def steep(parameters: Steep, taken: Lot, *, scenario: Scenario = NOMINAL) -> StepResult:
    """Leave ingredients in a lot and strain them off.

    Each compound goes over in first order towards its partition between liquid and solid. The
    water an ingredient brings lowers the strength at once; the spent solids go out soaked.

    Parameters
    ----------
    parameters : Steep
        The step, as checked.
    taken : Lot
        The liquid, under the name of the lot it came from.
    scenario : Scenario
        What is assumed beyond the plan; the tables as they are when left out.

    Returns
    -------
    StepResult
        The strained lot; spent solids and the liquid they keep are losses of the account.

    Raises
    ------
    InputError
        If there is no ingredient, an ingredient stays in longer than the step lasts, or the solids
        would soak up the lot.

    Notes
    -----
    Rates and partition: :func:`middlecut.liquid.extraction.extraction`, after
    :cite:t:`fuller2017` where coffee is concerned and mostly by analogy elsewhere. Left out:
    evaporation from an open jar, oxidation, what the solids take up of what the lot already held,
    and pressing the solids, which wins some of the liquid back.
    """
    check_steep(parameters)
    drawn_ones = tuple(drawn(addition, scenario) for addition in parameters.additions)
    parameters = replace(parameters, additions=drawn_ones)
    kept_mass = kept_liquid(parameters.additions)
    liquid, came, spent = _pool(parameters, taken, scenario)
    if kept_mass >= liquid.mass:
        raise InputError(
            "add",
            f"{_kilograms(sum(item.amount for item in parameters.additions))} of ingredients",
            f"they would soak up {_kilograms(kept_mass)}, and there are only "
            f"{_kilograms(taken.mass)} of {taken.name} and {_kilograms(liquid.mass - taken.mass)} "
            "of water and solubles of their own",
            "Take more of the lot, or fewer ingredients.",
        )
    share = kept_mass / liquid.mass
    kept = liquid.part(share, KEPT)
    lot = liquid.part(1.0 - share, parameters.into)
    made = {parameters.into: lot}
    went = {**made, SPENT: Lot(SPENT, water=0.0, ethanol=0.0, amounts=spent), KEPT: kept}
    return StepResult(
        step_id=parameters.id,
        kind=parameters.kind,
        made=made,
        used={taken.name: taken},
        account=checked_account(
            {taken.name: taken, **came}, went, where=f"step {parameters.id}", scenario=scenario
        ),
        figures=(
            *state_figures(lot),
            Figure("strength_before", "strength before", taken.strength, "strength"),
            Figure("kept", "liquid kept in the spent solids", kept.volume, "volume",
                   basis="estimate"),
            *_times(parameters, taken.strength),
        ),
        cautions=()
        if scenario.lean
        else (*_cautions(parameters, taken), *food_cautions(parameters.additions, lot)),
        duration=parameters.duration,
        citations=("fuller2017", "mayer2000", "li1998cosolvency", "oiml_r22"),
    )  # fmt: skip


def _kilograms(mass: float) -> str:
    return format_quantity(mass, "mass")


def check_steep(parameters: Steep) -> None:
    """Refuse a steep without ingredients, or one that is over before an ingredient comes out.

    Parameters
    ----------
    parameters : Steep
        The step.

    Raises
    ------
    InputError
        With what to change.
    """
    if not parameters.additions:
        raise InputError(
            "add", "nothing", "a steep needs at least one ingredient",
            'Write add = [{ ingredient = "coffee", amount = "40 g" }].',
        )  # fmt: skip
    for addition in parameters.additions:
        if (addition.contact or 0.0) > parameters.duration * (1.0 + 1e-9):
            raise InputError(
                "add",
                f"{addition.ingredient.name} for {(addition.contact or 0.0) / 86400.0:.3g} d",
                f"the steep lasts only {parameters.duration / 86400.0:.3g} d",
                "Shorten the contact or lengthen the steep.",
            )


def _pool(
    parameters: Steep, taken: Lot, scenario: Scenario
) -> tuple[Lot, dict[str, Lot], dict[str, Amount]]:
    """Return the liquid with all that went over, the sources, and what the solids keep."""
    own_water = sum(item.ingredient.moisture * item.amount for item in parameters.additions)
    wet = replace(taken, water=taken.water + own_water, temperature=parameters.temperature)
    amounts, spent = dict(taken.amounts), dict[str, Amount]()
    came: dict[str, Lot] = {}
    solids = 0.0
    for addition in parameters.additions:
        time = addition.contact if addition.contact is not None else parameters.duration
        name = addition.ingredient.name
        for marker in addition.ingredient.tracked:
            off = scenario.process_factor(SOLID + name, marker.compound)
            shares = _shares(parameters, addition, marker, wet, time=time, off=off)
            whole = amount_of(marker, addition.amount)
            over = amount_of(marker, addition.amount, shares.liquid, shares.basis)
            add_amount(amounts, marker.compound, over)
            add_amount(spent, marker.compound, whole.scaled(shares.kept))
        dissolved = released_solids(
            addition,
            time=time,
            temperature=parameters.temperature,
            strength=wet.strength,
            stirred=parameters.stirred,
        )
        solids += dissolved
        source = replace(source_lot(addition), solids=dissolved)
        before = came.get(source.name)
        came[source.name] = source if before is None else mixed([before, source], source.name)
    return replace(wet, solids=wet.solids + solids, amounts=amounts), came, spent


def _shares(
    parameters: Steep, addition: Addition, marker: Marker, wet: Lot, *, time: float, off: float
) -> Shares:
    """Return what goes over; ``off`` is the factor on the partition that a scenario assumes."""
    release = extraction.extraction(
        marker.compound,
        addition.ingredient,
        form=addition.form,
        temperature=parameters.temperature,
        strength=wet.strength,
        stirred=parameters.stirred,
    )
    low, typical, high = (
        accessible
        * release.equilibrium_share(addition.amount * held * off, wet.volume)
        * -math.expm1(-rate * time)
        for accessible, rate, held in (
            (release.accessible.low, release.rate.low, PARTITION_FACTOR),
            (release.accessible.typical, release.rate.typical, 1.0),
            (release.accessible.high, release.rate.high, 1.0 / PARTITION_FACTOR),
        )
    )
    return Shares(Range(low, typical, high), kept=1.0 - typical, basis=release.basis)


def _times(parameters: Steep, strength: float) -> list[Figure]:
    found = []
    for number, addition in enumerate(parameters.additions, start=1):
        rate = extraction.extraction(
            "soluble matter",
            addition.ingredient,
            form=addition.form,
            temperature=parameters.temperature,
            strength=strength,
            stirred=parameters.stirred,
        ).rate
        row = extraction_table.tissue(
            addition.ingredient.kinetics, addition.form or addition.ingredient.usual_form
        )
        label = f"{form_of(addition)} {addition.ingredient.name} nine tenths out after"
        nine = -math.log1p(-_DONE)
        found.append(
            Figure(f"add_{number}_ready", label, nine / rate.typical, "duration",
                   nine / rate.high, nine / rate.low, row.basis)
        )  # fmt: skip
    return found


def _cautions(parameters: Steep, taken: Lot) -> tuple[Caution, ...]:
    found = []
    if taken.strength < _WEAK and parameters.duration > 86400.0:
        text = (
            f"At {taken.strength * 100:.1f} %vol a steep of {parameters.duration / 86400.0:.3g} d "
            "can spoil. Steep at 20 %vol or more, or keep it cold and short."
        )
        found.append(Caution("steep-weak", "watch", text, taken.strength, _WEAK, "1"))
    if 0.05 <= taken.strength <= 0.96:
        limit = hazards.flash_point(taken.strength) - hazards.FLASH_POINT_MARGIN
        if parameters.temperature >= limit:
            text = (
                f"A liquid of {taken.strength * 100:.1f} %vol at "
                f"{parameters.temperature - 273.15:.0f} °C gives off vapour that can burn: close "
                "the vessel, keep flames and sparks away, and do not warm it over a flame."
            )
            found.append(Caution("steep-flammable", "watch", text, parameters.temperature, limit,
                                 "K", hazards.FLASH_POINT_SOURCE))  # fmt: skip
    return tuple(found)
