# SPDX-License-Identifier: MIT
"""The plan of a batch: its text with a live check, and a form for the common things."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Form
from starlette.requests import Request
from starlette.responses import Response

from middlecut.app.batch import Batch
from middlecut.app.expectation import expect_sheet, find_problems
from middlecut.app.plan_form import common_values, with_values
from middlecut.app.use_cases import adopt_plan
from middlecut.errors import ConflictError, InputError, NotFoundError, PlanError, Problem
from middlecut.web.forms import FormState, allowed_by, plain_text
from middlecut.web.menu import MenuEntry
from middlecut.web.visit import Visit, Visiting

__all__ = ["BATCH_MENU", "router"]

BATCH_MENU = MenuEntry(80, "Plan", "/batch/{batch}/plan")
router = APIRouter()


@router.post("/plan/check")
def check(visit: Visiting, plan_text: Annotated[str, Form()] = "") -> Response:
    """Say all that is wrong with a text, or what it would come to; nothing is kept."""
    text = plain_text(plan_text)
    if not text.strip():
        return visit.page("plan/check.html", problems=(), sheet=None)
    text, problems = _checked(visit, text)
    sheet = None if problems else expect_sheet(text)
    return visit.page("plan/check.html", problems=problems, sheet=sheet)


@router.get("/batch/{batch}/plan")
def show(visit: Visiting, batch: str) -> Response:
    """Show the text of the plan that holds."""
    state = visit.record.batch(batch)
    return _page(visit, state, _form_of(state, _plan_text(state)))


@router.post("/batch/{batch}/plan")
def adopt(
    visit: Visiting,
    batch: str,
    *,
    plan_text: Annotated[str, Form()] = "",
    reason: Annotated[str, Form()] = "",
    seen: Annotated[str, Form()] = "",
    entry_key: Annotated[str, Form()] = "",
) -> Response:
    """Let the text hold from now on, unless somebody else changed the plan first."""
    form = FormState(
        {
            "plan_text": plain_text(plan_text),
            "reason": reason,
            "seen": seen,
            "entry_key": entry_key,
        }
    )
    return _adopt(visit, batch, form)


@router.get("/batch/{batch}/plan/form")
def show_form(visit: Visiting, batch: str) -> Response:
    """Show the common things of the plan as fields."""
    state = visit.record.batch(batch)
    return _fields_page(visit, state, FormState({"seen": str(state.version)}))


async def _sent(request: Request) -> dict[str, str]:
    """Return the fields of a form whose names depend on the plan."""
    return {name: value for name, value in (await request.form()).items() if isinstance(value, str)}


@router.post("/batch/{batch}/plan/form")
def adopt_form(
    visit: Visiting, batch: str, sent: Annotated[dict[str, str], Depends(_sent)]
) -> Response:
    """Put the fields into the plan's text and let it hold."""
    state = visit.record.batch(batch)
    form = FormState(sent)
    try:
        text = with_values(_plan_text(state), sent)
    except InputError as error:
        form.fault(error.field, error.allowed, error.remedy)
        return _fields_page(visit, state, form, status=422)
    text, problems = _checked(visit, text)
    if problems:
        _beside_fields(form, problems, text)
        return _fields_page(visit, state, form, problems=problems, status=422)
    form.values = {**sent, "plan_text": text}
    return _adopt(visit, batch, form)


def _adopt(visit: Visit, batch: str, form: FormState) -> Response:
    state = visit.record.batch(batch)
    text = form.values["plan_text"]
    if text == _plan_text(state):
        return visit.go(f"/batch/{batch}/plan", said="unchanged")
    seen = form.values.get("seen", "")
    known = int(seen) if seen.isascii() and seen.isdigit() and len(seen) < 12 else None
    entry = visit.entry(form.values.get("entry_key", ""))
    try:
        text = visit.services.library.completed(text)
        _refuse_stale(state, known)
        adopt_plan(visit.record, batch, text, reason=form.values.get("reason", ""), entry=entry)
    except PlanError as error:
        return _page(visit, state, form, problems=error.problems, status=422)
    except InputError as error:
        allowed = allowed_by(error, visit.preferences.units)
        form.fault("plan_text", allowed, error.remedy, "Plan")
        return _page(visit, state, form, status=422)
    except ConflictError as error:
        form.values = {**form.values, "seen": str(state.version), "entry_key": ""}
        form.fault("plan_text", str(error), "Both are below; save yours again to let it hold.")
        return _page(visit, state, form, theirs=_plan_text(state), status=409)
    return visit.go(f"/batch/{batch}", said="adopted")


def _checked(visit: Visit, text: str) -> tuple[str, tuple[Problem, ...]]:
    """Return a plan's text with what it uses of the person's library, and all wrong with it."""
    try:
        text = visit.services.library.completed(text)
    except PlanError as error:
        return text, error.problems
    return text, find_problems(text)


def _refuse_stale(state: Batch, seen: int | None) -> None:
    """Refuse if another plan came in between; readings may come in while one is edited."""
    if seen is not None and any(
        entry.event.version > seen and entry.event.type == "plan.adopted"
        for entry in state.entries.values()
    ):
        raise ConflictError("Somebody else changed the plan while you were editing it.")


def _plan_text(state: Batch) -> str:
    if state.plan is None:
        raise NotFoundError("plan of the batch", state.id)
    return state.plan.text


def _form_of(state: Batch, text: str) -> FormState:
    return FormState({"plan_text": text, "reason": "", "seen": str(state.version)})


def _beside_fields(form: FormState, problems: tuple[Problem, ...], text: str) -> None:
    labels = {one.key: f"{one.group}, {one.label}" for one in common_values(text)}
    for problem in problems:
        if problem.key in labels:
            form.fault(problem.key, problem.message, problem.remedy, labels[problem.key])


def _page(
    visit: Visit,
    state: Batch,
    form: FormState,
    *,
    problems: tuple[Problem, ...] = (),
    theirs: str | None = None,
    status: int = 200,
) -> Response:
    return visit.batch_page(
        state, "plan/plan.html", status, form=form, problems=problems, theirs=theirs
    )


def _fields_page(
    visit: Visit,
    state: Batch,
    form: FormState,
    *,
    problems: tuple[Problem, ...] = (),
    status: int = 200,
) -> Response:
    values = common_values(_plan_text(state))
    typed = {one.key: form.values.get(one.key, one.value) for one in values}
    shown = FormState({**form.values, **typed}, form.errors)
    groups: dict[str, list[tuple[str, str]]] = {}
    for one in values:
        groups.setdefault(one.group, []).append((one.key, one.label))
    return visit.batch_page(
        state, "plan/form.html", status, form=shown, groups=groups, problems=problems
    )
