# SPDX-License-Identifier: MIT
"""Bring a lot to a lower strength with water, in stages if wanted."""

from __future__ import annotations

from dataclasses import replace

from middlecut.errors import InputError
from middlecut.liquid import alcoholometry
from middlecut.liquid.alcoholometry.mixing import stage_strengths
from middlecut.steps.accounts import checked_account
from middlecut.steps.lot import SOLIDS_VOLUME, Lot
from middlecut.steps.mixing import ADDED_WATER, contraction, mixed, state_figures, water_lot
from middlecut.steps.parameters import Dilute
from middlecut.steps.result import Figure, StepResult
from middlecut.steps.scenario import NOMINAL, Scenario

__all__ = ["dilute", "water_to_strength"]


def water_to_strength(lot: Lot, strength: float) -> float:
    """Return the water that brings a lot to a lower strength.

    The volume wanted is the pure alcohol over the strength; take the dissolved solids off it, and
    the mass of what is left follows from its strength by the international tables.

    Parameters
    ----------
    lot : Lot
        What is to be diluted.
    strength : float
        Wanted strength as a fraction by volume at 20 °C, 0 to 1.

    Returns
    -------
    float
        [kg]

    Raises
    ------
    InputError
        If the strength is not between 0 and the strength of the lot.

    Notes
    -----
    Exact within the density tables of :cite:t:`oiml_r22`; the volume of dissolved solids is
    taken as constant, which is good to about 1 % of that volume.

    Examples
    --------
    >>> spirit = Lot("hearts", water=0.3, ethanol=0.6)
    >>> added = water_to_strength(spirit, 0.40)
    >>> round(mixed([spirit, water_lot(added)], "cut").strength, 12)
    0.4
    """
    have = lot.strength
    if not 0.0 < strength <= have * (1.0 + 1e-12):
        raise InputError(
            "strength",
            f"{strength * 100:.4g} %vol",
            f"lot {lot.name!r} has {have * 100:.2f} %vol and water can only lower that",
            f"Ask for less than {have * 100:.1f} %vol, or collect a stronger cut.",
        )
    liquid = lot.pure_alcohol / strength - lot.solids * SOLIDS_VOLUME
    mass_fraction = alcoholometry.mass_fraction_from_strength(lot.pure_alcohol / liquid)
    return max(lot.ethanol / mass_fraction - lot.ethanol - lot.water, 0.0)


def dilute(parameters: Dilute, taken: Lot, *, scenario: Scenario = NOMINAL) -> StepResult:
    """Add water until a lot has the wanted strength.

    Parameters
    ----------
    parameters : Dilute
        The step, as checked; ``additions`` splits the way down into equal steps of strength.
    taken : Lot
        What is diluted, under the name of the lot it came from.
    scenario : Scenario
        What is assumed beyond the plan; the tables as they are when left out.

    Returns
    -------
    StepResult
        One lot; the figures give each addition by mass and by volume at the water's temperature.

    Raises
    ------
    InputError
        If the wanted strength is above that of the lot, or fewer than one addition is asked for.

    Notes
    -----
    Densities from :cite:t:`oiml_r22`. Heat of mixing is left out, so no temperature is given:
    mixing warms, and the mixture is measured when it has come back to 20 °C.

    Examples
    --------
    >>> from middlecut.steps.parameters import Take
    >>> step = Dilute("cut", Take("hearts"), 0.46, "at 46")
    >>> result = dilute(step, Lot("hearts", water=0.3, ethanol=0.6))
    >>> round(result.made["at 46"].strength, 12)
    0.46
    """
    if parameters.additions < 1:
        raise InputError("additions", parameters.additions, "at least one addition is needed")
    total = water_to_strength(taken, parameters.strength)
    water = water_lot(total, parameters.water_temperature)
    result = mixed([taken, water], parameters.into)
    came = {taken.name: taken, ADDED_WATER: replace(water, name=ADDED_WATER)}
    made = {parameters.into: result}
    return StepResult(
        step_id=parameters.id,
        kind=parameters.kind,
        made=made,
        used={taken.name: taken},
        account=checked_account(came, made, where=f"step {parameters.id}", scenario=scenario),
        figures=(
            *state_figures(result),
            Figure("water", "water to add", total, "mass"),
            Figure("water_volume", "the same by volume", _volume(water), "volume"),
            *_additions(parameters, taken),
            Figure("contraction", "contraction", contraction([taken, water], result), "volume"),
        ),
        citations=("oiml_r22",),
    )


def _additions(parameters: Dilute, taken: Lot) -> tuple[Figure, ...]:
    if parameters.additions == 1:
        return ()
    figures: list[Figure] = []
    before = 0.0
    strengths = stage_strengths(taken.strength, parameters.strength, parameters.additions)
    for number, strength in enumerate(strengths, start=1):
        total = water_to_strength(taken, strength)
        water = water_lot(total - before, parameters.water_temperature)
        key, label = f"addition_{number}", f"addition {number}"
        figures += [
            Figure(f"{key}_water", f"{label}: water", water.water, "mass"),
            Figure(f"{key}_volume", f"{label}: by volume", _volume(water), "volume"),
            Figure(f"{key}_strength", f"{label}: strength after", strength, "strength"),
        ]
        before = total
    return tuple(figures)


def _volume(water: Lot) -> float:
    return water.water / alcoholometry.density(0.0, water.temperature)
