# SPDX-License-Identifier: MIT
"""Forecast a run from its readings so far: where it is, and when and how each cut ends."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from middlecut.errors import InputError, OutOfRangeError
from middlecut.insight.calibrate import OFFSETS
from middlecut.insight.contradictions import Judgement, judge
from middlecut.insight.forecast_report import assemble
from middlecut.insight.readings import QUANTITIES, Reading
from middlecut.insight.run_entries import Entries, sort_entries
from middlecut.insight.run_marks import Mark, carried_out
from middlecut.insight.run_outputs import (
    CutPlan,
    Observed,
    along,
    between,
    cut_outlook,
    expected_of,
    level_reached,
)
from middlecut.insight.run_population import Population, prior_population, run_population
from middlecut.insight.run_posterior import Evidence, Posterior, StandIn, fit_stand_in
from middlecut.insight.run_setup import (
    EXECUTION,
    RunSetup,
    beliefs_of,
    charge_of,
    correlation_of,
    distil_step,
)
from middlecut.insight.still_model import CHARGE

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from middlecut.insight.calibrated import CalibratedStill
    from middlecut.insight.run_forecast import RunForecast
    from middlecut.plan.model import Plan
    from middlecut.steps.lot import Lot
    from middlecut.steps.parameters import Distil
    from middlecut.steps.still import Still

    Array = NDArray[np.float64]

__all__ = ["DRAWS", "Cloud", "forecast_run"]

DRAWS = 160
"""Runs from which the forecast starts."""
FEWEST_DRAWS, MOST_DRAWS = 80, 4000
NEAR = 4.0
"""Share of the draws run again near the best fit: one in this many."""
SAMPLES = 1000
TURNS = 3
"""Most clouds around a best fit."""
MOVED = 1.5
"""Widths of the posterior the best fit may move without another cloud."""
TAKING = 15.0
"""Standard uncertainty of the moment a reading belongs to; our estimate. [s]"""
CLOUD_SPREAD = 1.2
"""How much wider than the covariance the second cloud is drawn."""


@dataclass(frozen=True, slots=True, eq=False)
class Cloud:
    """What the forecast is read from.

    Parameters
    ----------
    setup : RunSetup
    population : Population
        Near the best fit.
    columns : tuple of str
        Names of the numbers.
    samples : ndarray, shape (samples, columns)
        NaN where a number is missing.
    share : ndarray, shape (columns,)
        Share of the runs that have the number.
    judgement : Judgement or None
        None without readings.
    evidence : Evidence or None
    draws : int
        Runs done in all.
    """

    setup: RunSetup
    population: Population
    columns: tuple[str, ...]
    samples: Array
    share: Array
    judgement: Judgement | None
    evidence: Evidence | None
    draws: int


def forecast_run(
    plan: Plan,
    step_id: str,
    readings: Iterable[Reading | Mark],
    *,
    now: float,
    still: Still | CalibratedStill | None = None,
    charge: Lot | None = None,
    draws: int = DRAWS,
    seed: int = 0,
) -> RunForecast:
    """Forecast a run from what was read and done so far.

    The still is run for a cloud of draws from what its description (or its calibration) leaves
    open, once for a step and kept; a quadratic through the cloud stands in for the model, the
    readings give the most likely still and its covariance on that stand-in, and a second cloud
    around it corrects the stand-in and carries the forecast.

    Parameters
    ----------
    plan : Plan
        What is intended.
    step_id : str
        Of the distil step.
    readings : iterable of (Reading or Mark)
        In any order, late ones and corrections too: an entry of the same moment, quantity and
        instrument takes the place of the one before it. Times on one clock: from any zero if the
        first drop or power on is marked, otherwise since the first drop.
    now : float
        The present moment on that clock. [s]
    still : Still or CalibratedStill, optional
        In place of the plan's description.
    charge : Lot, optional
        What was really loaded and measured; otherwise what the plan predicts.
    draws : int
        Runs to start from, 80 to 4000.
    seed : int
        0 or more; the same seed gives the same forecast.

    Returns
    -------
    RunForecast
        Where the run is, each cut with bands, contradictions, what was refused and why.

    Raises
    ------
    NotFoundError
        If the plan has no such distil step.
    OutOfRangeError
        If the present moment is no time.
    InputError
        If draws or seed are no usable numbers, or the run cannot be done at all.

    Notes
    -----
    Leaves out: that the still itself may change on the way other than by the marks (a fault shows
    as a contradiction), and errors of the model in kind, which only show as scatter: the bands are
    widened by it. A cut whose end is not marked is taken to end at its sign. The method is a
    linearised update of an ensemble, after :cite:t:`emerick2013`; Laplace's approximation around
    the best fit after :cite:t:`bates1988`.

    References
    ----------
    .. [1] :cite:t:`emerick2013`
    .. [2] :cite:t:`bates1988`
    """
    _check(now, draws, seed)
    step = distil_step(plan, step_id)
    load = charge if charge is not None else charge_of(plan, step_id)
    entries = sort_entries(step, readings, now=now, charge=load)
    setup = beliefs_of(
        step if charge is None else replace(step, water=0.0),
        still if still is not None else plan.stills[step.still],
        replace(load, name=CHARGE, amounts={}, band=None),
        pressure=plan.batch.pressure,
        measured=charge is not None,
    )
    setup = replace(setup, step=carried_out(step, entries.marks, CHARGE))
    cuts = _cut_plans(step, entries)
    cloud = _cloud(setup, entries, cuts, draws=draws, seed=seed)
    return assemble(step, entries, cuts, cloud)


def _check(now: float, draws: object, seed: object) -> None:
    if not 0.0 <= now < math.inf:
        raise OutOfRangeError("now", now, 0.0, math.inf, unit="s")
    if type(draws) is not int or not FEWEST_DRAWS <= draws <= MOST_DRAWS:
        raise InputError(
            "draws",
            draws,
            f"a whole number from {FEWEST_DRAWS} to {MOST_DRAWS}",
            f"{DRAWS} are enough for bands beside a still.",
        )
    if type(seed) is not int or seed < 0:
        raise InputError("seed", seed, "a whole number of 0 or more", "Leave it at 0.")


def _cut_plans(step: Distil, entries: Entries) -> tuple[CutPlan, ...]:
    """Return the cuts with the moments at which they were called."""
    drop = entries.clock.first_drop or 0.0
    names = [cut.into for cut in step.cuts]
    called = {mark.cut: mark.time - drop for mark in entries.marks if mark.kind == "cut"}
    last = max((names.index(name) for name in called), default=-1)
    off = entries.clock.heat_off
    found: list[CutPlan] = []
    for place, cut in enumerate(step.cuts):
        ended, latest = called.get(cut.into), None
        if ended is None and place < last:
            # Passed over: it ended at its sign, and at the latest when a later cut was called.
            latest = min(at for name, at in called.items() if names.index(name) > place)
        elif ended is None and off is not None:
            ended = max(off - drop, 0.0)
        found.append(CutPlan(cut.into, cut.until, ended, latest))
    return tuple(found)


def _cloud(
    setup: RunSetup, entries: Entries, cuts: Sequence[CutPlan], *, draws: int, seed: int
) -> Cloud:
    first = prior_population(setup, draws, seed)
    columns, values = _numbers(setup, first, entries, cuts)
    observed = entries.observed
    if not observed:
        share = np.isfinite(values).mean(axis=0)
        return Cloud(setup, first, columns, _straight(columns, values), share, None, None, draws)
    extra = _further_offsets(entries)
    physical = tuple(n for n, one in enumerate(setup.beliefs) if one.name not in EXECUTION)
    read = _read(setup, first, entries)
    size = len(setup.beliefs)
    rough = fit_stand_in(first.q, read, physical)
    judgement = judge(
        _evidence(setup, entries, rough, extra, _timing(setup, first, entries)),
        observed,
        _head_ratio(first, observed),
    )
    count, runs = max(int(draws / NEAR), 3 * size), draws
    for turn in range(TURNS):
        centre = judgement.posterior.q[:size]
        near = _near(setup, judgement.posterior, count, seed + turn)
        runs += len(near.q)
        cloud = (near.q, _read(setup, near, entries))
        model = fit_stand_in(first.q, read, physical, near=cloud, centre=centre)
        evidence = _evidence(setup, entries, model, extra, _timing(setup, near, entries))
        judgement = judge(evidence, observed, _head_ratio(near, observed))
        if _settled(judgement, centre):
            break
    there = _numbers(setup, near, entries, cuts)[1]
    numbers = fit_stand_in(first.q, values, physical, near=(near.q, there), centre=centre)
    samples = _straight(columns, _samples(judgement.posterior, numbers, size, seed))
    share = np.isfinite(there).mean(axis=0)
    samples[:, share == 0.0] = np.nan
    return Cloud(setup, near, columns, samples, share, judgement, evidence, runs)


def _settled(judgement: Judgement, centre: Array) -> bool:
    """Whether the cloud lies where the readings point, and no reading stands out of it.

    A stand-in made in the wrong place makes good readings look wrong, so an accusation is looked
    at again in a cloud around the new best fit.
    """
    if judgement.single or judgement.pattern is not None:
        return False
    posterior = judgement.posterior
    size = len(centre)
    width = np.sqrt(np.diag(posterior.covariance)[:size])
    return bool(np.max(np.abs(posterior.q[:size] - centre) / width) < MOVED)


def _timing(setup: RunSetup, population: Population, entries: Entries) -> Array:
    """Return how far each reading moves within the time it takes to read it."""
    later = tuple(
        one
        if one.heating is not None
        else replace(one, time=one.time + TAKING, since=one.since + TAKING)
        for one in entries.observed
    )
    moved = expected_of(setup, population, later, entries.caller)
    found = np.median(np.abs(moved - _read(setup, population, entries)), axis=0)
    return np.asarray(found)


def _read(setup: RunSetup, population: Population, entries: Entries) -> Array:
    return expected_of(setup, population, entries.observed, entries.caller)


def _evidence(
    setup: RunSetup, entries: Entries, model: StandIn, extra: Array, timing: Array
) -> Evidence:
    # What the stand-in leaves unexplained counts as uncertainty of the reading, and its moment too.
    spread = np.hypot(np.array([one.spread for one in entries.observed]), timing)
    return Evidence(
        model=model,
        observed=np.array([one.value for one in entries.observed]),
        spread=np.hypot(spread, model.scatter),
        precision=np.asarray(
            np.linalg.inv(correlation_of(setup) + 1e-9 * np.eye(len(setup.beliefs)))
        ),
        extra=extra,
    )


def _further_offsets(entries: Entries) -> Array:
    """Return a column of offsets per deviation for each instrument the runs do not know."""
    spreads: dict[str, float] = {}
    for one in entries.observed:
        spread = OFFSETS.get(QUANTITIES[one.reading.quantity].dimension)
        if spread is not None and one.instrument not in {entries.caller, "head thermometer"}:
            spreads[one.instrument] = spread
    names = tuple(sorted(spreads))
    extra = np.zeros((len(entries.observed), len(names)))
    for row, one in enumerate(entries.observed):
        if one.instrument in names:
            extra[row, names.index(one.instrument)] = spreads[one.instrument]
    return extra


def _head_ratio(population: Population, observed: Sequence[Observed]) -> Array:
    """Return the change of head temperature with strength along the middle run. [K]."""
    middle = int(
        np.argsort(population.ethanol[:, -1] / population.time[:, -1])[len(population.q) // 2]
    )
    time, strength = population.time[middle], population.strength[middle]
    slope = np.diff(population.head_temperature[middle]) / np.minimum(np.diff(strength), -1e-6)
    return np.array([float(np.interp(one.time, time[1:], slope)) for one in observed])


def _near(setup: RunSetup, posterior: Posterior, count: int, seed: int) -> Population:
    """Run a cloud around the best fit, a little wider than the readings allow."""
    size = len(setup.beliefs)
    random = np.random.default_rng([seed, 11])
    root = np.linalg.cholesky(posterior.covariance[:size, :size] + 1e-9 * np.eye(size))
    half = random.standard_normal(((count + 1) // 2, size))
    # Each draw with its mirror image, so that the middle stays where it is.
    cloud = posterior.q[:size] + CLOUD_SPREAD * np.vstack([half, -half]) @ root.T
    return run_population(setup, cloud)


def _samples(posterior: Posterior, numbers: StandIn, size: int, seed: int) -> Array:
    random = np.random.default_rng([seed, 13])
    root = np.linalg.cholesky(posterior.covariance[:size, :size] + 1e-12 * np.eye(size))
    half = random.standard_normal((SAMPLES // 2, size))
    q = posterior.q[:size] + np.vstack([half, -half]) @ root.T
    return numbers.at(q)


def _numbers(
    setup: RunSetup, population: Population, entries: Entries, cuts: Sequence[CutPlan]
) -> tuple[tuple[str, ...], Array]:
    """Return every number the forecast shows, for each run."""
    outlook = cut_outlook(setup, population, cuts)
    now = entries.run_time
    found: dict[str, Array] = {
        "first_drop": population.first_drop,
        "heat_up": population.heat_up,
        "boiler_strength": along(population, "boiler_strength", now),
        "boiler_volume": along(population, "boiler_volume", now),
    }
    runs = len(population.q)
    present, zero = np.full(runs, now), np.zeros(runs)
    found["collected"] = between(population, zero, present)[0]
    last = outlook.end[:, -1]
    if entries.stopped is not None:
        last = np.fmax(last, present)  # what came after the last cut came over too
    found["volume"], found["pure_alcohol"] = between(population, zero, last)
    if setup.still.element_covered_above > 0.0:
        found["uncovered"] = level_reached(population, setup.still.element_covered_above)
    for place, _ in enumerate(cuts):
        start = np.minimum(outlook.start[:, place], now)
        found[f"end.{place}"] = outlook.end[:, place]
        found[f"volume.{place}"] = outlook.volume[:, place]
        found[f"pure.{place}"] = outlook.pure_alcohol[:, place]
        found[f"held.{place}"] = between(population, start, present)[0]
    # Times are followed by their logarithm: they go with one over the power, not with the power.
    rows = [np.log(np.maximum(v, 1.0)) if _is_time(k) else v for k, v in found.items()]
    return tuple(found), np.stack(rows, axis=1)


def _is_time(name: str) -> bool:
    return name.startswith("end.") or name in {"first_drop", "heat_up", "uncovered"}


def _straight(columns: Sequence[str], values: Array) -> Array:
    """Return numbers with times as they are, not their logarithms."""
    times = np.array([_is_time(name) for name in columns])
    found = values.copy()
    found[:, times] = np.exp(found[:, times])
    return found
