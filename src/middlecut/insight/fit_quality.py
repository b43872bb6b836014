# SPDX-License-Identifier: MIT
"""Judge a fit: what the readings cannot tell, and whether the intervals may be believed."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from middlecut.insight.fit import Problem

    Array = NDArray[np.float64]

__all__ = ["ALIKE", "BENT", "SURPRISE", "UNINFORMED", "Quality", "judge"]

ALIKE = 0.95
"""Two parameters correlated more than this cannot be told apart; our choice."""
UNINFORMED = 0.8
"""A parameter whose deviation is still this share of its prior's was not informed; our choice."""
SURPRISE = 1e-3
"""Probability below which the scatter is called larger than the uncertainties allow; our choice."""
REACH = 1.645
"""Standard errors to both sides that a 90 % interval goes."""
BENT = "not symmetric enough"
"""Words of the reason that a profile answers."""
PROFILE = "calibrate --profile finds it otherwise"
"""What answers it for a still."""
BEND = 2.0
"""Factor by which the sum of squares at its ends may miss that of a straight model; our choice."""


@dataclass(frozen=True, slots=True, eq=False)
class Quality:
    """The verdict on a fit.

    Parameters
    ----------
    correlation : ndarray
    undetermined : tuple of str
    inseparable : tuple of (str, str, float)
    reasons : tuple of str
        Why not to trust the intervals; empty: trust them.
    """

    correlation: Array
    undetermined: tuple[str, ...]
    inseparable: tuple[tuple[str, str, float], ...]
    reasons: tuple[str, ...]


def judge(
    *,
    problem: Problem,
    inner: Array,
    slopes: Array,
    covariance: Array,
    weighted: Array,
    converged: bool,
) -> Quality:
    """Judge a fit.

    Parameters
    ----------
    problem : Problem
        What was solved.
    inner : ndarray
        The estimates, on the scales of the fit.
    slopes : ndarray
        Derivatives of the weighted residuals of the readings, on the scales of the fit.
    covariance : ndarray
        On the scales of the fit.
    weighted : ndarray
        Weighted residuals, priors last.
    converged : bool
        Whether the search ended at a minimum.

    Returns
    -------
    Quality
        The verdict.
    """
    spread = np.sqrt(np.diag(covariance))
    correlation = covariance / np.outer(spread, spread)
    names = [one.name for one in problem.parameters]
    undetermined = _undetermined(problem, slopes, spread)
    inseparable = tuple(
        (names[i], names[j], float(correlation[i, j]))
        for i in range(len(names))
        for j in range(i + 1, len(names))
        if abs(correlation[i, j]) > ALIKE
    )
    reasons = []
    if not converged:
        reasons.append("The search stopped before it reached a minimum.")
    reasons += [
        f"{one.name} ended at its bound, {one.outer(float(at)):.4g}."
        for one, at in zip(problem.parameters, inner, strict=True)
        if _at_bound(float(at), one.inner(one.low), one.inner(one.high))
    ]
    lost = [one.name for one in problem.parameters if one.name in undetermined and not one.prior]
    if lost:
        reasons.append(f"No reading depends on {', '.join(lost)}, and nothing else is known of it.")
    freedom = len(weighted) - len(names)
    noise = 1.0
    if problem.uncertainty is None:
        noise = float(weighted @ weighted) / max(freedom, 1)
    else:
        reasons += _surprise(weighted, freedom)
    bent = [] if reasons else _bent(problem, inner, covariance, noise)
    if bent:
        reasons.append(
            f"The interval of {', '.join(bent)} is {BENT} for a standard error; {PROFILE}."
        )
    return Quality(correlation, undetermined, inseparable, tuple(reasons))


def _undetermined(problem: Problem, slopes: Array, spread: Array) -> tuple[str, ...]:
    """Name parameters that the readings leave as they were, or that no reading depends on."""
    found = []
    for index, one in enumerate(problem.parameters):
        silent = not np.linalg.norm(slopes[:, index]) > 0.0
        if one.prior is not None:
            silent |= spread[index] > UNINFORMED * one.prior.deviation
        if silent:
            found.append(one.name)
    return tuple(found)


def _at_bound(at: float, low: float, high: float) -> bool:
    def near(bound: float) -> bool:
        return math.isfinite(bound) and abs(at - bound) <= 1e-6 * max(abs(bound), 1.0)

    return near(low) or near(high) or not math.isfinite(at)


def _bent(problem: Problem, inner: Array, covariance: Array, noise: float) -> list[str]:
    """Name parameters along whose interval the sum of squares does not rise as a parabola."""
    here = problem.residuals(inner)
    least, wanted = float(here @ here), noise * REACH**2
    found = []
    for index, one in enumerate(problem.parameters):
        way = REACH * covariance[:, index] / math.sqrt(float(covariance[index, index]))
        for there in (inner + way, inner - way):
            outside = any(
                not part.inner(part.low) <= at <= part.inner(part.high)
                for part, at in zip(problem.parameters, there, strict=True)
            )
            with np.errstate(all="ignore"):
                rise = math.nan if outside else float(np.sum(problem.residuals(there) ** 2)) - least
            if not wanted / BEND < rise < wanted * BEND:
                found.append(one.name)
                break
    return found


def _surprise(weighted: Array, freedom: int) -> list[str]:
    from scipy.special import chdtrc  # noqa: PLC0415 - only a fit needs it

    if freedom <= 0:
        return ["There are no readings to spare that could contradict the fit."]
    total = float(weighted @ weighted)
    chance = float(chdtrc(freedom, total))
    if chance >= SURPRISE:
        return []
    times = math.sqrt(total / freedom)
    text = (
        f"The readings scatter {times:.1f} times as much as their uncertainties allow: "
        "the model leaves something out, or a reading is wrong."
    )
    return [text]
