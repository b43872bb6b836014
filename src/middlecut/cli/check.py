# SPDX-License-Identifier: MIT
"""``middlecut check``: every problem of a plan at once, and every danger met in trying it."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

import typer

from middlecut.cli.options import Json, PlanFile

if TYPE_CHECKING:
    from pathlib import Path

    from middlecut.plan.prediction import Prediction
    from middlecut.steps.result import Caution

__all__ = ["check"]

_WIDTH = 88
_HEADS = {"danger": "DANGER", "watch": "WATCH"}


def check(plan: PlanFile, *, json: Json = False) -> None:
    """Say all that is wrong with a plan, and its dangers; a sound one is carried out once."""
    from middlecut.cli.endings import INPUT, WARNED, sentence  # noqa: PLC0415 - fast --help
    from middlecut.cli.library import own_ingredients  # noqa: PLC0415 - fast --help
    from middlecut.cli.output import say, say_json, working  # noqa: PLC0415 - fast --help
    from middlecut.errors import PlanError  # noqa: PLC0415 - fast --help

    refused, met = None, {}
    with working(f"Trying {plan.name} ..."):
        from middlecut.plan.predict import predict  # noqa: PLC0415 - the numerics
        from middlecut.plan.read import load_plan  # noqa: PLC0415 - the same

        try:
            met = _met(predict(load_plan(plan, own_ingredients())))
        except PlanError as error:
            refused = error
    if json:
        say_json(_as_json(plan, refused, met))
    elif refused is not None:
        say(sentence(refused))
    else:
        say(_told(plan, met))
    if refused is not None:
        raise typer.Exit(INPUT)
    if _dangers(met):
        raise typer.Exit(WARNED)


def _met(prediction: Prediction) -> dict[str, tuple[Caution, ...]]:
    """Return the dangers and watches of each step that has any, dangers first."""
    found = {
        step_id: tuple(
            caution
            for severity in _HEADS
            for caution in result.cautions
            if caution.severity == severity
        )
        for step_id, result in prediction.steps.items()
    }
    return {step_id: cautions for step_id, cautions in found.items() if cautions}


def _dangers(met: dict[str, tuple[Caution, ...]]) -> int:
    return sum(one.severity == "danger" for cautions in met.values() for one in cautions)


def _as_json(
    plan: Path, refused: Exception | None, met: dict[str, tuple[Caution, ...]]
) -> dict[str, object]:
    from dataclasses import asdict  # noqa: PLC0415 - fast --help

    cautions = [
        {"step": step_id, **asdict(caution)}
        for step_id, cautions in met.items()
        for caution in cautions
    ]
    problems = [asdict(problem) for problem in getattr(refused, "problems", ())]
    return {
        "plan": str(plan),
        "problems": problems,
        "dangers": _dangers(met),
        "cautions": cautions,
    }


def _told(plan: Path, met: dict[str, tuple[Caution, ...]]) -> str:
    """Return what is said of a plan that can be carried out."""
    dangers = _dangers(met)
    rows: dict[tuple[bool, str, str], list[str]] = {}
    for step_id, cautions in met.items():
        for caution in cautions:  # what two charges of one step have in common is said once
            key = (caution.severity != "danger", _HEADS[caution.severity], caution.text)
            rows.setdefault(key, []).append(step_id)
    ranked = sorted(rows.items(), key=lambda row: row[0][0])
    body = [line for (_, head, text), steps in ranked for line in _lines(head, steps, text)]
    if dangers:
        count = "1 danger" if dangers == 1 else f"{dangers} dangers"
        head = f"{plan} can be carried out, but it has {count} to mend before you start:"
        return "\n".join([head, "", *body, "", f"Mend that, then: middlecut check {plan}"])
    last = f"Next: middlecut predict {plan}"
    if not rows:
        return f"{plan}: nothing stands in the way of this plan. {last}"
    head = f"{plan}: nothing stands in the way of this plan. To watch:"
    return "\n".join([head, "", *body, "", last])


def _lines(head: str, steps: list[str], text: str) -> list[str]:
    return textwrap.wrap(
        f"{', '.join(steps)}: {text}",
        _WIDTH,
        initial_indent=f"  {head:<7} ",
        subsequent_indent=" " * 10,
    )
