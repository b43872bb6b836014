# SPDX-License-Identifier: MIT
"""Readings beside the still and the fermenter: what counts, what is refused, and why."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from middlecut.errors import MiddlecutError
from middlecut.liquid import alcoholometry, extract
from middlecut.units import format_quantity

if TYPE_CHECKING:
    from middlecut.steps.lot import Lot

__all__ = [
    "QUANTITIES",
    "CheckedReadings",
    "Flag",
    "Quantity",
    "Reading",
    "Refusal",
    "check_readings",
    "true_value",
]

SELF_CORRECTING = frozenset({"density meter", "laboratory"})
"""Instruments that show strength or gravity at 20 °C whatever the temperature of the sample."""
PROOF_SCALE = "proof hydrometer"
"""Name of the instrument whose readings are half the US proof over 100."""
TWICE = "The same reading stands there already; it counts once."
_FULL = 1.05
"""How much more than was loaded a reading may say: a warm jar, and marks that are off."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """What can be read.

    Parameters
    ----------
    name : str
    dimension : str
        As :mod:`middlecut.units` names it.
    low, high : float
        What is physically possible, in SI.
    uncertainty : float
        Standard uncertainty taken where none is given; our estimate for ordinary instruments.
    relative : bool
        Whether that is a share of the reading.
    least : float
        Least uncertainty of such a share, in SI.
    glass : bool
        Whether a glass instrument reads it, so that the temperature of the sample is needed.
    span : bool
        Whether it belongs to a span of time (a jar) and not to a moment.
    """

    name: str
    dimension: str
    low: float
    high: float
    uncertainty: float
    relative: bool = False
    least: float = 0.0
    glass: bool = False
    span: bool = False


# No distillate passes the azeotrope, 97.2 % vol at 101 kPa and a little more at altitude.
_TOP = 0.975
_COLD, _HOT = 263.15, 393.15
QUANTITIES = {
    one.name: one
    for one in (
        Quantity("distillate_strength", "strength", 0.0, _TOP, 0.005, glass=True),
        Quantity("collected_strength", "strength", 0.0, _TOP, 0.005, glass=True),
        Quantity("jar_strength", "strength", 0.0, _TOP, 0.005, glass=True, span=True),
        Quantity("collected_volume", "volume", 0.0, 10.0, 0.02, relative=True, least=2e-6),
        Quantity("jar_volume", "volume", 0.0, 10.0, 0.02, relative=True, least=2e-6, span=True),
        Quantity("collected_mass", "mass", 0.0, 1e4, 0.005, relative=True, least=1e-3),
        Quantity("head_temperature", "temperature", _COLD, _HOT, 0.3),
        Quantity("boiler_temperature", "temperature", _COLD, _HOT, 0.3),
        Quantity("first_drop_time", "duration", 0.0, 86400.0, 0.03, relative=True, least=20.0),
        Quantity("coolant_duty", "power", 0.0, 1e5, 0.08, relative=True, least=5.0),
        Quantity("gravity", "gravity", 0.98, 1.13, 0.001, glass=True),
        Quantity("refraction", "brix", 0.0, 50.0, 0.2),
    )
}
"""Every quantity a reading may have, by name."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One measurement, as the instrument showed it.

    Parameters
    ----------
    time : float
        Of a run: since the first drop. Of a fermentation: since pitching. [s]
    quantity : str
        A name in :data:`QUANTITIES`.
    value : float
        In SI; of a glass instrument the mark, not yet corrected for temperature.
    uncertainty : float or None
        Standard uncertainty, in the unit of the value; None: what is usual.
    temperature : float or None
        Of the sample. [K]
    instrument : str
        The user's name for it; each has its own offset. "proof hydrometer" marks half the proof
        over 100 at 60 °F; "density meter" and "laboratory" correct for temperature themselves.
    since : float or None
        Start of the jar. [s] None: it began with the first drop.
    """

    time: float
    quantity: str
    value: float
    uncertainty: float | None = None
    temperature: float | None = None
    instrument: str = ""
    since: float | None = None

    @property
    def spread(self) -> float:
        """Standard uncertainty, given or usual, in the unit of the value."""
        if self.uncertainty is not None:
            return self.uncertainty
        kind = QUANTITIES[self.quantity]
        share = kind.uncertainty * abs(self.value) if kind.relative else kind.uncertainty
        return max(share, kind.least)


@dataclass(frozen=True, slots=True)
class Refusal:
    """A reading that was not used.

    Parameters
    ----------
    reading : Reading or None
        None where it could not even be read.
    reason : str
        A sentence.
    line : int or None
        In the file, counted from 1.
    """

    reading: Reading | None
    reason: str
    line: int | None = None


@dataclass(frozen=True, slots=True)
class Flag:
    """A reading that is used although something about it is odd.

    Parameters
    ----------
    reading : Reading
    reason : str
        A sentence.
    line : int or None
        In the file, counted from 1.
    """

    reading: Reading
    reason: str
    line: int | None = None


@dataclass(frozen=True, slots=True)
class CheckedReadings:
    """Readings sorted into those to use and those refused.

    Parameters
    ----------
    used : tuple of Reading
        In order of time.
    refused : tuple of Refusal
    flagged : tuple of Flag
        Used, but look at them.
    """

    used: tuple[Reading, ...]
    refused: tuple[Refusal, ...] = ()
    flagged: tuple[Flag, ...] = ()


def check_readings(
    readings: Iterable[Reading],
    *,
    now: float | None = None,
    lines: Iterable[int | None] = (),
    charge: Lot | None = None,
) -> CheckedReadings:
    """Sort readings into those to use, those to refuse and those to look at.

    Parameters
    ----------
    readings : iterable of Reading
        In the order they were written down.
    now : float or None
        The present moment on the clock of the readings. [s] None: the future is not judged.
    lines : iterable of (int or None)
        Line number of each in its file, if it has one.
    charge : Lot or None
        What was loaded, of which no more can come over than there is; None: that is not judged.

    Returns
    -------
    CheckedReadings
        Nothing is dropped without a reason.

    Examples
    --------
    >>> found = check_readings([Reading(60.0, "distillate_strength", 0.84)])
    >>> found.refused[0].reason
    'A glass instrument needs the temperature of the sample; none is given.'
    """
    given = tuple(readings)
    places = (*lines, *([None] * len(given)))[: len(given)]
    used: list[Reading] = []
    refused: list[Refusal] = []
    flagged: list[Flag] = []
    seen: dict[tuple[object, ...], Reading] = {}
    latest = -math.inf
    for reading, line in zip(given, places, strict=True):
        reason = _unusable(reading, now) or _too_much(reading, charge)
        key = (reading.time, reading.since, reading.quantity, reading.instrument)
        before = seen.get(key)
        if not reason and before is not None and before.value == reading.value:
            reason = TWICE
        if reason:
            refused.append(Refusal(reading, reason, line))
            continue
        if before is not None:
            flagged.append(Flag(reading, "Another value of the same moment is there too.", line))
        if reading.time < latest:
            flagged.append(
                Flag(reading, "It is out of order: a later time stands before it.", line)
            )
        latest = max(latest, reading.time)
        seen.setdefault(key, reading)
        used.append(reading)
    used.sort(key=lambda one: one.time)
    flagged.extend(_falling(used))
    return CheckedReadings(tuple(used), tuple(refused), tuple(flagged))


def _unusable(reading: Reading, now: float | None) -> str:
    """Return why a reading cannot be used, or nothing."""
    kind = QUANTITIES.get(reading.quantity)
    if kind is None:
        return f"There is no quantity {reading.quantity!r}; known are {', '.join(QUANTITIES)}."
    numbers = (reading.time, reading.value, reading.uncertainty, reading.temperature, reading.since)
    if not all(math.isfinite(number) for number in numbers if number is not None):
        return "A number is missing or not finite."
    return (
        _bad_time(reading, now)
        or _bad_value(reading, kind)
        or _bad_temperature(reading, kind)
        or _no_truth(reading)
    )


def _bad_time(reading: Reading, now: float | None) -> str:
    if reading.time < 0.0:
        return "The time lies before the start."
    if now is not None and reading.time > now:
        late = format_quantity(reading.time - now, "duration")
        return f"The time lies {late} in the future."
    if reading.since is not None and not 0.0 <= reading.since < reading.time:
        return "The jar ends before it begins."
    return ""


def _bad_value(reading: Reading, kind: Quantity) -> str:
    if not kind.low <= reading.value <= kind.high:
        return (
            f"{_shown(reading.value, kind)} is outside what is possible for "
            f"{kind.name.replace('_', ' ')}, {_shown(kind.low, kind)} to "
            f"{_shown(kind.high, kind)}; check the unit."
        )
    if not reading.spread > 0.0:
        return "The uncertainty must be above 0."
    return ""


def _shown(value: float, kind: Quantity) -> str:
    """Return a value as a person writes it."""
    if kind.dimension == "brix":
        return f"{value:.1f} °Bx"
    return format_quantity(value, kind.dimension)


def _too_much(reading: Reading, charge: Lot | None) -> str:
    """Return why a reading says more than was loaded, or nothing."""
    kind = QUANTITIES[reading.quantity]
    loaded = None if charge is None else {"volume": charge.volume, "mass": charge.mass}
    most = None if loaded is None else loaded.get(kind.dimension)
    if most is None or reading.value <= _FULL * most:
        return ""
    return (
        f"{_shown(reading.value, kind)} cannot come of a charge of {_shown(most, kind)}; check "
        "the unit and the decimal point."
    )


def _bad_temperature(reading: Reading, kind: Quantity) -> str:
    glass = kind.glass and reading.instrument not in SELF_CORRECTING
    if reading.temperature is None:
        if glass:
            return "A glass instrument needs the temperature of the sample; none is given."
        return ""
    low = 273.15 if kind.name == "gravity" else 253.15
    if not low <= reading.temperature <= 313.15:
        return (
            f"The sample is at {reading.temperature - 273.15:.1f} °C; between {low - 273.15:.0f} "
            "and 40 °C it can be corrected."
        )
    return ""


def _no_truth(reading: Reading) -> str:
    try:
        true_value(reading)
    except MiddlecutError as error:
        return str(error)
    return ""


def _falling(used: list[Reading]) -> list[Flag]:
    """Flag a collected amount that falls by more than its uncertainty."""
    found: list[Flag] = []
    most: dict[str, Reading] = {}
    for reading in used:
        if reading.quantity not in {"collected_volume", "collected_mass"}:
            continue
        before = most.get(reading.quantity)
        if before is not None and reading.value < before.value - before.spread - reading.spread:
            found.append(
                Flag(reading, "What was collected cannot become less; one value is wrong.")
            )
        if before is None or reading.value > before.value:
            most[reading.quantity] = reading
    return found


def true_value(reading: Reading) -> float:
    """Return what was measured, corrected for the temperature of a glass instrument.

    Parameters
    ----------
    reading : Reading
        As the instrument showed it.

    Returns
    -------
    float
        In SI: strength at 20 °C as a fraction by volume, gravity SG 20/20, all else as read.

    Raises
    ------
    OutOfRangeError
        If no liquid floats the instrument there.

    Notes
    -----
    Leaves out the temperature of jars: volumes are compared at their own temperature elsewhere.

    Examples
    --------
    >>> round(true_value(Reading(0.0, "distillate_strength", 0.40, temperature=303.15)), 3)
    0.36
    """
    kind = QUANTITIES[reading.quantity]
    if not kind.glass or reading.temperature is None or reading.instrument in SELF_CORRECTING:
        return reading.value
    if reading.quantity == "gravity":
        return float(extract.true_gravity(reading.value, reading.temperature))
    if reading.instrument == PROOF_SCALE:
        at_60f = alcoholometry.true_strength(reading.value, reading.temperature, "60F")
        return float(alcoholometry.strength_from_proof(200.0 * at_60f))
    return float(alcoholometry.true_strength(reading.value, reading.temperature))
