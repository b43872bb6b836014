# SPDX-License-Identifier: MIT
"""Jars that hold less than what ran off by the totals are told; those that agree are not."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from visitor import Visitor, check_page

from middlecut.app.alcohol import alcohol_entries
from middlecut.app.batch_events import ReadingTaken, StepFinished, StepStarted
from middlecut.app.events import Body
from middlecut.app.record import Entry, Record
from middlecut.app.spirit_events import CutCalled, JarFilled
from middlecut.app.use_cases import note, open_batch
from middlecut.app.views.jar_totals import jar_gap
from middlecut.plan.examples import example_path

DEMO = example_path("demo").read_text(encoding="utf-8")
NOW = datetime(2027, 3, 1, 9, 0, tzinfo=UTC)


def run(record: Record, jars: int) -> str:
    """A spirit run with totals of 0.3 L before hearts and 2.4 L at the call of tails."""
    batch = open_batch(record, DEMO)

    def enter(ago: float, *bodies: Body) -> None:
        note(record, batch, *bodies, entry=Entry(utc=NOW - timedelta(minutes=ago)))

    enter(300, StepStarted("spirit"))
    enter(230, CutCalled("spirit", "foreshots"))
    enter(220, CutCalled("spirit", "heads"))
    enter(201, ReadingTaken("spirit", "volume", 0.3e-3))
    enter(200, CutCalled("spirit", "hearts"))
    for number in range(jars):
        enter(190 - number, JarFilled("spirit", str(number), 0.25e-3, 0.83, None, "", "hearts"))
    enter(100, ReadingTaken("spirit", "volume", 2.4e-3), CutCalled("spirit", "tails"))
    enter(60, ReadingTaken("spirit", "volume", 2.9e-3), StepFinished("spirit"))
    return batch


@pytest.mark.parametrize(("jars", "told"), [(5, True), (8, False)])
def test_jars_against_totals(visitor: Visitor, record: Record, jars: int, told: bool) -> None:
    batch = run(record, jars)
    for path in ("spirit", "spirit/jars"):
        page = visitor.get(f"/batch/{batch}/step/{path}")
        check_page(page)
        assert ("Jars and totals disagree" in page.text) is told
    if told:
        # From 0.30 L a minute before, 2.1 L in 101 minutes: 0.32 L at the call.
        assert "hold 1.25 L together" in page.text
        assert "321 mL had run off when hearts was called and 2.40 L when it ended" in page.text


def test_too_far_from_any_total_nothing_is_said() -> None:
    totals = [(NOW, 0.0), (NOW + timedelta(minutes=10), 1.0e-3)]
    called, ended = NOW + timedelta(minutes=5), NOW + timedelta(minutes=26)
    assert jar_gap("hearts", 9e-3, totals=totals, called=called, ended=ended) is None
    late = ended - timedelta(minutes=2)
    gap = jar_gap("hearts", 9e-3, totals=totals, called=called, ended=late)
    assert gap is not None
    assert gap.ran == pytest.approx(0.5e-3)
    before = NOW - timedelta(minutes=1)
    assert jar_gap("hearts", 9e-3, totals=totals, called=before, ended=late) is None


def test_what_a_run_takes_or_leaves_in_the_boiler_was_not_collected(record: Record) -> None:
    batch = run(record, 5)
    before = len(alcohol_entries(record.batch(batch)))
    for lot in ("low wines 1", "spent low wines"):
        note(record, batch, ReadingTaken("spirit", "volume", 3e-3, lot=lot))
    assert len(alcohol_entries(record.batch(batch))) == before
    note(record, batch, ReadingTaken("spirit", "volume", 0.5e-3, lot="tails"))
    assert len(alcohol_entries(record.batch(batch))) == before + 1
