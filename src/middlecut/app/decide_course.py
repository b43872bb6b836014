# SPDX-License-Identifier: MIT
"""Whether a batch can take one more fact: opening, plan, steps, readings, corrections, notes."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from difflib import get_close_matches
from typing import Any

from middlecut.app.batch import Batch, Reading, StepState
from middlecut.app.batch_events import (
    BatchClosed,
    BatchOpened,
    EntryWithdrawn,
    NoteWritten,
    PlanAdopted,
    ReadingCorrected,
    ReadingTaken,
    StepFinished,
    StepStarted,
)
from middlecut.app.decide_spirit import SPIRIT_CHECKS
from middlecut.app.events import Body
from middlecut.app.quantities import check_value
from middlecut.app.spirit_events import CutCalled, HeartsChosen, JarFilled, JarNoted, PowerSet
from middlecut.app.words import check_name, check_text
from middlecut.errors import InputError, NotFoundError, OutOfRangeError

__all__ = ["AHEAD", "check_body", "find_step"]

LONGEST_PLAN = 1_000_000
AHEAD = timedelta(minutes=10)
"""How far a device's clock may be ahead of ours."""
_LONGEST_SHIFT = 3.2e9
Check = Callable[[Batch, Any, datetime], None]


def check_body(state: Batch, body: Body, utc: datetime) -> None:
    """Refuse a fact that the batch cannot take.

    Parameters
    ----------
    state : Batch
    body : Body
        What is to be recorded.
    utc : datetime
        When it was so.

    Raises
    ------
    InputError
        If the body is none of a batch, or something in it cannot be.
    NotFoundError
        If it names a step, jar or entry that does not exist.
    """
    check = _CHECKS.get(type(body))
    if check is None:
        raise InputError(
            "event", body.NAME, "it does not belong to a batch", "Record it where it belongs."
        )
    step = _step_of(body)
    if step is not None:
        _need_begun(find_step(state, step), body)
    check(state, body, utc)


def find_step(state: Batch, step: str) -> StepState:
    """Return where a step stands.

    Raises
    ------
    NotFoundError
        If the plan that holds has no such step.
    """
    steps = {one.outline.step: one for one in state.steps()}
    if step not in steps:
        raise NotFoundError("step", step, tuple(get_close_matches(step, steps, 3, 0.5)))
    return steps[step]


def _need_begun(step: StepState, body: Body) -> None:
    if step.started is None and type(body) in _NEED_A_START:
        raise InputError(
            "step",
            step.outline.step,
            "it has not been started",
            "Start the step first, with an earlier time if it was begun before.",
        )


def _opened(_state: Batch, body: BatchOpened, _utc: datetime) -> None:
    check_name("name", body.name)
    check_text("origin", body.origin, 1000)


def _adopted(state: Batch, body: PlanAdopted, _utc: datetime) -> None:
    check_text("plan", body.text, LONGEST_PLAN)
    check_text("reason", body.reason)
    kept = {one.step: one.kind for one in body.steps}
    if not kept or len(kept) != len(body.steps):
        raise InputError("plan", len(body.steps), "a plan has steps, each with its own id", "")
    for step in state.steps():
        outline = step.outline
        if step.started is not None and kept.get(outline.step) != outline.kind:
            raise InputError(
                "plan",
                outline.step,
                f"this {outline.kind} step was already started and the new plan lacks it",
                "Keep the step under its id in the plan.",
            )


def _started(state: Batch, body: StepStarted, _utc: datetime) -> None:
    check_text("note", body.note)
    step = find_step(state, body.step)
    if step.started is not None:
        raise InputError(
            "step",
            body.step,
            f"it was started at {step.started:%Y-%m-%d %H:%M} UTC",
            "Withdraw that start first if it is wrong.",
        )


def _finished(state: Batch, body: StepFinished, utc: datetime) -> None:
    check_text("note", body.note)
    step = find_step(state, body.step)
    if step.finished is not None:
        raise InputError(
            "step",
            body.step,
            f"it was finished at {step.finished:%Y-%m-%d %H:%M} UTC",
            "Withdraw that end first if it is wrong.",
        )
    if step.started is not None and utc < step.started:
        raise InputError(
            "time",
            utc.isoformat(),
            f"the step was started at {step.started:%Y-%m-%d %H:%M} UTC",
            "A step ends after its start.",
        )


def _reading(_state: Batch, body: ReadingTaken, _utc: datetime) -> None:
    check_value(body.quantity, body.value, body.temperature, body.reference)
    _check_uncertainty(body.uncertainty)
    for field in ("instrument", "as_entered"):
        check_text(field, getattr(body, field), 200)
    for field in ("lot", "jar"):
        name = getattr(body, field)
        if name is not None:
            check_name(field, name)


