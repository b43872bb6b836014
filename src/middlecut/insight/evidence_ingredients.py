# SPDX-License-Identifier: MIT
"""Tests on ingredients and wood: which went in, when, how long, how much."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from middlecut.insight.diagnosis import Evidence
from middlecut.insight.wording import percent, trace, written
from middlecut.liquid import compounds
from middlecut.steps.gravity_course import gravity_course
from middlecut.steps.parameters import Ferment, Steep
from middlecut.units import format_quantity, parse_quantity

if TYPE_CHECKING:
    from middlecut.insight.case import Case, Placed
    from middlecut.insight.off_flavours import Fault

__all__ = ["TESTS", "contact_of", "early", "start_of"]

EARLY = 0.5
"""Share of the fall in gravity done; whatever goes in before that is early. Our choice."""
_OLD_FAT = 0.10  # fat and oil by weight from which an ingredient can turn rancid; our choice


def start_of(placed: Placed) -> float:
    """Return when an addition meets the liquid of its step. [s] From the step's start."""
    step, addition = placed.step, placed.addition
    if not isinstance(step, Ferment):
        return 0.0
    if addition.time is not None:
        return addition.time
    return gravity_course(step.temperature).time_at_attenuation(addition.attenuation or 0.5).typical


def contact_of(placed: Placed) -> float:
    """Return how long an addition stays in. [s] In a still: 0, it stays for the run."""
    step, addition = placed.step, placed.addition
    if addition.contact is not None:
        return addition.contact
    if isinstance(step, Ferment):
        return step.duration + step.settling - start_of(placed)
    return step.duration if isinstance(step, Steep) else 0.0


def early(placed: Placed) -> bool:
    """Say whether an addition went into a wash that had hardly begun to ferment."""
    step = placed.step
    if not isinstance(step, Ferment):
        return False
    half = gravity_course(step.temperature).time_at_attenuation(EARLY).typical
    return start_of(placed) < half


def _amount(placed: Placed) -> str:
    return f"{format_quantity(placed.addition.amount, 'mass')} of {placed.name}"


