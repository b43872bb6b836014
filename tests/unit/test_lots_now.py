# SPDX-License-Identifier: MIT
"""What every lot of a batch is now, from what was measured to what follows from it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from middlecut.adapters.store_memory import MemoryStore
from middlecut.app.batch import Batch
from middlecut.app.batch_events import ReadingTaken, StepFinished, StepStarted
from middlecut.app.events import Body
from middlecut.app.expectation import expect
from middlecut.app.known_lot import EXPECTED, MEASURED, PARTLY, WORKED_OUT
from middlecut.app.lots_now import known_measures, lots_now
from middlecut.app.measured import measured_lots
from middlecut.app.record import Entry, Record
from middlecut.app.spirit_events import (
    BottlesFilled,
    DoseChosen,
    HeartsChosen,
    JarFilled,
    WaterAdded,
)
from middlecut.app.use_cases import note, open_batch
from middlecut.liquid import alcoholometry
from middlecut.plan.examples import example_path

DEMO = example_path("demo").read_text(encoding="utf-8")
NOW = datetime(2027, 3, 1, 9, 0, tzinfo=UTC)


class Clock:
    """Tells one time."""

    def now(self) -> datetime:
        return NOW


class Ids:
    """Ids one after another."""

    def __init__(self) -> None:
        self.last = 0

    def new(self) -> str:
        self.last += 1
        return f"{self.last:032x}"


class Bench:
    """A batch of the demo's plan and what is entered of it, a minute apart."""

    def __init__(self) -> None:
        self.record = Record(MemoryStore(), Clock(), Ids())
        self.batch = open_batch(self.record, DEMO)
        self.minutes = 1000

    def enter(self, *bodies: Body) -> None:
        for body in bodies:
            self.minutes -= 1
            entry = Entry(utc=NOW - timedelta(minutes=self.minutes))
            note(self.record, self.batch, body, entry=entry)

    @property
    def state(self) -> Batch:
        return self.record.batch(self.batch)


@pytest.fixture
def bench() -> Bench:
    """A spirit run with five jars of hearts, 250 mL each, of which four are chosen."""
    made = Bench()
    made.enter(StepStarted("spirit"))
    for name, strength in zip("12345", (0.86, 0.84, 0.82, 0.80, 0.78), strict=True):
        made.enter(JarFilled("spirit", name, 0.25e-3, strength, lot="hearts"))
    made.enter(StepFinished("spirit"), HeartsChosen("spirit", ("1", "2", "3", "4"), "hearts"))
    return made


def test_nothing_entered_is_the_prediction() -> None:
    made = Bench()
    lots, prediction = lots_now(made.state), expect(DEMO)
    assert {one.known for one in lots.made.values()} == {EXPECTED}
    for name, lot in prediction.lots.items():
        assert lots.made[name].lot.volume == pytest.approx(lot.volume, rel=1e-12)
    for name, lot in prediction.left.items():
        assert lots.left[name].lot.volume == pytest.approx(lot.volume, rel=1e-9)
    assert known_measures(made.state) == {}


def test_the_jars_chosen_reach_every_step_after(bench: Bench) -> None:
    lots = lots_now(bench.state)
    hearts = lots.made["hearts"]
    # Four jars of 0.25 L at 86, 84, 82 and 80 % vol are 1.00 L at their mean, 83 % vol.
    assert hearts.known == MEASURED
    assert hearts.basis == "volume and strength measured, from the jars chosen"
    assert (hearts.lot.volume, hearts.lot.strength) == pytest.approx((1.0e-3, 0.83), rel=1e-4)
    # The plan sets half of it aside and leaves the other half for the blend.
    aside = lots.made["hearts to flavour"]
    assert aside.known == WORKED_OUT
    assert (aside.lot.volume, aside.lot.strength) == pytest.approx((0.5e-3, 0.83), rel=1e-4)
    assert lots.taken["marry"]["hearts"].lot.volume == pytest.approx(0.5e-3, rel=1e-4)
    # It is let down to 44.5 % vol: the alcohol stays what it was.
    charge = lots.made["flavour charge"]
    assert charge.lot.strength == pytest.approx(0.445, rel=1e-9)
    assert charge.lot.pure_alcohol == pytest.approx(aside.lot.pure_alcohol, rel=1e-9)
    # What runs off that charge cannot hold more alcohol than went in; the plan's 1.1 L could.
    spirit = lots.made["flavour spirit"]
    assert spirit.known == PARTLY
    assert spirit.lot.pure_alcohol < charge.lot.pure_alcohol
    assert expect(DEMO).lots["flavour spirit"].pure_alcohol > charge.lot.pure_alcohol


def test_what_was_poured_and_dosed_counts(bench: Bench) -> None:
    bench.enter(StepStarted("thin"), WaterAdded("thin", 0.40))
    charge = lots_now(bench.state).made["flavour charge"]
    spirit = alcoholometry.mass_fraction_from_strength(0.83)
    mass = 0.5e-3 * float(alcoholometry.density_20(spirit))
    # 0.5 L of 83 % vol with 400 g of water, by the international density formula.
    fraction = mass * float(spirit) / (mass + 0.40)
    assert charge.lot.mass == pytest.approx(mass + 0.40, rel=1e-4)
    assert charge.lot.strength == pytest.approx(
        float(alcoholometry.strength_from_mass_fraction(fraction)), abs=1e-4
    )
    bench.enter(StepStarted("marry"), DoseChosen("marry", 0.10))
    lots = lots_now(bench.state)
    parts = lots.taken["marry"]
    assert parts["flavour spirit"].lot.volume == pytest.approx(0.05e-3, rel=1e-4)
    assert lots.offered["marry"]["flavour spirit"].lot.volume > 0.1e-3
    # What is not dosed stays.
    assert lots.left["flavour spirit"].lot.volume > 0.0


