# SPDX-License-Identifier: MIT
"""Solids in the boiler: what they soak up, and how far they fill it."""

from __future__ import annotations

import pytest

from middlecut.errors import InputError
from middlecut.liquid.ingredients import find
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
