# SPDX-License-Identifier: MIT
"""One entry of a batch: correct it or take it back; what stood there before stays in the record."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from typing import Annotated

from fastapi import APIRouter, Form
from starlette.responses import Response

from middlecut.app.batch import Batch, Reading
from middlecut.app.batch_events import ReadingCorrected
from middlecut.app.doubts import Doubt, time_doubts
from middlecut.app.edits import OVERTAKEN, keep_edit
from middlecut.app.events import Body, Event
from middlecut.app.quantities import QUANTITIES, Typed, check_value, read_typed
from middlecut.app.run_doubts import RunDoubts
from middlecut.app.running_totals import PRESENT, check_totals
from middlecut.app.undoing import withdrawals
from middlecut.app.views.entries import entry_row
from middlecut.app.views.run import run_view
from middlecut.errors import NotFoundError, PlanError
from middlecut.units import format_quantity, unit_of
from middlecut.web.bench import (
    Sending,
    entry_of,
    form_of,
    moment_of,
    seen_of,
    step_address,
    typed_in,
    unit_beside,
    with_unit,
)
from middlecut.web.forms import FormState
from middlecut.web.step_pages import clash_rows, frame_of
from middlecut.web.visit import Visit, Visiting

__all__ = ["router"]

router = APIRouter()
_ENTRY = "/batch/{batch}/entry/{entry}"
_WITH_UNIT = re.compile(r"[+-]?[\d.,]+\s*([^\d\s.,+-].*)")


class CorrectForm(Sending):
    """A reading as it should have been."""

    value: str = ""
    temperature: str = ""
    reason: str = ""


class WithdrawForm(Sending):
    """Why an entry does not hold."""

    reason: str = ""


@router.get(_ENTRY)
def show(visit: Visiting, batch: str, entry: str) -> Response:
    """Show an entry with the forms to correct it and to take it back."""
    return _page(visit, visit.record.batch(batch), entry)


@router.post(f"{_ENTRY}/correct")
def correct(
    visit: Visiting, batch: str, entry: str, sent: Annotated[CorrectForm, Form()]
) -> Response:
    """Correct a reading."""
    state = visit.record.batch(batch)
    reading = _reading(state, entry)
    if reading is None:
        raise NotFoundError("reading that holds", entry)
    visit = typed_in(visit, sent)
    form = form_of(sent)
    form.text("value", "Value", required=True)
    reason = form.text("reason", "Reason", longest=2000)
    typed = (
        form.tried("value", "Value", lambda: _typed(visit, reading, sent)) if form.good else None
    )
    how = entry_of(visit, form)
    later: tuple[Event, ...] = ()
    if form.good and typed is not None:
        first = state.entries[entry].event.utc
        moved = how.utc or reading.utc
        if form.values["at"].strip() == _time(visit, reading):
            moved = reading.utc  # as it stood in the field: the seconds are not lost
        how = replace(how, utc=None)
        body = ReadingCorrected(
            entry, typed.value, typed.temperature, typed.reference, typed.uncertainty,
            typed.as_entered, reason, (moved - first).total_seconds(),
        )  # fmt: skip
        form.tried("value", "Value", lambda: check_totals(state, body, utc=moved))
    if form.good and typed is not None:
        form.ask(_doubts(visit, state, reading, body, moved))
    if form.good and typed is not None:
        later = form.tried(
            "value", "Value",
            lambda: keep_edit(
                visit.record, batch, body, same=_about(entry), seen=seen_of(form), entry=how
            ),
        ) or ()  # fmt: skip
    return _answer(visit, batch, entry, form, later, name="correct")


@router.post(f"{_ENTRY}/withdraw")
def take_back(
    visit: Visiting, batch: str, entry: str, sent: Annotated[WithdrawForm, Form()]
) -> Response:
    """Take an entry back."""
    state = visit.record.batch(batch)
    if entry not in state.entries:
        raise NotFoundError("entry", entry)
    form = form_of(sent)
    reason = form.text("reason", "Reason", longest=2000)
    how = entry_of(visit, form)
    later: tuple[Event, ...] = ()
    if form.good:
        bodies = withdrawals(state, entry, reason, how.key)
        later = form.tried(
            "reason", "Reason",
            lambda: keep_edit(
                visit.record, batch, *bodies, same=_about(entry), seen=seen_of(form), entry=how
            ),
        ) or ()  # fmt: skip
    return _answer(visit, batch, entry, form, later, name="withdraw")


def _doubts(
    visit: Visit, state: Batch, reading: Reading, body: ReadingCorrected, utc: datetime
) -> tuple[Doubt, ...]:
    """Return what is odd about a corrected reading; late ones nobody can be asked about."""
    if visit.now - visit.typed > PRESENT:
        return ()
    taken = replace(reading.taken, value=body.value, as_entered=body.as_entered)
    shown = moment_of(visit)
    odd = time_doubts(state, (taken,), utc, shown=shown)
    if taken.quantity != "volume" or taken.lot or taken.jar:
        return odd
    try:
        frame = frame_of(visit, state.id, taken.step)
        look = RunDoubts(frame, run_view(frame), utc, visit.preferences.units, shown)
    except (NotFoundError, PlanError):
        return odd
    return (*odd, *look.much(taken, body.as_entered, "value"))


def _time(visit: Visit, reading: Reading) -> str:
    """Return when a reading was taken as it is typed."""
    return f"{visit.preferences.local(reading.utc):%Y-%m-%d %H:%M}"


def _answer(
    visit: Visit, batch: str, entry: str, form: FormState, later: tuple[Event, ...], *, name: str
) -> Response:
    state = visit.record.batch(batch)
    if later:
        rows = clash_rows(state, later)
        return _page(visit, state, entry, {name: form}, 409, clash=rows, about=OVERTAKEN)
    if not form.good:
        return _page(visit, state, entry, {name: form}, 422)
    step = getattr(state.entries[entry].event.body, "step", None)
    where = f"/batch/{batch}" if not isinstance(step, str) else step_address(batch, step)
    return visit.go(where, said="withdrawn" if name == "withdraw" else "saved")


def _page(
    visit: Visit,
    state: Batch,
    entry: str,
    forms: dict[str, FormState] | None = None,
    status: int = 200,
    **more: object,
) -> Response:
    if entry not in state.entries:
        raise NotFoundError("entry", entry)
    row = entry_row(state, entry)
    reading = _reading(state, entry)
    fresh = {"correct": FormState(_values(visit, reading)), "withdraw": FormState()}
    step = getattr(state.entries[entry].event.body, "step", None)
    return visit.batch_page(
        state,
        "step/entry.html",
        status,
        row=row,
        reading=reading,
        kind=None if reading is None else QUANTITIES[reading.taken.quantity],
        unit=None if reading is None else _unit(visit, reading),
        back=f"/batch/{state.id}" if not isinstance(step, str) else step_address(state.id, step),
        forms={**fresh, **(forms or {})},
        **{"clash": (), "about": "", **more},
    )


def _reading(state: Batch, entry: str) -> Reading | None:
    return next((one for one in state.readings() if one.id == entry), None)


def _unit(visit: Visit, reading: Reading) -> str:
    quantity = QUANTITIES[reading.taken.quantity]
    if reading.taken.reference == "60F":
        return "proof"
    typed = _WITH_UNIT.fullmatch(reading.taken.as_entered.partition(" at ")[0].strip())
    if typed:  # as it was typed first: 140 in the place of 200 mL is no 140 L
        return typed[1]
    return unit_of(quantity.dimension, visit.preferences.units)


def _values(visit: Visit, reading: Reading | None) -> dict[str, str]:
    """Return the reading as it was typed, to be put right."""
    if reading is None:
        return {}
    taken = reading.taken
    value, _, warmth = taken.as_entered.partition(" at ")
    if value:
        return {"value": value, "temperature": warmth, "at": _time(visit, reading)}
    system = visit.preferences.units
    proof = taken.reference == "60F"
    dimension = "proof" if proof else QUANTITIES[taken.quantity].dimension
    number = 200.0 * taken.value if proof else taken.value
    found = {
        "value": format_quantity(number, dimension, system=system),
        "at": _time(visit, reading),
    }
    if taken.temperature is not None:
        found["temperature"] = format_quantity(taken.temperature, "temperature", system=system)
    return found


def _typed(visit: Visit, reading: Reading, sent: CorrectForm) -> Typed:
    quantity = reading.taken.quantity
    warmth = with_unit(sent.temperature, unit_beside("temperature", visit.preferences.units))
    found = read_typed(quantity, with_unit(sent.value, _unit(visit, reading)), temperature=warmth)
    check_value(quantity, found.value, found.temperature, found.reference)
    return found


def _about(entry: str) -> Callable[[Body], bool]:
    def same(body: Body) -> bool:
        return getattr(body, "target", None) == entry

    return same
