# SPDX-License-Identifier: MIT
"""``middlecut check``: every problem of a plan at once, after trying it."""

from __future__ import annotations

import typer

from middlecut.cli.options import Json, PlanFile

__all__ = ["check"]


def check(plan: PlanFile, *, json: Json = False) -> None:
    """Say all that is wrong with a plan, with remedies; a sound one is carried out once."""
    from dataclasses import asdict  # noqa: PLC0415 - fast --help

    from middlecut.cli.endings import INPUT, sentence  # noqa: PLC0415 - fast --help
    from middlecut.cli.library import own_ingredients  # noqa: PLC0415 - fast --help
    from middlecut.cli.output import say, say_json, working  # noqa: PLC0415 - fast --help
    from middlecut.errors import PlanError  # noqa: PLC0415 - fast --help
    from middlecut.plan.read import check_plan  # noqa: PLC0415 - fast --help

    with working(f"Trying {plan.name} ..."):
        problems = check_plan(plan, own_ingredients())
    if json:
        say_json({"plan": str(plan), "problems": [asdict(problem) for problem in problems]})
    elif problems:
        say(sentence(PlanError(str(plan), problems)))
    else:
        say(f"{plan}: nothing stands in the way of this plan. Next: middlecut predict {plan}")
    if problems:
        raise typer.Exit(INPUT)
