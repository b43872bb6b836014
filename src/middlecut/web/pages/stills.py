# SPDX-License-Identifier: MIT
"""Stills: how each is built, its limits, what runs taught about it."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Query
from starlette.responses import Response

from middlecut.app.use_cases import describe_still
from middlecut.app.views.still_book import offers, still_view, stills
from middlecut.errors import ConflictError, InputError, NotFoundError, PlanError, Problem
from middlecut.web.forms import FormState, allowed_by
from middlecut.web.menu import MenuEntry
from middlecut.web.visit import Visit, Visiting

__all__ = ["MENU", "router"]

MENU = MenuEntry(50, "Stills", "/stills")
router = APIRouter()

_BLANK = """[still.NAME]
boiler_volume = "30 L"
safe_fill = "66 %"
heater_power = "2.4 kW"
boiler_loss = "180 W"
head_loss = "90 W"
condenser_duty = "3.2 kW"
element_covered_above = "3.5 L"
"""


@router.get("/stills")
def show(visit: Visiting) -> Response:
    """Show every still that was described, and those that plans describe."""
    known = [still_view(visit.record, one.id) for one in stills(visit.record)]
    return visit.page("stills/stills.html", views=known, offers=offers(visit.record))


@router.get("/stills/new")
def show_new(visit: Visiting, still: Annotated[str, Query(max_length=200)] = "") -> Response:
    """Show where a still is described, from a plan's section if there is one."""
    offer = next((one for one in offers(visit.record) if one.name == still), None)
    text = offer.text if offer else _BLANK
    return _form_page(visit, FormState({"name": still, "text": text, "seen": "0"}))


@router.get("/stills/change/{name:path}")
def show_change(visit: Visiting, name: str) -> Response:
    """Show the description of a still for changing."""
    state = visit.record.still(name)
    text = state.described.text if state.described else _BLANK
    form = FormState({"name": name, "text": text, "reason": "", "seen": str(state.version)})
    return _form_page(visit, form)


@router.get("/stills/of/{name:path}")
def show_one(visit: Visiting, name: str) -> Response:
    """Show one still."""
    return visit.page("stills/still.html", view=still_view(visit.record, name))


@router.post("/stills/describe")
def describe(
    visit: Visiting,
    *,
    name: Annotated[str, Form()] = "",
    text: Annotated[str, Form()] = "",
    reason: Annotated[str, Form()] = "",
    seen: Annotated[str, Form()] = "",
    entry_key: Annotated[str, Form()] = "",
) -> Response:
    """Keep a description, unless somebody else changed it first."""
    lines = text.replace("\r\n", "\n")
    form = FormState(
        {"name": name, "text": lines, "reason": reason, "seen": seen, "entry_key": entry_key}
    )
    still = form.text("name", "Name", required=True)
    words = form.text("reason", "What was changed", longest=1000)
    form.text("text", "Description", required=True, longest=20_000)
    if not form.good:
        return _form_page(visit, form, status=422)
    if _standing(visit, still) == lines:
        return visit.go("/stills", said="unchanged")
    version = int(seen) if seen.isascii() and seen.isdigit() and len(seen) < 12 else 0
    entry = visit.entry(entry_key, seen=version)
    try:
        describe_still(visit.record, still, lines, reason=words, entry=entry)
    except PlanError as error:
        return _form_page(visit, form, problems=error.problems, status=422)
    except InputError as error:
        place = error.field if error.field in {"name", "reason"} else "text"
        allowed = allowed_by(error, visit.preferences.units)
        form.fault(place, allowed, error.remedy, "Description")
        return _form_page(visit, form, status=422)
    except ConflictError as error:
        theirs = _standing(visit, still)
        now = visit.record.still(still).version if theirs is not None else 0
        form.values = {**form.values, "seen": str(now), "entry_key": ""}
        form.fault("text", str(error), "Both are below; keep yours again to let it hold.")
        return _form_page(visit, form, theirs=theirs, status=409)
    return visit.go("/stills", said="described")


def _standing(visit: Visit, name: str) -> str | None:
    """Return the description that holds; None for a still nobody described."""
    try:
        described = visit.record.still(name).described
    except NotFoundError:
        return None
    return described.text if described else None


def _form_page(
    visit: Visit,
    form: FormState,
    *,
    problems: tuple[Problem, ...] = (),
    theirs: str | None = None,
    status: int = 200,
) -> Response:
    return visit.page(
        "stills/describe.html",
        status,
        form=form,
        problems=problems,
        theirs=theirs,
        known=_standing(visit, form.values.get("name", "").strip()) is not None,
    )
