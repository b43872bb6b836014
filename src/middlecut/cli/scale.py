# SPDX-License-Identifier: MIT
"""``middlecut scale``: the same plan for a wanted number of bottles or volume."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from middlecut.cli.options import Force, Json, PlanFile, System, Units

__all__ = ["scale"]


def scale(
    plan: PlanFile,
    *,
    bottles: Annotated[
        int | None,
        typer.Option("--bottles", min=1, help="How many full bottles.", show_default=False),
    ] = None,
    volume: Annotated[
        str | None,
        typer.Option(
            "--volume", help='How much of the last lot instead: "6 L".', show_default=False
        ),
    ] = None,
    strength: Annotated[
        str | None,
        typer.Option("--strength", help='At another strength: "46 %vol".', show_default=False),
    ] = None,
    write: Annotated[
        Path | None,
        typer.Option("--write", metavar="NEW", help="Write the new plan.", show_default=False),
    ] = None,
    json: Json = False,
    units: Units = System.metric,
    force: Force = False,
) -> None:
    """Fit a plan to a wanted number of bottles or litres."""
    from middlecut.cli.output import (  # noqa: PLC0415 - fast --help
        say,
        say_json,
        working,
        write_new,
    )
    from middlecut.cli.scales import read_strength  # noqa: PLC0415 - loads the tables
    from middlecut.errors import InputError  # noqa: PLC0415 - fast --help
    from middlecut.units import parse_quantity  # noqa: PLC0415 - fast --help

    if (bottles is None) == (volume is None):
        raise InputError(
            "--bottles or --volume",
            "both" if bottles else "neither",
            "one of them is needed",
            'Write --bottles 12, or --volume "6 L".',
        )
    litres = None if volume is None else parse_quantity(volume, "volume", field="--volume")
    target = None if strength is None else read_strength(strength, "--strength")
    with working(f"Scaling {plan.name} ..."):
        from middlecut.plan.read import load_plan  # noqa: PLC0415 - loads the numerics
        from middlecut.plan.scale import scale as scale_plan  # noqa: PLC0415 - the same

        scaled = scale_plan(load_plan(plan), bottles=bottles, volume=litres, strength=target)
    if write is not None:
        write_new(write, scaled.text, force=force, option="--write")
    if json:
        say_json(scaled.to_dict())
        return
    say(scaled_text(scaled, system=units))
    if write is not None:
        say(f"\nWritten to {write}. Next: middlecut predict {write}")


def scaled_text(scaled: object, *, system: System) -> str:
    """Return what changes, as text."""
    return f"{scaled} {system}"
