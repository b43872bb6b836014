# SPDX-License-Identifier: MIT
"""The page about a compound of one's own: its plan runs, its factors are those that follow."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import middlecut as mc
from middlecut.insight.odour import odour_profile
from middlecut.liquid import volatility
from middlecut.liquid.own_compounds import COMPOUND_KEYS, own_compound

PAGE = (Path(__file__).resolve().parents[2] / "docs/how-to/describe-a-compound.md").read_text(
    "utf-8"
)
BARE = {"formula": "C8H14O2", "log_p": 2.1}
BOILING = {"boiling_point": "215 °C"}


def test_its_plan_runs() -> None:
    found = re.search(r"```toml\n(.*?)```", PAGE, re.DOTALL)
    assert found is not None
    plan = mc.read_plan_text(found[1])
    assert mc.volatility.grade(plan.compounds["meadow lactone"].label).grade == "C"
    lot = mc.predict(plan).lots["grass spirit"]
    smelled = {row.compound for row in odour_profile(lot).rows if row.oav > 1.0}
    assert "meadow lactone" in smelled


def test_every_key_is_named() -> None:
    assert [key for key in COMPOUND_KEYS if key not in PAGE] == []


@pytest.mark.parametrize(
    ("row", "told"),
    [
        ("its boiling point only | D | a factor of 3.8", BOILING),
        ("D | 2.6 in water, 3.7 in spirit", {"air_water": 0.0007}),
        ("C | 1.9, 3.0", {"air_water": 0.0007, "henry_slope": 6000}),
        ("C | 1.7, 2.6", {"air_water": 0.0007, **BOILING}),
        ("B | 1.3 at that strength, 2.4 far", {"k": {"10 %vol": 20}, **BOILING}),
        ("B | 1.3, 1.6", {"k": {"10 %vol": 20, "70 %vol": 0.2}, **BOILING}),
    ],
)
def test_its_table_says_what_follows(row: str, told: dict[str, object]) -> None:
    assert row in PAGE
    grade = volatility.grade(own_compound("x", {**BARE, **told}).label)
    letter = re.search(r"\b([A-D]) \|", row)
    assert letter is not None
    assert grade.grade == letter[1]
    numbers = [float(text) for text in re.findall(r"\d\.\d", row)]
    # as printed, to one decimal
    assert grade.water_factor == pytest.approx(numbers[0], abs=0.06)
    assert grade.factor == pytest.approx(numbers[-1], abs=0.06)
