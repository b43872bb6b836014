# SPDX-License-Identifier: MIT
"""A lot on wood: samples and dates, and a jar that tasted right scaled to the batch."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Form
from starlette.responses import Response

from middlecut.app.spirit_events import WoodSampled
from middlecut.app.views.frame import StepFrame
from middlecut.app.views.lots import true_strength
from middlecut.app.views.wood import WoodView, wood_view
from middlecut.errors import NotFoundError
from middlecut.steps.wood_sample import JarSample, ScaledSample, scale_sample
from middlecut.units import System, dimension_of, format_quantity
from middlecut.web.bench import (
    Sending,
    amount,
    asked_of,
    form_of,
    keep,
    reading,
    step_address,
    typed_in,
    unit_beside,
    with_unit,
)
from middlecut.web.forms import FormState
from middlecut.web.step_pages import frame_of, show_step
from middlecut.web.visit import Visit, Visiting

__all__ = ["context_of", "router"]

router = APIRouter()
_PIECES = ("staves", "cubes", "chips", "shavings")
_ONTO = ("cask", *_PIECES)


class SampleForm(Sending):
    """A sample that was looked at."""

    sample: str = ""
    volume: str = ""
    wood: str = ""
    age: str = ""
    strength: str = ""
    temperature: str = ""
    words: str = ""
    colour: str = ""
    text: str = ""


def context_of(visit: Visit, frame: StepFrame) -> tuple[str, dict[str, Any]]:
    """Return the template of a lot on wood and what it needs."""
    view = wood_view(frame, visit.now)
    form = _asked(visit, view)
    scaled = _scaled(visit, form) if visit.request.query_params.get("ask") == "scale" else None
    return "step/wood.html", {
        "view": view,
        "scaled": scaled,
        "pieces": _PIECES,
        "onto": _ONTO,
        "status": 200 if form.good else 422,
        "forms": {
            "sample": FormState({"sample": "cask" if view.step.form == "cask" else "batch"}),
            "scale": form,
        },
    }


def _asked(visit: Visit, view: WoodView) -> FormState:
    system = visit.preferences.units
    cask = view.step.cask_volume
    usual = {
        "jar_volume": "",
        "jar_wood": "",
        "jar_form": "chips",
        "jar_time": "",
        "jar_temperature": "",
        "batch_volume": format_quantity(view.lot.lot.volume, "volume", system=system),
        "onto": view.step.form,
        "cask": "" if cask is None else format_quantity(cask, "volume", system=system),
        "batch_temperature": "",
    }
    return asked_of(visit, usual)


def _scaled(visit: Visit, form: FormState) -> ScaledSample | None:
    system = visit.preferences.units
    warm = unit_beside("temperature", system)
    vessel = unit_beside("vessel", system)
    volume = amount(
        form, "jar_volume", "Spirit in the jar", dimension="volume",
        unit=unit_beside("jar", system), required=True,
    )  # fmt: skip
    mass, area = _wood_of(form, "jar_wood", unit_beside("grams", system), required=True)
    time = amount(form, "jar_time", "Time", dimension="duration", unit="d", required=True)
    warmth = amount(form, "jar_temperature", "Temperature of the jar", dimension="temperature",
                    unit=warm)  # fmt: skip
    batch = amount(form, "batch_volume", "Batch", dimension="volume", unit=vessel, required=True)
    cask = amount(form, "cask", "Cask", dimension="volume", unit=vessel)
    there = amount(form, "batch_temperature", "Temperature of the batch", dimension="temperature",
                   unit=warm)  # fmt: skip
    if form.values["jar_form"] not in _PIECES:
        form.fault("jar_form", f"one of {', '.join(_PIECES)}", "", "Wood in the jar")
    if form.values["onto"] not in _ONTO:
        form.fault("onto", f"one of {', '.join(_ONTO)}", "", "Wood for the batch")
    if volume is None or time is None or batch is None or not form.good:
        return None
    jar = JarSample(
        volume=volume, form=form.values["jar_form"], duration=time, mass=mass, area=area,
        temperature=293.15 if warmth is None else warmth,
    )  # fmt: skip
    onto = form.values["onto"]
    return form.tried(
        "jar_wood",
        "Sample",
        lambda: scale_sample(
            jar, batch, form=onto, cask_volume=cask if onto == "cask" else None, temperature=there
        ),
    )


def _wood_of(
    form: FormState, name: str, unit: str, *, required: bool = False
) -> tuple[float | None, float | None]:
    """Return wood as typed: by weight, or by its surface where the unit is one of area."""
    typed = with_unit(form.values.get(name, ""), unit)
    by_area = "area" in dimension_of(typed.lstrip("0123456789.,+- "))
    found = amount(
        form, name, "Wood", dimension="area" if by_area else "mass", unit=unit, required=required
    )
    return (None, found) if by_area else (found, None)


def _strength(form: FormState, step: str, system: System) -> float | None:
    """Return the strength of a sample at 20 °C, behind the one read at its temperature."""
    read = reading(
        form, "strength", step=step, quantity="strength", label="Its strength", unit="%vol",
        temperature="temperature", temperature_unit=unit_beside("temperature", system),
    )  # fmt: skip
    if read is None:
        return None
    return form.tried(
        "strength", "Its strength",
        lambda: true_strength(read.value, read.temperature, proof_scale=read.reference == "60F"),
    )  # fmt: skip


@router.post("/batch/{batch}/step/{step}/sample")
def look(visit: Visiting, batch: str, step: str, sent: Annotated[SampleForm, Form()]) -> Response:
    """Record how a sample looks, smells and tastes."""
    visit = typed_in(visit, sent)
    form = form_of(sent)
    if frame_of(visit, batch, step).kind != "wood":
        raise NotFoundError("wood step", step)
    system = visit.preferences.units
    name = form.text("sample", "Sample", required=True)
    volume = amount(form, "volume", "Spirit in it", dimension="volume",
                    unit=unit_beside("jar", system))  # fmt: skip
    mass, area = _wood_of(form, "wood", unit_beside("grams", system))
    age = amount(form, "age", "Time on wood", dimension="duration", unit="d")
    words = tuple(part.strip() for part in form.text("words", "Words").split(",") if part.strip())
    colour = form.text("colour", "Colour")
    text = form.text("text", "Note", longest=20_000)
    strength = _strength(form, step, system)
    if form.good:
        body = WoodSampled(step, name, volume, mass, area, age, words, colour, text, strength)
        keep(visit, batch, form, body, field="sample", label="Sample")
    if not form.good:
        return show_step(visit, batch, step, forms={"sample": form}, status=422)
    return visit.go(step_address(batch, step), said="saved")
