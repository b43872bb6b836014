# SPDX-License-Identifier: MIT
"""What the first pages need is got ready while nobody waits for an answer."""

from __future__ import annotations

import threading
import time

import pytest
from bench_plan import begin
from visitor import Visitor

from middlecut.app import expectation, warming
from middlecut.app.giving_way import WAY, GivingWay
from middlecut.app.record import Record


def test_it_waits_until_no_page_is_answered() -> None:
    way, ending = GivingWay(), threading.Event()
    way.begin_answer()
    found: list[bool] = []
    worker = threading.Thread(target=lambda: found.append(way.until_quiet(0.0, ending)))
    worker.start()
    worker.join(0.2)
    assert found == []
    way.end_answer()
    worker.join(10.0)
    assert found == [True]


def test_it_ends_with_the_app() -> None:
    way, ending = GivingWay(), threading.Event()
    way.begin_answer()
    ending.set()
    assert way.until_quiet(0.0, ending) is False


def test_answers_are_counted_once_and_streams_only_until_they_begin(
    visitor: Visitor, record: Record
) -> None:
    for path in ("/", "/nowhere", "/settings"):
        visitor.get(path)
    started = time.monotonic()
    assert WAY.until_quiet(0.0, threading.Event()) is True
    assert time.monotonic() - started < 10.0


def test_a_page_finds_its_prediction_ready(
    visitor: Visitor, record: Record, monkeypatch: pytest.MonkeyPatch
) -> None:
    batch = begin(record)
    plan = record.batch(batch).plan
    assert plan is not None
    monkeypatch.setattr(warming, "QUIET", 0.0)
    # Also the sheets: one that another test asked for would make the prediction needless.
    expectation.expect_sheet.cache_clear()
    expectation._expect.cache_clear()
    with warming.warmed_up(record):
        until = time.monotonic() + 60.0
        # What an app of another test still works out may land here too: wait for one of our own.
        while time.monotonic() < until:
            kept = expectation._expect.cache_info()
            if kept.currsize >= kept.misses >= 1:
                break
            time.sleep(0.01)
    before = expectation._expect.cache_info().misses
    assert visitor.get(f"/batch/{batch}/step/run").status_code == 200
    assert expectation._expect.cache_info().misses == before


def test_who_asks_for_what_is_being_worked_out_waits_for_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    begun, go_on = threading.Event(), threading.Event()
    asked: list[str] = []

    def slowly(plan: str) -> str:
        asked.append(plan)
        begun.set()
        assert go_on.wait(10.0)
        return f"prediction of {plan}"

    monkeypatch.setattr(expectation, "predict", slowly)
    monkeypatch.setattr(expectation, "fitted_plan", lambda text, _fits: text)
    found: list[object] = []
    workers = [
        threading.Thread(target=lambda: found.append(expectation.expect("some plan")))
        for _ in range(2)
    ]
    for one in workers:
        one.start()
    assert begun.wait(10.0)
    go_on.set()
    for one in workers:
        one.join(10.0)
    assert found == ["prediction of some plan"] * 2
    assert asked == ["some plan"]
    expectation._expect.cache_clear()
