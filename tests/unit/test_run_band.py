# SPDX-License-Identifier: MIT
"""Ranges along a run: at a time, after a volume, within a jar. The draws themselves say them."""

from __future__ import annotations

import math

import numpy as np
import pytest

from middlecut.app.expectation import read_plan
from middlecut.app.views.run_band import along_time, along_volume, strength_within
from middlecut.insight.ensemble import predict_bands
from middlecut.plan.examples import example_path
from middlecut.steps.band import CurveBand
from middlecut.steps.curve import Curve


@pytest.fixture(scope="module")
def run() -> Curve:
    plan = read_plan(example_path("double-pot-1300m").read_text(encoding="utf-8"))
    prediction = predict_bands(plan, 40, 0, workers=1)
    curve = [one.curve for one in prediction.steps.values() if one.curve is not None][-1]
    assert curve.band is not None
    return curve


@pytest.fixture(scope="module")
def band(run: Curve) -> CurveBand:
    assert run.band is not None
    return run.band


def test_the_first_drop_is_the_same_on_both_scales(band: CurveBand) -> None:
    # No time and no volume: the same draws at the same point; single precision.
    assert band.strength_at[:, 0] == pytest.approx(band.strength[:, 0], rel=1e-6)


def test_the_middle_of_the_draws_is_near_the_plain_run(run: Curve, band: CurveBand) -> None:
    # Half-way the plain run lies within 3 % vol of the middle draw; the fall of strength over a
    # tenth of the run is more than that, so that a wrong scale would show.
    at = 0.5 * float(run.time[-1])
    middle = float(np.interp(at, band.clock, band.strength_at[1]))
    assert middle == pytest.approx(float(np.interp(at, run.time, run.strength)), abs=0.03)
    later = float(np.interp(0.7 * run.time[-1], run.time, run.strength))
    assert middle - later > 0.03


def test_ranges_are_in_order_and_end_with_the_run(run: Curve, band: CurveBand) -> None:
    end = float(run.time[-1])
    points = along_time(band, [0.0, 0.3 * end, 0.6 * end, 3.0 * end])
    assert [at for at, _, _ in points] == [0.0, 0.3 * end, 0.6 * end]  # nothing runs any more
    assert all(0.0 < low < high < 1.0 for _, low, high in points)
    by_volume = along_volume(band)
    assert len(by_volume) > 30
    assert all(low <= high for _, low, high in by_volume)
    assert along_time(None, [0.0]) == ()
    assert along_volume(None) == ()


def test_a_jar_has_the_range_of_its_middle(band: CurveBand) -> None:
    start, end = float(band.volume[10]), float(band.volume[12])
    found = strength_within(band, start=start, end=end)
    assert found is not None
    assert (found.low, found.median, found.high) == pytest.approx(tuple(band.strength[:, 11]))
    beyond = 2.0 * float(band.volume[-1])
    assert strength_within(band, start=beyond, end=beyond + 1e-4) is None
    assert strength_within(None, start=start, end=end) is None
    assert not math.isnan(found.share)
