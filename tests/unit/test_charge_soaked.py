# SPDX-License-Identifier: MIT
"""Solids in the boiler: what they soak up, and how far they fill it."""

from __future__ import annotations

import pytest

import middlecut as mc
from middlecut.errors import InputError, PlanError
from middlecut.liquid.ingredients import find
from middlecut.plan.read import read_plan_text
from middlecut.steps.basket import charge_cautions, check_additions
from middlecut.steps.parameters import Addition
from middlecut.steps.still import Still

POT = Still("pot", boiler_volume=5e-3, heater_power=1000.0, condenser_duty=1600.0, safe_fill=0.66)
LARGE = Still("large", boiler_volume=20e-3, heater_power=1000.0, condenser_duty=1600.0)


def coffee(amount: float) -> tuple[Addition, ...]:
    return (Addition(find("coffee"), amount, "charge"),)


def severities(amount: float, volume: float, still: Still) -> dict[str, str]:
    return {one.code: one.severity for one in charge_cautions(coffee(amount), volume, still)}


def test_solids_that_would_drink_all_of_the_charge_are_refused() -> None:
    # Roasted coffee keeps 2 g of liquid per gram (ingredient_properties.csv): 3 kg soak up 6 L.
    with pytest.raises(InputError, match=r"soak up 6\.00 L, all of the 2\.22 L") as caught:
        check_additions(coffee(3.0), 2.22e-3, LARGE)
    # Half of the charge is 1.11 L, in 555 g.
    assert "Take at most 555 g" in caught.value.remedy
    check_additions(coffee(0.555), 2.22e-3, LARGE)


def test_solids_that_soak_up_more_than_half_are_a_danger() -> None:
    assert severities(0.60, 2.22e-3, LARGE)["charge-soaked"] == "danger"
    assert "charge-soaked" not in severities(0.54, 2.22e-3, LARGE)


def test_a_boiler_filled_above_safe_fill_by_solids_is_a_danger() -> None:
    # 3.0 L and what 500 g of coffee push aside stand above 66 % of 5 L, 3.3 L.
    codes = severities(0.5, 3.0e-3, POT)
    assert codes["charge-full"] == "danger"
    assert "charge-foam" not in codes
    assert severities(0.05, 3.0e-3, POT)["charge-foam"] == "watch"


def test_before_the_charge_is_known_nothing_is_said_of_soaking() -> None:
    check_additions(coffee(0.5), 0.0, LARGE)


def test_what_a_wash_and_its_fruit_hold_is_told_apart_and_without_exponents() -> None:
    text = """
[batch]
name = "too much"

[[step]]
id = "wash"
kind = "ferment"
into = "wash"
volume = "18 L"
gravity = "1.066 SG"
final_gravity = "1.006 SG"
temperature = "22 °C"
duration = "6 d"
add = [{ ingredient = "coffee", amount = "500 kg", entry = "wash-late", attenuation = "90 %" }]
"""
    with pytest.raises(PlanError) as caught:
        mc.predict(read_plan_text(text))
    said = str(caught.value)
    # 2 g/g are kept, 2 % of the coffee is water and 20 % dissolves (ingredient_properties.csv).
    assert "500 kg of ingredients" in said
    assert "kg of wash and 110 kg of water and solubles of their own" in said
    assert "would soak up 1000 kg" in said
