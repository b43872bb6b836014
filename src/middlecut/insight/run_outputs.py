# SPDX-License-Identifier: MIT
"""What the readings of many runs should be, and where each of their cuts ends."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from middlecut.insight.readings import Reading
from middlecut.insight.run_setup import CALL, CALLS, HEAD_OFFSET, JUGS, STRENGTH_OFFSET
from middlecut.liquid import alcoholometry

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from middlecut.insight.run_population import Population
    from middlecut.insight.run_setup import RunSetup
    from middlecut.steps.parameters import Until

    Array = NDArray[np.float64]

__all__ = ["CutPlan", "Observed", "Outlook", "cut_outlook", "deviation_of", "expected_of"]

WARMING = 2.0
"""How far the boiler may be from a straight line between power on and the first vapour. [K]"""


@dataclass(frozen=True, slots=True)
class Observed:
    """A usable reading on the clock of the run.

    Parameters
    ----------
    reading : Reading
        As it was written down.
    time : float
        Since the first drop; below 0 before it. [s]
    since : float
        Start of its jar. [s]
    heating : float or None
        Since power on, of a reading before the first drop. [s]
    value, spread : float
        True value and standard uncertainty, in SI.
    instrument : str
    """

    reading: Reading
    time: float
    since: float
    heating: float | None
    value: float
    spread: float
    instrument: str


@dataclass(frozen=True, slots=True)
class CutPlan:
    """A cut and when it ended, if it was called.

    Parameters
    ----------
    into : str
    until : Until
    ended : float or None
        When it was called, since the first drop. [s]
    latest : float or None
        When it must have ended, for a later cut was called then. [s]
    """

    into: str
    until: Until
    ended: float | None = None
    latest: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Outlook:
    """Where the cuts of many runs end and what they hold.

    Parameters
    ----------
    start, end : ndarray, shape (n, cuts)
        Since the first drop. [s] NaN where a sign never comes.
    volume, pure_alcohol : ndarray, shape (n, cuts)
        [m³ at 20 °C]
    """

    start: Array
    end: Array
    volume: Array
    pure_alcohol: Array


def deviation_of(setup: RunSetup, population: Population, name: str) -> Array:
    """Return a parameter of every run that is 0 at its centre, in its unit."""
    place = setup.names.index(name)
    return np.asarray(setup.beliefs[place].deviation * population.q[:, place])


def expected_of(
    setup: RunSetup, population: Population, observed: Sequence[Observed], caller: str
) -> Array:
    """Return what each reading should be in every run, instruments' offsets left out but two.

    Parameters
    ----------
    setup : RunSetup
    population : Population
    observed : sequence of Observed
    caller : str
        The instrument for strength that cuts are called by; its offset and that of the head
        thermometer are in, for the runs know them.

    Returns
    -------
    ndarray, shape (n, readings)
    """
    found = np.empty((len(population.q), len(observed)))
    strength_offset = deviation_of(setup, population, STRENGTH_OFFSET)
    head_offset = deviation_of(setup, population, HEAD_OFFSET)
    for column, one in enumerate(observed):
        values = _expected(setup, population, one)
        if one.instrument == caller:
            values = values + strength_offset
        elif one.instrument == "head thermometer":
            values = values + head_offset
        found[:, column] = values
    return found


def _expected(setup: RunSetup, population: Population, one: Observed) -> Array:
    name = one.reading.quantity
    if name == "first_drop_time":
        return population.first_drop
    if name == "coolant_duty":
        return _coolant(setup, population)
    if one.heating is not None and name == "boiler_temperature":
        return _warming(setup, population, one.heating)
    direct = {
        "distillate_strength": population.strength,
        "head_temperature": population.head_temperature,
        "boiler_temperature": population.boiler_temperature,
    }
    if name in direct:
        return _at(direct[name], population.time, one.time)
    return _amount(setup, population, one)


def _warming(setup: RunSetup, population: Population, heating: float) -> Array:
    """Return the temperature of the boiler while it warms: a straight line up to the boil."""
    step = setup.step
    start = setup.masses[3] if step.charge_temperature is None else step.charge_temperature
    share = np.minimum(heating / population.heat_up, 1.0)
    return np.asarray(start + share * (population.boiler_temperature[:, 0] - start))


def _amount(setup: RunSetup, population: Population, one: Observed) -> Array:
    """Return mass, volume or strength of what was collected."""
    name = one.reading.quantity
    since = one.since if name.startswith("jar_") else 0.0
    ethanol = _at(population.ethanol, population.time, one.time)
    water = _at(population.water, population.time, one.time)
    if since > 0.0:
        ethanol = ethanol - _at(population.ethanol, population.time, since)
        water = water - _at(population.water, population.time, since)
    mass = ethanol + water
    if name == "collected_mass":
        return mass
    share = np.clip(ethanol / np.maximum(mass, 1e-12), 0.0, 1.0)  # 0 kg at the first drop
    if name.endswith("_strength"):
        return np.asarray(alcoholometry.strength_from_mass_fraction(share))
    # A volume is read at the temperature of the jar, off marks that may be wrong.
    at = 293.15 if one.reading.temperature is None else one.reading.temperature
    marks = 1.0 + deviation_of(setup, population, JUGS)
    return np.asarray(marks * mass / alcoholometry.density(share, at))


def _coolant(setup: RunSetup, population: Population) -> Array:
    if "coolant_duty" not in setup.names:
        return np.full(len(population.q), setup.still.coolant_duty)
    place = setup.names.index("coolant_duty")
    return np.array([setup.beliefs[place].value(q) for q in population.q[:, place].tolist()])


def cut_outlook(setup: RunSetup, population: Population, cuts: Sequence[CutPlan]) -> Outlook:
    """Return where each cut of every run ends, by what the instruments show.

    Parameters
    ----------
    setup : RunSetup
    population : Population
    cuts : sequence of CutPlan
        In order.

    Returns
    -------
    Outlook
    """
    runs = len(population.q)
    shape = (runs, len(cuts))
    found = Outlook(np.zeros(shape), np.empty(shape), np.empty(shape), np.empty(shape))
    start = np.zeros(runs)
    for place, cut in enumerate(cuts):
        found.start[:, place] = start
        if cut.ended is not None:
            end = np.full(runs, cut.ended)
        else:
            end = _sign(setup, population, cut.until, start)
            if cut.latest is not None:
                end = np.fmin(end, cut.latest)
        found.end[:, place] = end
        volume, pure = between(population, start, end)
        found.volume[:, place], found.pure_alcohol[:, place] = volume, pure
        start = end
    return found


def between(population: Population, start: Array, end: Array) -> tuple[Array, Array]:
    """Return volume and pure alcohol collected between two times in every run.

    Parameters
    ----------
    population : Population
    start, end : ndarray, shape (n,)
        Since the first drop. [s]

    Returns
    -------
    volume, pure_alcohol : ndarray, shape (n,)
        [m³ at 20 °C] NaN where a time is.
    """
    grid = population.time
    ethanol = _at(population.ethanol, grid, end) - _at(population.ethanol, grid, start)
    water = _at(population.water, grid, end) - _at(population.water, grid, start)
    return _volume(ethanol, water), ethanol / alcoholometry.ETHANOL_DENSITY_20


def _sign(setup: RunSetup, population: Population, until: Until, start: Array) -> Array:
    """Return when the sign of a cut comes, not before its start; NaN if never."""
    grid = population.time
    call = deviation_of(setup, population, CALLS)
    if until.time is not None:
        return np.maximum(until.time, start)
    if until.strength is not None:
        error = deviation_of(setup, population, STRENGTH_OFFSET) + CALL["strength"] * call
        left = population.strength + error[:, np.newaxis] - until.strength
    elif until.head_temperature is not None:
        error = deviation_of(setup, population, HEAD_OFFSET) + CALL["temperature"] * call
        left = until.head_temperature - population.head_temperature - error[:, np.newaxis]
    elif until.volume is not None:
        before = [_at(rows, grid, start) for rows in (population.ethanol, population.water)]
        collected = _volume(
            population.ethanol - before[0][:, np.newaxis],
            population.water - before[1][:, np.newaxis],
        )
        marks = (1.0 + deviation_of(setup, population, JUGS)) * (1.0 + CALL["volume"] * call)
        left = until.volume - marks[:, np.newaxis] * collected
    else:
        left = population.boiler_volume - (until.boiler_volume or 0.0)
    return _first_fall(left, grid, start)


def _first_fall(left: Array, grid: Array, start: Array) -> Array:
    """Return when a row first falls to 0 after its start, by straight lines; NaN if never."""
    after = grid > start[:, np.newaxis]
    hit = after & (left <= 0.0)
    place = np.argmax(hit, axis=1)
    rows = np.arange(len(left))
    there = hit[rows, place]
    before = np.maximum(place - 1, 0)
    high, low = left[rows, before], left[rows, place]
    span = np.where(high > low, high - low, 1.0)
    part = np.clip(high / span, 0.0, 1.0)
    time = grid[rows, before] + part * (grid[rows, place] - grid[rows, before])
    return np.where(there, np.maximum(time, start), np.nan)


_SHARES = np.linspace(0.0, 1.0, 2001)


def _volume(ethanol: Array, water: Array) -> Array:
    """Return the volume of so much ethanol and water. [m³ at 20 °C]."""
    if not _DENSITIES:
        _DENSITIES.append(np.asarray(alcoholometry.density(_SHARES, 293.15)))
    mass = np.maximum(ethanol + water, 0.0)
    share = np.clip(ethanol / np.maximum(mass, 1e-12), 0.0, 1.0)
    return np.asarray(mass / np.interp(share, _SHARES, _DENSITIES[0]))


_DENSITIES: list[Array] = []


def _at(rows: Array, grid: Array, time: Array | float) -> Array:
    """Return each row at its time, by straight lines, flat beyond the ends; NaN stays NaN."""
    at = np.broadcast_to(np.asarray(time, dtype=float), (len(rows),))
    inside = np.clip(np.nan_to_num(at), grid[:, 0], grid[:, -1])
    right = np.clip((grid < inside[:, np.newaxis]).sum(axis=1), 1, grid.shape[1] - 1)
    index = np.arange(len(rows))
    before, after = grid[index, right - 1], grid[index, right]
    part = (inside - before) / np.maximum(after - before, 1e-9)
    low, high = rows[index, right - 1], rows[index, right]
    return np.asarray(np.where(np.isnan(at), np.nan, low + part * (high - low)))


def along(population: Population, name: str, time: Array | float) -> Array:
    """Return a quantity of every run at a time.

    Parameters
    ----------
    population : Population
    name : str
        Name of a field on the grid of time.
    time : float or ndarray, shape (n,)
        Since the first drop. [s]

    Returns
    -------
    ndarray, shape (n,)
        In SI.
    """
    return _at(getattr(population, name), population.time, time)


def level_reached(population: Population, volume: float) -> Array:
    """Return when the boiler of every run holds no more than a volume.

    Parameters
    ----------
    population : Population
    volume : float
        [m³]

    Returns
    -------
    ndarray, shape (n,)
        Since the first drop. [s] NaN: not as long as it is followed.
    """
    left = population.boiler_volume - volume
    return _first_fall(left, population.time, np.full(len(left), -1.0))
