# SPDX-License-Identifier: MIT
"""Take a plan's text from its file and parse it; what is no plan at all is refused in words."""

from __future__ import annotations

import errno
import re
import tomllib
from collections.abc import Mapping
from pathlib import Path

from middlecut.errors import PlanError, Problem
from middlecut.plan.examples import example_names

__all__ = ["LARGEST", "TOO_DEEP", "parse_text", "read_file", "refused"]

LARGEST = 1_000_000
"""Bytes a plan may have."""

LONGEST_LINE = 4_000
MOST_DOTS = 60

_UNREADABLE = {
    errno.ENOENT: ("there is no such file", "Check the name and the folder."),
    errno.ENOTDIR: ("there is no such folder", "Check the name and the folder."),
    errno.EISDIR: ("that is a folder", "Name the plan file in it."),
    errno.EACCES: ("you may not read it", "Allow yourself to read it, or name a copy."),
}
"""Why a file cannot be read and what to do, by the error of the system."""

_UNCLOSED = "a closing quote is missing"
_TOML_WORDS = (
    ("Illegal character '\\", _UNCLOSED, 'Add the closing " where the text ends.'),
    ("Unterminated string", _UNCLOSED, 'Add the closing " where the text ends.'),
    ('Expected "\'"', _UNCLOSED, "Add the closing ' where the text ends."),
)
"""What the parser says, what is meant by it, and what to do."""

TOO_DEEP = ("tables or lists are nested too deeply", "A plan needs three levels at most.")


def refused(
    path: str, key: str, message: str, remedy: str = "", line: int | None = None
) -> PlanError:
    """Return the error for one thing that makes a plan no plan."""
    return PlanError(
        path, (Problem(key, "", f"{message[:1].upper()}{message[1:]}.", remedy, line),)
    )


def read_file(path: str) -> str:
    """Return the text of a plan file, or raise the PlanError that says why it cannot be read."""
    try:
        with Path(path).open("rb") as file:
            raw = file.read(LARGEST + 1)
    except (OSError, ValueError) as error:
        told = getattr(error, "strerror", None) or "the name cannot be used"
        usual = (told, "Check the name and the folder.")
        reason, remedy = _UNREADABLE.get(getattr(error, "errno", None) or 0, usual)
        if path in example_names():
            name = "" if path == "demo" else f" {path}"
            remedy = (
                f"An example that comes along has that name: middlecut demo{name} --save "
                f"{path}.toml writes it as a file, middlecut demo{name} predicts it."
            )
        raise refused(path, "the file", f"it cannot be read: {reason}", remedy) from None
    if len(raw) > LARGEST:
        raise refused(
            path, "the file", "it is larger than 1 MB", "A plan is a short text; is this one?"
        )
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise refused(
            path, "the file", "it is not text in UTF-8", "Save it as UTF-8 text.", line
        ) from None


def _check_text(text: str, path: str) -> None:
    """Refuse what would keep the TOML parser busy for minutes."""
    if not text.strip():
        raise refused(
            path, "the file", "it is empty", "Write a [batch] section and at least one [[step]]."
        )
    if len(text) > LARGEST:
        raise refused(path, "the file", "it is larger than 1 MB", "A plan is a short text.")
    for number, line in enumerate(text.split("\n"), start=1):
        if len(line) > LONGEST_LINE:
            message = f"this line has more than {LONGEST_LINE} characters"
            raise refused(path, "the file", message, "Break it into several lines.", number)
        if line.count(".") > MOST_DOTS and _longest_key(line) > MOST_DOTS:
            message = f"a key in this line has more than {MOST_DOTS} points"
            raise refused(path, "the file", message, "Shorten the key.", number)


def _longest_key(line: str) -> int:
    """Return the most points that may belong to one dotted key of a line."""
    if line.lstrip().startswith("#"):
        return 0
    before = line.split("=")
    keys = before[:-1] if len(before) > 1 else before
    return max(re.split("[{,]", key)[-1].count(".") for key in keys)


def parse_text(text: str, path: str) -> Mapping[str, object]:
    """Return the document of a plan's text, or raise the PlanError that says what is wrong."""
    _check_text(text, path)
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise refused(path, "the file", *TOO_DEEP) from None
    except ValueError as error:
        message = str(error)
        found = re.search(r" \(at (?:line (\d+), column \d+|end of document)\)", message)
        line = None
        if found:
            line = int(found.group(1)) if found.group(1) else text.rstrip().count("\n") + 1
            message = message.replace(found.group(), "")
        remedy = 'A line is key = "value" or a [section]; text and quantities stand in quotes.'
        for start, meant, then in _TOML_WORDS:
            if message.startswith(start):
                message, remedy = meant, then
        raise refused(path, "the file", f"this is not TOML: {message}", remedy, line) from None
