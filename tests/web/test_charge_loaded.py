# SPDX-License-Identifier: MIT
"""What was loaded, as the record knows it, is what the run, its questions and its fit go by."""

from __future__ import annotations

import pytest
from bench_plan import begin, keep
from visitor import Visitor

from middlecut.app.batch_events import ReadingTaken, StepFinished
from middlecut.app.record import Record
from middlecut.app.spirit_events import CutCalled
from middlecut.app.views.calibration import run_of
from middlecut.app.views.charge import loaded_charge, planned_charge
from middlecut.app.views.frame import step_frame
from middlecut.app.views.run import run_view

VOLUME, STRENGTH = 3.71e-3, 0.40


def measure_charge(record: Record, batch: str) -> None:
    keep(
        record,
        batch,
        1600.0,
        ReadingTaken("run", "volume", VOLUME, 293.15, lot="low wines", as_entered="3.71 L"),
        ReadingTaken(
            "run", "strength", STRENGTH, 293.15, "20C", lot="low wines", as_entered="40 %vol"
        ),
    )


def test_the_run_is_that_of_what_was_loaded(record: Record) -> None:
    batch = begin(record)
    planned = run_view(step_frame(record.batch(batch), "run")).curve
    assert loaded_charge(step_frame(record.batch(batch), "run")) is None
    measure_charge(record, batch)
    frame = step_frame(record.batch(batch), "run")
    charge = loaded_charge(frame)
    assert charge is not None
    # 0.5 kg of the plan's water comes on top of what was measured; ethanol only from the lot.
    assert charge.pure_alcohol == pytest.approx(VOLUME * STRENGTH, rel=1e-6)
    assert charge.volume > VOLUME + 0.48e-3
    loaded = run_view(frame).curve
    # Four times the pure alcohol: the hearts last several times as long.
    assert charge.pure_alcohol > 3.0 * planned_charge(frame).pure_alcohol
    assert loaded.volume[-1] > 3.0 * planned.volume[-1]
    assert loaded.cuts[1].end > 2.0 * planned.cuts[1].end


def test_the_fit_and_the_questions_know_it_too(visitor: Visitor, record: Record) -> None:
    batch = begin(record)
    measure_charge(record, batch)
    frame = step_frame(record.batch(batch), "run")
    charge = loaded_charge(frame)
    assert charge is not None
    assert run_of(frame).charge.ethanol == pytest.approx(charge.ethanol, rel=1e-9)
    assert run_of(frame).charge.water == pytest.approx(charge.water, rel=1e-9)
    # More than the plan would load, less than was loaded: nothing to say of what went in.
    sent = {"volume": "2200 mL", "entry_key": "big"}
    answer = visitor.post(f"/batch/{batch}/step/run/read", sent)
    assert "that went into the still" not in answer.text
    sent = {"volume": "4500 mL", "entry_key": "bigger"}
    answer = visitor.post(f"/batch/{batch}/step/run/read", sent)
    assert "that went into the still" in answer.text


def test_cuts_typed_for_the_same_minute_follow_one_another(record: Record) -> None:
    batch = begin(record)
    keep(record, batch, 100.0, CutCalled("run", "tails"))
    keep(record, batch, 100.0, CutCalled("run", "hearts"))
    view = run_view(step_frame(record.batch(batch), "run"))
    heads, hearts, tails = view.cuts
    assert view.running is hearts  # called again: it runs again
    assert hearts.ended is None
    assert tails.called == tails.ended
    assert heads.ended == hearts.called
    assert view.upcoming is None


def test_a_fit_takes_no_cut_for_longer_than_the_next_one(record: Record) -> None:
    batch = begin(record)
    keep(record, batch, 200.0, CutCalled("run", "tails"))
    keep(record, batch, 150.0, CutCalled("run", "hearts"))  # called back
    keep(record, batch, 100.0, StepFinished("run"))
    cuts = run_of(step_frame(record.batch(batch), "run")).step.cuts
    # First drop 700 s ago; hearts 600, tails 200, the end 100 s ago.
    assert [one.until.time for one in cuts[:2]] == [100.0, 500.0]
