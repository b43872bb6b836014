# SPDX-License-Identifier: MIT
"""The record of one batch: what was done, what was put right, a note more, an entry less."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Query
from starlette.responses import Response

from middlecut.app.batch import Batch
from middlecut.app.batch_events import BatchOpened, NoteWritten
from middlecut.app.use_cases import note, withdraw
from middlecut.app.views.history import HistoryRow, batch_history
from middlecut.errors import ConflictError, InputError, NotFoundError
from middlecut.web.forms import FormState
from middlecut.web.menu import MenuEntry
from middlecut.web.visit import Visit, Visiting

__all__ = ["BATCH_MENU", "router"]

BATCH_MENU = MenuEntry(90, "Entries", "/batch/{batch}/record")
router = APIRouter()


@router.get("/batch/{batch}/record")
def show(
    visit: Visiting,
    batch: str,
    undo: Annotated[str, Query(max_length=80, alias="withdraw")] = "",
) -> Response:
    """Show every event of the batch; with ``withdraw`` ask first whether one is meant."""
    state = visit.record.batch(batch)
    return _page(visit, state, FormState({"target": undo}))


@router.post("/batch/{batch}/record/note")
def write_note(
    visit: Visiting,
    batch: str,
    *,
    text: Annotated[str, Form()] = "",
    step: Annotated[str, Form()] = "",
    entry_key: Annotated[str, Form()] = "",
) -> Response:
    """Write a note to the batch or to one of its steps."""
    state = visit.record.batch(batch)
    form = FormState({"text": text, "step": step, "entry_key": entry_key, "target": ""})
    words = form.text("text", "Note", required=True, longest=10_000)
    if form.good:
        body = NoteWritten(words.replace("\r\n", "\n"), step or None)
        entry = visit.entry(entry_key)
        form.tried("text", "Note", lambda: note(visit.record, batch, body, entry=entry))
    if not form.good:
        return _page(visit, state, form, 422)
    return visit.go(f"/batch/{batch}/record", said="noted")


@router.post("/batch/{batch}/record/withdraw")
def take_back(
    visit: Visiting,
    batch: str,
    *,
    target: Annotated[str, Form()] = "",
    reason: Annotated[str, Form()] = "",
    entry_key: Annotated[str, Form()] = "",
) -> Response:
    """Withdraw an entry by a further one."""
    state = visit.record.batch(batch)
    form = FormState({"target": target, "reason": reason, "entry_key": entry_key})
    words = form.text("reason", "Reason", longest=1000)
    if form.good:
        entry = visit.entry(entry_key)
        try:
            withdraw(visit.record, batch, target, reason=words, entry=entry)
        except (InputError, NotFoundError, ConflictError) as error:
            form.fault("reason", str(error), "Nothing was withdrawn.", "Withdrawal")
    if not form.good:
        return _page(visit, state, form, 422)
    return visit.go(f"/batch/{batch}/record", said="withdrawn")


def _page(visit: Visit, state: Batch, form: FormState, status: int = 200) -> Response:
    rows = batch_history(visit.record, state)
    target = form.values.get("target", "")
    return visit.batch_page(
        state,
        "record/batch.html",
        status,
        form=form,
        rows=rows,
        made_from=next((body.made_from for _, body in state.of(BatchOpened)), None),
        meant=_meant(rows, target) if target else None,
        steps=[("", "the whole batch"), *((name, name) for name in _step_names(state))],
    )


def _step_names(state: Batch) -> tuple[str, ...]:
    return tuple(one.outline.step for one in state.steps())


def _meant(rows: tuple[HistoryRow, ...], target: str) -> HistoryRow | None:
    return next((row for row in rows if row.event.id == target), None)
