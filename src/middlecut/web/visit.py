# SPDX-License-Identifier: MIT
"""A visit: one request with everything a page needs to answer it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Annotated, Any

from fastapi import Depends
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse

from middlecut.app.batch import Batch
from middlecut.app.events import Who
from middlecut.app.expectation import StillFit
from middlecut.app.ranges import KnownRanges
from middlecut.app.record import Entry, Record
from middlecut.web.entry_time import OUTBOX, entered_at
from middlecut.web.menu import batch_entries
from middlecut.web.preferences import Preferences, preferences_from
from middlecut.web.render import render, wants_fragment
from middlecut.web.services import Services

__all__ = ["Visit", "Visiting"]


@dataclass(frozen=True, slots=True)
class Visit:
    """One request.

    Parameters
    ----------
    request : Request
    services : Services
    now : datetime
        Read once; every decision of the request uses it.
    preferences : Preferences
    who : Who
        Who is asking.
    """

    request: Request
    services: Services
    now: datetime
    preferences: Preferences
    who: Who

    @property
    def record(self) -> Record:
        """The use cases over the record."""
        return self.services.record

    @property
    def typed(self) -> datetime:
        """When the form was typed: now, or earlier on a device that had to wait."""
        return entered_at(self.request.headers, self.now) or self.now

    @property
    def fragment(self) -> bool:
        """Whether htmx asks for a part of the page only."""
        return wants_fragment(self.request)

    def ranges(self, text: str, fits: tuple[StillFit, ...] = ()) -> KnownRanges:
        """Return what is known of the ranges of a plan's lots; never waits for them."""
        found = self.services.ranges
        return KnownRanges() if found is None else found.of(text, fits)

    def page(self, template: str, status: int = 200, **context: Any) -> HTMLResponse:
        """Return a page; ``visit`` is known to every template."""
        return render(self.request, template, status, visit=self, **context)

    def batch_page(
        self, batch: Batch, template: str, status: int = 200, **context: Any
    ) -> HTMLResponse:
        """Return a page of a batch, with the way to its other pages above it."""
        entries = tuple((one.label, one.path.format(batch=batch.id)) for one in batch_entries())
        return self.page(template, status, batch=batch, batch_menu=entries, **context)

    def go(self, path: str, said: str = "") -> RedirectResponse | JSONResponse:
        """Send the browser on after something was done (POST, redirect, GET).

        The outbox of a page gets the address as JSON, as it must know that the entry was taken.

        Parameters
        ----------
        path : str
            A page of ours.
        said : str
            Code of a confirmation in :data:`middlecut.web.sayings.SAYINGS`.
        """
        mark = "&" if "?" in path else "?"
        place, _, within = path.partition("#")
        goal = f"{place}{mark}said={said}" if said else place
        goal = f"{goal}#{within}" if within else goal
        if OUTBOX in self.request.headers:
            return JSONResponse({"go": goal})
        return RedirectResponse(goal, 303)

    def entry(self, key: str = "", *, seen: int | None = None) -> Entry:
        """Return how something is entered by whoever is asking.

        Parameters
        ----------
        key : str
            Idempotency key of the form (its hidden ``entry_key``).
        seen : int or None
            Version of the batch the form was made from, for edits that must not overwrite.
        """
        entered = entered_at(self.request.headers, self.now)
        return Entry(key=key, entered_utc=entered, who=self.who, seen=seen)


def _visit_of(request: Request) -> Visit:
    services: Services = request.app.state.services
    preferences = _in_units(preferences_from(services.record.workshop()), request)
    request.state.preferences = preferences
    device = getattr(request.state, "device", "")
    return Visit(
        request=request,
        services=services,
        now=services.record.clock.now(),
        preferences=preferences,
        who=Who(device=device),
    )


def _in_units(preferences: Preferences, request: Request) -> Preferences:
    """Return the preferences for one look at a page, in the units its address asks for.

    An entry that waited is put back into its form with the units it was typed in beside the fields.
    """
    asked = request.query_params.get("units") if request.method == "GET" else None
    if asked not in ("metric", "us"):
        return preferences
    return replace(preferences, units="us" if asked == "us" else "metric")


Visiting = Annotated[Visit, Depends(_visit_of)]
"""Type of a page function's argument that is the visit."""
