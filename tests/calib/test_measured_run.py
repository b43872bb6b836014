# SPDX-License-Identifier: MIT
"""The measured small run, unfitted and fitted on its first third (goals of DESIGN section 10)."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from measured_run import coil_efficiency, compare, fitted, run, still

from middlecut.insight.calibrate import expected, fit_still

# Distance in % vol, root of the mean square over seven strengths that were read to 1 % vol.
UNFITTED, FITTED = 2.0, 0.8


def test_unfitted_by_the_reflux_ratio_the_goal_is_met() -> None:
    assert compare({}, still(by="ratio")).rms() <= UNFITTED


def test_unfitted_by_the_duty_of_a_coil_as_cold_as_theirs_the_goal_is_met() -> None:
    low, typical, high = coil_efficiency()
    assert low < typical < high
    assert typical < 0.1  # 20 to 32 °C in vapour of 79 °C: next to no separation
    assert compare({}, still(by="coil")).rms() <= UNFITTED
    # How fast vapour reaches that coil is known to a factor; the end of it that separates most
    # misses the goal, and the page says so.
    most = replace(still(by="duty"), head_efficiency=high)
    assert compare({}, most).rms() == pytest.approx(2.5, abs=0.2)


def test_the_duty_gives_the_volumes_that_were_collected() -> None:
    # Heater and duty alone fix how much comes over: the authors' numbers agree with each other
    # until the liquid is lost (their own 18 % at the end). 5 mL a reading, 3 % of their own doubt.
    readings = [one for one in run().readings if one.quantity == "collected_volume"]
    for by in ("duty", "coil"):
        whole = run()
        values = expected(still(by=by), [whole], {})
        found = dict(zip(whole.readings, values.tolist(), strict=True))
        for one in readings[1:3]:
            assert found[one] == pytest.approx(one.value, rel=0.06)


def test_unfitted_by_the_duty_the_goal_is_missed_by_what_the_page_says() -> None:
    # A head taken as an equilibrium stage, which is what a plan has that says nothing of it,
    # separates too well here; see docs/validation/run.md.
    assert compare({}, still(by="duty")).rms() == pytest.approx(3.6, abs=0.3)


@pytest.mark.parametrize("by", ["duty", "coil", "ratio"])
def test_fitted_on_the_first_third_the_rest_is_met(by: str) -> None:
    found, against = fitted(by=by)
    assert int(against.unseen.sum()) == 4
    assert len(run(first_third=True).readings) == 6
    assert against.rms() <= FITTED
    assert against.rms(unseen=True) <= FITTED + 0.1
    assert found.parameter("stages").value < found.described.stages


def test_intervals_by_profile_ask_for_no_symmetry() -> None:
    # Six readings of a short run: the fit by a coil, straight and by profile.
    description, readings = still(by="coil"), [run(first_third=True)]
    straight = fit_still(description, readings)
    found = fit_still(description, readings, profile=True)
    assert [one.value for one in found.parameters] == [one.value for one in straight.parameters]
    stages, before = found.parameter("stages"), straight.parameter("stages")
    assert stages.low < stages.value < stages.high
    assert (stages.low, stages.high) != (before.low, before.high)
    # A plate more or less tells less and less towards many stages, so the upper side is longer.
    assert stages.high - stages.value > stages.value - stages.low
    assert not any("profile" in one for one in found.reasons)
    assert found.parameter("offset of laboratory") == straight.parameter("offset of laboratory")
