# SPDX-License-Identifier: MIT
"""Walk the steps of a plan and account for everything in it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from importlib import metadata

from middlecut.errors import InputError, NotFoundError, PlanError
from middlecut.liquid.alcoholometry import WATER_DENSITY_20
from middlecut.plan.drink_safety import with_drink_safety
from middlecut.plan.model import Plan
from middlecut.plan.pool import Pool
from middlecut.plan.prediction import Prediction, Totals
from middlecut.plan.refusals import refusal
from middlecut.plan.unknown_lots import unknown_lots
from middlecut.plan.unstated import unstated_losses, with_assumed_profiles
from middlecut.steps.accounts import add_entries
from middlecut.steps.blend import blend
from middlecut.steps.bottle import bottle
from middlecut.steps.dilute import dilute
from middlecut.steps.draw import draw
from middlecut.steps.lot import Lot
from middlecut.steps.mixing import by_name, mixed
from middlecut.steps.parameters import (
    Blend,
    Bottle,
    Dilute,
    Distil,
    Draw,
    Ferment,
    Steep,
    StepParameters,
    Take,
    Wood,
)
from middlecut.steps.result import Account, Entry, StepResult
from middlecut.steps.scenario import NOMINAL, Scenario
from middlecut.steps.usual import usual_cautions

__all__ = [
    "Prediction",
    "Totals",
    "Walk",
    "carry_out",
    "conclude",
    "predict",
    "totals_of",
    "walk",
]

_MODELS = {
    "ferment": ("extract", "Balling"),
    "distil": ("run", "boiler, N equilibrium stages, condenser; dilute compounds ride along"),
    "dilute": ("density", "OIML R 22"),
    "steep": ("extraction", "first order towards partition between liquid and fat"),
    "wood": ("oak", "two pools of first order, evaporation by climate; from memory and estimates"),
}


@dataclass(frozen=True, slots=True)
class Walk:
    """How far the steps of a plan have been carried out.

    Parameters
    ----------
    pool : Pool
        The lots at hand now.
    results : mapping of str to StepResult
        By id, of the steps done.
    """

    pool: Pool
    results: Mapping[str, StepResult]


def predict(plan: Plan, scenario: Scenario = NOMINAL) -> Prediction:
    """Predict what every step of a plan will do.

    The steps are carried out in order on the lots at hand; every lot, loss and source is entered
    in one account, which closes to 1e-9.

    Parameters
    ----------
    plan : Plan
        As :func:`middlecut.load_plan` returns it.
    scenario : Scenario
        What is assumed beyond the plan; the tables as they are when left out.

    Returns
    -------
    Prediction
        Lots, steps, account, cautions and totals; without bands.

    Raises
    ------
    PlanError
        If a step cannot be done with what is left by then; names the step and the remedy.
    BalanceError
        If an account does not close, which is a fault of middlecut.

    Notes
    -----
    Steps are taken one after another: the total duration does not know that two fermentations may
    run side by side.
    """
    return conclude(plan, walk(plan, scenario))


def walk(plan: Plan, scenario: Scenario = NOMINAL, *, after: Walk | None = None) -> Walk:
    """Carry out the steps of a plan, from the start or on from where another walk stands.

    Parameters
    ----------
    plan : Plan
        The plan.
    scenario : Scenario
        What is assumed beyond the plan. In a lean one, steps that ask for more than is left take
        what there is.
    after : Walk, optional
        The first steps, already done; not changed.

    Returns
    -------
    Walk
        All steps done.

    Raises
    ------
    PlanError
        If a step cannot be done with what is left by then.
    """
    pool = Pool(plan.given, lenient=scenario.lean) if after is None else after.pool.copy()
    results = {} if after is None else dict(after.results)
    for step in plan.steps[len(results) :]:
        results[step.id] = carry_out(step, plan, pool, scenario)
    return Walk(pool, results)


def conclude(plan: Plan, done: Walk) -> Prediction:
    """Sum up a walk as a prediction.

    Parameters
    ----------
    plan : Plan
        The plan walked.
    done : Walk
        All of its steps done, with their accounts.

    Returns
    -------
    Prediction
        Without bands.

    Raises
    ------
    BalanceError
        If the account of the whole plan does not close, which is a fault of middlecut.
    """
    pool, results = done.pool, with_assumed_profiles(plan, done.results)
    results = with_drink_safety(plan, results)
    account = _account(plan.given, results.values(), pool.left).check("the whole plan")
    kinds = {step.kind for step in plan.steps}
    return Prediction(
        plan=plan,
        lots=pool.made,
        left=pool.left,
        steps=results,
        account=account,
        cautions=(
            *(caution for result in results.values() for caution in result.cautions),
            *usual_cautions(distils="distil" in kinds, ferments="ferment" in kinds),
        ),
        totals=totals_of(plan, results.values()),
        citations=tuple(
            dict.fromkeys(key for result in results.values() for key in result.citations)
        ),
        provenance=_provenance(kinds),
    )


def carry_out(
    step: StepParameters, plan: Plan, pool: Pool, scenario: Scenario = NOMINAL
) -> StepResult:
    """Carry out one step on the lots at hand.

    Parameters
    ----------
    step : StepParameters
        The step.
    plan : Plan
        For stills, pressure and line numbers.
    pool : Pool
        Loses what is taken and gains what is made.
    scenario : Scenario
        What is assumed beyond the plan.

    Returns
    -------
    StepResult
        What the step does.

    Raises
    ------
    PlanError
        If the step cannot be done with what is there.
    """
    try:
        result = _result(step, plan, pool, scenario)
        for lot in result.made.values():
            pool.add(lot)
    except PlanError:
        raise
    except (InputError, NotFoundError) as error:
        raise refusal(plan, step, error) from error
    unknown = () if scenario.lean else unknown_lots(plan, result.used)
    return replace(result, cautions=(*result.cautions, *unknown)) if unknown else result


def _result(  # noqa: PLR0911 - one return for each kind of step
    step: StepParameters, plan: Plan, pool: Pool, scenario: Scenario
) -> StepResult:
    match step:
        case Ferment():
            from middlecut.steps.ferment import ferment  # noqa: PLC0415 - tables only when needed

            return ferment(step, scenario=scenario)
        case Distil():
            from middlecut.steps.flavoured import (  # noqa: PLC0415 - the compiled kernel
                distil_with_ingredients,
            )

            if step.still not in plan.stills:
                raise NotFoundError("still", step.still, tuple(plan.stills)[:3])
            ran = distil_with_ingredients(
                step,
                _all(step.takes, pool),
                still=plan.stills[step.still],
                pressure=plan.batch.pressure,
                scenario=scenario,
            )
            return replace(ran, cautions=(*ran.cautions, *unstated_losses(step, plan)))
        case Steep():
            from middlecut.steps.steep import steep  # noqa: PLC0415 - its tables only when needed

            return steep(step, pool.take(step.take), scenario=scenario)
        case Draw():
            return draw(step, pool.take(step.take), scenario=scenario)
        case Blend():
            return blend(step, _parts(step.takes, pool), scenario=scenario)
        case Dilute():
            return dilute(step, pool.take(step.take), scenario=scenario)
        case Bottle():
            return bottle(step, pool.take(step.take), scenario=scenario)
        case Wood():
            from middlecut.steps.wood import wood  # noqa: PLC0415 - its tables only when needed

            return wood(step, pool.take(step.take), scenario=scenario)


def _parts(takes: Iterable[Take], pool: Pool) -> tuple[Lot, ...]:
    """Take the parts of a blend: first those without a dose, then the doses on these together."""
    takes = tuple(takes)
    rest = _all((take for take in takes if take.dose is None), pool)
    volume = mixed(rest, "rest").volume if len(rest) < len(takes) else 0.0
    doses = (Take(take.lot, volume=take.dose * volume) for take in takes if take.dose is not None)
    return (*rest, *_all(doses, pool))


def _all(takes: Iterable[Take], pool: Pool) -> tuple[Lot, ...]:
    return tuple(by_name(pool.take(take) for take in takes).values())


def _account(
    given: Iterable[Lot], results: Iterable[StepResult], left: Mapping[str, Lot]
) -> Account:
    """Keep of every step's account what crosses the edge of the plan."""
    total: dict[str, Entry] = {}
    for lot in given:
        total = add_entries(total, _lot_entries(lot, came=True))
    for result in results:
        total = add_entries(total, _crossing(result))
    for lot in left.values():
        total = add_entries(total, _lot_entries(lot, came=False))
    return Account(total)


