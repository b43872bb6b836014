# SPDX-License-Identifier: MIT
"""The record: every event, what was put right, the account of pure alcohol, and ways out of it."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from typing import Annotated, Literal

from fastapi import APIRouter, Form, Query
from starlette.responses import Response

from middlecut.app.alcohol import alcohol_sums, overdrawn
from middlecut.app.codec import render_utc
from middlecut.app.exporting import csv_lines, json_lines
from middlecut.app.verifying import Verdict, rebuild, verify
from middlecut.app.views.history import AccountLine, account_lines, history
from middlecut.web.menu import MenuEntry
from middlecut.web.visit import Visit, Visiting

__all__ = ["MENU", "router"]

MENU = MenuEntry(70, "Record", "/record")
router = APIRouter()

Period = Literal["month", "quarter", "year"]
_Period = Annotated[str, Query(max_length=10)]
_LARGEST = 2**53


@router.get("/record")
def show(
    visit: Visiting, *, period: _Period = "month", before: Annotated[int, Query(ge=0)] = 0
) -> Response:
    """Show the account and the newest events."""
    return _page(visit, period=period, before=before)


@router.post("/record/verify")
def check(visit: Visiting, mend: Annotated[str, Form()] = "") -> Response:
    """Read the whole record again and compare; compute projections again if asked."""
    verdict = verify(visit.record.store)
    mended = bool(mend) and bool(verdict.problems) and not verdict.damaged
    if mended:
        rebuild(visit.record.store)
    if visit.fragment:
        return visit.page("record/verdict.html", verdict=verdict, mended=mended)
    return _page(visit, period="month", before=0, verdict=verdict, mended=mended)


@router.get("/record/events.jsonl")
def export_lines(visit: Visiting) -> Response:
    """Give the whole record as JSON Lines: an export, and a backup that can be put back."""
    text = "".join(json_lines(visit.record.store.rows()))
    return _file(visit, text, "application/x-ndjson", "record", "jsonl")


@router.get("/record/events.csv")
def export_table(visit: Visiting) -> Response:
    """Give every event as a table for a spreadsheet."""
    text = "".join(csv_lines(visit.record.store.read_all()))
    return _file(visit, text, "text/csv", "events", "csv")


@router.get("/record/alcohol.csv")
def export_account(visit: Visiting) -> Response:
    """Give every line of the account of pure alcohol as a table."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(
        ("utc", "batch", "name", "step", "kind", "what", "volume_m3", "strength", "pure_alcohol_m3")
    )
    for line in _lines(visit):
        entry = line.entry
        words = (_safe(text) for text in (line.name, entry["step"], entry["kind"], entry["what"]))
        exact = (entry["volume"], entry["strength"], entry["pure_alcohol"])
        numbers = (None if one is None else float(f"{one:.9g}") for one in exact)
        writer.writerow((render_utc(line.at), line.batch, *words, *numbers))
    return _file(visit, out.getvalue(), "text/csv", "pure-alcohol", "csv")


def _safe(text: str) -> str:
    """Keep a spreadsheet from taking somebody's words for a formula."""
    return f"'{text}" if text.startswith(("=", "+", "-", "@", "\t", "\r")) else text


def _file(visit: Visit, text: str, kind: str, name: str, ending: str) -> Response:
    day = f"{visit.preferences.local(visit.now):%Y-%m-%d}"
    head = {"content-disposition": f'attachment; filename="middlecut-{name}-{day}.{ending}"'}
    return Response(text.encode(), media_type=f"{kind}; charset=utf-8", headers=head)


def _names(visit: Visit) -> Mapping[str, str]:
    batches = (stream.partition("/")[2] for stream in visit.record.store.streams("batch"))
    return {batch: visit.record.batch(batch).name for batch in batches}


def _lines(visit: Visit) -> tuple[AccountLine, ...]:
    return account_lines(visit.record.store.documents("alcohol"), _names(visit))


def _page(
    visit: Visit,
    *,
    period: str,
    before: int,
    verdict: Verdict | None = None,
    mended: bool = False,
) -> Response:
    chosen: Period = "year" if period == "year" else "quarter" if period == "quarter" else "month"
    zone = visit.preferences.local(visit.now).tzinfo
    documents = visit.record.store.documents("alcohol")
    return visit.page(
        "record/record.html",
        history=history(visit.record, before=min(before, _LARGEST)),
        period=chosen,
        sums=alcohol_sums(documents, chosen, zone=zone)
        if zone
        else alcohol_sums(documents, chosen),
        lines=_lines(visit),
        overdrawn=overdrawn(documents),
        names=_names(visit),
        verdict=verdict,
        mended=mended,
        location=visit.record.store.location,
    )
