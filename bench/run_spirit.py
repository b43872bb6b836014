# SPDX-License-Identifier: MIT
"""One spirit run: 10 stages, 40 compounds. Ours, warm, and the ratio to a plain script."""

from __future__ import annotations

import importlib.util
from pathlib import Path

from middlecut.liquid.congeners import congener_levels
from middlecut.steps.distil import distil
from middlecut.steps.lot import Amount, Lot
from middlecut.steps.parameters import Cut, Distil, Take, Until
from middlecut.steps.still import Still
from timing import milliseconds

COMPOUNDS = 40
STAGES = 10
PRESSURE = 101325.0

STILL = Still(
    name="tall",
    boiler_volume=0.05,
    heater_power=3000.0,
    boiler_loss=250.0,
    still_heat_capacity=9000.0,
    stages=STAGES,
    column_diameter=0.06,
    stage_holdup=2.0e-5,
    column_loss=80.0,
    head_loss=120.0,
    head_holdup=2.0e-5,
    coolant_duty=600.0,
    condenser_duty=4000.0,
)
RUN = Distil(
    id="spirit",
    takes=(Take("low wines"),),
    still="tall",
    purpose="spirit",
    cuts=(
        Cut("foreshots", Until(volume=1.0e-4), power=0.6),
        Cut("heads", Until(volume=4.0e-4)),
        Cut("hearts", Until(strength=0.60), jar_volume=5.0e-4),
        Cut("tails", Until(strength=0.10)),
    ),
    residue="spent",
    power=0.35,  # while holding: so little that head and coolant send everything back
    total_reflux=900.0,
)


def charge() -> Lot:
    """Return 20 L of low wines at about 28 % vol with forty compounds of a grain wash."""
    ethanol, water = 4.42, 14.5
    litres_of_alcohol = ethanol / 789.24
    levels = congener_levels("grain")[:COMPOUNDS]
    amounts = {
        row.compound: Amount(
            row.typical * litres_of_alcohol,
            row.low * litres_of_alcohol,
            row.high * litres_of_alcohol,
            row.basis,
        )
        for row in levels
    }
    return Lot("low wines", water=water, ethanol=ethanol, amounts=amounts)


def measure() -> dict[str, str]:
    """Return what was measured, by name."""
    lot = charge()
    ours = milliseconds(lambda: distil(RUN, (lot,), still=STILL, pressure=PRESSURE))
    result = distil(RUN, (lot,), still=STILL, pressure=PRESSURE)
    steps = result.curve.facts.steps if result.curve else 0
    rows = {
        f"one spirit run, {STAGES} stages, {len(lot.amounts)} compounds, warm": f"{ours:.1f} ms",
        "accepted steps of that run": str(steps),
    }
    plain = Path(__file__).with_name("plain_spirit.py")
    if plain.exists():
        spec = importlib.util.spec_from_file_location("plain_spirit", plain)
        if spec is not None and spec.loader is not None:
            module = importlib.util.module_from_spec(spec)
            spec.loader.exec_module(module)
            theirs = milliseconds(
                lambda: module.run(lot, RUN, STILL, PRESSURE), rounds=1, warm_up=0
            )
            rows["the same model, plainly on SciPy and thermo"] = f"{theirs:.0f} ms"
            rows["ratio"] = f"{theirs / ours:.0f}"
    return rows


if __name__ == "__main__":
    for name, value in measure().items():
        print(f"{name}: {value}")
