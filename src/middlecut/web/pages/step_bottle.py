# SPDX-License-Identifier: MIT
"""A bottling: how many, whether the label tells the truth, under which lot number."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Form
from starlette.responses import Response

from middlecut.app.lot_doubts import bottle_doubts
from middlecut.app.spirit_events import BottlesFilled
from middlecut.app.views.bottling import bottle_view, check_label
from middlecut.app.views.frame import StepFrame
from middlecut.app.views.lots import true_strength
from middlecut.errors import NotFoundError
from middlecut.units import format_quantity
from middlecut.web.advice import bare_litres
from middlecut.web.bench import (
    Sending,
    amount,
    ask_ready,
    form_of,
    keep,
    reading,
    step_address,
    typed_in,
    unit_beside,
)
from middlecut.web.forms import FormState
from middlecut.web.step_pages import frame_of, show_step
from middlecut.web.visit import Visit, Visiting

__all__ = ["context_of", "router"]

router = APIRouter()


class BottlesForm(Sending):
    """Bottles that were filled."""

    count: str = ""
    bottle_volume: str = ""
    strength: str = ""
    temperature: str = ""
    lot_number: str = ""


def context_of(visit: Visit, frame: StepFrame) -> tuple[str, dict[str, Any]]:
    """Return the template of a bottling and what it needs."""
    view = bottle_view(frame, visit.preferences.local(visit.now))
    system = visit.preferences.units
    bottles = FormState(
        {
            "bottle_volume": format_quantity(view.step.bottle_volume, "volume", system=system),
            "lot_number": view.number,
        }
    )
    return "step/bottle.html", {"view": view, "forms": {"bottles": bottles}}


@router.post("/batch/{batch}/step/{step}/bottles")
def fill(visit: Visiting, batch: str, step: str, sent: Annotated[BottlesForm, Form()]) -> Response:
    """Record bottles that were filled, with the strength in them."""
    visit = typed_in(visit, sent)
    form = form_of(sent)
    frame = frame_of(visit, batch, step)
    if frame.kind != "bottle":
        raise NotFoundError("bottling", step)
    ask_ready(visit, frame, form)
    system = visit.preferences.units
    count = amount(form, "count", "Bottles", dimension="count", unit="", required=True)
    if count is not None and not count.is_integer():
        form.fault("count", "a whole number of bottles", "Count the full ones.", "Bottles")
    volume = amount(
        form, "bottle_volume", "Size of a bottle", dimension="volume",
        unit=unit_beside("jar", system), required=True,
    )  # fmt: skip
    remedy = "" if volume is None else bare_litres(
        sent.bottle_volume, volume, least=1.0e-5, most=0.1
    )  # fmt: skip
    if remedy:
        form.fault("bottle_volume", "10 mL to 100 L", remedy, "Size of a bottle")
    read = reading(
        form, "strength", step=step, quantity="strength", label="Strength", unit="%vol",
        temperature="temperature", temperature_unit=unit_beside("temperature", system),
        required=True,
    )  # fmt: skip
    number = form.text("lot_number", "Lot number")
    strength = None
    if read is not None:
        strength = form.tried(
            "strength", "Strength",
            lambda: true_strength(
                read.value, read.temperature, proof_scale=read.reference == "60F"
            ),
        )  # fmt: skip
    if form.good and count is not None and volume is not None and strength is not None:
        body = BottlesFilled(step, int(count), volume, strength, number)
        view = bottle_view(frame, visit.preferences.local(visit.now))
        doubts = bottle_doubts(view, check_label(frame, strength), body, system=system)
        keep(visit, batch, form, body, field="count", label="Bottles", doubts=doubts)
    if not form.good:
        return show_step(visit, batch, step, forms={"bottles": form}, status=422)
    return visit.go(step_address(batch, step), said="saved")
