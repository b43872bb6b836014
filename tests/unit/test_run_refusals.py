# SPDX-License-Identifier: MIT
"""A cut that never comes says how long the run is and how much it has, in the cut's own kind."""

from __future__ import annotations

import re

import pytest

from middlecut.errors import InputError
from middlecut.steps.distil import distil
from middlecut.steps.lot import Lot
from middlecut.steps.parameters import Cut, Distil, PowerChange, Take, Until
from middlecut.steps.result import StepResult
from middlecut.steps.still import Still
from middlecut.units import parse_quantity

POT = Still("pot", boiler_volume=0.020, heater_power=2000.0, head_loss=50.0, condenser_duty=3e3)
WINE = Lot("wine", water=9.0, ethanol=1.0)


def run(*ends: Until, change: PowerChange | None = None) -> StepResult:
    cuts = tuple(Cut(f"cut {number}", until) for number, until in enumerate(ends))
    changes = () if change is None else (change,)
    step = Distil("run", (Take("wine"),), "pot", "strip", cuts, "rest", power_changes=changes)
    return distil(step, (WINE,), still=POT, pressure=101325.0)


def refused(*ends: Until, change: PowerChange | None = None) -> InputError:
    with pytest.raises(InputError) as caught:
        run(*ends, change=change)
    return caught.value


def test_a_time_past_the_end_says_how_long_the_run_is() -> None:
    error = refused(Until(volume=1e-3), Until(time=360000.0))
    found = re.search(r"almost empty (.+?) after the first drop, when (.+?) have", error.allowed)
    assert found is not None
    lasted = parse_quantity(found[1], "duration")
    assert error.remedy.startswith("Give a time after")
    assert f"before {found[1]}" in error.remedy
    assert "%vol" not in error.allowed
    only = refused(Until(time=360000.0)).remedy
    assert only.startswith("Give a time before")
    # What the message names is there to be had, and little more is: shown to the minute.
    whole = run(Until(volume=1e-3), Until(time=lasted - 60.0))
    assert sum(lot.volume for name, lot in whole.made.items() if name != "rest") == pytest.approx(
        parse_quantity(found[2], "volume"), rel=0.02
    )
    refused(Until(volume=1e-3), Until(time=lasted + 60.0))


def test_a_volume_past_the_end_says_what_the_cut_can_hold() -> None:
    error = refused(Until(volume=1e-3), Until(volume=1.5e-2))
    found = re.search(r"this cut holds (.+?) when .* and (.+?) have come over", error.allowed)
    assert found is not None
    held, whole = (parse_quantity(text, "volume") for text in found.groups())
    # Contraction aside, what came over is the first litre and this cut.
    assert whole == pytest.approx(held + 1e-3, rel=0.01)
    run(Until(volume=1e-3), Until(volume=0.995 * held))  # three digits are shown
    refused(Until(volume=1e-3), Until(volume=1.005 * held))
    assert f"less than {found[1]}" in error.remedy


def test_a_change_of_power_past_the_end_gives_the_litres_there_are() -> None:
    error = refused(Until(volume=2e-3), change=PowerChange(Until(volume=1e-2), 0.5))
    assert "with 2.00 L collected" in error.allowed
