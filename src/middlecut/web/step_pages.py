# SPDX-License-Identifier: MIT
"""Show the page of a step: one ground for all kinds, one module a kind for what differs.

A module of a kind offers ``context_of(visit, frame)``: the template and what it needs. It is found
by the kind of the step; a kind without one of its own gets the plain page.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from importlib import import_module
from typing import Any

from starlette.responses import HTMLResponse, Response

from middlecut.app.batch import Batch
from middlecut.app.events import Event
from middlecut.app.readiness import missing_lots
from middlecut.app.views.entries import EntryRow, entry_row, entry_rows
from middlecut.app.views.fits import fits_of
from middlecut.app.views.frame import StepFrame, step_frame
from middlecut.app.views.lots import lot_lines
from middlecut.errors import PlanError
from middlecut.web.bench import step_address, unit_shown
from middlecut.web.forms import FormState
from middlecut.web.visit import Visit

__all__ = ["clash_rows", "frame_of", "show_step"]

_MODULES = {
    "ferment": "step_ferment",
    "distil": "step_distil",
    "blend": "step_dose",
    "dilute": "step_dilute",
    "wood": "step_wood",
    "bottle": "step_bottle",
}


def frame_of(visit: Visit, batch: str, step: str) -> StepFrame:
    """Return a step of a batch; NotFoundError or PlanError if there is none to show."""
    state = visit.record.batch(batch)
    return step_frame(state, step, fits_of(visit.record, state))


def show_step(
    visit: Visit,
    batch: str,
    step: str,
    *,
    forms: Mapping[str, FormState] | None = None,
    status: int = 200,
    **more: Any,
) -> Response:
    """Return the page of a step.

    Parameters
    ----------
    visit : Visit
    batch, step : str
    forms : mapping of str to FormState or None
        Forms that come back as they were typed, by name; the others are fresh.
    status : int
        HTTP status.
    **more
        Further things the template shows, such as ``clash``.

    Returns
    -------
    answer : Response
    """
    state = visit.record.batch(batch)
    try:
        frame = step_frame(state, step, fits_of(visit.record, state))
    except PlanError as error:
        # A plan of an older release may say something that this one does not take.
        return visit.batch_page(state, "map/broken.html", problems=error.problems)
    template, context = _context(visit, frame)
    context = {"clash": (), "about": "", **context, **more}
    lots = lot_lines(frame)
    asked = context.pop("status", 200)  # of what the address asks for
    status = asked if status == 200 else status
    context["forms"] = {**context.pop("forms", {}), **(forms or {})}
    for name in ("start", "finish", "note", "addition", "lot"):
        context["forms"].setdefault(name, FormState())

    def page(astray: Sequence[FormState]) -> HTMLResponse:
        return visit.batch_page(
            state,
            template,
            status,
            frame=frame,
            ranges=visit.ranges(frame.plan_text, frame.fits),
            address=step_address(batch, step),
            entries=entry_rows(state, step),
            lot_lines=lots,
            any_known=any(not one.known.expected for one in lots),
            missing=missing_lots(frame) if frame.step.started is None else (),
            unit=lambda kind: unit_shown(kind, visit.preferences.units),
            astray=astray,
            **context,
        )

    answer = page(())
    text = bytes(answer.body).decode()
    lost = [
        form for name, form in (forms or {}).items()
        if not form.good and f'id="{name}-form"' not in text
    ]  # fmt: skip
    # A form that the step as it stands now does not show: say above what was wrong with it.
    return page(lost) if lost else answer


def _context(visit: Visit, frame: StepFrame) -> tuple[str, dict[str, Any]]:
    name = _MODULES.get(frame.kind)
    if name is None:
        return "step/plain.html", {}
    module = import_module(f"middlecut.web.pages.{name}")
    found: tuple[str, dict[str, Any]] = module.context_of(visit, frame)
    return found


def clash_rows(state: Batch, later: Iterable[Event]) -> tuple[EntryRow, ...]:
    """Return what somebody else entered meanwhile, in words."""
    return tuple(entry_row(state, event.id) for event in later)
