# SPDX-License-Identifier: MIT
"""Tests on the fermentation and what is taken from it into the boiler."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from middlecut.insight.diagnosis import Evidence
from middlecut.insight.wording import percent, written
from middlecut.steps.gravity_course import FINISHED_FRACTION, gravity_course
from middlecut.units import format_quantity, parse_quantity

if TYPE_CHECKING:
    from middlecut.insight.case import Case
    from middlecut.insight.off_flavours import Fault

__all__ = ["TESTS"]

_REST = 24 * 3600.0  # on the yeast after the end, common practice: 12 to 48 h
_CLEAR = 24 * 3600.0  # settling below which a wash is taken to be cloudy; our choice
_LEES_SHARE = 0.05  # of the wort left behind with the yeast; less carries lees over; our choice
_DRY_GRAVITY = 1.010
_GRAVITY_STEP = 0.003


def _warm_ferment(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    del fault
    most = parse_quantity(limit, "temperature")
    found = []
    for step in case.ferments:
        text = f"{step.id} ferments at {format_quantity(step.temperature, 'temperature')}"
        above = step.temperature - most
        if above > 0.0:
            weight = min(0.2 + 0.05 * above, 0.6)
            found.append(Evidence("warm-ferment", weight, f"{text}, above {limit}."))
        else:
            found.append(Evidence("warm-ferment", -0.2, f"{text}, not above {limit}."))
    return found


def _strong_wash(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    del fault
    most = float(limit)
    found = []
    for step in case.ferments:
        text = f"{step.id} starts at {step.gravity:.3f} SG"
        if step.gravity > most:
            found.append(Evidence("strong-wash", 0.4, f"{text}, above {limit}: hard on yeast."))
        else:
            found.append(Evidence("strong-wash", -0.2, f"{text}, not above {limit}."))
    return found


def _old_wash(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    del fault
    most = parse_quantity(limit, "duration")
    found = []
    for step in case.ferments:
        time = step.duration + step.settling
        text = f"The wash of {step.id} is {written(time, 'duration')} old when it is used"
        if time > most:
            weight = 0.2 + 0.4 * (1.0 - most / time)
            found.append(Evidence("old-wash", weight, f"{text}; past {limit} it is at risk."))
        else:
            found.append(Evidence("old-wash", -0.2, f"{text}, within {limit}."))
    return found


def _short_ferment(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    del fault, limit
    found = []
    for step in case.ferments:
        done = gravity_course(step.temperature).time_at_attenuation(FINISHED_FRACTION).typical
        rest = step.duration + step.settling - done
        hours = written(max(rest, 0.0), "duration")
        text = f"{step.id} leaves {hours} on the yeast after the end of fermentation"
        if rest < _REST:
            found.append(Evidence("short-ferment", 0.5, f"{text}; a day or two is usual."))
        else:
            found.append(Evidence("short-ferment", -0.3, f"{text}, which is enough."))
    return found


def _residual_sugar(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    from middlecut.insight.readings import true_value  # noqa: PLC0415 - only here

    del fault, limit
    found = []
    for step in case.ferments:
        gravity = step.final_gravity
        if gravity > _DRY_GRAVITY:
            text = f"{step.id} ends at {gravity:.3f} SG: sugar is left."
            found.append(Evidence("residual-sugar", 0.3, text))
        else:
            text = f"{step.id} ends dry, at {gravity:.3f} SG."
            found.append(Evidence("residual-sugar", -0.2, text))
        readings = [one for one in case.readings.get(step.id, ()) if one.quantity == "gravity"]
        if readings:
            last = true_value(max(readings, key=lambda one: one.time))
            text = f"The last reading of {step.id} is {last:.3f} SG; the plan ends at {gravity:.3f}"
            stuck = last > gravity + _GRAVITY_STEP
            text += ": it had not finished." if stuck else "."
            found.append(Evidence("residual-sugar", 0.6 if stuck else -0.3, text))
    return found


def _lees_boiled(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    del fault, limit
    found = []
    for step in case.ferments:
        time = written(step.settling, "duration")
        share = step.lees / step.volume
        text = f"{step.id} settles for {time} and leaves {percent(share)} behind as lees"
        cloudy = (step.settling < _CLEAR) + (share < _LEES_SHARE)
        if cloudy:
            weight = 0.3 if cloudy == 1 else 0.5
            found.append(Evidence("lees-boiled", weight, f"{text}: yeast goes into the boiler."))
        else:
            found.append(Evidence("lees-boiled", -0.3, f"{text}."))
    return found


def _profile(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    del fault
    return [
        Evidence("profile", 0.2, f"{step.id} is a {limit} wash, where it arises.")
        if step.profile == limit
        else Evidence("profile", -0.2, f"{step.id} is a {step.profile} wash, not {limit}.")
        for step in case.ferments
    ]


TESTS: Mapping[str, Callable[[Case, Fault, str], list[Evidence]]] = {
    "warm-ferment": _warm_ferment,
    "strong-wash": _strong_wash,
    "old-wash": _old_wash,
    "short-ferment": _short_ferment,
    "residual-sugar": _residual_sugar,
    "lees-boiled": _lees_boiled,
    "profile": _profile,
}
"""Tests on the fermentation, by name."""
