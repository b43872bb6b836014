# SPDX-License-Identifier: MIT
"""A dilution: water by weight and by volume at its real temperature, in stages, with a warning."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Form
from starlette.responses import Response

from middlecut.app.lot_doubts import water_doubts
from middlecut.app.spirit_events import WaterAdded
from middlecut.app.views.dilution import DilutionView, dilution_view, spirit_in_hand
from middlecut.app.views.frame import StepFrame
from middlecut.app.views.lots import true_strength
from middlecut.errors import NotFoundError
from middlecut.steps.parameters import Dilute
from middlecut.units import System, format_quantity, parse_strength
from middlecut.web.bench import (
    Sending,
    amount,
    ask_ready,
    asked_of,
    form_of,
    keep,
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
_MOST_STAGES = 20
_CLOUD_WORDS = {
    "clear": "stays clear",
    "may cloud": "may cloud",
    "will cloud": "will cloud",
}


class WaterForm(Sending):
    """Water that went in."""

    water: str = ""
    water_temperature: str = ""
    water_unit: str = "kilos"
    """Kind of unit that stood beside the field: that of the table of stages, or kilos."""


def context_of(visit: Visit, frame: StepFrame) -> tuple[str, dict[str, Any]]:
    """Return the template of a dilution and what it needs."""
    known = spirit_in_hand(frame)
    form = _asked(visit, frame)
    view = _worked_out(frame, form, visit.preferences.units)
    warmth = "" if view is None else form.values["water_temperature"]
    scale = _scale_of(view, visit.preferences.units)
    return "step/dilute.html", {
        "known": known,
        "view": view,
        "cloud_words": _CLOUD_WORDS,
        "status": 200 if form.good else 422,
        "forms": {
            "water": FormState({"water_temperature": warmth, "water_unit": scale}),
            "ask": form,
        },
    }


def _scale_of(view: DilutionView | None, system: System) -> str:
    """Return the kind of unit in which the table of stages gives its water."""
    if view is None:
        return "grams"
    stages = [one for one in view.stages if not one.done] or view.stages
    shown = format_quantity(stages[0].mass, "mass", system=system, digits=4)
    return "grams" if shown.endswith((" g", " oz")) else "kilos"


def _asked(visit: Visit, frame: StepFrame) -> FormState:
    """Return what is asked for; the plan and what was measured stand in for what is not."""
    parameters = frame.parameters
    if not isinstance(parameters, Dilute):
        raise NotFoundError("dilution", frame.id)
    lot = spirit_in_hand(frame).lot
    system = visit.preferences.units
    usual = {
        "volume": format_quantity(lot.volume, "volume", system=system, digits=4),
        "strength": format_quantity(lot.strength, "strength", digits=2),
        "temperature": format_quantity(293.15, "temperature", system=system),
        "target": format_quantity(parameters.strength, "strength", digits=2),
        "water_temperature": format_quantity(
            parameters.water_temperature, "temperature", system=system
        ),
        "additions": str(parameters.additions),
    }
    return asked_of(visit, usual)


def _worked_out(frame: StepFrame, form: FormState, system: System) -> DilutionView | None:
    warm = unit_beside("temperature", system)

    def need(name: str, label: str, dimension: str, unit: str) -> float:
        found = amount(form, name, label, dimension=dimension, unit=unit, required=True)
        return 0.0 if found is None else found

    volume = need("volume", "Volume", "volume", unit_beside("vessel", system))
    temperature = need("temperature", "Temperature", "temperature", warm)
    target = need("target", "Wanted strength", "strength", "%vol")
    cold = need("water_temperature", "Temperature of the water", "temperature", warm)
    stages = need("additions", "Stages", "count", "")
    if not (stages.is_integer() and 1 <= stages <= _MOST_STAGES) and "additions" not in form.errors:
        form.fault("additions", f"a whole number, 1 to {_MOST_STAGES}", "3 is usual.", "Stages")
    strength = None
    if form.good:
        strength = form.tried("strength", "Strength", lambda: _strength(form, temperature))
    if strength is None:
        return None
    true = strength
    return form.tried(
        "target",
        "Wanted strength",
        lambda: dilution_view(
            frame,
            volume=volume,
            strength=true,
            temperature=temperature,
            target=target,
            water_temperature=cold,
            additions=int(stages),
        ),
    )


def _strength(form: FormState, temperature: float) -> float:
    """Return the strength at 20 °C behind the one read at the spirit's temperature."""
    typed = with_unit(form.text("strength", "Strength"), "%vol")
    found = parse_strength(typed, field="Strength")
    proof = found.kind == "proof_60F"
    value = found.value / 200.0 if proof else found.value
    return true_strength(value, temperature, proof_scale=proof)


@router.post("/batch/{batch}/step/{step}/water")
def pour(visit: Visiting, batch: str, step: str, sent: Annotated[WaterForm, Form()]) -> Response:
    """Record water that went in, as weighed."""
    visit = typed_in(visit, sent)
    form = form_of(sent)
    frame = frame_of(visit, batch, step)
    if not isinstance(frame.parameters, Dilute):
        raise NotFoundError("dilution", step)
    ask_ready(visit, frame, form)
    system = visit.preferences.units
    scale = "grams" if sent.water_unit == "grams" else "kilos"
    mass = amount(
        form, "water", "Water", dimension="mass", unit=unit_beside(scale, system), required=True
    )
    warmth = amount(
        form,
        "water_temperature",
        "Temperature of the water",
        dimension="temperature",
        unit=unit_beside("temperature", system),
    )
    if form.good and mass is not None:
        lot = next(iter(frame.result.used))
        body = WaterAdded(step, mass, warmth, lot, sent.water.strip()[:200])
        view = _worked_out(frame, _asked(visit, frame), system)
        doubts = () if view is None else water_doubts(view, mass, system=system)
        keep(visit, batch, form, body, field="water", label="Water", doubts=doubts)
    if not form.good:
        return show_step(visit, batch, step, forms={"water": form}, status=422)
    return visit.go(step_address(batch, step), said="saved")
