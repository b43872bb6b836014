# SPDX-License-Identifier: MIT
"""Put bands on a prediction: lots, cuts, jars, curves, figures, totals."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from middlecut.insight.numbers import (
    CURVE_NUMBERS,
    CUT_NUMBERS,
    TOTALS,
    Layout,
    numbered,
    quantiles,
)
from middlecut.steps.band import Band, CurveBand, CutBand, JarBand, LotBand

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from middlecut.plan.prediction import Prediction, Totals
    from middlecut.steps.curve import Curve, CutMark, Jar
    from middlecut.steps.lot import Amount, Lot
    from middlecut.steps.result import Figure, StepResult

    Array = NDArray[np.float64]

__all__ = ["with_bands"]

_CLOCK = 81
"""Times at which the strength of a run has its band."""
_RUNNING = 0.9
"""Share of the draws that must still run for a band at a time."""
_WIDTH = 1e-9
"""A band narrower than this, relative, belongs to a number that no input moves."""


def with_bands(
    prediction: Prediction,
    layout: Layout,
    bands: Mapping[str, Band],
    curves: NDArray[np.float32],
) -> Prediction:
    """Return the prediction with its bands.

    Parameters
    ----------
    prediction : Prediction
        Of the plan as it stands.
    layout : Layout
        Of the curves.
    bands : mapping of str to Band
        Of the single numbers, by key.
    curves : ndarray, shape (draws, curve numbers)
        As read.

    Returns
    -------
    Prediction
        The same numbers, each with its band.
    """
    along = _curve_bands(layout, curves)
    lots = {name: _lot(lot, bands) for name, lot in prediction.lots.items()}
    steps = {
        name: _step(result, bands, lots, along.get(name))
        for name, result in prediction.steps.items()
    }
    return replace(prediction, lots=lots, steps=steps, totals=_totals(prediction.totals, bands))


def _lot(lot: Lot, bands: Mapping[str, Band]) -> Lot:
    key = f"lot.{lot.name}"
    if f"{key}.volume" not in bands:
        return lot
    compounds = {
        name: bands[f"{key}.compound.{name}"]
        for name in lot.amounts
        if f"{key}.compound.{name}" in bands
    }
    band = LotBand(
        volume=bands[f"{key}.volume"],
        strength=bands[f"{key}.strength"],
        pure_alcohol=bands[f"{key}.pure_alcohol"],
        compounds=compounds,
    )
    volume = lot.volume
    amounts = {
        name: _amount(amount, compounds[name], volume) if name in compounds else amount
        for name, amount in lot.amounts.items()
    }
    return replace(lot, amounts=amounts, band=band)


def _amount(amount: Amount, band: Band, volume: float) -> Amount:
    """Return the amount with the range that gives the band of its concentration in the lot."""
    return replace(amount, low=band.low * volume * 1e-3, high=band.high * volume * 1e-3)


def _step(
    result: StepResult,
    bands: Mapping[str, Band],
    lots: Mapping[str, Lot],
    along: CurveBand | None,
) -> StepResult:
    key = f"step.{result.step_id}"
    figures = tuple(_figure(row, bands.get(f"{key}.figure.{row.key}")) for row in result.figures)
    curve = result.curve
    return replace(
        result,
        made={name: lots.get(name, lot) for name, lot in result.made.items()},
        figures=figures,
        curve=None if curve is None else _curve(key, curve, bands, along),
    )


def _figure(figure: Figure, band: Band | None) -> Figure:
    """Return the figure with its band; a range it has for other reasons stays if nothing moves."""
    if band is None or band.high - band.low <= _WIDTH * abs(band.median):
        return figure
    return replace(figure, low=band.low, high=band.high)


def _curve(key: str, curve: Curve, bands: Mapping[str, Band], along: CurveBand | None) -> Curve:
    jars = tuple(
        _jar(jar, f"{key}.jar.{cut}.{number}", bands) for cut, number, jar in numbered(curve.jars)
    )
    cuts = tuple(_cut(cut, f"{key}.cut.{cut.into}", bands) for cut in curve.cuts)
    return replace(curve, cuts=cuts, jars=jars, band=along)


def _cut(cut: CutMark, key: str, bands: Mapping[str, Band]) -> CutMark:
    found = {name: bands[f"{key}.{name}"] for name in CUT_NUMBERS if f"{key}.{name}" in bands}
    return replace(cut, band=CutBand(**found)) if len(found) == len(CUT_NUMBERS) else cut


def _jar(jar: Jar, key: str, bands: Mapping[str, Band]) -> Jar:
    if f"{key}.volume" not in bands:
        return jar
    compounds = {name: bands[f"{key}.compound.{name}"] for name in jar.compounds}
    band = JarBand(
        end=bands[f"{key}.end"],
        volume=bands[f"{key}.volume"],
        strength=bands[f"{key}.strength"],
        compounds=compounds,
    )
    return replace(jar, band=band)


def _curve_bands(layout: Layout, curves: NDArray[np.float32]) -> dict[str, CurveBand]:
    points, share = quantiles(curves)
    found: dict[str, CurveBand] = {}
    at = 0
    for step, (volumes, compounds) in layout.curves.items():
        n, singles = len(volumes), len(CURVE_NUMBERS)
        shares = share[at : at + n]
        single = {
            name: points[:, at + row * n : at + (row + 1) * n]
            for row, name in enumerate(CURVE_NUMBERS)
        }
        raw = {
            name: curves[:, at + row * n : at + (row + 1) * n]
            for row, name in enumerate(CURVE_NUMBERS)
        }
        clock = np.linspace(0.0, _end(single["time"]), _CLOCK)
        strength_at = _by_time(raw["time"], raw["strength"], clock)
        at += singles * n
        rates = points[:, at : at + n * len(compounds)].reshape(3, n, len(compounds))
        at += n * len(compounds)
        found[step] = CurveBand(
            volume=volumes,
            share=shares,
            rates=rates,
            compounds=compounds,
            clock=clock,
            strength_at=strength_at,
            **single,
        )
    return found


def _end(time: Array) -> float:
    """Return when the run of the middle draw ends, as far as it was read."""
    known = time[1][np.isfinite(time[1])]
    return float(known[-1]) if len(known) else 0.0


def _by_time(
    time: NDArray[np.float32], strength: NDArray[np.float32], clock: Array
) -> NDArray[np.float64]:
    """Return 5, 50 and 95 % points of the strength at these times, a run being over left out.

    Bands at even volumes cannot tell: a draw that runs faster is elsewhere at the same time.
    """
    read = np.full((len(time), len(clock)), np.nan, dtype=np.float32)
    for draw, (times, strengths) in enumerate(zip(time, strength, strict=True)):
        known = np.isfinite(times) & np.isfinite(strengths)
        if known.any():
            read[draw] = np.interp(clock, times[known], strengths[known], right=np.nan)
    points, share = quantiles(read)
    points[:, share < _RUNNING] = np.nan
    return points


def _totals(totals: Totals, bands: Mapping[str, Band]) -> Totals:
    found = {name: bands[f"total.{name}"] for name in TOTALS if f"total.{name}" in bands}
    return replace(totals, bands=found)
