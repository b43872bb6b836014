# SPDX-License-Identifier: MIT
"""Decide and evolve over random commands: replay is the fold, undo undoes, nothing half-done."""

from __future__ import annotations

import itertools
import json
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from datetime import UTC, datetime, timedelta
from functools import reduce
from types import NoneType
from typing import Any, get_args, get_origin, get_type_hints

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from middlecut.app.alcohol import alcohol_sums
from middlecut.app.batch import Batch, evolve, fresh, replay
from middlecut.app.batch_events import (
    BatchClosed,
    BatchOpened,
    EntryWithdrawn,
    NoteWritten,
    PlanAdopted,
    ReadingCorrected,
    ReadingTaken,
    StepFinished,
    StepOutline,
    StepStarted,
)
from middlecut.app.codec import (
    ROOT_DIGEST,
    canonical,
    decode_body,
    encode_body,
    row_from_mapping,
    row_to_mapping,
    to_event,
    to_row,
)
from middlecut.app.decide import Command, decide
from middlecut.app.events import BODIES, Body, Draft, Event, Who
from middlecut.app.projections import documents_of, shed
from middlecut.app.quantities import QUANTITIES
from middlecut.app.spirit_events import BottlesFilled, CutCalled, HeartsChosen, JarFilled, JarNoted
from middlecut.errors import MiddlecutError

T0 = datetime(2027, 3, 1, tzinfo=UTC)
STEPS = (
    StepOutline("wash", "ferment"),
    StepOutline("run", "distil"),
    StepOutline("fill", "bottle"),
)
FINITE = st.floats(allow_nan=False, allow_infinity=False)
WORDS = st.text(st.characters(codec="utf-8"), max_size=20)
SCALARS = {str: WORDS, float: FINITE, int: st.integers(-(10**9), 10**9), bool: st.booleans()}


def any_value(hint: Any) -> st.SearchStrategy[Any]:
    """Return values for a type that a body may have."""
    if is_dataclass(hint) and isinstance(hint, type):
        hints = get_type_hints(hint)
        parts = {field.name: any_value(hints[field.name]) for field in fields(hint)}
        return st.builds(hint, **parts)
    if get_origin(hint) is tuple:
        return st.lists(any_value(get_args(hint)[0]), max_size=3).map(tuple)
    options = get_args(hint)
    if NoneType in options:
        return st.none() | any_value(options[0])
    return SCALARS[hint]


@pytest.mark.parametrize("name", sorted(BODIES))
def test_every_body_survives_its_json(name: str) -> None:
    kind = BODIES[name]

    @settings(max_examples=25)
    @given(any_value(kind))
    def check(body: Body) -> None:
        kept = json.loads(canonical(encode_body(body)))
        assert decode_body(name, kind.SCHEMA, kept) == body

    check()


MOMENTS = st.integers(0, 6 * 10**15).map(lambda us: T0 + timedelta(microseconds=us - 10**15))


@given(body=any_value(JarFilled), utc=MOMENTS, entered=MOMENTS, synced=MOMENTS, actor=WORDS)
def test_an_event_survives_its_row(
    body: Body, utc: datetime, entered: datetime, synced: datetime, actor: str
) -> None:
    draft = Draft("an id", body, utc, entered, Who(actor, "device"))
    row = to_row(draft, sequence=7, stream="batch/x", version=3, synced_utc=synced, key="k",
                 part=0, digest_before=ROOT_DIGEST)  # fmt: skip
    assert row_from_mapping(json.loads(canonical(row_to_mapping(row)))) == row
    event = to_event(row)
    assert (event.body, event.who.actor) == (body, actor)
    assert (event.utc, event.entered_utc, event.synced_utc) == (utc, entered, synced)


STEP = st.sampled_from(["wash", "run", "fill", "nowhere"])
JAR = st.sampled_from(["1", "2", "3"])
SHARE = st.floats(-0.1, 1.1)
KELVIN = st.none() | st.floats(240.0, 400.0)
REFERENCE = st.sampled_from(["", "20C", "60F", "15C"])
Move = Callable[[Batch], Body]


def fixed(bodies: st.SearchStrategy[Body]) -> st.SearchStrategy[Move]:
    """Return moves that do not look at the state."""
    return bodies.map(lambda body: lambda _state: body)


