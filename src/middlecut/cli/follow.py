# SPDX-License-Identifier: MIT
"""``middlecut follow``: where a run or a fermentation is, and what is still to come."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from middlecut.cli.endings import INPUT
from middlecut.cli.options import Json, PlanFile, System, Units

if TYPE_CHECKING:
    from collections.abc import Sequence

    from middlecut.insight.fermentation_forecast import FermentationForecast
    from middlecut.insight.run_forecast import RunForecast
    from middlecut.insight.run_log_csv import RunLog
    from middlecut.plan.model import Plan

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
        Path | None,
        typer.Option(
            "--readings",
            metavar="FILE",
            help="CSV of what was read and done: time, quantity, value, temperature ...",
            show_default=False,
        ),
    ] = None,
    read: Annotated[
        list[str] | None,
        typer.Option(
            "--read",
            metavar="TEXT",
            help='One reading, such as "20 min, 73 %vol at 26 °C", "20 min, 1.2 L", "20 min, head '
            '79.3 °C" or "0 min, first drop"; may be given again, beside a file too.',
            show_default=False,
        ),
    ] = None,
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
    """Say where a run or a fermentation is and how it will go on, from the readings so far.

    Quantities of a run: distillate_strength (running from the spout now), collected_strength,
    collected_volume, collected_mass (all of it together), jar_strength, jar_volume,
    head_temperature, boiler_temperature, first_drop_time (from switching on), coolant_duty; of a
    fermentation: gravity, refraction. Marks: power-on, first-drop, power, coolant, cut, heat-off.

    Ends with code 2 when none of the readings can be used.
    """
    from middlecut.cli.follow_text import forecast_page, tally_of  # noqa: PLC0415 - the same
    from middlecut.cli.library import own_ingredients  # noqa: PLC0415 - fast --help
    from middlecut.cli.output import columns, say, say_json, working  # noqa: PLC0415 - the same
    from middlecut.units import parse_quantity  # noqa: PLC0415 - the same

    log = _log(readings, read or [])
    moment = log.last if now is None else parse_quantity(now, "duration", field="--now")
    with working("Running the still many times over ..."):
        from middlecut.plan.read import load_plan  # noqa: PLC0415 - numerics

        found = _forecast(load_plan(plan, own_ingredients()), step, log, moment, still)
    tally = tally_of(found, log)
    if tally.nothing_left:
        raise tally.refused(readings)
    if json:
        page: dict[str, Any] = found.to_dict()
        page["unreadable"] = [{"line": one.line, "reason": one.reason} for one in log.refused]
        page["taken"] = list(log.notes)
        say_json(page)
    else:
        say("\n".join(forecast_page(found, log, units, columns())))
    if tally.no_reading:
        raise typer.Exit(INPUT)


def _log(readings: Path | None, lines: Sequence[str]) -> RunLog:
    """Return what stands in the file and on the command line."""
    from middlecut.errors import InputError  # noqa: PLC0415 - fast --help
    from middlecut.insight.reading_line import parse_line  # noqa: PLC0415 - the same
    from middlecut.insight.run_log_csv import RunLog, read_run_log  # noqa: PLC0415 - the same

    if readings is None and not lines:
        raise InputError(
            "--readings",
            "nothing",
            "a file of readings, or a reading, is wanted",
            'Add --readings run.csv, or --read "20 min, 73 %vol at 26 °C".',
        )
    entries = tuple(parse_line(line) for line in lines)
    if readings is None:
        return RunLog(entries, ())
    log = read_run_log(readings)
    return RunLog((*log.entries, *entries), log.refused, log.notes)


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