def test_what_a_step_measures_of_a_lot_is_the_part_it_takes(bench: Bench) -> None:
    bench.enter(
        StepStarted("reduce"),
        ReadingTaken("reduce", "volume", 0.627e-3, 300.15, lot="full-strength spirit"),
        ReadingTaken("reduce", "strength", 0.834, 300.15, "20C", lot="full-strength spirit"),
    )
    lots = lots_now(bench.state)
    part = lots.taken["reduce"]["full-strength spirit"]
    assert part.known == MEASURED
    # 83.4 % vol read at 27 °C is about 81.3 at 20 °C: 0.3 % vol a kelvin, as the tables have it.
    assert part.lot.strength == pytest.approx(0.813, abs=3e-3)
    # Spirit of that strength takes up 0.1 % a kelvin: 627 mL at 27 °C are 622 mL at 20 °C.
    assert part.lot.volume == pytest.approx(0.622e-3, rel=2e-3)
    assert lots.made["full-strength spirit"].known == MEASURED  # the step takes all of it
    assert lots.made["spirit at strength"].lot.pure_alcohol == pytest.approx(
        part.lot.pure_alcohol, rel=1e-9
    )


def test_a_part_that_was_measured_is_not_the_whole(bench: Bench) -> None:
    bench.enter(
        StepStarted("set-aside"),
        ReadingTaken("set-aside", "volume", 0.45e-3, lot="hearts"),
        ReadingTaken("set-aside", "volume", 0.46e-3, lot="hearts to flavour"),
    )
    assert measured_lots(bench.state)["hearts"].volume == pytest.approx(1.0e-3)
    lots = lots_now(bench.state)
    assert lots.made["hearts"].lot.volume == pytest.approx(1.0e-3, rel=1e-4)
    # What was set aside is missing from what the blend takes.
    assert lots.taken["marry"]["hearts"].lot.volume == pytest.approx(0.54e-3, rel=1e-3)


def test_a_reading_after_the_choice_counts_before_it(bench: Bench) -> None:
    bench.enter(ReadingTaken("spirit", "volume", 0.95e-3, lot="hearts"))
    found = measured_lots(bench.state)["hearts"]
    assert found.volume == pytest.approx(0.95e-3)
    assert found.strength == pytest.approx(0.83)
    assert found.origin == "partly from the jars chosen"
    bench.enter(HeartsChosen("spirit", ("1", "2"), "hearts"))
    assert measured_lots(bench.state)["hearts"].volume == pytest.approx(0.5e-3)


def test_a_jar_chosen_for_another_lot_leaves_its_own(bench: Bench) -> None:
    assert measured_lots(bench.state)["hearts"].origin == "from the jars chosen"
    bench.enter(HeartsChosen("spirit", ("1", "2"), "best"))
    found = measured_lots(bench.state)
    assert found["best"].volume == pytest.approx(0.5e-3)
    assert found["hearts"].volume == pytest.approx(0.75e-3)
    assert found["hearts"].remark == ", from its jars"


def test_every_filling_counts(bench: Bench) -> None:
    bench.enter(
        StepStarted("bottle"),
        BottlesFilled("bottle", 30, 0.5e-3, 0.4256, "L-1"),
        BottlesFilled("bottle", 2, 0.5e-3, 0.46, "L-2"),
    )
    found = measured_lots(bench.state)["bottles"]
    # (15 L at 42.56 % + 1 L at 46 %) over 16 L: 42.775 %.
    assert found.volume == pytest.approx(16e-3)
    assert found.strength == pytest.approx(0.42775, rel=1e-9)
    assert [one.lot_number for one in found.bottlings] == ["L-1", "L-2"]
    assert lots_now(bench.state).made["bottles"].lot.volume == pytest.approx(16e-3, rel=1e-9)


def test_what_is_known_beyond_the_plan_says_how(bench: Bench) -> None:
    found = known_measures(bench.state)
    assert found["hearts"].remark == ", from the jars chosen"
    assert found["hearts to flavour"].remark == ", worked out from what was measured"
    assert found["bottles"].remark == ", worked out, partly from what is expected"
    assert "wash 1" not in found


def test_what_is_too_little_for_a_step_is_no_more_than_went_in(bench: Bench) -> None:
    # 100 mL set aside let down to 44.5 % are 0.19 L: too little for the cuts of that run.
    bench.enter(
        StepStarted("set-aside"),
        ReadingTaken("set-aside", "volume", 0.1e-3, lot="hearts to flavour"),
        StepStarted("marry"),
        ReadingTaken("marry", "volume", 0.15e-3, lot="full-strength spirit"),
    )
    lots = lots_now(bench.state)
    charge = lots.made["flavour charge"].lot
    made = [lots.made[name].lot for name in expect(DEMO).steps["flavour"].made]
    assert sum(one.pure_alcohol for one in made) <= charge.pure_alcohol * (1.0 + 1e-9)
    # 0.15 L let down to 46 % is less than one bottle of 0.5 L.
    assert lots.made["bottles"].lot.volume == 0.0
    assert lots.made["bottles remainder"].lot.strength == pytest.approx(0.46, rel=1e-6)
