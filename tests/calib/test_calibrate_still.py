# SPDX-License-Identifier: MIT
"""A still is found again from the readings of its runs (truth invented, see invented.py)."""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))
from invented import STILL, blank_run, coverage, invent, with_values

import middlecut as mc
from middlecut.errors import InputError, NotFoundError
from middlecut.insight.calibrate import calibrate_still, expected, fit_still
from middlecut.insight.calibrated import CalibratedStill, load_still, parse_still, save_still
from middlecut.insight.calibrated_plan import (
    still_section,
    with_calibrated,
    with_course,
    with_section,
)
from middlecut.insight.fermentation import calibrate_fermentation
from middlecut.insight.readings import Reading
from middlecut.insight.still_model import LoggedRun

TRUTH = replace(STILL, stages=3.6, head_loss=520.0, heater_efficiency=0.94)


@cache
def exact_run() -> LoggedRun:
    run = blank_run()
    return with_values(run, expected(TRUTH, [run], {}))


@cache
def noisy_fit() -> CalibratedStill:
    _, run = invent(np.random.default_rng(5))
    return fit_still(STILL, [run])


def test_readings_without_error_lead_towards_the_truth() -> None:
    found = fit_still(STILL, [exact_run()])
    for name in ("stages", "head_loss", "heater_efficiency"):
        one = found.parameter(name)
        # The prior pulls back by a part of the standard error, never by all of it.
        assert abs(one.value - getattr(TRUTH, name)) < one.standard_error
        assert one.standard_error < 0.8 * _described_deviation(found, name)
    assert all(abs(row.expected - row.observed) < row.uncertainty for row in found.residuals)
    assert found.trustworthy, found.reasons


def _described_deviation(found: CalibratedStill, name: str) -> float:
    one = found.parameter(name)
    return one.prior_deviation * (one.prior_mean if one.scale == "log" else 1.0)


def test_intervals_cover_as_often_as_they_say() -> None:
    shares, widths, total = coverage(16, seed=1)
    # 0.90 wanted. The intervals of one still hang together: the share held scatters by 0.12 from
    # still to still (measured on 30), so 0.03 over sixteen; 0.10 is three times that. Halved
    # standard errors would give 0.59. All 200 stills are in docs/validation/calibration.md.
    assert 0.80 <= total <= 0.99
    assert all(share >= 0.5 for share in shares.values())
    # The readings narrow what they speak of to less than half of the description's width.
    assert widths["head_loss"] < 0.5
    assert widths["heater_efficiency"] < 0.5


def test_two_runs_say_more_than_one() -> None:
    one = fit_still(STILL, [exact_run()])
    two = fit_still(STILL, [exact_run(), exact_run()])
    for name in ("stages", "head_loss", "heater_efficiency"):
        assert two.parameter(name).standard_error < one.parameter(name).standard_error
    assert [p.name for p in two.parameters if p.name.startswith("strength")] == [
        "strength of charge 1",
        "strength of charge 2",
    ]


def test_a_wild_reading_is_seen() -> None:
    rows = list(exact_run().readings)
    rows[9] = replace(rows[9], value=rows[9].value - 0.08)
    found = fit_still(STILL, [replace(exact_run(), readings=tuple(rows))])
    assert not found.trustworthy
    assert any("scatter" in reason for reason in found.reasons)
    worst = max(found.residuals, key=lambda row: abs(row.observed - row.expected) / row.uncertainty)
    assert worst.observed == rows[9].value


def test_what_the_readings_do_not_tell_is_named_with_advice() -> None:
    kept = tuple(
        row
        for row in exact_run().readings
        if row.quantity in {"collected_volume", "boiler_temperature"} or row.time == 60.0
    )
    first = Reading(600.0, "head_temperature", 352.0, uncertainty=5.0)
    found = fit_still(STILL, [replace(exact_run(), readings=(*kept, first))])
    assert "stages" in found.undetermined
    assert any("strength" in line for line in found.advice)


