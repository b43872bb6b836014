# SPDX-License-Identifier: MIT
"""Sort what was written down beside a still: what counts, where on the clock, what is refused."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from middlecut.insight.readings import (
    QUANTITIES,
    SELF_CORRECTING,
    Flag,
    Reading,
    Refusal,
    check_readings,
    true_value,
)
from middlecut.insight.run_marks import Clock, Mark, RefusedMark, check_marks, clock_of
from middlecut.insight.run_outputs import WARMING, Observed
from middlecut.insight.still_model import instrument_of

if TYPE_CHECKING:
    from middlecut.steps.lot import Lot
    from middlecut.steps.parameters import Distil

__all__ = ["Entries", "corrected_readings", "sort_entries"]

STARTS = (
    "A heating time of 0 is taken to say that the clock starts at the first drop. The time from "
    "switching on to the first drop belongs here."
)
NO_HEATING = (
    "It is the time from switching on to the first drop, and no still boils at once. For a clock "
    "that starts at the first drop, mark first-drop at 0 min and leave this row out."
)
REPLACED = "A later entry of the same moment took its place."
MARKING = 20.0
"""Standard uncertainty of a span between two marks; our estimate. [s]"""
AFTER = 60.0
"""How long after the heat was switched off a reading still belongs to the run. [s]"""
_BEFORE_DROP = frozenset({"boiler_temperature", "first_drop_time", "coolant_duty"})
"""What can be read before anything comes over."""
_NOT_OF_A_RUN = frozenset({"gravity", "refraction"})
_OF_THE_WHOLE = frozenset({"collected_volume", "collected_mass", "collected_strength"})
"""What can be measured long after the run and still says how much came over."""


@dataclass(frozen=True, slots=True)
class Entries:
    """Everything written down, sorted.

    Parameters
    ----------
    now : float
        On the clock of the readings. [s]
    clock : Clock
    marks : tuple of Mark
        Usable, in order.
    observed : tuple of Observed
        Usable readings in order of time, quantity and instrument.
    refused : tuple of Refusal
    refused_marks : tuple of RefusedMark
    flagged : tuple of Flag
    caller : str
        Instrument that strength is judged by when a cut is called.
    finished : float or None
        When the last cut of the plan was called. [s]
    """

    now: float
    clock: Clock
    marks: tuple[Mark, ...]
    observed: tuple[Observed, ...]
    refused: tuple[Refusal, ...]
    refused_marks: tuple[RefusedMark, ...]
    flagged: tuple[Flag, ...]
    caller: str
    finished: float | None = None

    @property
    def run_time(self) -> float:
        """Time since the first drop at which the run stands. [s] 0 before it."""
        if self.clock.first_drop is None:
            return 0.0
        stopped = self.stopped
        end = self.now if stopped is None else min(self.now, stopped)
        return max(end - self.clock.first_drop, 0.0)

    @property
    def stopped(self) -> float | None:
        """When the run stopped, on the clock of the readings. [s] None: it goes on.

        Where nobody marked that the heat went off, the moment of the last cut, or of the last
        thing that was read or done beside the still after it.
        """
        if self.clock.heat_off is not None or self.finished is None:
            return self.clock.heat_off
        return max([self.finished, *(time for time in self._moments() if time <= self.now)])

    @property
    def heard(self) -> float:
        """When something was last read or done, on the clock of the readings. [s]."""
        return max([0.0, *(one.reading.time for one in self.observed), *self._moments()])

    def _moments(self) -> list[float]:
        drop = self.clock.first_drop or 0.0
        found = [mark.time for mark in self.marks]
        return found + [one.time + drop for one in self.observed if one.heating is None]


def sort_entries(
    step: Distil, entries: Iterable[Reading | Mark], *, now: float, charge: Lot | None = None
) -> Entries:
    """Sort readings and marks into those to use and those to refuse.

    Parameters
    ----------
    step : Distil
    entries : iterable of (Reading or Mark)
        In the order they were written down.
    now : float
        On their clock. [s]
    charge : Lot or None
        What was loaded, of which no more can come over than there is.

    Returns
    -------
    Entries
        Nothing is dropped without a reason.
    """
    given = list(entries)
    marks, refused_marks = check_marks(
        (one for one in given if isinstance(one, Mark)), step, now=now
    )
    clock = clock_of(marks)
    readings, starts = _without_starts([one for one in given if isinstance(one, Reading)])
    current, replaced = corrected_readings(readings)
    checked = check_readings(current, now=now, charge=charge)
    observed: list[Observed] = []
    refused = [*replaced, *checked.refused]
    meant = clock.first_drop == 0.0  # what such a row says is so anyway
    flagged = [Flag(one, STARTS) for one in starts if meant]
    refused += [Refusal(one, NO_HEATING) for one in starts if not meant]
    finished = next((one.time for one in marks if one.cut == step.cuts[-1].into), None)
    end = _end(checked.used, marks, clock, finished)
    for reading in checked.used:
        reason = _misplaced(reading, clock)
        if reason:
            refused.append(Refusal(reading, reason))
        else:
            whole = end is not None and reading.quantity in _OF_THE_WHOLE
            at = min(reading.time, end) if whole and end is not None else reading.time
            observed.append(replace(_observe(replace(reading, time=at), clock), reading=reading))
    observed += _time_to_first_drop(observed, clock)
    observed.sort(key=lambda one: (one.time, one.reading.quantity, one.instrument, one.value))
    return Entries(
        now=now,
        clock=clock,
        marks=marks,
        observed=tuple(observed),
        refused=tuple(refused),
        refused_marks=refused_marks,
        flagged=(*flagged, *checked.flagged),
        caller=_caller(observed),
        finished=finished,
    )


def _end(
    readings: Iterable[Reading], marks: Iterable[Mark], clock: Clock, finished: float | None
) -> float | None:
    """Return after which moment no more came over, if that is known. [s]."""
    if clock.heat_off is not None or finished is None:
        return clock.heat_off
    # What runs from the spout, or is set, after the last cut says that the run goes on.
    later = [one.time for one in readings if one.quantity not in _OF_THE_WHOLE]
    later += [one.time for one in marks]
    return finished if max(later, default=0.0) <= finished + AFTER else None


def _without_starts(readings: list[Reading]) -> tuple[list[Reading], list[Reading]]:
    """Part the readings from heating times of nothing, which speak of the clock."""
    starts = [one for one in readings if one.quantity == "first_drop_time" and one.value == 0.0]
    return [one for one in readings if one not in starts], starts


def corrected_readings(readings: list[Reading]) -> tuple[list[Reading], list[Refusal]]:
    """Keep the last entry of each moment; entries that are alike are left to the check.

    Parameters
    ----------
    readings : list of Reading
        In the order they were written down.

    Returns
    -------
    kept : list of Reading
    replaced : list of Refusal
    """
    last: dict[tuple[object, ...], Reading] = {}
    for one in readings:
        last[one.time, one.since, one.quantity, one.instrument] = one
    kept, replaced = [], []
    for one in readings:
        if last[one.time, one.since, one.quantity, one.instrument] == one:
            kept.append(one)
        else:
            replaced.append(Refusal(one, REPLACED))
    return kept, replaced


def _misplaced(reading: Reading, clock: Clock) -> str:
    """Return why a good reading has no place in this run, or nothing."""
    before = reading.quantity in _BEFORE_DROP
    early = clock.first_drop is None or reading.time < clock.first_drop
    unplaced = early and clock.power_on is None
    rules = (
        (reading.quantity in _NOT_OF_A_RUN, "It is no reading of a run."),
        (
            clock.first_drop is None and not before,
            "Mark the first drop: without it this reading has no place on the clock.",
        ),
        (early and not before, "It lies before the first drop."),
        (
            unplaced and reading.quantity == "boiler_temperature",
            "Mark when the heat was switched on: without it this reading has no place.",
        ),
        (
            early and clock.power_on is not None and reading.time < clock.power_on,
            "It lies before the heat was switched on.",
        ),
        (
            clock.heat_off is not None
            and reading.time > clock.heat_off + AFTER
            and reading.quantity not in _OF_THE_WHOLE,
            "It lies after the heat was switched off.",
        ),
    )
    return next((reason for wrong, reason in rules if wrong), "")


def _observe(reading: Reading, clock: Clock) -> Observed:
    drop = clock.first_drop
    heating, spread = None, reading.spread
    if drop is None or reading.time < drop:
        if reading.quantity == "boiler_temperature" and clock.power_on is not None:
            heating = reading.time - clock.power_on
            spread = (spread**2 + WARMING**2) ** 0.5
        time = reading.time - (drop if drop is not None else reading.time + 1.0)
    else:
        time = reading.time - drop
    since = 0.0 if reading.since is None or drop is None else max(reading.since - drop, 0.0)
    return Observed(
        reading, time, since, heating, true_value(reading), spread, instrument_of(reading)
    )


def _time_to_first_drop(observed: list[Observed], clock: Clock) -> list[Observed]:
    """Read the time to the first drop off the two marks, unless it was written down."""
    if clock.power_on is None or clock.first_drop is None or clock.first_drop <= clock.power_on:
        return []
    if any(one.reading.quantity == "first_drop_time" for one in observed):
        return []
    span = clock.first_drop - clock.power_on
    reading = Reading(clock.first_drop, "first_drop_time", span, uncertainty=MARKING)
    return [_observe(reading, replace(clock, heat_off=None))]


def _caller(observed: list[Observed]) -> str:
    """Return the glass instrument strength is read by most often."""
    names = Counter(
        one.instrument
        for one in observed
        if QUANTITIES[one.reading.quantity].dimension == "strength"
        and one.instrument not in SELF_CORRECTING
    )
    if not names:
        return "alcoholometer"
    return min(names, key=lambda name: (-names[name], name))
