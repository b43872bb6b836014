# SPDX-License-Identifier: MIT
"""A live forecast: phases, marks, contradictions and their meanings, refusals (runs invented)."""

from __future__ import annotations

import json
import math
import sys
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "calib"))
from watched_run import PLAN, STILL, Watched, loaded, watch

import middlecut as mc
from middlecut.errors import InputError, NotFoundError, OutOfRangeError
from middlecut.insight.calibrated import CalibratedStill, FittedParameter
from middlecut.insight.fermentation_forecast import fermentation_sentences, forecast_fermentation
from middlecut.insight.forecast import forecast_run
from middlecut.insight.readings import Reading
from middlecut.insight.run_forecast import Contradiction, RunForecast, run_sentences, spoken
from middlecut.insight.run_marks import Mark
from middlecut.insight.run_population import run_population
from middlecut.insight.run_setup import beliefs_of
from middlecut.liquid import alcoholometry
from middlecut.plan.model import Plan
from middlecut.steps.band import Band

Rows = tuple[Reading | Mark, ...]
DRAWS = 96


@cache
def truth() -> Watched:
    return watch(None)


@cache
def moment() -> float:
    """The present: two thirds through the hearts."""
    run = truth()
    return run.when(0) + 0.67 * (run.when(1) - run.when(0))


@cache
def good() -> Rows:
    return tuple(truth().readings(np.random.default_rng(2), moment()))


def forecast(rows: Rows, now: float | None = None, **more: object) -> RunForecast:
    return forecast_run(
        PLAN,
        "run",
        rows,
        now=moment() if now is None else now,
        draws=DRAWS,
        **more,  # type: ignore[arg-type]
    )


@cache
def usual() -> RunForecast:
    return forecast(good())


def changed(quantity: str, place: int, **fields: object) -> tuple[Rows, Reading]:
    """Return the rows with one reading changed, and that reading as it should be."""
    chosen = [
        n for n, row in enumerate(good()) if isinstance(row, Reading) and row.quantity == quantity
    ]
    rows = list(good())
    right = rows[chosen[place]]
    assert isinstance(right, Reading)
    rows[chosen[place]] = replace(right, **fields)  # type: ignore[arg-type]
    return tuple(rows), right


def the_one(found: RunForecast) -> Contradiction:
    assert len(found.contradictions) == 1, [one.text for one in found.contradictions]
    return found.contradictions[0]


def middle(band: Band) -> float:
    return band.median


def test_where_the_run_is_and_what_is_to_come() -> None:
    found, run = usual(), truth()
    assert (found.phase, found.cut) == ("running", "hearts")
    assert [one.state for one in found.cuts] == ["over", "running", "to come"]
    assert [one.called for one in found.cuts] == [True, False, False]
    hearts, mark = found.cuts[1], run.curve.cuts[1]
    assert hearts.end.low < run.when(1) < hearts.end.high
    assert hearts.volume.low < mark.volume < hearts.volume.high
    assert hearts.left.median == pytest.approx(hearts.end.median - found.now)
    at = moment() - run.start
    left = float(np.interp(at, run.curve.time, run.curve.boiler_volume))
    strength = float(np.interp(at, run.curve.time, run.curve.boiler_strength))
    assert found.boiler_volume.low < left < found.boiler_volume.high
    assert found.boiler_strength.low < strength < found.boiler_strength.high
    assert not found.contradictions
    assert not found.refused
    assert all(abs(one.deviation) < 3.5 for one in found.readings)


def test_the_sentences_name_cut_minutes_and_volume() -> None:
    lines = run_sentences(usual())
    assert any(line.startswith("Hearts end in ") and "to come" in line for line in lines)
    assert any(line.startswith("Then tails") for line in lines)
    assert "US gal" in " ".join(run_sentences(usual(), system="us"))


def test_the_same_whatever_the_order_and_when_an_entry_comes_late() -> None:
    order = np.random.default_rng(1).permutation(len(good()))
    again = forecast(tuple(good()[n] for n in order))
    assert again.cuts == usual().cuts
    assert again.readings == usual().readings


def test_a_corrected_entry_leaves_no_trace_but_the_refusal() -> None:
    rows, _ = changed("distillate_strength", 3, value=0.5)
    found = forecast((*rows[:3], *rows[3:], changed("distillate_strength", 3)[1]))
    assert found.cuts == usual().cuts
    assert len(found.refused) == 1


def test_the_seed_decides() -> None:
    assert forecast(good(), seed=0).cuts == usual().cuts
    assert forecast(good(), seed=1).cuts != usual().cuts


