# SPDX-License-Identifier: MIT
"""The account of pure alcohol: what was collected and bottled, by batch and by period.

It rests on what was measured only; nothing predicted goes in. A jar or lot without a strength is
listed without a number, so that a gap shows. Whoever has to account to an authority keeps its own
forms; this is a help, not a tax return.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from typing import Literal, TypedDict

from middlecut.app.batch import Batch, Reading
from middlecut.app.codec import parse_utc, render_utc
from middlecut.app.spirit_events import BottlesFilled, JarFilled
from middlecut.errors import InputError, OutOfRangeError

__all__ = [
    "AlcoholEntry",
    "AlcoholSum",
    "Overdrawn",
    "alcohol_entries",
    "alcohol_sums",
    "overdrawn",
    "true_strength_of",
    "volume_at_20",
]

Period = Literal["month", "quarter", "year"]


class AlcoholEntry(TypedDict):
    """One line of the account.

    ``kind`` is "collected" or "bottled"; ``volume`` is in m³ as measured and ``pure_alcohol`` in m³
    at 20 °C, None where it was not measured.
    """

    utc: str
    step: str
    kind: str
    what: str
    volume: float
    strength: float | None
    pure_alcohol: float | None


@dataclass(frozen=True, slots=True)
class AlcoholSum:
    """The account of one period.

    Parameters
    ----------
    period : str
        "2027-03", "2027 Q1" or "2027".
    collected, bottled : float
        Pure alcohol. [m³ at 20 °C]
    unknown : int
        Lines without a strength.
    """

    period: str
    collected: float
    bottled: float
    unknown: int


@dataclass(frozen=True, slots=True)
class Overdrawn:
    """A batch of which more alcohol was bottled than collected.

    Parameters
    ----------
    batch : str
        Its id.
    collected, bottled : float
        Pure alcohol. [m³ at 20 °C]
    """

    batch: str
    collected: float
    bottled: float


def true_strength_of(
    strength: float | None, temperature: float | None, reference: str
) -> float | None:
    """Return the strength at 20 °C behind a strength as read.

    Parameters
    ----------
    strength : float or None
        As read, 0 to 1.
    temperature : float or None
        Of the liquid. [K] None: the strength is already that at 20 °C.
    reference : str
        "20C" or "60F".

    Returns
    -------
    strength : float or None
        0 to 1; None if it is not known or the correction does not reach so far.
    """
    if strength is None or temperature is None:
        return strength
    from middlecut.liquid import alcoholometry  # noqa: PLC0415 - numerics only when needed

    try:
        if reference == "60F":
            proof = 200.0 * float(alcoholometry.true_strength(strength, temperature, "60F"))
            return float(alcoholometry.strength_from_proof(proof))
        return float(alcoholometry.true_strength(strength, temperature, "20C"))
    except OutOfRangeError:
        return None


def volume_at_20(volume: float, strength: float, temperature: float | None) -> float:
    """Return the volume at 20 °C of one measured at another temperature.

    Parameters
    ----------
    volume : float
        As it stood. [m³]
    strength : float
        At 20 °C, 0 to 1.
    temperature : float or None
        [K] None: at 20 °C.

    Returns
    -------
    volume : float
        [m³ at 20 °C]

    Raises
    ------
    OutOfRangeError
        If it was measured so hot that the formula does not reach.
    """
    if temperature is None:
        return volume
    from middlecut.liquid import alcoholometry  # noqa: PLC0415 - numerics only when needed

    mass_fraction = alcoholometry.mass_fraction_from_strength(strength)
    return float(
        alcoholometry.volume_20_from_volume(
            volume, mass_fraction=mass_fraction, temperature=temperature
        )
    )


@dataclass(frozen=True, slots=True)
class _Measured:
    """A volume with its strength at 20 °C, at the temperature it was measured at."""

    volume: float
    strength: float | None
    temperature: float | None = None


def _entry(moment: datetime, *, step: str, kind: str, what: str, held: _Measured) -> AlcoholEntry:
    return AlcoholEntry(
        utc=render_utc(moment),
        step=step,
        kind=kind,
        what=what,
        volume=held.volume,
        strength=_rounded(held.strength),
        pure_alcohol=_rounded(_pure(held)),
    )


def _rounded(value: float | None) -> float | None:
    """Return 12 digits, so that the last bit of another machine's arithmetic changes nothing."""
    return None if value is None else float(f"{value:.12g}")


def _pure(held: _Measured) -> float | None:
    if held.strength is None:
        return None
    try:
        return volume_at_20(held.volume, held.strength, held.temperature) * held.strength
    except OutOfRangeError:  # measured so hot that the formula does not reach
        return None


