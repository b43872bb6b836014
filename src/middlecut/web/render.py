# SPDX-License-Identifier: MIT
"""Turn templates into answers: one environment, escaping always on, quantities in chosen units."""

from __future__ import annotations

import hashlib
from datetime import datetime
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined, pass_context
from jinja2.runtime import Context
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import HTMLResponse

from middlecut.app.views.still_book import fitted_rows
from middlecut.plan.render_units import warned
from middlecut.plan.sheet_parts import Phrase
from middlecut.steps.band import Band
from middlecut.units import System, format_quantity
from middlecut.web.charts import draw_chart, pack_chart, tabulate_chart
from middlecut.web.levels import show_level, show_plain, show_times
from middlecut.web.menu import menu_entries
from middlecut.web.preferences import Preferences
from middlecut.web.sayings import SAYINGS

__all__ = ["STATIC", "environment", "render", "static_address", "wants_fragment"]

_PACKAGE = Path(str(resources.files("middlecut.web")))
STATIC = _PACKAGE / "static"
"""Folder of what browsers load."""
_NO_WIDTH = 1e-9
"""Relative width below which a range is that of a number that nothing moves."""


def render(request: Request, template: str, status: int = 200, **context: Any) -> HTMLResponse:
    """Return a page.

    Parameters
    ----------
    request : Request
    template : str
        File below ``web/templates``.
    status : int
        HTTP status.
    **context
        What the template needs besides what every page has (``request``, ``preferences``,
        ``menu``, ``units``).

    Returns
    -------
    answer : HTMLResponse
    """
    preferences = getattr(request.state, "preferences", None) or Preferences()
    text = (
        environment()
        .get_template(template)
        .render(
            request=request,
            preferences=preferences,
            units=preferences.units,
            menu=menu_entries(),
            path=request.url.path,
            **context,
        )
    )
    return HTMLResponse(text, status)


def wants_fragment(request: Request) -> bool:
    """Return whether htmx asks for a part of a page."""
    return request.headers.get("hx-request") == "true"


@cache
def environment() -> Environment:
    """Return the one template environment; an undefined name is an error, never a blank."""
    made = Environment(
        loader=FileSystemLoader(_PACKAGE / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["quantity"] = _quantity
    made.filters["pieces"] = _pieces
    made.filters["ranged"] = _ranged
    made.filters["say"] = _say
    made.filters["day"] = _day
    made.filters["moment"] = _moment
    made.filters["machine_time"] = _machine_time
    made.filters["as_number"] = _as_number
    made.filters["measured"] = _measured
    made.filters["warned"] = _warned
    made.filters["fitted_rows"] = fitted_rows
    made.filters["plain"] = show_plain
    made.filters["level"] = show_level
    made.filters["times"] = show_times
    made.globals["static"] = static_address
    made.globals["sayings"] = SAYINGS
    made.globals["chart_svg"] = _chart_svg
    made.globals["chart_data"] = pack_chart
    made.globals["chart_table"] = _chart_table
    return made


def _as_number(words: str) -> tuple[str, str]:
    """Mark a column of a table as numbers."""
    return (words, "number")


@pass_context
def _quantity(
    context: Context, value: float | None, dimension: str, digits: int | None = None
) -> str:
    if value is None:
        return "unknown"
    system: System = context["units"]
    return format_quantity(value, dimension, system=system, digits=digits)


@pass_context
def _ranged(context: Context, value: float, dimension: str, band: Band | None) -> str | Markup:
    """Return a quantity with its 5-95 % range in brackets, as 3.9 L (3.7–4.1)."""
    shown = _quantity(context, value, dimension)
    if band is None or band.high - band.low <= _NO_WIDTH * abs(band.median):
        return shown
    low, high = (_quantity(context, one, dimension) for one in (band.low, band.high))
    if low == high == shown:  # narrower than what is shown
        return shown
    unit = shown.partition(" ")[2]
    if unit and all(one.partition(" ")[2] == unit for one in (low, high)):
        low, high = low.partition(" ")[0], high.partition(" ")[0]
    return Markup('{} <span class="between">({}–{})</span>').format(shown, low, high)


@pass_context
def _pieces(context: Context, value: float | None, dimension: str) -> list[tuple[str, str]]:
    """Return numbers and their units apart, for large figures: 1 h 23 min is two of them."""
    words = _quantity(context, value, dimension).split(" ")
    found: list[tuple[str, str]] = []
    for word in words:
        if not found or any(mark.isdigit() for mark in word):
            found.append((word, ""))
        else:
            number, unit = found[-1]
            found[-1] = (number, f"{unit} {word}".strip())
    return found


@pass_context
def _say(context: Context, phrase: Phrase) -> str:
    """Return a sentence of a sheet with its quantities."""
    shown = (_quantity(context, value, dimension) for value, dimension in phrase.quantities)
    return phrase.template.format(*shown)


def _measured(value: float, dimension: str) -> str:
    """Return an amount of a glass: syringes and scales have millilitres and grams everywhere."""
    return format_quantity(value, dimension)


@pass_context
def _warned(context: Context, text: str) -> str:
    """Return the words of a caution, with their amounts in the chosen units too."""
    return warned(text, context["units"])


@pass_context
def _day(context: Context, moment: datetime) -> str:
    preferences: Preferences = context["preferences"]
    return f"{preferences.local(moment):%a %-d %b}"


@pass_context
def _moment(context: Context, moment: datetime) -> str:
    preferences: Preferences = context["preferences"]
    return f"{preferences.local(moment):%a %-d %b, %H:%M}"


def _machine_time(moment: datetime) -> str:
    return moment.isoformat(timespec="seconds")


@pass_context
def _chart_svg(context: Context, chart: Any, **options: Any) -> Any:
    return draw_chart(chart, system=context["units"], **options)


@pass_context
def _chart_table(context: Context, chart: Any) -> Any:
    return tabulate_chart(chart, system=context["units"])


@cache
def static_address(name: str) -> str:
    """Return the address of a static file, with a mark that changes when the file does."""
    path = STATIC / name
    if not path.is_file():
        return ""
    mark = hashlib.sha256(path.read_bytes()).hexdigest()[:10]
    return f"/static/{name}?v={mark}"
