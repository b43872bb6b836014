# SPDX-License-Identifier: MIT
"""``middlecut export``: the record as text."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import typer

from middlecut.cli.doors import Place, opened
from middlecut.cli.options import Force, Out

__all__ = ["Form", "export"]


class Form(StrEnum):
    """Forms of an export."""

    jsonl = "jsonl"
    csv = "csv"


def export(
    context: typer.Context,
    *,
    form: Annotated[
        Form | None,
        typer.Option(
            "--form",
            help="jsonl: everything, can be restored. csv: a table for a spreadsheet, in SI units.",
            show_default="by the ending of FILE, else jsonl",
        ),
    ] = None,
    record: Place = None,
    out: Out = None,
    force: Force = False,
) -> None:
    """Print every event, or write them to a file."""
    from middlecut.app.exporting import csv_lines, json_lines  # noqa: PLC0415 - fast --help
    from middlecut.cli.output import say, write_new  # noqa: PLC0415 - the same

    ending = Form.csv if out is not None and out.suffix.lower() == ".csv" else Form.jsonl
    with opened(context, record) as store:
        lines = (
            csv_lines(store.read_all())
            if (form or ending) is Form.csv
            else json_lines(store.rows())
        )
        text = "".join(lines)
    if out is None:
        say(text)
    else:
        write_new(out, text, force=force, option="--out")
