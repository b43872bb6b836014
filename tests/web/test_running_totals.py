# SPDX-License-Identifier: MIT
"""What was collected cannot become less: asked about at once, kept and marked when it came late."""

from __future__ import annotations

from datetime import timedelta

import pytest
from bench_plan import NOW, begin, keep
from visitor import StandingClock, Visitor, check_page

from middlecut.app.batch_events import ReadingTaken
from middlecut.app.record import Entry, Record
from middlecut.app.running_totals import set_aside
from middlecut.app.use_cases import note, withdraw
from middlecut.app.views.readings import first_drop, run_readings
from middlecut.errors import InputError


@pytest.fixture
def batch(record: Record) -> str:
    return begin(record)  # its last volume, 200 mL, was read 235 s ago


def shown(page: str) -> str:
    """Return a page with the times as they are in UTC."""
    here = (NOW - timedelta(seconds=235)).astimezone()
    return page.replace(f"{here:%H:%M}", "08:56")


def volumes(record: Record, batch: str) -> list[float]:
    found = record.batch(batch).readings("run")
    return [round(1e6 * one.taken.value) for one in found if one.taken.quantity == "volume"]


def test_a_falling_total_comes_back_with_the_reason(
    visitor: Visitor, record: Record, batch: str
) -> None:
    answer = visitor.post(f"/batch/{batch}/step/run/read", {"volume": "150", "head": "82"})
    assert answer.status_code == 422
    check_page(answer)
    assert "150 mL is less than the 200 mL of 08:56" in shown(answer.text)
    assert 'value="150"' in answer.text  # as it was typed
    heads = [one for one in record.batch(batch).readings("run") if "head" in one.taken.quantity]
    assert len(heads) == 1  # what else was read is not lost with it
    assert volumes(record, batch) == [200]


def test_what_was_read_earlier_cannot_be_more(visitor: Visitor, record: Record, batch: str) -> None:
    sent = {"volume": "230", "at": f"{NOW - timedelta(minutes=6):%H:%M}"}
    answer = visitor.post(f"/batch/{batch}/step/run/read", sent)
    assert answer.status_code == 422
    assert "230 mL is more than the 200 mL of 08:56" in shown(answer.text)


@pytest.mark.parametrize("volume", ["199", "200", "260"])
def test_a_total_that_stands_or_grows_is_taken(
    visitor: Visitor, record: Record, batch: str, volume: str
) -> None:
    answer = visitor.post(f"/batch/{batch}/step/run/read", {"volume": volume})
    assert answer.status_code == 303
    assert set_aside(record.batch(batch), "run") == ()


def test_a_correction_is_the_way(visitor: Visitor, record: Record, batch: str) -> None:
    wrong = next(
        one for one in record.batch(batch).readings("run") if one.taken.quantity == "volume"
    )
    corrected = visitor.post(f"/batch/{batch}/entry/{wrong.id}/correct", {"value": "140"})
    assert corrected.status_code == 303
    answer = visitor.post(f"/batch/{batch}/step/run/read", {"volume": "150"})
    assert answer.status_code == 303
    assert volumes(record, batch) == [140, 150]
    answer = visitor.post(f"/batch/{batch}/entry/{wrong.id}/correct", {"value": "180"})
    assert answer.status_code == 422
    assert "180 mL is more than 150 mL" in answer.text


def late(visitor: Visitor, clock: StandingClock, batch: str, volume: str, minutes: int) -> None:
    typed = clock.now() - timedelta(minutes=minutes)
    headers = {
        "x-outbox": "1",
        "x-entered": f"{typed:%Y-%m-%dT%H:%M:%SZ}",
        "x-sent": f"{clock.now():%Y-%m-%dT%H:%M:%SZ}",
    }
    answer = visitor.post(f"/batch/{batch}/step/run/read", {"volume": volume}, headers=headers)
    assert answer.status_code == 200


def test_one_that_comes_late_is_kept_marked_and_in_no_figure(
    visitor: Visitor, record: Record, clock: StandingClock, batch: str
) -> None:
    late(visitor, clock, batch, "150", 2)
    assert volumes(record, batch) == [200, 150]
    page = visitor.get(f"/batch/{batch}/step/run").text
    assert "150 mL does not go with 200 mL" in page
    assert "Kept, not used" in page
    assert page.count("200 mL") > 1  # collected so far
    state = record.batch(batch)
    start = first_drop(state, "run")
    assert start is not None
    used = [one for one in run_readings(state, "run", start) if one.quantity == "collected_volume"]
    assert [one.value for one in used] == [pytest.approx(200e-6)]
    forecast = visitor.get(f"/batch/{batch}/step/run?forecast=yes")
    check_page(forecast)
    assert "cannot become less; one value is wrong" not in forecast.text


def test_it_counts_again_when_the_other_is_withdrawn(
    visitor: Visitor, record: Record, clock: StandingClock, batch: str
) -> None:
    late(visitor, clock, batch, "150", 2)
    (found,) = set_aside(record.batch(batch), "run")
    withdraw(record, batch, found.against.id)
    assert set_aside(record.batch(batch), "run") == ()


def test_a_late_earlier_total_does_not_push_out_what_was_there(
    visitor: Visitor, record: Record, clock: StandingClock, batch: str
) -> None:
    late(visitor, clock, batch, "900", 6)  # typed before the 200 mL, and came after it
    (found,) = set_aside(record.batch(batch), "run")
    assert found.reading.taken.value == pytest.approx(900e-6)


def test_jars_lots_and_other_steps_are_no_totals(record: Record, batch: str) -> None:
    keep(record, batch, 0.0, ReadingTaken("run", "volume", 1e-4, lot="hearts"))
    keep(record, batch, 0.0, ReadingTaken("wash", "volume", 9e-3), ReadingTaken("run", "mass", 1.0))
    keep(record, batch, 0.0, ReadingTaken("wash", "volume", 8e-3))
    assert set_aside(record.batch(batch), "run") == ()


def test_the_use_case_refuses_with_the_same_words(record: Record, batch: str) -> None:
    body = ReadingTaken("run", "volume", 1.5e-4, as_entered="150 mL")
    with pytest.raises(InputError, match="150 mL is less than 200 mL that was read before"):
        note(record, batch, body, entry=Entry(utc=NOW))
