# SPDX-License-Identifier: MIT
"""What a plan does not say of a still or a wash, although the numbers hang on it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from middlecut.plan.model import Plan
from middlecut.steps.parameters import Distil, Ferment
from middlecut.steps.result import Caution, StepResult

__all__ = ["unstated_losses", "with_assumed_profiles"]

_LONGER = "Heating up and the run will take longer and more electricity than predicted."
_STRONGER = "What runs off will be stronger and come more slowly than predicted."
_MEASURE = (
    "To measure it, boil water and lower the power until hardly anything runs: boiler and head "
    "together lose about that much."
)

_METHANOL_SAID = frozenset({"methanol", "methanol-run"})
_METHANOL_SHOWN = "methanol"


def unstated_losses(step: Distil, plan: Plan) -> tuple[Caution, ...]:
    """Return what is to be said of heat losses that the plan leaves out.

    Parameters
    ----------
    step : Distil
        A run of a still; only the first run of each still in a plan says it.
    plan : Plan
        With its stills.

    Returns
    -------
    tuple of Caution
        A watch when the plan gives no heat loss at all, a note when it gives that of the boiler or
        that of the head only; else nothing.

    Notes
    -----
    No still is without loss, so a stated loss of 0 W is told like one left out.
    """
    runs = (one for one in plan.steps if isinstance(one, Distil) and one.still == step.still)
    if next(runs, step).id != step.id:
        return ()
    still = plan.stills[step.still]
    above = still.head_loss + still.column_loss + still.coolant_duty
    if still.boiler_loss > 0.0 and above > 0.0:
        return ()
    if still.boiler_loss > 0.0:
        of, then, key = " of its head", _STRONGER, "head_loss"
    elif above > 0.0:
        of, then, key = " of its boiler", _LONGER, "boiler_loss"
    else:
        of, then, key = "", f"{_LONGER} {_STRONGER}", "boiler_loss and head_loss"
    text = (
        f"{step.still}: no heat loss{of} is stated, so none is counted. {then} {_MEASURE} Write "
        f"{key} in [still.{step.still}]."
    )
    code = "heat-loss-unstated"
    return (Caution(code, "note" if of else "watch", text, source="balance of heat"),)


def with_assumed_profiles(
    plan: Plan, results: Mapping[str, StepResult]
) -> Mapping[str, StepResult]:
    """Return the results of a plan, saying where a wash was taken for one of grain.

    Parameters
    ----------
    plan : Plan
        With its ferment steps.
    results : mapping of str to StepResult
        Of all steps, by id and in order.

    Returns
    -------
    mapping of str to StepResult
        The same where every wash has its profile stated. Else each fermentation without one has a
        watch, and so has each bottling whose methanol comes from it; every note and figure of
        methanol on the way names what was assumed.
    """
    assumed = {
        step.id: step
        for step in plan.steps
        if isinstance(step, Ferment) and not step.profile_stated
    }
    if not assumed:
        return results
    from_it: set[str] = set()
    told: dict[str, StepResult] = {}
    for step_id, result in results.items():
        if step_id in assumed:
            step = assumed[step_id]
            told[step_id] = replace(result, cautions=(*result.cautions, _assumed(step)))
            from_it |= set() if "methanol" in step.compounds else set(result.made)
        elif from_it & set(result.used):
            from_it |= set(result.made)
            told[step_id] = _with_words(result)
        else:
            from_it -= set(result.made)
            told[step_id] = result
    return told


def _assumed(step: Ferment) -> Caution:
    given = "methanol" in step.compounds
    fruit = f"Fruit gives about {_fruit_over(step.profile):.0f} times the methanol. "
    text = (
        f"No profile is stated, so {'congeners' if given else 'congeners and methanol'} are those "
        f'of a {step.profile} wash. {"" if given else fruit}Write profile = "grain", "sugar" or '
        f'"fruit" in the step {step.id}.'
    )
    return Caution("profile-unstated", "watch", text, source="the congener table")


def _with_words(result: StepResult) -> StepResult:
    """Return a step with the assumption beside each of its methanol figures."""
    cautions = tuple(
        replace(one, text=f"{one.text} A grain wash is assumed.")
        if one.code in _METHANOL_SAID
        else one
        for one in result.cautions
    )
    figures = tuple(
        replace(one, label=f"{one.label}, taken for a grain wash")
        if one.key == _METHANOL_SHOWN
        else one
        for one in result.figures
    )
    if "methanol" not in {one.code for one in cautions}:
        return replace(result, cautions=cautions, figures=figures)
    watch = Caution(
        "methanol-assumed",
        "watch",
        "The methanol of these bottles is that of a grain wash, as no profile is stated. From "
        f"fruit it would be about {_fruit_over('grain'):.0f} times as much: state the profile of "
        "the wash before you trust the figure.",
        source="the congener table",
    )
    return replace(result, cautions=(*cautions, watch), figures=figures)


def _fruit_over(profile: str) -> float:
    """Return how many times the methanol of another wash fruit gives."""
    from middlecut.liquid import congeners  # noqa: PLC0415 - only where no profile is stated

    typical = {
        name: row.typical
        for name in (profile, "fruit")
        for row in congeners.congener_levels(name)
        if row.compound == "methanol"
    }
    return typical["fruit"] / typical[profile]
