# SPDX-License-Identifier: MIT
"""Set what ingredients bring into the drink that a plan makes against the published figures."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from middlecut.steps.food import level_words
from middlecut.steps.parameters import Bottle, Distil, Ferment, Steep
from middlecut.steps.result import Caution
from middlecut.units import format_quantity

if TYPE_CHECKING:
    from middlecut.liquid.food_safety import FoodSafety
    from middlecut.plan.model import Plan
    from middlecut.steps.lot import Lot
    from middlecut.steps.parameters import Addition
    from middlecut.steps.result import StepResult

__all__ = ["drink_cautions", "with_drink_safety"]

_NEAR = 0.5
"""Share of a figure from which a level is near it; our choice."""
_TOLD = 0.01
"""Share of a figure below which a level is not worth a line; our choice."""
_TRACE = 0.01
"""[mg L⁻¹] What has no figure is told from here on; our choice."""
_GLASSES = 50e-6
"""Two small glasses. [m³] A day's figure that is reached with so little is a danger; our choice."""
_EVENING = 300e-6
"""[m³] A day's figure that may be reached with so little is watched; our choice."""
_USUAL_BOTTLE = 0.7e-3
_LAW = "The law of the place decides."

Severity = Literal["note", "watch", "danger"]


@dataclass(frozen=True, slots=True)
class _Level:
    """A content of the drink. [mg L⁻¹]."""

    typical: float
    high: float
    followed: bool


def with_drink_safety(
    plan: Plan, results: Mapping[str, StepResult]
) -> Mapping[str, StepResult]:  # fmt: skip
    """Add what is to be said of the drink to the step that makes it.

    Parameters
    ----------
    plan : Plan
        What was carried out.
    results : mapping of str to StepResult
        Its steps by id.

    Returns
    -------
    mapping of str to StepResult
        The same, with further cautions where there are any.
    """
    found = dict(results)
    for step_id, cautions in drink_cautions(plan, results):
        found[step_id] = replace(found[step_id], cautions=(*found[step_id].cautions, *cautions))
    return found


def drink_cautions(
    plan: Plan, results: Mapping[str, StepResult], *, only: str = ""
) -> Iterator[tuple[str, tuple[Caution, ...]]]:
    """Set what went into each drink against the figures of those who set them.

    Parameters
    ----------
    plan : Plan
        What was carried out.
    results : mapping of str to StepResult
        Of its steps, by id, in order; not all need be there.
    only : str
        The one ingredient that is looked at, or "" for all.

    Yields
    ------
    step : str
        Id of a step that fills bottles, or where none does, of the last that makes anything.
    cautions : tuple of Caution
        One a subject. What is not followed through the still is given as an upper bound: all that
        the ingredients hold, in the drink.
    """
    for step_id, lot in _drinks(results):
        additions = [
            one for one in _additions(plan, results, lot.name) if only in {"", one.ingredient.name}
        ]
        if additions:
            cautions = tuple(_cautions(plan, step_id, lot, additions))
            if cautions:
                yield step_id, cautions


def _drinks(results: Mapping[str, StepResult]) -> list[tuple[str, Lot]]:
    makers = [one for one in results.values() if one.made]
    bottled = [one for one in makers if one.kind == "bottle"]
    chosen = bottled or makers[-1:]
    if not bottled and chosen and chosen[0].curve is not None:
        return [(chosen[0].step_id, max(chosen[0].made.values(), key=lambda lot: lot.ethanol))]
    return [(one.step_id, next(iter(one.made.values()))) for one in chosen]


def _additions(plan: Plan, results: Mapping[str, StepResult], lot: str) -> list[Addition]:
    """Return everything that was put into a step on the way to a lot."""
    wanted, on_the_way = {lot}, set()
    for step_id, result in reversed(list(results.items())):
        if not wanted.isdisjoint(result.made):
            on_the_way.add(step_id)
            wanted |= set(result.used)
    return [
        addition
        for step in plan.steps
        if step.id in on_the_way and isinstance(step, Ferment | Distil | Steep)
        for addition in step.additions
    ]


