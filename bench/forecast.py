# SPDX-License-Identifier: MIT
"""Time the live forecast: one more reading, and one more mark, on the demo's spirit run."""

from __future__ import annotations

import numpy as np

import middlecut as mc
from middlecut.insight.forecast import forecast_run
from middlecut.insight.readings import Reading
from middlecut.insight.run_marks import Mark
from timing import milliseconds

STEP = "spirit"


def log() -> list[Reading | Mark]:
    """Return what a person writes down in the first hour of the demo's spirit run."""
    curve = mc.predict(mc.load_plan(mc.example_path())).steps[STEP].curve
    if curve is None:
        return []
    start = curve.facts.heat_up_time + curve.facts.fill_time
    rows: list[Reading | Mark] = [Mark(0.0, "power-on"), Mark(start, "first-drop")]
    rows += [Mark(start + cut.end, "cut", cut=cut.into) for cut in curve.cuts[:2]]
    for at in range(240, 3601, 300):
        strength, volume, head = (
            float(np.interp(at, curve.time, values))
            for values in (curve.strength, curve.volume, curve.head_temperature)
        )
        rows += [
            Reading(start + at, "distillate_strength", strength, temperature=293.15),
            Reading(start + at, "collected_volume", volume),
            Reading(start + at, "head_temperature", head),
        ]
    return rows


def measure() -> dict[str, str]:
    """Return what was measured, by name."""
    plan, rows = mc.load_plan(mc.example_path()), log()
    now = max(row.time for row in rows) + 60.0

    def update() -> object:
        return forecast_run(plan, STEP, rows, now=now)

    fresh = iter(range(1000))

    def mark() -> object:
        # A mark of another second each time, so that nothing is kept.
        power = Mark(now - 600.0 + next(fresh), "power", 0.55)
        return forecast_run(plan, STEP, [*rows, power], now=now)

    readings = sum(isinstance(row, Reading) for row in rows)
    return {
        f"forecast after one more reading ({readings} in all)": f"{milliseconds(update):.0f} ms",
        "forecast after one more mark (every run anew)": f"{milliseconds(mark, rounds=7):.0f} ms",
    }


if __name__ == "__main__":
    for name, value in measure().items():
        print(f"{name}: {value}")
