# SPDX-License-Identifier: MIT
"""What readings make of a cloud of runs: a smooth stand-in for the model, and the best fit in it.

The model is run for a cloud of stills drawn from what is known beforehand. A quadratic through the
cloud stands in for it; the readings then give the most likely still and its covariance (Gauss and
Newton on the stand-in, priors included). A second, small cloud around that point corrects the
stand-in where it counts.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["Evidence", "Posterior", "StandIn", "fit_stand_in", "solve"]

RIDGE = 1e-3
"""Pull of the coefficients to 0, against columns that hardly vary in the cloud."""
ROUNDS = 12
FURTHEST = 3.5
"""Deviations beyond which a stand-in is not trusted; the search stops there."""


@dataclass(frozen=True, slots=True, eq=False)
class StandIn:
    """A quadratic of the deviations, with a linear correction around a centre.

    Parameters
    ----------
    physical : tuple of int
        Columns that enter by products too; all enter by themselves and squared.
    coefficients : ndarray, shape (features, outputs)
    centre : ndarray, shape (parameters,)
    correction : ndarray, shape (parameters + 1, outputs)
        In deviations from the centre.
    scatter : ndarray, shape (outputs,)
        Standard deviation of what it leaves unexplained.
    """

    physical: tuple[int, ...]
    coefficients: Array
    centre: Array
    correction: Array
    scatter: Array

    def at(self, q: Array) -> Array:
        """Return the outputs at rows of deviations."""
        rows = np.atleast_2d(q)
        moved = _linear(rows - self.centre)
        return np.asarray(
            _features(rows, self.physical) @ self.coefficients + moved @ self.correction
        )

    def slopes(self, q: Array) -> Array:
        """Return the derivatives at one row, shape (outputs, parameters)."""
        step = 1e-3
        rows = np.vstack([q + step * np.eye(len(q)), q - step * np.eye(len(q))])
        values = self.at(rows)
        return np.asarray((values[: len(q)] - values[len(q) :]).T / (2.0 * step))


def _linear(rows: Array) -> Array:
    return np.hstack([np.ones((len(rows), 1)), rows])


def _features(rows: Array, physical: tuple[int, ...]) -> Array:
    products = [
        (rows[:, a] * rows[:, b])[:, np.newaxis]
        for n, a in enumerate(physical)
        for b in physical[n + 1 :]
    ]
    return np.hstack([_linear(rows), rows**2, *products])


def fit_stand_in(
    q: Array,
    values: Array,
    physical: tuple[int, ...],
    *,
    near: tuple[Array, Array] | None = None,
    centre: Array | None = None,
) -> StandIn:
    """Fit the stand-in to a cloud, and its correction to a second one.

    Parameters
    ----------
    q : ndarray, shape (n, parameters)
    values : ndarray, shape (n, outputs)
        NaN where a run has no such number.
    physical : tuple of int
        Columns that enter by products.
    near : tuple of ndarray, optional
        The same two of the second cloud.
    centre : ndarray, optional
        Of the second cloud.

    Returns
    -------
    StandIn
    """
    features = _features(q, physical)
    coefficients, scatter = _regression(features, values)
    size = q.shape[1]
    middle = np.zeros(size) if centre is None else centre
    correction = np.zeros((size + 1, values.shape[1]))
    if near is not None:
        beside = _linear(near[0] - middle)
        rest = near[1] - _features(near[0], physical) @ coefficients
        correction, scatter = _regression(beside, rest)
        # Far from home a quadratic through the first cloud may do worse than none.
        plain, alone = _regression(beside, near[1])
        better = alone < scatter
        coefficients[:, better] = 0.0
        correction[:, better] = plain[:, better]
        scatter = np.where(better, alone, scatter)
    return StandIn(physical, coefficients, middle, correction, scatter)


def _regression(features: Array, values: Array) -> tuple[Array, Array]:
    """Return coefficients and scatter, column by column where some numbers are missing."""
    coefficients = np.zeros((features.shape[1], values.shape[1]))
    scatter = np.zeros(values.shape[1])
    whole = np.isfinite(values).all(axis=0)
    groups = [(np.flatnonzero(whole), np.ones(len(features), dtype=bool))]
    groups += [(np.array([n]), np.isfinite(values[:, n])) for n in np.flatnonzero(~whole)]
    for columns, rows in groups:
        used = int(rows.sum())
        if len(columns) == 0 or used < 4:
            continue
        part, wanted = features[rows], values[np.ix_(rows, columns)]
        # A mean is never pulled; everything else a little, relative to the cloud.
        pull = RIDGE * used * np.eye(features.shape[1])
        pull[0, 0] = 0.0
        found = np.linalg.solve(part.T @ part + pull, part.T @ wanted)
        coefficients[:, columns] = found
        left = wanted - part @ found
        free = max(used - features.shape[1], 0.25 * used)
        scatter[columns] = np.sqrt((left**2).sum(axis=0) / free)
    return coefficients, scatter


@dataclass(frozen=True, slots=True, eq=False)
class Evidence:
    """Readings beside their stand-in.

    Parameters
    ----------
    model : StandIn
        One output per reading.
    observed, spread : ndarray, shape (readings,)
        In SI.
    precision : ndarray, shape (parameters, parameters)
        Inverse covariance of the deviations before any reading.
    extra : ndarray, shape (readings, instruments)
        Offset of further instruments per deviation, one column each.
    """

    model: StandIn
    observed: Array
    spread: Array
    precision: Array
    extra: Array


@dataclass(frozen=True, slots=True, eq=False)
class Posterior:
    """The most likely deviations and how far they may be off.

    Parameters
    ----------
    q : ndarray, shape (parameters + instruments,)
    covariance : ndarray
    slopes : ndarray, shape (readings, parameters + instruments)
        Derivatives of all readings at q.
    expected : ndarray, shape (readings,)
        What each should be there.
    widening : float
        Factor on the uncertainties of the readings, for they scatter more than they say; 1 or more.
    used : ndarray of bool, shape (readings,)
    """

    q: Array
    covariance: Array
    slopes: Array
    expected: Array
    widening: float
    used: NDArray[np.bool_] = field(repr=False)


def solve(evidence: Evidence, used: NDArray[np.bool_], *, widening: float = 1.0) -> Posterior:
    """Return the most likely deviations given the readings that are used.

    Parameters
    ----------
    evidence : Evidence
    used : ndarray of bool, shape (readings,)
    widening : float
        Factor on the uncertainties of the readings.

    Returns
    -------
    Posterior
    """
    own = evidence.precision.shape[0]
    further = evidence.extra.shape[1]
    precision = np.eye(own + further)
    precision[:own, :own] = evidence.precision
    weight = np.where(used, 1.0 / (widening * evidence.spread), 0.0)

    def model(q: Array) -> Array:
        return np.asarray(evidence.model.at(q[:own])[0] + evidence.extra @ q[own:])

    def cost(q: Array, values: Array) -> float:
        return float(np.sum(((values - evidence.observed) * weight) ** 2) + q @ precision @ q)

    q = np.zeros(own + further)
    values = model(q)
    for _ in range(ROUNDS):
        slopes = np.hstack([evidence.model.slopes(q[:own]), evidence.extra])
        steep = slopes * weight[:, np.newaxis]
        curve = precision + steep.T @ steep
        downhill = steep.T @ ((evidence.observed - values) * weight) - precision @ q
        step = np.linalg.solve(curve, downhill)
        largest = float(np.max(np.abs(step[:own]))) if own else 0.0
        length = min(1.0, 1.0 / max(largest, 1e-9))
        before = cost(q, values)
        while length > 1e-3:
            trial = np.clip(q + length * step, -FURTHEST, FURTHEST)
            there = model(trial)
            if cost(trial, there) <= before + 1e-12:
                break
            length *= 0.5
        else:
            break
        moved = float(np.max(np.abs(trial - q)))
        q, values = trial, there
        if moved < 1e-4:
            break
    slopes = np.hstack([evidence.model.slopes(q[:own]), evidence.extra])
    steep = slopes * weight[:, np.newaxis]
    covariance = np.linalg.inv(precision + steep.T @ steep)
    return Posterior(q, covariance, slopes, values, widening, used)
