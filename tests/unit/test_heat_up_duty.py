# SPDX-License-Identifier: MIT
"""What the condenser takes at the first boil, against a run that really runs at that power."""

from __future__ import annotations

import pytest

from middlecut.errors import PlanError
from middlecut.plan.examples import example_path
from middlecut.plan.predict import predict
from middlecut.plan.read import read_plan_text
from middlecut.plan.write import set_value
from middlecut.steps.curve import RunFacts

DEMO = example_path("demo").read_text(encoding="utf-8")


def facts_of(text: str, step: str) -> RunFacts:
    curve = predict(read_plan_text(text, "plan")).steps[step].curve
    assert curve is not None
    return curve.facts


def test_it_is_that_of_a_run_at_the_power_of_heating_up() -> None:
    """The strips heat up and run at full power: there it is the balance of the first row."""
    full = facts_of(DEMO, "strip-1")
    half = facts_of(set_value(DEMO, "step.strip-1.power", "50 %"), "strip-1")
    assert half.boiler_heat_peak < 0.6 * full.boiler_heat_peak
    assert full.heat_up_duty <= full.condenser_peak
    # At half power the head takes a larger share, so the first drops are richer and condense with
    # less heat each; taking as much of that heat for more vapour errs by 3 %, on the safe side.
    assert full.heat_up_duty <= half.heat_up_duty <= 1.04 * full.heat_up_duty
    # Cooling the distillate comes on top of the heat that boiled it.
    assert half.heat_up_duty > half.heat_up_peak


def test_a_condenser_of_no_duty_is_refused() -> None:
    text = DEMO.replace('condenser_duty = "3.2 kW"', 'condenser_duty = "0 kW"', 1)
    with pytest.raises(PlanError, match="condenser_duty") as caught:
        read_plan_text(text, "plan")
    assert "10 W" in str(caught.value)
