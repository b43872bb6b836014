# SPDX-License-Identifier: MIT
"""``middlecut scale``: the same plan for a wanted number of bottles or volume."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from middlecut.cli.options import Force, Json, PlanFile, System, Units

if TYPE_CHECKING:
    from collections.abc import Mapping

    from middlecut.plan.scale import ScaledPlan

__all__ = ["scale"]


def scale(
    plan: PlanFile,
    *,
    bottles: Annotated[
        int | None,
        typer.Option("--bottles", help="How many full bottles.", show_default=False),
    ] = None,
    volume: Annotated[
        str | None,
        typer.Option(
            "--volume",
            help='How much instead: "6 L", of the lot that is bottled, else of the one made last.',
            show_default=False,
        ),
    ] = None,
    strength: Annotated[
        str | None,
        typer.Option("--strength", help='At another strength: "46 %vol".', show_default=False),
    ] = None,
    lot: Annotated[
        str | None,
        typer.Option(
            "--lot", metavar="NAME", help="Of another lot, with --volume.", show_default=False
        ),
    ] = None,
    margin: Annotated[
        str | None,
        typer.Option(
            "--margin",
            metavar="SHARE",
            help='A reserve on top, such as "2 %"; for bottles 1 % if left out.',
            show_default=False,
        ),
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
        check_new,
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
            "neither" if bottles is None else "both",
            "one of them is needed",
            'Write --bottles 12, or --volume "6 L".',
        )
    if bottles is not None and bottles < 1:
        raise InputError(
            "--bottles", bottles, "at least one bottle is needed", "Write --bottles 12."
        )
    litres = None if volume is None else parse_quantity(volume, "volume", field="--volume")
    target = None if strength is None else read_strength(strength, "--strength")
    if write is not None:
        check_new(write, force=force, option="--write", source=plan)
    spare = None if margin is None else parse_quantity(margin, "fraction", field="--margin")
    with working(f"Scaling {plan.name} ..."):
        from middlecut.cli.library import own_ingredients  # noqa: PLC0415 - loads the numerics
        from middlecut.plan.read import load_plan  # noqa: PLC0415 - the same
        from middlecut.plan.scale import scale as scale_plan  # noqa: PLC0415 - the same

        scaled = scale_plan(
            load_plan(plan, own_ingredients()),
            bottles=bottles,
            volume=litres,
            strength=target,
            lot=lot,
            margin=spare,
        )
    if write is not None:
        write_new(write, scaled.text, force=force, option="--write", source=plan)
    if json:
        say_json(scaled.to_dict())
        return
    say(scaled_text(scaled, system=units))
    if write is not None:
        say(f"\nWritten to {write}. Next: middlecut predict {write}")


def scaled_text(scaled: ScaledPlan, *, system: System) -> str:
    """Return what changes in the plan and what it gives, as text."""
    from middlecut.plan.scale_units import as_written  # noqa: PLC0415 - fast --help
    from middlecut.units import format_quantity  # noqa: PLC0415 - the same

    def shown(value: float, dimension: str = "volume") -> str:
        return format_quantity(value, dimension, system=system.value)

    spare = _spare(scaled)
    lines = [
        f"Fitted to {shown(scaled.wanted)} of {scaled.lot}"
        + (f", and {shown(spare)} to spare." if scaled.reserve and spare > 0.0 else "."),
        "",
        f"Every amount of the plan times {scaled.factor:.3f}, rounded:",
        "",
    ]
    width = max((len(change.key) for change in scaled.changes), default=0)
    for change in scaled.changes:
        before = shown(change.before, change.dimension)
        line = f"  {change.key:<{width}}  {before:>9}  ->  {change.text}"
        count = _charges_of(change.key, scaled.charges)
        if count > 1:
            each = as_written(change.text, change.after / count, change.dimension, 3)
            line += f" in all: {each} a charge"
        lines.append(line)
    split = {step: count for step, count in scaled.charges.items() if count > 1}
    if split:
        lines += ["", "To stay within the safe fill:"]
        lines += [f"  {step}: {count} charges, one after another" for step, count in split.items()]
    lines += ["", "This gives:", ""]
    for name, lot in scaled.prediction.left.items():
        lines.append(
            f"  {name}: {shown(lot.volume)} at {format_quantity(lot.strength, 'strength')}"
        )
    return "\n".join(lines)


def _spare(scaled: ScaledPlan) -> float:
    """Return how much more than was wanted the written plan gives. [m³ at 20 °C]."""
    from middlecut.steps.bottle import remainder_name  # noqa: PLC0415 - the numerics

    lots = scaled.prediction.lots
    parts = (lots.get(name) for name in (scaled.lot, remainder_name(scaled.lot)))
    return sum(lot.volume for lot in parts if lot is not None) - scaled.wanted


def _charges_of(key: str, charges: Mapping[str, int]) -> int:
    """Return into how many charges the step of a key is split."""
    return next((count for step, count in charges.items() if key.startswith(f'step."{step}".')), 1)
