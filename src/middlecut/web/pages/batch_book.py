# SPDX-License-Identifier: MIT
"""The record of a batch on paper: what was done, step by step, with what was expected of it."""

from __future__ import annotations

import json

from fastapi import APIRouter
from starlette.responses import Response

from middlecut.app.alcohol import alcohol_entries, overdrawn
from middlecut.app.codec import parse_utc
from middlecut.app.expectation import expect
from middlecut.app.lots_now import known_measures
from middlecut.app.measured import Measured, measured_lots
from middlecut.app.ranges import KnownRanges
from middlecut.app.views.entries import EntryRow, entry_rows
from middlecut.app.views.fits import fits_of
from middlecut.errors import PlanError
from middlecut.web.menu import MenuEntry
from middlecut.web.visit import Visiting

__all__ = ["BATCH_MENU", "router"]

BATCH_MENU = MenuEntry(85, "Batch record", "/batch/{batch}/book")
router = APIRouter()


@router.get("/batch/{batch}/book")
def show(visit: Visiting, batch: str) -> Response:
    """Show everything that was done in a batch, made for paper."""
    state = visit.record.batch(batch)
    text = "" if state.plan is None else state.plan.text
    fits = fits_of(visit.record, state)
    try:
        lots = expect(text, fits).lots if text else {}
    except PlanError:  # what was done can be shown without what was expected
        lots = {}
    found = known_measures(state, fits) if lots else measured_lots(state)
    steps = [(one, _as_entered(entry_rows(state, one.outline.step))) for one in state.steps()]
    told = {row.id for _, rows in steps for row in rows}
    entries = alcohol_entries(state)
    return visit.batch_page(
        state,
        "step/book.html",
        steps=steps,
        fits=fits if lots else (),
        ranges=visit.ranges(text, fits) if lots else KnownRanges(),
        others=tuple(
            row for row in _as_entered(entry_rows(state, None, 10_000)) if row.id not in told
        ),
        lots=[(name, lots.get(name), found.get(name, Measured())) for name in {**lots, **found}],
        alcohol=[(parse_utc(one["utc"]), one) for one in entries],
        overdrawn=overdrawn({state.id: json.dumps(entries)}),
        names={state.id: state.name},
        plan_text=text,
        printed=visit.now,
    )


def _as_entered(rows: tuple[EntryRow, ...]) -> tuple[EntryRow, ...]:
    """Return entries in the order in which they were typed, whatever time they are of."""
    found = [*reversed(rows)]
    found.sort(key=lambda row: row.entered)  # of one moment they stay as they are
    return tuple(found)
