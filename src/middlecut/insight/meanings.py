# SPDX-License-Identifier: MIT
"""What a reading that contradicts the others could mean, tried out one by one, in words."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from middlecut.errors import MiddlecutError
from middlecut.insight.readings import QUANTITIES, SELF_CORRECTING, Reading, true_value
from middlecut.insight.run_forecast import Contradiction, spoken
from middlecut.liquid import alcoholometry
from middlecut.units import format_quantity

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from middlecut.insight.contradictions import Pattern
    from middlecut.insight.run_outputs import Observed

    Array = NDArray[np.float64]

__all__ = ["Suspect", "explain_pattern", "explain_reading"]

FITS = 2.0
"""Uncertainties within which a supposition fits."""
SLIP = (120.0, 3600.0)
"""Shortest and longest slip of the clock that is tried. [s]"""
WARMER = 3.0
"""Least difference of a sample's temperature that counts as a mistake. [K]"""
_WORDS = {
    "distillate_strength": "strength of the distillate",
    "collected_strength": "strength of all distillate",
    "jar_strength": "strength of the jar",
    "collected_volume": "volume of all distillate",
    "jar_volume": "volume of the jar",
    "collected_mass": "mass of all distillate",
    "head_temperature": "temperature of the still head",
    "boiler_temperature": "temperature of the boiler",
    "first_drop_time": "time to the first drop",
    "coolant_duty": "duty of the coolant",
}


@dataclass(frozen=True, slots=True)
class Suspect:
    """A reading that contradicts the others, and what they expect.

    Parameters
    ----------
    one : Observed
    expected, uncertainty : float
        By all others, in SI; the uncertainty includes that of the reading.
    elsewhere : callable
        Takes times since the first drop [s], returns what the reading should be there.
    until : float
        The present moment. [s since the first drop]
    jar : float
        Size of the plan's jars. [m³] 0: none.
    """

    one: Observed
    expected: float
    uncertainty: float
    elsewhere: Callable[[Array], Array]
    until: float
    jar: float

    def fits(self, value: float) -> bool:
        """Whether a value would go with the others."""
        return abs(value - self.expected) < FITS * self.uncertainty

    @property
    def low(self) -> bool:
        """Whether the reading is below what is expected."""
        return self.one.value < self.expected


def explain_reading(suspect: Suspect) -> Contradiction:
    """Say what is odd about a reading and what it could mean.

    Parameters
    ----------
    suspect : Suspect

    Returns
    -------
    Contradiction
        Suppositions that fit the other readings come first.
    """
    reading = suspect.one.reading
    kind = QUANTITIES[reading.quantity]
    gap = abs(suspect.one.value - suspect.expected) / suspect.uncertainty
    text = (
        f"{moment(suspect.one.time)}: {_WORDS[reading.quantity]} "
        f"{_write(suspect.one.value, kind.dimension)}, where the other readings expect "
        f"{_write(suspect.expected, kind.dimension)} ({gap:.1f} uncertainties off). "
        "It is left out of the forecast."
    )
    found = list(_suppositions(suspect, kind.dimension))
    return Contradiction("reading", (reading,), text, tuple(found))


def _suppositions(suspect: Suspect, dimension: str) -> Iterator[str]:
    if dimension == "strength":
        yield from _of_strength(suspect)
    elif dimension in {"volume", "mass"}:
        yield from _of_amount(suspect, dimension)
    slipped = _slip(suspect)
    if slipped is not None:
        yield (f"It fits {moment(slipped, lower=True)}: a slip of the clock, or the wrong row.")
    if dimension == "temperature":
        yield (
            "The probe may have moved or drifted: see that it sits in the vapour (or liquid) as "
            "before, and compare it with another."
        )
    if dimension == "strength" and suspect.low:
        yield (
            "If the distillate is cloudy or spits, the boiler foams and liquid is carried over: "
            "lower the power."
        )
    if dimension in {"volume", "mass"} and suspect.low:
        yield (
            "If the next one is short too, distillate or vapour is being lost: look for a leak. "
            "Alcohol vapour burns; switch off before you search."
        )
    yield "If it is as it stands, read it again: a second like it will count."


def _of_strength(suspect: Suspect) -> Iterator[str]:
    reading = suspect.one.reading
    glass = reading.instrument not in SELF_CORRECTING and reading.temperature is not None
    if (
        glass
        and abs(reading.value - suspect.one.value) > suspect.one.spread
        and suspect.fits(reading.value)
    ):
        yield (
            "It fits if the value had been corrected to 20 °C before it was entered: then it was "
            "corrected twice. Enter it with 20 °C."
        )
    warm = _sample_temperature(suspect) if glass else None
    if warm is not None and reading.temperature is not None:
        warmer = warm > reading.temperature
        yield (
            f"It fits if it is uncorrected for temperature: a sample at {warm - 273.15:.0f} °C "
            f"instead of {reading.temperature - 273.15:.0f} °C would show this "
            f"({'warm' if warmer else 'cold'} spirit shows too {'much' if warmer else 'little'})."
        )
    for factor, words in ((0.5, "proof, not %vol"), (2.0, "%vol, not proof")):
        if suspect.fits(factor * suspect.one.value):
            yield f"It fits if the number was {words}."
    if suspect.fits(_as_mass(suspect.one.value)):
        yield "It fits if the number was a strength by mass."


def _as_mass(value: float) -> float:
    return float(alcoholometry.strength_from_mass_fraction(min(max(value, 0.0), 1.0)))


