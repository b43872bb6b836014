# SPDX-License-Identifier: MIT
"""From a tasting to its likely causes and remedies, and on to a new plan."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query
from starlette.responses import Response

from middlecut.app.batch import Batch
from middlecut.app.batch_events import NoteWritten
from middlecut.app.batch_names import free_name
from middlecut.app.use_cases import note, open_batch
from middlecut.app.views.causes import (
    causes_of,
    lot_of_subject,
    mended_plan,
    plan_mark,
    unwanted_first,
)
from middlecut.app.views.fits import fits_of
from middlecut.app.views.tastings import panels
from middlecut.errors import ConflictError, InputError, NotFoundError, PlanError, Problem
from middlecut.insight.diagnosis import Diagnosis, Remedy
from middlecut.insight.diagnosis_words import in_short, verdict_words, whence
from middlecut.web.forms import FormState
from middlecut.web.sent import Sent, SentForm
from middlecut.web.visit import Visit, Visiting

__all__ = ["router"]

router = APIRouter()

Word = Annotated[list[str] | None, Query(max_length=60)]


@router.get("/batch/{batch}/tasting/causes")
def show(
    visit: Visiting,
    batch: str,
    *,
    subject: Annotated[str, Query(max_length=200)] = "",
    code: Annotated[str, Query(max_length=40)] = "",
    word: Word = None,
) -> Response:
    """Ask which words should be otherwise, and show what they lead to."""
    state = visit.record.batch(batch)
    return _page(visit, state, FormState({"subject": subject, "code": code}), chosen=word)


@router.post("/batch/{batch}/tasting/causes")
def make_plan(visit: Visiting, batch: str, sent: SentForm) -> Response:
    """Open a new batch whose plan carries the chosen remedies."""
    state = visit.record.batch(batch)
    form = FormState({**sent.values, "remedy": " ".join(sent.all("remedy"))})
    chosen = list(sent.all("word"))
    name = form.text("name", "Name of the new batch", required=True)
    if _text(state) and sent.get("mark") != plan_mark(_text(state)):
        form.fault(
            "remedy",
            "the plan was changed since this page was made",
            "The remedies below are those of the plan that holds now; choose again.",
            "Remedy",
        )
        return _page(visit, state, form, chosen=chosen, status=409)
    remedies = _remedies(visit, state, form, sent)
    text = None
    if form.good:
        text = form.tried("remedy", "Remedy", lambda: _mended(state, remedies, name))
    if not form.good or text is None:
        return _page(visit, state, form, chosen=chosen, status=422)
    if isinstance(text, tuple):
        return _page(visit, state, form, chosen=chosen, problems=text, status=422)
    new = form.tried("name", "Name", lambda: _open(visit, state, sent, text, remedies))
    if new is None:
        return _page(visit, state, form, chosen=chosen, status=409)
    return visit.go(f"/batch/{new}/plan", said="mended")


def _open(visit: Visit, state: Batch, sent: Sent, text: str, remedies: tuple[Remedy, ...]) -> str:
    key = sent.get("entry_key") or visit.record.ids.new()
    origin = f"after tasting {sent.get('subject') or 'batch'} of {state.name}"[:200]
    name, entry = free_name(visit.record, sent.get("name")), visit.entry(key)
    new = open_batch(visit.record, text, name=name, origin=origin, made_from=state.id, entry=entry)
    words = " ".join(one.title for one in remedies)
    body = NoteWritten(f"Made {origin}. {words}")
    note(visit.record, new, body, entry=visit.entry(f"{key}-why"))
    return new


def _mended(state: Batch, remedies: tuple[Remedy, ...], name: str) -> str | tuple[Problem, ...]:
    try:
        return mended_plan(_text(state), remedies, name)
    except PlanError as error:
        return error.problems


def _remedies(visit: Visit, state: Batch, form: FormState, sent: Sent) -> tuple[Remedy, ...]:
    """Return the remedies that were chosen by number."""
    diagnosis = form.tried(
        "remedy", "Remedy", lambda: _diagnosis(visit, state, form, list(sent.all("word")))
    )
    known = {str(one.number): one for one in diagnosis.remedies} if diagnosis else {}
    wanted = tuple(dict.fromkeys(sent.all("remedy")))
    for number in wanted:
        if number not in known:
            form.fault("remedy", f"there is no remedy {number[:10]}", "Choose again.", "Remedy")
    if diagnosis is not None and not wanted:
        form.fault("remedy", "no remedy is ticked", "Tick at least one above the button.", "Remedy")
    return tuple(known[number] for number in wanted if number in known)


def _found(state: Batch, form: FormState) -> dict[str, float]:
    """Return what was found in the glass the page is about."""
    subject, code = form.values.get("subject", ""), form.values.get("code", "")
    for view in panels(state):
        if view.subject == subject and code in {"", view.code}:
            return view.found
    raise NotFoundError("tasting of", subject or "this batch")


def _diagnosis(visit: Visit, state: Batch, form: FormState, words: list[str]) -> Diagnosis:
    found = _found(state, form)
    strange = [word for word in words if word not in found]
    if strange:
        raise InputError("word", strange[0], "it was not found in this glass", "Choose again.")
    wanted = {word: found[word] for word in words}
    fits = fits_of(visit.record, state)
    return causes_of(state, wanted, form.values.get("subject", ""), fits)


def _text(state: Batch) -> str:
    return "" if state.plan is None else state.plan.text


def _page(
    visit: Visit,
    state: Batch,
    form: FormState,
    *,
    chosen: list[str] | None,
    problems: tuple[Problem, ...] = (),
    status: int = 200,
) -> Response:
    found = unwanted_first(_found(state, form))
    words = [word for word, _, faulty in found if faulty] if chosen is None else chosen
    diagnosis = None
    if chosen is not None:
        try:
            diagnosis = _diagnosis(visit, state, form, words)
        except PlanError as error:
            problems = error.problems
        except (InputError, ConflictError) as error:
            form.fault("word", str(error).rstrip("."), "", "Words")
            status = max(status, 422)
    subject = form.values.get("subject", "")
    form.values = {"name": f"{state.name}, mended", **form.values}
    context: dict[str, Any] = {
        "form": form,
        "found": found,
        "words": words,
        "diagnosis": diagnosis,
        "short": in_short(diagnosis, system=visit.preferences.units) if diagnosis else (),
        "verdict": verdict_words,
        "whence": whence,
        "problems": problems,
        "subject": subject,
        "code": form.values.get("code", ""),
        "lot": lot_of_subject(state, subject),
        "fits": fits_of(visit.record, state),
        "mark": plan_mark(_text(state)),
        "picked": set(form.values.get("remedy", "").split()),
    }
    if visit.fragment and status == 200:
        return visit.page("tasting/found.html", batch=state, **context)
    return visit.batch_page(state, "tasting/causes.html", status, **context)