def test_json_is_plain_and_finite() -> None:
    page = json.loads(json.dumps(usual().to_dict(), allow_nan=False))
    assert page["cuts"][1]["into"] == "hearts"
    assert len(page["readings"]) == len(usual().readings)


def test_before_the_first_drop_it_is_foretold_and_later_overdue() -> None:
    on = (Mark(0.0, "power-on"),)
    heating = forecast(on, 0.3 * truth().start)
    assert heating.phase == "heating"
    assert heating.first_drop.low < truth().start < heating.first_drop.high
    warm = Reading(0.5 * truth().start, "boiler_temperature", 293.15 + 35.0)
    assert forecast((*on, warm), 0.5 * truth().start).first_drop.high != heating.first_drop.high
    filling = forecast(on, 1.0 * truth().start)
    assert filling.phase == "filling"
    assert filling.first_drop.low >= filling.now
    late = forecast(on, 2.0 * truth().start)
    assert [one.code for one in late.cautions] == ["first-drop-overdue"]


def test_more_power_from_now_on_ends_the_hearts_sooner() -> None:
    more = forecast((*good(), Mark(moment(), "power", 0.95)))
    assert middle(more.cuts[1].left) < 0.85 * middle(usual().cuts[1].left)


def test_a_cut_that_is_not_called_is_taken_as_planned_and_said() -> None:
    rows = tuple(row for row in good() if not isinstance(row, Mark) or row.kind != "cut")
    found = forecast(rows)
    assert found.cut == "hearts"
    assert [one.code for one in found.cautions] == ["cut-not-called"]
    assert middle(found.cuts[0].volume) == pytest.approx(300e-6, rel=0.05)


def test_heat_off_ends_the_run() -> None:
    found = forecast((*good(), Mark(moment(), "heat-off")), moment() + 600.0)
    assert found.phase == "done"
    assert middle(found.volume) == pytest.approx(middle(usual().collected), rel=0.02)
    assert run_sentences(found)[0] == "The run is over."


def test_an_element_that_will_be_uncovered_is_a_danger() -> None:
    high = replace(STILL, element_covered_above=13e-3)
    found = forecast(good(), still=high)
    assert found.uncovered is not None
    assert found.uncovered.share > 0.9
    assert any(one.code == "element-uncovered" for one in found.cautions)
    least = usual().uncovered
    assert least is not None
    assert least.share < 0.01
    assert not usual().cautions


def test_a_warm_sample_noted_as_cold_is_seen_through() -> None:
    _, right = changed("distillate_strength", 4)
    # What an alcoholometer shows in the same spirit at 38 °C, by the tables behind true_strength.
    marks = np.linspace(0.5, 0.97, 4701)
    true = alcoholometry.true_strength(marks, 311.15)
    rows, _ = changed("distillate_strength", 4, value=float(np.interp(right.value, true, marks)))
    odd = the_one(forecast(rows))
    assert odd.kind == "reading"
    assert "uncorrected for temperature: a sample at 3" in odd.meanings[0]


def test_a_strength_corrected_twice_is_seen_through() -> None:
    rows, _ = changed("distillate_strength", 4, temperature=308.15)
    odd = the_one(forecast(rows))
    assert "corrected twice" in odd.meanings[0]


def test_proof_taken_for_per_cent_is_seen_through() -> None:
    _, right = changed("distillate_strength", 4)
    rows, _ = changed("distillate_strength", 4, value=right.value / 2.0)
    assert any("%vol, not proof" in text for text in the_one(forecast(rows)).meanings)


@pytest.mark.parametrize(
    ("less", "word"), [(250e-6, "one jar of 250 mL"), (None, "decimal point"), (1e-3, "misread by")]
)
def test_a_volume_misread_is_seen_through(less: float | None, word: str) -> None:
    _, right = changed("collected_volume", 4)
    value = right.value / 10.0 if less is None else right.value - less
    rows, _ = changed("collected_volume", 4, value=value)
    odd = the_one(forecast(rows))
    assert any(word in text for text in odd.meanings), odd.meanings


def test_a_slip_of_the_clock_is_seen_through() -> None:
    _, right = changed("collected_volume", 4)
    rows, _ = changed("collected_volume", 4, time=right.time - 1200.0)
    odd = the_one(forecast(rows))
    assert any("slip of the clock" in text for text in odd.meanings)


def with_fault(quantity: str, since: float, fault: float, per_second: float = 0.0) -> Rows:
    """Return the rows with a fault on one quantity from a moment on."""
    return tuple(
        replace(row, value=row.value + fault + per_second * (row.time - since))
        if isinstance(row, Reading) and row.quantity == quantity and row.time > since
        else row
        for row in good()
    )


