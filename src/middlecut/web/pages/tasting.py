# SPDX-License-Identifier: MIT
"""Tasting: what people find in a glass, in words that are quick to tap, blind if wanted."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import Annotated

from fastapi import APIRouter, Query
from starlette.responses import Response

from middlecut.app.batch import Batch
from middlecut.app.expectation import expect
from middlecut.app.use_cases import note
from middlecut.app.views.fits import fits_of
from middlecut.app.views.tastings import (
    Glass,
    body_of,
    glass_of_code,
    glasses,
    panels,
    poured,
    suggested_words,
)
from middlecut.errors import InputError, PlanError
from middlecut.insight.tasting import PHASES, Tasting, read_found
from middlecut.insight.vocabulary import descriptors
from middlecut.plan.prediction import Prediction
from middlecut.web.forms import FormState
from middlecut.web.menu import MenuEntry
from middlecut.web.sent import SentForm
from middlecut.web.visit import Visit, Visiting

__all__ = ["BATCH_MENU", "router"]

BATCH_MENU = MenuEntry(50, "Tasting", "/batch/{batch}/tasting")
router = APIRouter()

_WORDS = {
    "nose": "Smell it before the first sip, and again after a minute.",
    "entry": "The first seconds in the mouth.",
    "middle": "Held in the mouth and breathed out through the nose.",
    "finish": "After it is gone, up to a minute.",
    "empty glass": "Smell the empty glass the next morning.",
}


@dataclass(frozen=True, slots=True)
class _Chip:
    """A word to tap: its field, the word, and what was sent."""

    id: str
    word: str
    on: bool
    strength: str


@dataclass(frozen=True, slots=True)
class _PhaseFields:
    """The fields of a phase."""

    phase: str
    slug: str
    hint: str
    chips: tuple[_Chip, ...]


@router.get("/batch/{batch}/tasting")
def show(
    visit: Visiting, batch: str, glass: Annotated[str, Query(max_length=200)] = ""
) -> Response:
    """Show what was found so far, and the form for one more glass."""
    return _page(visit, visit.record.batch(batch), FormState({"subject": glass}))


@router.post("/batch/{batch}/tasting")
def keep(visit: Visiting, batch: str, sent: SentForm) -> Response:
    """Record a tasting."""
    state = visit.record.batch(batch)
    form = FormState(dict(sent.values))
    subject = _subject(visit, state, form)
    tasting = _tasting(form, subject)
    score = _score(form)
    if form.good and tasting is not None:
        body = body_of(tasting, subject, score=score)
        entry = visit.entry(sent.get("entry_key"))
        form.tried("subject", "Glass", lambda: note(visit.record, batch, body, entry=entry))
    if not form.good:
        return _page(visit, state, form, 422)
    return visit.go(f"/batch/{batch}/tasting", said="tasted")


def _subject(visit: Visit, state: Batch, form: FormState) -> str:
    """Return the glass that was chosen, or the one behind the code."""
    code = form.text("code", "Code on the glass", longest=20)
    chosen = form.text("subject", "Glass")
    if chosen:
        _refuse_glass(form, glasses(state), chosen)
        return chosen
    if not code:
        form.fault("subject", "a glass is needed", "Choose one, or type its code.", "Glass")
        return ""
    today = visit.preferences.local(visit.typed).date()
    days = (today, today - timedelta(days=1))
    found = form.tried("code", "Code", lambda: glass_of_code(state, code, days)) or ""
    if found:
        _refuse_glass(form, glasses(state), found, field="code")
    return found


def _refuse_glass(
    form: FormState, known: tuple[Glass, ...], subject: str, field: str = "subject"
) -> None:
    """Name in the form why a glass is not one to taste, if it is not."""
    glass = next((one for one in known if one.subject == subject), None)
    if glass is None:
        form.fault("subject", "this batch has no such glass", "Choose one of the list.")
    elif glass.taken == "neither":
        why = f"{subject} is nothing to taste: foreshots hold what is poisonous, and what stays in "
        form.fault(field, f"{why}the boiler is waste", "Choose another glass.", "Glass")
    elif not glass.made:
        why = f"the record has no {subject} yet: step {glass.step}, which makes it, was not started"
        form.fault(field, why, "Start that step first, with its true time.", "Glass")
    elif glass.taken == "smelled":
        for phase in PHASES:
            if phase not in _SMELLED and _says(form, _slug(phase)):
                why = f"{subject} is only smelled, never tasted"
                form.fault(f"more-{_slug(phase)}", why, "Write it under Nose.", phase.capitalize())


_SMELLED = ("nose", "empty glass")
"""Phases in which nothing is drunk."""


def _says(form: FormState, slug: str) -> bool:
    sent = form.values
    typed = any(sent.get(name, "").strip() for name in (f"more-{slug}", f"text-{slug}"))
    return typed or any(name.startswith(f"word-{slug}-") for name in sent)


def _tasting(form: FormState, subject: str) -> Tasting | None:
    phases = {phase: _found(form, phase) for phase in PHASES}
    texts = {
        phase: form.text(f"text-{_slug(phase)}", f"In your words, {phase}", longest=2000)
        for phase in PHASES
    }
    text = form.text("text", "On the whole", longest=10_000)
    taster = form.text("taster", "Who tasted", longest=100)
    if not any(phases.values()) and not any(texts.values()) and not text:
        form.fault("text", "a tasting says something", "Tap a word or write one.", "On the whole")
    if not form.good:
        return None
    code = form.values.get("code", "").strip().upper() or subject
    kept = {phase: found for phase, found in phases.items() if found}
    said = {phase: words for phase, words in texts.items() if words}
    return form.tried(
        "text", "Tasting", lambda: Tasting(code, kept, taster, None, texts=said, text=text)
    )


def _found(form: FormState, phase: str) -> dict[str, float]:
    """Return the words of a phase: those tapped and those typed."""
    slug = _slug(phase)
    field, mark = f"more-{slug}", f"word-{slug}-"
    words = [name.removeprefix(mark) for name in form.values if name.startswith(mark)]
    parts = [f"{word}:{form.values.get(f'strength-{slug}-{word}') or '5'}" for word in words]
    parts.append(form.text(field, f"Other words, {phase}", longest=500))
    both = ", ".join(part for part in parts if part)
    if not both.strip(", "):
        return {}
    return dict(form.tried(field, f"Words, {phase}", lambda: read_found(both)) or {})


def _score(form: FormState) -> float | None:
    text = form.text("score", "Points", longest=10)
    if not text:
        return None

    def read() -> float:
        try:
            value = float(text.replace(",", "."))
        except ValueError:
            value = -1.0
        if not 0.0 <= value <= 100.0:
            raise InputError("score", text, "points go from 0 to 100", "Such as 72.")
        return value

    return form.tried("score", "Points", read)


def _slug(phase: str) -> str:
    return phase.replace(" ", "-")


def _page(visit: Visit, state: Batch, form: FormState, status: int = 200) -> Response:
    there = tuple(one for one in glasses(state) if one.made and one.taken != "neither")
    chosen = form.values.get("subject", "")
    lot = next((one.lot for one in there if one.subject == chosen), "")
    found = panels(state)
    words = suggested_words(
        _prediction(visit, state), lot, [word for one in found for word in one.found]
    )
    return visit.batch_page(
        state,
        "tasting/tasting.html",
        status,
        form=form,
        glasses=there,
        panels=found,
        phases=tuple(_fields(form, phase, words[phase]) for phase in PHASES),
        codes=poured(state, visit.preferences.local(visit.now).date()),
        vocabulary=tuple(one.name for one in descriptors()),
    )


def _prediction(visit: Visit, state: Batch) -> Prediction | None:
    """Return what is expected, or None: a tasting is taken whatever the plan is worth."""
    try:
        fits = fits_of(visit.record, state)
        return None if state.plan is None else expect(state.plan.text, fits)
    except PlanError:
        return None


def _fields(form: FormState, phase: str, words: tuple[str, ...]) -> _PhaseFields:
    slug = _slug(phase)
    chips = tuple(
        _Chip(
            f"{slug}-{number}",
            word,
            f"word-{slug}-{word}" in form.values,
            form.values.get(f"strength-{slug}-{word}", "5"),
        )
        for number, word in enumerate(words)
    )
    return _PhaseFields(phase, slug, _WORDS[phase], chips)
