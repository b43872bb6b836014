# SPDX-License-Identifier: MIT
"""Invented stills with a known truth, run by the plan and read as a person would read them."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from middlecut.errors import InputError
from middlecut.insight.calibrate import OFFSETS
from middlecut.insight.forecast import TAKING
from middlecut.insight.readings import Reading
from middlecut.insight.run_marks import Mark
from middlecut.insight.run_setup import (
    CALL,
    CALLS,
    JUGS,
    RunSetup,
    Truth,
    beliefs_of,
)
from middlecut.insight.still_model import collected_along, smooth_along
from middlecut.liquid import alcoholometry
from middlecut.plan.model import Batch, Plan
from middlecut.steps.curve import Curve
from middlecut.steps.distil import distil
from middlecut.steps.lot import Lot
from middlecut.steps.parameters import Cut, Distil, Take, Until
from middlecut.steps.still import Still

PRESSURE = 99000.0
STILL = Still(
    "invented",
    boiler_volume=0.030,
    heater_power=2400.0,
    heater_efficiency=0.96,
    boiler_loss=180.0,
    still_heat_capacity=6500.0,
    stages=3.0,
    column_diameter=0.054,
    stage_holdup=22e-6,
    column_loss=45.0,
    head_loss=400.0,
    head_holdup=15e-6,
    element_covered_above=3.5e-3,
)
STEP = Distil(
    id="run",
    takes=(Take("low wines"),),
    still="invented",
    purpose="spirit",
    cuts=(
        Cut("heads", Until(volume=300e-6)),
        Cut("hearts", Until(strength=0.62), jar_volume=250e-6),
        Cut("tails", Until(strength=0.20), power=0.85),
    ),
    residue="rest",
    power=0.65,
)


def loaded() -> Lot:
    share = float(alcoholometry.mass_fraction_from_strength(0.28))
    mass = 0.017 * float(alcoholometry.density_20(share))
    return Lot("low wines", water=mass * (1.0 - share), ethanol=mass * share)


PLAN = Plan("invented.toml", Batch("invented", PRESSURE), (STEP,), {"invented": STILL}, (loaded(),))


def setup() -> RunSetup:
    return beliefs_of(STEP, STILL, loaded(), pressure=PRESSURE, measured=True)


@dataclass(frozen=True)
class Watched:
    """One run as it truly went."""

    truth: Truth
    curve: Curve
    marks: float
    start: float
    boiler_offset: float

    def when(self, cut: int) -> float:
        return self.start + self.curve.cuts[cut].end

    def readings(self, random: np.random.Generator, until: float) -> list[Reading | Mark]:
        """Return what a person writes down until a time on the clock, every ten minutes or so."""
        found: list[Reading | Mark] = [Mark(0.0, "power-on"), Mark(self.start, "first-drop")]
        found += [
            Mark(self.when(n), "cut", cut=mark.into)
            for n, mark in enumerate(self.curve.cuts)
            if self.when(n) <= until
        ]
        last = min(until, self.when(2))
        for moment in np.arange(self.start + 240.0, last, 600.0).tolist():
            found += self.at(moment, random)
        return found

    def at(self, moment: float, random: np.random.Generator | None) -> list[Reading]:
        curve = self.curve

        def error(spread: float) -> float:
            return 0.0 if random is None else float(random.normal(0.0, spread))

        def at() -> NDArray[np.float64]:
            # Nobody reads on the second that is written down.
            return np.array([max(moment - self.start + error(TAKING), 1.0)])

        water, ethanol = (float(rows[0]) for rows in collected_along(curve, at()))
        share = ethanol / (water + ethanol)
        volume = (water + ethanol) / float(alcoholometry.density_20(share))
        strength = float(smooth_along(at(), curve.time, curve.strength)[0])
        head = float(smooth_along(at(), curve.time, curve.head_temperature)[0])
        boiler = float(smooth_along(at(), curve.time, curve.boiler_temperature)[0])
        shown = strength + self.truth.strength_offset + error(0.005)
        return [
            Reading(moment, "distillate_strength", shown, temperature=293.15),
            Reading(moment, "collected_volume", volume * self.marks * (1.0 + error(0.02))),
            Reading(moment, "head_temperature", head + self.truth.head_offset + error(0.3)),
            Reading(moment, "boiler_temperature", boiler + self.boiler_offset + error(0.3)),
        ]


def watch(random: np.random.Generator | None) -> Watched:
    """Return a run of an invented still; None: of the still as it is described."""
    given = setup()
    place = {name: n for n, name in enumerate(given.names)}
    while True:
        q = np.zeros(len(given.beliefs)) if random is None else random.normal(size=len(place))
        truth = given.truth(q)
        jug = 1.0 + given.beliefs[place[JUGS]].value(float(q[place[JUGS]]))
        eye = given.beliefs[place[CALLS]].value(float(q[place[CALLS]]))
        shift = truth.strength_offset + CALL["strength"] * eye
        cuts = (
            replace(STEP.cuts[0], until=Until(volume=300e-6 / jug / (1.0 + CALL["volume"] * eye))),
            replace(STEP.cuts[1], until=Until(strength=0.62 - shift)),
            replace(STEP.cuts[2], until=Until(strength=0.20 - shift)),
        )
        step = replace(STEP, cuts=cuts)
        try:
            found = distil(step, (truth.charge,), still=truth.still, pressure=PRESSURE)
        except InputError:
            continue  # a still that never shows the sign is left out, as the forecast leaves it out
        assert found.curve is not None
        facts = found.curve.facts
        start = (facts.heat_up_time + facts.fill_time) * truth.heating
        off = 0.0 if random is None else float(random.normal(0.0, OFFSETS["temperature"]))
        return Watched(truth, found.curve, jug, start, off)
