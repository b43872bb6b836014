# SPDX-License-Identifier: MIT
"""Batches side by side, planned or made."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Annotated

from fastapi import APIRouter, Query
from markupsafe import Markup
from starlette.responses import Response

from middlecut.app.ranges import KnownRanges
from middlecut.app.views.comparison import (
    MOST,
    Line,
    Side,
    families,
    plan_differences,
    side_of,
    yields,
)
from middlecut.app.views.fits import fits_of
from middlecut.errors import NotFoundError, PlanError
from middlecut.web.charts import Axis, Chart, Dash, Series
from middlecut.web.forms import FormState
from middlecut.web.menu import MenuEntry
from middlecut.web.profile_figure import draw_mark, draw_profile
from middlecut.web.run_charts import range_series
from middlecut.web.visit import Visit, Visiting

__all__ = ["MENU", "router"]

MENU = MenuEntry(30, "Compare", "/compare")
router = APIRouter()

_DASHES: tuple[Dash, ...] = ("solid", "dash", "dot", "solid")
_Batches = Annotated[list[str] | None, Query(max_length=20)]


@router.get("/compare")
def show(visit: Visiting, batch: _Batches = None) -> Response:
    """Ask which batches, and show them side by side."""
    chosen = list(dict.fromkeys(batch or []))
    form = FormState({"batch": ""})
    sides = _sides(visit, form, chosen) if chosen else []
    if chosen and form.good and not 2 <= len(chosen) <= MOST:
        form.fault("batch", f"two to {MOST} batches go side by side", "Choose again.", "Batches")
    if not form.good:
        sides = []
    status = 200 if form.good else 422
    return visit.page(
        "compare/compare.html",
        status,
        form=form,
        batches=_known(visit),
        chosen=chosen,
        sides=sides,
        **(_content(sides) if sides else {}),
    )


def _known(visit: Visit) -> list[tuple[str, str]]:
    ids = (stream.partition("/")[2] for stream in visit.record.store.streams("batch"))
    return [(one, visit.record.batch(one).name) for one in ids]


def _sides(visit: Visit, form: FormState, chosen: Sequence[str]) -> list[Side]:
    found: list[Side] = []
    for one in chosen[:MOST]:
        try:
            found.append(_side(visit, one))
        except NotFoundError as error:
            form.fault("batch", str(error), "Choose again.", "Batches")
        except PlanError as error:
            name = visit.record.batch(one).name
            problem = error.problems[0]
            form.fault("batch", f"the plan of {name}: {problem.message}", problem.remedy, "Batches")
    return found


def _side(visit: Visit, batch: str) -> Side:
    state = visit.record.batch(batch)
    fits = fits_of(visit.record, state)
    ranges = visit.ranges(state.plan.text, fits) if state.plan is not None else None
    return side_of(state, fits, ranges)


def _content(sides: list[Side]) -> dict[str, object]:
    names = [side.name for side in sides]
    rows = families(sides)
    return {
        "charts": _charts(sides),
        "yields": yields(sides),
        "ranges": _together(sides),
        "families": rows,
        "profile": draw_profile(rows, names),
        "marks": [_swatch(number) for number in range(len(sides))],
        "differences": plan_differences([side.prediction.plan.text for side in sides]),
    }


def _together(sides: Sequence[Side]) -> KnownRanges:
    """Return the ranges of which there is something to say: on their way, failed, or known."""
    known = [side.ranges for side in sides]
    waiting = [one for one in known if one.waiting]
    failed = [one for one in known if one.trouble]
    return (waiting or failed or known)[0]


def _swatch(number: int) -> Markup:
    return Markup(  # noqa: S704 - numbers only
        f'<svg viewBox="0 0 16 16" class="mark-swatch" aria-hidden="true">'
        f'<g class="ink-{number % 4}">{draw_mark(number, 8.0, 8.0)}</g></svg>'
    )


def _charts(sides: Sequence[Side]) -> tuple[Chart, ...]:
    return (
        _chart(
            "compare-strength",
            "Strength along the spirit run",
            axes=(Axis("collected", "volume", low=0.0), Axis("strength", "strength", low=0.0)),
            sides=sides,
            line_of=lambda side: side.strength,
        ),
        _chart(
            "compare-gravity",
            "Gravity of the first fermentation",
            axes=(Axis("since pitching", "duration", low=0.0), Axis("gravity", "gravity")),
            sides=sides,
            line_of=lambda side: side.gravity,
        ),
    )


def _chart(
    name: str,
    title: str,
    *,
    axes: tuple[Axis, Axis],
    sides: Sequence[Side],
    line_of: Callable[[Side], Line | None],
) -> Chart:
    series: list[Series] = []
    for number, side in enumerate(sides):
        line = line_of(side)
        if line is None:
            continue
        told = f"{number + 1}. {side.name}"
        series.append(
            Series(f"{told}, predicted", line.predicted, dash=_DASHES[number], ink=number)
        )
        series += range_series(line.ranged, ink=number, name=f"{told}, nine in ten draws")
        if line.measured:
            series.append(Series(f"{told}, measured", line.measured, kind="points", ink=number))
    return Chart(name, title, *axes, tuple(series), note="Lines are predicted, points measured.")
