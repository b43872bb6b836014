# SPDX-License-Identifier: MIT
"""Many runs of one still as it may truly be, each on a grid of time."""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from middlecut.errors import ConvergenceError, InputError
from middlecut.insight.run_setup import RunSetup, Truth, correlation_of
from middlecut.insight.still_model import collected_along, smooth_along
from middlecut.steps.distil import distil
from middlecut.steps.lot import SOLIDS_VOLUME
from middlecut.steps.medium import medium
from middlecut.steps.parameters import Cut, Distil, Until
from middlecut.steps.scenario import DRAW_TOLERANCE, Scenario

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from middlecut.steps.curve import Curve

    Array = NDArray[np.float64]

__all__ = ["Population", "prior_population", "run_population"]

POINTS = 200
NEARLY_DRY = 0.03
"""A run is followed until this share of the charge is left, whatever the plan says."""
FEWEST = 12
"""Runs that must succeed."""


@dataclass(frozen=True, slots=True, eq=False)
class Population:
    """Runs of several stills.

    Parameters
    ----------
    q : ndarray, shape (n, parameters)
        Deviations of each run from the centre.
    time : ndarray, shape (n, t)
        Since the first drop, each run on a grid of its own. [s]
    water, ethanol : ndarray, shape (n, t)
        Collected. [kg]
    strength, boiler_strength : ndarray, shape (n, t)
        0 to 1.
    head_temperature, boiler_temperature : ndarray, shape (n, t)
        [K]
    boiler_volume : ndarray, shape (n, t)
        [m³ at 20 °C]
    heat_up, first_drop : ndarray, shape (n,)
        From power on to the first vapour and to the first drop. [s]
    failed : int
        Runs that could not be done at all.
    """

    q: Array
    time: Array
    water: Array
    ethanol: Array
    strength: Array
    boiler_strength: Array
    head_temperature: Array
    boiler_temperature: Array
    boiler_volume: Array
    heat_up: Array
    first_drop: Array
    failed: int


@lru_cache(maxsize=6)
def prior_population(setup: RunSetup, draws: int, seed: int) -> Population:
    """Return runs drawn from what is known before any reading; kept for the next call.

    Parameters
    ----------
    setup : RunSetup
    draws : int
    seed : int

    Returns
    -------
    Population
    """
    from scipy.special import ndtri  # noqa: PLC0415 - only needed with draws

    random = np.random.default_rng(seed)
    size = len(setup.beliefs)
    ranks = np.stack([random.permutation(draws) for _ in range(size)], axis=1)
    even = (ranks + random.random((draws, size))) / draws
    root = np.linalg.cholesky(correlation_of(setup) + 1e-9 * np.eye(size))
    return run_population(setup, ndtri(even) @ root.T)


def run_population(setup: RunSetup, q: Array) -> Population:
    """Run the still once per row of deviations, on all cores.

    Parameters
    ----------
    setup : RunSetup
    q : ndarray, shape (n, parameters)

    Returns
    -------
    Population
        Runs that fail are left out and counted.

    Raises
    ------
    InputError
        If hardly any run can be done; with the reason of the first.
    """
    q = setup.within(q)  # what stands behind a run is what it was run with
    medium(float(round(setup.pressure)), ())  # once, before the threads ask for it together
    with ThreadPoolExecutor(min(os.cpu_count() or 1, 8)) as pool:
        curves = list(pool.map(lambda row: _curve(setup, row), q))
    there = [n for n, curve in enumerate(curves) if not isinstance(curve, Exception)]
    if len(there) < min(FEWEST, len(q)):
        raise next(curve for curve in curves if isinstance(curve, Exception))
    good = [curve for curve in curves if not isinstance(curve, Exception)]
    return _on_grid(setup, q[there], good, len(q) - len(good))


