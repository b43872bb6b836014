# SPDX-License-Identifier: MIT
"""``middlecut diagnose``: from what was tasted to its likely cause and a change of the plan."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from middlecut.cli.options import Force, Json, PlanFile

if TYPE_CHECKING:
    from middlecut.insight.diagnosis import Diagnosis, Remedy

__all__ = ["diagnose"]

_SHOWN = 4


def diagnose(
    plan: PlanFile,
    *,
    found: Annotated[
        str,
        typer.Option(
            "--found",
            metavar="WORDS",
            help='What was found, 0 to 10: "green bell pepper:3, bitter:2".',
            show_default=False,
        ),
    ],
    lot: Annotated[
        str | None,
        typer.Option(
            "--lot",
            metavar="NAME",
            help="The lot that was tasted; without it, what the plan bottles or makes last.",
            show_default=False,
        ),
    ] = None,
    every: Annotated[
        bool, typer.Option("--all", help=f"Show every cause and remedy, not the first {_SHOWN}.")
    ] = False,
    write: Annotated[
        Path | None,
        typer.Option(
            "--write", metavar="NEW", help="Write the plan with a remedy.", show_default=False
        ),
    ] = None,
    remedy: Annotated[
        int | None,
        typer.Option(
            "--remedy",
            metavar="N",
            help="Which remedy to write; without it the one that helps best.",
            show_default=False,
        ),
    ] = None,
    json: Json = False,
    force: Force = False,
) -> None:
    """Say what caused a fault that was tasted, and what to change."""
    from middlecut.cli.diagnose_text import diagnosis_text  # noqa: PLC0415 - the same
    from middlecut.cli.library import own_ingredients  # noqa: PLC0415 - fast --help
    from middlecut.cli.output import (  # noqa: PLC0415 - fast --help
        check_new,
        columns,
        say,
        say_json,
        working,
        write_new,
    )
    from middlecut.errors import InputError  # noqa: PLC0415 - the same

    if remedy is not None and write is None:
        text = "it says which remedy to write"
        raise InputError("--remedy", remedy, text, "Add --write NEW.toml.")
    if write is not None:
        check_new(write, force=force, option="--write", source=plan)
    with working(f"Looking into {plan.name} ..."):
        from middlecut.insight.diagnose import diagnose as look_into  # noqa: PLC0415 - numerics
        from middlecut.plan.read import load_plan  # noqa: PLC0415 - the same

        diagnosis = look_into(load_plan(plan, own_ingredients()), found, lot=lot)
    chosen = None
    if write is not None:
        chosen = _chosen(diagnosis, remedy)
        write_new(write, chosen.text, force=force, option="--write", source=plan)
    if json:
        say_json(diagnosis.to_dict())
        return
    say(diagnosis_text(diagnosis, columns(), shown=None if every else _SHOWN))
    if chosen is not None:
        from middlecut.insight.diagnosis_words import verdict_words  # noqa: PLC0415 - the same

        said = verdict_words(chosen)
        say(f"\nRemedy {chosen.number} is in {write}. {said} Next: middlecut predict {write}")


def _chosen(diagnosis: Diagnosis, number: int | None) -> Remedy:
    from middlecut.errors import InputError  # noqa: PLC0415 - fast --help
    from middlecut.insight.diagnosis_words import best_remedy  # noqa: PLC0415 - the same

    known = {one.number: one for one in diagnosis.remedies}
    if not known:
        text = "no remedy of this diagnosis is a change of the plan"
        raise InputError("--write", "nothing", text, "Read the advice and edit it by hand.")
    best = best_remedy(diagnosis)
    usual = min(known) if best is None else best.number
    wanted = usual if number is None else number
    if wanted not in known:
        raise InputError("--remedy", wanted, f"the remedies are 1 to {max(known)}")
    return known[wanted]
