# SPDX-License-Identifier: MIT
"""Readings of the record in the form that fits and forecasts take: seconds since a start."""

from __future__ import annotations

from datetime import datetime

from middlecut.app.batch import Batch, Reading
from middlecut.app.running_totals import set_aside
from middlecut.app.spirit_events import CutCalled, JarFilled, PowerSet
from middlecut.insight.readings import PROOF_SCALE
from middlecut.insight.readings import Reading as Instrumental

__all__ = ["first_drop", "gravity_readings", "power_shares", "run_readings"]

_OF_A_RUN = {
    "strength": "distillate_strength",
    "true_strength": "distillate_strength",
    "volume": "collected_volume",
    "mass": "collected_mass",
    "head_temperature": "head_temperature",
    "boiler_temperature": "boiler_temperature",
}
_OF_A_WASH = {"gravity": "gravity", "true_gravity": "gravity", "refraction": "refraction"}


def first_drop(state: Batch, step: str) -> datetime | None:
    """Return when the first drop came: the moment the first cut was called."""
    called = [event.utc for event, body in state.of(CutCalled) if body.step == step]
    return min(called) if called else None


def gravity_readings(state: Batch, step: str, start: datetime) -> tuple[Instrumental, ...]:
    """Return the gravity readings of a fermentation, timed since pitching.

    Parameters
    ----------
    state : Batch
    step : str
    start : datetime
        When the yeast went in.

    Returns
    -------
    readings : tuple of Reading
        In order of time; those of lots set aside are left out.
    """
    return tuple(
        _instrumental(one, _OF_A_WASH[one.taken.quantity], start)
        for one in state.readings(step)
        if one.taken.quantity in _OF_A_WASH and one.taken.lot is None
    )


def run_readings(state: Batch, step: str, start: datetime) -> tuple[Instrumental, ...]:
    """Return the readings of a run, timed since its first drop; jars as spans of time.

    Parameters
    ----------
    state : Batch
    step : str
    start : datetime
        The first drop.

    Returns
    -------
    readings : tuple of Reading
        In order of time. Readings of single lots or jars, those before the first drop and totals
        that contradict others are left out.
    """
    unused = {one.reading.id for one in set_aside(state, step)}
    found = [
        _instrumental(one, _OF_A_RUN[one.taken.quantity], start)
        for one in state.readings(step)
        if one.taken.quantity in _OF_A_RUN
        and one.taken.lot is None
        and one.taken.jar is None
        and one.utc >= start
        and one.id not in unused
    ]
    return tuple(sorted((*found, *_jars(state, step, start)), key=lambda one: one.time))


def power_shares(
    state: Batch, step: str, start: datetime, *, full_power: float
) -> tuple[tuple[float, float], ...]:
    """Return each setting of the heat as seconds since a start and a share of full power.

    Parameters
    ----------
    state : Batch
    step : str
    start : datetime
    full_power : float
        Of the heater. [W]

    Returns
    -------
    changes : tuple of (float, float)
        In order of time; settings before the start have a time below 0.
    """
    found = []
    for event, body in state.of(PowerSet):
        if body.step == step:
            share = body.share if body.share is not None else (body.power or 0.0) / full_power
            found.append(((event.utc - start).total_seconds(), min(share, 1.0)))
    return tuple(sorted(found))


def _instrumental(one: Reading, quantity: str, start: datetime) -> Instrumental:
    taken = one.taken
    instrument = taken.instrument
    if taken.reference == "60F":
        instrument = PROOF_SCALE
    elif taken.quantity in {"true_strength", "true_gravity"}:
        instrument = "density meter"  # shows the value at 20 °C by itself
    return Instrumental(
        time=(one.utc - start).total_seconds(),
        quantity=quantity,
        value=taken.value,
        uncertainty=taken.uncertainty,
        temperature=taken.temperature,
        instrument=instrument,
    )


def _jars(state: Batch, step: str, start: datetime) -> list[Instrumental]:
    marks = sorted(event.utc for event, body in state.of(CutCalled) if body.step == step)
    filled = [(event.utc, body) for event, body in state.of(JarFilled) if body.step == step]
    found = []
    for at, jar in sorted(filled, key=lambda pair: pair[0]):
        if jar.strength is None or at <= start:
            continue
        began = max(moment for moment in (start, *marks) if moment < at)
        marks.append(at)
        found.append(
            Instrumental(
                time=(at - start).total_seconds(),
                quantity="jar_strength",
                value=jar.strength,
                temperature=jar.temperature,
                instrument=PROOF_SCALE if jar.reference == "60F" else _jar_instrument(jar),
                since=(began - start).total_seconds(),
            )
        )
    return found


def _jar_instrument(jar: JarFilled) -> str:
    return "density meter" if jar.temperature is None else ""
