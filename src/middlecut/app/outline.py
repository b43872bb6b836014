# SPDX-License-Identifier: MIT
"""The outline of a plan that the record keeps: ids, kinds, lots, and what falls due when."""

from __future__ import annotations

from middlecut.app.batch_events import Due, StepOutline
from middlecut.plan.model import Plan
from middlecut.steps.gravity_course import gravity_course
from middlecut.steps.parameters import (
    Addition,
    Distil,
    Draw,
    Ferment,
    Steep,
    StepParameters,
    Wood,
)

__all__ = ["FIRST_TASTE", "FIRST_TASTE_SHARE", "late_addition", "outline_of", "waiting_due"]

FIRST_TASTE = "half its time is over: take a first sample and taste it"
"""What falls due then."""
FIRST_TASTE_SHARE = 0.5
"""Share of the time on wood after which the first taste is asked for; common practice."""


def outline_of(plan: Plan) -> tuple[StepOutline, ...]:
    """Return the outline of each step of a plan.

    Parameters
    ----------
    plan : Plan
        Read and checked.

    Returns
    -------
    steps : tuple of StepOutline
        In the plan's order.
    """
    return tuple(StepOutline(step.id, step.kind, _makes(step), _due(step)) for step in plan.steps)


def _makes(step: StepParameters) -> tuple[str, ...]:
    if isinstance(step, Distil):
        return (*(cut.into for cut in step.cuts), step.residue)
    if isinstance(step, Ferment):
        return (step.into, *(name for name, _ in step.reserve))
    return (step.take.lot, step.into) if isinstance(step, Draw) else (step.into,)


def _due(step: StepParameters) -> tuple[Due, ...]:
    if isinstance(step, Ferment):
        due = [Due(late_addition(one), _time_of(step, one)) for one in step.additions if _late(one)]
        due.append(Due("the fermentation should be done: read the gravity", step.duration))
        if step.settling:
            due.append(Due("the wash should be clear: draw it off", step.duration + step.settling))
        return tuple(due)
    if isinstance(step, Steep | Wood):
        return waiting_due(step)
    return ()


def waiting_due(step: Steep | Wood) -> tuple[Due, ...]:
    """Return what falls due in a step that only waits."""
    if isinstance(step, Steep):
        return (Due("its time is over: strain it off", step.duration),)
    return (
        Due(FIRST_TASTE, FIRST_TASTE_SHARE * step.duration),
        Due("its time is over: taste it and draw it off the wood", step.duration),
    )


def late_addition(addition: Addition) -> str:
    """Return in words what is to be done when a late addition is due."""
    share = addition.attenuation
    when = "" if share is None else f": {share * 100:.0f} % of the fall in gravity should be done"
    return f"{addition.ingredient.name} goes in{when}"


def _late(addition: Addition) -> bool:
    return addition.attenuation is not None or bool(addition.time)


def _time_of(step: Ferment, addition: Addition) -> float:
    """Return when an addition is due by the usual course, since pitching. [s]."""
    if addition.attenuation is None:
        return addition.time or 0.0
    return gravity_course(step.temperature).time_at_attenuation(addition.attenuation).typical
