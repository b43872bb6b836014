# SPDX-License-Identifier: MIT
"""Show a prediction: as text, Markdown, CSV or JSON, on the terminal or in a file."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING

from middlecut.cli.options import System
from middlecut.cli.output import columns, say, to_json, write_new
from middlecut.errors import InputError

if TYPE_CHECKING:
    from middlecut.plan.predict import Prediction

__all__ = ["Form", "choose_form", "deliver", "form_text"]


class Form(StrEnum):
    """A form a prediction can be shown in."""

    text = "text"
    markdown = "markdown"
    csv = "csv"
    json = "json"


_BY_SUFFIX = {".md": Form.markdown, ".csv": Form.csv, ".json": Form.json}


def choose_form(*, json: bool, markdown: bool, csv: bool, out: Path | None) -> Form:
    """Return the one form that was asked for, by option or by the name of the file."""
    wanted = [
        form
        for form, asked in ((Form.json, json), (Form.markdown, markdown), (Form.csv, csv))
        if asked
    ]
    if len(wanted) > 1:
        raise InputError(
            "form",
            " ".join(f"--{form}" for form in wanted),
            "one form at a time",
            "Leave out all but one.",
        )
    if wanted:
        return wanted[0]
    return _BY_SUFFIX.get(out.suffix.lower(), Form.text) if out else Form.text


def form_text(prediction: Prediction, form: Form, system: System) -> str:
    """Return the prediction in one form."""
    if form is Form.json:
        return to_json(prediction.to_dict())
    from middlecut.plan.render import (  # noqa: PLC0415 - heavy, and not needed for JSON
        render_csv,
        render_markdown,
        render_text,
    )
    from middlecut.plan.sheet import make_sheet  # noqa: PLC0415 - the same

    sheet = make_sheet(prediction)
    if form is Form.markdown:
        return render_markdown(sheet, system=system.value)
    if form is Form.csv:
        return render_csv(sheet, system=system.value)
    return render_text(sheet, width=columns(), system=system.value)


def deliver(text: str, out: Path | None, *, force: bool) -> None:
    """Print the text, or write it to a file and say so."""
    if out is None:
        say(text)
        return
    write_new(out, text if text.endswith("\n") else f"{text}\n", force=force, option="--out")
    say(f"Written to {out}.")
