# SPDX-License-Identifier: MIT
"""Forecast a fermentation from its gravity readings: when it is done, when to add what is late."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, field, replace
from typing import TYPE_CHECKING, Any, Literal

from middlecut.errors import InputError, NotFoundError, OutOfRangeError
from middlecut.insight.fermentation import FermentationCourse, fit_fermentation
from middlecut.insight.readings import Flag, Reading, Refusal, check_readings
from middlecut.insight.run_entries import corrected_readings
from middlecut.steps.band import Band
from middlecut.steps.gravity_course import (
    FINISHED_FRACTION,
    GravityCourse,
    Window,
    gravity_course,
)
from middlecut.steps.parameters import Ferment
from middlecut.steps.result import Caution
from middlecut.units import format_quantity

if TYPE_CHECKING:
    from middlecut.plan.model import Plan

__all__ = [
    "FermentationForecast",
    "LateAddition",
    "fermentation_sentences",
    "forecast_fermentation",
    "gravities_ahead",
]

LATE = 0.90
"""Share of the fall in gravity after which late additions are common practice."""
LONGEST = 1.5
"""Times the span of the plan after which a reading is to be looked at; our choice."""


@dataclass(frozen=True, slots=True)
class LateAddition:
    """An ingredient that goes in while the wash ferments.

    Parameters
    ----------
    ingredient : str
    amount : float
        [kg]
    due : Band
        Since pitching. [s]
    left : Band
        From now; below 0 when it is due already. [s]
    """

    ingredient: str
    amount: float
    due: Band
    left: Band


@dataclass(frozen=True, slots=True)
class FermentationForecast:
    """Where a fermentation is and what is still to come.

    Parameters
    ----------
    step_id : str
    now : float
        Since pitching. [s]
    phase : {"fermenting", "nearly done", "done", "stuck"}
    by_readings : bool
        Whether readings stand behind it; otherwise only what is usual at the temperature.
    gravity : Band
        Now, SG 20/20.
    final_gravity : Band
        SG 20/20.
    nine_tenths, done : Band
        When 90 % and 98 % of the fall in gravity are over, since pitching. [s]
    additions : tuple of LateAddition
    refused : tuple of Refusal
    flagged : tuple of Flag
    cautions : tuple of Caution
        Slow or stuck, if it is.
    reasons : tuple of str
        Why not to trust it, or what is missing.
    course : FermentationCourse or None
        What was fitted; None without readings enough.
    used : tuple of Reading
        In order of time.
    """

    step_id: str
    now: float
    phase: Literal["fermenting", "nearly done", "done", "stuck"]
    by_readings: bool
    gravity: Band
    final_gravity: Band
    nine_tenths: Band
    done: Band
    additions: tuple[LateAddition, ...]
    refused: tuple[Refusal, ...]
    flagged: tuple[Flag, ...]
    cautions: tuple[Caution, ...]
    reasons: tuple[str, ...]
    course: FermentationCourse | None = field(default=None, repr=False, compare=False)
    used: tuple[Reading, ...] = field(default=(), repr=False)

    def to_dict(self) -> dict[str, Any]:
        """Return everything in SI units as plain JSON types, without the fit behind it."""
        found = asdict(replace(self, course=None))
        del found["course"], found["used"]
        return found


def forecast_fermentation(
    plan: Plan, step_id: str, readings: Iterable[Reading], *, now: float
) -> FermentationForecast:
    """Forecast a fermentation from its readings so far.

    Parameters
    ----------
    plan : Plan
        What is intended.
    step_id : str
        Of the ferment step.
    readings : iterable of Reading
        Of gravity or refraction, times since pitching, in any order; a later entry of the same
        moment takes the place of the one before it.
    now : float
        Since pitching. [s]

    Returns
    -------
    FermentationForecast
        With fewer than two usable readings, one of them after the first hour, by what is usual at
        the temperature of the plan; ``reasons`` then says what is missing.

    Raises
    ------
    NotFoundError
        If the plan has no such ferment step.
    OutOfRangeError
        If the present moment is no time.

    Notes
    -----
    The fit is that of :func:`middlecut.insight.fermentation.fit_fermentation`; see there for what
    it leaves out.
    """
    if not 0.0 <= now < math.inf:
        raise OutOfRangeError("now", now, 0.0, math.inf, unit="s")
    step = plan.step(step_id)
    if not isinstance(step, Ferment):
        ids = tuple(one.id for one in plan.steps if isinstance(one, Ferment))
        raise NotFoundError("ferment step", step_id, ids[:3])
    current, replaced = corrected_readings(list(readings))
    checked = check_readings(current, now=now)
    course: FermentationCourse | None = None
    reasons: tuple[str, ...] = ()
    try:
        course = fit_fermentation(step, checked.used)
        reasons = course.reasons
    except InputError as error:
        reasons = (str(error),)
    other = () if course is None else course.refused
    end = step.duration + step.settling
    late = [Flag(one, _past(one.time, end)) for one in checked.used if one.time > LONGEST * end]
    nine_tenths, done = _when(step, course, LATE), _when(step, course, FINISHED_FRACTION)
    cautions = (*(() if course is None else course.warnings), *_of_the_end(now, end))
    return FermentationForecast(
        step_id=step_id,
        now=now,
        phase=_phase(now, nine_tenths, done, cautions),
        by_readings=course is not None,
        gravity=_gravity_at(step, course, now),
        final_gravity=(
            Band(step.final_gravity, step.final_gravity, step.final_gravity)
            if course is None
            else _band(course.final_gravity)
        ),
        nine_tenths=nine_tenths,
        done=done,
        additions=_additions(step, course, now),
        refused=(*replaced, *checked.refused, *other),
        flagged=(*checked.flagged, *late),
        cautions=cautions,
        reasons=reasons,
        course=course,
        used=checked.used,
    )


def _past(time: float, end: float) -> str:
    late, planned = (format_quantity(value, "duration") for value in (time, end))
    return (
        f"It lies {late} after pitching, and the plan racks this wash at {planned}; check the time "
        "and its unit."
    )


def _of_the_end(now: float, end: float) -> list[Caution]:
    if now <= end:
        return []
    late, planned = (format_quantity(value, "duration") for value in (now - end, end))
    text = (
        f"By the plan this wash was racked {late} ago, {planned} after pitching: what is said "
        "here is of the wash before that."
    )
    return [Caution("past-the-end", "note", text, now, end, "s", "the plan")]


def gravities_ahead(
    step: Ferment, found: FermentationForecast, times: Iterable[float]
) -> tuple[Band, ...]:
    """Return the gravity at other times than now, by the same course as the forecast.

    Parameters
    ----------
    step : Ferment
        What is intended.
    found : FermentationForecast
        Of that step.
    times : iterable of float
        Since pitching. [s]

    Returns
    -------
    tuple of Band
        SG 20/20.
    """
    return tuple(_gravity_at(step, found.course, time) for time in times)


def _band(window: Window) -> Band:
    return Band(window.low, window.typical, window.high)


def _when(step: Ferment, course: FermentationCourse | None, fraction: float) -> Band:
    if course is not None:
        return _band(course.time_of(fraction))
    return _band(gravity_course(step.temperature).time_at_attenuation(fraction))


def _gravity_at(step: Ferment, course: FermentationCourse | None, time: float) -> Band:
    if course is not None:
        return _band(course.gravity_at(time))
    return _usual_gravity(step, gravity_course(step.temperature), time)


def _usual_gravity(step: Ferment, usual: GravityCourse, time: float) -> Band:
    """Return the gravity that is usual at a time, with its range."""
    fall = step.gravity - step.final_gravity
    (early, late), (slow, fast) = usual.midpoint, usual.slope
    ends = [
        GravityCourse((middle, middle), (slope, slope)).fall_done(time)
        for middle, slope in ((early, fast), (late, slow))
    ]
    middle = usual.fall_done(time)
    return Band(
        step.gravity - fall * max(*ends, middle),
        step.gravity - fall * middle,
        step.gravity - fall * min(*ends, middle),
    )


def _phase(
    now: float, nine_tenths: Band, done: Band, cautions: Sequence[Caution]
) -> Literal["fermenting", "nearly done", "done", "stuck"]:
    if any(one.code == "fermentation-stuck" for one in cautions):
        return "stuck"
    if now >= done.median:
        return "done"
    return "nearly done" if now >= nine_tenths.median else "fermenting"


def _additions(
    step: Ferment, course: FermentationCourse | None, now: float
) -> tuple[LateAddition, ...]:
    found = []
    for one in step.additions:
        if one.time is not None:
            due = Band(one.time, one.time, one.time)
        elif one.attenuation is not None:
            due = _when(step, course, one.attenuation)
        else:
            continue
        left = Band(due.low - now, due.median - now, due.high - now)
        found.append(LateAddition(one.ingredient.name, one.amount, due, left))
    return tuple(found)


def fermentation_sentences(found: FermentationForecast) -> list[str]:
    """Return a forecast as the sentences a person beside the fermenter wants, the nearest first.

    Parameters
    ----------
    found : FermentationForecast

    Returns
    -------
    list of str
    """
    now = found.now
    age = format_quantity(now, "duration")
    at = f"{found.gravity.low:.3f} to {found.gravity.high:.3f}"
    lines = [f"{age} after pitching, {found.phase}: gravity now about {at}."]
    for one in found.additions:
        amount = format_quantity(one.amount, "mass")
        if one.left.high <= 0.0:
            lines.append(f"{amount} of {one.ingredient} should be in by now.")
        else:
            lines.append(f"Add {amount} of {one.ingredient} in {_span(one.left)}.")
    if found.phase in {"fermenting", "nearly done"}:
        if found.nine_tenths.median > now:
            lines.append(
                f"Nine tenths of the fall are done in {_span(_left(found.nine_tenths, now))}."
            )
        lines.append(f"All but done in {_span(_left(found.done, now))}.")
    final = found.final_gravity
    lines.append(f"Final gravity: {final.low:.3f} to {final.high:.3f}.")
    if not found.by_readings:
        lines.append("No readings stand behind this, only what is usual at this temperature.")
    return lines


def _left(band: Band, now: float) -> Band:
    return Band(band.low - now, band.median - now, band.high - now)


def _span(left: Band) -> str:
    high = format_quantity(max(left.high, 0.0), "duration")
    if left.low <= 0.0:
        return f"{high} at the latest"
    low = format_quantity(left.low, "duration")
    return low if low == high else f"{low} to {high}"
