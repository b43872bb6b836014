# SPDX-License-Identifier: MIT
"""What was collected in a run can only grow: which totals that were read go together.

Whoever is beside the still is asked at once about a total that falls. One that arrives late, from
a device that had no line, is kept, marked and left out of every figure until one of the two that
contradict each other is corrected or withdrawn.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from middlecut.app.batch import Batch, Reading
from middlecut.app.batch_events import ReadingCorrected, ReadingTaken
from middlecut.app.events import Body
from middlecut.errors import InputError
from middlecut.units import format_quantity

__all__ = [
    "PRESENT",
    "SetAside",
    "check_totals",
    "contradicted",
    "set_aside",
    "shown_reading",
]

PRESENT = timedelta(seconds=10)
"""Who typed an entry so long ago is taken to be there still, and can be asked."""

TOTALS = {"volume": 2.0e-6, "mass": 2.0e-3}
"""Quantities that only grow during a run, with the least that can be told apart. [m³, kg]"""
TOLD_APART = 0.01
"""Share of a total within which two readings of a graduated vessel may differ; our estimate."""


@dataclass(frozen=True, slots=True)
class SetAside:
    """A total that is kept and not used, and the one it contradicts.

    Parameters
    ----------
    reading, against : Reading
    """

    reading: Reading
    against: Reading

    @property
    def text(self) -> str:
        """A sentence that says what is wrong and how to mend it."""
        return (
            f"{_shown(self.reading)} does not go with {_shown(self.against)} that is in the record "
            "for another time: what was collected cannot become less. It is kept but not used; "
            "correct or withdraw whichever of the two is wrong."
        )


def set_aside(state: Batch, step: str) -> tuple[SetAside, ...]:
    """Return the totals of a run that are not used, in order of time.

    Totals are taken in the order in which they came into the record, with their corrections; one
    that contradicts those taken so far is set aside.

    Parameters
    ----------
    state : Batch
    step : str
        A run of the still.

    Returns
    -------
    found : tuple of SetAside
    """
    return _sorted(state, step)[1]


def check_totals(state: Batch, body: Body, *, utc: datetime) -> None:
    """Ask about a total that contradicts what is in the record.

    Parameters
    ----------
    state : Batch
        Before the entry.
    body : Body
        A reading or its correction; anything else passes.
    utc : datetime
        When it was so.

    Raises
    ------
    InputError
        If less was collected than at an earlier time, or more than at a later one.
    """
    reading = _as_reading(state, body, utc)
    if reading is None or not _is_total(reading, _runs(state)):
        return
    other = _other(state, reading)
    if other is None:
        return
    later = other.utc > reading.utc
    raise InputError(
        reading.taken.quantity if isinstance(body, ReadingTaken) else "value",
        _shown(reading),
        f"{_shown(reading)} is {'more' if later else 'less'} than {_shown(other)} that was read "
        f"{'later' if later else 'before'}, and what was collected so far cannot become less",
        "Read it again, all vessels of the run together; if the other one is wrong, correct that "
        "one first.",
    )


def contradicted(state: Batch, taken: ReadingTaken, utc: datetime) -> Reading | None:
    """Return the total in the record, nearest in time, that another contradicts.

    Parameters
    ----------
    state : Batch
    taken : ReadingTaken
        Not in the record yet.
    utc : datetime
        When it was read.

    Returns
    -------
    other : Reading or None
    """
    reading = Reading("", utc, taken)
    return _other(state, reading) if _is_total(reading, _runs(state)) else None


def _other(state: Batch, reading: Reading) -> Reading | None:
    used = _sorted(state, reading.taken.step)[0]
    return _contradicted(reading, (one for one in used if one.id != reading.id))


def _sorted(state: Batch, step: str) -> tuple[tuple[Reading, ...], tuple[SetAside, ...]]:
    runs = _runs(state)
    place = {one: number for number, one in enumerate(state.entries)}
    totals = [one for one in state.readings(step) if _is_total(one, runs)]
    used: list[Reading] = []
    aside: list[SetAside] = []
    for one in sorted(totals, key=lambda reading: place[reading.id]):
        other = _contradicted(one, used)
        if other is None:
            used.append(one)
        else:
            aside.append(SetAside(one, other))
    return tuple(used), tuple(sorted(aside, key=lambda found: found.reading.utc))


def _runs(state: Batch) -> frozenset[str]:
    return frozenset(one.outline.step for one in state.steps() if one.outline.kind == "distil")


def _is_total(one: Reading, runs: frozenset[str]) -> bool:
    taken = one.taken
    whole = taken.lot is None and taken.jar is None
    return whole and taken.quantity in TOTALS and taken.step in runs


def _contradicted(one: Reading, others: Iterable[Reading]) -> Reading | None:
    """Return the total nearest in time that this one contradicts, or None."""
    wrong = [other for other in others if _contradict(one, other)]
    return min(wrong, key=lambda other: abs(other.utc - one.utc), default=None)


def _contradict(one: Reading, other: Reading) -> bool:
    if one.taken.quantity != other.taken.quantity or one.utc == other.utc:
        return False
    first, then = (one, other) if one.utc < other.utc else (other, one)
    least = TOTALS[one.taken.quantity]
    return then.taken.value < first.taken.value - max(TOLD_APART * first.taken.value, least)


def _as_reading(state: Batch, body: Body, utc: datetime) -> Reading | None:
    if isinstance(body, ReadingTaken):
        return Reading("", utc, body)
    if isinstance(body, ReadingCorrected):
        found = next((one for one in state.readings() if one.id == body.target), None)
        if found is None:
            return None
        taken = ReadingTaken(
            found.taken.step, found.taken.quantity, body.value,
            lot=found.taken.lot, jar=found.taken.jar, as_entered=body.as_entered,
        )  # fmt: skip
        first = state.entries[body.target].event.utc
        return Reading(found.id, first + timedelta(seconds=body.later), taken)
    return None


def _shown(one: Reading) -> str:
    return shown_reading(one.taken)


def shown_reading(taken: ReadingTaken) -> str:
    """Return a total as it was typed."""
    words = taken.as_entered or format_quantity(taken.value, taken.quantity)
    return words.replace("floz_us", "US fl oz").replace("gal_us", "US gal")
