# SPDX-License-Identifier: MIT
"""The range of a run's strength beside the points of its curve."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from middlecut.steps.band import Band, CurveBand

__all__ = ["Ranged", "along_time", "along_volume", "strength_within"]

Ranged = tuple[tuple[float, float, float], ...]
"""Place, low and high. [SI]"""
_RUNNING = 0.9


def along_time(band: CurveBand | None, times: Sequence[float]) -> Ranged:
    """Return the range of the strength at times since the first drop.

    Parameters
    ----------
    band : CurveBand or None
    times : sequence of float
        [s]

    Returns
    -------
    points : tuple of (time, low, high)
        Where hardly any draw still runs there is none.
    """
    if band is None or len(band.clock) == 0:
        return ()
    low, _, high = (
        np.interp(times, band.clock, row, right=np.nan).tolist() for row in band.strength_at
    )
    return _known(times, low, high)


def along_volume(band: CurveBand | None) -> Ranged:
    """Return the range of the strength after volumes of distillate.

    Parameters
    ----------
    band : CurveBand or None

    Returns
    -------
    points : tuple of (volume, low, high)
        As far as nine draws in ten go.
    """
    if band is None:
        return ()
    kept = band.share >= _RUNNING
    low, _, high = (row[kept].tolist() for row in band.strength)
    return _known(band.volume[kept].tolist(), low, high)


def strength_within(band: CurveBand | None, *, start: float, end: float) -> Band | None:
    """Return the range of the strength half-way between two volumes of distillate.

    Parameters
    ----------
    band : CurveBand or None
    start, end : float
        [m³]

    Returns
    -------
    band : Band or None
        None beyond the end of the run.
    """
    if band is None:
        return None
    middle = (start + end) / 2.0
    low, median, high = (
        float(np.interp(middle, band.volume, row, right=np.nan)) for row in band.strength
    )
    share = float(np.interp(middle, band.volume, band.share))
    return None if math.isnan(low + high) else Band(low, median, high, share)


def _known(places: Sequence[float], low: Sequence[float], high: Sequence[float]) -> Ranged:
    rows = zip(places, low, high, strict=True)
    return tuple(
        (float(at), float(least), float(most))
        for at, least, most in rows
        if math.isfinite(least) and math.isfinite(most)
    )
