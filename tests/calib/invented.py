# SPDX-License-Identifier: MIT
"""Invented stills whose truth is known, and the readings a person would take of their runs."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from middlecut.errors import InputError
from middlecut.insight.calibrate import expected, still_of, still_parameters
from middlecut.insight.readings import Reading
from middlecut.insight.still_model import LoggedRun
from middlecut.liquid import alcoholometry
from middlecut.steps.lot import Lot
from middlecut.steps.parameters import Cut, Distil, PowerChange, Take, Until
from middlecut.steps.still import Still

STILL = Still(
    "invented",
    boiler_volume=0.030,
    heater_power=2400.0,
    heater_efficiency=0.97,
    boiler_loss=180.0,
    still_heat_capacity=6500.0,
    stages=3.0,
    column_diameter=0.054,
    stage_holdup=22e-6,
    column_loss=45.0,
    head_loss=450.0,
    head_holdup=15e-6,
)
LAST = 75.0 * 60.0


def charge() -> Lot:
    share = float(alcoholometry.mass_fraction_from_strength(0.30))
    mass = 0.018 * float(alcoholometry.density_20(share))
    return Lot("charge", water=mass * (1.0 - share), ethanol=mass * share)


def blank_run() -> LoggedRun:
    """Return a run with readings at the right times and no values yet."""
    times = np.linspace(0.0, LAST, 9)
    rows = [Reading(0.0, "first_drop_time", 1.0)]
    for start, end in pairwise(times.tolist()):
        rows += [
            Reading(end, "jar_strength", 0.5, instrument="density meter", since=start),
            Reading(end, "collected_volume", 1e-3),
            Reading(end, "head_temperature", 350.0),
            Reading(end, "boiler_temperature", 360.0),
        ]
    step = Distil(
        id="run",
        takes=(Take("charge"),),
        still=STILL.name,
        purpose="spirit",
        cuts=(Cut("all", Until(time=LAST + 60.0)),),
        residue="rest",
        power=0.75,
        power_changes=(PowerChange(Until(time=0.5 * LAST), 0.9),),
    )
    return LoggedRun("run", step, charge(), 99000.0, tuple(rows))


def with_values(run: LoggedRun, values: NDArray[np.float64]) -> LoggedRun:
    rows = zip(run.readings, values.tolist(), strict=True)
    return replace(run, readings=tuple(replace(row, value=value) for row, value in rows))


def invent(random: np.random.Generator) -> tuple[dict[str, float], LoggedRun]:
    """Return the truth of one still and the readings of its run."""
    run = blank_run()
    while True:
        truth = {}
        for one in still_parameters(STILL, [run]):
            assert one.prior is not None
            inner = one.inner(one.prior.mean) + one.prior.deviation * random.normal()
            truth[one.name] = one.outer(inner)
        try:
            exact = expected(still_of(STILL, truth), [run], truth)
        except InputError:
            continue  # a still that would deliver nothing is no still
        noted = with_values(run, exact)
        spread = np.array([row.spread for row in noted.readings])
        return truth, with_values(noted, exact + spread * random.normal(size=len(exact)))


def coverage(count: int, seed: int) -> tuple[dict[str, float], dict[str, float], float]:
    """Return shares of 90 % intervals that hold the truth, how far they narrowed, and all."""
    from middlecut.insight.calibrate import fit_still

    held: dict[str, list[bool]] = {}
    narrowed: dict[str, list[float]] = {}
    random = np.random.default_rng(seed)
    for _ in range(count):
        truth, run = invent(random)
        found = fit_still(STILL, [run])
        for one in found.parameters:
            held.setdefault(one.name, []).append(one.low <= truth[one.name] <= one.high)
            scale = one.value if one.scale == "log" else 1.0
            narrowed.setdefault(one.name, []).append(
                one.standard_error / scale / one.prior_deviation
            )
    shares = {name: sum(rows) / len(rows) for name, rows in held.items()}
    widths = {name: math.sqrt(float(np.mean(np.square(rows)))) for name, rows in narrowed.items()}
    total = float(np.mean([row for rows in held.values() for row in rows]))
    return shares, widths, total