def test_a_leak_is_seen() -> None:
    since = truth().start + 1200.0
    before = max(
        row.value
        for row in good()
        if isinstance(row, Reading) and row.quantity == "collected_volume" and row.time <= since
    )
    rows = tuple(
        replace(row, value=before + 0.6 * (row.value - before))
        if isinstance(row, Reading) and row.quantity == "collected_volume" and row.time > since
        else row
        for row in good()
    )
    found = forecast(rows)
    odd = the_one(found)
    assert odd.kind == "leak"
    assert "Alcohol vapour burns" in odd.meanings[0]
    # Two fifths are lost; the sentence says about so much.
    said = float(odd.text.split("about ")[1].split("%")[0])
    assert said == pytest.approx(40.0, abs=8.0)
    # The forecast does not follow the short amounts.
    assert found.cuts[1].end.low < truth().when(1) < found.cuts[1].end.high


def test_drift_is_seen() -> None:
    since = truth().start + 1200.0
    odd = the_one(forecast(with_fault("head_temperature", since, 0.0, per_second=4.0 / 3600.0)))
    assert odd.kind == "drift"
    assert "temperature of the still head drifts" in odd.text
    assert "upwards" in odd.text


def test_foaming_is_seen() -> None:
    since = truth().start + 1800.0
    weak = with_fault("distillate_strength", since, -0.08)
    rows = tuple(
        replace(row, value=row.value + 2.5)
        if isinstance(row, Reading) and row.quantity == "head_temperature" and row.time > since
        else row
        for row in weak
    )
    found = forecast(rows)
    assert found.contradictions[0].kind == "foaming"
    assert "foams" in found.contradictions[0].meanings[0]


def calibrated() -> CalibratedStill:
    """Return the invented still as if two runs had narrowed it to a fifth of its description."""
    rows = (("stages", 3.0, 0.1, "linear"), ("head_loss", 400.0, 0.05, "log"),
            ("heater_efficiency", 0.96, 0.01, "linear"))  # fmt: skip
    parameters = tuple(
        FittedParameter(
            name, value, spread * (value if scale == "log" else 1.0), 0.0, 0.0, value, 5.0 * spread,
            "log" if scale == "log" else "linear",
        )
        for name, value, spread, scale in rows
    )  # fmt: skip
    spreads = np.array([spread for _, _, spread, _ in rows])
    covariance = np.outer(spreads, spreads) * np.array(
        [[1.0, -0.5, 0.0], [-0.5, 1.0, 0.3], [0.0, 0.3, 1.0]]
    )
    return CalibratedStill(
        name="invented", still=STILL, described=STILL, parameters=parameters,
        inner_covariance=tuple(tuple(row) for row in covariance.tolist()), correlation=(),
        residuals=(), degrees_of_freedom=20, residual_deviation=1.0, undetermined=(),
        inseparable=(), trustworthy=True, reasons=(), advice=(), provenance={},
    )  # fmt: skip


def test_a_calibrated_still_narrows_the_bands_from_the_first_drop_on() -> None:
    rows = (Mark(0.0, "power-on"), Mark(truth().start, "first-drop"))
    now = truth().start + 30.0
    described, known = (
        forecast(rows, now, still=still).cuts[1].end for still in (STILL, calibrated())
    )
    assert known.low < truth().when(1) < known.high
    assert known.high - known.low < 0.5 * (described.high - described.low)


def test_a_run_stands_for_the_still_it_was_run_with() -> None:
    # Fewer than no stages cannot be run; the deviation of such a draw is that of no stages.
    few = replace(STILL, stages=0.3)
    setup = beliefs_of(
        PLAN.step("run"),  # type: ignore[arg-type]
        few,
        loaded(),
        pressure=PLAN.batch.pressure,
        measured=True,
    )
    place = setup.names.index("stages")
    q = np.zeros((2, len(setup.beliefs)))
    q[:, place] = -50.0, 0.2
    found = run_population(setup, q)
    stages = setup.beliefs[place]
    assert setup.truth(found.q[0]).still.stages == setup.truth(q[0]).still.stages == 0.0
    assert stages.centre + stages.deviation * found.q[0, place] == pytest.approx(0.0, abs=1e-12)
    assert found.q[1] == pytest.approx(q[1])


def test_a_measured_charge_narrows_what_is_expected_of_it() -> None:
    measured = forecast(good(), charge=loaded())
    assert measured.cuts[1].end.low < truth().when(1) < measured.cuts[1].end.high
    widths = [one.volume.high - one.volume.low for one in (measured, usual())]
    assert widths[0] < widths[1]


