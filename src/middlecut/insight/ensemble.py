# SPDX-License-Identifier: MIT
"""Run a plan many times over, each time as things may truly be, and give every number its band."""

from __future__ import annotations

import gc
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from statistics import median
from typing import TYPE_CHECKING

import numpy as np

from middlecut.errors import ConvergenceError, InputError, PlanError
from middlecut.insight.banded import with_bands
from middlecut.insight.calibrated_plan import with_calibrated
from middlecut.insight.draws import Beliefs, deviates, known_still, vary
from middlecut.insight.influence import influences
from middlecut.insight.narrow_extraction import median_scenario, with_measured
from middlecut.insight.numbers import Layout, bands_of, layout_of, read_curves, read_numbers
from middlecut.insight.uncertainty import (
    UncertainInput,
    uncertain_inputs,
    with_spreads,
)
from middlecut.insight.workers import cores, in_chunks
from middlecut.plan.predict import conclude, walk
from middlecut.plan.predict import predict as predict_once
from middlecut.plan.prediction import Ensemble, Failure, Prediction, Shortfall
from middlecut.steps.result import Caution
from middlecut.steps.scenario import NOMINAL

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from middlecut.insight.calibrated import CalibratedStill
    from middlecut.insight.narrow import NarrowedCompound
    from middlecut.insight.narrow_extraction import NarrowedExtraction
    from middlecut.plan.model import Plan

    Array = NDArray[np.float64]
    Small = NDArray[np.float32]

__all__ = ["MOST_DRAWS", "predict", "predict_bands"]

MOST_DRAWS = 100_000
MOST_NUMBERS = 250_000_000
"""Numbers of all draws together that are kept: 2 GB."""
CURVE_DRAWS = 2000
"""Draws whose whole curves are kept; their bands rest on these, which is plenty."""
FAILING_SHARE = 0.05
"""Share of failed draws above which the bands call for a caution."""


_NO_CURVES = np.empty((0, 0), dtype=np.float32)


@dataclass(frozen=True, slots=True, eq=False)
class _Chunk:
    """What some draws gave, in their order; failures as (place, sentence) by draw."""

    first: int
    values: Array
    curves: Small
    failures: tuple[tuple[int, str, str], ...]
    shortfalls: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Job:
    """Everything a worker needs to carry out any of the draws."""

    plan: Plan
    beliefs: Beliefs
    layout: Layout
    rows: Array

    def run(self, first: int, last: int) -> _Chunk:
        """Carry out the draws from first up to but without last.

        The search for cyclic garbage pauses: with everything numba keeps in memory it costs as much
        as the draws, which make none.
        """
        searching = gc.isenabled()
        gc.disable()
        try:
            return self._run(first, last)
        finally:
            if searching:
                gc.enable()

    def _run(self, first: int, last: int) -> _Chunk:
        count = last - first
        values = np.full((count, len(self.layout.names)), np.nan)
        kept = max(min(last, CURVE_DRAWS) - first, 0)
        curves = np.full((kept, self.layout.curve_size), np.nan, dtype=np.float32)
        failures: list[tuple[int, str, str]] = []
        shortfalls: list[tuple[str, float]] = []
        for at in range(count):
            try:
                plan, scenario = vary(self.plan, self.beliefs, self.rows[first + at])
                done = walk(plan, scenario)
            except (PlanError, ConvergenceError, InputError) as error:
                failures.append((first + at, *_reason(error)))
                continue
            values[at] = read_numbers(self.layout, plan, done)
            if at < kept:
                curves[at] = read_curves(self.layout, done)
            shortfalls += done.pool.shortfalls.items()
        return _Chunk(first, values, curves, tuple(failures), tuple(shortfalls))


def predict(plan: Plan, draws: int = 0, seed: int = 0) -> Prediction:
    """Predict what every step of a plan will do, with bands if draws are asked for.

    Parameters
    ----------
    plan : Plan
        As :func:`middlecut.load_plan` returns it.
    draws : int
        Number of random draws for the bands; 0 for none, 500 for good ones.
    seed : int
        Seed of the draws, 0 or more; the same seed gives the same bands.

    Returns
    -------
    Prediction
        The plan as it stands; with draws, lots, cuts, jars and curves carry a ``band``, figures
        and amounts their low and high, totals ``bands``, and ``ensemble`` says what is behind them.

    Raises
    ------
    PlanError
        If a step cannot be done with what is left by then; names the step and the remedy.
    BalanceError
        If an account does not close, which is a fault of middlecut.
    InputError
        If draws or seed are no usable numbers.

    Notes
    -----
    See :func:`middlecut.predict_bands` for what is drawn and for what can be set.
    """
    _check(draws, seed)
    return predict_bands(plan, draws, seed) if draws else predict_once(plan)


