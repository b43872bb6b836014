# SPDX-License-Identifier: MIT
"""What can happen to a batch, each with our own stable name and the version of its shape.

A body says what was done, in SI units, and nothing about when or by whom: that is in the envelope
(:mod:`middlecut.app.events`). A body is never changed once a release has written it; a new shape
gets the next schema number and a function in :mod:`middlecut.app.upcasting`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from middlecut.app.spirit_events import (
    AdditionMade,
    BottlesFilled,
    CutCalled,
    DoseChosen,
    DoseTried,
    HeartsChosen,
    JarFilled,
    JarNoted,
    PowerSet,
    TastingMade,
    WaterAdded,
    WoodSampled,
)

__all__ = [
    "BATCH_BODIES",
    "BatchBody",
    "BatchClosed",
    "BatchOpened",
    "Due",
    "EntryWithdrawn",
    "NoteWritten",
    "PlanAdopted",
    "ReadingCorrected",
    "ReadingTaken",
    "StepFinished",
    "StepOutline",
    "StepStarted",
]


@dataclass(frozen=True, slots=True)
class Due:
    """Something that falls due a while after a step was started.

    Parameters
    ----------
    what : str
        In words: "fermentation should be done".
    after : float
        Since the start of the step. [s]
    """

    what: str
    after: float


@dataclass(frozen=True, slots=True)
class StepOutline:
    """What the record keeps of a planned step, so that replay never needs the plan reader.

    Parameters
    ----------
    step, kind : str
        Id and kind as in the plan.
    makes : tuple of str
        Names of the lots the step makes.
    due : tuple of Due
    """

    step: str
    kind: str
    makes: tuple[str, ...] = ()
    due: tuple[Due, ...] = ()


@dataclass(frozen=True, slots=True)
class BatchOpened:
    """A batch begins.

    Parameters
    ----------
    name : str
        The person's name for it.
    origin : str
        Where the plan came from: a file name, "example demo", "pasted".
    made_from : str or None
        Id of the batch whose lesson this one carries on.
    """

    name: str
    origin: str = ""
    made_from: str | None = None
    NAME: ClassVar[str] = "batch.opened"
    SCHEMA: ClassVar[int] = 1


@dataclass(frozen=True, slots=True)
class PlanAdopted:
    """A plan holds from now on; the text is kept whole.

    Parameters
    ----------
    text : str
        The plan file.
    steps : tuple of StepOutline
        In order.
    reason : str
        Why it was changed; "" for the first.
    """

    text: str
    steps: tuple[StepOutline, ...]
    reason: str = ""
    NAME: ClassVar[str] = "plan.adopted"
    SCHEMA: ClassVar[int] = 1


@dataclass(frozen=True, slots=True)
class StepStarted:
    """A step of the plan begins."""

    step: str
    note: str = ""
    NAME: ClassVar[str] = "step.started"
    SCHEMA: ClassVar[int] = 1


@dataclass(frozen=True, slots=True)
class StepFinished:
    """A step of the plan is done."""

    step: str
    note: str = ""
    NAME: ClassVar[str] = "step.finished"
    SCHEMA: ClassVar[int] = 1


@dataclass(frozen=True, slots=True)
class ReadingTaken:
    """An instrument was read.

    Parameters
    ----------
    step : str
    quantity : str
        A name in :data:`middlecut.app.quantities.QUANTITIES`.
    value : float
        As the instrument showed it. [SI unit of the quantity]
    temperature : float or None
        Of the liquid the instrument stood in. [K]
    reference : str
        For a glass alcoholometer the temperature it is made for: "20C" or "60F"; else "".
    uncertainty : float or None
        Standard uncertainty. [unit of the value]
    instrument : str
    lot, jar : str or None
        What was measured, when it is not simply what runs off or stands in the vessel.
    as_entered : str
        The words or digits that were typed.
    """

    step: str
    quantity: str
    value: float
    temperature: float | None = None
    reference: str = ""
    uncertainty: float | None = None
    instrument: str = ""
    lot: str | None = None
    jar: str | None = None
    as_entered: str = ""
    NAME: ClassVar[str] = "reading.taken"
    SCHEMA: ClassVar[int] = 1


@dataclass(frozen=True, slots=True)
class ReadingCorrected:
    """An earlier reading was wrong; both stay in the record.

    Parameters
    ----------
    target : str
        Id of the reading's event.
    value, temperature, reference, uncertainty, as_entered
        As in :class:`ReadingTaken`.
    reason : str
    later : float
        How much later than first said it was read; negative: earlier. [s]
    """

    target: str
    value: float
    temperature: float | None = None
    reference: str = ""
    uncertainty: float | None = None
    as_entered: str = ""
    reason: str = ""
    later: float = 0.0
    NAME: ClassVar[str] = "reading.corrected"
    SCHEMA: ClassVar[int] = 2


@dataclass(frozen=True, slots=True)
class EntryWithdrawn:
    """An entry does not hold (undo); withdrawing a withdrawal makes it hold again.

    Parameters
    ----------
    target : str
        Id of the entry's event.
    reason : str
    """

    target: str
    reason: str = ""
    NAME: ClassVar[str] = "entry.withdrawn"
    SCHEMA: ClassVar[int] = 1


@dataclass(frozen=True, slots=True)
class NoteWritten:
    """Free words, to a step or to the batch."""

    text: str
    step: str | None = None
    NAME: ClassVar[str] = "note.written"
    SCHEMA: ClassVar[int] = 1


@dataclass(frozen=True, slots=True)
class BatchClosed:
    """The batch is over; tastings, notes and corrections may still follow."""

    outcome: str = ""
    NAME: ClassVar[str] = "batch.closed"
    SCHEMA: ClassVar[int] = 1


BatchBody = (
    BatchOpened
    | PlanAdopted
    | StepStarted
    | StepFinished
    | ReadingTaken
    | ReadingCorrected
    | EntryWithdrawn
    | PowerSet
    | CutCalled
    | JarFilled
    | JarNoted
    | HeartsChosen
    | AdditionMade
    | DoseTried
    | DoseChosen
    | WaterAdded
    | WoodSampled
    | BottlesFilled
    | TastingMade
    | NoteWritten
    | BatchClosed
)

BATCH_BODIES: tuple[type[BatchBody], ...] = (
    BatchOpened,
    PlanAdopted,
    StepStarted,
    StepFinished,
    ReadingTaken,
    ReadingCorrected,
    EntryWithdrawn,
    PowerSet,
    CutCalled,
    JarFilled,
    JarNoted,
    HeartsChosen,
    AdditionMade,
    DoseTried,
    DoseChosen,
    WaterAdded,
    WoodSampled,
    BottlesFilled,
    TastingMade,
    NoteWritten,
    BatchClosed,
)
"""Every body a batch stream may hold."""
