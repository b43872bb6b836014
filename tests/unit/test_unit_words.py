# SPDX-License-Identifier: MIT
"""A quantity without its unit, or with an unclear one, is answered with what fits the field."""

from __future__ import annotations

import re

import pytest

from middlecut.app.quantities import check_value
from middlecut.errors import InputError, OutOfRangeError, PlanError, UnitError
from middlecut.plan.examples import example_path
from middlecut.plan.read import read_plan_text
from middlecut.units import format_quantity, parse_quantity, parse_strength
from middlecut.units.worded import worded

DEMO = example_path().read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("key", "written", "told"),
    [
        ("altitude", '"250"', '"250 m"'),
        ("column_diameter", '"5"', '"5 cm"'),
        ("additions", '"two"', "Write a whole number, like 3."),
        ("head_loss", '"little"', '"80 W"'),
        ("boiler_volume", '"8 gal"', '"8 gal_us" or "8 gal_imp"'),
        ("heater_power", '"2400"', "kW"),
    ],
)
def test_the_example_fits_the_field(key: str, written: str, told: str) -> None:
    text = re.sub(rf"^{key} = [^#\n]*", f"{key} = {written}", DEMO, count=1, flags=re.MULTILINE)
    assert text != DEMO
    with pytest.raises(PlanError) as caught:
        read_plan_text(text)
    (problem,) = caught.value.problems
    assert problem.key.endswith(key)
    assert told in problem.remedy


@pytest.mark.parametrize("text", ["43%", "43 %", "43"])
def test_a_bare_per_cent_is_asked_by_volume_or_by_mass(text: str) -> None:
    with pytest.raises(UnitError) as caught:
        parse_strength(text)
    assert '"43 %vol" if it is by volume' in str(caught.value)
    assert '"43 %mass" if it is by mass' in str(caught.value)


def test_millionths_of_a_gram_have_one_sign_and_several_spellings() -> None:
    assert format_quantity(3.2e-6, "mass_concentration") == "3.20 µg/L"
    assert format_quantity(3.2e-9, "mass") == "3.20 µg"
    for spelling in ("3.2 ug/L", "3.2 µg/L", "3.2 \N{GREEK SMALL LETTER MU}g/L"):
        assert parse_quantity(spelling, "mass_concentration") == pytest.approx(3.2e-6)


@pytest.mark.parametrize(
    ("quantity", "value", "low", "high", "allowed"),
    [
        ("strength as read", 9.99, 0.0, 1.0, "the range is 0 to 100 %vol"),
        ("lowest strength", 2.0, 0.0, 1.0, "the range is 0 to 100 %vol"),
        ("gravity as read", 10.1, 0.98, 1.2, "the range is 0.98 to 1.2 SG"),
        ("rate", 4.0, 0.0, 1.0, "the range is 0 to 100 %"),
        ("count", 0.0, 1.0, 9.0, "the range is 1 to 9"),
    ],
)
def test_a_range_of_a_pure_number_is_said_as_it_is_read(
    *, quantity: str, value: float, low: float, high: float, allowed: str
) -> None:
    assert worded(OutOfRangeError(quantity, value, low, high))[1] == allowed


def test_a_missing_temperature_is_asked_for_without_names_of_our_own() -> None:
    with pytest.raises(InputError) as caught:
        check_value("strength", 0.6, None, "20C")
    assert "strength as read needs the temperature of the liquid" in str(caught.value)
    assert "it is 20 °C where the instrument corrected the value" in str(caught.value)
    assert "_" not in str(caught.value)