def predict_bands(
    plan: Plan,
    draws: int = 500,
    seed: int = 0,
    *,
    spreads: Mapping[str, float] | None = None,
    calibrated: Mapping[str, CalibratedStill] | None = None,
    narrowed: Iterable[NarrowedCompound | NarrowedExtraction] = (),
    workers: int | None = None,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Prediction:
    """Predict a plan with the band of every number.

    The plan is carried out once as it stands and once per draw with other stills, measures,
    contents and volatilities (:func:`middlecut.insight.uncertainty.uncertain_inputs`), a Latin
    hypercube of them.

    Parameters
    ----------
    plan : Plan
        As :func:`middlecut.load_plan` returns it.
    draws : int
        2 to 100 000.
    seed : int
        0 or more. The same seed gives the same bands, whatever the number of workers.
    spreads : mapping of str to float, optional
        Half-widths of the 5–95 % range of some inputs, by key, where you know better: a share for
        factors, SI for offsets.
    calibrated : mapping of str to CalibratedStill, optional
        Stills that readings have narrowed, by their name in the plan. They replace the plan's
        description, and their parameters vary together as the readings allow.
    narrowed : iterable of (NarrowedCompound or NarrowedExtraction), optional
        What laboratory results have narrowed, as :func:`middlecut.narrow_volatility` and
        :func:`middlecut.narrow_extraction` return it. The prediction takes the median of what was
        found and the bands its spread; what was found of the content of a charge belongs to that
        charge and is not taken over.
    workers : int, optional
        How many to work at once; as many as there are cores when left out. 1 works in this
        process alone.
    progress : callable, optional
        Called with draws done and draws asked for, now and then.
    cancelled : callable, optional
        Asked now and then; when it returns True the work stops.

    Returns
    -------
    Prediction
        As :func:`predict` returns it.

    Raises
    ------
    PlanError
        If the plan as it stands cannot be carried out.
    InputError
        If an argument is no usable number, or hardly any draw could be carried to the end.
    NotFoundError
        If a spread or a calibrated still is for something the plan does not have.
    CancelledError
        If the work was cancelled; nothing of it is kept.

    Notes
    -----
    A draw that cannot be carried to the end (a cut that never comes) is left out of the bands, and
    counted and explained in ``ensemble.failures``; above 5 % of them a caution is added. A step
    that asks for more of a lot than a draw made takes what there is (``ensemble.shortfalls``).
    Draws use a looser tolerance of the integrator, harmless beside the width of the bands. Curves
    are kept of the first 2000 draws.
    """
    _check(draws, seed)
    if draws < 2:
        raise InputError("draws", draws, "bands need at least 2 draws", "500 draws are good ones.")
    if workers is not None and (type(workers) is not int or workers < 1):
        raise InputError("workers", workers, "a whole number of 1 or more")
    stills = calibrated or {}
    for name, still in stills.items():
        plan = with_calibrated(plan, still, name)
    measured = tuple(narrowed)
    nominal = walk(plan, median_scenario(measured) if measured else NOMINAL)
    prediction = conclude(plan, nominal)
    beliefs = _beliefs(plan, prediction, spreads or {}, stills, measured)
    layout = layout_of(nominal)
    _check_size(draws, layout)
    rows = deviates(beliefs.inputs, draws, seed)
    job = _Job(plan, beliefs, layout, rows)
    values, curves, chunks = _gather(job, workers or cores(), progress, cancelled)
    failures = tuple(row for chunk in chunks for row in chunk.failures)
    used = draws - len(failures)
    if used < 2:
        place, sentence = failures[0][1], failures[0][2]
        raise InputError(
            place, f"{used} of {draws} draws", f"hardly any draw reached the end: {sentence}"
        )
    ensemble = Ensemble(
        draws=draws,
        used=used,
        seed=seed,
        failures=_failures(failures),
        shortfalls=_shortfalls(chunks),
        influences=influences(plan, beliefs.inputs, rows, layout.names, values),
        names=layout.names,
        values=values,
    )
    found = with_bands(prediction, layout, bands_of(layout, values), curves)
    return replace(found, ensemble=ensemble, cautions=(*found.cautions, *_cautions(ensemble)))


def _check(draws: object, seed: object) -> None:
    if type(draws) is not int or not 0 <= draws <= MOST_DRAWS:
        raise InputError(
            "draws", draws, f"a whole number from 0 to {MOST_DRAWS}", "500 draws are good ones."
        )
    if type(seed) is not int or seed < 0:
        raise InputError("seed", seed, "a whole number of 0 or more", "Leave it at 0.")


def _check_size(draws: int, layout: Layout) -> None:
    most = MOST_NUMBERS // len(layout.names)
    if draws > most:
        raise InputError(
            "draws",
            draws,
            f"the {len(layout.names)} numbers of this plan are kept for at most {most} draws",
            "A few thousand draws are plenty for 5 and 95 % points.",
        )


def _beliefs(
    plan: Plan,
    prediction: Prediction,
    spreads: Mapping[str, float],
    stills: Mapping[str, CalibratedStill],
    measured: tuple[NarrowedCompound | NarrowedExtraction, ...],
) -> Beliefs:
    compounds = dict.fromkeys(c for lot in prediction.lots.values() for c in lot.amounts)
    found = with_measured(uncertain_inputs(plan, compounds), measured)
    inputs = {one.key: one for one in found}
    known = {name: known_still(one) for name, one in stills.items()}
    for name, still in known.items():
        for quantity in still.names:
            key = f"still.{name}.{quantity}"
            label = f"{quantity.replace('_', ' ')} of {name} as calibrated"
            inputs[key] = UncertainInput(
                key, label, "offset", 0.0, 0.0, "read", "readings of its runs"
            )
    return Beliefs(with_spreads(tuple(inputs.values()), spreads), known)


def _reason(error: PlanError | ConvergenceError | InputError) -> tuple[str, str]:
    if isinstance(error, PlanError) and error.problems:
        problem = error.problems[0]
        return (
            problem.key,
            f"{problem.value}: {problem.message}" if problem.value else problem.message,
        )
    if isinstance(error, InputError):
        return error.field, str(error)
    return "integration", str(error)


def _gather(
    job: _Job,
    workers: int,
    progress: Callable[[int, int], None] | None,
    cancelled: Callable[[], bool] | None,
) -> tuple[Array, Small, list[_Chunk]]:
    draws = len(job.rows)
    values = np.full((draws, len(job.layout.names)), np.nan)
    kept = min(draws, CURVE_DRAWS)
    curves = np.full((kept, job.layout.curve_size), np.nan, dtype=np.float32)
    chunks: list[_Chunk] = []
    done = 0
    for chunk in in_chunks(job.run, draws, workers=min(workers, draws), cancelled=cancelled):
        values[chunk.first : chunk.first + len(chunk.values)] = chunk.values
        curves[chunk.first : chunk.first + len(chunk.curves)] = chunk.curves
        chunks.append(replace(chunk, values=np.empty((0, 0)), curves=_NO_CURVES))
        done += len(chunk.values)
        if progress is not None:
            progress(done, draws)
    chunks.sort(key=lambda chunk: chunk.first)
    return values, curves, chunks


def _failures(rows: tuple[tuple[int, str, str], ...]) -> tuple[Failure, ...]:
    counts = Counter(key for _, key, _ in rows)
    examples: dict[str, str] = {}
    for _, key, sentence in rows:
        examples.setdefault(key, sentence)
    return tuple(Failure(key, count, examples[key]) for key, count in counts.most_common())


def _shortfalls(chunks: list[_Chunk]) -> tuple[Shortfall, ...]:
    missing: dict[str, list[float]] = {}
    for chunk in chunks:
        for lot, share in chunk.shortfalls:
            missing.setdefault(lot, []).append(share)
    ordered = sorted(missing.items(), key=lambda row: (-len(row[1]), row[0]))
    return tuple(Shortfall(lot, len(shares), median(shares)) for lot, shares in ordered)


def _cautions(ensemble: Ensemble) -> tuple[Caution, ...]:
    failed = ensemble.draws - ensemble.used
    share = failed / ensemble.draws
    if share <= FAILING_SHARE:
        return ()
    first = ensemble.failures[0]
    text = (
        f"{failed} of {ensemble.draws} draws ({share * 100:.0f} %) could not be carried to the "
        f"end, most often at {first.key} ({first.count} times): {first.example} The ranges leave "
        "them out and are too narrow; give this step more room."
    )
    return (Caution("draws-fail", "watch", text, share, FAILING_SHARE, "1", "own limit"),)