def test_what_cannot_be_asked_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match="now"):
        forecast((), -1.0)
    with pytest.raises(OutOfRangeError, match="now"):
        forecast((), math.nan)
    with pytest.raises(NotFoundError, match="distil step"):
        forecast_run(mc.load_plan(mc.example_path("demo")), "ferment-1", (), now=0.0)
    with pytest.raises(InputError, match="draws"):
        forecast_run(PLAN, "run", (), now=0.0, draws=5)
    with pytest.raises(InputError, match="seed"):
        forecast_run(PLAN, "run", (), now=0.0, seed=-1)
    with pytest.raises(NotFoundError, match="still"):
        forecast_run(replace(PLAN, stills={}), "run", (), now=0.0)


HOUR = 3600.0


@cache
def demo() -> Plan:
    return mc.load_plan(mc.example_path("demo"))


def gravity(hours: float, value: float, temperature: float | None = 295.15) -> Reading:
    return Reading(hours * HOUR, "gravity", value, temperature=temperature)


def test_a_fermentation_says_when_to_add_and_when_it_is_done() -> None:
    rows = [gravity(1, 1.066), gravity(20, 1.044), gravity(32, 1.026), gravity(40, 1.018)]
    found = forecast_fermentation(demo(), "ferment-2", rows, now=41 * HOUR)
    assert found.phase == "fermenting"
    assert found.by_readings
    (nibs,) = found.additions
    # The demo adds its nibs when 90 % of the fall is done.
    assert nibs.due == found.nine_tenths
    assert nibs.left.median == pytest.approx(nibs.due.median - 41 * HOUR)
    assert found.nine_tenths.median < found.done.median
    assert found.gravity.low < 1.018 < found.gravity.high + 0.001
    assert any(line.startswith("Add 60.0 g of cacao") for line in fermentation_sentences(found))


def test_a_stuck_fermentation_is_said_and_bad_readings_are_refused() -> None:
    rows = [
        gravity(1, 1.066),
        gravity(30, 1.040),
        gravity(54, 1.026),
        gravity(84, 1.025),
        gravity(110, 1.025),
        gravity(111, 1.025, None),
        gravity(500, 1.010),
    ]
    found = forecast_fermentation(demo(), "ferment-2", rows, now=112 * HOUR)
    assert found.phase == "stuck"
    assert [one.code for one in found.cautions] == ["fermentation-stuck"]
    reasons = " ".join(one.reason for one in found.refused)
    assert "temperature of the sample" in reasons
    assert "future" in reasons


def test_a_reading_long_after_the_wash_was_racked_is_to_be_looked_at() -> None:
    # The demo ferments for 6 d and settles for 2 d.
    rows = [gravity(1, 1.066), gravity(32, 1.026), gravity(20 * 24, 1.006)]
    found = forecast_fermentation(demo(), "ferment-1", rows, now=20 * 24 * HOUR)
    (late,) = found.flagged
    assert late.reading == rows[2]
    assert "the plan racks this wash at 8.00 d" in late.reason
    (said,) = (one for one in found.cautions if one.code == "past-the-end")
    assert "racked 12.0 d ago" in said.text
    usual = forecast_fermentation(demo(), "ferment-1", rows[:2], now=33 * HOUR)
    assert not usual.flagged
    assert not usual.cautions


def test_a_wash_is_never_sent_for_a_profile_it_has_not() -> None:
    rows = [gravity(0, 1.066), gravity(36, 1.045)]
    (reason,) = forecast_fermentation(demo(), "ferment-1", rows, now=37 * HOUR).reasons
    assert reason.endswith("take it as rough until more gravities are in.")
    assert "pace of the fall" in reason
    assert "profile" not in reason


def test_without_readings_the_usual_course_is_given_and_what_is_missing() -> None:
    found = forecast_fermentation(demo(), "ferment-2", [], now=10 * HOUR)
    assert not found.by_readings
    assert found.nine_tenths.low < found.nine_tenths.median < found.nine_tenths.high
    assert "at least 2" in found.reasons[0]
    assert "No readings" in fermentation_sentences(found)[-1]
    with pytest.raises(NotFoundError):
        forecast_fermentation(demo(), "spirit", [], now=0.0)
    with pytest.raises(OutOfRangeError):
        forecast_fermentation(demo(), "ferment-2", [], now=-1.0)


@pytest.mark.parametrize(
    ("time", "text"), [(40.0, "40 s"), (1500.0, "25 min"), (5100.0, "1 h 25 min")]
)
def test_spans_are_spoken(time: float, text: str) -> None:
    assert spoken(time) == text
