# SPDX-License-Identifier: MIT
"""The page of any step, and what can be entered on all of them: start, end, note, addition."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form
from starlette.responses import Response

from middlecut.app.batch_events import NoteWritten, StepFinished, StepStarted
from middlecut.app.events import Body
from middlecut.app.spirit_events import AdditionMade, PowerSet
from middlecut.errors import NotFoundError
from middlecut.steps.parameters import Addition, Distil
from middlecut.web.bench import (
    Sending,
    amount,
    ask_ready,
    form_of,
    keep,
    step_address,
    typed_in,
    unit_beside,
)
from middlecut.web.step_pages import frame_of, show_step
from middlecut.web.visit import Visiting

__all__ = ["router"]

router = APIRouter()
_STEP = "/batch/{batch}/step/{step}"


class WordsForm(Sending):
    """Words to a step."""

    text: str = ""


class AdditionForm(Sending):
    """An ingredient that went in."""

    ingredient: str = ""
    weight: str = ""
    supply: str = ""


@router.get(_STEP)
def show(visit: Visiting, batch: str, step: str) -> Response:
    """Show a step."""
    return show_step(visit, batch, step)


@router.post(f"{_STEP}/start")
def start(visit: Visiting, batch: str, step: str, sent: Annotated[WordsForm, Form()]) -> Response:
    """Start a step; the heat of a still is on from then."""
    form = form_of(sent)
    words = form.text("text", "Note", longest=20_000)
    bodies: list[Body] = [StepStarted(step, words)]
    frame = frame_of(visit, batch, step)
    ask_ready(visit, frame, form)
    if isinstance(frame.parameters, Distil):
        bodies.append(PowerSet(step, share=frame.parameters.heat_up_power))
    if not keep(visit, batch, form, *bodies, field="text", label="Start"):
        return show_step(visit, batch, step, forms={"start": form}, status=422)
    return visit.go(step_address(batch, step), said="saved")


@router.post(f"{_STEP}/finish")
def finish(visit: Visiting, batch: str, step: str, sent: Annotated[WordsForm, Form()]) -> Response:
    """Finish a step."""
    form = form_of(sent)
    body = StepFinished(step, form.text("text", "Note", longest=20_000))
    if not keep(visit, batch, form, body, field="text", label="End"):
        return show_step(visit, batch, step, forms={"finish": form}, status=422)
    return visit.go(step_address(batch, step), said="saved")


@router.post(f"{_STEP}/note")
def write(visit: Visiting, batch: str, step: str, sent: Annotated[WordsForm, Form()]) -> Response:
    """Write a note to a step."""
    form = form_of(sent)
    frame_of(visit, batch, step)
    body = NoteWritten(form.text("text", "Note", required=True, longest=20_000), step)
    if not keep(visit, batch, form, body, field="text", label="Note"):
        return show_step(visit, batch, step, forms={"note": form}, status=422)
    return visit.go(step_address(batch, step), said="saved")


@router.post(f"{_STEP}/addition")
def add(visit: Visiting, batch: str, step: str, sent: Annotated[AdditionForm, Form()]) -> Response:
    """Record that an ingredient of the plan went in."""
    visit = typed_in(visit, sent)
    form = form_of(sent)
    planned = _planned(visit, batch, step)
    name = form.text("ingredient", "Ingredient", required=True)
    if name and name not in planned:
        form.fault("ingredient", f"one of {', '.join(planned)}", "Or write a note.", "Ingredient")
    mass = amount(
        form, "weight", "Weight", dimension="mass",
        unit=unit_beside("grams", visit.preferences.units), required=True,
    )  # fmt: skip
    supply = form.text("supply", "Purchase or harvest")
    if form.good and mass is not None:
        one = planned[name]
        body = AdditionMade(
            step, name, mass, one.entry_point, one.form or "", supply, sent.weight.strip()
        )
        keep(visit, batch, form, body, field="weight", label="Weight")
    if not form.good:
        return show_step(visit, batch, step, forms={"addition": form}, status=422)
    return visit.go(step_address(batch, step), said="saved")


def _planned(visit: Visiting, batch: str, step: str) -> dict[str, Addition]:
    found = getattr(frame_of(visit, batch, step).parameters, "additions", ())
    if not isinstance(found, tuple) or not found:
        raise NotFoundError("step that takes ingredients", step)
    return {one.ingredient.name: one for one in found}
