# SPDX-License-Identifier: MIT
"""``middlecut demo``: predict an example batch that comes with the program."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from middlecut.cli.completion import examples
from middlecut.cli.options import Force, Json, System, Units

__all__ = ["demo"]


def demo(
    name: Annotated[
        str,
        typer.Argument(
            metavar="[EXAMPLE]",
            help="demo, double-pot-1300m or neutral.",
            autocompletion=examples,
        ),
    ] = "demo",
    *,
    save: Annotated[
        Path | None,
        typer.Option(
            "--save",
            metavar="FILE",
            help="Write the plan out as FILE, to edit it; nothing is predicted.",
            show_default=False,
        ),
    ] = None,
    json: Json = False,
    units: Units = System.metric,
    force: Force = False,
) -> None:
    """Predict an example batch and print its sheet."""
    from middlecut.cli.output import say, working, write_new  # noqa: PLC0415 - fast --help
    from middlecut.plan.examples import example_path  # noqa: PLC0415 - fast --help

    plan_file = example_path(name)
    if save is not None:
        text = plan_file.read_text(encoding="utf-8")
        write_new(save, text, force=force, option="--save", source=plan_file)
        say(f"Written to {save}. Edit it, then: middlecut predict {save}")
        return
    from middlecut.cli.results import Form, deliver, form_text  # noqa: PLC0415 - fast --help

    with working("Predicting the example batch ..."):
        from middlecut.plan.predict import predict  # noqa: PLC0415 - loads the numerics
        from middlecut.plan.read import load_plan  # noqa: PLC0415 - the same

        text = form_text(predict(load_plan(plan_file)), Form.json if json else Form.text, units)
    deliver(text, None, force=False)
