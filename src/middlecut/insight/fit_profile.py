# SPDX-License-Identifier: MIT
"""Intervals by profile likelihood: no straight-line assumption, at the price of more fits."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from middlecut.errors import ConvergenceError, InputError
from middlecut.insight.fit import Fit, Parameter, Problem, fit_parameters

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["profile_interval"]

WIDENINGS = 40


def profile_interval(fit: Fit, name: str, level: float = 0.9) -> tuple[float, float]:
    """Return the interval of a parameter by profile likelihood.

    The parameter is held at a value while all others are fitted again; the interval ends where the
    sum of squares has risen by the quantile of chi-squared (uncertainties known) or of F.

    Parameters
    ----------
    fit : Fit
        A finished fit.
    name : str
        Of the parameter.
    level : float
        Probability that the interval holds the true value, 0 to 1.

    Returns
    -------
    tuple of float
        Low and high; a bound of the parameter, or infinity, where the sum never rises enough.

    Raises
    ------
    InputError
        If the level is not between 0 and 1.
    ConvergenceError
        If a fit along the way fails.

    References
    ----------
    .. [1] :cite:t:`bates1988`, section 6.1.
    """
    if not 0.0 < level < 1.0:
        raise InputError("level", level, "a probability between 0 and 1 is needed")
    from scipy.special import chdtri, fdtri  # noqa: PLC0415 - only a fit needs it

    index = fit.names.index(name)
    problem = fit.problem
    best = problem.residuals(fit.inner_values)
    least = float(best @ best)
    if problem.uncertainty is not None:
        limit = least + float(chdtri(1, 1.0 - level))
    else:
        freedom = fit.degrees_of_freedom
        limit = least * (1.0 + float(fdtri(1, freedom, level)) / freedom)
    one = problem.parameters[index]
    middle = float(fit.inner_values[index])
    width = math.sqrt(float(fit.inner_covariance[index, index]))

    def rise(at: float) -> float:
        return _held(fit, index, at) - limit

    low = _end(rise, middle, -width, one.inner(one.low))
    high = _end(rise, middle, width, one.inner(one.high))
    return one.outer(low), one.outer(high)


def _held(fit: Fit, index: int, at: float) -> float:
    """Return the least sum of squares with one parameter held."""
    problem = fit.problem
    held = problem.parameters[index]
    others = [i for i in range(len(problem.parameters)) if i != index]
    value = held.outer(at)

    def full(values: Array) -> Array:
        return np.insert(values, index, value)

    extra = 0.0
    if held.prior is not None:
        extra = ((at - held.inner(held.prior.mean)) / held.prior.deviation) ** 2
    if not others:
        left = problem.data_residuals(np.array([at]))
        return float(left @ left) + extra
    # Start from where the straight line through the fit would lead.
    covariance = fit.inner_covariance
    moved = fit.inner_values + covariance[:, index] / covariance[index, index] * (
        at - fit.inner_values[index]
    )
    parameters = [_started(problem, i, float(moved[i])) for i in others]
    jacobian = problem.jacobian
    if callable(jacobian):
        whole = jacobian

        def part(values: Array) -> Array:
            return np.delete(whole(full(values)), index, axis=1)

        jacobian = part
    found = fit_parameters(
        lambda values: problem.model(full(values)),
        problem.observed,
        parameters,
        uncertainty=problem.uncertainty,
        jacobian=jacobian,
        tolerance=1e-10,
    )
    left = found.problem.residuals(found.inner_values)
    return float(left @ left) + extra


def _started(problem: Problem, index: int, at: float) -> Parameter:
    one = problem.parameters[index]
    return replace(one, value=min(max(one.outer(at), one.low), one.high))


def _end(rise: Callable[[float], float], middle: float, width: float, bound: float) -> float:
    """Step outwards until the limit is passed, then close in."""
    from scipy.optimize import brentq  # noqa: PLC0415 - only a fit needs it

    inside, reach = middle, width
    for _ in range(WIDENINGS):
        outside = middle + reach
        if (outside - bound) * width >= 0.0:
            if not math.isfinite(bound) or rise(bound) <= 0.0:
                return bound
            outside = bound
        if rise(outside) > 0.0:
            return float(brentq(rise, inside, outside, xtol=1e-9 * abs(width), rtol=1e-12))
        inside, reach = outside, 1.6 * reach
    raise ConvergenceError("The search for the end of a profile", WIDENINGS, abs(reach))