def _cautions(
    plan: Plan, step_id: str, lot: Lot, additions: list[Addition]
) -> Iterator[Caution]:  # fmt: skip
    from middlecut.liquid.ingredients import food_safety  # noqa: PLC0415 - tables when needed

    facts: dict[FoodSafety, list[Addition]] = {}
    for addition in additions:
        for fact in food_safety(addition.ingredient):
            facts.setdefault(fact, []).append(addition)
    for fact, bearers in facts.items():
        level = _level(fact, bearers, lot)
        found: Caution | None = None
        if fact.unit == "kg eaten":
            found = _eaten(fact, bearers, lot, _bottle(plan, step_id))
        elif level is not None:
            found = _compared(fact, level, lot, bearers)
        elif fact.limit is not None and not fact.compound:
            found = _not_followed(fact, bearers, lot)
        if found is not None:
            yield found


def _not_followed(fact: FoodSafety, bearers: list[Addition], lot: Lot) -> Caution:
    names = "; ".join(dict.fromkeys(one.ingredient.name for one in bearers))
    text = (
        f"{fact.code[:1].upper()}{fact.code[1:]} of {names} is not followed and its content is not "
        f"known here: whether {lot.name} keeps to {fact.limit:g} {fact.unit} only a laboratory can "
        f"say.{' Do not drink it before it is measured.' if fact.acute else ''} {_LAW}"
    )
    severity: Severity = "watch" if fact.acute else "note"
    return Caution(f"drink-{fact.code}", severity, text, source=f"{fact.source} ({fact.basis})")


def _bottle(plan: Plan, step_id: str) -> float:
    step = next((one for one in plan.steps if one.id == step_id), None)
    return step.bottle_volume if isinstance(step, Bottle) else _USUAL_BOTTLE


def _level(fact: FoodSafety, bearers: list[Addition], lot: Lot) -> _Level | None:
    if lot.volume <= 0.0:
        return None
    if fact.marker:
        if not all(_tells(one, fact.marker) for one in bearers):
            return None  # of one of them nobody has said how much: no sum is a bound
        held = [
            (marker.typical * one.amount, marker.high * one.amount)
            for one in bearers
            for marker in one.ingredient.markers
            if marker.compound == fact.marker
        ]
        typical, high = (sum(pair[end] for pair in held) for end in (0, 1))
        return _Level(typical * 1e3 / lot.volume, high * 1e3 / lot.volume, followed=False)
    amount = lot.amounts.get(fact.compound) if fact.compound else None
    if amount is None:
        return None
    scale = 1e3 / lot.volume
    return _Level(amount.typical * scale, max(amount.high, amount.typical) * scale, followed=True)


def _tells(addition: Addition, marker: str) -> bool:
    return any(one.compound == marker for one in addition.ingredient.markers)


def _figures(fact: FoodSafety, lot: Lot) -> tuple[float | None, float | None, str]:
    """Return both figures as levels of this drink [mg L⁻¹], and how they were set."""
    if fact.limit is None:
        return None, None, ""
    factor = {
        "mg/L": 1.0,
        "mg/kg": lot.mass / lot.volume / 1e3,
        "kg/m³ of pure alcohol": 1e3 * lot.strength,
    }[fact.unit]
    second = None if fact.high_limit is None else fact.high_limit * factor
    words = {
        "mg/L": f"{fact.limit:g} mg/L",
        "mg/kg": f"{fact.limit:g} mg/kg, {level_words(fact.limit * factor)} mg/L of this drink",
        "kg/m³ of pure alcohol": (
            f"{fact.limit * 100.0:g} g per hL of pure alcohol, {level_words(fact.limit * factor)} "
            f"mg/L at {format_quantity(lot.strength, 'strength')}"
        ),
    }[fact.unit]
    return fact.limit * factor, second, words


