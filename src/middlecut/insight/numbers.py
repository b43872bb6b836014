# SPDX-License-Identifier: MIT
"""Read every number off a walk in a fixed order, and turn the draws of each into its band."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from middlecut.plan.predict import totals_of
from middlecut.steps.band import Band

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from middlecut.plan.model import Plan
    from middlecut.plan.predict import Walk
    from middlecut.steps.curve import Curve, Jar
    from middlecut.steps.lot import Lot
    from middlecut.steps.result import StepResult

    Array = NDArray[np.float64]
    Small = NDArray[np.float32]

__all__ = [
    "CURVE_NUMBERS",
    "CUT_NUMBERS",
    "TOTALS",
    "Layout",
    "bands_of",
    "layout_of",
    "numbered",
    "quantiles",
    "read_curves",
    "read_numbers",
]

TOTALS = ("duration", "still_time", "energy", "cooling_water", "cost")
CUT_NUMBERS = (
    "end",
    "volume",
    "collected_end",
    "strength",
    "strength_end",
    "head_temperature_end",
    "boiler_temperature_end",
)
CURVE_NUMBERS = ("time", "strength", "head_temperature", "boiler_temperature", "boiler_strength")
JAR_NUMBERS = ("end", "volume", "strength")
POINTS = 41
"""Points of a curve's band, at even steps of the volume collected."""
LEVELS = (0.05, 0.5, 0.95)
_MISSING = float("nan")


@dataclass(frozen=True, slots=True)
class _LotBlock:
    """The numbers of one lot: volume, strength, pure alcohol, compounds."""

    lot: str
    compounds: tuple[str, ...]

    def names(self) -> list[str]:
        key = f"lot.{self.lot}"
        return [
            *(f"{key}.{name}" for name in ("volume", "strength", "pure_alcohol")),
            *(f"{key}.compound.{name}" for name in self.compounds),
        ]

    def read(self, lot: Lot | None) -> list[float]:
        volume = 0.0 if lot is None else lot.volume
        if lot is None or volume <= 0.0:
            return [_MISSING] * (3 + len(self.compounds))
        pure, amounts, scale = lot.pure_alcohol, lot.amounts, 1e3 / volume
        if tuple(amounts) == self.compounds:
            levels = [amount.typical * scale for amount in amounts.values()]
        else:
            found = (amounts.get(name) for name in self.compounds)
            levels = [_MISSING if one is None else one.typical * scale for one in found]
        return [volume, pure / volume, pure, *levels]


@dataclass(frozen=True, slots=True)
class _StepBlock:
    """The numbers of one step: figures, cuts, jars as (cut, number within it, compounds)."""

    step: str
    figures: tuple[str, ...]
    cuts: tuple[str, ...]
    jars: tuple[tuple[str, int, tuple[str, ...]], ...]

    def names(self) -> list[str]:
        key = f"step.{self.step}"
        found = [f"{key}.figure.{name}" for name in self.figures]
        found += [f"{key}.cut.{cut}.{name}" for cut in self.cuts for name in CUT_NUMBERS]
        for cut, number, compounds in self.jars:
            here = f"{key}.jar.{cut}.{number}"
            found += [f"{here}.{name}" for name in JAR_NUMBERS]
            found += [f"{here}.compound.{name}" for name in compounds]
        return found

    def read(self, result: StepResult) -> list[float]:
        figures = {figure.key: figure.value for figure in result.figures}
        found = [figures.get(name, _MISSING) for name in self.figures]
        curve = result.curve
        cuts = {} if curve is None else {cut.into: cut for cut in curve.cuts}
        for name in self.cuts:
            mark = cuts.get(name)
            found += [_MISSING if mark is None else getattr(mark, one) for one in CUT_NUMBERS]
        jars = {} if curve is None else {(cut, at): jar for cut, at, jar in numbered(curve.jars)}
        for cut, number, compounds in self.jars:
            jar = jars.get((cut, number))
            if jar is None:
                found += [_MISSING] * (len(JAR_NUMBERS) + len(compounds))
                continue
            found += [getattr(jar, one) for one in JAR_NUMBERS]
            found += [jar.compounds.get(name, _MISSING) for name in compounds]
        return found


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """Which numbers are read, in which order.

    Parameters
    ----------
    names : tuple of str
        Keys of the single numbers.
    lots, steps : tuple
        The blocks they come in; the totals are last.
    curves : mapping of str to (ndarray, tuple of str)
        By step: volumes at which its curve is read [m³], and its compounds.
    """

    names: tuple[str, ...]
    lots: tuple[_LotBlock, ...]
    steps: tuple[_StepBlock, ...]
    curves: Mapping[str, tuple[Array, tuple[str, ...]]]

    @property
    def curve_size(self) -> int:
        """How many numbers the curves give."""
        return sum(
            len(volumes) * (len(CURVE_NUMBERS) + len(compounds))
            for volumes, compounds in self.curves.values()
        )


def numbered(jars: Iterable[Jar]) -> Iterator[tuple[str, int, Jar]]:
    """Give each jar with its cut and its number within that cut, from 1.

    Parameters
    ----------
    jars : iterable of Jar
        In the order they fill.

    Yields
    ------
    tuple of (str, int, Jar)
    """
    counts: dict[str, int] = {}
    for jar in jars:
        counts[jar.cut] = counts.get(jar.cut, 0) + 1
        yield jar.cut, counts[jar.cut], jar


