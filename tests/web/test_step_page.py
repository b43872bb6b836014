# SPDX-License-Identifier: MIT
"""What every step page offers: start, end, note, addition, and the entries with a way back."""

from __future__ import annotations

import pytest
from bench_plan import PLAN, begin
from visitor import StandingClock, Visitor, check_page

from middlecut.app.batch_events import NoteWritten, StepFinished, StepStarted
from middlecut.app.record import Record
from middlecut.app.spirit_events import AdditionMade, PowerSet
from middlecut.app.use_cases import open_batch

SCRIPT = "<script>alert(1)</script>"


@pytest.fixture
def batch(record: Record) -> str:
    return begin(record)


@pytest.mark.parametrize(
    "step", ["wash", "strip", "run", "peel", "marry", "reduce", "chips", "fill"]
)
def test_every_kind_of_step_has_its_page(visitor: Visitor, batch: str, step: str) -> None:
    answer = visitor.get(f"/batch/{batch}/step/{step}")
    assert answer.status_code == 200
    check_page(answer)
    assert "What the plan says" in answer.text
    assert f"/batch/{batch}/step/{step}/note" in answer.text


def test_unknown_step_and_batch_are_not_found(visitor: Visitor, batch: str) -> None:
    assert visitor.get(f"/batch/{batch}/step/nothing").status_code == 404
    assert visitor.get("/batch/nothing/step/run").status_code == 404
    for action in ("start", "finish", "note", "addition"):
        answer = visitor.post(f"/batch/{batch}/step/nothing/{action}", {"text": "x"})
        assert answer.status_code == 404


def test_a_stranger_sees_and_enters_nothing(phone: Visitor, batch: str) -> None:
    assert phone.get(f"/batch/{batch}/step/run").status_code == 403
    assert phone.post(f"/batch/{batch}/step/run/note", {"text": "x"}).status_code == 403


def test_starts_a_step_once(visitor: Visitor, record: Record, batch: str) -> None:
    sent = {"text": "6 L loaded", "entry_key": "k1"}
    for _ in range(2):  # the same form sent twice counts once
        answer = visitor.post(f"/batch/{batch}/step/strip/start", sent)
        assert answer.status_code == 303
    state = record.batch(batch)
    assert [body.note for _, body in state.of(StepStarted) if body.step == "strip"] == [
        "6 L loaded"
    ]
    assert any(body.step == "strip" and body.share == 1.0 for _, body in state.of(PowerSet))
    again = visitor.post(f"/batch/{batch}/step/strip/start", {"text": "again", "entry_key": "k2"})
    assert again.status_code == 422
    assert "it was started at" in again.text
    check_page(again)


def test_a_time_of_day_is_the_last_one(
    visitor: Visitor, record: Record, batch: str, clock: StandingClock
) -> None:
    here = clock.moment.astimezone()
    sent = {"text": "", "at": f"{here:%H}:00"}
    assert visitor.post(f"/batch/{batch}/step/peel/start", sent).status_code == 303
    started = next(one for one in record.batch(batch).steps() if one.outline.step == "peel").started
    assert started == here.replace(minute=0, second=0, microsecond=0)


@pytest.mark.parametrize("at", ["25:00", "yesterday", "2027-13-01 10:00", "<b>"])
def test_refuses_a_time_that_is_none(visitor: Visitor, batch: str, at: str) -> None:
    answer = visitor.post(f"/batch/{batch}/step/peel/start", {"text": "kept words", "at": at})
    assert answer.status_code == 422
    assert "a time of day such as 14:05" in answer.text
    assert "kept words" in answer.text
    check_page(answer)


def test_refuses_the_future_and_says_what_time_it_is(visitor: Visitor, batch: str) -> None:
    answer = visitor.post(f"/batch/{batch}/step/peel/start", {"at": "2027-03-09 10:00"})
    assert answer.status_code == 422
    assert "it lies in the future" in answer.text


def test_finishes_a_step(visitor: Visitor, record: Record, batch: str) -> None:
    answer = visitor.post(f"/batch/{batch}/step/run/finish", {"text": "clean"})
    assert answer.status_code == 303
    assert [body.note for _, body in record.batch(batch).of(StepFinished)][-1] == "clean"
    refused = visitor.post(f"/batch/{batch}/step/fill/finish", {"text": ""})
    assert refused.status_code == 422
    assert "has not been started" in refused.text
    kept = visitor.post(f"/batch/{batch}/step/fill/finish", {"text": "my words"})
    assert "You typed for text: my words" in kept.text


def test_notes_are_words_and_never_script(visitor: Visitor, record: Record, batch: str) -> None:
    answer = visitor.post(f"/batch/{batch}/step/run/note", {"text": SCRIPT})
    assert answer.status_code == 303
    assert record.batch(batch).of(NoteWritten)[-1][1].text == SCRIPT
    page = visitor.get(answer.headers["location"])
    assert SCRIPT not in page.text
    assert "&lt;script&gt;" in page.text
    check_page(page)
    empty = visitor.post(f"/batch/{batch}/step/run/note", {"text": " "})
    assert empty.status_code == 422
    assert "Note is missing" in empty.text


def test_an_ingredient_goes_in(visitor: Visitor, record: Record, batch: str) -> None:
    sent = {"ingredient": "orange peel, dried", "weight": "3,1", "supply": "market"}
    assert visitor.post(f"/batch/{batch}/step/peel/addition", sent).status_code == 303
    body = record.batch(batch).of(AdditionMade)[-1][1]
    assert body.amount == pytest.approx(3.1e-3)
    assert body.entry_point == "steep"


@pytest.mark.parametrize(
    ("weight", "said"), [("", "missing"), ("much", "number"), ("3 L", "mass"), ("-2", "Weight")]
)
def test_refuses_a_weight_that_is_none(
    visitor: Visitor, batch: str, weight: str, said: str
) -> None:
    sent = {"ingredient": "orange peel, dried", "weight": weight, "supply": "market <i>"}
    answer = visitor.post(f"/batch/{batch}/step/peel/addition", sent)
    assert answer.status_code == 422
    assert said in answer.text
    assert 'value="market &lt;i&gt;"' in answer.text
    check_page(answer)


def test_refuses_an_ingredient_that_is_not_planned(visitor: Visitor, batch: str) -> None:
    sent = {"ingredient": "thunder", "weight": "3 g"}
    answer = visitor.post(f"/batch/{batch}/step/peel/addition", sent)
    assert answer.status_code == 422
    assert "one of orange peel, dried" in answer.text
    assert visitor.post(f"/batch/{batch}/step/fill/addition", sent).status_code == 404


def test_a_plan_that_can_no_longer_be_carried_out_is_told(visitor: Visitor, record: Record) -> None:
    text = PLAN.replace('strength = "46 %vol"\nadditions', 'strength = "94 %vol"\nadditions')
    batch = open_batch(record, text)
    answer = visitor.get(f"/batch/{batch}/step/reduce")
    assert answer.status_code == 200
    assert "94" in answer.text
    check_page(answer)
