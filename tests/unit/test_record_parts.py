# SPDX-License-Identifier: MIT
"""Corners of the record: damaged rows, misplaced events, hot jars, proof, stray facts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import pytest

from middlecut.adapters.store_memory import MemoryStore
from middlecut.adapters.system import RandomIds, SystemClock
from middlecut.app.alcohol import alcohol_entries, true_strength_of
from middlecut.app.batch import evolve, fresh
from middlecut.app.batch_events import NoteWritten, PlanAdopted, StepOutline
from middlecut.app.codec import encode_body, parse_utc, render_utc, row_from_mapping, to_event
from middlecut.app.decide import Command, foreseen
from middlecut.app.events import Body, Draft
from middlecut.app.exporting import csv_lines, json_lines, read_json_lines
from middlecut.app.shop_events import (
    DeviceRevoked,
    SettingsChanged,
    StillCalibrated,
    StillDescribed,
)
from middlecut.app.spirit_events import JarFilled
from middlecut.app.stills import StillState, decide_still, evolve_still
from middlecut.app.verifying import rebuild, verify
from middlecut.app.workshop import Workshop, decide_workshop, evolve_workshop
from middlecut.errors import ConflictError, InputError, NotFoundError, StoreError
from middlecut.liquid import alcoholometry

T0 = datetime(2027, 3, 1, 12, 0, 0, 5, tzinfo=UTC)


def filled(*bodies: Body, stream: str = "batch/a") -> MemoryStore:
    """Return a store that holds these bodies, whatever they are."""
    store = MemoryStore()
    for number, body in enumerate(bodies):
        draft = Draft(f"e{number}", body, T0, T0)
        store.append(stream, number, [draft], f"k{number}", synced_utc=T0)
    return store


def test_proof_is_corrected_on_its_own_scale() -> None:
    # 140 proof read at 60 °F is 140 proof: 70 % at 60 °F, a little less than 70 % at 20 °C.
    true = true_strength_of(0.70, 288.70555, "60F")
    assert true == pytest.approx(alcoholometry.strength_from_proof(140.0), abs=2e-6)


def test_a_jar_too_hot_for_the_formula_is_unknown() -> None:
    steps = (StepOutline("run", "distil"),)
    state = fresh("b")
    hot = JarFilled("run", "1", 1e-3, 0.6, 330.0, "20C")
    for body in (PlanAdopted("text", steps), hot):
        draft = Draft(body.NAME, body, T0, T0)
        state = evolve(state, foreseen(draft, state, T0))
    assert alcohol_entries(state)[0]["pure_alcohol"] is None


def test_times_are_written_so_that_they_sort() -> None:
    east = T0.astimezone(timezone(timedelta(hours=5, minutes=30)))
    assert render_utc(east) == "2027-03-01T12:00:00.000005Z"
    assert parse_utc(render_utc(east)) == T0
    with pytest.raises(StoreError, match="where a time belongs"):
        parse_utc("yesterday")
    with pytest.raises(StoreError, match="without its zone"):
        parse_utc("2027-03-01T12:00:00")


def test_rows_that_are_no_rows() -> None:
    (row,) = filled(NoteWritten("x")).rows()
    with pytest.raises(StoreError, match="no JSON"):
        to_event(replace(row, payload="{"))
    with pytest.raises(StoreError, match="sequence is no whole number"):
        row_from_mapping({"sequence": True})
    with pytest.raises(TypeError):
        encode_body("no body")
    lines = [*json_lines([row]), "\n"]
    assert list(read_json_lines(lines)) == [row]
    with pytest.raises(StoreError, match="Line 2"):
        list(read_json_lines([lines[0], '{"sequence": 1}']))
    with pytest.raises(StoreError, match="Line 1"):
        list(read_json_lines(["[" * 100_000]))


def test_an_event_in_the_wrong_stream_is_found() -> None:
    store = filled(NoteWritten("x"), stream="still/pot")
    verdict = verify(store)
    assert verdict.problems == ("Event 1 (note.written) is in still/pot.",)
    assert verdict.damaged


def test_a_rebuild_gives_up_on_a_record_that_never_rests(monkeypatch: pytest.MonkeyPatch) -> None:
    store = filled(PlanAdopted("text", (StepOutline("run", "distil"),)))

    def refuse(*_: object) -> None:
        raise ConflictError("grown on")

    monkeypatch.setattr(store, "replace_documents", refuse)
    with pytest.raises(StoreError, match="too busy"):
        rebuild(store)


@pytest.mark.parametrize("start", ["=1+1", "+1", "-1", "@x", "\tx"])
def test_no_word_becomes_a_formula(start: str) -> None:
    (_, line) = csv_lines(filled(NoteWritten(start)).read_all())
    assert f"'{start}" in line
    assert f",{start}" not in line


Decide = Callable[..., tuple[Draft, ...]]


@pytest.mark.parametrize(
    ("decide_it", "state", "body", "words"),
    [
        (decide_still, StillState("pot"), NoteWritten("x"), "does not belong to a still"),
        (
            decide_still,
            StillState("pot", 1, StillDescribed("pot", "text")),
            StillCalibrated((), trustworthy=True),
            "has fitted values",
        ),
        (
            decide_still,
            StillState("pot", 1, StillDescribed("pot", "text")),
            StillDescribed("kettle", "text"),
            "is called 'pot'",
        ),
        (decide_workshop, Workshop(), NoteWritten("x"), "does not belong to the workshop"),
        (decide_workshop, Workshop(), SettingsChanged("place", "two\nlines"), "one line"),
        (decide_workshop, Workshop(), SettingsChanged("currency", "Euro"), "three capital"),
    ],
)
def test_stills_and_workshop_refuse(
    decide_it: Decide, state: object, body: Body, words: str
) -> None:
    with pytest.raises(InputError, match=words):
        decide_it(state, Command((body,)), now=T0, ids=RandomIds().new)


def test_what_does_not_belong_changes_nothing_but_the_version() -> None:
    (event,) = filled(NoteWritten("x")).read_all()
    assert evolve_still(StillState("pot"), event) == StillState("pot", 1)
    assert evolve_workshop(Workshop(), event).changed == {}
    (revoked,) = filled(DeviceRevoked("nobody")).read_all()
    assert evolve_workshop(Workshop(), revoked).devices == {}
    with pytest.raises(NotFoundError, match="units"):
        Workshop().setting("unit")


def test_the_clock_and_the_ids_of_this_machine() -> None:
    assert SystemClock().now().tzinfo is UTC
    made = {RandomIds().new() for _ in range(100)}
    assert len(made) == 100
    assert {len(one) for one in made} == {32}
