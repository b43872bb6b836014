# SPDX-License-Identifier: MIT
"""What the readings of a run should be if a still were so and so."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from middlecut.errors import ConvergenceError, InputError, NotFoundError
from middlecut.insight.readings import Reading
from middlecut.liquid import alcoholometry
from middlecut.plan.predict import predict
from middlecut.steps.distil import distil
from middlecut.steps.lot import Lot
from middlecut.steps.mixing import mixed
from middlecut.steps.parameters import Cut, Distil, PowerChange, Take, Until
from middlecut.steps.scenario import Scenario

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from numpy.typing import NDArray

    from middlecut.plan.model import Plan
    from middlecut.steps.curve import Curve
    from middlecut.steps.still import Still

    Array = NDArray[np.float64]

__all__ = [
    "CHARGE",
    "LoggedRun",
    "as_timed",
    "collected_along",
    "expected_readings",
    "instrument_of",
    "log_run",
    "run_curve",
    "smooth_along",
]

CHARGE = "charge"
MARGIN = 60.0
"""How far beyond the last reading a run is followed. [s]"""


@dataclass(frozen=True, slots=True)
class LoggedRun:
    """One run as it was carried out, with its readings.

    Parameters
    ----------
    name : str
    step : Distil
        One cut that ends after the last reading; settings change at times.
    charge : Lot
        What was in the boiler, compounds left out.
    pressure : float
        [Pa]
    readings : tuple of Reading
        Checked ones only.
    """

    name: str
    step: Distil
    charge: Lot
    pressure: float
    readings: tuple[Reading, ...] = field(default=())


def log_run(
    plan: Plan,
    step_id: str,
    readings: Iterable[Reading],
    *,
    charge: Lot | None = None,
    power_changes: tuple[tuple[float, float], ...] | None = None,
    cut_ends: tuple[float, ...] | None = None,
) -> LoggedRun:
    """Return a run of a plan as it was carried out.

    Parameters
    ----------
    plan : Plan
        What was intended.
    step_id : str
        Of the distil step.
    readings : iterable of Reading
        Checked readings, times since the first drop.
    charge : Lot or None
        What was really loaded; None: what the plan predicts.
    power_changes : tuple of (float, float) or None
        Time since the first drop [s] and setting (fraction of full power) of each change made;
        None: as the plan says.
    cut_ends : tuple of float or None
        Times since the first drop at which the cuts really ended [s]; None: as predicted.

    Returns
    -------
    LoggedRun
        The run.

    Raises
    ------
    NotFoundError
        If the plan has no distil step of that id.
    InputError
        If the number of cut ends is not that of the cuts.
    """
    step = plan.step(step_id)
    if not isinstance(step, Distil):
        ids = tuple(one.id for one in plan.steps if isinstance(one, Distil))
        raise NotFoundError("distil step", step_id, ids[:3])
    result = predict(plan).steps[step_id]
    if charge is None:
        charge = mixed(tuple(result.used.values()), CHARGE)
    else:
        step = replace(step, water=0.0)
    ends = cut_ends
    if ends is None and result.curve is not None:
        ends = tuple(mark.end for mark in result.curve.cuts)
    if ends is None or len(ends) != len(step.cuts):
        raise InputError("cut_ends", ends, f"the step has {len(step.cuts)} cuts; give each an end")
    used = tuple(readings)
    last = max((reading.time for reading in used), default=0.0) + MARGIN
    bare = replace(charge, name=CHARGE, amounts={})
    timed = as_timed(step, ends, last, power_changes)
    return LoggedRun(step_id, timed, bare, plan.batch.pressure, used)


def as_timed(
    step: Distil,
    ends: tuple[float, ...],
    last: float,
    power_changes: tuple[tuple[float, float], ...] | None,
) -> Distil:
    """Turn cuts and changes into ones that happen at times, and end after the last reading.

    Parameters
    ----------
    step : Distil
    ends : tuple of float
        When each cut ended, since the first drop. [s]
    last : float
        How far the run is followed. [s]
    power_changes : tuple of (float, float) or None
        Time [s] and setting of each change; None: as the step says.

    Returns
    -------
    Distil
        Taking one charge, without jars.
    """
    cuts = []
    for cut, end in zip(step.cuts, ends, strict=True):
        final = end >= last or cut is step.cuts[-1]
        until = Until(time=last if final else end)
        cuts.append(replace(cut, until=until, jar_volume=None))
        if final:
            break
    changes = step.power_changes
    if power_changes is not None:
        changes = tuple(PowerChange(Until(time=at), setting) for at, setting in power_changes)
    return replace(
        step, takes=(Take(CHARGE),), cuts=tuple(cuts), power_changes=changes, purpose="spirit"
    )


_AS_LOGGED = Scenario(lean=True)
"""A run that was made is not refused by a rule for plans."""


def run_curve(run: LoggedRun, still: Still) -> Curve:
    """Return the curve of a logged run for one description of the still.

    Parameters
    ----------
    run : LoggedRun
        The run.
    still : Still
        The description.

    Returns
    -------
    Curve
        To the last reading, or until the boiler is nearly dry.

    Raises
    ------
    InputError
        If no distillate comes over at all.
    ConvergenceError
        If the integration fails.
    """
    try:
        found = distil(
            run.step, (run.charge,), still=still, pressure=run.pressure, scenario=_AS_LOGGED
        )
    except InputError as error:
        if not error.field.startswith("cuts["):
            raise
        nearly_dry = 0.03 * run.charge.volume
        cut: Cut = replace(run.step.cuts[0], until=Until(boiler_volume=nearly_dry))
        step = replace(run.step, cuts=(cut,))
        found = distil(step, (run.charge,), still=still, pressure=run.pressure, scenario=_AS_LOGGED)
    if found.curve is None:
        raise ConvergenceError("The run", 0, math.nan)
    return found.curve


def expected_readings(
    run: LoggedRun,
    still: Still,
    offsets: Mapping[str, float],
    *,
    memory: dict[Still, Array] | None = None,
) -> Array:
    """Return what each reading of a run should be.

    Parameters
    ----------
    run : LoggedRun
        The run.
    still : Still
        The description.
    offsets : mapping of str to float
        What each instrument shows too much, by name.
    memory : dict or None
        Readings of this very run by still, offsets left out; filled, and used instead of a run.

    Returns
    -------
    ndarray
        In SI, in the order of the readings.

    Raises
    ------
    InputError
        If no distillate comes over at all.
    ConvergenceError
        If an integration fails.
    """
    found = None if memory is None else memory.get(still)
    if found is None:
        found = _readings(run, still, run_curve(run, still))
    if memory is not None:
        memory[still] = found
    shift = [offsets.get(instrument_of(reading), 0.0) for reading in run.readings]
    return np.asarray(found + np.array(shift))


def instrument_of(reading: Reading) -> str:
    """Return the name of the instrument of a reading; the quantity's own where none is given."""
    if reading.instrument:
        return reading.instrument
    usual = {
        "head_temperature": "head thermometer",
        "boiler_temperature": "boiler thermometer",
        "distillate_strength": "alcoholometer",
        "collected_strength": "alcoholometer",
        "jar_strength": "alcoholometer",
        "gravity": "hydrometer",
    }
    return usual.get(reading.quantity, "")