def _brings(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    del limit
    found = []
    for placed in case.relevant(fault):
        parts = placed.brought(fault)
        if parts:
            compound, mass = max(parts, key=lambda part: part[1])
            held = case.lot.amounts.get(compound)
            text = f"{_amount(placed)} hold about {trace(mass)} of {compound}"
            weight = 0.5
            if held is not None and held.typical > mass:
                # It cannot have brought more than all of its own: the rest comes from elsewhere.
                weight *= mass / held.typical
                text += f", of the {trace(held.typical)} in {case.lot.name}"
            found.append(Evidence("brings", weight, f"{text}."))
    if found:
        return found
    names = ", ".join(fault.compounds)
    return [Evidence("brings", -0.5, f"No ingredient on the way to it is known to hold {names}.")]


def _stones(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    """Broken stones set benzaldehyde and hydrocyanic acid free."""
    del fault, limit
    found = []
    for placed in case.additions:
        if "hydrocyanic acid" not in placed.addition.ingredient.safety:
            continue
        text = f"{_amount(placed)} went in: broken stones smell of almond"
        for marker in placed.addition.ingredient.markers:
            if marker.compound == "hydrocyanic acid":
                held = marker.typical * placed.addition.amount
                most = marker.high * placed.addition.amount
                level = most / case.lot.volume * 1e3
                text += (
                    f" and hold about {trace(held)}, at most {trace(most)}, of hydrocyanic acid: "
                    f"up to {level:.3g} mg/L of {case.lot.name} if all of it came over"
                )
        found.append(Evidence("stones", 0.9, f"{text}."))
    text = "No fruit with broken stones is on the way to it."
    return found or [Evidence("stones", -0.8, text)]


def _carried(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    names = limit.split(",")
    found = [one for one in case.additions if any(name in one.name for name in names)]
    if found:
        # What is told by its compounds already does not count again by its name.
        told = any(call.name == "brings" for call in fault.tests)
        return [
            Evidence("carried", 0.5, f"{_amount(one)} went in.")
            for one in found
            if not (told and one.brought(fault))
        ]
    shown = " or ".join(names)
    return [Evidence("carried", -0.7, f"No {shown} is on the way to it.")]


def _early_addition(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    del limit
    found = []
    for placed in case.relevant(fault):
        if isinstance(placed.step, Ferment):
            begun = start_of(placed)
            start = f"{written(begun, 'duration')} after pitching" if begun else "at pitching"
            if early(placed):
                text = f"{placed.name} went into the wash {start}, before it was half done."
                found.append(Evidence("early-addition", 0.4, text))
            else:
                text = f"{placed.name} went into the wash late, {start}."
                found.append(Evidence("early-addition", -0.3, text))
    return found


def _long_contact(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    most = parse_quantity(limit, "duration")
    found = []
    for placed in case.relevant(fault):
        time = contact_of(placed)
        if placed.distilled:
            continue
        usual = written(most, "duration")
        text = f"{placed.name} stayed in for {written(time, 'duration')}"
        if time > most:
            weight = 0.6 * (1.0 - most / time)
            found.append(Evidence("long-contact", weight, f"{text}; {usual} is usual at most."))
        else:
            found.append(Evidence("long-contact", -0.3, f"{text}, within the usual {usual}."))
    return found


def _hot_contact(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    del limit
    found = []
    for placed in case.relevant(fault):
        if placed.addition.entry_point == "charge":
            text = f"{placed.name} boils in the charge of {placed.step.id} for the whole run."
            found.append(Evidence("hot-contact", 0.4, text))
        elif placed.addition.entry_point == "basket":
            text = f"{placed.name} hangs in the vapour of {placed.step.id}, not on a hot floor."
            found.append(Evidence("hot-contact", -0.2, text))
    return found


def _load(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    most = parse_quantity(limit, "mass_concentration")
    volume = case.lot.volume
    found = []
    for placed in case.relevant(fault):
        load = placed.addition.amount / volume
        text = (
            f"{_amount(placed)} went into what became {format_quantity(volume, 'volume')}: "
            f"{load:.3g} g/L, where {most:g} g/L is already plenty (our estimate)."
        )
        weight = 0.05 + 0.4 * (1.0 - most / load) if load >= most else -0.2 * (1.0 - load / most)
        found.append(Evidence("load", weight, text))
    return found


def _fine_form(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    del limit
    return [
        Evidence("fine-form", 0.3, f"{one.name} is ground fine.")
        for one in case.relevant(fault)
        if one.addition.form == "fine"
    ]


def _after_still(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    del limit
    made = case.prediction.steps
    after = [
        one.name
        for one in case.relevant(fault)
        if not one.distilled and not case.undistilled.isdisjoint(made[one.step.id].made)
    ]
    if any(call.name == "wood" for call in fault.tests):
        after += [f"wood in {wood.id}" for wood in case.woods if wood.into in case.undistilled]
    if after:
        text = f"{', '.join(dict.fromkeys(after))} met the liquid after the last run."
        return [Evidence("after-still", 0.5, text)]
    never = [name for name in fault.compounds if compounds.find(name).nonvolatile]
    if not fault.compounds or never:
        text = "Nothing of it can distil, and nothing of the kind went in after the last run."
        return [Evidence("after-still", -0.8, text)]
    return [Evidence("after-still", -0.3, "Nothing of the kind went in after the last run.")]


def _old_fat(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    del fault, limit
    found = []
    for placed in case.additions:
        share = placed.addition.ingredient.lipid_share
        if share >= _OLD_FAT:
            text = f"{placed.name} is {percent(share)} fat and oil, which turn with age."
            found.append(Evidence("old-fat", 0.3, text))
    return found or [Evidence("old-fat", -0.2, "No ingredient on the way to it is rich in fat.")]


def _wood(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    del fault
    if not case.woods:
        return [Evidence("wood", -0.7, "It was never on wood.")]
    wanted = [word for word in limit.split(",") if word]
    found = []
    for wood in case.woods:
        time = written(wood.duration, "duration")
        text = f"{time} on {wood.species}, {wood.form}, {wood.treatment}."
        fits = not wanted or wood.treatment in wanted
        found.append(Evidence("wood", 0.5 if fits else -0.3, text))
    return found


def _fine_wood(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    del fault, limit
    return [
        Evidence("fine-wood", 0.3, f"{wood.form} give up tannin faster than casks.")
        for wood in case.woods
        if wood.form in {"chips", "shavings"}
    ]


TESTS: Mapping[str, Callable[[Case, Fault, str], list[Evidence]]] = {
    "brings": _brings,
    "stones": _stones,
    "carried": _carried,
    "early-addition": _early_addition,
    "long-contact": _long_contact,
    "hot-contact": _hot_contact,
    "load": _load,
    "fine-form": _fine_form,
    "after-still": _after_still,
    "old-fat": _old_fat,
    "wood": _wood,
    "fine-wood": _fine_wood,
}
"""Tests on what went in, by name."""