def _target(state: Batch, number: int) -> str:
    ids = list(state.entries)
    return ids[number % len(ids)] if ids else "nothing"


@st.composite
def pointing(draw: st.DrawFn) -> Move:
    """Return a move that points at an earlier entry."""
    number, value, kelvin = draw(st.integers(0, 50)), draw(SHARE), draw(KELVIN)
    if draw(st.booleans()):
        return lambda state: EntryWithdrawn(_target(state, number))
    return lambda state: ReadingCorrected(_target(state, number), value, kelvin, "20C")


MOVES = st.one_of(
    fixed(st.builds(BatchOpened, st.just("a batch"))),
    fixed(st.builds(PlanAdopted, st.just("text"), st.sampled_from([STEPS, STEPS[:2], ()]))),
    fixed(st.builds(StepStarted, STEP)),
    fixed(st.builds(StepFinished, STEP)),
    fixed(
        st.builds(
            ReadingTaken, STEP, st.sampled_from(sorted(QUANTITIES)),
            st.one_of(SHARE, st.floats(-10.0, 500.0)), KELVIN, REFERENCE,
            lot=st.sampled_from([None, "hearts"]),
        )
    ),
    fixed(st.builds(JarFilled, STEP, JAR, SHARE, st.none() | SHARE, KELVIN, REFERENCE,
                    st.sampled_from([None, "hearts"]))),
    fixed(st.builds(JarNoted, STEP, JAR, keep=st.sampled_from(["yes", "maybe"]))),
    fixed(st.builds(HeartsChosen, STEP, st.lists(JAR, max_size=3).map(tuple), st.just("hearts"))),
    fixed(st.builds(CutCalled, STEP, st.sampled_from(["hearts", ""]))),
    fixed(st.builds(BottlesFilled, STEP, st.integers(-1, 50), SHARE, SHARE)),
    fixed(st.builds(NoteWritten, WORDS)),
    fixed(st.builds(BatchClosed)),
    pointing(),
    pointing(),
)  # fmt: skip
OPENING: tuple[Body, ...] = (
    BatchOpened("a batch"), PlanAdopted("text", STEPS), StepStarted("wash"), StepStarted("run"),
)  # fmt: skip
HOURS = st.integers(-48, 0)


def keep(state: Batch, drafts: tuple[Draft, ...]) -> list[Event]:
    """Return what a store would make of drafts."""
    return [
        Event(state.version + part, f"batch/{state.id}", state.version + part, draft.id,
              draft.body.NAME, draft.body.SCHEMA, draft.utc, draft.entered_utc, T0, draft.who, "",
              draft.body)
        for part, draft in enumerate(drafts, start=1)
    ]  # fmt: skip


def play(moves: list[tuple[Move, int]]) -> tuple[Batch, list[Event]]:
    """Play moves on a batch; those that are refused change nothing."""
    numbers = itertools.count()
    state, events = fresh("b"), list[Event]()
    for move, hours in [*(((lambda _s, b=b: b), -48) for b in OPENING), *moves]:
        command = Command((move(state),), utc=T0 + timedelta(hours=hours))
        try:
            drafts = decide(state, command, now=T0, ids=lambda: f"e{next(numbers)}")
        except MiddlecutError:
            continue
        for event in keep(state, drafts):
            state = evolve(state, event)
            events.append(event)
    return state, events


def seen(state: Batch) -> object:
    """Return all that a person sees of a batch, without the times it was touched."""
    return (
        state.name, state.plan, state.closed, state.steps(), state.readings(), state.jars(),
        [event.id for event in state.holding() if not isinstance(event.body, EntryWithdrawn)],
    )  # fmt: skip