def _curve(setup: RunSetup, row: Array) -> Curve | InputError | ConvergenceError:
    truth = setup.truth(row)
    failure: InputError | ConvergenceError | None = None
    for step in (_as_run(setup.step, truth), _without_signs(setup.step, truth)):
        try:
            found = distil(
                step,
                (truth.charge,),
                still=truth.still,
                pressure=setup.pressure,
                bed_liquid=setup.bed,
                scenario=Scenario(lean=True, tolerance=DRAW_TOLERANCE),
            )
        except (InputError, ConvergenceError) as error:
            failure = failure or error
            continue
        if found.curve is not None:
            return found.curve
    return failure or ConvergenceError("The run", 0, float("nan"))


def _as_run(step: Distil, truth: Truth) -> Distil:
    """Return the step with cuts kept apart only where they matter, run until nearly dry.

    The signs of the cuts to come are what the instruments show.
    """
    kept: list[Cut] = []
    for cut in step.cuts:
        seen = replace(cut, until=_seen(cut.until, truth))
        same = cut.power is None and cut.coolant_duty is None and cut.reflux_ratio is None
        if kept and same and cut.until.volume is None:
            kept[-1] = replace(kept[-1], until=seen.until)
        else:
            kept.append(seen)
    dry = _nearly_dry(truth)
    kept[-1] = replace(kept[-1], until=dry)
    return replace(step, cuts=tuple(kept))


def _nearly_dry(truth: Truth) -> Until:
    """Return the end of every run: hardly any liquid left over what the solids of a wash take."""
    solids = truth.charge.solids * SOLIDS_VOLUME
    return Until(boiler_volume=solids + NEARLY_DRY * (truth.charge.volume - solids))


def _seen(until: Until, truth: Truth) -> Until:
    if until.strength is not None:
        return replace(until, strength=max(until.strength - truth.strength_offset, 1e-3))
    if until.head_temperature is not None:
        return replace(until, head_temperature=until.head_temperature - truth.head_offset)
    return until


def _without_signs(step: Distil, truth: Truth) -> Distil:
    """Return the step as one long part, for a still in which a sign never comes."""
    dry = _nearly_dry(truth)
    timed = tuple(change for change in step.power_changes if change.at.time is not None)
    return replace(step, cuts=(replace(step.cuts[0], until=dry),), power_changes=timed)


def _moments(step: Distil) -> list[float]:
    ends = [cut.until for cut in step.cuts] + [change.at for change in step.power_changes]
    return [until.time for until in ends if until.time is not None]


def _changes(step: Distil) -> Array:
    """Return the moments just before and after everything that was done at a time."""
    return np.array([at + shift for at in _moments(step) for shift in (0.0, 2.0)])


def _on_grid(setup: RunSetup, q: Array, curves: list[Curve], failed: int) -> Population:
    last = np.array([curve.time[-1] for curve in curves])
    # Denser towards the first drop, where a small cut is soon over, and both sides of a change.
    even = last[:, np.newaxis] * np.linspace(0.0, 1.0, POINTS) ** 1.7
    kinks = np.tile(_changes(setup.step), (len(curves), 1))
    time = np.sort(np.hstack([even, np.minimum(kinks, last[:, np.newaxis])]), axis=1)
    names = (
        "strength",
        "boiler_strength",
        "head_temperature",
        "boiler_temperature",
        "boiler_volume",
    )
    columns = {name: np.empty(time.shape) for name in (*names, "water", "ethanol")}
    for n, curve in enumerate(curves):
        columns["water"][n], columns["ethanol"][n] = collected_along(curve, time[n])
        for name in names:
            columns[name][n] = smooth_along(time[n], curve.time, getattr(curve, name))
    column = {name: n for n, name in enumerate(setup.names)}["time to the first drop"]
    heating = np.exp(setup.beliefs[column].deviation * q[:, column])
    heat_up = np.array([curve.facts.heat_up_time for curve in curves])
    fill = np.array([curve.facts.fill_time for curve in curves])
    return Population(
        q=q,
        time=time,
        heat_up=heat_up * heating,
        first_drop=(heat_up + fill) * heating,
        failed=failed,
        **columns,
    )
