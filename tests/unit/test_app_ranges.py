# SPDX-License-Identifier: MIT
"""Ranges are worked out behind the pages: one plan at a time, remembered, failing quietly."""

from __future__ import annotations

import threading

from middlecut.app.expectation import StillFit, read_plan
from middlecut.app.ranges import Ranges
from middlecut.errors import InputError
from middlecut.insight.ensemble import predict_bands
from middlecut.plan.prediction import Prediction

PLAN = """
[batch]
name = "One wash"

[[step]]
id = "ferment"
kind = "ferment"
volume = "20 L"
gravity = "1.062 SG"
final_gravity = "1.006 SG"
temperature = "22 °C"
duration = "6 d"
into = "wash"
"""
FOUND = predict_bands(read_plan(PLAN), 20, 0, workers=1)
FIT = StillFit("pot", "b", "First", "{}")


class Work:
    """Work that waits until it is let go, and counts how much goes on at once."""

    def __init__(self) -> None:
        self.gate = threading.Event()
        self.begun = threading.Event()
        self.done: list[tuple[str, tuple[StillFit, ...]]] = []
        self.at_once = 0
        self.most = 0

    def __call__(self, text: str, fits: tuple[StillFit, ...]) -> Prediction:
        self.at_once += 1
        self.most = max(self.most, self.at_once)
        self.begun.set()
        self.gate.wait(10.0)
        self.done.append((text, fits))
        self.at_once -= 1
        if text == "bad":
            raise InputError("draws", "1 of 200", "hardly any draw reached the end")
        if text == "worse":
            raise ZeroDivisionError
        return FOUND


def test_answers_at_once_and_knows_later() -> None:
    work = Work()
    ranges = Ranges(work)
    first = ranges.of("a")
    assert (first.waiting, first.bands, first.trouble) == (True, {}, "")
    assert (first.sheet, first.curve("ferment"), first.tables("ferment")) == (None, None, {})
    work.gate.set()
    ranges.wait()
    known = ranges.of("a")
    assert not known.waiting
    assert known.bands == {"wash": FOUND.lots["wash"].band}
    # The sheet speaks of the draws; the draws themselves are not kept.
    assert known.sheet is not None
    assert "of 20 draws" in known.sheet.ranges[0]
    assert known.prediction is not None
    assert known.prediction.ensemble is None
    assert work.done == [("a", ())]


def test_one_at_a_time_and_each_once() -> None:
    work = Work()
    ranges = Ranges(work)
    ranges.of("a")
    work.begun.wait(10.0)
    for text in ("b", "a", "c", "b"):  # "a" is being done; "b" is asked for last
        assert ranges.of(text).waiting
    assert ranges.of("a", (FIT,)).waiting
    work.gate.set()
    ranges.wait()
    assert work.done == [("a", ()), ("a", (FIT,)), ("b", ()), ("c", ())]
    assert work.most == 1


def test_what_nobody_asks_for_any_more_drops_out() -> None:
    work = Work()
    ranges = Ranges(work)
    ranges.of("a")
    work.begun.wait(10.0)
    for text in "bcdefg":
        ranges.of(text)
    work.gate.set()
    ranges.wait()
    assert [text for text, _ in work.done] == ["a", "g", "f", "e", "d"]


def test_failures_are_said_and_not_tried_again() -> None:
    work = Work()
    work.gate.set()
    ranges = Ranges(work)
    for text, words in (("bad", "hardly any draw"), ("worse", "ZeroDivisionError")):
        ranges.of(text)
        ranges.wait()
        known = ranges.of(text)
        assert words in known.trouble
        assert not known.waiting
        assert not known.bands
    ranges.of("a")
    ranges.wait()
    assert ranges.of("a").bands
    assert [text for text, _ in work.done] == ["bad", "worse", "a"]
