# SPDX-License-Identifier: MIT
"""The pattern page: every part pages are built from, with invented numbers.

It is also the example a new page starts from; see docs/how-to/add-a-page.md.
"""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form
from starlette.responses import Response

from middlecut.steps.result import Caution
from middlecut.web.charts import Axis, Chart, Mark, Series
from middlecut.web.forms import FormState
from middlecut.web.visit import Visit, Visiting

__all__ = ["router"]

router = APIRouter()

_CAUTIONS = (
    Caution("example-danger", "danger", "The boiler holds 31 L; its safe fill is 24 L."),
    Caution("example-watch", "watch", "The charge has 46 %vol; above 45 % it burns well."),
    Caution("example-note", "note", "Heating up takes 1 h 10 min."),
)


@router.get("/patterns")
def show(visit: Visiting) -> Response:
    """Show every part."""
    return _page(visit, FormState({"volume": "", "name": ""}))


@router.post("/patterns")
def try_form(
    visit: Visiting,
    volume: Annotated[str, Form()] = "",
    name: Annotated[str, Form()] = "",
) -> Response:
    """Take the example form: nothing is kept, but errors come back as they do everywhere."""
    form = FormState({"volume": volume, "name": name})
    form.quantity("volume", "Volume", "volume", required=True)
    form.text("name", "Name", required=True)
    if not form.good:
        return _page(visit, form, 422)
    return visit.go("/patterns", said="unchanged")


def _page(visit: Visit, form: FormState, status: int = 200) -> Response:
    return visit.page(
        "patterns/patterns.html", status, form=form, cautions=_CAUTIONS, chart=_chart()
    )


def _chart() -> Chart:
    hours = [step * 0.25 for step in range(13)]
    line = [0.84 - 0.004 * hour**3 - 0.02 * hour for hour in hours]
    return Chart(
        id="example-run",
        title="Strength along an invented run",
        x=Axis("time", "duration"),
        y=Axis("strength", "strength"),
        series=(
            Series(
                "predicted",
                tuple((hour * 3600.0, value) for hour, value in zip(hours, line, strict=True)),
                low=tuple(value - 0.02 for value in line),
                high=tuple(value + 0.02 for value in line),
            ),
            Series(
                "measured",
                tuple((hour * 3600.0, line[int(hour * 4)] + 0.008) for hour in (0.5, 1.0, 1.5)),
                kind="points",
            ),
        ),
        marks=(Mark(2.2 * 3600.0, "hearts end"),),
        note="The band holds nine runs of ten.",
    )
