# SPDX-License-Identifier: MIT
"""What a step refuses is told under the key, on the line and in the unit of the plan."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

import middlecut as mc
from middlecut.errors import InputError, OutOfRangeError, PlanError, Problem
from middlecut.plan.refusals import refusal
from middlecut.steps.parameters import Dilute
from middlecut.units.worded import worded

TEXT = """\
[batch]
name = "Cut"

[lot.hearts]
volume = "3 L"
strength = "60 %vol"

[[step]]
id = "reduce"
kind = "dilute"
from = "hearts"
into = "low"
strength = "40 %vol"
water_temperature = "15 °C"

[[step]]
id = "fill"
kind = "bottle"
from = "low"
into = "bottles"
strength = "40 %vol"
bottle_volume = "500 mL"
loss = "50 mL"
"""


def found(text: str) -> Problem:
    with pytest.raises(PlanError) as caught:
        mc.predict(mc.read_plan_text(text, "cut.toml"))
    (problem,) = caught.value.problems
    return problem


@pytest.mark.parametrize(
    ("old", "new", "key", "line"),
    [
        ('strength = "40 %vol"\nwater', 'strength = "62 %vol"\nwater', "step.reduce.strength", 13),
        ('bottle_volume = "500 mL"', 'bottle_volume = "5 L"', "step.fill.bottle_volume", 22),
        ('loss = "50 mL"', 'loss = "9 L"', "step.fill.loss", 23),
    ],
)
def test_the_line_is_that_of_the_key(old: str, new: str, key: str, line: int) -> None:
    problem = found(TEXT.replace(old, new))
    assert (problem.key, problem.line) == (key, line)


def test_a_check_finds_what_a_prediction_refuses(tmp_path: Path) -> None:
    path = tmp_path / "cut.toml"
    path.write_text(TEXT, encoding="utf-8")
    assert mc.check_plan(path) == ()
    path.write_text(TEXT.replace('"50 mL"', '"9 L"'), encoding="utf-8")
    (problem,) = mc.check_plan(path)
    with pytest.raises(PlanError) as caught:
        mc.predict(mc.load_plan(path))
    assert caught.value.problems == (problem,)


def test_a_number_out_of_range_is_told_in_celsius() -> None:
    plan = mc.read_plan_text(TEXT, "cut.toml")
    error = OutOfRangeError("water_temperature", 275.15, 278.15, 313.15, unit="K", source="yeasts")
    (problem,) = refusal(plan, plan.steps[0], error).problems
    assert problem.value == "2.0 °C"
    assert problem.message == "the range is 5 to 40 °C (yeasts)."
    assert problem.line == 14


def test_a_plan_without_text_has_the_line_of_the_step_or_none() -> None:
    plan = replace(mc.read_plan_text(TEXT), text="")
    (problem,) = refusal(plan, plan.steps[1], InputError("loss", "1 L", "no")).problems
    assert problem.line == 16
    step = replace(plan.steps[0], id="other")
    assert isinstance(step, Dilute)
    assert refusal(plan, step, InputError("strength", 1.0, "no")).problems[0].line is None


def test_a_charge_of_a_split_step_has_the_place_of_the_step() -> None:
    plan = mc.read_plan_text(TEXT)
    step = replace(plan.steps[0], id="reduce-charge-2")
    assert refusal(plan, step, InputError("strength", "1", "no")).problems[0].line == 13


@pytest.mark.parametrize(
    ("error", "value", "allowed"),
    [
        # 0 °C is 273.15 K; a difference of 12 K is one of 12 °C, not -261 °C.
        (OutOfRangeError("temperature_rise", 0.05, 0.1, 90.0, unit="K"), "0.1 K", "0.1 to 90 K"),
        (OutOfRangeError("pressure", 5e4, 6e4, 1.1e5, unit="Pa"), "50.0 kPa", "60 to 110 kPa"),
        (OutOfRangeError("volume", -1e-3, 0.0, 1e12, unit="m³"), "-1.00 L", "0 L or more"),
        (OutOfRangeError("strength", 0.99, 0.0, 0.972), "99.0 %vol", "0 to 97.2 %vol"),
        (OutOfRangeError("gravity", 1.2, 0.98, 1.13), "1.2", "0.98 to 1.13"),
    ],
)
def test_ranges_in_the_units_of_a_person(error: OutOfRangeError, value: str, allowed: str) -> None:
    told = worded(error)
    assert told[0] == value
    assert allowed in told[1]


def test_us_units() -> None:
    error = OutOfRangeError("temperature", 275.15, 278.15, 313.15, unit="K")
    assert worded(error, system="us") == ("35.6 °F", "the range is 41 to 104 °F")


def test_ranges_of_the_file_are_those_of_the_steps() -> None:
    wash = TEXT + (
        '[[step]]\nid = "wash"\nkind = "ferment"\ninto = "wash"\nvolume = "20 L"\n'
        'gravity = "1.060 SG"\nfinal_gravity = "1.010 SG"\ntemperature = "28 °C"\n'
        'duration = "30 d"\n'
    )
    for old, good, bad in (
        ('"28 °C"', '"5 °C"', '"4.9 °C"'),
        ('"28 °C"', '"40 °C"', '"40.1 °C"'),
        ('"1.060 SG"', '"1.13 SG"', '"1.131 SG"'),
        ('"1.060 SG"\nfinal_gravity = "1.010 SG"', '"1.001 SG"\nfinal_gravity = "1 SG"',
         '"1.0009 SG"\nfinal_gravity = "1 SG"'),
    ):  # fmt: skip
        mc.predict(mc.read_plan_text(wash.replace(old, good)))
        with pytest.raises(PlanError):
            mc.read_plan_text(wash.replace(old, bad))


def test_an_attenuation_beyond_the_gravities_is_one_problem_among_others() -> None:
    wash = (
        '[batch]\nname = "Cut"\n[[step]]\nid = "wash"\nkind = "ferment"\ninto = "wash"\n'
        'volume = "20 L"\ngravity = "1.13 SG"\nattenuation = "125 %"\ntemperature = "28 °C"\n'
        'duration = "30 d"\n'
    )
    with pytest.raises(PlanError) as caught:
        mc.read_plan_text(wash)
    (problem,) = caught.value.problems
    assert (problem.key, problem.line) == ("step.wash.attenuation", 9)
