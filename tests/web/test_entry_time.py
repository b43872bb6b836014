# SPDX-License-Identifier: MIT
"""An entry that waited on a phone keeps the time of typing, and is kept once however often sent."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from visitor import StandingClock, Visitor

from middlecut.app.demo import seed_demo
from middlecut.app.record import Record
from middlecut.app.spirit_events import TastingMade
from middlecut.errors import InputError
from middlecut.web.entry_time import entered_at

NOW = datetime(2027, 3, 1, 9, 0, tzinfo=UTC)


def test_the_wait_counts_not_the_clock_of_the_device() -> None:
    # A phone an hour ahead: typed at 10:00, sent at 10:20 on its clock; our clock says 9:00.
    headers = {"x-entered": "2027-03-01T10:00:00Z", "x-sent": "2027-03-01T10:20:00Z"}
    assert entered_at(headers, NOW) == NOW - timedelta(minutes=20)


def test_without_headers_it_was_typed_now() -> None:
    assert entered_at({}, NOW) is None


def test_zone_of_the_device() -> None:
    headers = {"x-entered": "2027-03-01T10:50:00+02:00"}
    assert entered_at(headers, NOW) == NOW - timedelta(minutes=10)


def test_a_clock_set_back_is_taken_at_its_word() -> None:
    headers = {"x-entered": "2027-03-01T08:00:00Z", "x-sent": "2027-03-01T07:00:00Z"}
    assert entered_at(headers, NOW) == NOW - timedelta(hours=1)


@pytest.mark.parametrize(
    "headers",
    [
        {"x-entered": "yesterday"},
        {"x-entered": "2027-03-01T10:00:00"},  # no zone
        {"x-entered": "0001-01-01T00:00:00+14:00"},
        {"x-entered": "0001-01-01T00:00:00Z", "x-sent": "9999-12-31T00:00:00Z"},
    ],
)
def test_refuses_what_is_no_time(headers: dict[str, str]) -> None:
    with pytest.raises(InputError, match="2027-03-01"):
        entered_at(headers, NOW)


def taste(visitor: Visitor, batch: str, headers: dict[str, str]) -> object:
    fields = {"subject": "hearts", "text": "clean", "entry_key": "k" * 32}
    answer = visitor.post(f"/batch/{batch}/tasting", fields, headers=headers)
    assert answer.status_code == 200
    return answer.json()


def test_sent_twice_is_kept_once_with_both_times(
    visitor: Visitor, record: Record, clock: StandingClock
) -> None:
    batch = seed_demo(record)
    clock.pass_by(hours=2)
    sent = f"{clock.now():%Y-%m-%dT%H:%M:%SZ}"
    typed = f"{clock.now() - timedelta(minutes=30):%Y-%m-%dT%H:%M:%SZ}"
    headers = {"x-outbox": "1", "x-entered": typed, "x-sent": sent}
    go = {"go": f"/batch/{batch}/tasting?said=tasted"}
    assert taste(visitor, batch, headers) == go
    clock.pass_by(minutes=5)
    assert taste(visitor, batch, headers) == go
    kept = [event for event, body in record.batch(batch).of(TastingMade) if body.text == "clean"]
    assert len(kept) == 1
    assert kept[0].entered_utc == kept[0].utc == kept[0].synced_utc - timedelta(minutes=30)


def test_a_time_that_cannot_be_is_refused_in_words(visitor: Visitor, record: Record) -> None:
    batch = seed_demo(record)
    fields = {"subject": "hearts", "text": "clean", "entry_key": "k" * 32}
    headers = {"x-outbox": "1", "x-entered": "soon"}
    answer = visitor.post(f"/batch/{batch}/tasting", fields, headers=headers)
    assert answer.status_code == 422
    assert "clock of the device" in answer.text
    assert all(body.text != "clean" for _, body in record.batch(batch).of(TastingMade))


def test_worker_comes_from_the_root(visitor: Visitor) -> None:
    answer = visitor.get("/worker.js")
    assert answer.status_code == 200
    assert answer.headers["content-type"].startswith("text/javascript")