def _readings(run: LoggedRun, still: Still, curve: Curve) -> Array:
    """Return what each reading should be, all readings of a quantity at once."""
    found = np.empty(len(run.readings))
    names = [reading.quantity for reading in run.readings]
    for name in dict.fromkeys(names):
        index = [place for place, other in enumerate(names) if other == name]
        found[index] = _of_quantity(name, [run.readings[i] for i in index], still, curve)
    return found


def _of_quantity(name: str, readings: list[Reading], still: Still, curve: Curve) -> Array:
    if name == "first_drop_time":
        return np.full(len(readings), curve.facts.heat_up_time + curve.facts.fill_time)
    if name == "coolant_duty":
        return np.full(len(readings), still.coolant_duty)
    time = np.array([reading.time for reading in readings])
    direct = {
        "distillate_strength": curve.strength,
        "head_temperature": curve.head_temperature,
        "boiler_temperature": curve.boiler_temperature,
    }
    if name in direct:
        return smooth_along(time, curve.time, direct[name])
    water, ethanol = collected_along(curve, time)
    if name.startswith("jar_"):
        since = np.array([reading.since or 0.0 for reading in readings])
        before = collected_along(curve, since)
        water, ethanol = water - before[0], ethanol - before[1]
    mass = water + ethanol
    if name == "collected_mass":
        return np.asarray(mass)
    share = np.clip(ethanol / np.maximum(mass, 1e-12), 0.0, 1.0)  # 0 kg at the first drop
    if name.endswith("_strength"):
        return np.asarray(alcoholometry.strength_from_mass_fraction(share))
    # A volume is read at the temperature of the jar.
    at = np.array([293.15 if one.temperature is None else one.temperature for one in readings])
    return np.asarray(mass / alcoholometry.density(share, at))


@lru_cache(maxsize=1)
def _strengths() -> tuple[Array, Array]:
    """Return mass fractions and their strengths, to look the first up by the second."""
    shares = np.linspace(0.0, 1.0, 2001)
    return shares, np.asarray(alcoholometry.strength_from_mass_fraction(shares))


def collected_along(curve: Curve, time: Array) -> tuple[Array, Array]:
    """Return water and ethanol collected by these times, by cubics with the true slopes.

    A straight line between the rows of a curve would be off by a tenth of a per cent of strength
    in a jar, in jumps that a fit would take for signals.
    """
    shares, strengths = _strengths()
    share = np.interp(curve.strength, strengths, shares)
    ethanol = curve.take_off * curve.strength * alcoholometry.ETHANOL_DENSITY_20
    water = ethanol * (1.0 - share) / np.maximum(share, 1e-9)
    return _cubic(time, curve.time, curve.water, water), _cubic(
        time, curve.time, curve.ethanol, ethanol
    )


def smooth_along(at: Array, time: Array, value: Array) -> Array:
    """Return what a smooth line through the rows of a curve shows at these times."""
    kept = np.flatnonzero(np.diff(time, append=math.inf) > 0.0)  # two rows at a change of power
    known, values = time[kept], value[kept]
    if len(known) < 3:
        return np.asarray(np.interp(at, known, values))
    return _cubic(at, known, values, np.gradient(values, known))


def _cubic(at: Array, time: Array, value: Array, slope: Array) -> Array:
    """Return Hermite's cubic through values with slopes; flat beyond the ends."""
    inside = np.clip(at, time[0], time[-1])
    right = np.clip(np.searchsorted(time, inside, side="left"), 1, len(time) - 1)
    left = right - 1
    width = np.maximum(time[right] - time[left], 1e-9)
    t = (inside - time[left]) / width
    rise = value[right] - value[left]
    bend = slope[left] * width - rise, rise - slope[right] * width
    return np.asarray(value[left] + t * rise + t * (1.0 - t) * ((1.0 - t) * bend[0] + t * bend[1]))
