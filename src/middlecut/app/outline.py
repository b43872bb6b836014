# SPDX-License-Identifier: MIT
"""The outline of a plan that the record keeps: ids, kinds, lots, and what falls due when."""

from __future__ import annotations

from middlecut.app.batch_events import Due, StepOutline
from middlecut.plan.model import Plan
from middlecut.steps.parameters import Distil, Draw, Ferment, StepParameters

__all__ = ["outline_of"]


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
        due = [Due("the fermentation should be done: read the gravity", step.duration)]
        if step.settling:
            due.append(Due("the wash should be clear: draw it off", step.duration + step.settling))
        return tuple(due)
    time = getattr(step, "time", None)  # steps that only wait: steep, wood
    return (Due("its time is over: take a sample", time),) if isinstance(time, float) else ()