def _compared(
    fact: FoodSafety, level: _Level, lot: Lot, bearers: list[Addition]
) -> Caution | None:  # fmt: skip
    first, second, words = _figures(fact, lot)
    # What has a figure by the day is dangerous by what is drunk, not by what the label has to say.
    most = second if fact.intake is None else None
    by_level = _by_level(level, first, most, acute=fact.acute)
    by_intake = _by_intake(level, fact.intake)
    told = by_level is not None or by_intake is not None
    without_figure = first is None and fact.intake is None and level.typical >= _TRACE
    if not told and not without_figure and level.followed:
        return None
    severity = _worse(by_level, by_intake)
    what = fact.compound or fact.code
    names = "; ".join(dict.fromkeys(one.ingredient.name for one in bearers))
    if level.followed:
        text = (
            f"{what[:1].upper()}{what[1:]} in {lot.name}: about {level_words(level.typical)} mg/L"
        )
        text += f", up to {level_words(level.high)}." if level.high > 1.05 * level.typical else "."
    else:
        text = (
            f"{what[:1].upper()}{what[1:]} is not followed through the batch: {names} hold enough "
            f"for about {level_words(level.typical)} mg/L of {lot.name}, at most "
            f"{level_words(level.high)} mg/L, if all came over."
        )
    if first is not None:
        text += f" The figure is {words}"
        text += f"; {level_words(second)} mg/L {fact.high_words}." if second is not None else "."
    elif fact.intake is None:
        text += " There is no figure for alcoholic drinks: keep it low."
    if fact.intake is not None and level.typical > 0.0:
        text += f" {_drunk(fact, level)}"
    if fact.acute and severity != "note":
        text += " Do not drink it before it is measured."
    source = f"{fact.source} ({fact.basis})"
    code = f"drink-{fact.code.replace(' ', '-')}"
    shown = level.typical if level.followed else level.high
    limit = None if first is None else first * 1e-3
    return Caution(code, severity, f"{text} {_LAW}", shown * 1e-3, limit, "kg/m³", source)


def _by_level(
    level: _Level, first: float | None, second: float | None, *, acute: bool
) -> Severity | None:
    if first is None:
        return None
    counts = level.high if acute else level.typical
    if counts > (first if acute else math.inf if second is None else second):
        return "danger"
    if level.typical > first or level.high > first or level.typical > _NEAR * first:
        return "watch"
    return "note" if level.high > _TOLD * first else None


def _by_intake(level: _Level, intake: float | None) -> Severity | None:
    if intake is None or level.typical <= 0.0:
        return None
    usual, least = intake / level.typical * 1e-3, intake / level.high * 1e-3
    if usual <= _GLASSES:
        return "danger"
    return "watch" if least <= _EVENING else "note" if least <= 10.0 * _EVENING else None


def _drunk(fact: FoodSafety, level: _Level) -> str:
    usual, least = (
        format_quantity((fact.intake or 0.0) / one * 1e-3, "volume", digits=2)
        for one in (level.typical, level.high)
    )
    text = f"{fact.intake_words}: reached with {usual}"
    return f"{text} of it." if usual == least else f"{text} of it, perhaps with {least}."


def _eaten(fact: FoodSafety, bearers: list[Addition], lot: Lot, bottle: float) -> Caution:
    """Set the amount of an ingredient that went into a bottle against what poisons when eaten."""
    limit = fact.limit or 0.0
    mass = sum(one.amount for one in bearers)
    each = mass * bottle / lot.volume if lot.volume > 0.0 else 0.0
    names = "; ".join(dict.fromkeys(one.ingredient.name for one in bearers))
    severity: Severity = "danger" if each >= limit else "watch" if each >= 0.2 * limit else "note"
    text = (
        f"{format_quantity(each, 'mass', digits=2)} of {names} went into each bottle of "
        f"{format_quantity(bottle, 'volume')}, if all of it came over; symptoms are known from "
        f"about {format_quantity(limit, 'mass')} eaten. {_LAW}"
    )
    source = f"{fact.source} ({fact.basis})"
    return Caution(f"drink-{fact.code}", severity, text, each, limit, "kg", source)


def _worse(one: Severity | None, two: Severity | None) -> Severity:
    order: tuple[Severity, ...] = ("danger", "watch")
    return next((rank for rank in order if rank in {one, two}), "note")
