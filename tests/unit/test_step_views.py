# SPDX-License-Identifier: MIT
"""Record and plan side by side: what the step pages show, checked without a browser."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from middlecut.adapters.store_memory import MemoryStore
from middlecut.app.batch_events import NoteWritten, ReadingTaken, StepFinished, StepStarted
from middlecut.app.edits import keep_edit
from middlecut.app.events import Body
from middlecut.app.record import Entry, Record
from middlecut.app.spirit_events import CutCalled, DoseChosen, HeartsChosen, JarFilled, PowerSet
from middlecut.app.use_cases import note, open_batch
from middlecut.app.views.calibration import fit_run, keep_fit, kept_fit, still_text
from middlecut.app.views.doses import dose_view
from middlecut.app.views.entries import entry_rows, tell
from middlecut.app.views.ferment import ferment_view
from middlecut.app.views.forecast import forecast_said, sharpened
from middlecut.app.views.frame import step_frame
from middlecut.app.views.jar_table import jar_view, mix_jars
from middlecut.app.views.lots import known_lot, lot_like, true_strength
from middlecut.app.views.outlook import outlook, until_words
from middlecut.app.views.readings import power_shares, run_readings
from middlecut.app.views.run import run_view
from middlecut.errors import InputError, NotFoundError
from middlecut.insight.calibrated import CalibratedStill
from middlecut.plan.examples import example_path
from middlecut.steps.lot import Amount, Lot
from middlecut.steps.parameters import Until

NOW = datetime(2027, 3, 1, 9, 0, tzinfo=UTC)
TEXT = example_path("double-pot-1300m").read_text(encoding="utf-8")
SHARED = TEXT.replace('from = "hearts"', 'from = { lot = "hearts", fraction = "50 %" }')
BLENDED = """
[[step]]
id = "thin"
kind = "draw"
from = { lot = "hearts", volume = "100 mL" }
into = "part"
[[step]]
id = "marry"
kind = "blend"
from = ["hearts", { lot = "part", dose = "40 mL/L" }]
into = "married"
"""


@dataclass(slots=True)
class Clock:
    moment: datetime = NOW

    def now(self) -> datetime:
        return self.moment


@dataclass(slots=True)
class Ids:
    numbers: Iterator[int] = field(default_factory=lambda: iter(range(1, 100_000)))

    def new(self) -> str:
        return f"{next(self.numbers):032x}"


@pytest.fixture
def record() -> Record:
    return Record(MemoryStore(), Clock(), Ids())


def keep(record: Record, batch: str, ago: float, *bodies: Body) -> None:
    note(record, batch, *bodies, entry=Entry(utc=NOW - timedelta(seconds=ago)))


def run_of(record: Record) -> tuple[str, str, float]:
    """Open the double-pot example in its last run; return batch, step and how long it runs."""
    batch = open_batch(record, TEXT)
    step = next(
        one.outline.step
        for one in reversed(record.batch(batch).steps())
        if one.outline.kind == "distil"
    )
    curve = run_view(step_frame(record.batch(batch), step)).curve
    hearts = next(cut for cut in curve.cuts if cut.into == "hearts")
    here = 0.5 * (hearts.start + hearts.end)
    wait = curve.facts.heat_up_time + curve.facts.fill_time
    keep(record, batch, here + wait, StepStarted(step), PowerSet(step, share=1.0))
    for cut in curve.cuts:
        if cut.start <= here:
            bodies = (CutCalled(step, cut.into), PowerSet(step, share=cut.power))
            keep(record, batch, here - cut.start, *bodies)
    return batch, step, here


def test_a_lot_like_another_has_the_volume_and_strength_asked_for() -> None:
    like = Lot("sweet", 0.5, 0.4, 0.05, {"linalool": Amount(2e-6, 1e-6, 4e-6)})
    made = lot_like(like, volume=0.25e-3, strength=0.40)
    assert made.volume == pytest.approx(0.25e-3, rel=1e-9)
    assert made.strength == pytest.approx(0.40, rel=1e-9)
    assert made.compounds["linalool"] == pytest.approx(like.compounds["linalool"], rel=1e-9)
    assert made.solids / made.volume == pytest.approx(like.solids / like.volume, rel=1e-9)
    with pytest.raises(InputError):
        lot_like(like, volume=0.0, strength=0.4)


def test_true_strength_is_that_of_the_tables() -> None:
    assert true_strength(0.40, None) == 0.40
    # 40 % vol read at 30 °C is 36.0 at 20 °C: international tables, part IIIb.
    assert true_strength(0.40, 303.15) == pytest.approx(0.360, abs=5e-4)
    # 100 proof at 60 °F is 50 % vol at 60 °F, 50.04 at 20 °C.
    assert true_strength(0.5, None, proof_scale=True) == pytest.approx(0.5, abs=1e-3)


def test_the_outlook_goes_through_the_last_volume(record: Record) -> None:
    batch, step, here = run_of(record)
    view = run_view(step_frame(record.batch(batch), step))
    plain = outlook(view, NOW)
    assert plain is not None
    hearts = view.running
    assert hearts is not None
    assert hearts.cut.into == "hearts"
    assert plain.time_left == pytest.approx(hearts.mark.end - here, abs=1e-6)
    # The run is five minutes ahead of the plan: a volume of five minutes later was read.
    later = float(np.interp(here + 300.0, view.curve.time, view.curve.volume))
    keep(record, batch, 0.0, ReadingTaken(step, "volume", later))
    ahead = outlook(run_view(step_frame(record.batch(batch), step)), NOW)
    assert ahead is not None
    assert ahead.volume == pytest.approx(later, rel=1e-9)
    assert ahead.time_left is not None
    assert plain.time_left is not None
    assert plain.time_left - ahead.time_left == pytest.approx(300.0, abs=1e-6)
    assert "moved along" in ahead.basis


def test_a_cut_by_volume_counts_from_its_call(record: Record) -> None:
    batch, step, _ = run_of(record)
    view = run_view(step_frame(record.batch(batch), step))
    first = view.cuts[0]
    assert first.cut.until.volume is not None
    again = open_batch(record, TEXT)
    keep(record, again, 1000.0, StepStarted(step))
    keep(record, again, 5.0, CutCalled(step, first.cut.into))
    found = outlook(run_view(step_frame(record.batch(again), step)), NOW)
    assert found is not None
    assert found.volume_left is not None
    assert found.volume + found.volume_left == pytest.approx(first.cut.until.volume, rel=1e-6)


def test_the_forecast_learns_what_the_outlook_cannot(record: Record) -> None:
    batch, step, here = run_of(record)
    curve = run_view(step_frame(record.batch(batch), step)).curve
    for share in (0.4, 0.7, 0.95):
        at = share * here
        value = float(np.interp(at, curve.time, curve.volume))
        keep(record, batch, here - at, ReadingTaken(step, "volume", value))
    frame = step_frame(record.batch(batch), step)
    view = run_view(frame)
    said = forecast_said(frame, view, NOW)
    assert said.trouble == ""
    plain = outlook(view, NOW)
    assert plain is not None
    sharp = sharpened(plain, said, view, NOW)
    assert sharp.low is not None
    assert sharp.high is not None
    assert plain.time_left is not None
    # Readings of the plan itself: the plan's own answer lies in the band.
    assert sharp.low < plain.time_left < sharp.high
    keep(record, batch, 0.0, StepFinished(step))
    frame = step_frame(record.batch(batch), step)
    assert forecast_said(frame, run_view(frame), NOW).forecast is None


def test_readings_are_timed_from_the_first_drop_and_jars_are_spans(record: Record) -> None:
    batch, step, here = run_of(record)
    keep(record, batch, 60.0, JarFilled(step, "1", 2e-4, 0.9, 293.15, "20C", "hearts"))
    keep(record, batch, 20.0, JarFilled(step, "2", 2e-4, 1.7 / 2.0, 288.7, "60F", "hearts"))
    keep(record, batch, 10.0, ReadingTaken(step, "true_strength", 0.9))
    keep(record, batch, 10.0, ReadingTaken(step, "true_strength", 0.9, lot="hearts"))
    state = record.batch(batch)
    found = run_readings(state, step, NOW - timedelta(seconds=here))
    assert [one.quantity for one in found] == [
        "jar_strength",
        "jar_strength",
        "distillate_strength",
    ]
    assert found[1].since == pytest.approx(here - 60.0, abs=1e-3)
    assert found[1].instrument == "proof hydrometer"
    assert found[2].instrument == "density meter"
    keep(record, batch, 5.0, PowerSet(step, power=600.0))
    shares = power_shares(record.batch(batch), step, NOW, full_power=1200.0)
    assert list(shares[-1]) == pytest.approx([-5.0, 0.5])


def test_jars_have_what_runs_off_at_their_place(record: Record) -> None:
    batch, step, _ = run_of(record)
    view = run_view(step_frame(record.batch(batch), step))
    expected = [jar for jar in view.curve.jars if jar.cut == "hearts"][:3]
    for jar in expected:
        filled = JarFilled(step, str(jar.number), jar.volume, jar.strength, lot="hearts")
        keep(record, batch, 30.0, filled)
    table = jar_view(step_frame(record.batch(batch), step))
    assert table.lot == "hearts"
    for row, jar in zip(table.rows, expected, strict=True):
        assert row.lot is not None
        levels = row.lot.compounds
        for compound, level in jar.compounds.items():
            # The curve is dense, not exact, between its points.
            assert levels[compound] == pytest.approx(level, rel=0.01, abs=1e-3)
    both = mix_jars(table, [row.name for row in table.rows[:2]])
    assert both is not None
    alcohol = sum(jar.volume * jar.strength for jar in expected[:2])
    assert both.lot.pure_alcohol == pytest.approx(alcohol, rel=1e-6)
    with pytest.raises(NotFoundError):
        mix_jars(table, ["99"])
    assert mix_jars(table, []) is None


def test_chosen_jars_are_the_lot_from_then_on(record: Record) -> None:
    batch, step, _ = run_of(record)
    for name, strength in (("1", 0.92), ("2", 0.90)):
        keep(record, batch, 30.0, JarFilled(step, name, 2e-4, strength, lot="hearts"))
    frame = step_frame(record.batch(batch), step)
    assert known_lot(frame, "hearts").expected  # jars are still being filled
    keep(record, batch, 20.0, HeartsChosen(step, ("2",), "hearts"))
    known = known_lot(step_frame(record.batch(batch), step), "hearts")
    assert known.basis == "volume and strength measured, from the jars chosen"
    assert known.lot.volume == pytest.approx(2e-4, rel=1e-9)
    assert known.lot.strength == pytest.approx(0.90, rel=1e-9)


def test_a_dose_of_the_plan_is_the_flavour(record: Record) -> None:
    batch = open_batch(record, SHARED + BLENDED)
    view = dose_view(step_frame(record.batch(batch), "marry"))
    assert view is not None
    assert (view.base.lot.name, view.flavour.lot.name) == ("hearts", "part")
    assert view.planned_rate == pytest.approx(0.04, rel=1e-9)
    keep(record, batch, 0.0, DoseChosen("marry", 0.03))
    view = dose_view(step_frame(record.batch(batch), "marry"))
    assert view is not None
    assert view.dose is not None
    assert view.dose.volume == pytest.approx(0.03 * view.base.lot.volume, rel=1e-9)
    with pytest.raises(NotFoundError):
        dose_view(step_frame(record.batch(batch), "thin"))


def test_a_fermentation_without_readings_follows_the_usual_course(record: Record) -> None:
    batch = open_batch(record, TEXT)
    wash = next(s.outline.step for s in record.batch(batch).steps() if s.outline.kind == "ferment")
    before = ferment_view(step_frame(record.batch(batch), wash), NOW)
    assert before.elapsed is None
    assert before.milestones[0].at is None
    keep(record, batch, 7200.0, StepStarted(wash))
    view = ferment_view(step_frame(record.batch(batch), wash), NOW)
    assert view.elapsed == 7200.0
    assert view.attenuation is None
    assert view.milestones[0].at == NOW + timedelta(
        seconds=view.milestones[0].window.typical - 7200.0
    )
    fall = [one.gravity for one in view.course]
    assert fall == sorted(fall, reverse=True)
    assert all(one.low <= one.gravity <= one.high for one in view.course)


def test_entries_are_told_newest_first(record: Record) -> None:
    batch, step, _ = run_of(record)
    keep(record, batch, 1.0, NoteWritten("curly {braces} stay words", step))
    keep(record, batch, 1.0, JarFilled(step, "{x}", 2e-4, 0.8, 293.15, "20C", "hearts"))
    rows = entry_rows(record.batch(batch), step)
    assert [row.at for row in rows] == sorted((row.at for row in rows), reverse=True)
    said = [row.phrase.template.format(*(["#"] * len(row.phrase.quantities))) for row in rows]
    assert said[0] == "jar (x) filled: # at #, read at #, hearts"
    assert said[1] == "curly (braces) stay words"
    assert said[-1] == "started"
    state = record.batch(batch)
    for event in state.holding():  # nothing that can be in a batch is without words
        phrase = tell(event.body, state)
        assert phrase.template.format(*(["#"] * len(phrase.quantities)))


def test_a_cut_is_told_by_what_ends_it() -> None:
    assert until_words(Until(strength=0.45)).quantities == ((0.45, "strength"),)
    for until in (Until(volume=1e-4), Until(head_temperature=360.0), Until(time=60.0),
                  Until(boiler_volume=1e-3)):  # fmt: skip
        assert "{}" in until_words(until).template


def test_the_section_of_a_still_is_found() -> None:
    text = '[batch]\nname = "x"\n[still.pot] # mine\na = 1\n\n[[step]]\nid = "y"\n'
    assert still_text(text, "pot") == "[still.pot] # mine\na = 1\n"
    with pytest.raises(NotFoundError):
        still_text(text, "kettle")


def test_an_edit_waits_for_nobody_but_its_like(record: Record) -> None:
    batch = open_batch(record, SHARED + BLENDED)
    seen = record.batch(batch).version

    def same(body: Body) -> bool:
        return isinstance(body, DoseChosen)

    keep(record, batch, 0.0, NoteWritten("meanwhile"))
    first = DoseChosen("marry", 0.02)
    kept = keep_edit(record, batch, first, same=same, seen=seen, entry=Entry(key="a"))
    assert kept == ()
    second = DoseChosen("marry", 0.03)
    later = keep_edit(record, batch, second, same=same, seen=seen, entry=Entry(key="b"))
    assert [event.body for event in later] == [first]
    assert record.batch(batch).of(DoseChosen)[-1][1] == first
    # The same entry once more is no clash with itself, and is not kept twice.
    assert keep_edit(record, batch, first, same=same, seen=seen, entry=Entry(key="a")) == ()
    assert len(record.batch(batch).of(DoseChosen)) == 1
    assert keep_edit(record, batch, second, same=same, seen=None, entry=Entry(key="c")) == ()


def fitted_text(fitted: CalibratedStill) -> str:
    return json.dumps(fitted.to_dict(), allow_nan=False)


def test_a_kept_fit_is_where_the_next_forecast_starts(record: Record) -> None:
    batch, step, here = run_of(record)
    frame = step_frame(record.batch(batch), step)
    curve = run_view(frame).curve
    assert kept_fit(record, frame) == ""
    for share in (0.1, 0.3, 0.5, 0.7, 0.9):
        at = share * here
        for quantity, values in (("true_strength", curve.strength), ("volume", curve.volume)):
            value = float(np.interp(at, curve.time, values))
            keep(record, batch, here - at, ReadingTaken(step, quantity, value))
    frame = step_frame(record.batch(batch), step)
    fitted = fit_run(frame)
    keep_fit(record, frame, fitted, entry=Entry())
    document = kept_fit(record, frame)
    # Readings of the plan itself: the fit finds the still of the plan.
    assert fitted.residual_deviation < 1.0
    assert fitted.still.heater_efficiency == pytest.approx(
        run_view(frame).still.heater_efficiency, rel=0.02
    )
    assert bool(document) == fitted.trustworthy
    said = forecast_said(frame, run_view(frame), NOW, fit=fitted_text(fitted))
    assert said.fitted
    assert said.forecast is not None
    other = open_batch(record, TEXT.replace('heater_power = "', 'heater_power = "1'))
    assert kept_fit(record, step_frame(record.batch(other), step)) == ""
