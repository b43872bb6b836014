# SPDX-License-Identifier: MIT
"""Dose trials: a ladder of glasses, how they tasted, the rate chosen and what the batch gets."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Form
from starlette.responses import Response

from middlecut.app.edits import OVERTAKEN, keep_edit
from middlecut.app.events import Event
from middlecut.app.lot_doubts import glass_doubts
from middlecut.app.spirit_events import DoseChosen, DoseTried
from middlecut.app.views.doses import DoseView, dose_view
from middlecut.app.views.frame import StepFrame
from middlecut.errors import NotFoundError
from middlecut.insight.trials import LARGEST_RATE, Glass, dose_ladder, even_rates
from middlecut.units import format_quantity
from middlecut.web.bench import (
    Sending,
    amount,
    asked_of,
    entry_of,
    form_of,
    keep,
    moment_of,
    seen_of,
    step_address,
    unit_beside,
)
from middlecut.web.forms import FormState
from middlecut.web.step_pages import clash_rows, frame_of, show_step
from middlecut.web.visit import Visit, Visiting

__all__ = ["context_of", "router"]

router = APIRouter()
_STEP = "/batch/{batch}/step/{step}"


class TryForm(Sending):
    """What a glass tasted of."""

    glass: str = ""
    rate: str = ""
    rank: str = ""
    words: str = ""
    text: str = ""


class RateForm(Sending):
    """The rate chosen."""

    rate: str = ""
    reason: str = ""


def context_of(visit: Visit, frame: StepFrame) -> tuple[str, dict[str, Any]]:
    """Return the template of a blend and what it needs."""
    view = dose_view(frame)
    if view is None:
        return "step/plain.html", {}
    form = _asked(visit, view)
    ladder = _ladder(visit, view, form)
    chosen = "" if view.chosen is None else format_quantity(view.chosen.rate, "fraction")
    return "step/dose.html", {
        "view": view,
        "ladder": ladder,
        "status": 200 if form.good else 422,
        "forms": {
            "ladder": form,
            "try": FormState({"glass": ladder[0].glass if ladder else ""}),
            "rate": FormState({"rate": chosen}),
        },
    }


def _asked(visit: Visit, view: DoseView) -> FormState:
    highest = min(1.5 * view.planned_rate, LARGEST_RATE)
    small = "15 mL" if visit.preferences.units == "metric" else "0.5 floz_us"
    usual = {
        "highest": format_quantity(highest, "fraction"),
        "glasses": "5",
        "glass_volume": small,
        "tasting": "",
    }
    return asked_of(visit, usual)


def _ladder(visit: Visit, view: DoseView, form: FormState) -> tuple[Glass, ...]:
    system = visit.preferences.units
    highest = amount(form, "highest", "Strongest dose", dimension="fraction", unit="%",
                     required=True)  # fmt: skip
    glasses = amount(form, "glasses", "Glasses", dimension="count", unit="", required=True)
    volume = amount(
        form, "glass_volume", "Base in a glass", dimension="volume",
        unit=unit_beside("jar", system), required=True,
    )  # fmt: skip
    tasting = amount(form, "tasting", "Strength to taste at", dimension="strength", unit="%vol")
    if highest is None or glasses is None or volume is None or not form.good:
        return ()
    rates = form.tried("highest", "Strongest dose", lambda: even_rates(highest, int(glasses)))
    if rates is None:
        return ()
    return form.tried(
        "tasting", "Ladder",
        lambda: dose_ladder(
            view.base.lot, view.flavour.lot, rates, glass_volume=volume, tasting_strength=tasting
        ),
    ) or ()  # fmt: skip


@router.post(f"{_STEP}/glass")
def taste(visit: Visiting, batch: str, step: str, sent: Annotated[TryForm, Form()]) -> Response:
    """Record what a glass of the ladder tasted of."""
    form = form_of(sent)
    frame = _need_doses(visit, batch, step)
    glass = form.text("glass", "Glass", required=True)
    rate = amount(form, "rate", "Dose", dimension="fraction", unit="%", required=True)
    rank = amount(form, "rank", "Rank", dimension="count", unit="")
    if rank is not None and rank != int(rank):
        form.fault("rank", "a whole number, 1 for the best", "", "Rank")
    words = tuple(part.strip() for part in form.text("words", "Words").split(",") if part.strip())
    text = form.text("text", "Note", longest=20_000)
    if form.good and rate is not None:
        body = DoseTried(step, glass, rate, None if rank is None else int(rank), words, text)
        doubts = glass_doubts(frame, body, shown=moment_of(visit))
        keep(visit, batch, form, body, field="rate", label="Its dose", doubts=doubts)
    if not form.good:
        return show_step(visit, batch, step, forms={"try": form}, status=422)
    return visit.go(step_address(batch, step), said="saved")


@router.post(f"{_STEP}/rate")
def choose(visit: Visiting, batch: str, step: str, sent: Annotated[RateForm, Form()]) -> Response:
    """Record the rate the whole batch gets."""
    form = form_of(sent)
    _need_doses(visit, batch, step)
    rate = amount(form, "rate", "Dose", dimension="fraction", unit="%", required=True)
    reason = form.text("reason", "Why", longest=2000)
    how = entry_of(visit, form)
    later: tuple[Event, ...] = ()
    if form.good and rate is not None:
        body = DoseChosen(step, rate, reason)
        later = form.tried(
            "rate", "Dose",
            lambda: keep_edit(
                visit.record, batch, body,
                same=lambda other: isinstance(other, DoseChosen) and other.step == step,
                seen=seen_of(form), entry=how,
            ),
        ) or ()  # fmt: skip
    if later:
        rows = clash_rows(visit.record.batch(batch), later)
        return show_step(
            visit, batch, step, forms={"rate": form}, status=409, clash=rows, about=OVERTAKEN
        )
    if not form.good:
        return show_step(visit, batch, step, forms={"rate": form}, status=422)
    return visit.go(step_address(batch, step), said="saved")


def _need_doses(visit: Visit, batch: str, step: str) -> StepFrame:
    frame = frame_of(visit, batch, step)
    if dose_view(frame) is None:
        raise NotFoundError("dose of one lot to another in", step)
    return frame
