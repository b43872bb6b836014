# SPDX-License-Identifier: MIT
"""The shed: which batches there are, what is due, and where a new one begins."""

from __future__ import annotations

from datetime import UTC
from functools import cache
from typing import Annotated

from fastapi import APIRouter, File, Form, UploadFile
from starlette.responses import RedirectResponse, Response

from middlecut.app.batch_names import free_name
from middlecut.app.expectation import read_plan
from middlecut.app.plan_form import common_values, with_values
from middlecut.app.use_cases import open_batch
from middlecut.app.views.due import shed_rows
from middlecut.errors import InputError, PlanError, Problem
from middlecut.plan.examples import example_names, example_path
from middlecut.web.forms import FormState, plain_text
from middlecut.web.menu import MenuEntry
from middlecut.web.pages.devices import pairing_offer
from middlecut.web.visit import Visit, Visiting

__all__ = ["MENU", "router"]

MENU = MenuEntry(10, "Shed", "/")
router = APIRouter()


@router.get("/")
def show(visit: Visiting) -> Response:
    """Show the batches and what is due."""
    zone = visit.preferences.local(visit.now).tzinfo or UTC
    rows = shed_rows(visit.record, now=visit.now, zone=zone)
    due = sorted(
        ((row, item) for row in rows for item in row.due if item.when != "later"),
        key=lambda pair: pair[1].at,
    )
    address = visit.services.address
    return visit.page(
        "shed/shed.html", rows=rows, due=due, address=address, offer=pairing_offer(visit)
    )


@router.get("/new")
def show_new(visit: Visiting) -> Response:
    """Show where a batch begins."""
    return _new_page(visit, FormState())


@router.post("/new")
def begin(
    visit: Visiting,
    *,
    example: Annotated[str, Form()] = "",
    plan_text: Annotated[str, Form()] = "",
    plan_file: Annotated[UploadFile | None, File()] = None,
    name: Annotated[str, Form()] = "",
    entry_key: Annotated[str, Form()] = "",
) -> Response:
    """Open a batch from an upload, a pasted text or an example."""
    form = FormState(
        {"plan_text": plan_text, "example": example, "name": name, "entry_key": entry_key}
    )
    named = form.text("name", "Name of the batch", longest=200)
    found = _given(visit, form, example, plan_file, plan_text)
    if found is None or not form.good:
        return _new_page(visit, form, status=422)
    text, origin = found
    try:
        text = visit.services.library.completed(text)
        named = free_name(visit.record, named or read_plan(text).batch.name)
        entry = visit.entry(entry_key)
        batch = open_batch(visit.record, text, name=named, origin=origin, entry=entry)
    except PlanError as error:
        form.values = {**form.values, "plan_text": text}
        return _new_page(visit, form, problems=error.problems, status=422)
    return visit.go(f"/batch/{batch}", said="opened")


def _given(
    visit: Visit, form: FormState, example: str, upload: UploadFile | None, plan_text: str
) -> tuple[str, str] | None:
    """Return the plan's text and where it came from; or None with the fault in the form."""
    if upload is not None and upload.filename:
        return form.tried("plan_file", "Plan file", lambda: _uploaded(upload))
    if example:
        return form.tried("example", "Example", lambda: _example_here(visit, example))
    if form.values["plan_text"].strip():
        return form.tried("plan_text", "Plan", lambda: (plain_text(plan_text), "pasted"))
    form.fault("plan_text", "a plan is needed", "Choose a file, paste its text or take an example.")
    return None


def _uploaded(upload: UploadFile) -> tuple[str, str]:
    name = (upload.filename or "plan").replace("\\", "/").rsplit("/", 1)[-1][:100]
    try:
        text = upload.file.read().decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError(
            "plan_file", name, "a plan is text in UTF-8", "Save it as UTF-8 and choose it again."
        ) from None
    return plain_text(text, "plan_file"), name


def _example_here(visit: Visit, name: str) -> tuple[str, str]:
    """Return an example, with the height and the currency of this workshop where they were set.

    The prices of an example are invented; their figures stay, and the plan says so.
    """
    text, origin = _example(name)
    changed = visit.record.workshop().changed
    here = {"batch.altitude": changed["altitude"]} if "altitude" in changed else {}
    if "currency" in changed:
        now = changed["currency"]
        prices = [one for one in common_values(text) if one.key in _PRICED]
        was = next((one.value for one in prices if one.key == "batch.currency"), now)
        here |= {one.key: one.value.replace(was, now) for one in prices}
        if was != now:
            text = f"# The figures of the prices are those of the example: put in your own.\n{text}"
    return with_values(text, here), origin


_PRICED = ("batch.currency", "batch.energy_price", "batch.water_price")


def _example(name: str) -> tuple[str, str]:
    return example_path(name).read_text(encoding="utf-8"), f"example {name}"


@cache
def _examples() -> tuple[tuple[str, str], ...]:
    """Return each example and what its batch is called."""
    return tuple((name, read_plan(_example(name)[0]).batch.name) for name in example_names())


def _new_page(
    visit: Visit, form: FormState, *, problems: tuple[Problem, ...] = (), status: int = 200
) -> Response:
    return visit.page("shed/new.html", status, form=form, problems=problems, examples=_examples())


@router.get("/shed")
def old_address() -> RedirectResponse:
    """Lead to the start page."""
    return RedirectResponse("/", 308)
