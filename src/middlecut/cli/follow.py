# SPDX-License-Identifier: MIT
"""``middlecut follow``: where a run or a fermentation is, and what is still to come."""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from middlecut.cli.options import Json, PlanFile, System, Units

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from middlecut.insight.fermentation_forecast import FermentationForecast
    from middlecut.insight.readings import Reading, Refusal
    from middlecut.insight.run_forecast import RunForecast
    from middlecut.insight.run_log_csv import RunLog
    from middlecut.plan.model import Plan
    from middlecut.steps.result import Caution

__all__ = ["follow"]


def follow(
    plan: PlanFile,
    *,
    step: Annotated[
        str,
        typer.Option(
            "--step", metavar="ID", help="The distil or ferment step.", show_default=False
        ),
    ],
    readings: Annotated[
        Path,
        typer.Option(
            "--readings",
            metavar="FILE",
            help="CSV of what was read and done: time, quantity, value, temperature ...",
            show_default=False,
        ),
    ],
    now: Annotated[
        str | None,
        typer.Option(
            "--now",
            metavar="TIME",
            help='The present moment on the clock of the file, such as "1 h 5 min"; without it, '
            "the last entry.",
            show_default=False,
        ),
    ] = None,
    still: Annotated[
        Path | None,
        typer.Option(
            "--still",
            metavar="FILE",
            help="A calibrated still in place of the plan's description.",
            show_default=False,
        ),
    ] = None,
    json: Json = False,
    units: Units = System.metric,
) -> None:
    """Say where a run or a fermentation is and how it will go on, from the readings so far."""
    from middlecut.cli.library import own_ingredients  # noqa: PLC0415 - fast --help
    from middlecut.cli.output import columns, say, say_json, working  # noqa: PLC0415 - the same
    from middlecut.insight.run_log_csv import read_run_log  # noqa: PLC0415 - the same
    from middlecut.units import parse_quantity  # noqa: PLC0415 - the same

    log = read_run_log(readings)
    moment = log.last if now is None else parse_quantity(now, "duration", field="--now")
    with working("Running the still many times over ..."):
        from middlecut.plan.read import load_plan  # noqa: PLC0415 - numerics

        found = _forecast(load_plan(plan, own_ingredients()), step, log, moment, still)
    if json:
        page: dict[str, Any] = found.to_dict()
        page["unreadable"] = [{"line": one.line, "reason": one.reason} for one in log.refused]
        say_json(page)
        return
    say("\n".join(_page(found, log.refused, units, columns())))


def _forecast(
    plan: Plan, step: str, log: RunLog, now: float, still: Path | None
) -> RunForecast | FermentationForecast:
    from middlecut.errors import InputError  # noqa: PLC0415 - fast --help
    from middlecut.insight.readings import Reading  # noqa: PLC0415 - the same

    if plan.step(step).kind == "ferment":
        from middlecut.insight.fermentation_forecast import (  # noqa: PLC0415 - the same
            forecast_fermentation,
        )

        if still is not None:
            raise InputError("--still", str(still), "a fermentation has no still", "Leave it out.")
        rows = [one for one in log.entries if isinstance(one, Reading)]
        return forecast_fermentation(plan, step, rows, now=now)
    from middlecut.insight.calibrated import load_still  # noqa: PLC0415 - the same
    from middlecut.insight.forecast import forecast_run  # noqa: PLC0415 - the same

    known = None if still is None else load_still(still)
    return forecast_run(plan, step, log.entries, now=now, still=known)


def _page(
    found: RunForecast | FermentationForecast,
    unreadable: Sequence[Refusal],
    units: System,
    width: int,
) -> list[str]:
    from middlecut.insight.run_forecast import (  # noqa: PLC0415 - fast --help
        RunForecast,
        run_sentences,
    )

    if isinstance(found, RunForecast):
        lines = _filled(run_sentences(found, system=units.value), width, "")
        lines += _cautions(found.cautions, width)
        for odd in found.contradictions:
            lines += ["", *_filled([odd.text], width, ""), *_filled(odd.meanings, width, "  - ")]
        marks = [
            f"mark {one.mark.kind} at {one.mark.time / 60.0:.1f} min: {one.reason}"
            for one in found.refused_marks
        ]
    else:
        from middlecut.insight.fermentation_forecast import (  # noqa: PLC0415 - the same
            fermentation_sentences,
        )

        lines = _filled(fermentation_sentences(found), width, "")
        lines += _cautions(found.cautions, width)
        lines += _filled(found.reasons, width, "")
        marks = []
    refused = [_refusal(one) for one in (*unreadable, *found.refused)]
    if refused or marks:
        lines += ["", "Not used", *_filled([*refused, *marks], width, "  - ")]
    if found.flagged:
        flagged = [_named(one.reading, one.reason) for one in found.flagged]
        lines += ["", "Used, but look at them", *_filled(flagged, width, "  - ")]
    return lines


def _cautions(cautions: Iterable[Caution], width: int) -> list[str]:
    texts = [f"{one.severity.upper()}: {one.text}" for one in cautions]
    return ["", *_filled(texts, width, "")] if texts else []


def _refusal(one: Refusal) -> str:
    if one.reading is None:
        return f"line {one.line}: {one.reason}"
    return _named(one.reading, one.reason)


def _named(reading: Reading, reason: str) -> str:
    from middlecut.units import format_quantity  # noqa: PLC0415 - fast --help

    return f"{reading.quantity} at {format_quantity(reading.time, 'duration')}: {reason}"


def _filled(texts: Iterable[str], width: int, first: str) -> list[str]:
    return [
        line
        for text in texts
        for line in textwrap.wrap(
            text, width, initial_indent=first, subsequent_indent=" " * len(first)
        )
    ]
