# SPDX-License-Identifier: MIT
"""What a diagnosis comes to, in sentences: the short of it, a verdict, a source."""

from __future__ import annotations

from typing import TYPE_CHECKING

from middlecut.insight.diagnosis import NEAR
from middlecut.insight.wording import signed, times
from middlecut.liquid.sources import flavour_sources
from middlecut.units import System, format_quantity

if TYPE_CHECKING:
    from middlecut.insight.diagnosis import Cause, Diagnosis, Effect, Remedy

__all__ = ["best_remedy", "in_short", "shown_levels", "verdict_words", "whence"]

_OWN = "own"
_MANY, _MOST = 9.0, 1000.0
"""From which relative change on it is told as a multiple, and which multiple at most."""
_LIKELY = 0.3
"""Score below which a cause is hardly one; our choice."""
_MAY_BE = 0.5
"""Share of the best score from which a danger that goes with a cause is said first; our choice."""
_LESS = 0.005
"""Share of the lot from which more or less of it is told; our choice."""


def in_short(diagnosis: Diagnosis, *, system: System = "metric") -> tuple[str, ...]:
    """Return the few sentences of a diagnosis that matter most.

    Parameters
    ----------
    diagnosis : Diagnosis
    system : {"metric", "us"}
        System of units.

    Returns
    -------
    tuple of str
        The likeliest cause and the next, then what helps and what that costs; () without a cause.
    """
    if not diagnosis.causes:
        return ()
    first, *others = diagnosis.causes
    before = (*_dangers(diagnosis), *_no_source(diagnosis))
    likely = f"Most likely: {first.words} ({first.stage}), from {_small(first.cause)}."
    ranks = f"Score {first.score.total:.2f} of 1"
    if others:
        then = (f"{one.words} {one.score.total:.2f}" for one in others[:2])
        ranks += f"; then {', '.join(then)}"
    best = best_remedy(diagnosis)
    if best is None:
        text = f"No remedy is predicted to help with it. Usual advice: {_small(first.advice)}."
    else:
        text = f"What helps best: remedy {best.number}. {best.title} {verdict_words(best)}"
        more = (_levels(best), _still(first, best), _lost(diagnosis, best, system))
        text += "".join(f" {one}" for one in more if one)
    return (*before, likely, f"{ranks}.", text)


def _dangers(diagnosis: Diagnosis) -> tuple[str, ...]:
    """Return what has to be known before drinking it, of causes that may well be."""
    least = _MAY_BE * diagnosis.causes[0].score.total
    return tuple(
        f"DANGER {one.danger}"
        for one in diagnosis.causes
        if one.danger and one.score.total >= least and one.score.evidence >= 0.0
    )


def _no_source(diagnosis: Diagnosis) -> tuple[str, ...]:
    """Say first that nothing explains what was found, where the causes hardly fit."""
    if diagnosis.causes[0].score.total >= _LIKELY:
        return ()
    return tuple(one for one in diagnosis.disagreements if "nothing in this batch" in one)


def best_remedy(diagnosis: Diagnosis) -> Remedy | None:
    """Return the best remedy of the first cause: it helps, without a danger, and keeps most.

    Parameters
    ----------
    diagnosis : Diagnosis

    Returns
    -------
    Remedy or None
    """
    for one in diagnosis.causes[0].remedies if diagnosis.causes else ():
        if one.verdict == "helps" and one.change is not None and not one.dangers:
            return one
    return None


def verdict_words(remedy: Remedy) -> str:
    """Return what a remedy does to the fault, in a sentence.

    Parameters
    ----------
    remedy : Remedy

    Returns
    -------
    str
    """
    if remedy.change is None:
        return "What it does to the fault is not predicted: try it small, and taste."
    what = "what is missed" if remedy.missed else "what is responsible"
    if remedy.change > _MANY:
        times = 1.0 + remedy.change
        shown = f"{times:.0f}" if times < _MOST else f"more than {_MOST:.0f}"
        return f"{remedy.verdict.capitalize()}: {shown} times as much of {what}."
    return f"{remedy.verdict.capitalize()}: {signed(remedy.change)} of {what}."


def whence(cause: Cause) -> str:
    """Return where the row of the table is from, in words.

    Parameters
    ----------
    cause : Cause

    Returns
    -------
    str
    """
    words = []
    for source in flavour_sources(cause.source):
        if source.status == "common practice":
            words.append("common practice")
        else:
            how = "from memory" if source.status == "memory" else source.status.replace("-", " ")
            words.append(f"{source.citation} ({how})")
    if cause.source == _OWN:
        words.append("our own judgement")
    return f"From {'; '.join(words)}." if words else f"Basis: {cause.basis}."


def shown_levels(effect: Effect) -> str:
    """Return the level of a compound before and after, in the unit that suits both.

    Parameters
    ----------
    effect : Effect

    Returns
    -------
    str
    """
    unit, factor = next(
        (
            (unit, factor)
            for unit, factor in (("mg/L", 1.0), ("µg/L", 1e3))
            if max(effect.before, effect.after) * factor >= 0.1
        ),
        ("ng/L", 1e6),
    )
    return f"{effect.before * factor:.3g} -> {effect.after * factor:.3g} {unit}"


def _levels(remedy: Remedy) -> str:
    """Return what becomes of the fault, and of what is wanted and moves most."""
    responsible = [one for one in remedy.effects if one.role == "responsible"]
    wanted = [
        one
        for one in remedy.effects
        if one.role == "wanted" and f"{one.before:.3g}" != f"{one.after:.3g}"
    ]
    wanted.sort(key=lambda one: -abs(one.after - one.before) / max(one.after, one.before, 1e-30))
    told = [
        f"{word}, {rows[0].compound} {shown_levels(rows[0])}"
        for word, rows in (("of the fault", responsible), ("of what is wanted", wanted))
        if rows
    ]
    return f"Predicted: {'; '.join(told)}." if told else ""


def _still(cause: Cause, remedy: Remedy) -> str:
    """Say what of the fault is still there afterwards."""
    left = remedy.left
    if left is None or (not cause.wanted and left < 1.0):
        return ""
    if cause.wanted:
        return f"It then stands at {times(left)} its threshold." if left >= 1.0 else (
            f"It then stands at {times(left)} its threshold: hardly noticed any more."
        )  # fmt: skip
    if left <= NEAR:
        return f"It comes near its threshold: {times(left)} of it is left."
    text = f"It will still be tasted: {times(left)} its threshold is left."
    near = (one for one in cause.remedies if one.verdict == "helps" and not one.dangers)
    enough = next((one for one in near if one.left is not None and one.left <= NEAR), None)
    return text if enough is None else f"{text} Remedy {enough.number} takes it away."


def _lost(diagnosis: Diagnosis, remedy: Remedy, system: System) -> str:
    more = remedy.volume_after - remedy.volume_before
    if abs(more) <= _LESS * remedy.volume_before:
        return ""
    amount = format_quantity(abs(more), "volume", system=system, digits=2)
    return f"There is {amount} {'less' if more < 0.0 else 'more'} of {diagnosis.lot} in the end."


def _small(text: str) -> str:
    return f"{text[:1].lower()}{text[1:]}" if text[1:2].islower() else text
