# SPDX-License-Identifier: MIT
"""A change tells every danger it brings: one of a kind met elsewhere, and one that gets worse."""

from __future__ import annotations

import dataclasses

import middlecut as mc
from middlecut.insight.new_dangers import new_dangers
from middlecut.plan.prediction import Prediction
from middlecut.plan.read import read_plan_text
from middlecut.steps.result import Caution

# Lots of 46 %vol; more than 0.3 %vol off is an unlawful label (Regulation (EU) 1169/2011).
PLAN = """
[batch]
name = "an invented bottling"

[lot.one]
volume = "4 L"
strength = "46 %vol"

[lot.other]
volume = "4 L"
strength = "46 %vol"

[[step]]
id = "first"
kind = "bottle"
from = "one"
bottle_volume = "500 mL"
strength = "FIRST"
into = "ones"

[[step]]
id = "second"
kind = "bottle"
from = "other"
bottle_volume = "500 mL"
strength = "SECOND"
into = "others"
"""


def bottled(first: str, second: str) -> Prediction:
    text = PLAN.replace("FIRST", f"{first} %vol").replace("SECOND", f"{second} %vol")
    return mc.predict(read_plan_text(text))


def with_danger(code: str, value: float, limit: float | None) -> Prediction:
    """Return a prediction with one danger of our own at its first step."""
    plain = bottled("46", "46")
    caution = Caution(code, "danger", f"{code} at {value}.", value, limit)
    step = dataclasses.replace(plain.steps["first"], cautions=(caution,))
    return dataclasses.replace(plain, steps={**plain.steps, "first": step})


def test_the_same_dangers_are_not_told_again() -> None:
    assert new_dangers(bottled("40", "46"), bottled("40", "46")) == ()


def test_a_danger_of_a_kind_the_plan_has_not_is_told_as_it_is() -> None:
    (told,) = new_dangers(bottled("46", "46"), bottled("46", "40"))
    assert told.startswith("The label says 40.0 %vol")


def test_the_same_danger_at_another_step_is_told_with_its_step() -> None:
    (told,) = new_dangers(bottled("40", "46"), bottled("40", "41"))
    assert told.startswith("Now at second: The label says 41.0 %vol")


def test_a_danger_that_gets_clearly_worse_is_told() -> None:
    (told,) = new_dangers(bottled("40", "46"), bottled("38", "46"))
    assert told.startswith("Worse than in the plan: The label says 38.0 %vol")
    assert new_dangers(bottled("38", "46"), bottled("40", "46")) == ()


def test_what_grows_by_less_than_a_twentieth_of_its_limit_is_no_worse() -> None:
    before = with_danger("fill-high", 0.75, 0.667)
    assert new_dangers(before, with_danger("fill-high", 0.78, 0.667)) == ()
    assert new_dangers(before, with_danger("fill-high", 0.79, 0.667)) != ()


def test_less_liquid_over_the_element_is_worse_and_more_is_not() -> None:
    before = with_danger("element-uncovered", 3.5e-3, 4e-3)
    assert new_dangers(before, with_danger("element-uncovered", 3.9e-3, 4e-3)) == ()
    (told,) = new_dangers(before, with_danger("element-uncovered", 3e-3, 4e-3))
    assert told == "Worse than in the plan: element-uncovered at 0.003."


def test_a_number_without_a_limit_is_held_against_what_it_was() -> None:
    before = with_danger("invented", 10.0, None)
    assert new_dangers(before, with_danger("invented", 10.4, None)) == ()
    assert new_dangers(before, with_danger("invented", 11.0, None)) != ()
