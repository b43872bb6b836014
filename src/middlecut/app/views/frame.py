# SPDX-License-Identifier: MIT
"""A step of a batch: where it stands, what was planned and what is expected of it."""

from __future__ import annotations

from dataclasses import dataclass

from middlecut.app.batch import Batch, StepState
from middlecut.app.decide_course import find_step
from middlecut.app.expectation import StillFit, expect, expect_sheet
from middlecut.errors import NotFoundError
from middlecut.plan.prediction import Prediction
from middlecut.plan.sheet import Section
from middlecut.steps.parameters import StepParameters
from middlecut.steps.result import StepResult

__all__ = ["StepFrame", "step_frame"]


@dataclass(frozen=True, slots=True)
class StepFrame:
    """One step of a batch.

    Parameters
    ----------
    state : Batch
    step : StepState
        Where it stands.
    parameters : StepParameters
        What was planned.
    result : StepResult
        What is expected.
    section : Section
        What the sheet says of it.
    prediction : Prediction
        Of the whole plan.
    before, after : str or None
        Ids of the steps around it.
    fits : tuple of StillFit
        Stills that it is predicted with as measured.
    """

    state: Batch
    step: StepState
    parameters: StepParameters
    result: StepResult
    section: Section
    prediction: Prediction
    before: str | None
    after: str | None
    fits: tuple[StillFit, ...] = ()

    @property
    def id(self) -> str:
        """Id of the step."""
        return self.step.outline.step

    @property
    def kind(self) -> str:
        """Kind of the step."""
        return self.step.outline.kind

    @property
    def plan_text(self) -> str:
        """The plan that holds."""
        plan = self.state.plan
        return "" if plan is None else plan.text


def step_frame(state: Batch, step: str, fits: tuple[StillFit, ...] = ()) -> StepFrame:
    """Return a step of a batch with what was planned and what is expected.

    Parameters
    ----------
    state : Batch
    step : str
        Its id.
    fits : tuple of StillFit
        Stills that run as measured.

    Returns
    -------
    frame : StepFrame

    Raises
    ------
    NotFoundError
        If the plan that holds has no such step.
    PlanError
        If the plan cannot be carried out as it is.
    """
    where = find_step(state, step)
    plan = state.plan
    if plan is None:
        raise NotFoundError("plan of the batch", state.id)
    prediction = expect(plan.text, fits)
    sections = {one.step_id: one for one in expect_sheet(plan.text, fits).sections}
    order = list(prediction.steps)
    place = order.index(step)
    return StepFrame(
        state=state,
        step=where,
        parameters=prediction.plan.step(step),
        result=prediction.steps[step],
        section=sections[step],
        prediction=prediction,
        before=order[place - 1] if place else None,
        after=order[place + 1] if place + 1 < len(order) else None,
        fits=fits,
    )
