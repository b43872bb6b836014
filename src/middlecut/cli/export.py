# SPDX-License-Identifier: MIT
"""``middlecut export``: the record as text."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from middlecut.cli.doors import Place, opened
from middlecut.cli.options import Force, Out
from middlecut.errors import InputError

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

    ending = Form.jsonl if form is not None or out is None else _by_ending(out)
    with opened(context, record) as store:
        lines = (
            csv_lines(store.read_all())
            if (form or ending) is Form.csv
            else json_lines(store.rows())
        )
        text = "".join(lines)
        kept = Path(store.location)
    if out is None:
        say(text)
    else:
        write_new(out, text, force=force, option="--out", source=kept)


def _by_ending(out: Path) -> Form:
    """Return the form that the name of a file chooses."""
    match out.suffix.lower():
        case ".csv":
            return Form.csv
        case "" | ".jsonl" | ".txt":
            return Form.jsonl
        case other:
            raise InputError(
                "--out",
                str(out),
                f"the ending of the name chooses the form, and {other} is neither .jsonl nor .csv",
                "Take one of these, or add --form.",
            )