def _crossing(result: StepResult) -> dict[str, Entry]:
    return {
        substance: Entry(
            {name: mass for name, mass in entry.came.items() if name not in result.used},
            {name: mass for name, mass in entry.went.items() if name not in result.made},
        )
        for substance, entry in result.account.entries.items()
    }


def _lot_entries(lot: Lot, *, came: bool) -> dict[str, Entry]:
    masses = {"water": lot.water, "ethanol": lot.ethanol, "solids": lot.solids}
    masses |= {compound: amount.typical for compound, amount in lot.amounts.items()}
    return {
        substance: Entry({lot.name: mass}, {}) if came else Entry({}, {lot.name: mass})
        for substance, mass in masses.items()
    }


def totals_of(plan: Plan, results: Iterable[StepResult]) -> Totals:
    """Return the sums over the steps of a plan.

    Parameters
    ----------
    plan : Plan
        For the prices.
    results : iterable of StepResult
        Of all steps.

    Returns
    -------
    Totals
    """
    rows = list(results)
    batch = plan.batch
    energy = sum(result.energy for result in rows)
    water = sum(result.cooling_water for result in rows)
    cost = None
    if batch.energy_price is not None or batch.water_price is not None:
        cost = energy * (batch.energy_price or 0.0) + water / WATER_DENSITY_20 * (
            batch.water_price or 0.0
        )
    return Totals(
        duration=sum(result.duration for result in rows),
        still_time=sum(result.duration for result in rows if result.kind == "distil"),
        energy=energy,
        cooling_water=water,
        cost=cost,
        currency=batch.currency,
    )


def _provenance(kinds: Iterable[str]) -> dict[str, str]:
    models = dict(_MODELS[kind] for kind in sorted(kinds) if kind in _MODELS)
    return {"middlecut": _version(), "density": "OIML R 22", **models}


@lru_cache(maxsize=1)
def _version() -> str:
    try:
        return metadata.version("middlecut")
    except metadata.PackageNotFoundError:  # run from a bare source tree
        return "unknown"
