# SPDX-License-Identifier: MIT
"""Published batch distillations lie inside the band of their prediction (sources in data/)."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from middlecut.insight.ensemble import predict_bands
from middlecut.liquid import alcoholometry as al
from middlecut.liquid import equilibrium
from middlecut.plan.model import Batch, Plan
from middlecut.steps.lot import Lot
from middlecut.steps.parameters import Cut, Distil, Take, Until
from middlecut.steps.still import Still

CASES = json.loads(
    (Path(__file__).parent / "data" / "batch_cases.json").read_text(encoding="utf-8")
)["cases"]
ETHANOL, WATER = 46.06844e-3, 18.01528e-3  # kg/mol


def case(name: str) -> dict[str, Any]:
    return next(dict(one) for one in CASES if one["id"] == name)


def strength_of(mole_fraction: float) -> float:
    mass = float(al.mass_fraction_from_mole_fraction(mole_fraction))
    return float(al.strength_from_mass_fraction(mass))


def banded(mole_fraction: float, still: Still, until: Until) -> Any:
    """Return the band of the distillate of a charge of 1000 mol."""
    charge = Lot("charge", 1000.0 * (1.0 - mole_fraction) * WATER, 1000.0 * mole_fraction * ETHANOL)
    run = Distil("run", (Take("charge"),), still.name, "spirit", (Cut("over", until),), "rest")
    plan = Plan("case", Batch("case"), (run,), {still.name: still}, (charge,))
    return predict_bands(plan, 60, 0, workers=1)


def test_perry_simple_batch() -> None:
    found = case("perry_rayleigh_18_to_6")
    still = Still("pot", 1.0, 2000.0, heater_efficiency=1.0, head_holdup=1e-7)
    _, last = equilibrium.bubble_point(0.06, 101325.0)  # runs off when the boiler is at x = 0.06
    prediction = banded(0.18, still, Until(strength=strength_of(last)))
    band = prediction.lots["over"].band
    printed = found["outputs"]
    # The book works by hand on a coarse table, good to 0.01 in x (see test_batch_cases).
    assert band.strength.low - 0.01 < strength_of(printed["x_distillate"]) < band.strength.high
    low, high = (
        pure * al.ETHANOL_DENSITY_20 / ETHANOL
        for pure in (band.pure_alcohol.low, band.pure_alcohol.high)
    )
    assert low < 10.0 * printed["distillate_ethanol_mol"] < 1.01 * high


@pytest.mark.parametrize("edge", ["xD_initial", "xD_final"])
def test_coulson_richardson_column(edge: str) -> None:
    found = case("coulson_richardson_11_13")
    given, printed = found["inputs"], found["outputs"]
    # Four ideal plates with the boiler among them: three in the column.
    still = Still(
        "column", 1.0, 2000.0, heater_efficiency=1.0, stages=3, stage_holdup=1e-7,
        head_holdup=1e-7, reflux_ratio=given["reflux_ratio"],
    )  # fmt: skip
    prediction = banded(given["x_charge"], still, Until(strength=strength_of(printed["xD_final"])))
    curve = prediction.steps["run"].curve
    assert curve is not None
    band = curve.band
    at = 1 if edge == "xD_initial" else len(band.volume) - 2
    low, _, high = band.strength[:, at]
    # Compositions are read off a diagram to 0.01 in x, 0.6 % vol here.
    assert low - 0.006 < strength_of(printed[edge]) < high + 0.006
