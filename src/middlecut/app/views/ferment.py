# SPDX-License-Identifier: MIT
"""A fermentation as it stands: readings, the course they tell, when it is done, what is due."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from middlecut.app.spirit_events import AdditionMade
from middlecut.app.views.frame import StepFrame
from middlecut.app.views.readings import gravity_readings
from middlecut.errors import InputError, NotFoundError
from middlecut.insight.fermentation import FermentationCourse, fit_fermentation
from middlecut.insight.readings import CheckedReadings, check_readings, true_value
from middlecut.steps.gravity_course import (
    FINISHED_FRACTION,
    GravityCourse,
    Window,
    gravity_course,
)
from middlecut.steps.parameters import Addition, Ferment
from middlecut.steps.result import Caution

__all__ = ["AdditionDue", "CoursePoint", "FermentView", "Milestone", "ferment_view"]

_POINTS = 49
_SHARES = ((0.9, "90 % of the fall done"), (FINISHED_FRACTION, "all but done"))


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
    given = () if start is None else gravity_readings(frame.state, frame.id, start)
    elapsed = None if start is None else (now - start).total_seconds()
    checked = check_readings(given, now=elapsed)
    course = _fit(step, checked)
    prior = gravity_course(step.temperature)
    time_of = prior.time_at_attenuation if course is None else course.time_of

    def milestone(label: str, window: Window) -> Milestone:
        at, low, high = (
            None if start is None else start + timedelta(seconds=value)
            for value in (window.typical, window.low, window.high)
        )
        reached = elapsed is not None and elapsed >= window.typical
        return Milestone(label, window, at, low, high, reached)

    milestones = tuple(milestone(words, time_of(share)) for share, words in _SHARES)
    return FermentView(
        elapsed=elapsed,
        measured=tuple(
            (one.time, true_value(one)) for one in checked.used if one.quantity == "gravity"
        ),
        course=_points(step, prior, course, max(step.duration, elapsed or 0.0)),
        basis=_basis(course, len(checked.used)),
        milestones=milestones,
        additions=_additions(frame, step, time_of, milestone),
        warnings=() if course is None else course.warnings,
        attenuation=None if course is None else course.attenuation,
        final_gravity=None if course is None else course.final_gravity,
        checked=checked,
    )


def _fit(step: Ferment, checked: CheckedReadings) -> FermentationCourse | None:
    try:
        return fit_fermentation(step, checked.used)
    except InputError:  # too few readings: the usual course stands
        return None


def _basis(course: FermentationCourse | None, count: int) -> str:
    if course is None:
        return (
            "The usual course at this temperature; two readings, one after the first hour, will "
            "fit it to your yeast. The band is the range of the usual course."
        )
    return f"Fitted to {count} readings; the band holds nine of ten."


def _points(
    step: Ferment, prior: GravityCourse, course: FermentationCourse | None, end: float
) -> tuple[CoursePoint, ...]:
    times = [end * index / (_POINTS - 1) for index in range(_POINTS)]
    if course is not None:
        windows = [(time, course.gravity_at(time)) for time in times]
        return tuple(CoursePoint(time, one.typical, one.low, one.high) for time, one in windows)
    fall = step.gravity - step.final_gravity
    early, late = prior.midpoint
    slow, fast = prior.slope
    ends = (
        prior,
        GravityCourse((early, early), (fast, fast)),
        GravityCourse((late, late), (slow, slow)),
    )
    found = []
    for time in times:
        middle, *rest = (step.gravity - fall * one.fraction_done(time) for one in ends)
        found.append(CoursePoint(time, middle, min(middle, *rest), max(middle, *rest)))
    return tuple(found)


def _additions(
    frame: StepFrame,
    step: Ferment,
    time_of: Callable[[float], Window],
    milestone: Callable[[str, Window], Milestone],
) -> tuple[AdditionDue, ...]:
    made = {
        body.ingredient: event.utc
        for event, body in frame.state.of(AdditionMade)
        if body.step == frame.id
    }
    found = []
    for one in step.additions:
        when = None
        if one.attenuation is not None:
            words = f"when {one.attenuation * 100:.0f} % of the fall is done"
            when = milestone(words, time_of(one.attenuation))
        elif one.time:
            window = Window(one.time, one.time, one.time)
            when = milestone("at its time after pitching", window)
        found.append(AdditionDue(one, when, made.get(one.ingredient.name)))
    return tuple(found)
