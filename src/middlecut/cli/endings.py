# SPDX-License-Identifier: MIT
"""How a command ends: exit codes, sentences for errors, and the report of an unexpected fault."""

from __future__ import annotations

import os
import platform
import sys
import traceback
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from secrets import token_hex

from middlecut.errors import (
    BalanceError,
    CancelledError,
    ConflictError,
    ConvergenceError,
    InputError,
    MiddlecutError,
    NotFoundError,
    OutOfRangeError,
    PlanError,
    StoreError,
)

__all__ = [
    "DONE",
    "EXIT_CODES",
    "FAULT",
    "INPUT",
    "INTERRUPTED",
    "NUMERICAL",
    "RECORD",
    "WARNED",
    "exit_code",
    "report_fault",
    "sentence",
]

DONE, FAULT, INPUT, NUMERICAL, RECORD, WARNED, INTERRUPTED = 0, 1, 2, 3, 4, 5, 130

EXIT_CODES = (
    (DONE, "done"),
    (FAULT, "an unexpected fault; a report was written, its place is named"),
    (INPUT, "something given cannot be used: a plan, a value, a file"),
    (NUMERICAL, "a numerical method failed, or an account did not close"),
    (RECORD, "the record cannot be read or written, is damaged, or stands in the way"),
    (WARNED, "check: the plan can be carried out, but has dangers to mend"),
    (INTERRUPTED, "interrupted by the person at the keyboard"),
)


def exit_code(error: MiddlecutError) -> int:
    """Return the exit code that belongs to an error."""
    if isinstance(error, InputError | NotFoundError):
        return INPUT
    if isinstance(error, CancelledError):
        return INTERRUPTED
    if isinstance(error, ConvergenceError | BalanceError):
        return NUMERICAL
    if isinstance(error, StoreError | ConflictError):
        return RECORD
    return FAULT


def sentence(error: MiddlecutError) -> str:
    """Return the error as lines for a person."""
    text = str(error)
    if isinstance(error, PlanError):
        count = len(error.problems)
        head = "One thing stands" if count == 1 else f"{count} things stand"
        return f"{head} in the way of this plan:\n{text}"
    if isinstance(error, OutOfRangeError):
        from middlecut.units.worded import worded  # noqa: PLC0415 - only when needed

        value, allowed = worded(error)
        return f"{error.field}: {value} is not usable; {allowed}. {error.remedy}".rstrip()
    return text


def report_fault(fault: BaseException, arguments: Sequence[str]) -> str:
    """Write the report of an unexpected fault and return what to tell the person.

    Parameters
    ----------
    fault : BaseException
        What was raised.
    arguments : sequence of str
        The command as it was given.

    Returns
    -------
    text : str
        Sentences that name the file.
    """
    now = datetime.now(UTC)
    name = f"middlecut-fault-{now:%Y%m%dT%H%M%SZ}-{token_hex(3)}.txt"
    report = _report(fault, arguments, now)
    opening = (
        f"Something went wrong inside middlecut that it did not foresee "
        f"({type(fault).__name__}). This is a fault of middlecut, not yours."
    )
    for folder in _report_folders():
        try:
            folder.mkdir(parents=True, exist_ok=True)
            (folder / name).write_text(report, encoding="utf-8")
        except OSError:
            continue
        return f"{opening}\nA report was written to {folder / name}; please pass it on."
    return f"{opening}\nNo report file could be written; this is what it would say:\n{report}"


def _report_folders() -> tuple[Path, ...]:
    chosen = os.environ.get("MIDDLECUT_STATE")
    if chosen:
        return (Path(chosen), Path.cwd())
    import platformdirs  # noqa: PLC0415 - only needed here

    return (Path(platformdirs.user_state_dir("middlecut", appauthor=False)), Path.cwd())


def _report(fault: BaseException, arguments: Sequence[str], now: datetime) -> str:
    from middlecut import __version__  # noqa: PLC0415 - only needed here

    lines = (
        f"middlecut {__version__}, fault report of {now:%Y-%m-%d %H:%M:%S} UTC",
        f"Python {sys.version.split()[0]} on {platform.platform()}",
        f"command: {' '.join(arguments)}",
        "",
        "The contents of your plan are not in this report.",
        "",
        "".join(traceback.format_exception(fault)),
    )
    return "\n".join(lines)
