# SPDX-License-Identifier: MIT
"""Where a command's result goes: the terminal, a pipe or a file."""

from __future__ import annotations

import contextlib
import errno
import json
import os
import re
import shutil
import sys
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TextIO

from middlecut.errors import InputError

__all__ = ["check_new", "columns", "say", "say_json", "to_json", "working", "write_new"]

_MARKS = (
    (re.compile(r"^[^\n]+(?=\n(?:={3,}|-{3,})$)", re.MULTILINE), "1"),
    (re.compile(r"\bDANGER\b"), "1;31"),
    (re.compile(r"\bWATCH\b"), "1;33"),
)


_ELSEWHERE = "Name a file in a folder that exists and that you may write to."
_FULL = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EFBIG})


def columns() -> int:
    """Return how wide text should be set: the terminal's width within 72 to 100."""
    return min(max(shutil.get_terminal_size((88, 24)).columns, 72), 100)


def say(text: str) -> None:
    """Print a result, with a little colour on a terminal and never elsewhere."""
    if _colours(sys.stdout):
        for pattern, code in _MARKS:
            text = pattern.sub(f"\033[{code}m\\g<0>\033[0m", text)
    try:
        sys.stdout.write(text if text.endswith("\n") else f"{text}\n")
        sys.stdout.flush()
    except BrokenPipeError:
        # The reader (a pager, head) has seen enough; that is no fault.
        sys.stdout = Path(os.devnull).open("w", encoding="utf-8")  # noqa: SIM115 - until exit
        raise SystemExit(0) from None
    except OSError as error:
        # What is still to be written out would fail once more when the program ends.
        sys.stdout = Path(os.devnull).open("w", encoding="utf-8")  # noqa: SIM115 - until exit
        raise InputError(
            "output",
            "standard output",
            f"the answer cannot be written there ({error.strerror or error})",
            "Make room there, or send it to another place; what is there now is not whole.",
        ) from error


def to_json(value: Mapping[str, object]) -> str:
    """Return a result as JSON text; a number that is not finite is a fault."""
    return json.dumps(value, indent=2, ensure_ascii=False, allow_nan=False)


def say_json(value: Mapping[str, object]) -> None:
    """Print a result as JSON."""
    say(to_json(value))


def check_new(path: Path, *, force: bool, option: str, source: Path | None = None) -> None:
    """Refuse a path where a file stands already, unless ``force``; never write onto the input.

    Parameters
    ----------
    path : pathlib.Path
    force : bool
        Whether an existing file may be replaced.
    option : str
        The option that named the file, for the error.
    source : pathlib.Path or None
        The file that was read, which is never replaced, not even with ``force``.

    Raises
    ------
    InputError
        If the file exists, is the one that was read, or could not be written there: better said
        before the work than after it.
    """
    if source is not None and _same_file(path, source):
        raise InputError(
            option,
            str(path),
            "this command reads that file, and never writes onto what it reads",
            "Name another file.",
        )
    if path.exists() and not force:
        raise InputError(
            option, str(path), "that file exists", "Name another file, or add --force."
        )
    reason = _unwritable(path)
    if reason:
        raise InputError(option, str(path), f"it cannot be written ({reason})", _ELSEWHERE)


def _unwritable(path: Path) -> str:
    """Return why no file can be written under a name, as far as that shows before; else ""."""
    if path.is_dir():
        return "that is a folder"
    if not path.parent.is_dir():
        return f"there is no folder {path.parent}"
    return "" if os.access(path.parent, os.W_OK) else f"{path.parent} may not be written to"


def write_new(
    path: Path, content: str | bytes, *, force: bool, option: str, source: Path | None = None
) -> None:
    """Write a file whole or not at all; an existing file stays unless ``force``.

    Parameters
    ----------
    path : pathlib.Path
    content : str or bytes
    force : bool
        Whether an existing file may be replaced.
    option : str
        The option that named the file, for the error.
    source : pathlib.Path or None
        The file that was read, which is never replaced, not even with ``force``.

    Raises
    ------
    InputError
        If the file exists, is the one that was read, or cannot be written.
    """
    check_new(path, force=force, option=option, source=source)
    part = path.with_name(f".{path.name}.part")
    try:
        part.write_bytes(content if isinstance(content, bytes) else content.encode())
        part.replace(path)
    except OSError as error:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)
        raise InputError(
            option,
            str(path),
            f"it cannot be written ({error.strerror or error})",
            "Make room there, or name a file on another disk; nothing unfinished was left."
            if error.errno in _FULL
            else _ELSEWHERE,
        ) from error


@contextlib.contextmanager
def working(what: str) -> Iterator[None]:
    """Show on a terminal that something longer is under way."""
    if not sys.stderr.isatty() or os.environ.get("TERM") == "dumb":
        yield
        return
    from rich.console import Console  # noqa: PLC0415 - only on a terminal

    with Console(stderr=True).status(what):
        yield


def _same_file(path: Path, source: Path) -> bool:
    """Say whether two names are one file; links count, missing files do not."""
    try:
        return path.samefile(source)
    except OSError:
        return False


def _colours(stream: TextIO) -> bool:
    return stream.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
