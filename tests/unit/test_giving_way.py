# SPDX-License-Identifier: MIT
"""Ranges are worked out behind the pages, and stand aside while somebody waits."""

from __future__ import annotations

import threading
from typing import Any

import pytest

from middlecut.app import giving_way, ranges
from middlecut.app.expectation import expect
from middlecut.app.giving_way import WAY, GivingWay
from middlecut.plan.examples import example_path

NEUTRAL = example_path("neutral").read_text(encoding="utf-8")


def test_work_stands_aside_until_nobody_waits() -> None:
    way, begun = GivingWay(), threading.Event()
    order: list[object] = []

    def behind() -> None:
        begun.set()
        order.append(way.stand_aside())
        order.append("behind")

    worker = threading.Thread(target=behind)
    with way.awaited():
        with way.awaited():
            worker.start()
            assert begun.wait(10.0)
        order.append("still waited for")
    worker.join(10.0)
    assert order == ["still waited for", False, "behind"]


def test_who_waits_too_long_is_waited_for_no_more(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(giving_way, "LONGEST", 0.001)
    way = GivingWay()
    with way.awaited():
        assert way.stand_aside() is False


def test_a_fault_in_what_is_waited_for_lets_the_rest_go_on() -> None:
    way = GivingWay()
    with pytest.raises(ZeroDivisionError), way.awaited():
        _ = 1 / 0
    assert way.stand_aside() is False


def test_ranges_ask_before_each_lot_of_draws(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[Any] = []
    monkeypatch.setattr(ranges, "predict_bands", lambda *_, **how: asked.append(how["cancelled"]))
    ranges.work_out(NEUTRAL)
    assert asked == [WAY.stand_aside]


def test_a_prediction_is_waited_for(monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[int] = []

    def predict(plan: object) -> object:
        seen.append(WAY._awaited)
        return plan

    monkeypatch.setattr("middlecut.app.expectation.predict", predict)
    expect(f"{NEUTRAL}\n# not predicted before\n")
    assert seen == [1]
    assert WAY.stand_aside() is False


@pytest.mark.parametrize(("platform", "times"), [("linux", 1), ("darwin", 0), ("freebsd14", 0)])
def test_a_thread_steps_back_only_where_its_id_is_no_other_process(
    monkeypatch: pytest.MonkeyPatch, platform: str, times: int
) -> None:
    asked: list[tuple[int, int, int]] = []
    monkeypatch.setattr("sys.platform", platform)
    monkeypatch.setattr("os.setpriority", lambda *given: asked.append(given))
    GivingWay().step_back()
    assert len(asked) == times
