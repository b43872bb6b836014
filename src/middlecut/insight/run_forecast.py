# SPDX-License-Identifier: MIT
"""What a live forecast of a run says, as data and as sentences."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any, Literal

from middlecut.insight.readings import Flag, Reading, Refusal
from middlecut.plan.quantities import show
from middlecut.steps.result import Caution
from middlecut.units import format_quantity, from_si

if TYPE_CHECKING:
    from middlecut.insight.run_marks import RefusedMark
    from middlecut.steps.band import Band
    from middlecut.units.table import System

__all__ = [
    "Contradiction",
    "CutForecast",
    "Learned",
    "RunForecast",
    "SeenReading",
    "element_sentence",
    "run_sentences",
    "spoken",
    "spoken_span",
]

Phase = Literal["heating", "filling", "running", "done"]
CutState = Literal["over", "running", "to come"]


@dataclass(frozen=True, slots=True)
class CutForecast:
    """What is expected of one cut.

    Parameters
    ----------
    into : str
        Name of the lot it fills.
    state : {"over", "running", "to come"}
    called : bool
        Whether its end was marked; a cut that is over without a mark is taken as the plan says.
    end : Band
        On the clock of the readings. [s]
    left : Band
        From now to its end; below 0 where its sign should have come already. [s]
    volume, pure_alcohol : Band
        Of the whole cut. [m³ at 20 °C]
    to_come : Band
        Volume still to come in it. [m³ at 20 °C]
    strength : Band
        Of the whole cut as mixed, 0 to 1.
    """

    into: str
    state: CutState
    called: bool
    end: Band
    left: Band
    volume: Band
    pure_alcohol: Band
    to_come: Band
    strength: Band


@dataclass(frozen=True, slots=True)
class SeenReading:
    """A usable reading beside what the run should show.

    Parameters
    ----------
    reading : Reading
    observed, expected : float
        In SI, corrected for the temperature of a glass instrument; expected of all readings that
        count.
    uncertainty : float
        Of the reading and of what is expected, together. [SI]
    used : bool
        Whether it counts; one that contradicts the rest does not.
    """

    reading: Reading
    observed: float
    expected: float
    uncertainty: float
    used: bool

    @property
    def deviation(self) -> float:
        """Observed less expected, in uncertainties."""
        return (self.observed - self.expected) / self.uncertainty


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Readings that do not go with the others, and what that could mean.

    Parameters
    ----------
    kind : {"reading", "leak", "drift", "foaming"}
    readings : tuple of Reading
    text : str
        What was read and what was expected.
    meanings : tuple of str
        What it could mean, likeliest first; each a sentence.
    """

    kind: Literal["reading", "leak", "drift", "foaming"]
    readings: tuple[Reading, ...]
    text: str
    meanings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Learned:
    """What the readings say of one parameter of still, charge or instruments.

    Parameters
    ----------
    name : str
    value, low, high : float
        Most likely and the band of 90 %, in SI.
    narrowed : float
        Width of the band over that before any reading; 1: nothing was learned.
    """

    name: str
    value: float
    low: float
    high: float
    narrowed: float


