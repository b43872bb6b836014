# SPDX-License-Identifier: MIT
"""What was measured of a lot that a step takes or makes: how much there is, and how strong."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated

from fastapi import APIRouter, Form
from starlette.responses import Response

from middlecut.app.batch_events import ReadingTaken
from middlecut.app.events import Body
from middlecut.app.quantities import check_value
from middlecut.web.bench import (
    Sending,
    amount,
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

__all__ = ["router"]

router = APIRouter()


class LotForm(Sending):
    """A lot that was measured."""

    lot: str = ""
    volume: str = ""
    strength: str = ""
    temperature: str = ""
    form: str = ""
    """Which form of the page it was."""


@router.post("/batch/{batch}/step/{step}/lot")
def measure(visit: Visiting, batch: str, step: str, sent: Annotated[LotForm, Form()]) -> Response:
    """Record what was measured of a lot: of what the step takes, the part it takes."""
    visit = typed_in(visit, sent)
    form = form_of(sent)
    frame = frame_of(visit, batch, step)
    known = (*frame.result.used, *frame.result.made)
    if sent.lot not in known:
        form.fault("lot", f"one of {', '.join(known)}", "Choose it from the list.", "Lot")
    bodies = _readings(visit, form, step, sent.lot)
    if form.good and not bodies:
        form.fault("volume", "a volume, a strength or both", "Type what you measured.", "Volume")
    if form.good:
        keep(visit, batch, form, *bodies, field="volume", label="Volume")
    if not form.good:
        name = "ask" if sent.form == "ask" and frame.kind == "dilute" else "lot"
        return show_step(visit, batch, step, forms={name: form}, status=422)
    return visit.go(step_address(batch, step), said="saved")


def _readings(visit: Visit, form: FormState, step: str, lot: str) -> list[Body]:
    """Return the volume and the strength, each at the temperature of the liquid."""
    system = visit.preferences.units
    warm = unit_beside("temperature", system)
    found: list[Body] = []
    warmth = amount(form, "temperature", "Temperature", dimension="temperature", unit=warm)
    volume = amount(
        form, "volume", "Volume", dimension="volume", unit=unit_beside("vessel", system)
    )
    if form.good and volume is not None:
        form.tried("volume", "Volume", lambda: check_value("volume", volume, warmth))
        typed = form.values["volume"].strip()[:200]
        found.append(ReadingTaken(step, "volume", volume, warmth, lot=lot, as_entered=typed))
    strength = reading(
        form, "strength", step=step, quantity="strength", label="Strength", unit="%vol",
        temperature="temperature", temperature_unit=warm,
    )  # fmt: skip
    if strength is not None:
        found.append(replace(strength, lot=lot))
    return found
