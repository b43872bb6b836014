# SPDX-License-Identifier: MIT
"""Which jars go together: the largest mixture that meets an aim for strength and smell.

Masses add, so every set of jars is judged by its own strength and its own levels. Up to sixteen
jars every set is tried; with more, jars are taken out one by one and put back while that helps.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from middlecut.errors import InputError, OutOfRangeError
from middlecut.liquid import alcoholometry
from middlecut.liquid.aroma import thresholds
from middlecut.steps.lot import Lot
from middlecut.steps.mixing import mixed

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["EXACT_UP_TO", "Aim", "JarOffer", "Suggestion", "suggest_jars"]

EXACT_UP_TO = 16
"""Up to this many jars every set is tried."""
_NEAR = 1e-9


@dataclass(frozen=True, slots=True)
class JarOffer:
    """A jar that may go in.

    Parameters
    ----------
    name : str
    lot : Lot
        What is in it.
    words : tuple of str
        What it smelled of.
    keep : {"yes", "perhaps", "no", ""}
        The person's own verdict: "yes" goes in whatever else, "no" stays out.
    """

    name: str
    lot: Lot
    words: tuple[str, ...] = ()
    keep: str = ""


@dataclass(frozen=True, slots=True)
class Aim:
    """What the mixture is to be.

    Parameters
    ----------
    strength_low, strength_high : float
        Window for its strength, 0 to 1.
    without : tuple of str
        Words no jar in it may smell of.
    limits : mapping of str to float
        Largest odour activity value of a compound in it.
    """

    strength_low: float = 0.0
    strength_high: float = 1.0
    without: tuple[str, ...] = ()
    limits: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Suggestion:
    """Jars that go together, or why none do.

    Parameters
    ----------
    jars : tuple of str
        Names, in the order of the jars; empty when no set meets the aim.
    lot : Lot or None
        The mixture.
    activity : mapping of str to float
        Odour activity value of each limited compound in it.
    left_out : tuple of (str, str)
        Each jar that stays out and why, in words.
    met : bool
        Whether the aim is met.
    reason : str
        Where it is not: which part of the aim stands against it. Else what binds.
    every_set_tried : bool
        False when there were more jars than :data:`EXACT_UP_TO`.
    """

    jars: tuple[str, ...]
    lot: Lot | None
    activity: Mapping[str, float]
    left_out: tuple[tuple[str, str], ...]
    met: bool
    reason: str
    every_set_tried: bool


@dataclass(frozen=True, slots=True)
class _Table:
    """Jars as columns: what adds when they are mixed."""

    water: Array
    ethanol: Array
    other: Array  # volume of dissolved solids [m³]
    loads: Array  # (jars, limits): kg of each limited compound
    limits: Array  # odour activity value
    levels: Array  # threshold [kg/m³]

    def judge(self, sets: Array, aim: Aim) -> tuple[Array, Array, Array]:
        """Return volume, strength and excess over the limits (1 is the limit) of each set."""
        water, ethanol = sets @ self.water, sets @ self.ethanol
        mass = water + ethanol
        fraction = np.divide(ethanol, mass, out=np.zeros_like(mass), where=mass > 0.0)
        volume = mass / np.asarray(alcoholometry.density_20(fraction)) + sets @ self.other
        alcohol = ethanol / alcoholometry.ETHANOL_DENSITY_20
        strength = np.divide(alcohol, volume, out=np.zeros_like(mass), where=volume > 0.0)
        if not aim.limits:
            return volume, strength, np.zeros_like(volume)
        safe = np.where(volume > 0.0, volume, 1.0)[:, None]
        worst = (sets @ self.loads) / safe / self.levels / self.limits
        return volume, strength, np.asarray(worst.max(axis=1))


def suggest_jars(jars: Sequence[JarOffer], aim: Aim) -> Suggestion:
    """Suggest which jars go together: the largest mixture that meets the aim.

    Parameters
    ----------
    jars : sequence of JarOffer
        In the order they were filled, at most 60.
    aim : Aim
        What the mixture is to be.

    Returns
    -------
    Suggestion
        With every jar that stays out and why.

    Raises
    ------
    InputError
        If there are no jars, or more than 60, or two of one name.
    OutOfRangeError
        If a strength lies outside 0 to 1 or a limit is not above 0.
    NotFoundError
        If a limit names a compound that does not exist.

    Notes
    -----
    Among sets of one volume the one with fewer gaps in the run is taken. Smells mask and mend each
    other and the sum of two clean jars may not be clean: mix a sample before the batch. With more
    than 16 jars the set found need not be the largest.

    Examples
    --------
    >>> first = JarOffer("1", Lot("1", water=0.04, ethanol=0.18), words=("solvent",))
    >>> second = JarOffer("2", Lot("2", water=0.06, ethanol=0.16))
    >>> suggest_jars((first, second), Aim(without=("solvent",))).jars
    ('2',)
    """
    _check(jars, aim)
    barred = {jar.name: _barred(jar, aim) for jar in jars}
    free = [jar for jar in jars if not barred[jar.name]]
    if not free:
        return Suggestion(
            (), None, {}, tuple(barred.items()), met=False,
            reason="No jar is left: each is barred by its smell or by your own verdict.",
            every_set_tried=True,
        )  # fmt: skip
    table = _table(free, aim)
    must = np.array([jar.keep == "yes" for jar in free])
    exact = len(free) <= EXACT_UP_TO
    sets = _all_sets(must) if exact else _grown_sets(table, must, aim)
    volume, strength, excess = table.judge(sets, aim)
    inside = (strength >= aim.strength_low - _NEAR) & (strength <= aim.strength_high + _NEAR)
    good = inside & (excess <= 1.0 + _NEAR)
    if not good.any():
        return Suggestion(
            (), None, {}, tuple((name, why) for name, why in barred.items() if why), met=False,
            reason=_why_none(aim, strength, excess, inside, any_must=bool(must.any())),
            every_set_tried=exact,
        )  # fmt: skip
    chosen = _largest(sets, volume, good)
    taken = [jar for jar, inside_it in zip(free, chosen, strict=True) if inside_it]
    lot = mixed([jar.lot for jar in taken], "hearts")
    names = {jar.name for jar in taken}
    left = tuple(
        (jar.name, barred[jar.name] or "with it the mixture would miss the aim")
        for jar in jars
        if jar.name not in names
    )
    return Suggestion(
        tuple(jar.name for jar in taken),
        lot,
        _activity(lot, aim),
        left,
        met=True,
        reason="" if len(taken) == len(free) else _binding(table, sets, chosen, aim),
        every_set_tried=exact,
    )


def _check(jars: Sequence[JarOffer], aim: Aim) -> None:
    if not 1 <= len(jars) <= 60:
        raise InputError("jars", len(jars), "1 to 60 jars can be weighed up", "Fill a jar first.")
    if len({jar.name for jar in jars}) != len(jars):
        raise InputError("jars", "twice", "each jar has a name of its own", "Rename one.")
    low, high = aim.strength_low, aim.strength_high
    for name, value in (("lowest strength", low), ("highest strength", high)):
        if not 0.0 <= value <= 1.0:
            raise OutOfRangeError(name, value, 0.0, 1.0, remedy="Look at it again.")
    if low > high:
        raise InputError(
            "strength", f"{low * 100:g} to {high * 100:g} %vol", "the lower end comes first",
            "Exchange them.",
        )  # fmt: skip
    for compound, limit in aim.limits.items():
        if not (math.isfinite(limit) and limit > 0.0):
            raise OutOfRangeError(f"limit of {compound}", limit, 0.0, math.inf)
        if thresholds(compound).for_strength(0.4) is None:
            raise InputError(
                "limits", compound, "no odour threshold of it is known", "Leave it out."
            )


def _barred(jar: JarOffer, aim: Aim) -> str:
    """Return why a jar cannot go in, or nothing."""
    if jar.keep == "no":
        return "you said no to it"
    shunned = {word.casefold() for word in aim.without}
    found = [word for word in jar.words if word.casefold() in shunned]
    if found and jar.keep != "yes":
        return f"it smells of {', '.join(found)}"
    return "" if jar.lot.volume > 0.0 else "it is empty"


def _level(compound: str) -> float:
    threshold = thresholds(compound).for_strength(0.4)
    return math.nan if threshold is None else threshold.typical


def _table(jars: Sequence[JarOffer], aim: Aim) -> _Table:
    def load(lot: Lot, compound: str) -> float:
        return lot.amounts[compound].typical if compound in lot.amounts else 0.0

    liquid = [jar.lot.water + jar.lot.ethanol for jar in jars]
    other = [
        jar.lot.volume - mass / float(alcoholometry.density_20(jar.lot.ethanol / mass))
        if mass > 0.0
        else jar.lot.volume
        for jar, mass in zip(jars, liquid, strict=True)
    ]
    return _Table(
        water=np.array([jar.lot.water for jar in jars]),
        ethanol=np.array([jar.lot.ethanol for jar in jars]),
        other=np.array(other),
        loads=np.array([[load(jar.lot, one) for one in aim.limits] for jar in jars]),
        limits=np.array(list(aim.limits.values())),
        levels=np.array([_level(one) for one in aim.limits]),
    )


def _all_sets(must: NDArray[np.bool_]) -> Array:
    """Return every set of jars with those in it that must be; one set a row."""
    count = len(must)
    numbers = np.arange(1, 2**count, dtype=np.int64)
    bits = (numbers[:, None] >> np.arange(count)) & 1
    return np.asarray(bits[(bits[:, must] == 1).all(axis=1)], dtype=np.float64)


def _grown_sets(table: _Table, must: NDArray[np.bool_], aim: Aim) -> Array:
    """Return sets met on the way from all jars down to one, by the least miss each time."""
    current = np.ones(len(must))
    seen = [current]
    while current.sum() > max(must.sum(), 1.0):
        choices = np.flatnonzero((current > 0.0) & ~must)
        if not choices.size:
            break
        trials = np.repeat(current[None, :], choices.size, axis=0)
        trials[np.arange(choices.size), choices] = 0.0
        volume, strength, excess = table.judge(trials, aim)
        miss = np.maximum(aim.strength_low - strength, strength - aim.strength_high).clip(min=0.0)
        miss = 10.0 * miss + (excess - 1.0).clip(min=0.0)
        current = trials[np.lexsort((-volume, miss.round(12)))[0]]
        seen.append(current)
    back = [
        np.where(np.arange(len(must)) == jar, 1.0, one)
        for one in seen
        for jar in np.flatnonzero(one == 0.0)
    ]
    return np.array([*seen, *back])


def _largest(sets: Array, volume: Array, good: NDArray[np.bool_]) -> Array:
    best = volume[good].max()
    near = np.flatnonzero(good & (volume >= best * (1.0 - _NEAR)))
    gaps = [int(np.abs(np.diff(sets[index])).sum()) for index in near]
    return np.asarray(sets[near[int(np.argmin(gaps))]])


def _activity(lot: Lot, aim: Aim) -> dict[str, float]:
    levels = lot.compounds
    return {
        compound: levels.get(compound, 0.0) * 1e-3 / _level(compound) for compound in aim.limits
    }


def _why_none(
    aim: Aim, strength: Array, excess: Array, inside: NDArray[np.bool_], *, any_must: bool
) -> str:
    start = "With the jars you want in whatever else, no" if any_must else "No"
    if not inside.any():
        return (
            f"{start} set of jars comes to {aim.strength_low * 100:.1f} to "
            f"{aim.strength_high * 100:.1f} %vol: they give {strength.min() * 100:.1f} to "
            f"{strength.max() * 100:.1f} %vol. Widen the window."
        )
    least = float(excess[inside].min())
    return (
        f"{start} set of jars in the window of strength stays below the limits of smell: the best "
        f"is {least:.2g} times over. Raise a limit or widen the window."
    )


def _binding(table: _Table, sets: Array, chosen: Array, aim: Aim) -> str:
    """Return what keeps out the jars that are not barred."""
    more = sets[(sets >= chosen).all(axis=1) & (sets.sum(axis=1) == chosen.sum() + 1.0)]
    if not more.size:
        return ""
    _, strength, excess = table.judge(more, aim)
    words = []
    if (strength < aim.strength_low).any():
        words.append(f"the strength would fall below {aim.strength_low * 100:.1f} %vol")
    if (strength > aim.strength_high).any():
        words.append(f"the strength would rise above {aim.strength_high * 100:.1f} %vol")
    if (excess > 1.0).any():
        words.append("a limit of smell would be passed")
    return f"With one jar more {' or '.join(words)}." if words else ""
