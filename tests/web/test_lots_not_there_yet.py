# SPDX-License-Identifier: MIT
"""A step whose lots nobody made yet: it says what is missing, and asks before it starts."""

from __future__ import annotations

from datetime import timedelta

import pytest
from bench_plan import NOW, begin, keep
from visitor import StandingClock, Visitor, check_page

from middlecut.app.batch_events import StepFinished, StepStarted
from middlecut.app.record import Record
from middlecut.app.spirit_events import BottlesFilled

ASKED = "on wood is not there yet: step chips, which makes it, has not been started"


@pytest.fixture
def batch(record: Record) -> str:
    return begin(record)


def started(record: Record, batch: str) -> set[str]:
    return {body.step for _, body in record.batch(batch).of(StepStarted)}


def test_the_page_says_what_is_missing(visitor: Visitor, batch: str) -> None:
    page = visitor.get(f"/batch/{batch}/step/fill")
    check_page(page)
    assert ASKED in page.text
    assert f'href="/batch/{batch}/step/chips"' in page.text


@pytest.mark.parametrize("step", ["fill", "reduce", "chips", "marry"])
def test_it_asks_before_it_starts(visitor: Visitor, record: Record, batch: str, step: str) -> None:
    answer = visitor.post(f"/batch/{batch}/step/{step}/start", {"text": "my words"})
    assert answer.status_code == 422
    check_page(answer)
    assert "is not there yet: step" in answer.text
    assert "my words" in answer.text
    assert step not in started(record, batch)
    sent = {"text": "from elsewhere", "anyway": "yes"}
    assert visitor.post(f"/batch/{batch}/step/{step}/start", sent).status_code == 303
    assert step in started(record, batch)
    assert "is not there yet" not in visitor.get(f"/batch/{batch}/step/{step}").text


def test_the_makers_run_is_still_under_way(visitor: Visitor, record: Record) -> None:
    batch = begin(record)
    keep(record, batch, 200.0, StepStarted("strip"))
    page = visitor.get(f"/batch/{batch}/step/marry").text
    assert "flavour is not there yet: step peel, which makes it, has not been started" in page
    keep(record, batch, 100.0, StepStarted("peel"))
    page = visitor.get(f"/batch/{batch}/step/marry").text
    assert "flavour is not there yet: step peel, which makes it, is still under way" in page


def test_what_is_there_is_not_asked_about(visitor: Visitor, record: Record, batch: str) -> None:
    # The wash is finished; of the hearts jars are filled, though the run goes on.
    for step in ("strip", "peel"):
        assert visitor.post(f"/batch/{batch}/step/{step}/start", {}).status_code == 303
    keep(record, batch, 0.0, StepFinished("peel"))
    assert visitor.post(f"/batch/{batch}/step/marry/start", {}).status_code == 303


def test_bottles_of_nothing_are_asked_about(visitor: Visitor, record: Record, batch: str) -> None:
    sent = {"count": "4", "bottle_volume": "100", "strength": "46", "temperature": "20"}
    answer = visitor.post(f"/batch/{batch}/step/fill/bottles", sent)
    assert answer.status_code == 422
    check_page(answer)
    assert ASKED in answer.text
    assert not record.batch(batch).of(BottlesFilled)
    water = visitor.post(f"/batch/{batch}/step/reduce/water", {"water": "0.1"})
    assert water.status_code == 422
    assert "married is not there yet" in water.text


def test_one_that_waited_in_an_outbox_is_taken(
    visitor: Visitor, record: Record, clock: StandingClock, batch: str
) -> None:
    headers = {
        "x-outbox": "1",
        "x-entered": f"{NOW - timedelta(minutes=5):%Y-%m-%dT%H:%M:%SZ}",
        "x-sent": f"{clock.now():%Y-%m-%dT%H:%M:%SZ}",
    }
    answer = visitor.post(f"/batch/{batch}/step/fill/start", {}, headers=headers)
    assert answer.status_code == 200
    assert "fill" in started(record, batch)
