# SPDX-License-Identifier: MIT
"""What ``middlecut follow`` prints: first how much of what was written down could be used."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import TYPE_CHECKING

from middlecut.errors import InputError
from middlecut.insight.reading_names import NO_NAME, every_name
from middlecut.insight.readings import TWICE, Reading
from middlecut.insight.run_entries import REPLACED
from middlecut.insight.run_forecast import RunForecast, run_sentences
from middlecut.insight.run_marks import Mark
from middlecut.units import format_quantity

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from middlecut.cli.options import System
    from middlecut.insight.fermentation_forecast import FermentationForecast
    from middlecut.insight.readings import Refusal
    from middlecut.insight.run_log_csv import RunLog
    from middlecut.steps.result import Caution

__all__ = ["Tally", "forecast_page", "tally_of"]

_HARMLESS = (REPLACED, TWICE)
"""Reasons that only say that a row stands there in a better form."""


@dataclass(frozen=True, slots=True)
class Tally:
    """How much of what was written down could be used.

    Parameters
    ----------
    rows : int
        All that was written down.
    readings, used : int
        Readings among them, readable or not; those that count.
    marks : int
        Usable marks.
    reasons : tuple of str
        Why each of the others does not count, with where it stands.
    harmless : int
        How many of the reasons only say that the row stands there in a better form.
    """

    rows: int
    readings: int
    used: int
    marks: int
    reasons: tuple[str, ...]
    harmless: int

    @property
    def no_reading(self) -> bool:
        """Whether there are readings and none counts."""
        return self.readings > 0 and self.used == 0

    @property
    def nothing_left(self) -> bool:
        """Whether something was written down and nothing of it says anything."""
        return self.rows > 0 and self.used == 0 and self.marks == 0

    def refused(self, path: Path | None) -> InputError:
        """Return the refusal of readings of which none can be used."""
        listed = "\n".join(f"  - {one}" for one in self.reasons)
        names = f"\n{every_name()}" if NO_NAME in listed else ""
        who = f"none of your {self.rows} readings could"
        if self.rows == 1:
            who = "your one reading could not"
        ending = "The plan alone is what middlecut predict shows"
        return InputError(
            "--read" if path is None else "--readings",
            "what was read" if path is None else str(path),
            f"{who} be used, so there is no forecast:\n{listed}{names}\n{ending}",
        )

    def lead(self) -> list[str]:
        """Return the line that goes before everything else, if something is missing."""
        if self.no_reading:
            whole = f"None of your {self.readings} readings could"
            if self.readings == 1:
                whole = "Your one reading could not"
            plan = "what follows is only the plan, counted from your marks"
            return [f"{whole} be used; {plan}. The reasons:"]
        if not self.rows:
            plan = "Nothing was read or marked yet; what follows is only the plan, as if the first"
            return [f"{plan} drop (or the yeast) came at 0 min."]
        missing = len(self.reasons) - self.harmless
        if not missing:
            return []
        verb = "is" if missing == 1 else "are"
        return [
            f"{missing} of the {self.rows} rows you wrote down {verb} not used: see below, why."
        ]


def tally_of(found: RunForecast | FermentationForecast, log: RunLog) -> Tally:
    """Count what could be used.

    Parameters
    ----------
    found : RunForecast or FermentationForecast
    log : RunLog
        What it was made of.

    Returns
    -------
    Tally
    """
    done = [one for one in log.entries if isinstance(one, Mark)]
    bad_marks = [(one, "a fermentation has no marks.") for one in done]
    if isinstance(found, RunForecast):
        bad_marks = [(one.mark, one.reason) for one in found.refused_marks]
    given = [one for one in log.entries if isinstance(one, Reading)]
    reasons = [_refusal(one) for one in (*log.refused, *found.refused)]
    reasons += [
        f"mark {mark.kind} at {format_quantity(mark.time, 'duration')}: {reason}"
        for mark, reason in bad_marks
    ]
    return Tally(
        rows=len(log.entries) + len(log.refused),
        readings=len(given) + len(log.refused),
        used=len(given) - len(found.refused),
        marks=len(done) - len(bad_marks),
        reasons=tuple(reasons),
        harmless=sum(text.endswith(_HARMLESS) for text in reasons),
    )


def forecast_page(
    found: RunForecast | FermentationForecast, log: RunLog, units: System, width: int
) -> list[str]:
    """Return the lines of a forecast: what cannot be used, where it stands, what is to come.

    Parameters
    ----------
    found : RunForecast or FermentationForecast
    log : RunLog
        What it was made of.
    units : System
    width : int
        Columns.

    Returns
    -------
    list of str
    """
    tally = tally_of(found, log)
    lines = _filled(tally.lead(), width, "")
    unused = _unused(tally, width)
    if tally.no_reading:
        lines += unused
    lines += [""] if lines else []
    lines += _said(found, units, width)
    if not tally.no_reading:
        lines += unused
    if found.flagged:
        flagged = [_named(one.reading, one.reason) for one in found.flagged]
        lines += ["", "Used, but look at them", *_filled(flagged, width, "  - ")]
    if log.notes:
        lines += ["", *_filled(log.notes, width, "")]
    return lines


def _unused(tally: Tally, width: int) -> list[str]:
    if not tally.reasons:
        return []
    lines = [] if tally.no_reading else ["", "Not used"]
    lines += _filled(tally.reasons, width, "  - ")
    if any(NO_NAME in one for one in tally.reasons):
        lines += _filled([every_name()], width, "  ")
    return lines


def _said(found: RunForecast | FermentationForecast, units: System, width: int) -> list[str]:
    if isinstance(found, RunForecast):
        dangers = [one for one in found.cautions if one.severity == "danger"]
        others = [one for one in found.cautions if one.severity != "danger"]
        lines = [*_cautions(dangers, width)[1:], ""] if dangers else []
        lines += _filled(run_sentences(found, system=units.value), width, "")
        lines += _cautions(others, width)
        for odd in found.contradictions:
            lines += ["", *_filled([odd.text], width, ""), *_filled(odd.meanings, width, "  - ")]
        return lines
    from middlecut.insight.fermentation_forecast import (  # noqa: PLC0415 - only of a wash
        fermentation_sentences,
    )

    lines = _filled(fermentation_sentences(found), width, "")
    lines += _cautions(found.cautions, width)
    return lines + _filled(found.reasons, width, "")


def _cautions(cautions: Iterable[Caution], width: int) -> list[str]:
    texts = [f"{one.severity.upper()}: {one.text}" for one in cautions]
    return ["", *_filled(texts, width, "")] if texts else []


def _refusal(one: Refusal) -> str:
    if one.reading is None:
        return f"line {one.line}: {one.reason}"
    return _named(one.reading, one.reason)


def _named(reading: Reading, reason: str) -> str:
    return f"{reading.quantity} at {format_quantity(reading.time, 'duration')}: {reason}"


def _filled(texts: Iterable[str], width: int, first: str) -> list[str]:
    return [
        line
        for text in texts
        for line in textwrap.wrap(
            text, width, initial_indent=first, subsequent_indent=" " * len(first)
        )
    ]
