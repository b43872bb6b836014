# SPDX-License-Identifier: MIT
"""The invented record of the demo batch holds what its plan does, and tastes of what it causes."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime

import pytest

from middlecut.adapters.store_memory import MemoryStore
from middlecut.app.batch import Batch
from middlecut.app.demo import seed_demo
from middlecut.app.record import Record
from middlecut.app.spirit_events import AdditionMade, CutCalled
from middlecut.app.views.causes import causes_of, unwanted_first
from middlecut.app.views.tastings import panels

NOW = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)


class _Clock:
    def now(self) -> datetime:
        return NOW


class _Ids:
    def __init__(self) -> None:
        self.numbers: Iterator[int] = iter(range(10_000))

    def new(self) -> str:
        return f"{next(self.numbers):032x}"


@pytest.fixture(scope="module")
def state() -> Batch:
    record = Record(MemoryStore(), _Clock(), _Ids())
    return record.batch(seed_demo(record))


def test_what_the_plan_adds_before_the_spirit_run_is_in_the_record(state: Batch) -> None:
    ((event, body),) = state.of(AdditionMade)
    assert (body.step, body.ingredient) == ("ferment-2", "cacao nibs, roasted")
    assert body.amount == pytest.approx(0.060)
    started = next(one.started for one in state.steps() if one.outline.step == "ferment-2")
    assert started is not None
    assert started < event.utc < NOW


def test_every_cut_called_is_one_of_the_plan_and_every_strip_has_its_own(state: Batch) -> None:
    called = [(body.step, body.into) for _, body in state.of(CutCalled)]
    assert called == [
        ("strip-1", "low wines 1"),
        ("strip-2", "low wines 2"),
        ("spirit", "foreshots"),
        ("spirit", "heads"),
        ("spirit", "hearts"),
    ]


def test_what_was_tasted_leads_to_a_remedy_that_helps(state: Batch) -> None:
    led = []
    for panel in panels(state):
        faults = {word: value for word, value, faulty in unwanted_first(panel.found) if faulty}
        diagnosis = causes_of(state, faults, panel.subject)
        first = diagnosis.causes[0]
        if panel.subject.startswith("low wines"):
            # A stripping run cannot be mended by cuts it has on purpose; the page says so.
            assert any("on purpose" in one.text for one in first.evidence)
            continue
        best = first.remedies[0]
        assert (first.fault, best.verdict) == ("isoamyl-acetate", "helps")
        assert best.change is not None
        assert best.change < -0.3
        responsible = [one for one in best.effects if one.role == "responsible"]
        assert responsible[0].after < 0.7 * responsible[0].before
        led.append(panel.subject)
    assert led == ["jar 1 of spirit"]
