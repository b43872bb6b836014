# SPDX-License-Identifier: MIT
"""``middlecut predict``: what each step of a plan will do."""

from __future__ import annotations

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
    out: Out = None,
    units: Units = System.metric,
    force: Force = False,
) -> None:
    """Predict a plan and print its sheet."""
    from middlecut.cli.curve import curve_csv  # noqa: PLC0415 - fast --help
    from middlecut.cli.library import own_ingredients  # noqa: PLC0415 - fast --help
    from middlecut.cli.output import working  # noqa: PLC0415 - fast --help
    from middlecut.cli.results import choose_form, deliver, form_text  # noqa: PLC0415 - the same
    from middlecut.errors import InputError  # noqa: PLC0415 - the same

    if curve is not None and (json or markdown):
        raise InputError("--curve", curve, "a curve is printed as CSV", "Leave the other form out.")
    form = choose_form(json=json, markdown=markdown, csv=csv, out=out)
    with working(f"Predicting {plan.name} ..."):
        from middlecut.plan.predict import predict as predict_plan  # noqa: PLC0415 - numerics
        from middlecut.plan.read import load_plan  # noqa: PLC0415 - the same

        prediction = predict_plan(load_plan(plan, own_ingredients()))
        text = (
            form_text(prediction, form, units)
            if curve is None
            else curve_csv(prediction, curve, units)
        )
    deliver(text, out, force=force)
