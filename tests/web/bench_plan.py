# SPDX-License-Identifier: MIT
"""A small plan with a step of every kind, and a batch of it that is under way."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from middlecut.app.batch_events import ReadingTaken, StepFinished, StepStarted
from middlecut.app.events import Body
from middlecut.app.record import Entry, Record
from middlecut.app.spirit_events import CutCalled, JarFilled, PowerSet
from middlecut.app.use_cases import note, open_batch

NOW = datetime(2027, 3, 1, 9, 0, tzinfo=UTC)
"""Where the clock of the tests stands."""

PLAN = """
[batch]
name = "Bench"

[still.pot]
boiler_volume = "10 L"
safe_fill = "66 %"
heater_power = "1.5 kW"
boiler_loss = "80 W"
still_heat_capacity = "2 kJ/K"
packing_height = "24 cm"
hetp = "12 cm"
column_diameter = "40 mm"
stage_holdup = "10 mL"
head_loss = "120 W"
head_holdup = "5 mL"
condenser_duty = "2 kW"
element_covered_above = "1 L"

[[step]]
id = "wash"
kind = "ferment"
volume = "10 L"
gravity = "1.060 SG"
final_gravity = "1.008 SG"
temperature = "22 °C"
duration = "6 d"
lees = "1 L"
into = "wash"
[[step.add]]
ingredient = "cacao nibs, roasted"
amount = "40 g"
entry = "wash-late"
attenuation = "90 %"

[[step]]
id = "strip"
kind = "distil"
purpose = "strip"
still = "pot"
from = [{ lot = "wash", volume = "6 L" }]
cuts = [{ into = "low wines", until = "10 %vol" }]
residue = "stillage"

[[step]]
id = "run"
kind = "distil"
purpose = "spirit"
still = "pot"
from = ["low wines"]
water = "0.5 kg"
power = "60 %"
cuts = [
    { into = "heads", until = "50 mL" },
    { into = "hearts", until = "55 %vol", jars = "50 mL" },
    { into = "tails", until = "15 %vol" },
]
residue = "spent"

[[step]]
id = "peel"
kind = "steep"
from = { lot = "hearts", volume = "60 mL" }
into = "flavour"
duration = "7 d"
add = [{ ingredient = "orange peel, dried", amount = "3 g", entry = "steep" }]

[[step]]
id = "marry"
kind = "blend"
from = ["hearts", { lot = "flavour", dose = "50 mL/L" }]
into = "married"

[[step]]
id = "reduce"
kind = "dilute"
from = "married"
strength = "46 %vol"
additions = 2
into = "at strength"

[[step]]
id = "chips"
kind = "wood"
from = "at strength"
form = "chips"
species = "american oak"
treatment = "medium toast"
dose = "4 g/L"
duration = "14 d"
into = "on wood"

[[step]]
id = "fill"
kind = "bottle"
from = "on wood"
bottle_volume = "100 mL"
strength = "46 %vol"
into = "bottles"
"""


def begin(record: Record) -> str:
    """Open the batch: washed, and some minutes into its spirit run."""
    batch = open_batch(record, PLAN, entry=Entry(utc=NOW - timedelta(days=9)))
    keep(record, batch, 9 * 86400.0, StepStarted("wash"))
    for hours, gravity in ((0.2, 1.060), (20.0, 1.041), (44.0, 1.014), (90.0, 1.008)):
        reading = ReadingTaken(
            "wash", "gravity", gravity, 293.15, instrument="hydrometer",
            as_entered=f"{gravity} SG at 20 °C",
        )  # fmt: skip
        keep(record, batch, 9 * 86400.0 - hours * 3600.0, reading)
    keep(record, batch, 86400.0, StepFinished("wash"))
    keep(record, batch, 1500.0, StepStarted("run"), PowerSet("run", share=1.0))
    keep(record, batch, 700.0, CutCalled("run", "heads"), PowerSet("run", share=0.6))
    keep(record, batch, 600.0, CutCalled("run", "hearts"))
    for ago, jar, strength in ((480.0, "1", 0.735), (360.0, "2", 0.715), (240.0, "3", 0.70)):
        filled = JarFilled("run", jar, 50e-6, strength, 293.15, "20C", "hearts", "50 mL")
        typed = f"{100 * strength:g} %vol at 20 °C"
        read = ReadingTaken("run", "strength", strength, 293.15, "20C", as_entered=typed)
        keep(record, batch, ago, filled, read)
    keep(record, batch, 235.0, ReadingTaken("run", "volume", 2.0e-4, as_entered="200 mL"))
    return batch


def keep(record: Record, batch: str, ago: float, *bodies: Body) -> None:
    """Record facts so many seconds before now."""
    note(record, batch, *bodies, entry=Entry(utc=NOW - timedelta(seconds=ago)))
