# SPDX-License-Identifier: MIT
"""The measured small run, unfitted and fitted on its first third (goals of DESIGN section 10)."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from measured_run import compare, fitted, run, still

# Distance in % vol, root of the mean square over seven strengths that were read to 1 % vol.
UNFITTED, FITTED = 2.0, 0.8


def test_unfitted_by_the_reflux_ratio_the_goal_is_met() -> None:
    assert compare({}, still(by="ratio")).rms() <= UNFITTED


def test_unfitted_by_the_duty_the_goal_is_missed_by_what_the_page_says() -> None:
    # The head taken as an equilibrium stage separates too well here; see docs/validation/run.md.
    assert compare({}, still(by="duty")).rms() == pytest.approx(3.6, abs=0.3)


@pytest.mark.parametrize("by", ["duty", "ratio"])
def test_fitted_on_the_first_third_the_rest_is_met(by: str) -> None:
    found, against = fitted(by=by)
    assert int(against.unseen.sum()) == 4
    assert len(run(first_third=True).readings) == 6
    assert against.rms() <= FITTED
    assert against.rms(unseen=True) <= FITTED + 0.1
    assert found.parameter("stages").value < found.described.stages
