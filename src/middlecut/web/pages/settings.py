# SPDX-License-Identifier: MIT
"""Settings: units, colours, altitude, place and currency; and where the record lies."""

from __future__ import annotations

from functools import partial
from typing import Annotated

from fastapi import APIRouter, Form
from starlette.responses import Response

import middlecut
from middlecut.app.use_cases import change_setting
from middlecut.app.workshop import SETTINGS
from middlecut.web.forms import FormState
from middlecut.web.menu import MenuEntry
from middlecut.web.visit import Visit, Visiting

__all__ = ["MENU", "router"]

MENU = MenuEntry(90, "Settings", "/settings")
router = APIRouter()


@router.get("/settings")
def show(visit: Visiting) -> Response:
    """Show the settings as they are."""
    workshop = visit.record.workshop()
    return _page(visit, FormState({name: workshop.setting(name) for name in SETTINGS}))


@router.post("/settings")
def change(
    visit: Visiting,
    *,
    units: Annotated[str | None, Form()] = None,
    theme: Annotated[str | None, Form()] = None,
    altitude: Annotated[str | None, Form()] = None,
    place: Annotated[str | None, Form()] = None,
    currency: Annotated[str | None, Form()] = None,
) -> Response:
    """Change what differs; a setting that is not sent stays as it is."""
    sent = {
        "units": units, "theme": theme, "altitude": altitude, "place": place, "currency": currency
    }  # fmt: skip
    workshop = visit.record.workshop()
    wanted = {name: value.strip() for name, value in sent.items() if value is not None}
    if "currency" in wanted:
        wanted["currency"] = wanted["currency"].upper()
    values = {name: wanted.get(name, workshop.setting(name)) for name in SETTINGS}
    form = FormState(values, system=visit.preferences.units)
    changes = [name for name, value in wanted.items() if value != workshop.setting(name)]
    for name in changes:
        # Every value is judged before the first is kept: the form is saved whole or not at all.
        if wanted[name]:
            check = partial(SETTINGS[name].check, wanted[name])
            form.tried(name, SETTINGS[name].label, check)
    if not form.good:
        return _page(visit, form, 422)
    for name in changes:
        change_setting(visit.record, name, wanted[name], entry=visit.entry())
    return visit.go("/settings", said="saved" if changes else "unchanged")


def _page(visit: Visit, form: FormState, status: int = 200) -> Response:
    return visit.page(
        "settings/settings.html",
        status,
        form=form,
        location=visit.record.store.location,
        version=middlecut.__version__,
        library=visit.services.library,
        held=_held(visit),
    )


def _held(visit: Visit) -> str:
    """Return in words what the library file holds."""
    library = visit.services.library
    if library.path is None or not library.path.is_file():
        return "not there yet"
    if library.trouble:
        return ""
    found = library.read()
    count = len(found.compounds)
    more = f" and {_counted(count, 'compound')}" if count else ""
    return f"{_counted(len(found), 'ingredient')}{more}"


def _counted(count: int, word: str) -> str:
    return f"{count} {word}" if count == 1 else f"{count} {word}s"
