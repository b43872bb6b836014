# SPDX-License-Identifier: MIT
"""``middlecut predict``: what each step of a plan will do."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from middlecut.cli.options import Force, Json, Out, PlanFile, System, Units

__all__ = ["predict"]


def predict(
    plan: PlanFile,
    *,
    json: Json = False,
    markdown: Annotated[bool, typer.Option("--markdown", help="Print Markdown.")] = False,
    csv: Annotated[
        bool, typer.Option("--csv", help="Print a table of all numbers as CSV.")
    ] = False,
    curve: Annotated[
        str | None,
        typer.Option(
            "--curve",
            metavar="STEP",
            help="Print the dense run of one distil step as CSV instead of the sheet.",
            show_default=False,
        ),
    ] = None,
    draws: Annotated[
        int,
        typer.Option(
            "--draws",
            metavar="N",
            help="Give every number its range, from N random draws; 500 are good ones, 0 gives no "
            "ranges.",
            show_default=False,
        ),
    ] = 0,
    seed: Annotated[
        int, typer.Option("--seed", metavar="N", help="Seed of the draws.", show_default=False)
    ] = 0,
    changes: Annotated[
        list[str] | None,
        typer.Option(
            "--set",
            metavar="PLACE=VALUE",
            help='Change a number first, such as spirit.power="55 %"; may be given again.',
            show_default=False,
        ),
    ] = None,
    compare: Annotated[
        bool,
        typer.Option("--compare", help="Show only what the changes of --set make different."),
    ] = False,
    still: Annotated[
        Path | None,
        typer.Option(
            "--still",
            metavar="FILE",
            help="A calibrated still in place of the plan's description.",
            show_default=False,
        ),
    ] = None,
    factors: Annotated[
        Path | None,
        typer.Option(
            "--factors",
            metavar="FILE",
            help="With --draws: factors of compounds that calibrate --laboratory has narrowed.",
            show_default=False,
        ),
    ] = None,
    out: Out = None,
    units: Units = System.metric,
    force: Force = False,
) -> None:
    """Predict a plan and print its sheet."""
    from middlecut.cli.curve import check_run, curve_csv  # noqa: PLC0415 - fast --help
    from middlecut.cli.library import own_ingredients  # noqa: PLC0415 - fast --help
    from middlecut.cli.output import check_new, working  # noqa: PLC0415 - fast --help
    from middlecut.cli.ranges import compared, read_changes, with_ranges  # noqa: PLC0415 - the same
    from middlecut.cli.results import choose_form, deliver, form_text  # noqa: PLC0415 - the same
    from middlecut.errors import InputError  # noqa: PLC0415 - the same

    if curve is not None and (json or markdown):
        raise InputError("--curve", curve, "a curve is printed as CSV", "Leave the other form out.")
    wanted = read_changes(changes or [])
    files = [one for one in (still, factors) if one is not None]
    if compare and (not wanted or draws or files or curve is not None):
        raise InputError(
            "--compare",
            "--compare",
            "it shows what --set makes different, without draws, files or curve",
            'Add what to change, such as --set spirit.power="55 %".',
        )
    if out is not None:
        check_new(out, force=force, option="--out", source=plan)
    form = choose_form(json=json, markdown=markdown, csv=csv, out=out)
    with working(f"Predicting {plan.name} ..."):
        from middlecut.plan.read import load_plan  # noqa: PLC0415 - numerics

        read = load_plan(plan, own_ingredients())
        if curve is not None:
            check_run(read, curve)
        if compare:
            text = compared(read, wanted, form, units)
    if not compare:
        prediction = with_ranges(read, wanted, draws=draws, seed=seed, still=still, factors=factors)
        text = (
            form_text(prediction, form, units)
            if curve is None
            else curve_csv(prediction, curve, units)
        )
    deliver(text, out, force=force, source=plan)