@pytest.mark.parametrize(
    ("keep", "word"),
    [
        ((), "at least 3 readings"),
        (("collected_volume",), "a strength of the distillate"),
        (("jar_strength", "head_temperature"), None),
        (("head_temperature", "boiler_temperature"), "a collected volume"),
    ],
)
def test_too_few_readings_say_what_is_missing(keep: tuple[str, ...], word: str | None) -> None:
    rows = tuple(row for row in exact_run().readings if row.quantity in keep)
    run = replace(exact_run(), readings=rows)
    if word is None:
        assert fit_still(STILL, [run]).degrees_of_freedom > 0
        return
    with pytest.raises(InputError, match=word):
        fit_still(STILL, [run])


def test_a_plan_is_calibrated_by_the_readings_of_its_step() -> None:
    plan = mc.load_plan(mc.example_path("demo"))
    curve = mc.predict(plan).steps["spirit"].curve
    assert curve is not None
    rows = []
    for minute in (5, 15, 30, 45, 60):
        at = 60.0 * minute
        strength = float(np.interp(at, curve.time, curve.strength))
        volume = float(np.interp(at, curve.time, curve.volume))
        rows.append(Reading(at, "distillate_strength", strength, instrument="density meter"))
        rows.append(Reading(at, "collected_volume", volume))
    found = calibrate_still(plan, "spirit", rows, note="invented")
    # Readings made by the description itself must give the description back.
    assert found.still.stages == pytest.approx(found.described.stages, abs=0.15)
    assert found.still.heater_efficiency == pytest.approx(
        found.described.heater_efficiency, abs=0.01
    )
    assert found.provenance["readings"] == "10"
    assert found.provenance["note"] == "invented"
    with pytest.raises(NotFoundError):
        calibrate_still(plan, "bottle", rows)


def test_a_calibrated_still_survives_its_file(tmp_path: Path) -> None:
    path = tmp_path / "column.json"
    save_still(noisy_fit(), path)
    assert load_still(path) == noisy_fit()
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("{}", "no calibrated still"),
        ("[1]", "no calibrated still"),
        ("{", "no calibrated still"),
        ('{"format": "middlecut calibrated still", "version": 9}', "later middlecut"),
        ('{"format": "middlecut calibrated still", "version": 1}', "damaged"),
    ],
)
def test_a_damaged_file_is_refused(tmp_path: Path, text: str, word: str) -> None:
    path = tmp_path / "still.json"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=word):
        load_still(path)


def test_a_missing_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(NotFoundError):
        load_still(tmp_path / "none.json")


def test_draws_follow_the_covariance() -> None:
    found = noisy_fit()
    sets = found.draw(4000, seed=1)
    assert sets == found.draw(4000, seed=1)
    one = found.parameter("heater_efficiency")
    values = np.array([row["heater_efficiency"] for row in sets])
    # 4000 draws: the deviation is known to 1.1 %, the mean to 0.016 deviations.
    assert values.mean() == pytest.approx(one.value, abs=0.07 * one.standard_error)
    assert values.std() == pytest.approx(one.standard_error, rel=0.05)
    assert found.still_with(sets[0]).stages == max(sets[0]["stages"], 0.0)


def test_the_file_holds_only_plain_json() -> None:
    again = json.loads(json.dumps(noisy_fit().to_dict(), allow_nan=False))
    assert again["format"] == "middlecut calibrated still"


def test_a_fit_kept_by_an_earlier_version_is_still_read() -> None:
    # Version 1 also held the still fitted again with a whole number of stages.
    old = noisy_fit().to_dict()
    whole = {**old["still"], "stages": 3.0}
    found = parse_still(json.dumps({**old, "version": 1, "whole_still": whole}))
    said = "It was fitted before parts of stages counted: fit it again."
    assert found.reasons == (*noisy_fit().reasons, said)
    assert not found.trustworthy
    same = replace(found, reasons=noisy_fit().reasons, trustworthy=noisy_fit().trustworthy)
    assert same == replace(noisy_fit(), provenance=found.provenance)
    with pytest.raises(InputError, match="later middlecut"):
        parse_still(json.dumps({**old, "version": 3}))
    for odd in (0, -1, 2.5, "2", None):
        with pytest.raises(InputError, match="file is damaged"):
            parse_still(json.dumps({**old, "version": odd}))


