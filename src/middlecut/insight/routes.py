# SPDX-License-Identifier: MIT
"""Routes: the same amount of an ingredient through every entry point of a plan, side by side."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import replace
from numbers import Real
from typing import TYPE_CHECKING

from middlecut.errors import ConvergenceError, InputError, NotFoundError, PlanError
from middlecut.insight.entry_points import (
    Closed,
    Opened,
    entry_points,
    without_ingredient,
)
from middlecut.insight.fate import final_lot, trace
from middlecut.insight.leaving import leaving
from middlecut.insight.odour import OdourRow, odour_profile
from middlecut.insight.own_share import Base, Followed, base_of, follow
from middlecut.insight.route_cost import cost_of, new_cautions
from middlecut.insight.route_model import Route, RouteRow, Routes
from middlecut.insight.route_words import conclusions, leftover_sentence, route_sentence
from middlecut.insight.uncertainty import NINETY
from middlecut.liquid import ingredients, volatility
from middlecut.plan.drink_safety import drink_cautions
from middlecut.steps.lot import Amount, Lot
from middlecut.steps.parameters import Distil
from middlecut.steps.scenario import Scenario
from middlecut.units import format_quantity

if TYPE_CHECKING:
    from middlecut.liquid.ingredients import Ingredient
    from middlecut.plan.model import Plan
    from middlecut.steps.result import Caution, StepResult

__all__ = ["Route", "RouteRow", "Routes", "routes"]

USUAL_DOSE = 5.0
"""Ingredient per volume of the final lot where none is named. [kg m⁻³] Our choice, in the range
usual for botanicals; everything is linear in it until a lot is saturated."""

_BLANK = RouteRow("", 0.0, made=False, concentration=0.0, concentration_low=0.0,
                  concentration_high=0.0, basis="", share=0.0, shares={})  # fmt: skip


def routes(plan: Plan, ingredient: str, *, amount: float | None = None) -> Routes:
    """Put the same amount of an ingredient through every entry point of a plan.

    For each entry point the plan is edited and followed to its final lot with the compounds of the
    ingredient alone, which is the difference that the ingredient makes; three times, with the
    volatility of every compound at, above and below its table value.

    Parameters
    ----------
    plan : Plan
        As :func:`middlecut.load_plan` returns it. If it has the ingredient already, that addition
        is taken out first.
    ingredient : str
        Name or synonym; the plan's own ingredients count.
    amount : float or None
        [kg] None: as much as the plan has; if it has none, 5 g per litre of the final lot.

    Returns
    -------
    Routes
        Side by side, with bands, losses, odour activity values, cautions and sentences.

    Raises
    ------
    NotFoundError
        If no ingredient goes by that name; it carries the nearest.
    InputError
        If the amount is no usable number, or fits at no entry point.
    PlanError
        If the plan cannot be carried out even without the ingredient.

    Notes
    -----
    Of several steps an ingredient could go into, the one nearest to the bottle is taken, a flavour
    run before a spirit run before a stripping run. Where the plan has no steep, one of 7 days is
    put in before the spirit is let down; a dose is the same in a small part of it. The band is the
    5–95 % range of content, extraction and volatility, joined as independent.

    Examples
    --------
    >>> import middlecut as mc
    >>> found = routes(mc.load_plan(mc.example_path()), "vanilla", amount=0.004)
    >>> found.ingredient, found.route("charge").row("vanillin").share < 0.02
    ('cured vanilla pods', True)
    """
    item = ingredients.find(ingredient, plan.ingredients.values())
    bare, planned = without_ingredient(plan, item)
    if amount is not None and not _usable(amount):
        raise InputError("amount", amount, "an amount is more than 0 kg", 'Such as "40 g".')
    base = base_of(bare)
    final = final_lot(base.results.values())
    lots = {name: lot for result in base.results.values() for name, lot in result.made.items()}
    if not final:
        raise InputError("plan", plan.batch.name, "it makes no lot", "Add a step.")
    basis = "given" if amount is not None else "plan" if planned is not None else "usual"
    mass = amount or planned or USUAL_DOSE * lots[final].volume
    found: list[Route] = []
    closed: list[Closed] = []
    ways = entry_points(bare, item, amount=mass, final=final, lots={**lots, **_given(plan)})
    for way in ways:
        one = way if isinstance(way, Closed) else _route(base, way, item, mass)
        if isinstance(one, Closed):
            closed.append(one)
        else:
            found.append(one)
    if not found:
        why = "; ".join(f"{one.entry_point}: {one.reason}" for one in closed)
        shown = format_quantity(mass, "mass")
        raise InputError("amount", shown, f"it fits nowhere ({why})", "Take less.")
    return Routes(
        ingredient=item.name,
        amount=mass,
        amount_basis=basis,
        lot=final,
        routes=tuple(found),
        closed=tuple(closed),
        conclusions=conclusions(found),
    )


def _usable(amount: object) -> bool:
    """Return whether an amount is a number above nothing; True and False are none."""
    if isinstance(amount, bool) or not isinstance(amount, Real):
        return False
    return 0.0 < float(amount) < math.inf


def _given(plan: Plan) -> dict[str, Lot]:
    return {lot.name: lot for lot in plan.given}


def _route(base: Base, way: Opened, item: Ingredient, mass: float) -> Route | Closed:
    """Follow one way; one that cannot be gone is closed with the reason."""
    try:
        nominal = follow(base, way.plan, item)
        extremes = [
            follow(base, way.plan, item, scenario=_scenario(nominal, up=up)) for up in (True, False)
        ]
    except PlanError as error:
        problem = error.problems[0]
        reason = f"{problem.value}: {problem.message}" if problem.value else problem.message
        return Closed(way.entry_point, reason.rstrip("."), problem.remedy)
    except (InputError, ConvergenceError) as error:
        return Closed(way.entry_point, str(error))
    final = final_lot(nominal.results.values())
    lot = _made(nominal)[final]
    others = [_made(one)[final] for one in extremes]
    own = replace(lot, amounts={name: _banded(name, lot, others) for name in lot.amounts})
    return _made_route(base, way, nominal, own=own, mass=mass, item=item)


def _made_route(
    base: Base, way: Opened, nominal: Followed, *, own: Lot, mass: float, item: Ingredient
) -> Route:
    results = nominal.results
    contents = _contents(item, mass, nominal)
    sure = {name: amount for name, amount in own.amounts.items() if amount.typical > 0.0}
    odours = {row.compound: row for row in odour_profile(replace(own, amounts=sure)).rows}
    rows = tuple(_row(row, way, nominal, own, odours.get(row.compound)) for row in contents)
    before = sum(base.results[key].duration for key in results if key in base.results)
    return Route(
        entry_point=way.entry_point,
        step=way.step,
        how=way.how,
        edit=way.edit,
        rows=rows,
        added_time=sum(result.duration for result in results.values()) - before,
        cautions=_cautions(base, way, results, item),
        cost=cost_of(base, nominal, final=own.name, apart=way.apart),
        volume=own.volume,
        strength=own.strength,
        sentence=" ".join(filter(None, (route_sentence(rows), _left_over(way, nominal, rows)))),
        plan=way.plan,
    )


def _cautions(
    base: Base, way: Opened, results: Mapping[str, StepResult], item: Ingredient
) -> tuple[Caution, ...]:
    """Return the cautions of a route; what is told of the drink counts there and not twice."""
    drunk = [
        one for _, cautions in drink_cautions(way.plan, results, only=item.name) for one in cautions
    ]
    subjects = {one.code.removeprefix("drink-") for one in drunk if one.severity != "note"}
    found = (
        replace(one, severity="note") if one.code.removeprefix("food-") in subjects else one
        for one in new_cautions(base, results, item.name)
    )
    return (*found, *drunk)


def _left_over(way: Opened, nominal: Followed, rows: tuple[RouteRow, ...]) -> str:
    """Say what stays in lots that no later step uses up, by the compound with most there."""
    most = max(rows, key=lambda row: row.shares.get("left over", 0.0), default=None)
    share = 0.0 if most is None else most.shares.get("left over", 0.0)
    if most is None or share <= 0.0:
        return ""
    ends = trace(way.plan, nominal.results.values(), nominal.left, most.compound).ends
    kept = sorted((end for end in ends if end.place == "left over"), key=lambda end: -end.share)
    return leftover_sentence(share, [end.name for end in kept if end.share > 0.1 * share])


def _scenario(nominal: Followed, *, up: bool) -> Scenario:
    """Return a scenario with every compound at one end of the band of its volatility."""
    factors = {}
    names = {name for result in nominal.results.values() for name in result.account.entries}
    for name in sorted(names):
        try:
            grade = volatility.grade(name)
        except NotFoundError:
            continue  # water, or what never distils
        ninety = grade.factor**NINETY
        factors[grade.compound] = ninety if up else 1.0 / ninety
    return Scenario(volatility=factors, lean=True)


def _made(followed: Followed) -> dict[str, Lot]:
    return {name: lot for result in followed.results.values() for name, lot in result.made.items()}


def _banded(name: str, lot: Lot, others: Iterable[Lot]) -> Amount:
    """Widen the range of an amount by what other volatilities do, as an independent cause."""
    amount = lot.amounts[name]
    found = [other.amounts[name].typical for other in others if name in other.amounts]
    low, high = min((*found, amount.typical)), max((*found, amount.typical))
    if amount.typical <= 0.0:
        return replace(amount, high=max(amount.high, high))
    down = _joined(amount.typical, amount.low, low)
    up = math.exp(math.hypot(*(_log(one, amount.typical) for one in (amount.high, high))))
    return replace(amount, low=amount.typical * down, high=amount.typical * up)


def _joined(typical: float, *lows: float) -> float:
    if min(lows) <= 0.0:
        return 0.0
    return math.exp(-math.hypot(*(_log(typical, low) for low in lows)))


def _log(upper: float, lower: float) -> float:
    return math.log(max(upper / lower, 1.0))


def _contents(item: Ingredient, mass: float, nominal: Followed) -> list[RouteRow]:
    """Return an empty row for each marker, then for what yeast makes of them."""
    found = {
        marker.compound: replace(_BLANK, compound=marker.compound, content=marker.typical * mass)
        for marker in item.tracked
    }
    for result in nominal.results.values():
        for name, entry in result.account.entries.items():
            made = entry.came.get("made by yeast", 0.0)
            if made > 0.0 and name not in found and name not in {"ethanol", "CO2"}:
                found[name] = replace(_BLANK, compound=name, content=made, made=True)
    return list(found.values())


def _row(
    row: RouteRow, way: Opened, nominal: Followed, own: Lot, odour: OdourRow | None
) -> RouteRow:
    """Fill in the row of a compound."""
    amount = own.amounts.get(row.compound, Amount(0.0, 0.0, 0.0, "computed"))
    per_litre = 1e3 / own.volume
    shares = trace(way.plan, nominal.results.values(), nominal.left, row.compound).shares()
    purposes = {step.id: step.purpose for step in way.plan.steps if isinstance(step, Distil)}
    passed = (
        leaving(result, row.compound, purposes[key])
        for key, result in nominal.results.items()
        if key in purposes
    )
    return replace(
        row,
        concentration=amount.typical * per_litre,
        concentration_low=amount.low * per_litre,
        concentration_high=amount.high * per_litre,
        basis=amount.basis,
        share=shares.get("bottle", 0.0),
        shares=shares,
        odour=odour,
        runs=tuple(one for one in passed if one is not None),
    )
