# SPDX-License-Identifier: MIT
"""Bands: where a predicted number lies in nine draws out of ten."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["Band", "CurveBand", "CutBand", "JarBand", "LotBand"]


@dataclass(frozen=True, slots=True)
class Band:
    """The 5–95 % range of a predicted number.

    Parameters
    ----------
    low, median, high : float
        5, 50 and 95 % points of the draws, in SI like the number itself.
    share : float
        Share of the draws that have the number at all, 0 to 1; a jar that fills in only some
        draws has less than 1.
    """

    low: float
    median: float
    high: float
    share: float = 1.0


@dataclass(frozen=True, slots=True)
class LotBand:
    """Bands of a lot as it was made.

    Parameters
    ----------
    volume, pure_alcohol : Band
        [m³ at 20 °C]
    strength : Band
        0 to 1.
    compounds : mapping of str to Band
        Concentration by compound. [mg L⁻¹]
    """

    volume: Band
    strength: Band
    pure_alcohol: Band
    compounds: Mapping[str, Band]


@dataclass(frozen=True, slots=True)
class CutBand:
    """Bands of what can be seen when a cut ends.

    Parameters
    ----------
    end : Band
        Since the first drop. [s]
    volume, collected_end : Band
        What the cut holds and all distillate so far. [m³ at 20 °C]
    strength, strength_end : Band
        Of the cut as mixed and of what runs off at its end, 0 to 1.
    head_temperature_end, boiler_temperature_end : Band
        [K]
    """

    end: Band
    volume: Band
    collected_end: Band
    strength: Band
    strength_end: Band
    head_temperature_end: Band
    boiler_temperature_end: Band


@dataclass(frozen=True, slots=True)
class JarBand:
    """Bands of one jar.

    Parameters
    ----------
    end : Band
        When it is full, since the first drop. [s]
    volume : Band
        [m³ at 20 °C]
    strength : Band
        0 to 1.
    compounds : mapping of str to Band
        [mg L⁻¹]
    """

    end: Band
    volume: Band
    strength: Band
    compounds: Mapping[str, Band]


@dataclass(frozen=True, slots=True, eq=False)
class CurveBand:
    """Bands along a run, at even steps of the volume collected.

    Parameters
    ----------
    volume : ndarray, shape (n,)
        Distillate so far. [m³ at 20 °C]
    share : ndarray, shape (n,)
        Share of the draws whose run goes so far.
    time : ndarray, shape (3, n)
        5, 50 and 95 % points; so in all that follow. [s]
    strength, boiler_strength : ndarray, shape (3, n)
        0 to 1.
    head_temperature, boiler_temperature : ndarray, shape (3, n)
        [K]
    rates : ndarray, shape (3, n, k)
        Concentration in the distillate running off. [mg L⁻¹]
    compounds : tuple of str, length k
    clock : ndarray, shape (m,)
        Even steps of the time since the first drop. [s]
    strength_at : ndarray, shape (3, m)
        Strength of what runs off then, 0 to 1; NaN where hardly any draw still runs.
    """

    volume: Array
    share: Array
    time: Array
    strength: Array
    head_temperature: Array
    boiler_temperature: Array
    boiler_strength: Array
    rates: Array
    compounds: tuple[str, ...]
    clock: Array
    strength_at: Array