def test_calibrating_twice_leaves_what_calibrating_once_leaves() -> None:
    text = mc.load_plan(mc.example_path("demo")).text
    doubted = replace(noisy_fit(), name="column", trustworthy=False, reasons=("It is odd.",))
    once = with_section(text, doubted)
    assert with_section(once, doubted) == once
    assert once.count("# Calibrated on ") == once.count("# Take with care: ") == 1
    # A comment of the person's own above them stays.
    assert "# is the reflux.\n# Calibrated on " in once
    course = calibrate_fermentation(
        mc.load_plan(mc.example_path("demo")),
        "ferment-1",
        [Reading(hours * 3600.0, "gravity", at, temperature=295.15)
         for hours, at in ((0.0, 1.066), (30.0, 1.040), (80.0, 1.011))],
    )  # fmt: skip
    first = with_course(text, "ferment-1", course)
    both = with_course(first, "ferment-2", course)
    assert with_course(both, "ferment-1", course).count("# Gravities of ferment-1:") == 1
    assert with_course(first, "ferment-1", course) == first


def test_only_a_line_feed_ends_a_line_of_a_plan() -> None:
    # In a TOML comment U+2028 and U+0085 are signs like others; Python's lines end at them.
    text = mc.load_plan(mc.example_path("demo")).text
    odd = "# one\u2028 two\x85 three\n" + text
    found = replace(noisy_fit(), name="column")
    assert with_section(odd, found) == "# one\u2028 two\x85 three\n" + with_section(text, found)


def test_what_nobody_said_of_a_still_stays_unsaid() -> None:
    plan = mc.load_plan(mc.example_path("demo"))
    pot = replace(plan.stills["open"], heater_efficiency=0.9, head_known=False, element_known=False)
    assert pot.column_diameter == 0.0
    found = replace(noisy_fit(), name="open", still=pot)
    again = mc.read_plan_text(with_section(plan.text, found)).stills["open"]
    assert again.heater_efficiency == 0.9
    assert (again.head_known, again.element_known, again.column_diameter) == (False, False, 0.0)


def test_what_the_readings_hardly_tell_is_not_written_as_fitted() -> None:
    found = replace(noisy_fit(), undetermined=("head_loss",))
    rows = still_section(found).splitlines()
    (loss,) = (row for row in rows if row.startswith("head_loss = "))
    (heat,) = (row for row in rows if row.startswith("heater_efficiency = "))
    assert loss.endswith("# near the description; hardly read")
    assert heat.endswith("# fitted")


def test_a_later_plan_runs_the_calibrated_still() -> None:
    plan = mc.load_plan(mc.example_path("demo"))
    later = with_calibrated(plan, noisy_fit(), "column")
    assert later.stills["column"].head_loss == noisy_fit().still.head_loss
    assert later.stills["column"].stages == noisy_fit().still.stages
    before, after = (mc.predict(one).steps["spirit"].duration for one in (plan, later))
    assert before != after
    with pytest.raises(NotFoundError):
        with_calibrated(plan, noisy_fit())


@pytest.mark.parametrize("efficiency", [0.93, 1.04])
def test_the_section_of_a_plan_file_says_the_same(efficiency: float) -> None:
    # A diameter of nothing or a condenser of 0 W cannot be written in a plan; the example's can.
    plan = mc.load_plan(mc.example_path("demo"))
    still = replace(plan.stills["column"], heater_efficiency=efficiency, stages=4.0)
    found = replace(noisy_fit(), name="column", still=still)
    text = plan.text
    start = text.index("[still.column]")
    end = text.index("[still.", start + 5)
    again = mc.read_plan_text(text[:start] + still_section(found) + text[end:]).stills["column"]
    heat = again.heater_power * again.heater_efficiency
    assert heat == pytest.approx(still.heater_power * efficiency, rel=1e-4)
    for name in ("stages", "head_loss", "stage_holdup", "boiler_volume", "column_diameter"):
        # Five digits are written.
        assert getattr(again, name) == pytest.approx(getattr(still, name), rel=1e-4)
