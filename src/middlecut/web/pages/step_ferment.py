# SPDX-License-Identifier: MIT
"""A fermentation: gravity against its course, when it is done, what has to go in and when."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Form
from starlette.responses import Response

from middlecut.app.views.ferment import FermentView, ferment_view
from middlecut.app.views.frame import StepFrame
from middlecut.errors import NotFoundError
from middlecut.web.bench import Sending, form_of, keep, reading, step_address, typed_in, unit_beside
from middlecut.web.charts import Axis, Chart, Mark, Series
from middlecut.web.forms import FormState
from middlecut.web.step_pages import frame_of, show_step
from middlecut.web.visit import Visit, Visiting

__all__ = ["context_of", "router"]

router = APIRouter()
_INSTRUMENTS = ("hydrometer", "refractometer")


class GravityForm(Sending):
    """A gravity, as read."""

    instrument: str = "hydrometer"
    gravity: str = ""
    temperature: str = ""


def context_of(visit: Visit, frame: StepFrame) -> tuple[str, dict[str, Any]]:
    """Return the template of a fermentation and what it needs."""
    view = ferment_view(frame, visit.now)
    last = next(
        (
            one
            for one in reversed(frame.state.readings(frame.id))
            if one.taken.quantity == "gravity"
        ),
        None,
    )
    warmth = "" if last is None else last.taken.as_entered.partition(" at ")[2]
    return "step/ferment.html", {
        "view": view,
        "chart": _chart(view),
        "last": "" if last is None else last.taken.as_entered.partition(" at ")[0],
        "forms": {"gravity": FormState({"temperature": warmth, "instrument": "hydrometer"})},
    }


@router.post("/batch/{batch}/step/{step}/gravity")
def keep_gravity(
    visit: Visiting, batch: str, step: str, sent: Annotated[GravityForm, Form()]
) -> Response:
    """Record a gravity as the instrument showed it."""
    visit = typed_in(visit, sent)
    form = form_of(sent)
    if frame_of(visit, batch, step).kind != "ferment":
        raise NotFoundError("fermentation", step)
    if sent.instrument not in _INSTRUMENTS:
        form.fault("instrument", "hydrometer or refractometer", "Choose one.", "Instrument")
    if sent.instrument == "refractometer":
        body = reading(
            form, "gravity", step=step, quantity="refraction", label="Refraction", unit="",
            instrument="refractometer", required=True,
        )  # fmt: skip
    else:
        body = reading(
            form, "gravity", step=step, quantity="gravity", label="Gravity", unit="SG",
            temperature="temperature",
            temperature_unit=unit_beside("temperature", visit.preferences.units),
            instrument="hydrometer", required=True,
        )  # fmt: skip
    if body is not None:
        keep(visit, batch, form, body, field="gravity", label="Gravity")
    if not form.good:
        return show_step(visit, batch, step, forms={"gravity": form}, status=422)
    return visit.go(step_address(batch, step), said="saved")


def _chart(view: FermentView) -> Chart:
    marks = [Mark(one.window.typical, one.label) for one in view.milestones]
    if view.elapsed is not None and view.elapsed < view.course[-1].time:
        marks.append(Mark(view.elapsed, "now", happened=True))
    return Chart(
        id="gravity",
        title="Gravity since pitching",
        x=Axis("time", "duration"),
        y=Axis("gravity", "gravity"),
        series=(
            Series(
                "course",
                tuple((one.time, one.gravity) for one in view.course),
                low=tuple(one.low for one in view.course),
                high=tuple(one.high for one in view.course),
            ),
            Series("measured, at 20 °C", view.measured, kind="points"),
        ),
        marks=tuple(marks),
        note=view.basis,
    )