@dataclass(frozen=True, slots=True)
class RunForecast:
    """Where a run is and what is still to come.

    Parameters
    ----------
    step_id : str
    now : float
        On the clock of the readings. [s]
    phase : {"heating", "filling", "running", "done"}
    cut : str
        The cut that is running; "" if none.
    first_drop : Band
        On the clock of the readings. [s] Of no width when it was marked.
    cuts : tuple of CutForecast
    collected : Band
        All distillate so far. [m³ at 20 °C]
    volume, pure_alcohol : Band
        Of all distillate at the end of the last cut. [m³ at 20 °C]
    boiler_strength : Band
        Now or when the run stopped, 0 to 1.
    boiler_volume : Band
        Now or when the run stopped. [m³ at 20 °C]
    uncovered : Band or None
        When the liquid falls below the heating element if the heat stays on, on the clock of the
        readings [s]; its share is the chance that it does before the end of the last cut. None:
        it does not, or the heat went off before.
    readings : tuple of SeenReading
    contradictions : tuple of Contradiction
    refused : tuple of Refusal
    refused_marks : tuple of RefusedMark
    flagged : tuple of Flag
    learned : tuple of Learned
    widening : float
        Factor by which the readings scatter beyond their uncertainties; 1: not.
    draws : int
        Runs behind the bands.
    cautions : tuple of Caution
    heat_off : bool
        Whether it was marked that the heat went off.
    stopped : float or None
        When the run is taken to have stopped, on the clock of the readings [s]; None: it goes on,
        and every figure assumes that the heat is on.
    """

    step_id: str
    now: float
    phase: Phase
    cut: str
    first_drop: Band
    cuts: tuple[CutForecast, ...]
    collected: Band
    volume: Band
    pure_alcohol: Band
    boiler_strength: Band
    boiler_volume: Band
    uncovered: Band | None
    readings: tuple[SeenReading, ...]
    contradictions: tuple[Contradiction, ...]
    refused: tuple[Refusal, ...]
    refused_marks: tuple[RefusedMark, ...]
    flagged: tuple[Flag, ...]
    learned: tuple[Learned, ...]
    widening: float
    draws: int
    cautions: tuple[Caution, ...]
    heat_off: bool = False
    stopped: float | None = None

    def to_dict(self) -> dict[str, Any]:
        """Return everything in SI units as plain JSON types; what is not known is null."""
        found: dict[str, Any] = _plain(asdict(self))
        for row, one in zip(found["readings"], self.readings, strict=True):
            row["deviation"] = one.deviation
        return found


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    if isinstance(value, float) and value != value:  # noqa: PLR0124 - NaN
        return None
    return value


def run_sentences(found: RunForecast, *, system: System = "metric") -> list[str]:
    """Return a forecast as the sentences a person beside the still wants, the nearest first.

    Parameters
    ----------
    found : RunForecast
    system : {"metric", "us"}
        System of units.

    Returns
    -------
    list of str
    """
    lines = [_position(found)]
    for one in found.cuts:
        if one.state == "running":
            lines.append(_running(one, system))
        elif one.state == "to come":
            lines.append(_coming(one, system))
    lines += [_over(one, system) for one in found.cuts if one.state == "over"]
    return [*lines, *_balance(found, system), *_basis(found)]


def _basis(found: RunForecast) -> list[str]:
    """Say so where no reading stands behind a forecast."""
    if not found.readings:
        return ["No readings stand behind this, only the plan and the description of the still."]
    if {one.reading.quantity for one in found.readings} == {"first_drop_time"}:
        return ["Of readings only the time to the first drop stands behind this."]
    return []


def _balance(found: RunForecast, system: System) -> list[str]:
    """Return what came over and what is left: together they are the charge."""
    last = found.cuts[-1]
    late = found.stopped is None and last.state == "running" and last.left.high <= 0.0
    by = "" if found.stopped is not None else f" by the {'sign of the ' if late else ''}end"
    whole, pure = _range(found.volume, "volume", system), _pure(found.pure_alcohol, system)
    lines = [f"All distillate{by}: {whole} with {pure}."]
    now = "now"
    if found.stopped is not None:
        off = format_quantity(found.stopped, "duration")
        now = "now" if found.heat_off else f"if the heat went off at {off}"
    elif late:
        now = "now if the heat is still on"
        over = _range(found.collected, "volume", system)
        lines.append(f"If the heat is still on, {over} have come over by now.")
    lines.append(
        f"In the boiler {now}: {_range(found.boiler_volume, 'volume', system)} at "
        f"{_range(found.boiler_strength, 'strength', system)}."
    )
    element = element_sentence(found)
    return [*lines, element] if element else lines


def element_sentence(found: RunForecast) -> str:
    """Return when the heating element comes out of the liquid, where no caution says it.

    Parameters
    ----------
    found : RunForecast

    Returns
    -------
    str
        "" where it does not, where the heat is off, or where a caution says it already.
    """
    band = found.uncovered
    said = any(one.code in {"element-uncovered", "heat-not-marked"} for one in found.cautions)
    if band is None or found.heat_off or said:
        return ""
    return (
        f"The heating element comes out of the liquid in {_minutes(band, found.now)} if the heat "
        "stays on, after the end of the run."
    )


