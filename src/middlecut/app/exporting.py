# SPDX-License-Identifier: MIT
"""The record as text: JSON Lines that can be restored, and a table for a spreadsheet."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Iterator

from middlecut.app.batch_events import ReadingCorrected, ReadingTaken
from middlecut.app.codec import canonical, encode_body, render_utc, row_from_mapping, row_to_mapping
from middlecut.app.events import Event, Row
from middlecut.app.quantities import QUANTITIES
from middlecut.errors import StoreError
from middlecut.units import DIMENSIONS

__all__ = ["COLUMNS", "csv_lines", "json_lines", "read_json_lines"]

COLUMNS = (
    "sequence",
    "stream",
    "version",
    "id",
    "type",
    "utc",
    "entered_utc",
    "synced_utc",
    "actor",
    "device",
    "step",
    "quantity",
    "value",
    "unit",
    "temperature_K",
    "as_entered",
    "target",
    "text",
    "body",
)
"""Columns of the table; values in SI units."""

_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def json_lines(rows: Iterable[Row]) -> Iterator[str]:
    """Give each row as a line of JSON, with its digest; :func:`read_json_lines` takes it back."""
    for row in rows:
        yield canonical({**row_to_mapping(row), "payload": json.loads(row.payload)}) + "\n"


def read_json_lines(lines: Iterable[str]) -> Iterator[Row]:
    """Give the rows of an export in JSON Lines.

    Raises
    ------
    StoreError
        If a line is no row of a record; it says which.
    """
    for number, line in enumerate(lines, start=1):
        if not line.strip():
            continue
        try:
            values = json.loads(line)
            row = row_from_mapping({**values, "payload": canonical(values["payload"])})
        except (ValueError, TypeError, KeyError, RecursionError, StoreError):
            raise StoreError(f"Line {number} of the file is no event of a record.") from None
        yield row


def csv_lines(events: Iterable[Event]) -> Iterator[str]:
    """Give the table of the record: a header, then a line an event.

    Words that a spreadsheet would take for a formula get an apostrophe before them.
    """
    quantities: dict[str, str] = {}
    yield _csv(COLUMNS)
    for event in events:
        body = event.body
        if isinstance(body, ReadingTaken):
            quantities[event.id] = body.quantity
        quantity = getattr(body, "quantity", "")
        if isinstance(body, ReadingCorrected):
            quantity = quantities.get(body.target, "")
        kind = QUANTITIES.get(quantity)
        cells: tuple[object, ...] = (
            event.sequence,
            event.stream,
            event.version,
            event.id,
            event.type,
            render_utc(event.utc),
            render_utc(event.entered_utc),
            render_utc(event.synced_utc),
            event.who.actor,
            event.who.device,
            getattr(body, "step", None),
            quantity,
            getattr(body, "value", None),
            DIMENSIONS[kind.dimension].si if kind else "",
            getattr(body, "temperature", None),
            getattr(body, "as_entered", ""),
            getattr(body, "target", ""),
            next((t for name in ("text", "note", "reason") if (t := getattr(body, name, ""))), ""),
            canonical(encode_body(body)),
        )
        yield _csv(cells)


def _csv(cells: Iterable[object]) -> str:
    line = io.StringIO()
    csv.writer(line, lineterminator="\r\n").writerow([_cell(cell) for cell in cells])
    return line.getvalue()


def _cell(value: object) -> object:
    if isinstance(value, str) and value.startswith(_FORMULA):
        return f"'{value}"
    if isinstance(value, float):
        return float(f"{value:.9g}")  # 250 mL, not 0.00024999999981639465; the JSON has every digit
    return value
