# SPDX-License-Identifier: MIT
"""A diagnosis on the screen: in short first, then cause by cause."""

from __future__ import annotations

import math
import textwrap

from middlecut.insight.diagnosis import Cause, Diagnosis, Edit, Effect, Evidence, Remedy
from middlecut.insight.diagnosis_words import in_short, shown_levels, verdict_words, whence
from middlecut.units import format_quantity

__all__ = ["diagnosis_text"]

_REMEDIES = 4
_MARKS = "Below, + speaks for a cause, - against it, and ? is not known."
_SIGNS = {"for": "+", "against": "-", "not known": "?"}
_PER_CENT = "\u00a0%"  # holds a number and its sign on one line while wrapping


def diagnosis_text(diagnosis: Diagnosis, width: int, *, shown: int | None) -> str:
    """Return a diagnosis as text.

    Parameters
    ----------
    diagnosis : Diagnosis
    width : int
        Columns.
    shown : int or None
        How many causes; None for all, with every remedy.

    Returns
    -------
    str
    """
    every = shown is None
    words = ", ".join(f"{word} {value:g}" for word, value in diagnosis.found.items())
    title = f"What was found in {diagnosis.lot}: {words}"
    parts = [title, "=" * min(len(title), width), ""]
    for text in diagnosis.read:
        parts += _wrapped(text, width, "")
    parts += [""] if diagnosis.read else []
    causes = diagnosis.causes[:shown]
    if causes:
        parts += [*_in_short(diagnosis, width), "", _MARKS, ""]
    else:
        parts += ["The table of faults knows no cause for that.", ""]
    for place, cause in enumerate(causes, 1):
        parts += [*_cause(place, cause, width, every=every), ""]
    if hidden := len(diagnosis.causes) - len(causes):
        parts += [f"{hidden} less likely with --all.", ""]
    for text in (*diagnosis.disagreements, *diagnosis.notes):
        parts += [*_wrapped(text, width, ""), ""]
    return "\n".join(parts).rstrip()


def _cause(place: int, cause: Cause, width: int, *, every: bool) -> list[str]:
    score = cause.score
    head = f"{place}. {cause.words} ({cause.stage})"
    lines = [head, "-" * min(len(head), width)]
    if cause.danger:
        lines += _wrapped(f"DANGER {cause.danger}", width, "   ")
    lines += _wrapped(f"{cause.cause[:1].upper()}{cause.cause[1:]}.", width, "   ")
    lines.append(
        f"   Score {score.total:.2f}: words {score.table:.2f}, prediction {score.prediction:+.2f}, "
        f"evidence {score.evidence:+.2f}"
    )
    lines += _wrapped(cause.prediction, width, "   ")
    for one in cause.evidence:
        lines += _wrapped(one.text, width, "     ", f"   {_sign(one)} ")
    lines += _wrapped(f"What tells: {cause.sign}. {whence(cause)}", width, "   ")
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


def _in_short(diagnosis: Diagnosis, width: int) -> list[str]:
    """Return the few lines that matter most."""
    lines = ["In short", "--------"]
    for text in in_short(diagnosis):
        lines += _wrapped(text, width, "    ", "  ")
    return lines


def _stays(effect: Effect, *, predicted: bool) -> bool:
    """Say whether a level need not be shown, because it is alike before and after."""
    alike = f"{effect.before:.3g}" == f"{effect.after:.3g}"
    return alike and not (predicted and effect.role == "responsible")


def _sign(evidence: Evidence) -> str:
    side = "for" if evidence.weight > 0.0 else "against" if evidence.weight < 0.0 else "not known"
    return _SIGNS[side]


def _remedy(remedy: Remedy, width: int) -> list[str]:
    head = f"   Remedy {remedy.number}: "
    lines = _wrapped(f"{remedy.title} {verdict_words(remedy)}", width, "      ", head)
    for edit in remedy.edits:
        lines += _edit(edit, width)
    moved = [one for one in remedy.effects if not _stays(one, predicted=remedy.change is not None)]
    names = max((len(one.compound) for one in moved), default=0)
    lines += [f"      {_effect(one, names)}" for one in moved]
    if still := [one.compound for one in remedy.effects if one not in moved]:
        lines += _wrapped(f"as before: {', '.join(still)}", width, "        ", "      ")
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
    levels = shown_levels(effect)
    smell = ""
    if effect.oav_before is not None and effect.oav_after is not None:
        smell = f", {_short(effect.oav_before)} -> {_short(effect.oav_after)} times threshold"
    return f"{mark}  {effect.compound:<{names}}  {levels}{smell}"


def _short(value: float) -> str:
    if value < 0.01:
        return "<0.01" if value > 0.0 else "0"
    digits = max(0, 1 - math.floor(math.log10(value)))
    return f"{value:,.{digits}f}"


def _wrapped(text: str, width: int, indent: str, first: str | None = None) -> list[str]:
    lines = textwrap.wrap(
        text.replace(" %", _PER_CENT),
        width,
        initial_indent=indent if first is None else first,
        subsequent_indent=indent,
    )
    return [line.replace(_PER_CENT, " %") for line in lines]


def _edit(edit: Edit, width: int) -> list[str]:
    """Return one change of the plan; a table is not broken at a hyphen."""
    text = f"{edit.place}: {edit.value or edit.before}"
    if edit.action in {"set", "unset"}:
        text = f"{edit.key}: {edit.before or 'nothing'} -> {edit.value or 'nothing'}"
    return textwrap.wrap(
        text,
        width,
        initial_indent="      ",
        subsequent_indent="        ",
        break_on_hyphens=False,
    )
