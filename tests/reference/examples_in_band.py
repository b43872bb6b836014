# SPDX-License-Identifier: MIT
"""Published batch distillations beside the band of their prediction (sources in data/)."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from middlecut.insight.ensemble import predict_bands
from middlecut.liquid import alcoholometry as al
from middlecut.liquid import equilibrium
from middlecut.plan.model import Batch, Plan
from middlecut.plan.prediction import Prediction
from middlecut.steps.lot import Lot
from middlecut.steps.parameters import Cut, Distil, Take, Until
from middlecut.steps.still import Still

DRAWS = 100
ETHANOL, WATER = 46.06844e-3, 18.01528e-3  # kg/mol
SEA_LEVEL = 101325.0
CASES = json.loads(
    (Path(__file__).parent / "data" / "batch_cases.json").read_text(encoding="utf-8")
)["cases"]


@dataclass(frozen=True)
class Example:
    """A printed value and the band of its prediction, all in % vol or in % of the charge.

    ``printed`` is a pair where practice prints a range; ``rounding`` is how far the source itself
    is good: a diagram, a coarse table, the word "about".
    """

    source: str
    what: str
    printed: tuple[float, float]
    rounding: float
    low: float
    typical: float
    high: float

    @property
    def width(self) -> float:
        """From 5 to 95 %."""
        return self.high - self.low

    @property
    def inside(self) -> bool:
        """Whether printed value or range and band meet, within the rounding of the source."""
        low, high = self.printed
        return self.low - self.rounding <= high and low <= self.high + self.rounding


def case(name: str) -> dict[str, Any]:
    return next(dict(one) for one in CASES if one["id"] == name)


def strength_of(mole_fraction: float) -> float:
    """Return % vol."""
    mass = float(al.mass_fraction_from_mole_fraction(mole_fraction))
    return 100.0 * float(al.strength_from_mass_fraction(mass))


def moles(ethanol: float, *, of: float = 1000.0) -> Lot:
    return Lot("charge", (of - ethanol) * WATER, ethanol * ETHANOL)


def litres(strength: float, volume: float) -> Lot:
    share = float(al.mass_fraction_from_strength(strength))
    mass = 1e-3 * volume * float(al.density_20(share))
    return Lot("charge", mass * (1.0 - share), mass * share)


def banded(
    charge: Lot, still: Still, cuts: tuple[Cut, ...], spreads: dict[str, float] | None = None
) -> Prediction:
    run = Distil("run", (Take("charge"),), still.name, "spirit", cuts, "rest")
    plan = Plan("case", Batch("case"), (run,), {still.name: still}, (charge,))
    return predict_bands(plan, DRAWS, 0, spreads=spreads, workers=1)


def along(prediction: Prediction, at: int) -> tuple[float, float, float]:
    """Return the band of the strength running off at a row of the curve. [% vol]"""
    curve = prediction.steps["run"].curve
    assert curve is not None
    assert curve.band is not None
    low, typical, high = (100.0 * float(row[at]) for row in curve.band.strength)
    return low, typical, high


def perry() -> list[Example]:
    found = case("perry_rayleigh_18_to_6")
    printed = found["outputs"]
    still = Still("pot", 1.0, 2000.0, heater_efficiency=1.0, head_holdup=1e-7)
    _, last = equilibrium.bubble_point(0.06, SEA_LEVEL)  # runs off when the boiler is at x = 0.06
    until = Until(strength=0.01 * strength_of(last))
    over = banded(moles(180.0), still, (Cut("over", until),)).lots["over"]
    band = over.band
    assert band is not None
    pure = [
        value * al.ETHANOL_DENSITY_20 / ETHANOL / 1.8
        for value in (band.pure_alcohol.low, over.volume * over.strength, band.pure_alcohol.high)
    ]
    given = strength_of(printed["x_distillate"])
    share = printed["distillate_ethanol_mol"] / 0.18
    return [
        # By hand on a coarse table, good to 0.015 in x (batch_cases.toml): 1.2 % vol here.
        Example("Perry", "strength of the distillate", (given, given), 1.2,
                100.0 * band.strength.low, 100.0 * over.strength, 100.0 * band.strength.high),
        Example("Perry", "ethanol over, % of the charge's", (share, share), 1.0, *pure),
    ]  # fmt: skip


def coulson_richardson(*, plates: int = 4) -> list[Example]:
    found = case("coulson_richardson_11_13")
    given, printed = found["inputs"], found["outputs"]
    # Four ideal plates with the boiler among them: three in the column.
    still = Still(
        "column", 1.0, 2000.0, heater_efficiency=1.0, stages=plates - 1, stage_holdup=1e-7,
        head_holdup=1e-7, reflux_ratio=given["reflux_ratio"],
    )  # fmt: skip
    until = Until(strength=0.01 * strength_of(printed["xD_final"]))
    prediction = banded(moles(1000.0 * given["x_charge"]), still, (Cut("over", until),))
    curve = prediction.steps["run"].curve
    assert curve is not None
    assert curve.band is not None
    rows = []
    for what, key, at in (
        ("strength at the start", "xD_initial", 1),
        ("strength at the end", "xD_final", len(curve.band.volume) - 2),
    ):
        value = strength_of(printed[key])
        # Compositions are read off a diagram to 0.01 in x, 0.6 % vol here.
        rows.append(
            Example("Coulson and Richardson", what, (value, value), 0.6, *along(prediction, at))
        )
    return rows


def seader_henley() -> list[Example]:
    found = case("seader_henley_vapour_feed_rectifier")
    given, printed = found["inputs"], found["outputs"]
    # The vapour feed comes from a boiler so large that it stays as it is; four stages and the
    # equilibrium of a partial condenser above; all but a little is returned.
    feed = given["x_feed"]
    grid = np.linspace(1e-3, 0.2, 400)
    vapour = np.array([equilibrium.bubble_point(x, SEA_LEVEL)[1] for x in grid])
    boiler = float(np.interp(feed, vapour, grid))
    still = Still(
        "rectifier", 10.0, 2000.0, heater_efficiency=1.0, stages=given["stages"] + 1,
        stage_holdup=1e-7, head_holdup=1e-7, reflux_ratio=300.0,
    )  # fmt: skip
    charge = moles(1e5 * boiler, of=1e5)
    prediction = banded(charge, still, (Cut("over", Until(volume=1e-4)),))
    curve = prediction.steps["run"].curve
    assert curve is not None
    assert curve.band is not None
    value = strength_of(printed["highest_possible_x_distillate"])
    at = len(curve.band.volume) // 2
    # Graphical steps close to the azeotrope: 0.02 in x, 0.9 % vol here.
    return [
        Example("Seader and Henley", "highest strength at total reflux", (value, value), 0.9,
                *along(prediction, at))
    ]  # fmt: skip


def whisky() -> list[Example]:
    found = case("whisky_handbook_double_pot")
    printed = found["outputs"]
    # A swan neck returns some liquid: 5 % of the heat put in is an estimate, a factor 2 its band.
    still = Still("pot", 1.0, 2000.0, heater_efficiency=1.0, head_holdup=1e-7, head_loss=100.0)
    wide = {"still.pot.head_loss": 1.0}
    stop = 0.01 * found["inputs"]["wash_run_stop_ABV"]
    cuts = (Cut("low wines", Until(strength=stop)),)
    wash = banded(litres(0.01 * found["inputs"]["wash_ABV"], 20.0), still, cuts, wide)
    lot = wash.lots["low wines"]
    assert lot.band is not None
    low, high = printed["low_wines_ABV"]
    rows = [
        Example("Whisky handbook", "low wines of a wash of 8 %", (low, high), 0.0,
                100.0 * lot.band.strength.low, 100.0 * lot.strength,
                100.0 * lot.band.strength.high)
    ]  # fmt: skip
    weak, strong = (0.01 * value for value in found["inputs"]["spirit_charge_ABV"])
    first, last = (0.01 * value for value in printed["spirit_cut_ABV"])
    middle = 0.5 * (weak + strong)
    three = (
        Cut("heads", Until(strength=first)),
        Cut("spirit", Until(strength=last)),
        Cut("feints", Until(strength=0.01 * printed["feints_stop_ABV"])),
    )
    wide["given.charge.strength"] = strong - middle
    charge = litres(middle, 20.0)
    run = banded(charge, still, three, wide)
    for name, what in (
        ("heads", "heads, % of the charge"),
        ("spirit", "middle cut, % of the charge"),
    ):
        made = run.lots[name]
        assert made.band is not None
        share = [
            100.0 * value / charge.volume
            for value in (made.band.volume.low, made.volume, made.band.volume.high)
        ]
        # "About 15 %" of the run for the heads, of the charge for the cut: 5 % of the charge.
        rows.append(Example("Whisky handbook", what, (15.0, 15.0), 5.0, *share))
    return rows


@cache
def examples() -> tuple[Example, ...]:
    return (*perry(), *coulson_richardson(), *seader_henley(), *whisky())