def layout_of(nominal: Walk) -> Layout:
    """Return what is to be read in every draw: all that the nominal walk has.

    Parameters
    ----------
    nominal : Walk
        The plan carried out as it stands.

    Returns
    -------
    Layout
    """
    curves = {
        step: (np.linspace(0.0, float(result.curve.volume[-1]), POINTS), result.curve.compounds)
        for step, result in nominal.results.items()
        if result.curve is not None
    }
    lots = tuple(_LotBlock(name, tuple(lot.amounts)) for name, lot in nominal.pool.made.items())
    steps = tuple(
        _StepBlock(
            step,
            tuple(figure.key for figure in result.figures),
            () if result.curve is None else tuple(cut.into for cut in result.curve.cuts),
            ()
            if result.curve is None
            else tuple(
                (cut, at, tuple(jar.compounds)) for cut, at, jar in numbered(result.curve.jars)
            ),
        )
        for step, result in nominal.results.items()
    )
    names = [name for lot in lots for name in lot.names()]
    names += [name for step in steps for name in step.names()]
    names += [f"total.{name}" for name in TOTALS]
    return Layout(tuple(names), lots, steps, curves)


def read_numbers(layout: Layout, plan: Plan, done: Walk) -> Array:
    """Return the single numbers of one walk, NaN where it has none.

    Parameters
    ----------
    layout : Layout
        What to read.
    plan : Plan
        For the prices.
    done : Walk
        The walk.

    Returns
    -------
    ndarray, shape (numbers,)
    """
    made, results = done.pool.made, done.results
    found: list[float] = []
    for lot in layout.lots:
        found += lot.read(made.get(lot.lot))
    for step in layout.steps:
        found += step.read(results[step.step])
    totals = totals_of(plan, results.values())
    values = (getattr(totals, name) for name in TOTALS)
    found += [_MISSING if value is None else value for value in values]
    return np.array(found)


def read_curves(layout: Layout, done: Walk) -> Small:
    """Return the curves of one walk at the volumes of the layout, NaN beyond their end.

    Parameters
    ----------
    layout : Layout
        What to read.
    done : Walk
        The walk.

    Returns
    -------
    ndarray, shape (curve numbers,)
        In single precision.
    """
    found = np.empty(layout.curve_size, dtype=np.float32)
    at = 0
    for step, (volumes, compounds) in layout.curves.items():
        size = len(volumes) * (len(CURVE_NUMBERS) + len(compounds))
        curve = done.results[step].curve
        if curve is None or curve.compounds != compounds:
            found[at : at + size] = np.nan
        else:
            found[at : at + size] = _along(curve, volumes)
        at += size
    return found


def quantiles(values: NDArray[np.floating]) -> tuple[Array, Array]:
    """Return the 5, 50 and 95 % points of each column and the share of numbers in it.

    Parameters
    ----------
    values : ndarray, shape (draws, n)
        NaN where a draw has no such number.

    Returns
    -------
    points : ndarray, shape (3, n)
        Linear between ordered values; NaN for a column without numbers.
    share : ndarray, shape (n,)
        0 to 1.
    """
    ordered = np.sort(np.ascontiguousarray(values.T), axis=1)  # NaN come last
    count = np.count_nonzero(~np.isnan(ordered), axis=1)
    columns = np.arange(len(ordered))
    points = np.full((len(LEVELS), len(ordered)), np.nan)
    there = count > 0
    for row, level in enumerate(LEVELS):
        place = level * np.maximum(count - 1, 0)
        low = place.astype(np.int64)
        high = np.minimum(low + 1, np.maximum(count - 1, 0))
        part = place - low
        below, above = ordered[columns, low], ordered[columns, high]
        points[row, there] = (below + part * (above - below))[there]
    return points, count / max(len(values), 1)


def bands_of(layout: Layout, values: Array) -> dict[str, Band]:
    """Return the band of each number that at least one draw has.

    Parameters
    ----------
    layout : Layout
        Names of the columns.
    values : ndarray, shape (draws, numbers)
        As read.

    Returns
    -------
    dict of str to Band
        By key.
    """
    points, share = quantiles(values)
    return {
        name: Band(low, median, high, there)
        for name, low, median, high, there in zip(
            layout.names, *points.tolist(), share.tolist(), strict=True
        )
        if there > 0.0
    }


def _along(curve: Curve, volumes: Array) -> Array:
    """Return the numbers of a curve at these volumes, one quantity after another."""
    end = float(curve.volume[-1])
    place = np.clip(np.searchsorted(curve.volume, volumes, side="right"), 1, len(curve.volume) - 1)
    before, after = curve.volume[place - 1], curve.volume[place]
    width = after - before
    part = np.divide(volumes - before, width, out=np.zeros_like(width), where=width > 0.0)
    rows = [getattr(curve, name) for name in CURVE_NUMBERS]
    single = np.stack([row[place - 1] + part * (row[place] - row[place - 1]) for row in rows])
    many = curve.rates[place - 1]
    many = many + part[:, np.newaxis] * (curve.rates[place] - many)
    beyond = volumes > end * (1.0 + 1e-9)
    single[:, beyond] = np.nan
    many[beyond] = np.nan
    return np.concatenate([single.ravel(), many.ravel()])
