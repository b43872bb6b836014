# SPDX-License-Identifier: MIT
"""The map: every lot and step, predicted beside measured, by any measure."""

from __future__ import annotations

import re
from typing import Any

import pytest
from visitor import CountedIds, StandingClock, Visitor, check_page

from middlecut.adapters.store_memory import MemoryStore
from middlecut.app.batch_events import PlanAdopted, ReadingTaken, StepFinished, StepStarted
from middlecut.app.demo import seed_demo
from middlecut.app.expectation import expect
from middlecut.app.flow_map import flow_map
from middlecut.app.measured import measured_lots
from middlecut.app.record import Record
from middlecut.app.spirit_events import BottlesFilled, HeartsChosen, JarFilled
from middlecut.app.use_cases import note, open_batch
from middlecut.plan.examples import example_path
from middlecut.units import format_quantity

DEMO = example_path("demo").read_text(encoding="utf-8")


@pytest.fixture
def batch(record: Record) -> str:
    return open_batch(record, DEMO)


def test_shows_every_step_and_lot(visitor: Visitor, batch: str) -> None:
    answer = visitor.get(f"/batch/{batch}")
    assert answer.status_code == 200
    check_page(answer)
    prediction = expect(DEMO)
    for step in prediction.steps:
        assert f'href="/batch/{batch}/step/{step}"' in answer.text
    for lot in prediction.lots:
        assert f'<th scope="row">{lot}</th>' in answer.text


@pytest.mark.parametrize("by", ["alcohol", "ethyl acetate"])
def test_draws_by_other_measures(visitor: Visitor, batch: str, by: str) -> None:
    answer = visitor.get(f"/batch/{batch}?by={by}")
    assert answer.status_code == 200
    check_page(answer)
    hearts = expect(DEMO).lots["hearts"]
    value = hearts.pure_alcohol if by == "alcohol" else hearts.amounts[by].typical
    dimension = "pure_alcohol" if by == "alcohol" else "mass"
    assert format_quantity(value, dimension) in answer.text


@pytest.mark.parametrize("by", ["gold", "<script>", ""])
def test_an_unknown_measure_is_said(visitor: Visitor, batch: str, by: str) -> None:
    answer = visitor.get(f"/batch/{batch}", params={"by": by})
    assert answer.status_code == 404
    check_page(answer)


def test_an_unknown_batch_is_said(visitor: Visitor) -> None:
    answer = visitor.get("/batch/none")
    assert answer.status_code == 404
    check_page(answer)


def test_streams_carry_exactly_what_the_account_says(record: Record, batch: str) -> None:
    chart = flow_map(record.batch(batch))
    made = {row.lot: row.volume for row in chart.lots}
    for lot, volume in made.items():
        # Whatever is made goes on or is left over; nothing is drawn twice or lost.
        away = sum(stream.value for stream in chart.streams if stream.lot == lot)
        assert away == pytest.approx(volume, rel=1e-6)


def test_ribbons_are_as_wide_as_their_lots(visitor: Visitor, batch: str) -> None:
    text = visitor.get(f"/batch/{batch}").text
    tall = [float(one) for one in re.findall(r'class="ribbon left"[^>]* height="([0-9.]+)"', text)]
    left = expect(DEMO).left
    pairs = sorted(lot.volume for lot in left.values() if lot.volume > 1e-4)[-2:]
    # Stillage 1 and 2 are the tallest ends; heights go as volumes, to the drawing's 0.1.
    assert max(tall) / sorted(tall)[-2] == pytest.approx(pairs[1] / pairs[0], rel=0.01)


def test_measured_stands_beside_predicted(visitor: Visitor, record: Record, batch: str) -> None:
    note(record, batch, StepStarted("spirit"))
    note(record, batch, JarFilled("spirit", "1", 0.00025, 0.80, 293.15, "20C", "hearts"))
    note(record, batch, JarFilled("spirit", "2", 0.00025, 0.70, 293.15, "20C", "hearts"))
    note(record, batch, ReadingTaken("strip-1", "volume", 0.0038, lot="low wines 1"))
    note(record, batch, ReadingTaken("strip-1", "true_strength", 0.30, lot="low wines 1"))
    note(record, batch, BottlesFilled("bottle", 7, 0.0005, 0.46, "L1"))
    found = measured_lots(record.batch(batch))
    # 0.25 L at 80 % and 0.25 L at 70 %: 0.5 L at 75 % by volumes; contraction is below 0.1 %.
    assert found["hearts"].volume == pytest.approx(0.0005)
    assert found["hearts"].strength == pytest.approx(0.75, abs=1e-3)
    assert not found["hearts"].complete
    assert found["low wines 1"].pure_alcohol == pytest.approx(0.00114)
    assert found["bottles"].volume == pytest.approx(0.0035)
    page = visitor.get(f"/batch/{batch}").text
    assert "measured 500 mL so far" in page
    assert "measured 3.80 L" in page


