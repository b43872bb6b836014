# SPDX-License-Identifier: MIT
"""``middlecut calibrate``: what readings or laboratory results say of a still, a wash, a factor."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from middlecut.cli.doors import Place
from middlecut.cli.options import Force, Json, System, Units

if TYPE_CHECKING:
    from middlecut.cli.fits import Found

__all__ = ["calibrate"]


def calibrate(
    context: typer.Context,
    plan: Annotated[
        Path | None,
        typer.Argument(
            metavar="[PLAN]",
            help="The plan file (TOML) that was carried out; left out with --batch.",
            show_default=False,
        ),
    ] = None,
    *,
    step: Annotated[
        str,
        typer.Option(
            "--step",
            metavar="ID",
            help="The distil or ferment step; with --laboratory a steep or wash step too.",
            show_default=False,
        ),
    ],
    readings: Annotated[
        list[Path] | None,
        typer.Option(
            "--readings",
            metavar="FILE",
            help="CSV of what was read and done, as follow takes it; again for another run of the "
            "same step.",
            show_default=False,
        ),
    ] = None,
    batch: Annotated[
        str | None,
        typer.Option(
            "--batch",
            metavar="NAME",
            help="A batch of the record in place of a plan and readings: its name or id.",
            show_default=False,
        ),
    ] = None,
    laboratory: Annotated[
        Path | None,
        typer.Option(
            "--laboratory",
            metavar="FILE",
            help="CSV of measured compounds in place of readings: lot, compound, value, "
            "uncertainty.",
            show_default=False,
        ),
    ] = None,
    charge: Annotated[
        str | None,
        typer.Option(
            "--charge",
            metavar="VOLUME",
            help='What was really loaded: "18 L"; without it, what the plan predicts.',
            show_default=False,
        ),
    ] = None,
    charge_strength: Annotated[
        str | None,
        typer.Option(
            "--charge-strength",
            metavar="STRENGTH",
            help='Its true strength: "30 %vol".',
            show_default=False,
        ),
    ] = None,
    write: Annotated[
        Path | None,
        typer.Option(
            "--write",
            metavar="NEW",
            help="Keep the fit: .json the still or the factors with all that is known of them, for "
            "predict; .toml the plan with the fitted values in it.",
            show_default=False,
        ),
    ] = None,
    profile: Annotated[
        bool,
        typer.Option(
            "--profile",
            help="Find the intervals of the still without asking for symmetry; takes a minute.",
        ),
    ] = False,
    record: Place = None,
    json: Json = False,
    units: Units = System.metric,
    force: Force = False,
) -> None:
    """Fit a still, a fermentation or factors of compounds to what was measured.

    Says each fitted value with its interval, what the readings cannot tell, whether to trust it,
    and how far the readings lay from the plan before and lie from the fit now.
    """
    from middlecut.cli.calibrating import Asked, check_ending, find  # noqa: PLC0415 - numerics
    from middlecut.cli.output import (  # noqa: PLC0415 - fast --help
        check_new,
        columns,
        say,
        say_json,
        write_new,
    )

    asked = Asked(
        plan=plan,
        step=step,
        readings=tuple(readings or ()),
        batch=batch,
        laboratory=laboratory,
        charge=charge,
        charge_strength=charge_strength,
        profile=profile,
    )
    asked.check()
    if write is not None:
        check_ending(write)
        check_new(write, force=force, option="--write", source=plan)
    found: Found = find(asked, context, record)
    if write is not None:
        write_new(write, found.kept(write), force=force, option="--write", source=plan)
    if json:
        page: dict[str, Any] = found.to_dict()
        say_json(page if write is None else {**page, "written": str(write)})
        return
    say("\n".join(found.lines(units, columns())))
    if write is not None:
        say(f"\nWritten to {write}. {found.next(write)}")
