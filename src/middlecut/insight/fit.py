# SPDX-License-Identifier: MIT
"""Fit parameters to readings by least squares, and say honestly what the fit knows.

A thin layer over :func:`scipy.optimize.least_squares`: names, transforms, priors, weights,
covariance, and the question which parameters the data cannot tell apart.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from middlecut.errors import ConvergenceError, InputError
from middlecut.insight.fit_problem import Parameter, Prior, Problem
from middlecut.insight.fit_quality import Quality, judge

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["Fit", "Parameter", "Prior", "Problem", "fit_parameters"]

TOLERANCE = 1e-14
"""Relative tolerance asked of the optimiser; just above what doubles can tell."""
POLISH = 6
"""Gauss-Newton steps after the optimiser, at most."""
RELATIVE_OFFSET = 1e-3
"""Convergence test of Bates and Watts: the part of the residuals that the parameters could still
explain, over the part they cannot."""


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """Fitted parameters and all that is known about how well.

    Parameters
    ----------
    names : tuple of str
    values : ndarray
        Estimates, in the unit of each parameter.
    standard_errors : ndarray
        In the unit of each parameter, by linearisation.
    inner_values, inner_covariance : ndarray
        Estimates and covariance on the scales of the fit (logarithms where so chosen).
    covariance, correlation : ndarray
        In the units of the parameters; correlation on the scales of the fit.
    residuals : ndarray
        Reading minus model.
    predicted : ndarray
        Model at the estimates.
    sum_of_squares : float
        Of the weighted residuals of the readings.
    degrees_of_freedom : int
        Readings plus priors less parameters.
    residual_deviation : float
        Root of the sum of squares (priors included) over the degrees of freedom; about 1 when the
        uncertainties of the readings are right.
    undetermined : tuple of str
        Parameters about which the readings say next to nothing.
    inseparable : tuple of (str, str, float)
        Pairs the readings cannot tell apart, with their correlation.
    trustworthy : bool
        Whether the intervals may be believed.
    reasons : tuple of str
        Why not, as sentences.
    evaluations : int
        Calls of the model for residuals, a stable measure of cost.
    problem : Problem
        What was solved.
    """

    names: tuple[str, ...]
    values: Array
    standard_errors: Array
    inner_values: Array
    inner_covariance: Array
    covariance: Array
    correlation: Array
    residuals: Array
    predicted: Array
    sum_of_squares: float
    degrees_of_freedom: int
    residual_deviation: float
    undetermined: tuple[str, ...]
    inseparable: tuple[tuple[str, str, float], ...]
    trustworthy: bool
    reasons: tuple[str, ...]
    evaluations: int
    problem: Problem = field(repr=False)

    def value(self, name: str) -> float:
        """Return the estimate of one parameter."""
        return float(self.values[self.names.index(name)])

    def interval(self, name: str, level: float = 0.9) -> tuple[float, float]:
        """Return the interval of one parameter by linearisation on its own scale.

        Parameters
        ----------
        name : str
            Of the parameter.
        level : float
            Probability that it holds the true value, 0 to 1.

        Returns
        -------
        tuple of float
            Low and high, inside the bounds of the parameter.

        Raises
        ------
        InputError
            If the level is not between 0 and 1.
        """
        if not 0.0 < level < 1.0:
            raise InputError("level", level, "a probability between 0 and 1 is needed")
        from scipy.special import ndtri, stdtrit  # noqa: PLC0415 - only a fit needs it

        index = self.names.index(name)
        tail = 0.5 + 0.5 * level
        known = self.problem.uncertainty is not None
        reach = ndtri(tail) if known else stdtrit(max(self.degrees_of_freedom, 1), tail)
        half = float(reach) * math.sqrt(float(self.inner_covariance[index, index]))
        one, middle = self.problem.parameters[index], float(self.inner_values[index])
        low, high = one.outer(middle - half), one.outer(middle + half)
        return max(low, one.low), min(high, one.high)


def fit_parameters(
    model: Callable[[Any], Any],
    observed: NDArray[np.floating],
    parameters: Sequence[Parameter],
    *,
    uncertainty: Array | None = None,
    jacobian: Literal["central", "complex"] | Callable[[Array], Array] = "central",
    thorough: bool = False,
    tolerance: float = TOLERANCE,
    offset_limit: float = RELATIVE_OFFSET,
) -> Fit:
    """Fit parameters by weighted least squares, priors included.

    Parameters
    ----------
    model : callable
        Takes the values of the parameters in order, returns what each reading should be.
    observed : ndarray
        The readings; extended precision is kept for the differences.
    parameters : sequence of Parameter
        What to fit.
    uncertainty : ndarray or None
        Standard deviation of each reading, in its unit; None: alike and estimated from the scatter.
    jacobian : {"central", "complex"} or callable
        How derivatives are had.
    thorough : bool
        Whether to try several methods and keep the best; for hard starts.
    tolerance : float
        Relative tolerance of the search, as a fraction.
    offset_limit : float
        Relative offset below which the search has arrived, as a fraction; wider for a noisy model.
        Relative to the scatter, or to the stated uncertainties where the scatter is smaller.

    Returns
    -------
    Fit
        Estimates, errors, residuals, and whether to trust them.

    Raises
    ------
    InputError
        If there are too few readings, or an uncertainty is not above 0, or priors are given
        without uncertainties.
    ConvergenceError
        If no start leads to a finite fit.

    Notes
    -----
    Covariance by linearisation at the solution; a profile does without that. Leaves out outliers:
    one wild reading pulls the fit, and shows as such.

    References
    ----------
    .. [1] :cite:t:`bates1988`, chapters 2 and 6 (relative offset, profiles).
    """
    chosen = tuple(parameters)
    _check(observed, chosen, uncertainty)
    problem = Problem(model, observed, uncertainty, chosen, jacobian)
    inner, evaluations = _search(problem, thorough=thorough, tolerance=tolerance)
    inner, offset = _polish(problem, inner, offset_limit)
    return _report(problem, inner, evaluations, converged=offset < offset_limit)


def _check(
    observed: NDArray[np.floating], parameters: tuple[Parameter, ...], uncertainty: Array | None
) -> None:
    priors = sum(one.prior is not None for one in parameters)
    if not np.isfinite(np.asarray(observed, dtype=float)).all():
        raise InputError("observed", "not a number", "every reading is a finite number")
    if uncertainty is None:
        if priors:
            raise InputError(
                "uncertainty", None, "priors weigh against readings of known uncertainty",
                "Give the standard deviation of each reading.",
            )  # fmt: skip
        if len(observed) <= len(parameters):
            names = ", ".join(one.name for one in parameters)
            raise InputError(
                "readings",
                len(observed),
                f"{len(parameters)} parameters ({names}) need at least {len(parameters) + 1}",
                "Take more readings, or fit fewer parameters.",
            )
    elif np.shape(uncertainty) != np.shape(observed) or not (np.asarray(uncertainty) > 0.0).all():
        raise InputError("uncertainty", "", "each reading needs one above 0")
    elif len(observed) + priors < len(parameters) or len(observed) == 0:
        raise InputError(
            "readings",
            len(observed),
            f"{len(parameters) - priors} parameters have no prior and need as many readings",
            "Take more readings, or say what is known of the parameters beforehand.",
        )


def _search(problem: Problem, *, thorough: bool, tolerance: float) -> tuple[Array, int]:
    from scipy.optimize import least_squares  # noqa: PLC0415 - a heavy import only a fit needs

    start = np.array([one.inner(one.value) for one in problem.parameters])
    low = np.array([one.inner(one.low) for one in problem.parameters])
    high = np.array([one.inner(one.high) for one in problem.parameters])
    bounded = bool(np.isfinite(low).any() or np.isfinite(high).any())
    methods: list[Literal["lm", "trf", "dogbox"]] = ["trf", "dogbox"]
    if not bounded:
        methods.insert(0, "lm")
    best: Array | None = None
    cost, evaluations = math.inf, 0
    for method in methods if thorough else methods[:1]:
        with np.errstate(all="ignore"):
            try:
                found = least_squares(
                    problem.residuals,
                    start,
                    problem.finite_slopes,
                    bounds=(low, high),
                    method=method,
                    x_scale="jac",
                    ftol=tolerance,
                    xtol=tolerance,
                    gtol=tolerance,
                    max_nfev=2000,
                )
            except (ValueError, np.linalg.LinAlgError, OverflowError):
                continue
        evaluations += int(found.nfev)
        if math.isfinite(found.cost) and found.cost < cost * (1.0 - 1e-9):
            best, cost = np.asarray(found.x), float(found.cost)
    if best is None:
        raise ConvergenceError("The search for the best parameters", evaluations, math.inf)
    return best, evaluations


def _polish(problem: Problem, inner: Array, limit: float) -> tuple[Array, float]:
    """Take Gauss-Newton steps while they help; return the point and its relative offset."""
    free = np.array([one.low < one.outer(float(at)) < one.high
                     for one, at in zip(problem.parameters, inner, strict=True)])  # fmt: skip
    offset = math.inf
    with np.errstate(all="ignore"):
        here = problem.residuals(inner)
        for _ in range(POLISH):
            slopes = problem.slopes(inner)[:, free]
            if not np.isfinite(slopes).all():
                break
            scale = np.linalg.norm(slopes, axis=0)
            scale[scale == 0.0] = 1.0
            basis, triangle = np.linalg.qr(slopes / scale)
            part = basis.T @ here
            rest = float(np.linalg.norm(here - basis @ part))
            room = max(len(here) - int(free.sum()), 1)
            scatter = rest * math.sqrt(1.0 / room)
            if problem.uncertainty is not None:
                scatter = max(scatter, 1.0)  # readings that fit better than they can say nothing
            offset = float(np.linalg.norm(part)) / max(scatter, 1e-300)
            if offset < limit and limit > RELATIVE_OFFSET:
                break  # a noisy model has nothing finer to give
            step = np.zeros_like(inner)
            step[free] = -np.linalg.lstsq(triangle, part, rcond=None)[0] / scale
            there = problem.residuals(inner + step)
            outside = any(
                not one.low <= one.outer(float(at)) <= one.high
                for one, at in zip(problem.parameters, inner + step, strict=True)
            )
            if outside or not float(there @ there) < float(here @ here):
                break
            inner, here = inner + step, there
    return inner, offset


def _report(problem: Problem, inner: Array, evaluations: int, *, converged: bool) -> Fit:
    values = problem.values(inner)
    difference = problem.model(values) - problem.observed
    weighted = problem.residuals(inner)
    count = len(problem.observed)
    freedom = len(weighted) - len(inner)
    deviation = math.sqrt(float(weighted @ weighted) / freedom) if freedom > 0 else math.nan
    slopes = problem.slopes(inner)
    covariance = _inverse_of_normal(slopes)
    if problem.uncertainty is None:
        covariance = covariance * deviation**2
    outer = np.array(
        [one.slope(float(v)) for one, v in zip(problem.parameters, values, strict=True)]
    )
    spread = np.sqrt(np.diag(covariance))
    quality: Quality = judge(
        problem=problem,
        inner=inner,
        slopes=slopes[:count],
        covariance=covariance,
        weighted=weighted,
        converged=converged,
    )
    return Fit(
        names=tuple(one.name for one in problem.parameters),
        values=values,
        standard_errors=spread * np.abs(outer),
        inner_values=inner,
        inner_covariance=covariance,
        covariance=covariance * np.outer(outer, outer),
        correlation=quality.correlation,
        residuals=-np.asarray(difference.real, dtype=float),
        predicted=np.asarray(problem.model(values).real, dtype=float),
        sum_of_squares=float(weighted[:count] @ weighted[:count]),
        degrees_of_freedom=freedom,
        residual_deviation=deviation,
        undetermined=quality.undetermined,
        inseparable=quality.inseparable,
        trustworthy=not quality.reasons,
        reasons=quality.reasons,
        evaluations=evaluations,
        problem=problem,
    )


def _inverse_of_normal(slopes: Array) -> Array:
    """Return (JᵀJ)⁻¹ by the singular values of the scaled J; no squared condition number."""
    scale = np.linalg.norm(slopes, axis=0)
    scale[scale == 0.0] = 1.0
    _, singular, right = np.linalg.svd(slopes / scale, full_matrices=False)
    floor = singular[0] * np.finfo(float).eps * max(slopes.shape)
    shrunk = right.T / np.maximum(singular, floor)
    return np.asarray(shrunk @ shrunk.T / np.outer(scale, scale))