def test_a_jar_without_strength_leaves_strength_unknown(record: Record, batch: str) -> None:
    note(record, batch, StepStarted("spirit"))
    note(record, batch, JarFilled("spirit", "1", 0.00025, lot="hearts"))
    found = measured_lots(record.batch(batch))["hearts"]
    assert found.strength is None
    assert found.pure_alcohol is None


def test_a_plan_that_cannot_be_predicted_harms_nothing(
    visitor: Visitor, record: Record, batch: str
) -> None:
    # As an older release might have kept it: the record takes it, the predictor does not.
    state = record.batch(batch)
    assert state.plan is not None
    note(record, batch, PlanAdopted("not a plan", state.plan.steps))
    answer = visitor.get(f"/batch/{batch}")
    assert answer.status_code == 200
    check_page(answer)
    assert "safe" in answer.text
    assert visitor.get(f"/batch/{batch}/plan").status_code == 200


def test_the_demo_shows_a_run_in_progress(visitor: Visitor, record: Record) -> None:
    batch = seed_demo(record)
    before = record.store.last_sequence()
    assert seed_demo(record) == batch
    assert record.store.last_sequence() == before
    answer = visitor.get(f"/batch/{batch}")
    check_page(answer)
    assert answer.text.count('class="badge done"') == 4
    assert 'class="badge under-way"' in answer.text
    assert "so far" in answer.text


def test_seeding_that_was_broken_off_goes_on(
    record: Record, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = Record(MemoryStore(), StandingClock(), CountedIds())
    seed_demo(whole)
    kept = 0

    def broken(*given: Any, **named: Any) -> Any:
        nonlocal kept
        kept += 1
        if kept == 20:
            raise KeyboardInterrupt
        return note(*given, **named)

    monkeypatch.setattr("middlecut.app.demo.note", broken)
    with pytest.raises(KeyboardInterrupt):
        seed_demo(record)
    seed_demo(record)
    found, wanted = record.store.read_all(), whole.store.read_all()
    assert [event.body for event in found] == [event.body for event in wanted]
    assert [event.utc for event in found] == [event.utc for event in wanted]


def test_chosen_jars_and_every_filling_stand_on_map_record_and_comparison(
    visitor: Visitor, record: Record, batch: str
) -> None:
    note(record, batch, StepStarted("spirit"))
    for name in "12345":
        note(record, batch, JarFilled("spirit", name, 0.00025, 0.83, None, "", "hearts"))
    note(record, batch, StepFinished("spirit"), HeartsChosen("spirit", tuple("1234"), "hearts"))
    note(
        record, batch, StepStarted("bottle"),
        BottlesFilled("bottle", 30, 0.0005, 0.4256, "L27060-1"),
        BottlesFilled("bottle", 2, 0.0005, 0.46, "L27060-2"),
    )  # fmt: skip
    other = open_batch(record, DEMO)
    for path in (
        f"/batch/{batch}",
        f"/batch/{batch}/book",
        f"/compare?batch={batch}&batch={other}",
    ):
        answer = visitor.get(path)
        check_page(answer)
        # 15 L at 42.56 % and 1 L at 46 %.
        assert "16.0 L" in answer.text
        assert "42.8 %vol" in answer.text
        assert "L27060-1, 30 of 500 mL at 42.56 %vol" in answer.text
        assert "L27060-2, 2 of 500 mL at 46.00 %vol" in answer.text
    for path in (f"/batch/{batch}", f"/batch/{batch}/book", f"/batch/{batch}/step/spirit"):
        text = visitor.get(path).text
        assert "1.00 L" in text
        assert "from the jars chosen" in text
        assert "1.25 L" not in text.partition("</table>")[0]
    assert "worked out from what was measured" in visitor.get(f"/batch/{batch}").text


def test_more_bottled_than_collected_is_said(visitor: Visitor, record: Record, batch: str) -> None:
    note(record, batch, StepStarted("spirit"))
    note(record, batch, JarFilled("spirit", "1", 0.005, 0.80, None, "", "hearts"))
    note(record, batch, StepStarted("bottle"), BottlesFilled("bottle", 8, 0.0005, 0.46, "L1"))
    assert "More bottled than there was" not in visitor.get("/record").text
    note(record, batch, BottlesFilled("bottle", 20, 0.0005, 0.46, "L2"))
    for path in ("/record", f"/batch/{batch}/book"):
        answer = visitor.get(path)
        check_page(answer)
        # 28 bottles of 0.5 L at 46 %: 6.44 L; one jar of 5 L at 80 %: 4 L.
        assert "6.44 LPA of pure alcohol was bottled, and only 4.00 LPA collected" in answer.text
