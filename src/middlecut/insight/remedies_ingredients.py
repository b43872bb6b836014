# SPDX-License-Identifier: MIT
"""Changes of what goes in: later, shorter, less, other wood."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import TYPE_CHECKING

from middlecut.insight.changes import Change
from middlecut.insight.evidence_ingredients import contact_of, early, start_of
from middlecut.insight.wording import percent, written
from middlecut.plan.reshape import PlanEdit
from middlecut.steps.gravity_course import gravity_course
from middlecut.steps.parameters import Ferment, Steep
from middlecut.units import format_quantity, parse_quantity

if TYPE_CHECKING:
    from middlecut.insight.case import Case, Placed
    from middlecut.insight.off_flavours import Fault

__all__ = ["KINDS"]

LATE = 0.90
"""Share of the fall in gravity done at a late addition: common practice."""
LEAST_SHARE = 0.02
"""Share of an amount below which it had better be left out; our choice."""
_WELL_BELOW_HALF = 0.4  # from which a second amount beside the half says something new; our choice
_USUAL_CONTACT = 2 * 86400.0


def _given_time(case: Case, placed: Placed) -> tuple[PlanEdit, ...]:
    """Return the edits that take away a time or date, so that a share of the fall can stand."""
    raw: Mapping[str, object] = case.raw_step(placed.step.id)["add"][placed.index]
    return tuple(PlanEdit("unset", f"{placed.key}.{key}") for key in ("after", "on") if key in raw)


def _late_addition(case: Case, fault: Fault, limit: str) -> Iterator[Change]:
    del limit
    for placed in case.relevant(fault):
        step = placed.step
        if not isinstance(step, Ferment) or not early(placed):
            continue
        late = gravity_course(step.temperature).time_at_attenuation(LATE).typical
        values: tuple[tuple[str, str], ...] = (
            (f"{placed.key}.entry", "wash-late"),
            (f"{placed.key}.attenuation", f"{LATE * 100.0:g} %"),
        )
        shape = _given_time(case, placed)
        begun = written(start_of(placed), "duration")
        when = "at pitching" if start_of(placed) < 3600.0 else f"{begun} after pitching"
        title = f"Add {placed.name} when fermentation is {percent(LATE)} done instead of {when}"
        left = step.duration + step.settling - late
        stay, short = contact_of(placed), min(_USUAL_CONTACT, 0.999 * left)
        fits = placed.addition.contact is None or placed.addition.contact <= left
        if fits:
            yield Change(f"{title}.", values, shape)
        if stay > 1.2 * short or not fits:
            contact = (f"{placed.key}.contact", written(short, "duration"))
            shown = f"{contact[1]} instead of {written(stay, 'duration')}"
            values = (*values, contact)
            yield Change(f"{title}, contact {shown}.", values, shape)
        half = written(0.5 * placed.addition.amount, "mass")
        values = (*values, (f"{placed.key}.amount", half))
        yield Change(f"{title}, and only {half}.", values, shape)


def _shorter_contact(case: Case, fault: Fault, limit: str) -> Iterator[Change]:
    most = parse_quantity(limit, "duration")
    for placed in case.relevant(fault):
        stay = contact_of(placed)
        if isinstance(placed.step, Ferment) and stay > 1.2 * most:
            text = f"Leave {placed.name} in for {limit} instead of "
            text += f"{written(stay, 'duration')}."
            yield Change(text, ((f"{placed.key}.contact", limit),))


def _shorter_steep(case: Case, fault: Fault, limit: str) -> Iterator[Change]:
    for placed in case.relevant(fault):
        if not isinstance(placed.step, Steep):
            continue
        stay = contact_of(placed)
        target = parse_quantity(limit, "duration") if limit else 0.5 * stay
        if stay > 1.2 * target:
            shown = written(target, "duration")
            text = f"Take {placed.name} out of {placed.step.id} after {shown} instead of "
            text += f"{written(stay, 'duration')}."
            yield Change(text, ((f"{placed.key}.contact", shown),))


def _less_ingredient(case: Case, fault: Fault, limit: str) -> Iterator[Change]:
    del limit
    for placed in case.relevant(fault):
        amount = placed.addition.amount
        half = written(0.5 * amount, "mass")
        text = f"Take {half} of {placed.name} in {placed.step.id} instead of "
        text += f"{format_quantity(amount, 'mass')}."
        yield Change(text, ((f"{placed.key}.amount", half),))
        share = _share_to_threshold(case, fault)
        if not fault.wanted and LEAST_SHARE <= share < _WELL_BELOW_HALF:
            little = written(float(f"{share * amount:.2g}"), "mass")
            text = f"Take only {little} of {placed.name} in {placed.step.id} instead of "
            text += f"{format_quantity(amount, 'mass')}: about what brings it to its threshold."
            yield Change(text, ((f"{placed.key}.amount", little),))


def _share_to_threshold(case: Case, fault: Fault) -> float:
    """Return by what to multiply an amount to bring what is blamed to its threshold."""
    total = sum(case.odours[name].oav for name in fault.compounds if name in case.odours)
    return 1.0 / total if total > 0.0 else 1.0


def _less_wood(case: Case, fault: Fault, limit: str) -> Iterator[Change]:
    del fault, limit
    for wood in case.woods:
        if wood.dose is not None:
            half = written(0.5 * wood.dose, "mass_concentration")
            text = f"Use {half} of {wood.form} in {wood.id}, half as much."
            yield Change(text, ((f"step.{wood.id}.dose", half),))
        elif wood.area is not None:
            half = written(0.5 * wood.area, "area")
            text = f"Use {half} of {wood.form} in {wood.id}, half as much."
            yield Change(text, ((f"step.{wood.id}.area", half),))


def _shorter_wood(case: Case, fault: Fault, limit: str) -> Iterator[Change]:
    del fault, limit
    for wood in case.woods:
        half = written(0.5 * wood.duration, "duration")
        text = f"Take it off the wood of {wood.id} after {half}, half the time."
        yield Change(text, ((f"step.{wood.id}.duration", half),))


def _toasted_wood(case: Case, fault: Fault, limit: str) -> Iterator[Change]:
    del fault, limit
    for wood in case.woods:
        if wood.treatment in {"untoasted", "light toast"}:
            text = f"Use wood of medium toast in {wood.id} instead of {wood.treatment}."
            yield Change(text, ((f"step.{wood.id}.treatment", "medium toast"),))


KINDS: Mapping[str, Callable[[Case, Fault, str], Iterator[Change]]] = {
    "late-addition": _late_addition,
    "shorter-contact": _shorter_contact,
    "shorter-steep": _shorter_steep,
    "less-ingredient": _less_ingredient,
    "less-wood": _less_wood,
    "shorter-wood": _shorter_wood,
    "toasted-wood": _toasted_wood,
}
"""Changes of what goes in, by name."""