def alcohol_entries(state: Batch) -> list[AlcoholEntry]:
    """Return the account of a batch.

    A lot is counted by its jars; without jars by its last measured volume and strength. Lots of
    fermentations and blends are measured too, but they are no new alcohol: only runs of the still
    collect.

    Parameters
    ----------
    state : Batch

    Returns
    -------
    entries : list of AlcoholEntry
        In the order of time.
    """
    found = [_jar_entry(event.utc, jar) for event, jar in state.of(JarFilled)]
    found.extend(
        _lot_entry(step, lot, readings)
        for (step, lot), readings in _measured_lots(state).items()
        if "volume" in readings
    )
    found.extend(
        _entry(
            event.utc,
            step=body.step,
            kind="bottled",
            what=body.lot_number or "bottles",
            held=_Measured(body.count * body.bottle_volume, body.strength),
        )
        for event, body in state.of(BottlesFilled)
    )
    return sorted(found, key=lambda entry: entry["utc"])


def _measured_lots(state: Batch) -> dict[tuple[str, str], dict[str, Reading]]:
    """Return the last reading of each quantity of the lots that runs made without jars."""
    outlines = [one.outline for one in state.steps()]
    runs = {one.step for one in outlines if one.kind == "distil"}
    made = {(one.step, lot) for one in outlines for lot in one.makes}
    # The last that a run makes is what stays in the boiler.
    residues = {(one.step, one.makes[-1]) for one in outlines if one.step in runs and one.makes}
    jarred = {(jar.step, jar.lot) for jar in state.jars()}
    names = {lot for _, lot in made}
    found: dict[tuple[str, str], dict[str, Reading]] = {}
    for reading in state.readings():
        taken = reading.taken
        if not taken.lot or taken.step not in runs:
            continue
        key = (taken.step, taken.lot)
        loaded = taken.lot in names and key not in made  # another step made it
        if not loaded and key not in jarred | residues:
            found.setdefault(key, {})[taken.quantity] = reading
    return found


def _jar_entry(moment: datetime, jar: JarFilled) -> AlcoholEntry:
    strength = true_strength_of(jar.strength, jar.temperature, jar.reference)
    what = f"{jar.lot}, jar {jar.jar}" if jar.lot else f"jar {jar.jar}"
    held = _Measured(jar.volume, strength, jar.temperature)
    return _entry(moment, step=jar.step, kind="collected", what=what, held=held)


def _lot_entry(step: str, lot: str, readings: Mapping[str, Reading]) -> AlcoholEntry:
    volume = readings["volume"]
    read = [readings[name] for name in ("strength", "true_strength") if name in readings]
    held = _Measured(volume.taken.value, None)
    if read:
        last = max(read, key=lambda reading: reading.utc).taken
        temperature = last.temperature if last.quantity == "strength" else None
        strength = true_strength_of(last.value, temperature, last.reference)
        held = _Measured(held.volume, strength, volume.taken.temperature or temperature)
    return _entry(volume.utc, step=step, kind="collected", what=lot, held=held)


def alcohol_sums(
    documents: Mapping[str, str], period: Period = "month", *, zone: tzinfo = UTC
) -> tuple[AlcoholSum, ...]:
    """Return the account of all batches by period.

    Parameters
    ----------
    documents : mapping of str to str
        Of the projection "alcohol", by batch.
    period : {"month", "quarter", "year"}
    zone : tzinfo
        In which a period begins and ends.

    Returns
    -------
    sums : tuple of AlcoholSum
        Earliest first; periods without entries are left out.

    Raises
    ------
    InputError
        If there is no such period.
    """
    if period not in ("month", "quarter", "year"):
        raise InputError("period", period, "it is month, quarter or year", "")
    by_period: dict[str, list[AlcoholEntry]] = {}
    for text in documents.values():
        for entry in json.loads(text):
            by_period.setdefault(_period(entry["utc"], period, zone), []).append(entry)
    return tuple(_sum(name, by_period[name]) for name in sorted(by_period))


def overdrawn(documents: Mapping[str, str]) -> tuple[Overdrawn, ...]:
    """Return the batches of which more alcohol was bottled than collected.

    Two parts in a hundred are let pass: what vessels and instruments of this size differ by.

    Parameters
    ----------
    documents : mapping of str to str
        Of the projection "alcohol", by batch.

    Returns
    -------
    found : tuple of Overdrawn
    """
    sums = ((batch, _sum("", json.loads(text))) for batch, text in documents.items())
    return tuple(
        Overdrawn(batch, one.collected, one.bottled)
        for batch, one in sums
        if one.bottled > 1.02 * one.collected
    )


def _period(utc: str, period: Period, zone: tzinfo) -> str:
    moment = parse_utc(utc).astimezone(zone)
    if period == "year":
        return f"{moment:%Y}"
    return f"{moment:%Y-%m}" if period == "month" else f"{moment:%Y} Q{(moment.month + 2) // 3}"


def _sum(period: str, entries: list[AlcoholEntry]) -> AlcoholSum:
    def total(kind: str) -> float:
        pure = (entry["pure_alcohol"] for entry in entries if entry["kind"] == kind)
        return math.fsum(value for value in pure if value is not None)

    unknown = sum(entry["pure_alcohol"] is None for entry in entries)
    return AlcoholSum(period, total("collected"), total("bottled"), unknown)