def _sample_temperature(suspect: Suspect) -> float | None:
    """Return at which temperature the sample would show this reading, if another one than noted."""
    reading = suspect.one.reading
    if reading.temperature is None:
        return None
    best: tuple[float, float] | None = None
    for kelvin in np.arange(273.15, 313.16, 0.5).tolist():
        try:
            gap = abs(true_value(replace(reading, temperature=kelvin)) - suspect.expected)
        except MiddlecutError:
            continue
        if best is None or gap < best[0]:
            best = (gap, kelvin)
    if best is None or best[0] > FITS * suspect.uncertainty:
        return None
    return best[1] if abs(best[1] - reading.temperature) >= WARMER else None


def _of_amount(suspect: Suspect, dimension: str) -> Iterator[str]:
    value, gap = suspect.one.value, suspect.expected - suspect.one.value
    total = suspect.one.reading.quantity != "jar_volume"
    if suspect.jar > 0.0 and total and suspect.fits(value + suspect.jar):
        yield f"It fits if one jar of {_write(suspect.jar, 'volume')} was not counted."
    if suspect.jar > 0.0 and total and suspect.fits(value - suspect.jar):
        yield f"It fits if one jar of {_write(suspect.jar, 'volume')} was counted twice."
    for factor in (10.0, 0.1):
        if suspect.fits(factor * value):
            yield "It fits with the decimal point one place further: the volume was misread."
    marks = (1e-4, 1e-3) if dimension == "volume" else (0.1, 1.0)
    for mark in marks:
        if abs(gap) > 0.5 * mark and suspect.fits(value + float(np.copysign(mark, gap))):
            yield (
                f"It fits if the {dimension} was misread by {_write(mark, dimension)}, one mark of "
                "the vessel."
            )


def _slip(suspect: Suspect) -> float | None:
    """Return the nearest other moment at which the reading fits, if it tells moments apart."""
    if suspect.one.heating is not None or suspect.one.reading.quantity in {
        "first_drop_time",
        "coolant_duty",
    }:
        return None
    at = suspect.one.time
    low, high = max(at - SLIP[1], 0.0), min(at + SLIP[1], suspect.until)
    times = np.linspace(low, high, 61)
    values = suspect.elsewhere(times) - suspect.elsewhere(np.array([at]))[0] + suspect.expected
    fitting = np.abs(values - suspect.one.value) < suspect.uncertainty
    far = np.abs(times - at) >= SLIP[0]
    chosen = times[fitting & far]
    return float(chosen[np.argmin(np.abs(chosen - at))]) if len(chosen) else None


_LEAK = (
    (
        "A leak: distillate or vapour is lost at a joint, the condenser or the spout. Alcohol "
        "vapour burns; switch off, air the room, then search."
    ),
    (
        "Less heat reaches the boiler than set: a weak mains voltage or a scaled element. Then "
        "mark the power as it really is."
    ),
    "The vessel is misread, or a jar is not counted.",
)
_DRIFT = (
    "The instrument drifts: compare it with another, or in boiling water.",
    "A probe has slipped out of its place.",
    (
        "The still has changed: a draught on the head, coolant that runs warmer or slower, power "
        "that was changed without a mark."
    ),
)
_FOAMING = (
    (
        "The boiler foams, or the column floods, and liquid is carried over: look whether the "
        "distillate is cloudy or spits, and lower the power."
    ),
    (
        "The reflux has failed: the coolant has stopped or the head was wrapped. Mark the change "
        "if you made it."
    ),
)


def explain_pattern(
    pattern: Pattern, readings: tuple[Reading, ...], dimension: str
) -> Contradiction:
    """Say what several readings that are off together could mean.

    Parameters
    ----------
    pattern : Pattern
    readings : tuple of Reading
        The readings of the pattern.
    dimension : str
        Of a drift: that of the instrument's quantity.

    Returns
    -------
    Contradiction
    """
    since = moment(pattern.since).removeprefix("At ")
    if pattern.kind == "leak":
        text = (
            f"Since {since} about {pattern.size:.0%} of the distillate is missing: "
            f"{len(readings)} amounts are short of what power and strength say. Left out of the "
            f"forecast: {_listed(readings)}."
        )
        return Contradiction("leak", readings, text, _LEAK)
    if pattern.kind == "drift":
        hourly = pattern.size * 3600.0
        kind = "temperature_difference" if dimension == "temperature" else dimension
        text = (
            f"Since {since} the {_WORDS[readings[0].quantity]} drifts away from all other readings "
            f"by {_write(abs(hourly), kind)} an hour, {'upwards' if hourly > 0 else 'downwards'}. "
            f"Left out of the forecast: {_listed(readings)}."
        )
        return Contradiction("drift", readings, text, _DRIFT)
    text = (
        f"Since {since} the distillate is weaker by {_write(pattern.size, 'strength')} and the "
        "head hotter than amounts and time say. Left out of the forecast: "
        f"{_listed(readings)}."
    )
    return Contradiction("foaming", readings, text, _FOAMING)


def _listed(readings: tuple[Reading, ...]) -> str:
    """Return readings as they were written down, each quantity named once."""
    found: dict[str, list[str]] = {}
    for one in readings:
        text = _write(one.value, QUANTITIES[one.quantity].dimension)
        found.setdefault(_WORDS[one.quantity], []).append(text)
    return "; ".join(f"{name} {', '.join(values)}" for name, values in found.items())


def moment(time: float, *, lower: bool = False) -> str:
    """Return a moment since the first drop in words."""
    first = "at" if lower else "At"
    if time < 0.0:
        return f"{first} {spoken(-time)} before the first drop"
    return f"{first} {spoken(time)} after the first drop"


def _write(value: float, dimension: str) -> str:
    return format_quantity(value, dimension)