def _position(found: RunForecast) -> str:
    ahead = _minutes(found.first_drop, found.now)
    if found.phase == "heating":
        return f"Heating up; the first drop in {ahead}."
    if found.phase == "filling":
        return f"Boiling, filling column and head; the first drop in {ahead}."
    if found.phase == "done":
        if found.heat_off:
            return "The run is over."
        return "The last cut is called. Is the heat off? Nobody marked it."
    running = (
        f"the {found.cut} are running" if found.cut.endswith("s") else f"{found.cut} is running"
    )
    return f"{spoken(found.now - found.first_drop.median)} after the first drop, {running}."


def _running(one: CutForecast, system: System) -> str:
    verb = "end" if one.into.endswith("s") else "ends"
    amount = (
        f"about {format_quantity(one.to_come.median, 'volume', system=system, digits=2)} to come"
    )
    spread = _range(one.to_come, "volume", system)
    if one.left.high <= 0.0:
        late = _span(-one.left.high, -one.left.low)
        return f"{_name(one.into)} should have ended {late} ago: check and call the cut."
    if one.left.low <= 0.0:
        end = spoken(one.left.high)
        return f"{_name(one.into)} {verb} any moment, at the latest in {end}, {amount}."
    return f"{_name(one.into)} {verb} in {_span(one.left.low, one.left.high)}, {amount} ({spread})."


def _coming(one: CutForecast, system: System) -> str:
    return (
        f"Then {one.into}: {_range(one.volume, 'volume', system)} at "
        f"{_range(one.strength, 'strength', system)}, ending in "
        f"{_span(max(one.left.low, 0.0), max(one.left.high, 0.0))}."
    )


def _over(one: CutForecast, system: System) -> str:
    how = "" if one.called else " (not called; taken as planned)"
    if one.volume.high < 1e-6:
        return f"{_name(one.into)}: none."
    return (
        f"{_name(one.into)}{how}: {_range(one.volume, 'volume', system)} at "
        f"{_range(one.strength, 'strength', system)}."
    )


def _name(into: str) -> str:
    return into[:1].upper() + into[1:]


def _minutes(band: Band, now: float) -> str:
    return _span(max(band.low - now, 0.0), max(band.high - now, 0.0))


def spoken_span(low: float, high: float) -> str:
    """Return two spans of time as a range as a person says it.

    Parameters
    ----------
    low, high : float
        [s]

    Returns
    -------
    str
    """
    return _span(low, high)


def _span(low: float, high: float) -> str:
    """Return two durations as a range in minutes: hours and minutes beyond two hours."""
    if high < 7200.0:
        first, last = round(low / 60.0), round(high / 60.0)
        if last < 1:
            return "under a minute"
        return f"{first}–{last} minutes" if first != last else f"{last} min"
    return f"{spoken(low)} to {spoken(high)}"


def spoken(time: float) -> str:
    """Return a span of time as a person says it: whole seconds, minutes, or hours and minutes.

    Parameters
    ----------
    time : float
        [s]

    Returns
    -------
    str
    """
    if abs(time) < 90.0:
        return f"{time:.0f} s"
    if abs(time) < 3570.0:
        return f"{time / 60.0:.0f} min"
    return format_quantity(time, "duration")


def _range(band: Band, dimension: str, system: System) -> str:
    low, high = (_amount(value, dimension, system) for value in (band.low, band.high))
    if low == high:
        return low
    first, _, unit = low.partition(" ")
    symbol = high.partition(" ")[2]
    if unit != symbol and dimension == "volume" and band.low > 0.0:
        # One unit for both ends: 0.92–1.1 L, not 920 mL to 1.1 L.
        first, unit = f"{from_si(band.low, 'volume', symbol):.2g}", symbol
    return f"{first}–{high}" if unit and symbol == unit else f"{low} to {high}"


def _amount(value: float, dimension: str, system: System) -> str:
    if dimension == "strength":
        return show(value, dimension, system=system)
    digits = 2 if dimension in {"volume", "pure_alcohol"} else None
    return format_quantity(value, dimension, system=system, digits=digits)


def _pure(band: Band, system: System) -> str:
    """Return an amount of pure alcohol: in litres, or in proof gallons."""
    if system == "us":
        return _range(band, "pure_alcohol", system)
    return f"{_range(band, 'volume', system)} of pure alcohol"
