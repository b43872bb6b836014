# SPDX-License-Identifier: MIT
"""A fermentation as it stands: readings, the course they tell, when it is done, what is due."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from middlecut.app.batch import Batch, StepState
from middlecut.app.spirit_events import AdditionMade
from middlecut.app.views.frame import StepFrame
from middlecut.app.views.readings import gravity_readings
from middlecut.errors import NotFoundError
from middlecut.insight.fermentation_forecast import (
    FermentationForecast,
    forecast_fermentation,
    gravities_ahead,
)
from middlecut.insight.readings import CheckedReadings, true_value
from middlecut.plan.model import Plan
from middlecut.steps.band import Band
from middlecut.steps.gravity_course import Window
from middlecut.steps.parameters import Addition, Ferment
from middlecut.steps.result import Caution

__all__ = [
    "AdditionDue",
    "CoursePoint",
    "FermentView",
    "Milestone",
    "additions_made",
    "ferment_view",
    "fermentation_now",
]

_POINTS = 49


@dataclass(frozen=True, slots=True)
class CoursePoint:
    """Gravity at a time.

    Parameters
    ----------
    time : float
        Since pitching. [s]
    gravity, low, high : float
        SG 20/20 with its range.
    """

    time: float
    gravity: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Milestone:
    """When a share of the fall in gravity is done.

    Parameters
    ----------
    label : str
    window : Window
        Since pitching. [s]
    at, low, high : datetime or None
        On the calendar; None before the step was started.
    reached : bool
        Whether its typical time has passed.
    """

    label: str
    window: Window
    at: datetime | None
    low: datetime | None
    high: datetime | None
    reached: bool


@dataclass(frozen=True, slots=True)
class AdditionDue:
    """An ingredient of the wash.

    Parameters
    ----------
    addition : Addition
        As planned.
    when : Milestone or None
        None: at pitching.
    made : datetime or None
        When it went in.
    """

    addition: Addition
    when: Milestone | None
    made: datetime | None


@dataclass(frozen=True, slots=True)
class FermentView:
    """A fermentation.

    Parameters
    ----------
    elapsed : float or None
        Since pitching. [s] None before that.
    measured : tuple of (float, float)
        Time since pitching [s] and gravity corrected for temperature.
    course : tuple of CoursePoint
    basis : str
        What the course rests on, in words.
    milestones : tuple of Milestone
    additions : tuple of AdditionDue
    warnings : tuple of Caution
        Slow or stuck.
    attenuation, final_gravity : Window or None
        By the readings; None without enough of them.
    checked : CheckedReadings
        Which readings count and which do not, and why.
    """

    elapsed: float | None
    measured: tuple[tuple[float, float], ...]
    course: tuple[CoursePoint, ...]
    basis: str
    milestones: tuple[Milestone, ...]
    additions: tuple[AdditionDue, ...]
    warnings: tuple[Caution, ...]
    attenuation: Window | None
    final_gravity: Window | None
    checked: CheckedReadings


def ferment_view(frame: StepFrame, now: datetime) -> FermentView:
    """Return a fermentation as it stands.

    Parameters
    ----------
    frame : StepFrame
        Of a ferment step.
    now : datetime

    Returns
    -------
    view : FermentView

    Raises
    ------
    NotFoundError
        If it is no ferment step.
    """
    step = frame.parameters
    if not isinstance(step, Ferment):
        raise NotFoundError("ferment step", frame.id)
    start = frame.step.started
    elapsed = None if start is None else (now - start).total_seconds()
    found = fermentation_now(frame.state, frame.prediction.plan, frame.step, now)

    def milestone(label: str, due: Band) -> Milestone:
        window = Window(due.median, due.low, due.high)
        at, low, high = (
            None if start is None else start + timedelta(seconds=value)
            for value in (window.typical, window.low, window.high)
        )
        reached = elapsed is not None and elapsed >= window.typical
        return Milestone(label, window, at, low, high, reached)

    course = found.course
    return FermentView(
        elapsed=elapsed,
        measured=tuple(
            (one.time, true_value(one)) for one in found.used if one.quantity == "gravity"
        ),
        course=_points(step, found, max(step.duration, elapsed or 0.0)),
        basis=_basis(found),
        milestones=(
            milestone("90 % of the fall done", found.nine_tenths),
            milestone("all but done", found.done),
        ),
        additions=_additions(frame, step, found, milestone),
        warnings=found.cautions,
        attenuation=None if course is None else course.attenuation,
        final_gravity=None if course is None else course.final_gravity,
        checked=CheckedReadings(found.used, found.refused, found.flagged),
    )


def fermentation_now(
    state: Batch, plan: Plan, where: StepState, now: datetime
) -> FermentationForecast:
    """Return the forecast of a fermentation, for every page that tells when it is done.

    Parameters
    ----------
    state : Batch
    plan : Plan
        The one that holds.
    where : StepState
        Of a ferment step; one that was not started is forecast from its pitching.
    now : datetime

    Returns
    -------
    forecast : FermentationForecast

    Raises
    ------
    NotFoundError
        If the plan has no such ferment step.
    """
    step, start = where.outline.step, where.started
    if start is None:
        return forecast_fermentation(plan, step, (), now=0.0)
    readings = gravity_readings(state, step, start)
    elapsed = max((now - start).total_seconds(), 0.0)
    return forecast_fermentation(plan, step, readings, now=elapsed)


def _basis(found: FermentationForecast) -> str:
    if not found.by_readings:
        return (
            "The usual course at this temperature; two readings, one after the first hour, will "
            "fit it to your yeast. The band is the range of the usual course."
        )
    return f"Fitted to {len(found.used)} readings; the band holds nine of ten."


def _points(step: Ferment, found: FermentationForecast, end: float) -> tuple[CoursePoint, ...]:
    times = [end * index / (_POINTS - 1) for index in range(_POINTS)]
    bands = gravities_ahead(step, found, times)
    return tuple(
        CoursePoint(time, one.median, one.low, one.high)
        for time, one in zip(times, bands, strict=True)
    )


def _additions(
    frame: StepFrame,
    step: Ferment,
    forecast: FermentationForecast,
    milestone: Callable[[str, Band], Milestone],
) -> tuple[AdditionDue, ...]:
    made = additions_made(frame.state, frame.id)
    due = iter(forecast.additions)  # in the plan's order, without those at pitching
    found = []
    for one in step.additions:
        when = None
        if one.attenuation is not None:
            words = f"when {one.attenuation * 100:.0f} % of the fall is done"
            when = milestone(words, next(due).due)
        elif one.time is not None:
            late = next(due).due
            when = milestone("at its time after pitching", late) if one.time else None
        found.append(AdditionDue(one, when, made.get(one.ingredient.name)))
    return tuple(found)


def additions_made(state: Batch, step: str) -> dict[str, datetime]:
    """Return when each ingredient of a step went in, by its name."""
    return {
        body.ingredient: event.utc for event, body in state.of(AdditionMade) if body.step == step
    }
