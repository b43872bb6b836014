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


_BY_SUFFIX = {
    ".txt": Form.text,
    ".md": Form.markdown,
    ".csv": Form.csv,
    ".json": Form.json,
    "": Form.text,
}


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
    if out is None:
        return Form.text
    ending = out.suffix.lower()
    if ending not in _BY_SUFFIX:
        known = ", ".join(suffix for suffix in _BY_SUFFIX if suffix)
        raise InputError(
            "--out",
            str(out),
            f"the ending of the name chooses the form, and {ending} is none of {known}",
            "Take one of these, or add --markdown, --csv or --json.",
        )
    return _BY_SUFFIX[ending]


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


def deliver(text: str, out: Path | None, *, force: bool, source: Path | None = None) -> None:
    """Print the text, or write it to a file and say so."""
    if out is None:
        say(text)
        return
    content = text if text.endswith("\n") else f"{text}\n"
    write_new(out, content, force=force, option="--out", source=source)
    say(f"Written to {out}.")
