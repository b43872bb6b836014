# SPDX-License-Identifier: MIT
"""The dense record of one predicted run, and the extremes that its cautions are computed from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from middlecut.steps.band import CurveBand, CutBand, JarBand

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

__all__ = ["Curve", "CutMark", "Jar", "RunFacts"]


@dataclass(frozen=True, slots=True)
class CutMark:
    """The moment a cut ends, with what a person can see then.

    Parameters
    ----------
    into : str
        Name of the lot the cut fills.
    start, end : float
        Since the first drop. [s]
    volume : float
        What the cut holds, as mixed. [m³ at 20 °C]
    strength : float
        Of the cut as mixed, 0 to 1.
    strength_start, strength_end : float
        Of the distillate running off at start and end, 0 to 1.
    head_temperature_start, head_temperature_end : float
        [K]
    boiler_temperature_end : float
        [K]
    collected_end : float
        All distillate so far, as mixed. [m³ at 20 °C]
    power : float
        Setting at the start of the cut, as a fraction of full power.
    band : CutBand or None
        Set in a prediction with draws.
    """

    into: str
    start: float
    end: float
    volume: float
    strength: float
    strength_start: float
    strength_end: float
    head_temperature_start: float
    head_temperature_end: float
    boiler_temperature_end: float
    collected_end: float
    power: float
    band: CutBand | None = None


@dataclass(frozen=True, slots=True)
class Jar:
    """One jar of a cut.

    Parameters
    ----------
    cut : str
        Name of the lot the jar belongs to.
    number : int
        Counted from 1 through the whole run.
    start, end : float
        Since the first drop. [s]
    volume : float
        [m³ at 20 °C]
    strength : float
        0 to 1.
    compounds : dict of str to float
        [mg L⁻¹]
    band : JarBand or None
        Set in a prediction with draws.
    """

    cut: str
    number: int
    start: float
    end: float
    volume: float
    strength: float
    compounds: dict[str, float]
    band: JarBand | None = None


@dataclass(frozen=True, slots=True)
class RunFacts:
    """Extremes and totals of a run, in SI.

    Parameters
    ----------
    heat_up_time : float
        From power on to the first vapour. [s]
    fill_time : float
        From the first vapour to the first drop: warming metal, filling stages, total reflux. [s]
    run_time : float
        From the first drop to the end. [s]
    energy : float
        Electrical, heat-up and run together. [J]
    condenser_heat : float
        Taken by the product condenser over the run. [J]
    condenser_peak : float
        Largest duty of the product condenser. [W]
    coolant_heat : float
        Taken by the reflux coolant over the run. [J]
    boiler_heat_peak : float
        Largest heat into the boiling liquid. [W]
    flood_fraction : float
        Largest vapour load over flooding load; 0 without a column.
    flood_vapour_speed : float
        Vapour speed at that moment, on the empty cross-section. [m s⁻¹]
    boiler_volume_end : float
        Liquid left in the boiler. [m³ at 20 °C]
    uncovered_after : float or None
        When the liquid falls below the heating element, since the first drop. [s] None: never.
    first_strength : float
        Of the first drops, 0 to 1.
    first_head_temperature : float
        [K]
    boiling_temperature_start, boiling_temperature_end : float
        Of the boiler. [K]
    boiler_strength_end : float
        0 to 1.
    take_off_peak : float
        Largest distillate rate. [m³ s⁻¹ at 20 °C]
    reflux_ratio_start, reflux_ratio_end : float
        All liquid returned from the head over distillate taken.
    steps : int
        Accepted integration steps, a stable measure of cost.
    stalled_for : float
        Time within the run in which nothing comes over. [s]
    heat_up_peak : float
        Heat into the liquid as it comes to the boil, before the power is turned to that of the
        run. [W]
    heat_up_duty : float
        What the condenser would have to take then, the distillate cooled to 20 °C. [W]
    """

    heat_up_time: float
    fill_time: float
    run_time: float
    energy: float
    condenser_heat: float
    condenser_peak: float
    coolant_heat: float
    boiler_heat_peak: float
    flood_fraction: float
    flood_vapour_speed: float
    boiler_volume_end: float
    uncovered_after: float | None
    first_strength: float
    first_head_temperature: float
    boiling_temperature_start: float
    boiling_temperature_end: float
    boiler_strength_end: float
    take_off_peak: float
    reflux_ratio_start: float
    reflux_ratio_end: float
    steps: int
    stalled_for: float = 0.0
    heat_up_peak: float = 0.0
    heat_up_duty: float = 0.0

    @property
    def vapour_heat_peak(self) -> float:
        """Largest heat that makes vapour, from the first boil to the end. [W]."""
        return max(self.boiler_heat_peak, self.heat_up_peak)


@dataclass(frozen=True, slots=True)
class Curve:
    """The dense run of a still; one entry per accepted step, time counted from the first drop.

    Parameters
    ----------
    time : ndarray, shape (n,)
        [s]
    volume : ndarray, shape (n,)
        Distillate so far, as mixed. [m³ at 20 °C]
    strength : ndarray, shape (n,)
        Of the distillate running off, 0 to 1.
    head_temperature, boiler_temperature : ndarray, shape (n,)
        [K]
    boiler_strength : ndarray, shape (n,)
        0 to 1.
    boiler_volume : ndarray, shape (n,)
        [m³ at 20 °C]
    take_off : ndarray, shape (n,)
        Distillate rate. [m³ s⁻¹ at 20 °C]
    power : ndarray, shape (n,)
        Setting, as a fraction of full power.
    water, ethanol : ndarray, shape (n,)
        Distilled so far. [kg]
    amounts : ndarray, shape (n, k)
        Distilled so far of each compound. [kg]
    rates : ndarray, shape (n, k)
        Concentration in the distillate running off. [mg L⁻¹]
    compounds : tuple of str, length k
    cuts : tuple of CutMark
    jars : tuple of Jar
    facts : RunFacts
    band : CurveBand or None
        Set in a prediction with draws.
    """

    time: NDArray[np.float64]
    volume: NDArray[np.float64]
    strength: NDArray[np.float64]
    head_temperature: NDArray[np.float64]
    boiler_temperature: NDArray[np.float64]
    boiler_strength: NDArray[np.float64]
    boiler_volume: NDArray[np.float64]
    take_off: NDArray[np.float64]
    power: NDArray[np.float64]
    water: NDArray[np.float64]
    ethanol: NDArray[np.float64]
    amounts: NDArray[np.float64]
    rates: NDArray[np.float64]
    compounds: tuple[str, ...]
    cuts: tuple[CutMark, ...]
    jars: tuple[Jar, ...]
    facts: RunFacts
    band: CurveBand | None = None

    def to_frame(self) -> pd.DataFrame:
        """Return the curve as a table: one row per step, a column per quantity and compound."""
        import pandas as pd  # noqa: PLC0415 - half a second that the command line need not pay

        columns: dict[str, Any] = {
            "time_s": self.time,
            "volume_m3": self.volume,
            "strength": self.strength,
            "head_temperature_K": self.head_temperature,
            "boiler_temperature_K": self.boiler_temperature,
            "boiler_strength": self.boiler_strength,
            "boiler_volume_m3": self.boiler_volume,
            "take_off_m3_s": self.take_off,
            "power": self.power,
        }
        for index, name in enumerate(self.compounds):
            columns[f"{name} [mg/L]"] = self.rates[:, index]
        return pd.DataFrame(columns)
