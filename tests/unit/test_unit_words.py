# SPDX-License-Identifier: MIT
"""A quantity without its unit, or with an unclear one, is answered with what fits the field."""

from __future__ import annotations

import re

import pytest

from middlecut.errors import PlanError, UnitError
from middlecut.plan.examples import example_path
from middlecut.plan.read import read_plan_text
from middlecut.units import format_quantity, parse_quantity, parse_strength

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
