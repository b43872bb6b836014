# SPDX-License-Identifier: MIT
"""The pantry: ingredients, compounds, and the routes of an ingredient through a plan."""

from __future__ import annotations

from functools import partial
from typing import Annotated

from fastapi import APIRouter, Query
from starlette.responses import Response

from middlecut.app.views.pantry import (
    compound_view,
    find_routes,
    grade_words,
    ingredient_view,
    own_ingredients,
    shelf,
)
from middlecut.errors import ConvergenceError, InputError, PlanError, Problem
from middlecut.insight.figures import draw_routes, routes_csv
from middlecut.insight.route_short import in_short
from middlecut.insight.route_words import cost_sentence, risk_words, shown_share
from middlecut.insight.routes import Routes
from middlecut.liquid.ingredients import BASES, Ingredient
from middlecut.web.forms import FormState, allowed_by
from middlecut.web.menu import MenuEntry
from middlecut.web.visit import Visit, Visiting

__all__ = ["MENU", "router"]

MENU = MenuEntry(40, "Pantry", "/pantry")
router = APIRouter()

_Name = Annotated[str, Query(max_length=200)]
_Short = Annotated[str, Query(max_length=60)]


@router.get("/pantry")
def show(visit: Visiting, *, q: _Name = "", kind: _Short = "") -> Response:
    """Show everything, or what a search finds."""
    found = shelf(q, _own(visit))
    template = "pantry/shelf.html" if visit.fragment else "pantry/pantry.html"
    chosen = kind if kind in {"ingredients", "compounds"} else ""
    trouble = visit.services.library.trouble
    return visit.page(template, found=found, q=q, kind=chosen, trouble=trouble)


@router.get("/pantry/ingredient/{name:path}")
def show_ingredient(visit: Visiting, name: str) -> Response:
    """Show what is known of one ingredient."""
    view = ingredient_view(name, _own(visit))
    form = FormState({"ingredient": view.ingredient.name, "batch": "", "amount": ""})
    return visit.page("pantry/ingredient.html", view=view, form=form, batches=_batches(visit))


@router.get("/pantry/compound/{name:path}")
def show_compound(visit: Visiting, name: str) -> Response:
    """Show what is known of one compound."""
    view = compound_view(name, _own(visit))
    words = grade_words(view.grade) if view.grade else ""
    return visit.page("pantry/compound.html", view=view, grade_words=words, bases=BASES)


@router.get("/pantry/routes")
def show_routes(
    visit: Visiting, *, ingredient: _Name = "", batch: _Short = "", amount: _Short = ""
) -> Response:
    """Show what arrives of an ingredient by each entry point of a plan."""
    form = FormState({"ingredient": ingredient, "batch": batch, "amount": amount})
    problems: tuple[Problem, ...] = ()
    found = None
    try:
        found = _found(visit, form)
    except PlanError as error:
        problems = error.problems
    except ConvergenceError as error:
        form.fault("ingredient", str(error), "Try another amount.", "Ingredient")
    good = found is not None
    template = "pantry/found.html" if visit.fragment and good else "pantry/routes.html"
    return visit.page(
        template,
        200 if good else 422,
        form=form,
        found=found,
        problems=problems,
        share=shown_share,
        short=() if found is None else in_short(found),
        risks=risk_words,
        cost_words=partial(cost_sentence, system=visit.preferences.units),
        batches=_batches(visit),
    )


@router.get("/pantry/routes.svg")
def draw(visit: Visiting, *, ingredient: _Name, batch: _Short, amount: _Short = "") -> Response:
    """Draw the same as a picture."""
    found = _or_raise(visit, ingredient, batch, amount)
    return Response(draw_routes(found).to_svg(), media_type="image/svg+xml")


@router.get("/pantry/routes.csv")
def tabulate(visit: Visiting, *, ingredient: _Name, batch: _Short, amount: _Short = "") -> Response:
    """Give the same as a table for a spreadsheet."""
    text = routes_csv(_or_raise(visit, ingredient, batch, amount))
    head = {"content-disposition": 'attachment; filename="middlecut-routes.csv"'}
    return Response(text, media_type="text/csv; charset=utf-8", headers=head)


def _or_raise(visit: Visit, ingredient: str, batch: str, amount: str) -> Routes:
    form = FormState({"ingredient": ingredient, "batch": batch, "amount": amount})
    found = _found(visit, form)
    if found is None:
        name, error = next(iter(form.errors.items()))
        raise InputError(name, form.values.get(name, ""), error.allowed, error.remedy)
    return found


def _found(visit: Visit, form: FormState) -> Routes | None:
    """Return the routes that the form asks for, or None with its faults."""
    name = form.text("ingredient", "Ingredient", required=True)
    batch = form.text("batch", "Plan of the batch", required=True)
    mass = form.quantity("amount", "Amount", "mass")
    if not form.good:
        return None
    if form.tried("batch", "Batch", lambda: visit.record.batch(batch)) is None:
        return None
    own = _own(visit)
    if form.tried("ingredient", "Ingredient", lambda: ingredient_view(name, own)) is None:
        return None
    try:
        return find_routes(visit.record, batch, name, mass, visit.services.library)
    except PlanError:
        raise
    except InputError as error:
        allowed = allowed_by(error, visit.preferences.units)
        form.fault("amount", allowed, error.remedy, "Amount")
        return None


def _own(visit: Visit) -> tuple[Ingredient, ...]:
    return own_ingredients(visit.record, visit.services.library)


def _batches(visit: Visit) -> list[tuple[str, str]]:
    ids = (stream.partition("/")[2] for stream in visit.record.store.streams("batch"))
    return [(batch, visit.record.batch(batch).name) for batch in ids]
