# SPDX-License-Identifier: MIT
"""A stripping run of a wash is followed too: what is dissolved in it never boils over."""

from __future__ import annotations

import pytest

from middlecut.insight.forecast import forecast_run
from middlecut.insight.readings import Reading
from middlecut.insight.run_marks import Mark
from middlecut.plan.examples import example_path
from middlecut.plan.predict import predict
from middlecut.plan.read import load_plan


@pytest.mark.parametrize("read", [False, True])
def test_the_stripping_run_of_the_demo_can_be_followed(*, read: bool) -> None:
    # Its 14.8 L hold 0.62 kg of solids, which take up 0.38 L: a still that is followed down to a
    # share of the charge as a whole would have to boil them away.
    plan = load_plan(example_path("demo"))
    curve = predict(plan).steps["strip-1"].curve
    assert curve is not None
    drop = curve.facts.heat_up_time + curve.facts.fill_time
    entries: list[Mark | Reading] = [Mark(0.0, "power-on")]
    now = 0.5 * drop
    if read:
        entries += [
            Mark(drop, "first-drop"),
            Reading(drop + 900.0, "distillate_strength", 0.413, temperature=293.15),
        ]
        now = drop + 1000.0
    found = forecast_run(plan, "strip-1", entries, now=now, draws=80)
    (cut,) = found.cuts
    assert cut.into == "low wines 1"
    expected = drop + float(curve.time[-1])
    assert cut.end.low < expected < cut.end.high
