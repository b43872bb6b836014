# SPDX-License-Identifier: MIT
"""``middlecut diagnose``: from what was tasted to its likely cause and a change of the plan."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from middlecut.cli.options import Force, Json, PlanFile

if TYPE_CHECKING:
    from middlecut.insight.diagnosis import Cause, Diagnosis, Effect, Evidence, Remedy

__all__ = ["diagnose"]

_SHOWN = 4
_REMEDIES = 4
_SIGNS = {"for": "+", "against": "-", "not known": "?"}


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
            help="Which remedy to write; without it the first.",
            show_default=False,
        ),
    ] = None,
    json: Json = False,
    force: Force = False,
) -> None:
    """Say what caused a fault that was tasted, and what to change."""
    from middlecut.cli.library import own_ingredients  # noqa: PLC0415 - fast --help
    from middlecut.cli.output import (  # noqa: PLC0415 - fast --help
        check_new,
        columns,
        say,
        say_json,
        working,
        write_new,
    )
    from middlecut.errors import InputError  # noqa: PLC0415 - fast --help

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
    say(_text(diagnosis, columns(), every=every))
    if chosen is not None:
        say(f"\nRemedy {chosen.number} is in {write}. Next: middlecut predict {write}")


def _chosen(diagnosis: Diagnosis, number: int | None) -> Remedy:
    from middlecut.errors import InputError  # noqa: PLC0415 - fast --help

    known = {one.number: one for one in diagnosis.remedies}
    if not known:
        text = "no remedy of this diagnosis is a change of the plan"
        raise InputError("--write", "nothing", text, "Read the advice and edit it by hand.")
    wanted = min(known) if number is None else number
    if wanted not in known:
        raise InputError("--remedy", wanted, f"the remedies are 1 to {max(known)}")
    return known[wanted]


def _text(diagnosis: Diagnosis, width: int, *, every: bool) -> str:
    words = ", ".join(f"{word} {value:g}" for word, value in diagnosis.found.items())
    title = f"What was found in {diagnosis.lot}: {words}"
    parts = [title, "=" * min(len(title), width), ""]
    shown = diagnosis.causes if every else diagnosis.causes[:_SHOWN]
    if not shown:
        parts += ["The table of faults knows no cause for that.", ""]
    for place, cause in enumerate(shown, 1):
        parts += [*_cause(place, cause, width, every=every), ""]
    if hidden := len(diagnosis.causes) - len(shown):
        parts += [f"{hidden} less likely with --all.", ""]
    for text in (*diagnosis.disagreements, *diagnosis.notes):
        parts += [*_wrapped(text, width, ""), ""]
    return "\n".join(parts).rstrip()


def _cause(place: int, cause: Cause, width: int, *, every: bool) -> list[str]:
    score = cause.score
    head = f"{place}. {cause.words} ({cause.stage})"
    lines = [head, "-" * min(len(head), width)]
    lines += _wrapped(f"{cause.cause[:1].upper()}{cause.cause[1:]}.", width, "   ")
    lines.append(
        f"   Score {score.total:.2f}: words {score.table:.2f}, prediction {score.prediction:+.2f}, "
        f"evidence {score.evidence:+.2f}"
    )
    lines += _wrapped(cause.prediction, width, "   ")
    for one in cause.evidence:
        lines += _wrapped(one.text, width, "     ", f"   {_sign(one)} ")
    lines += _wrapped(f"Table: {cause.sign} ({cause.source}; {cause.basis}).", width, "   ")
    if cause.disagreement:
        lines += _wrapped(cause.disagreement, width, "     ", "   ! ")
    can = [one for one in cause.remedies if one.verdict != "cannot be done"]
    for remedy in can if every else can[:_REMEDIES]:
        lines += ["", *_remedy(remedy, width)]
    if not every and len(can) > _REMEDIES:
        lines.append(f"   {len(can) - _REMEDIES} more remedies with --all.")
    for remedy in cause.remedies:
        if every and remedy.problem:
            text = f"Not in this plan: {remedy.title} {remedy.problem}"
            lines += ["", *_wrapped(text, width, "   ")]
    return [*lines, "", *_wrapped(f"Advice: {cause.advice}.", width, "   ")]


def _sign(evidence: Evidence) -> str:
    side = "for" if evidence.weight > 0.0 else "against" if evidence.weight < 0.0 else "not known"
    return _SIGNS[side]


def _remedy(remedy: Remedy, width: int) -> list[str]:
    from middlecut.insight.wording import signed  # noqa: PLC0415 - fast --help
    from middlecut.units import format_quantity  # noqa: PLC0415 - the same

    change = "" if remedy.change is None else f" ({signed(remedy.change)})"
    head = f"   Remedy {remedy.number}: "
    lines = _wrapped(
        f"{remedy.title} {remedy.verdict.capitalize()}{change}.", width, "      ", head
    )
    for edit in remedy.edits:
        before = f"{edit.before} -> " if edit.before else "new: "
        lines.append(f"      {edit.key}: {before}{edit.value}")
    names = max((len(one.compound) for one in remedy.effects), default=0)
    lines += [f"      {_effect(one, names)}" for one in remedy.effects]
    both = [
        f"{format_quantity(value, 'volume')} at {format_quantity(strength, 'strength')}"
        for value, strength in (
            (remedy.volume_before, remedy.strength_before),
            (remedy.volume_after, remedy.strength_after),
        )
    ]
    if both[0] != both[1]:
        lines.append(f"      yield: {both[0]} -> {both[1]}")
    hours = (remedy.duration_after - remedy.duration_before) / 3600.0
    if abs(hours) >= 0.1:
        lines.append(f"      time: {hours:+.1f} h in all")
    for danger in remedy.dangers:
        lines += _wrapped(danger, width, "      ", "      DANGER ")
    return lines


def _effect(effect: Effect, names: int) -> str:
    mark = "fault " if effect.role == "responsible" else "wanted"
    unit, factor = next(
        (
            (unit, factor)
            for unit, factor in (("mg/L", 1.0), ("µg/L", 1e3))
            if max(effect.before, effect.after) * factor >= 0.1
        ),
        ("ng/L", 1e6),
    )
    levels = f"{effect.before * factor:.3g} -> {effect.after * factor:.3g} {unit}"
    smell = ""
    if effect.oav_before is not None and effect.oav_after is not None:
        smell = f", {_short(effect.oav_before)} -> {_short(effect.oav_after)} times threshold"
    return f"{mark}  {effect.compound:<{names}}  {levels}{smell}"


def _short(value: float) -> str:
    if value < 0.01:
        return "<0.01"
    digits = max(0, 1 - math.floor(math.log10(value)))
    return f"{value:,.{digits}f}"


def _wrapped(text: str, width: int, indent: str, first: str | None = None) -> list[str]:
    import textwrap  # noqa: PLC0415 - fast --help

    return textwrap.wrap(
        text, width, initial_indent=indent if first is None else first, subsequent_indent=indent
    )