def _check_uncertainty(value: float | None) -> None:
    if value is not None and not 0.0 < value < 1.0e6:
        raise OutOfRangeError("uncertainty", value, 0.0, 1.0e6, remedy="Leave it out if unknown.")


def _find_reading(state: Batch, target: str) -> Reading:
    for reading in state.readings():
        if reading.id == target:
            return reading
    raise NotFoundError("reading that holds", target)


def _corrected(state: Batch, body: ReadingCorrected, utc: datetime) -> None:
    reading = _find_reading(state, body.target)
    first = state.entries[body.target].event.utc
    if not abs(body.later) < _LONGEST_SHIFT or first + timedelta(seconds=body.later) > utc + AHEAD:
        raise InputError(
            "time", body.later, "a reading is of the past, of this batch", "Check date and time."
        )
    check_value(reading.taken.quantity, body.value, body.temperature, body.reference)
    _check_uncertainty(body.uncertainty)
    check_text("as_entered", body.as_entered, 200)
    check_text("reason", body.reason)


def _withdrawn(state: Batch, body: EntryWithdrawn, _utc: datetime) -> None:
    check_text("reason", body.reason)
    entry = state.entries.get(body.target)
    if entry is None or not entry.holds:
        raise NotFoundError("entry that holds", body.target)
    target = entry.event.body
    if isinstance(target, BatchOpened | PlanAdopted):
        raise InputError(
            "target",
            target.NAME,
            "an opening or a plan is not withdrawn",
            "Close the batch, or adopt another plan.",
        )
    # Withdrawing a withdrawal brings back, or takes away again, what lies at the end of the chain.
    root = entry
    while isinstance(root.event.body, EntryWithdrawn):
        root = state.entries[root.event.body.target]
    if root.holds:
        _refuse_loose_ends(state, root.event.body)
    else:
        _refuse_twins(state, root.event.body)
        _refuse_missing(state, root.event.body)


def _refuse_loose_ends(state: Batch, target: Body) -> None:
    """Refuse to withdraw what later entries rest on."""
    rests: list[str] = []
    if isinstance(target, JarFilled):
        rests = [
            event.type
            for event in state.holding()
            if target.jar in _jars_named(event.body) and _step_of(event.body) == target.step
        ]
    elif isinstance(target, StepStarted):
        rests = [
            event.type
            for event in state.holding()
            if type(event.body) in _NEED_A_START and _step_of(event.body) == target.step
        ]
    if rests:
        raise InputError(
            "target", target.NAME, f"{rests[-1]} rests on it", "Withdraw what came later first."
        )


def _jars_named(body: Body) -> tuple[str, ...]:
    if isinstance(body, HeartsChosen):
        return body.jars
    return (body.jar,) if isinstance(body, JarNoted) else ()


def _step_of(body: Body) -> str | None:
    step = getattr(body, "step", None)
    return step if isinstance(step, str) else None


def _refuse_twins(state: Batch, target: Body) -> None:
    """Refuse to put back what has been replaced since it was withdrawn."""
    identity = _identity(target)
    if identity is None:
        return
    for event in state.holding():
        if type(event.body) is type(target) and _identity(event.body) == identity:
            raise InputError(
                "target", target.NAME, "it was entered again since", "Withdraw that entry instead."
            )


def _identity(body: Body) -> tuple[str, str] | str | None:
    if isinstance(body, StepStarted | StepFinished):
        return body.step
    if isinstance(body, JarFilled):
        return (body.step, body.jar)
    return "closed" if isinstance(body, BatchClosed) else None


def _refuse_missing(state: Batch, body: Body) -> None:
    """Refuse to put back what rests on something that does not hold now."""
    step = _step_of(body)
    if step is not None:
        _need_begun(find_step(state, step), body)
    known = {jar.jar for jar in state.jars(step)}
    for jar in _jars_named(body):
        if jar not in known:
            raise NotFoundError("jar", jar, tuple(known)[:3])


def _note(_state: Batch, body: NoteWritten, _utc: datetime) -> None:
    check_text("note", body.text)
    if not body.text.strip():
        raise InputError("note", body.text, "a note has words", "Write some.")


def _closed(_state: Batch, body: BatchClosed, _utc: datetime) -> None:
    check_text("outcome", body.outcome)


_CHECKS: Mapping[type, Check] = {
    BatchOpened: _opened,
    PlanAdopted: _adopted,
    StepStarted: _started,
    StepFinished: _finished,
    ReadingTaken: _reading,
    ReadingCorrected: _corrected,
    EntryWithdrawn: _withdrawn,
    NoteWritten: _note,
    BatchClosed: _closed,
    **SPIRIT_CHECKS,
}
_NEED_A_START = frozenset({StepFinished, PowerSet, CutCalled, JarFilled})
