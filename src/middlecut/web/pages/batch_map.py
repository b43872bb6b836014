# SPDX-License-Identifier: MIT
"""The map of a batch: all of it in one figure, and as a table."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Query
from starlette.responses import Response

from middlecut.app.expectation import expect, expect_sheet
from middlecut.app.flow_map import flow_map, measures_of
from middlecut.app.views.fits import fits_of
from middlecut.errors import NotFoundError, PlanError
from middlecut.web.map_figure import draw_map
from middlecut.web.menu import MenuEntry
from middlecut.web.visit import Visiting

__all__ = ["BATCH_MENU", "router"]

BATCH_MENU = MenuEntry(10, "Map", "/batch/{batch}")
router = APIRouter()


@router.get("/batch/{batch}")
def show(
    visit: Visiting,
    batch: str,
    by: Annotated[str, Query(max_length=100)] = "volume",
    still: Literal["measured", "described"] = "measured",
) -> Response:
    """Show the map by volume, pure alcohol or a compound, stills as measured or as described."""
    state = visit.record.batch(batch)
    if state.plan is None:
        raise NotFoundError("plan of the batch", batch)
    known = fits_of(visit.record, state)
    fits = known if still == "measured" else ()
    try:
        chart = flow_map(state, by, fits)
        prediction = expect(state.plan.text, fits)
        sheet = expect_sheet(state.plan.text, fits)
    except PlanError as error:
        # A plan of an older release may say something that this one does not take.
        return visit.batch_page(state, "map/broken.html", problems=error.problems)
    ranges = visit.ranges(state.plan.text, fits)
    return visit.batch_page(
        state,
        "map/map.html",
        chart=chart,
        fits=known,
        still=still,
        ranges=ranges,
        figure=draw_map(chart, address=f"/batch/{batch}", system=visit.preferences.units),
        measures=measures_of(prediction),
        totals=(ranges.sheet or sheet).totals,
        headings={section.step_id: section.heading for section in sheet.sections},
        always=sheet.cautions,
    )
