# SPDX-License-Identifier: MIT
"""What a forecast says of the heat nobody switched off, on a stripping run of the demo plan."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

import middlecut as mc
from middlecut.insight.forecast import forecast_run
from middlecut.insight.logged_run import read_run
from middlecut.insight.readings import Reading
from middlecut.insight.run_forecast import RunForecast, element_sentence, run_sentences
from middlecut.insight.run_marks import Mark
from middlecut.insight.run_setup import charge_of
from middlecut.plan.model import Plan
from middlecut.steps.parameters import Distil, Until

MINUTE, HOUR = 60.0, 3600.0
ON = (Mark(0.0, "power-on"), Mark(36.0 * MINUTE, "first-drop"))
"""The element of this still is covered by 3.5 L; the charge is some 15 L."""
JUG = Reading(60.0 * MINUTE, "collected_volume", 1.5e-3, temperature=293.15)
CALLED = Mark(100.0 * MINUTE, "cut", cut="low wines 1")


@cache
def demo() -> Plan:
    return mc.load_plan(mc.example_path("demo"))


@cache
def at(now: float, *more: Reading | Mark) -> RunForecast:
    return forecast_run(demo(), "strip-1", (*ON, JUG, *more), now=now, draws=96)


def codes(found: RunForecast) -> dict[str, str]:
    return {one.code: one.severity for one in found.cautions}


def test_a_run_says_when_the_element_comes_out_of_the_liquid() -> None:
    found = at(61.0 * MINUTE)
    assert found.uncovered is not None
    # By hand: 2.4 kW · 0.97 less 180 W and 90 W for boiler and head boil off 2.06 kW / 2.26 MJ/kg
    # = 0.91 g/s of water: the 13 L left less the 3.5 L that cover the element last 2.9 h.
    left = found.boiler_volume.median - 3.5e-3
    assert found.uncovered.median - found.now == pytest.approx(left / 0.91e-6, rel=0.1)
    assert found.uncovered.low < found.uncovered.median < found.uncovered.high
    assert found.uncovered.share < 0.01
    assert not found.cautions
    assert run_sentences(found)[-1] == element_sentence(found)
    assert "after the end of the run" in element_sentence(found)


def test_near_the_element_it_is_a_danger_and_past_it_too() -> None:
    out = at(61.0 * MINUTE).uncovered
    assert out is not None
    near, past = at(out.low - 10.0 * MINUTE), at(20.0 * HOUR)
    for found in (near, past):
        assert found.cautions[0].code == "element-uncovered"
        assert found.cautions[0].severity == "danger"
        assert not element_sentence(found)
    assert "comes out of the liquid in" in near.cautions[0].text
    assert "likely out of the liquid, for 15 h" in past.cautions[0].text


def test_a_sign_that_never_comes_ends_no_run_before_the_element() -> None:
    plan = demo()
    step = plan.step("strip-1")
    assert isinstance(step, Distil)
    # The head never gets hotter than boiling water.
    endless = replace(step, cuts=(replace(step.cuts[0], until=Until(head_temperature=376.0)),))
    steps = tuple(endless if one is step else one for one in plan.steps)
    found = forecast_run(
        replace(plan, steps=steps),
        "strip-1",
        (*ON, JUG),
        now=61.0 * MINUTE,
        charge=charge_of(plan, "strip-1"),
        draws=96,
    )
    assert found.uncovered is not None
    assert found.uncovered.share > 0.99
    assert codes(found)["element-uncovered"] == "danger"


def test_a_silent_run_is_asked_whether_the_heat_is_off() -> None:
    assert "nothing-heard" not in codes(at(119.0 * MINUTE))
    found = at(20.0 * HOUR)
    (silent,) = (one for one in found.cautions if one.code == "nothing-heard")
    assert "for 19 h" in silent.text
    assert "assume that it is on" in silent.text
    lines = " ".join(run_sentences(found))
    # What came over and what is left are told of the same moment.
    assert "If the heat is still on, 13–14 L have come over by now." in lines
    assert "In the boiler now if the heat is still on" in lines


def test_a_first_drop_nobody_marked_does_not_hide_the_element() -> None:
    found = forecast_run(demo(), "strip-1", ON[:1], now=20.0 * HOUR, draws=96)
    assert found.cautions[0].code == "element-uncovered"
    assert codes(found).keys() >= {"first-drop-overdue", "nothing-heard"}


def test_a_still_without_an_element_is_boiled_dry_all_the_same() -> None:
    found = forecast_run(demo(), "flavour", ON[:1], now=40.0 * HOUR, draws=96)
    assert found.uncovered is None
    assert codes(found)["boiler-dry"] == "danger"


def test_an_element_nobody_described_is_not_passed_over_in_silence() -> None:
    unknown = replace(demo().stills["open"], element_covered_above=0.0, element_known=False)
    found = [
        forecast_run(demo(), "strip-1", (*ON, JUG), now=now, still=unknown, draws=96)
        for now in (61.0 * MINUTE, 4.0 * HOUR)
    ]
    assert [codes(one).get("element-unknown") for one in found] == [None, "watch"]
    assert "element-unknown" not in codes(at(4.0 * HOUR))


def test_after_the_last_cut_it_is_asked_whether_the_heat_is_off() -> None:
    found = at(20.0 * HOUR, CALLED)
    assert codes(found) == {"element-uncovered": "danger", "heat-not-marked": "watch"}
    assert found.stopped == CALLED.time
    lines = run_sentences(found)
    assert lines[0] == "The last cut is called. Is the heat off? Nobody marked it."
    assert any("if the heat went off at 1 h 40 min" in line for line in lines)
    off = at(20.0 * HOUR, CALLED, Mark(101.0 * MINUTE, "heat-off"))
    assert not off.cautions
    assert run_sentences(off)[0] == "The run is over."


def test_what_came_over_and_what_is_left_are_the_charge() -> None:
    charge = charge_of(demo(), "strip-1").volume
    for found in (at(20.0 * HOUR, CALLED), at(130.0 * MINUTE, CALLED)):
        # Mixing shrinks the volumes by less than 1 %; the charge is known to 2 %.
        whole = found.collected.median + found.boiler_volume.median
        assert whole == pytest.approx(charge, rel=0.03)
        assert found.volume.median == pytest.approx(found.collected.median, rel=1e-6)


def test_what_is_measured_after_the_run_is_what_came_over_in_it() -> None:
    late = Reading(150.0 * MINUTE, "collected_volume", 3.6e-3, temperature=293.15)
    for ends in ((CALLED,), (CALLED, Mark(101.0 * MINUTE, "heat-off"))):
        found = at(150.0 * MINUTE, *ends, late)
        assert not found.refused
        assert not found.contradictions
        (seen,) = (one for one in found.readings if one.reading == late)
        assert seen.expected == pytest.approx(3.6e-3, rel=0.02)
        run = read_run(demo(), "strip-1", (*ON, JUG, *ends, late)).run
        assert run.readings[-1].time == ends[-1].time - ON[1].time


def test_what_runs_from_the_spout_after_the_last_cut_says_that_the_heat_is_on() -> None:
    head = Reading(130.0 * MINUTE, "head_temperature", 373.0)
    jug = Reading(130.0 * MINUTE, "collected_volume", 5.0e-3, temperature=293.15)
    found = at(131.0 * MINUTE, CALLED, head, jug)
    assert found.stopped == head.time
    (seen,) = (one for one in found.readings if one.reading == jug)
    assert seen.expected == pytest.approx(5.0e-3, rel=0.05)
    assert found.volume.median > 1.2 * found.cuts[0].volume.median


def test_it_is_said_what_stands_behind_a_forecast() -> None:
    bare = forecast_run(demo(), "strip-1", (), now=600.0, draws=96)
    assert run_sentences(bare)[-1].startswith("No readings stand behind this")
    marked = forecast_run(demo(), "strip-1", ON, now=40.0 * MINUTE, draws=96)
    assert run_sentences(marked)[-1].startswith("Of readings only the time to the first drop")
    assert "stand" not in run_sentences(at(61.0 * MINUTE))[-1]
