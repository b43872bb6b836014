# SPDX-License-Identifier: MIT
"""One entry: corrected, taken back, brought back, and two people at once."""

from __future__ import annotations

import pytest
from bench_plan import begin
from visitor import Visitor, check_page

from middlecut.app.record import Record
from middlecut.app.spirit_events import CutCalled


@pytest.fixture
def batch(record: Record) -> str:
    return begin(record)


def reading_of(record: Record, batch: str) -> str:
    return next(
        one.id for one in record.batch(batch).readings("run") if one.taken.quantity == "strength"
    )


def test_shows_the_entry_as_it_was_typed(visitor: Visitor, record: Record, batch: str) -> None:
    answer = visitor.get(f"/batch/{batch}/entry/{reading_of(record, batch)}")
    assert answer.status_code == 200
    assert 'value="73.5 %vol"' in answer.text
    check_page(answer)


def test_corrects_a_reading_and_shows_both(visitor: Visitor, record: Record, batch: str) -> None:
    entry = reading_of(record, batch)
    sent = {"value": "72,5", "temperature": "20", "reason": "slipped"}
    answer = visitor.post(f"/batch/{batch}/entry/{entry}/correct", sent)
    assert answer.status_code == 303
    taken = next(one for one in record.batch(batch).readings("run") if one.id == entry).taken
    assert taken.value == pytest.approx(0.725)
    page = visitor.get(answer.headers["location"]).text
    assert "corrected since" in page
    assert "72.5 %vol" in page


@pytest.mark.parametrize(
    ("value", "temperature", "said"),
    [
        ("", "20", "missing"),
        ("172", "20", "Look at the instrument"),
        ("72", "", "needs the temperature"),
        ("72", "hot", "Not usable"),
        ("lots", "20", "Not usable"),
    ],
)
def test_refuses_what_no_instrument_shows(
    visitor: Visitor, record: Record, batch: str, *, value: str, temperature: str, said: str
) -> None:
    entry = reading_of(record, batch)
    sent = {"value": value, "temperature": temperature, "reason": "why <b>"}
    answer = visitor.post(f"/batch/{batch}/entry/{entry}/correct", sent)
    assert answer.status_code == 422
    assert said in answer.text
    assert 'value="why &lt;b&gt;"' in answer.text
    check_page(answer)


def test_undoes_a_cut_and_brings_it_back(visitor: Visitor, record: Record, batch: str) -> None:
    cut = record.batch(batch).of(CutCalled)[-1][0].id
    answer = visitor.post(f"/batch/{batch}/entry/{cut}/withdraw", {"reason": "too early"})
    assert answer.status_code == 303
    assert len(record.batch(batch).of(CutCalled)) == 1
    page = visitor.get(answer.headers["location"]).text
    assert "withdrawn" in page
    assert "<s>cut to hearts</s>" in page
    undo = next(
        event.id for event in record.batch(batch).holding() if event.type == "entry.withdrawn"
    )
    assert visitor.post(f"/batch/{batch}/entry/{undo}/withdraw", {}).status_code == 303
    assert len(record.batch(batch).of(CutCalled)) == 2


def test_what_others_rest_on_stays(visitor: Visitor, record: Record, batch: str) -> None:
    start = next(
        event.id for event in record.batch(batch).holding()
        if event.type == "step.started" and getattr(event.body, "step", "") == "run"
    )  # fmt: skip
    answer = visitor.post(f"/batch/{batch}/entry/{start}/withdraw", {"reason": ""})
    assert answer.status_code == 422
    assert "rests on it" in answer.text
    check_page(answer)


def test_a_stale_correction_shows_both_and_loses_neither(
    visitor: Visitor, record: Record, batch: str
) -> None:
    entry = reading_of(record, batch)
    seen = str(record.batch(batch).version)
    path = f"/batch/{batch}/entry/{entry}/correct"
    first = {"value": "72", "temperature": "20", "seen": seen, "entry_key": "one"}
    assert visitor.post(path, first).status_code == 303
    second = {"value": "70", "temperature": "20", "seen": seen, "entry_key": "two"}
    answer = visitor.post(path, second)
    assert answer.status_code == 409
    assert "Somebody else was first" in answer.text
    assert "72.0 %vol" in answer.text  # theirs
    assert 'value="70"' in answer.text  # ours
    check_page(answer)
    # Sent once more from the page that shows both, ours is taken.
    again = {**second, "seen": str(record.batch(batch).version), "entry_key": "three"}
    assert visitor.post(path, again).status_code == 303
    # The first form sent again, as after a lost answer, is not a clash with itself.
    assert visitor.post(path, first).status_code == 303


def test_another_reading_in_between_is_no_clash(
    visitor: Visitor, record: Record, batch: str
) -> None:
    seen = str(record.batch(batch).version)
    visitor.post(f"/batch/{batch}/step/run/note", {"text": "meanwhile"})
    sent = {"value": "72", "temperature": "20", "seen": seen}
    entry = reading_of(record, batch)
    assert visitor.post(f"/batch/{batch}/entry/{entry}/correct", sent).status_code == 303


def test_unknown_entries_are_not_found(visitor: Visitor, record: Record, batch: str) -> None:
    assert visitor.get(f"/batch/{batch}/entry/nothing").status_code == 404
    assert visitor.post(f"/batch/{batch}/entry/nothing/withdraw", {}).status_code == 404
    cut = record.batch(batch).of(CutCalled)[-1][0].id
    assert visitor.post(f"/batch/{batch}/entry/{cut}/correct", {"value": "1"}).status_code == 404
