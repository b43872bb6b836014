# SPDX-License-Identifier: MIT
"""What is due as a calendar file, for the calendar a person already looks at."""

from __future__ import annotations

from datetime import UTC, timedelta

from fastapi import APIRouter
from starlette.responses import Response

from middlecut.app.projections import DueItem, ShedRow
from middlecut.app.views.due import shed_rows
from middlecut.web.visit import Visit, Visiting

__all__ = ["router"]

router = APIRouter()


@router.get("/due.ics")
def show(visit: Visiting) -> Response:
    """Give every date that is known, with an id that stays the same."""
    rows = shed_rows(visit.record, now=visit.now)
    dates = [(row, item) for row in rows for item in row.due]
    return Response(
        _calendar(visit, dates),
        media_type="text/calendar",
        headers={"content-disposition": 'attachment; filename="middlecut-due.ics"'},
    )


def _calendar(visit: Visit, dates: list[tuple[ShedRow, DueItem]]) -> bytes:
    from icalendar import Calendar, Event  # noqa: PLC0415 - only here

    calendar = Calendar()
    calendar.add("prodid", "-//middlecut//due dates//EN")
    calendar.add("version", "2.0")
    for row, item in dates:
        event = Event()
        name = f"{row.batch}-{item.step}-{item.key or item.what}"
        event.add("uid", name.replace(" ", "-") + "@middlecut")
        event.add("dtstamp", visit.now.astimezone(UTC))
        event.add("dtstart", item.at.astimezone(UTC))
        event.add("dtend", item.at.astimezone(UTC) + timedelta(minutes=30))
        event.add("summary", f"{row.name}: {item.what}")
        event.add("description", f"Step {item.step}{_between(visit, item)}")
        calendar.add_component(event)
    return bytes(calendar.to_ical())


def _between(visit: Visit, item: DueItem) -> str:
    if item.low is None or item.high is None or item.low == item.high:
        return ""
    low, high = (visit.preferences.local(one) for one in (item.low, item.high))
    return f"; expected between {low:%Y-%m-%d %H:%M} and {high:%Y-%m-%d %H:%M}"
