# SPDX-License-Identifier: MIT
"""Which readings of a run do not go with the others: single ones, and patterns of several."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np

from middlecut.insight.run_posterior import Evidence, Posterior, solve

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from middlecut.insight.run_outputs import Observed

    Array = NDArray[np.float64]
    Chosen = NDArray[np.bool_]

__all__ = ["Judgement", "Pattern", "judge", "left_out_deviations"]

LIMIT = 3.3
"""Uncertainties beyond which a reading contradicts the others: one in a thousand by chance."""
BACK = 2.5
"""A reading set aside comes back when it is nearer than this."""
GAIN = 16.0
"""Fall of the sum of squares that a pattern has to bring."""
AHEAD = 6.0
"""How much more than the best single reading it has to explain; its start is free, too."""
LEAST_PATTERN = 2
SCATTER_FROM = 4
"""Readings from which their scatter is trusted to widen the uncertainties."""

_AMOUNTS = frozenset({"collected_volume", "collected_mass", "jar_volume"})
_STRENGTHS = frozenset({"distillate_strength", "jar_strength"})


@dataclass(frozen=True, slots=True)
class Pattern:
    """Several readings that are off together.

    Parameters
    ----------
    kind : {"leak", "drift", "foaming"}
    places : tuple of int
        Which readings.
    size : float
        Share of the distillate lost; drift per second [SI s⁻¹]; fall of the strength, 0 to 1.
    since : float
        Since the first drop. [s]
    gain : float
        How much it explains.
    """

    kind: Literal["leak", "drift", "foaming"]
    places: tuple[int, ...]
    size: float
    since: float
    gain: float


@dataclass(frozen=True, slots=True, eq=False)
class Judgement:
    """The best fit of the readings that go together, and those that do not.

    Parameters
    ----------
    posterior : Posterior
    single : tuple of int
        Readings set aside one by one.
    pattern : Pattern or None
    """

    posterior: Posterior
    single: tuple[int, ...]
    pattern: Pattern | None


def left_out_deviations(evidence: Evidence, posterior: Posterior) -> Array:
    """Return how far each used reading is from what all others say, in uncertainties.

    Parameters
    ----------
    evidence : Evidence
    posterior : Posterior

    Returns
    -------
    ndarray, shape (readings,)
        0 for readings that are not used.
    """
    used = posterior.used
    inverse, rest = _inverse(evidence, posterior, used)
    found = np.zeros(len(used))
    found[used] = (inverse @ rest) / np.sqrt(np.diag(inverse))
    return found


def _inverse(evidence: Evidence, posterior: Posterior, used: Chosen) -> tuple[Array, Array]:
    """Return the inverse covariance of the readings before any is known, and their distances."""
    slopes = posterior.slopes[used]
    weight = 1.0 / (posterior.widening * evidence.spread[used]) ** 2
    # By Woodbury's identity; the covariance of the fit is already the inverse it needs.
    steep = weight[:, np.newaxis] * slopes
    inverse = np.diag(weight) - steep @ posterior.covariance @ steep.T
    rest = evidence.observed[used] - posterior.expected[used] + slopes @ posterior.q
    return inverse, np.asarray(rest)


def judge(evidence: Evidence, observed: Sequence[Observed], ratio: Array) -> Judgement:
    """Fit the readings, setting aside those that do not go with the rest.

    Parameters
    ----------
    evidence : Evidence
    observed : sequence of Observed
        The same readings.
    ratio : ndarray, shape (readings,)
        Change of the head temperature with the strength of the distillate at the time of each
        reading. [K]

    Returns
    -------
    Judgement

    Notes
    -----
    A reading is judged by what all others say of it. Of two that contradict each other and nothing
    else, nobody can tell which is wrong; the one further from the description is set aside.
    """
    used = np.ones(len(observed), dtype=bool)
    posterior = solve(evidence, used)
    worst = float(np.max(np.abs(left_out_deviations(evidence, posterior)), initial=0.0))
    pattern = None
    if worst > BACK:
        pattern = _best_pattern(evidence, posterior, observed, ratio, worst)
    if pattern is not None:
        used[list(pattern.places)] = False
    single: list[int] = []
    most = max(1, int(used.sum()) // 3)
    while True:
        posterior = solve(evidence, used)
        deviations = np.abs(left_out_deviations(evidence, posterior))
        place = int(np.argmax(deviations))
        if deviations[place] <= LIMIT or len(single) == most:
            break
        used[place] = False
        single.append(place)
    for place in list(single):
        if abs(deviation(evidence, posterior, place)) < BACK:
            used[place] = True
            single.remove(place)
            posterior = solve(evidence, used)
    if pattern is not None:
        pattern = _sized(pattern, evidence, posterior, observed, ratio)
    return Judgement(_widened(evidence, posterior), tuple(single), pattern)


def _sized(
    pattern: Pattern,
    evidence: Evidence,
    posterior: Posterior,
    observed: Sequence[Observed],
    ratio: Array,
) -> Pattern:
    """Return the pattern with its size against a fit that it no longer pulls."""
    for kind, places, shape, since in _signatures(observed, posterior.expected, ratio):
        if (kind, places, since) != (pattern.kind, pattern.places, pattern.since):
            continue
        weight = shape / evidence.spread**2
        size = float(weight @ (evidence.observed - posterior.expected)) / float(weight @ shape)
        return replace(pattern, size=size)
    return pattern


def deviation(evidence: Evidence, posterior: Posterior, place: int) -> float:
    """Return how far a reading that is not used is from the fit, in uncertainties.

    Parameters
    ----------
    evidence : Evidence
    posterior : Posterior
    place : int

    Returns
    -------
    float
        A number.
    """
    slope = posterior.slopes[place]
    known = float(slope @ posterior.covariance @ slope)
    spread = math.hypot(posterior.widening * float(evidence.spread[place]), math.sqrt(known))
    return float((evidence.observed[place] - posterior.expected[place]) / spread)


def _widened(evidence: Evidence, posterior: Posterior) -> Posterior:
    """Return the fit with uncertainties as wide as the readings really scatter."""
    used = posterior.used
    count = int(used.sum())
    if count < SCATTER_FROM:
        return posterior
    own = len(evidence.precision)
    rest = ((evidence.observed - posterior.expected) / evidence.spread)[used]
    q = posterior.q
    total = rest @ rest + q[:own] @ evidence.precision @ q[:own] + q[own:] @ q[own:]
    widening = math.sqrt(max(float(total) / count, 1.0))
    return posterior if widening == 1.0 else solve(evidence, used, widening=widening)


def _best_pattern(
    evidence: Evidence,
    posterior: Posterior,
    observed: Sequence[Observed],
    ratio: Array,
    worst: float,
) -> Pattern | None:
    used = posterior.used
    inverse, rest = _inverse(evidence, posterior, used)
    best: Pattern | None = None
    for kind, places, shape, since in _signatures(observed, posterior.expected, ratio):
        along = inverse @ shape
        strength = float(shape @ along)
        if strength <= 0.0:
            continue
        size = float(rest @ along) / strength
        gain = size**2 * strength
        fits = 0.0 < size < 1.0 if kind != "drift" else True
        if fits and gain > max(GAIN, worst**2 + AHEAD) and (best is None or gain > best.gain):
            best = Pattern(kind, places, size, since, gain)
    return best


_Signature = tuple[Literal["leak", "drift", "foaming"], tuple[int, ...], "Array", float]


def _signatures(
    observed: Sequence[Observed], expected: Array, ratio: Array
) -> Iterator[_Signature]:
    """Give what each fault would add to the readings, per unit of its size."""
    order = sorted(range(len(observed)), key=lambda n: observed[n].time)
    yield from _leaks([n for n in order if observed[n].reading.quantity in _AMOUNTS],
                      observed, expected)  # fmt: skip
    by_instrument: dict[tuple[str, str], list[int]] = {}
    for n in order:
        if observed[n].heating is None and observed[n].reading.quantity not in _AMOUNTS:
            key = (observed[n].instrument, observed[n].reading.quantity)
            by_instrument.setdefault(key, []).append(n)
    for places in by_instrument.values():
        for first in range(len(places) - LEAST_PATTERN):
            late = places[first + 1 :]
            start = observed[places[first]].time
            shape = np.zeros(len(observed))
            shape[late] = [observed[n].time - start for n in late]
            if np.any(shape):
                yield "drift", tuple(late), shape, start
    yield from _foaming(order, observed, ratio)


def _leaks(
    places: list[int], observed: Sequence[Observed], expected: Array
) -> Iterator[_Signature]:
    """Give what a loss does from some moment on: totals lack what came since, jars lack a part."""
    totals = [n for n in places if observed[n].reading.quantity != "jar_volume"]
    for first in range(-1, len(places) - LEAST_PATTERN):
        start = observed[places[first]].time if first >= 0 else 0.0
        late = [n for n in places[first + 1 :] if observed[n].time > start]
        if len(late) < LEAST_PATTERN:
            continue
        shape = np.zeros(len(observed))
        for n in late:
            name = observed[n].reading.quantity
            before = [
                expected[m]
                for m in totals
                if observed[m].reading.quantity == name and observed[m].time <= start
            ]
            shape[n] = -(expected[n] - (max(before, default=0.0) if n in totals else 0.0))
        yield "leak", tuple(late), shape, start


def _foaming(order: list[int], observed: Sequence[Observed], ratio: Array) -> Iterator[_Signature]:
    """Give what liquid carried over does: weaker distillate and a hotter head at once."""
    strengths = [n for n in order if observed[n].reading.quantity in _STRENGTHS]
    heads = [n for n in order if observed[n].reading.quantity == "head_temperature"
             and observed[n].heating is None]  # fmt: skip
    for first in strengths:
        since = observed[first].time
        late = [n for n in (*strengths, *heads) if observed[n].time >= since]
        if not any(n in heads for n in late) or len(late) < LEAST_PATTERN:
            continue
        shape = np.zeros(len(observed))
        for n in late:
            shape[n] = -1.0 if n in strengths else -ratio[n]
        yield "foaming", tuple(late), shape, since
