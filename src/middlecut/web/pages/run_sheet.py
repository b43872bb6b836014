# SPDX-License-Identifier: MIT
"""The run sheet of a batch: the whole plan on paper, with room to write beside the still."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from middlecut.app.expectation import expect, expect_sheet
from middlecut.app.views.fits import fits_of
from middlecut.errors import NotFoundError, PlanError
from middlecut.web.menu import MenuEntry
from middlecut.web.visit import Visiting

__all__ = ["BATCH_MENU", "router"]

BATCH_MENU = MenuEntry(80, "Run sheet", "/batch/{batch}/sheet")
router = APIRouter()


@router.get("/batch/{batch}/sheet")
def show(visit: Visiting, batch: str) -> Response:
    """Show the sheet of the plan that holds, made for paper."""
    state = visit.record.batch(batch)
    if state.plan is None:
        raise NotFoundError("plan of the batch", batch)
    try:
        fits = fits_of(visit.record, state)
        plain = expect_sheet(state.plan.text, fits)
        prediction = expect(state.plan.text, fits)
    except PlanError as error:
        return visit.batch_page(state, "map/broken.html", problems=error.problems)
    ranges = visit.ranges(state.plan.text, fits)
    return visit.batch_page(
        state,
        "step/run_sheet.html",
        sheet=ranges.sheet or plain,
        ranges=ranges,
        fits=fits,
        blanks=range(10),
        jars={name: bool(one.curve and one.curve.jars) for name, one in prediction.steps.items()},
        printed=visit.now,
    )
