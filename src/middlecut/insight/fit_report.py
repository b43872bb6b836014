# SPDX-License-Identifier: MIT
"""How far readings lie from a description, quantity by quantity, before a fit and after it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from middlecut.insight.calibrate import expected
from middlecut.insight.readings import QUANTITIES, true_value

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from middlecut.insight.calibrated import CalibratedStill
    from middlecut.insight.fermentation import FermentationCourse
    from middlecut.insight.still_model import LoggedRun

    Array = NDArray[np.float64]

__all__ = ["QuantityFit", "course_by_quantity", "fit_by_quantity", "scatter"]


@dataclass(frozen=True, slots=True)
class QuantityFit:
    """How well the readings of one quantity are met.

    Parameters
    ----------
    quantity : str
        As the readings name it.
    dimension : str
        As :mod:`middlecut.units` names it.
    readings : int
        How many there are.
    before, after : float
        Root of the mean square distance from the description and from the fit. [SI]
    uncertainty : float
        Root of the mean square uncertainty of these readings. [SI]
    scatter_before, scatter_after : float
        The distances with each reading measured by its own uncertainty; about 1 is right.
    """

    quantity: str
    dimension: str
    readings: int
    before: float
    after: float
    uncertainty: float
    scatter_before: float
    scatter_after: float


def fit_by_quantity(
    calibrated: CalibratedStill, runs: Sequence[LoggedRun]
) -> tuple[QuantityFit, ...]:
    """Return how well each quantity is met by the still as described and as fitted.

    Parameters
    ----------
    calibrated : CalibratedStill
        What was fitted to these runs.
    runs : sequence of LoggedRun
        In the order of the fit.

    Returns
    -------
    tuple of QuantityFit
        In the order in which the quantities were read first.

    Raises
    ------
    InputError, ConvergenceError
        If the still as described does not run at all.
    """
    readings = [reading for run in runs for reading in run.readings]
    observed = np.array([true_value(one) for one in readings])
    before = expected(calibrated.described, runs, {}) - observed
    after = np.array([one.expected - one.observed for one in calibrated.residuals])
    spread = np.array([one.spread for one in readings])
    return _by_quantity([one.quantity for one in readings], before, after, spread)


def course_by_quantity(course: FermentationCourse) -> tuple[QuantityFit, ...]:
    """Return how well the gravities are met by the plan and by the fitted course.

    Parameters
    ----------
    course : FermentationCourse
        What was fitted to the readings of a fermentation.

    Returns
    -------
    tuple of QuantityFit
        One, of gravity.
    """
    problem = course.fit.problem
    observed = np.asarray(problem.observed, dtype=float)
    planned = [at.value if at.prior is None else at.prior.mean for at in problem.parameters]
    before = np.asarray(problem.model(np.array(planned)), dtype=float) - observed
    after = course.fit.predicted - observed
    spread = np.broadcast_to(1.0 / np.asarray(problem.weight, dtype=float), observed.shape)
    return _by_quantity(["gravity"] * len(observed), before, after, spread)


def _by_quantity(
    names: Sequence[str], before: Array, after: Array, spread: Array
) -> tuple[QuantityFit, ...]:
    found = []
    for name in dict.fromkeys(names):
        chosen = np.array([other == name for other in names])
        found.append(
            QuantityFit(
                quantity=name,
                dimension=QUANTITIES[name].dimension,
                readings=int(chosen.sum()),
                before=_root_mean_square(before[chosen]),
                after=_root_mean_square(after[chosen]),
                uncertainty=_root_mean_square(spread[chosen]),
                scatter_before=_root_mean_square((before / spread)[chosen]),
                scatter_after=_root_mean_square((after / spread)[chosen]),
            )
        )
    return tuple(found)


def _root_mean_square(values: Array) -> float:
    return float(np.sqrt(np.mean(np.square(values))))


def scatter(fits: Sequence[QuantityFit]) -> tuple[float, float]:
    """Return how many uncertainties the readings lie away, before the fit and after it.

    Parameters
    ----------
    fits : sequence of QuantityFit
        At least one.

    Returns
    -------
    before, after : float
        Root of the mean square over all readings; as a ratio.
    """
    count = sum(one.readings for one in fits)
    before = sum(one.readings * one.scatter_before**2 for one in fits) / count
    after = sum(one.readings * one.scatter_after**2 for one in fits) / count
    return before**0.5, after**0.5
