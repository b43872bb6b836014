# SPDX-License-Identifier: MIT
"""What is due as a calendar file, for the calendar a person already looks at."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from fastapi import APIRouter
from starlette.responses import Response

from middlecut.app.projections import DueItem, ShedRow, shed
from middlecut.web.visit import Visiting

__all__ = ["router"]

router = APIRouter()


@router.get("/due.ics")
def show(visit: Visiting) -> Response:
    """Give every date that is known, with an id that stays the same."""
    rows = shed(visit.record.store.documents("shed"), now=visit.now)
    dates = [(row, item) for row in rows for item in row.due]
    return Response(
        _calendar(dates, visit.now),
        media_type="text/calendar",
        headers={"content-disposition": 'attachment; filename="middlecut-due.ics"'},
    )


def _calendar(dates: list[tuple[ShedRow, DueItem]], now: datetime) -> bytes:
    from icalendar import Calendar, Event  # noqa: PLC0415 - only here

    calendar = Calendar()
    calendar.add("prodid", "-//middlecut//due dates//EN")
    calendar.add("version", "2.0")
    for row, item in dates:
        event = Event()
        event.add("uid", f"{row.batch}-{item.step}-{item.what}".replace(" ", "-") + "@middlecut")
        event.add("dtstamp", now.astimezone(UTC))
        event.add("dtstart", item.at.astimezone(UTC))
        event.add("dtend", item.at.astimezone(UTC) + timedelta(minutes=30))
        event.add("summary", f"{row.name}: {item.what}")
        event.add("description", f"Step {item.step}")
        calendar.add_component(event)
    return bytes(calendar.to_ical())