@given(st.lists(st.tuples(MOVES, HOURS), max_size=25))
def test_replay_is_the_fold_and_versions_have_no_gap(moves: list[tuple[Move, int]]) -> None:
    state, events = play(moves)
    assert replay("b", events) == state == reduce(evolve, events, fresh("b"))
    assert [event.version for event in events] == list(range(1, len(events) + 1))
    half = replay("b", events[: len(events) // 2])
    assert reduce(evolve, events[len(events) // 2 :], half) == state


@given(st.lists(st.tuples(MOVES, HOURS), max_size=25))
def test_every_state_that_can_be_reached_has_its_projections(
    moves: list[tuple[Move, int]],
) -> None:
    state, events = play(moves)
    documents = documents_of(state)
    assert documents == documents_of(replay("b", events))
    by_name = {one.name: {one.key: one.content} for one in documents}
    (row,) = shed(by_name["shed"], now=T0)
    assert (row.name, row.closed) == (state.name, state.closed)
    sums = alcohol_sums(by_name["alcohol"], "year")
    # Pure alcohol is never more than what was measured to be there.
    jars = sum(jar.volume for jar in state.jars())
    lots = sum(r.taken.value for r in state.readings() if r.taken.quantity == "volume")
    assert sum(one.collected for one in sums) <= (jars + lots) * (1 + 1e-9)


@given(st.lists(st.tuples(MOVES, HOURS), max_size=20), st.integers(0, 50))
def test_undo_undoes_and_redo_redoes(moves: list[tuple[Move, int]], number: int) -> None:
    before, _ = play(moves)
    taken = ReadingTaken("run", "volume", 1e-3)

    def then(state: Batch, body: Body, new_id: str) -> Batch:
        drafts = decide(state, Command((body,)), now=T0, ids=lambda: new_id)
        return reduce(evolve, keep(state, drafts), state)

    if before.closed:
        return
    with_it = then(before, taken, "new")
    assert any(reading.id == "new" for reading in with_it.readings())
    undone = then(with_it, EntryWithdrawn("new"), "undo")
    assert undone.readings() == before.readings()
    assert seen(undone) == seen(before)
    redone = then(undone, EntryWithdrawn("undo"), "redo")
    assert seen(redone) == seen(with_it)
    # Nothing is lost on the way: every event is still there.
    assert len(redone.entries) == len(before.entries) + 3


@st.composite
def undoing(draw: st.DrawFn) -> Move:
    """Return a move that withdraws one of the last entries or one of the first starts."""
    back = draw(st.integers(1, 6) | st.just(-3))

    def move(state: Batch) -> Body:
        ids = list(state.entries)
        return EntryWithdrawn(ids[3] if back < 0 else ids[-min(back, len(ids))])

    return move


# Few names and good values, so that entries rest on one another and undoing has to be refused.
TIGHT = st.one_of(
    fixed(st.builds(JarFilled, st.just("run"), st.sampled_from(["1", "2"]), st.just(1e-4))),
    fixed(st.builds(JarNoted, st.just("run"), st.just("1"))),
    fixed(st.builds(HeartsChosen, st.just("run"), st.sampled_from([("1",), ("1", "2")]),
                    st.just("hearts"))),
    fixed(st.just(StepStarted("run"))),
    fixed(st.just(StepFinished("run"))),
    undoing(),
    undoing(),
)  # fmt: skip


@settings(max_examples=300)
@given(st.lists(st.tuples(TIGHT, st.integers(-40, 0)), max_size=16))
def test_what_holds_is_consistent(moves: list[tuple[Move, int]]) -> None:
    state, _ = play(moves)
    started = {step.outline.step for step in state.steps() if step.started}
    jars = [(jar.step, jar.jar) for jar in state.jars()]
    assert len(jars) == len(set(jars))
    for _, chosen in state.of(HeartsChosen):
        assert all((chosen.step, jar) in jars for jar in chosen.jars)
    for step in state.steps():
        assert step.finished is None or step.started is not None
    assert {jar.step for jar in state.jars()} <= started
    for kind in (StepStarted, StepFinished):
        once = [getattr(event.body, "step", "") for event in state.holding()
                if isinstance(event.body, kind)]  # fmt: skip
        assert len(once) == len(set(once))
    noted = {(note.step, note.jar) for _, note in state.of(JarNoted)}
    assert noted <= set(jars)


@given(st.lists(st.tuples(MOVES, HOURS), max_size=12), MOVES)
def test_a_decision_depends_on_nothing_but_its_arguments(
    moves: list[tuple[Move, int]], move: Move
) -> None:
    state, _ = play(moves)
    copy = replay(state.id, [entry.event for entry in state.entries.values()])
    outcomes = []
    for one in (state, copy):
        try:
            outcomes.append(
                str(decide(one, Command((move(one),)), now=T0, ids=lambda: "the same id"))
            )
        except MiddlecutError as refusal:
            outcomes.append(f"{type(refusal).__name__}: {refusal}")
    assert outcomes[0] == outcomes[1]
    assert copy == state
