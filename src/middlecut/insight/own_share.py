# SPDX-License-Identifier: MIT
"""Follow what one ingredient brings, and nothing else, through a plan.

Compounds are traces: water and ethanol do not feel them, and everything that happens to them is
linear in their amount. So the difference between a plan with an ingredient and the same plan
without it is what one finds by walking the plan with all other compounds left out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from middlecut.liquid import congeners
from middlecut.plan.pool import Pool
from middlecut.plan.predict import carry_out
from middlecut.steps.lot import Amount, Lot
from middlecut.steps.parameters import Distil, Ferment, Steep, StepParameters, Wood
from middlecut.steps.result import Account, Entry, StepResult
from middlecut.steps.scenario import NOMINAL, Scenario

if TYPE_CHECKING:
    from middlecut.liquid.ingredients import Ingredient
    from middlecut.plan.model import Plan

__all__ = ["Base", "Followed", "base_of", "follow"]

_NOTHING = Amount(0.0, 0.0, 0.0, "read")


@dataclass(frozen=True, slots=True)
class Base:
    """A plan without the ingredient, walked.

    Parameters
    ----------
    plan : Plan
    pools : tuple of Pool
        The lots at hand before each step, and at the end.
    results : mapping of str to StepResult
        By id.
    """

    plan: Plan
    pools: tuple[Pool, ...]
    results: Mapping[str, StepResult]


@dataclass(frozen=True, slots=True)
class Followed:
    """The steps from where an ingredient goes in, with its compounds alone.

    Parameters
    ----------
    results : mapping of str to StepResult
        By id.
    left : mapping of str to Lot
        What remains at the end.
    """

    results: Mapping[str, StepResult]
    left: Mapping[str, Lot]


def base_of(plan: Plan) -> Base:
    """Walk a plan and keep the lots before each step.

    Parameters
    ----------
    plan : Plan
        Without the ingredient.

    Returns
    -------
    Base

    Raises
    ------
    PlanError
        If a step cannot be done with what is left by then.
    """
    pool, pools, results = Pool(plan.given), [], {}
    for step in plan.steps:
        pools.append(pool.copy())
        results[step.id] = carry_out(step, plan, pool)
    return Base(plan, (*pools, pool), results)


def follow(
    base: Base, plan: Plan, ingredient: Ingredient, *, scenario: Scenario = NOMINAL
) -> Followed:
    """Walk an edited plan from its first edited step on, with the compounds of one ingredient.

    Parameters
    ----------
    base : Base
        The plan without it.
    plan : Plan
        The same with it.
    ingredient : Ingredient
        Whose compounds are followed, by its name.
    scenario : Scenario
        What is assumed beyond the plan.

    Returns
    -------
    Followed
        A step that asks for more of a lot than is left takes what there is.

    Raises
    ------
    PlanError
        If a step cannot be done.
    ConvergenceError
        If a run cannot be integrated.
    """
    first = next(
        at
        for at, step in enumerate(plan.steps)
        if at >= len(base.plan.steps) or step is not base.plan.steps[at]
    )
    lots = base.pools[first].left.values()
    pool = Pool((replace(lot, amounts={}) for lot in lots), lenient=True)
    results: dict[str, StepResult] = {}
    for step in plan.steps[first:]:
        alone = _alone(step, ingredient.name)
        blank = _blank(alone, plan, pool, scenario) if isinstance(step, Wood) else None
        result = carry_out(alone, plan, pool, scenario)
        if blank is not None:
            result = _less(result, blank)
        results[step.id] = result
        made = {name: _pruned(lot) for name, lot in result.made.items()}
        left = (made.get(name, lot) for name, lot in pool.left.items())
        pool = Pool(left, lenient=True)
    return Followed(results, pool.left)


def _alone(step: StepParameters, name: str) -> StepParameters:
    """Return the step without any compound but those of the ingredient."""
    if not isinstance(step, Ferment | Distil | Steep):
        return step
    additions = tuple(
        item
        if item.ingredient.name == name
        else replace(item, ingredient=replace(item.ingredient, markers=()))
        for item in step.additions
    )
    step = replace(step, additions=additions)
    if not isinstance(step, Ferment):
        return step
    names = (*(row.compound for row in congeners.congener_levels(step.profile)), *step.compounds)
    return replace(step, compounds=dict.fromkeys(names, _NOTHING))


def _pruned(lot: Lot) -> Lot:
    amounts = {name: amount for name, amount in lot.amounts.items() if amount.high > 0.0}
    return replace(lot, amounts=amounts)


def _blank(step: StepParameters, plan: Plan, pool: Pool, scenario: Scenario) -> StepResult:
    """Carry out a step of wood on liquid without compounds: what the wood alone gives."""
    lots = (replace(lot, amounts={}) for lot in pool.left.values())
    return carry_out(step, plan, Pool(lots, lenient=True), scenario)


def _less(result: StepResult, blank: StepResult) -> StepResult:
    made = {
        name: replace(
            lot,
            amounts={
                key: _minus(amount, blank.made[name].amounts.get(key, _NOTHING))
                for key, amount in lot.amounts.items()
            },
        )
        for name, lot in result.made.items()
    }
    entries = {
        substance: entry
        if (other := blank.account.entries.get(substance)) is None
        else Entry(_rest(entry.came, other.came), _rest(entry.went, other.went))
        for substance, entry in result.account.entries.items()
        if substance not in {"water", "ethanol", "solids"}
    }
    return replace(result, made=made, account=Account(entries))


def _minus(amount: Amount, less: Amount) -> Amount:
    return Amount(
        _over(amount.typical, less.typical),
        _over(amount.low, less.low),
        _over(amount.high, less.high),
        amount.basis,
    )


def _over(one: float, two: float) -> float:
    """Return the difference; what rounding leaves of equal numbers is nothing."""
    return one - two if one - two > 1e-12 * one else 0.0


def _rest(first: Mapping[str, float], less: Mapping[str, float]) -> dict[str, float]:
    found = {name: mass - less.get(name, 0.0) for name, mass in first.items()}
    return {name: mass for name, mass in found.items() if mass > 1e-12 * first[name]}
