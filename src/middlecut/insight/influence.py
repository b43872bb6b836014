# SPDX-License-Identifier: MIT
"""Which uncertain inputs move a predicted number most: what to measure next."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from middlecut.plan.prediction import Influence
from middlecut.steps.parameters import Distil

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from middlecut.insight.uncertainty import UncertainInput
    from middlecut.plan.model import Plan

    Array = NDArray[np.float64]

__all__ = ["influences", "rank_correlations"]

SHOWN = 3
"""Inputs named per number."""
WEAKEST = 0.2
"""Correlations below this are not worth acting on."""
CERTAIN = 3.5
"""Standard errors of a correlation of nothing, about 1/√n, that a real one has to exceed."""
_COMPOUNDS = ("methanol", "acetaldehyde", "ethyl acetate", "3-methyl-1-butanol")


def rank_correlations(inputs: Array, output: Array) -> Array:
    """Return Spearman's rank correlation of each input with one output.

    Parameters
    ----------
    inputs : ndarray, shape (draws, n)
        Deviates.
    output : ndarray, shape (draws,)
        NaN where a draw has none; such draws are left out.

    Returns
    -------
    ndarray, shape (n,)
        −1 to 1; 0 where the output does not vary.

    Examples
    --------
    >>> x = np.array([[0.1], [0.4], [0.2], [0.9]])
    >>> round(float(rank_correlations(x, np.array([1.0, 3.0, 2.0, 9.0]))[0]), 12)
    1.0
    """
    there = ~np.isnan(output)
    if np.count_nonzero(there) < 3:
        return np.zeros(inputs.shape[1])
    x = _centred(_ranks(inputs[there]))
    y = _centred(_ranks(output[there][:, np.newaxis]))[:, 0]
    scale = np.sqrt((x * x).sum(axis=0) * (y @ y))
    found: Array = np.divide(y @ x, scale, out=np.zeros(x.shape[1]), where=scale > 0.0)
    return found


def influences(
    plan: Plan,
    inputs: Sequence[UncertainInput],
    rows: Array,
    names: tuple[str, ...],
    values: Array,
) -> tuple[Influence, ...]:
    """Return the inputs that move the numbers a person cares for most.

    Parameters
    ----------
    plan : Plan
        To know which numbers those are.
    inputs : sequence of UncertainInput
        Columns of ``rows``.
    rows : ndarray, shape (draws, inputs)
        Deviates.
    names : tuple of str
        Columns of ``values``.
    values : ndarray, shape (draws, numbers)
        As read.

    Returns
    -------
    tuple of Influence
        At most three per number, strongest first; weak ones are left out.
    """
    places = {name: at for at, name in enumerate(names)}
    least = max(WEAKEST, CERTAIN / np.sqrt(len(rows)))
    found = []
    for output, label in _outputs(plan):
        if output not in places:
            continue
        column = values[:, places[output]]
        correlations = rank_correlations(rows, column)
        for at in np.argsort(-np.abs(correlations), kind="stable")[:SHOWN]:
            one, correlation = inputs[at], float(correlations[at])
            if abs(correlation) >= least:
                found.append(Influence(output, one.key, label, one.label, correlation, one.advice))
    return tuple(found)


def _outputs(plan: Plan) -> list[tuple[str, str]]:
    """Return keys and words of the numbers worth explaining: the end, the cuts, the hours."""
    made = [getattr(step, "into", None) for step in plan.steps]
    last = next((name for name in reversed(made) if isinstance(name, str)), None)
    found: list[tuple[str, str]] = []
    for step in plan.steps:
        if isinstance(step, Distil) and step.purpose != "strip":
            for cut in step.cuts:
                if cut.until.volume is not None:
                    continue  # its volume is what was measured off, nothing to explain
                found.append((f"lot.{cut.into}.volume", f"volume of {cut.into}"))
                found.append((f"lot.{cut.into}.strength", f"strength of {cut.into}"))
    if last is not None:
        found.append((f"lot.{last}.volume", f"volume of {last}"))
        found.append((f"lot.{last}.strength", f"strength of {last}"))
        found += [(f"lot.{last}.compound.{name}", f"{name} in {last}") for name in _COMPOUNDS]
    found.append(("total.still_time", "hours beside a still"))
    return list(dict.fromkeys(found))


def _ranks(values: Array) -> Array:
    """Return ranks down each column, equal values sharing the mean of theirs."""
    found = np.empty(values.shape)
    for column in range(values.shape[1]):
        _, inverse, counts = np.unique(values[:, column], return_inverse=True, return_counts=True)
        ends = np.cumsum(counts)
        found[:, column] = (ends - 0.5 * (counts - 1))[inverse]
    return found


def _centred(values: Array) -> Array:
    centred: Array = values - values.mean(axis=0)
    return centred
