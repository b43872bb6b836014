# SPDX-License-Identifier: MIT
"""How gravity falls with time, as a prior until readings say better."""

from __future__ import annotations

import math
from dataclasses import dataclass

from middlecut.errors import OutOfRangeError
from middlecut.liquid.constants import GAS_CONSTANT

__all__ = [
    "FINISHED_FRACTION",
    "TEMPERATURE_RANGE",
    "UNKNOWN_YEAST",
    "GravityCourse",
    "Window",
    "gravity_course",
]

FINISHED_FRACTION = 0.98
"""Share of the fall in gravity at which a fermentation is called all but finished; our choice."""

_REFERENCE = 293.15
_ACTIVATION_ENERGY = 64.3e3
# Midpoint 18 to 30 h and slope 0.08 to 0.15 per h at 18 to 22 °C (memory, estimate); activation
# energy of ethanol production 64.3 kJ/mol, which is a factor of 2.38 from 20 to 30 °C
# (Biochem. Eng. J. 2010, read in the abstract).
_MIDPOINT = (18.0 * 3600.0, 30.0 * 3600.0)
_SLOPE = (0.08 / 3600.0, 0.15 / 3600.0)
UNKNOWN_YEAST = 1.5
"""Factor by which the range is widened either way: the rows it rests on are of washes of a whisky
type, well pitched, and a plan says neither yeast, pitch nor nutrients. Our estimate."""
TEMPERATURE_RANGE = (278.15, 313.15)
"""Temperatures of a fermentation that the prior is used at. [K]"""


@dataclass(frozen=True, slots=True)
class Window:
    """A time with its range.

    Parameters
    ----------
    typical, low, high : float
        From pitching. [s]
    """

    typical: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class GravityCourse:
    """A falling logistic curve with the range of its two parameters.

    Parameters
    ----------
    midpoint : tuple of float
        Low and high time of half the fall in gravity. [s]
    slope : tuple of float
        Low and high slope. [s⁻¹]
    basis : str
        Weakest basis of both.
    """

    midpoint: tuple[float, float]
    slope: tuple[float, float]
    basis: str = "estimate"

    def scaled(self, midpoint: float, slope: float) -> GravityCourse:
        """Return the course with both parameters times a factor.

        Parameters
        ----------
        midpoint, slope : float
            Factors.

        Returns
        -------
        GravityCourse
        """
        early, late = self.midpoint
        slow, fast = self.slope
        return GravityCourse(
            (early * midpoint, late * midpoint), (slow * slope, fast * slope), self.basis
        )

    def time_at_attenuation(self, fraction: float) -> Window:
        """Return when a share of the fall in gravity is done.

        t = M + ln(f/(1 - f))/B.

        Parameters
        ----------
        fraction : float
            Share f of the whole fall, 0.5 to 0.999.

        Returns
        -------
        Window
            Typical is at the geometric means of M and B; low and high at their ends.

        Raises
        ------
        OutOfRangeError
            If the share is below one half, where the lag rules, or above 0.999.
        """
        if not 0.5 <= fraction <= 0.999:
            raise OutOfRangeError("fraction", fraction, 0.5, 0.999)
        odds = math.log(fraction / (1.0 - fraction))
        early, late = self.midpoint
        slow, fast = self.slope
        return Window(
            math.sqrt(early * late) + odds / math.sqrt(slow * fast),
            early + odds / fast,
            late + odds / slow,
        )

    def fraction_done(self, time: float) -> float:
        """Return the share of the fall in gravity done by a time, at typical parameters.

        Parameters
        ----------
        time : float
            From pitching. [s]

        Returns
        -------
        float
            0 to 1; a few per cent at time zero, where the logistic curve does not fit the lag.
        """
        midpoint = math.sqrt(self.midpoint[0] * self.midpoint[1])
        slope = math.sqrt(self.slope[0] * self.slope[1])
        return 1.0 / (1.0 + math.exp(-slope * (time - midpoint)))

    def fall_done(self, time: float) -> float:
        """Return the share of the fall in gravity done since pitching, at typical parameters.

        The logistic curve pinned to 0 at pitching, (f(t) - f(0))/(1 - f(0)), as readings are
        fitted: so a gravity drawn from it starts at the original gravity.

        Parameters
        ----------
        time : float
            From pitching. [s] Not below 0.

        Returns
        -------
        float
            0 to 1.
        """
        start = self.fraction_done(0.0)
        return (self.fraction_done(time) - start) / (1.0 - start)


def gravity_course(temperature: float) -> GravityCourse:
    """Return the prior of the fall in gravity at a temperature.

    The logistic form of the standard yeast assay, with midpoint and slope at 20 °C scaled by one
    activation energy.

    Parameters
    ----------
    temperature : float
        Of the fermenting wash. [K] Valid 278.15 to 313.15.

    Returns
    -------
    GravityCourse
        Basis "estimate".

    Raises
    ------
    OutOfRangeError
        Outside 5 to 40 °C.

    Notes
    -----
    Form after :cite:t:`armstrong2021`, activation energy after :cite:t:`kefir2010`, which was
    measured on kefir grains. Midpoint and slope are those of washes of a whisky type, well pitched
    (memory, estimate). Yeast, pitch and nutrients are not known from a plan; for them all times
    are taken as uncertain by a further factor of 1.5 either way, our estimate. A wash that lacks
    one of the three can take longer still.

    Examples
    --------
    >>> round(gravity_course(293.15).time_at_attenuation(0.90).typical / 3600)
    43
    """
    if not TEMPERATURE_RANGE[0] <= temperature <= TEMPERATURE_RANGE[1]:
        raise OutOfRangeError(
            "temperature", temperature, *TEMPERATURE_RANGE, unit="K", source="range of most yeasts"
        )
    factor = math.exp(_ACTIVATION_ENERGY / GAS_CONSTANT * (1.0 / _REFERENCE - 1.0 / temperature))
    low, high = 1.0 / UNKNOWN_YEAST, UNKNOWN_YEAST
    return GravityCourse(
        (_MIDPOINT[0] * low / factor, _MIDPOINT[1] * high / factor),
        (_SLOPE[0] * low * factor, _SLOPE[1] * high * factor),
    )
