# SPDX-License-Identifier: MIT
"""Turn the kernel's rows into the curve, cut marks, jars and facts of a run."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from middlecut.errors import InputError
from middlecut.liquid import alcoholometry
from middlecut.steps import kernel
from middlecut.steps.curve import Curve, CutMark, Jar, RunFacts
from middlecut.steps.lot import SOLIDS_VOLUME
from middlecut.steps.medium import even
from middlecut.units import format_quantity

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from middlecut.steps.columns import Columns
    from middlecut.steps.lot import Lot
    from middlecut.steps.medium import Medium
    from middlecut.steps.parameters import Cut, Distil
    from middlecut.steps.rows import Rows, Segment
    from middlecut.steps.run import Outcome
    from middlecut.steps.still import Still

    Array = NDArray[np.float64]

__all__ = ["make_curve"]

GAS_CONSTANT = 8.314462618  # J mol⁻¹ K⁻¹, CODATA 2018 (exact)
JARS = 2000
"""Most jars of one cut."""
HOT_LIQUID = 0.94
"""Density of a boiling ethanol-water mixture over its density at 20 °C (0.93 to 0.96)."""


class _Views:
    """Columns of the rows in the units of the curve."""

    def __init__(self, medium: Medium, charge: Lot, rows: Rows) -> None:
        table = medium.table
        grid = even(len(table))
        weights = even(len(medium.density))
        self._weights, self._densities = weights, medium.density
        x_boiler = rows.state[:, 0] / rows.state[:, 1]
        # When all ethanol has gone the integrator may leave 1e-5 less than none.
        self.distillate, self.top_vapour = np.maximum(rows.vapour, 0.0).T
        # The thermometer hangs in the vapour: its dew point. Along the table its fraction rises.
        self.head_temperature = np.interp(self.distillate, table[:, 1], table[:, 0])
        self.boiler_temperature = np.interp(x_boiler, grid, table[:, 0])
        self.vapour_enthalpy = np.interp(self.distillate, table[:, 1], table[:, 4])
        self.condensate_enthalpy = np.interp(self.distillate, grid, table[:, 2])
        self.boiler_vapour = np.interp(x_boiler, grid, table[:, 1])
        self.top_temperature = np.interp(self.top_vapour, table[:, 1], table[:, 0])
        self.strength = self.strength_of(self.distillate)
        self.molar_volume = self.volume_of(self.distillate, 1.0)
        self.volume = self.volume_of(rows.state[:, -2], rows.state[:, -1])
        liquid = self.volume_of(rows.state[:, 0], rows.state[:, 1])
        self.boiler_volume = liquid + charge.solids * SOLIDS_VOLUME
        pure = rows.state[:, 0] * kernel.ETHANOL / alcoholometry.ETHANOL_DENSITY_20
        self.boiler_strength = pure / self.boiler_volume

    def density(self, mass_fraction: Array) -> Array:
        """Return the density of a mixture at 20 °C. [kg m⁻³]."""
        return np.interp(mass_fraction, self._weights, self._densities)

    def volume_of(self, ethanol: Array, total: Array | float) -> Array:
        """Return the volume of so many moles at 20 °C. [m³]."""
        mass_e = ethanol * kernel.ETHANOL
        mass = mass_e + (total - ethanol) * kernel.WATER
        share = np.divide(mass_e, mass, out=np.zeros_like(mass), where=mass > 0.0)
        return np.asarray(mass / self.density(share))

    def strength_of(self, mole_fraction: Array) -> Array:
        """Return the strength of a mixture by its mole fraction."""
        pure = mole_fraction * kernel.ETHANOL / alcoholometry.ETHANOL_DENSITY_20
        return pure / self.volume_of(mole_fraction, 1.0)


def make_curve(
    *,
    parameters: Distil,
    still: Still,
    medium: Medium,
    charge: Lot,
    columns: Columns,
    outcome: Outcome,
    heat_up_time: float,
) -> Curve:
    """Make the curve of a run from the kernel's rows.

    Parameters
    ----------
    parameters : Distil
    still : Still
    medium : Medium
    charge : Lot
    columns : Columns
    outcome : Outcome
    heat_up_time : float
        [s]

    Returns
    -------
    Curve
        With its cut marks, jars and facts.
    """
    rows, segments = outcome.rows, outcome.segments
    views = _Views(medium, charge, rows)
    take_off = rows.flow[:, 3] * views.molar_volume
    flowing = np.where(take_off > 0.0, take_off, np.inf)
    facts = _facts(parameters, still, medium.pressure, outcome, views, heat_up_time=heat_up_time)
    return Curve(
        time=rows.time,
        volume=views.volume,
        strength=views.strength,
        head_temperature=views.head_temperature,
        boiler_temperature=views.boiler_temperature,
        boiler_strength=views.boiler_strength,
        boiler_volume=views.boiler_volume,
        take_off=take_off,
        power=rows.setting[:, 0],
        water=(rows.state[:, -1] - rows.state[:, -2]) * kernel.WATER,
        ethanol=rows.state[:, -2] * kernel.ETHANOL,
        amounts=columns.weigh(rows.share),
        rates=columns.weigh(rows.slope) * (1e3 / flowing[:, np.newaxis]),
        compounds=columns.names,
        cuts=_marks(parameters, rows, segments, views),
        jars=_jars(parameters, medium.density, outcome, columns),
        facts=facts,
    )


def _marks(
    parameters: Distil, rows: Rows, segments: tuple[Segment, ...], views: _Views
) -> tuple[CutMark, ...]:
    marks = []
    for cut, segment in zip(parameters.cuts, segments, strict=True):
        a, b = segment.first, segment.last
        ethanol, total = rows.state[b, -2:] - rows.state[a, -2:]
        volume = float(views.volume_of(np.array([ethanol]), np.array([total]))[0])
        pure = float(ethanol) * kernel.ETHANOL / alcoholometry.ETHANOL_DENSITY_20
        marks.append(
            CutMark(
                into=cut.into,
                start=float(rows.time[a]),
                end=float(rows.time[b]),
                volume=volume,
                strength=pure / volume if volume > 0.0 else 0.0,
                strength_start=float(views.strength[a]),
                strength_end=float(views.strength[b]),
                head_temperature_start=float(views.head_temperature[a]),
                head_temperature_end=float(views.head_temperature[b]),
                boiler_temperature_end=float(views.boiler_temperature[b]),
                collected_end=float(views.volume[b]),
                power=float(rows.setting[a, 0]),
            )
        )
    return tuple(marks)


def _jars(
    parameters: Distil, density: Array, outcome: Outcome, columns: Columns
) -> tuple[Jar, ...]:
    jars: list[Jar] = []
    rows, names = outcome.rows, columns.names
    bulk, bulk_slope = np.ascontiguousarray(rows.state[:, -2:]), rows.rate
    for index, (cut, segment) in enumerate(zip(parameters.cuts, outcome.segments, strict=True)):
        if cut.jar_volume is None:
            continue
        start, end = float(rows.time[segment.first]), float(rows.time[segment.last])
        _check_jars(index, cut, rows, segment)
        times = kernel.locate_collected(
            rows.time, bulk, bulk_slope, density, start, end, cut.jar_volume
        )
        moments = [start, *times.tolist()]
        here, there = np.empty((len(moments), 2)), np.empty((len(moments), rows.share.shape[1]))
        for row, moment in enumerate(moments):
            kernel.interpolate_rows(rows.time, bulk, bulk_slope, moment, here[row])
            kernel.interpolate_rows(rows.time, rows.share, rows.slope, moment, there[row])
        ethanol, total = np.diff(here, axis=0).T
        mass_e = ethanol * kernel.ETHANOL
        mass = mass_e + (total - ethanol) * kernel.WATER
        volume = mass / alcoholometry.density_20(np.clip(mass_e / mass, 0.0, 1.0))
        found = columns.weigh(np.diff(there, axis=0)) * (1e3 / volume)[:, np.newaxis]
        strength = mass_e / alcoholometry.ETHANOL_DENSITY_20 / volume
        jars += [
            Jar(
                cut=cut.into,
                number=len(jars) + 1 + jar,
                start=moments[jar],
                end=moments[jar + 1],
                volume=float(volume[jar]),
                strength=float(strength[jar]),
                compounds=dict(zip(names, found[jar].tolist(), strict=True)),
            )
            for jar in range(len(times))
        ]
    return tuple(jars)


def _check_jars(index: int, cut: Cut, rows: Rows, segment: Segment) -> None:
    moles = float(rows.state[segment.last, -1] - rows.state[segment.first, -1])
    most = moles * 6e-5 / (cut.jar_volume or 1.0)  # a mole of ethanol fills 58 mL
    if most > JARS:
        raise InputError(
            f"cuts[{index}].jars",
            format_quantity(cut.jar_volume or 0.0, "volume"),
            f"the cut would fill some {most:.0f} jars, and {JARS} is the most",
            "Take larger jars, or leave jars out to collect in one vessel.",
        )


def _facts(
    parameters: Distil,
    still: Still,
    pressure: float,
    outcome: Outcome,
    views: _Views,
    *,
    heat_up_time: float,
) -> RunFacts:
    rows, fill_time = outcome.rows, outcome.fill_time
    power, coolant, ratio = rows.setting.T
    rate, reflux = rows.flow[:, 3], rows.flow[:, 2]
    # All that reaches the condenser is condensed; the distillate is cooled to the datum, 20 °C.
    duty = rate * (
        (1.0 + ratio) * (views.vapour_enthalpy - views.condensate_enthalpy)
        + views.condensate_enthalpy
    )
    into = power * still.heater_power * still.heater_efficiency - still.boiler_loss
    taken = np.where(rate > 0.0, coolant, np.minimum(coolant, into))
    # A head that divides its condensate returns what the product condenser has condensed.
    held = outcome.held_heat
    divided = still.reflux_ratio is not None
    hold_peak = held / parameters.total_reflux if divided and parameters.total_reflux else 0.0
    heater = still.heater_power
    electric = heater * parameters.heat_up_power * heat_up_time
    electric += heater * parameters.power * fill_time
    heat_up = heater * parameters.heat_up_power * still.heater_efficiency - still.boiler_loss
    heat_up = max(heat_up, 0.0)
    # Of more vapour than at the first drop all has to be condensed, and what is taken cooled.
    latent = views.vapour_enthalpy[0] - views.condensate_enthalpy[0]
    slope = 1.0 + views.condensate_enthalpy[0] / latent / (1.0 + ratio[0])
    flood, speed = _flooding(still, pressure, rows, views)
    returned = np.divide(reflux, rate, out=np.zeros_like(rate), where=rate > 0.0) + ratio
    covered = views.boiler_volume > still.element_covered_above
    uncovered = None
    if still.element_covered_above > 0.0 and not covered.all():
        uncovered = float(np.interp(-still.element_covered_above, -views.boiler_volume, rows.time))
    return RunFacts(
        heat_up_time=heat_up_time,
        fill_time=fill_time,
        run_time=float(rows.time[-1]),
        energy=float(electric + np.trapezoid(power * heater, rows.time)),
        condenser_heat=float(np.trapezoid(duty, rows.time)) + (held if divided else 0.0),
        condenser_peak=max(float(duty.max()), hold_peak),
        coolant_heat=float(np.trapezoid(taken, rows.time)) + (0.0 if divided else held),
        boiler_heat_peak=float(power.max() * heater * still.heater_efficiency - still.boiler_loss),
        flood_fraction=flood,
        flood_vapour_speed=speed,
        boiler_volume_end=float(views.boiler_volume[-1]),
        uncovered_after=uncovered,
        first_strength=float(views.strength[0]),
        first_head_temperature=float(views.head_temperature[0]),
        boiling_temperature_start=float(views.boiler_temperature[0]),
        boiling_temperature_end=float(views.boiler_temperature[-1]),
        boiler_strength_end=float(views.boiler_strength[-1]),
        take_off_peak=float((rate * views.molar_volume).max()),
        reflux_ratio_start=float(returned[0]),
        reflux_ratio_end=float(returned[-1]),
        steps=rows.count,
        stalled_for=_stalled(rows),
        heat_up_peak=heat_up,
        heat_up_duty=float(duty[0]) + (heat_up - float(into[0])) * float(slope),
    )


def _stalled(rows: Rows) -> float:
    """Return the time within the run in which nothing comes over. [s]."""
    still_time = np.diff(rows.time) * (rows.flow[1:, 3] <= 0.0)
    return float(still_time.sum())


def _flooding(still: Still, pressure: float, rows: Rows, views: _Views) -> tuple[float, float]:
    """Return the largest vapour load over flooding (Souders and Brown) and its speed.

    The liquid's density is taken at the vapour's composition, which matters by its square root.
    """
    if still.column_diameter <= 0.0 or rows.levels == 0:
        return 0.0, 0.0
    area = np.pi * still.column_diameter**2 / 4.0
    worst, speed = 0.0, 0.0
    places = (
        (rows.flow[:, 0], views.boiler_vapour, views.boiler_temperature),
        (rows.flow[:, 1], views.top_vapour, views.top_temperature),
    )
    for flow, y, temperature in places:
        molar_mass = y * kernel.ETHANOL + (1.0 - y) * kernel.WATER
        gas = pressure / (GAS_CONSTANT * temperature)  # mol m⁻³
        liquid = HOT_LIQUID * views.density(y * kernel.ETHANOL / molar_mass)
        speeds = flow / gas / area
        limit = still.flood_capacity * np.sqrt((liquid - gas * molar_mass) / (gas * molar_mass))
        index = int(np.argmax(speeds / limit))
        if speeds[index] / limit[index] > worst:
            worst, speed = float(speeds[index] / limit[index]), float(speeds[index])
    return worst, speed
