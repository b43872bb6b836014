# SPDX-License-Identifier: MIT
"""What is asked about before it is kept: an entry that can be true, and probably is a slip.

Nothing here refuses: whoever types it says that it is so, and it is kept. What arrives late is
kept with a note, as nobody is there to be asked.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from middlecut.app.batch import Batch
from middlecut.app.batch_events import (
    BatchClosed,
    BatchOpened,
    EntryWithdrawn,
    NoteWritten,
    PlanAdopted,
    ReadingCorrected,
    ReadingTaken,
    StepStarted,
)
from middlecut.app.events import Body
from middlecut.app.spirit_events import JarFilled
from middlecut.app.views.readings import first_drop

__all__ = ["LATE", "Doubt", "Slip", "digits_slip", "late_note", "time_doubts"]

LATE = "Not asked about, as it arrived late: "
"""What a note begins with that is kept beside a doubtful entry from an outbox."""

_UNTIMED = (BatchOpened, BatchClosed, PlanAdopted, EntryWithdrawn, ReadingCorrected, NoteWritten)
_FROM_THE_SPOUT = frozenset({"strength", "true_strength", "volume", "mass"})
_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")


@dataclass(frozen=True, slots=True)
class Doubt:
    """A question about an entry.

    Parameters
    ----------
    code : str
        What is asked, short; the answer names it.
    field : str
        Of the form.
    text : str
        Sentences that say what is odd, the last without its full stop.
    entries : tuple of (str, str)
        Entries it is about: words of the link, id.
    take_back : tuple of (str, str) or None
        An entry that may be the slip instead: words of the offer, id.
    answerable : bool
        False where saying "it is so" does not help, as two entries contradict each other.
    """

    code: str
    field: str
    text: str
    entries: tuple[tuple[str, str], ...] = ()
    take_back: tuple[str, str] | None = None
    answerable: bool = True


@dataclass(frozen=True, slots=True)
class Slip:
    """A number that may have been meant.

    Parameters
    ----------
    typed, meant : str
        As it was typed, and as it may have been meant.
    value : float
        The latter as a number.
    """

    typed: str
    meant: str
    value: float


def digits_slip(text: str, *, expected: float, far: float, near: float) -> Slip | None:
    """Return the number somebody may have meant who typed one far from what is expected.

    Parameters
    ----------
    text : str
        As typed; the first number in it counts.
    expected : float
        On the scale of what was typed.
    far : float
        Distance from which a number is looked at: some twenty uncertainties.
    near : float
        Distance within which another number is taken to be meant.

    Returns
    -------
    slip : Slip or None
        None if the number is near enough, or if neither a shifted decimal mark nor two digits
        that changed places bring it there.

    Examples
    --------
    >>> digits_slip("8,2", expected=79.0, far=20.0, near=5.0).meant
    '82'
    >>> digits_slip("45", expected=79.0, far=20.0, near=5.0) is None
    True
    """
    found = _NUMBER.search(text)
    if found is None:
        return None
    typed = found[0]
    value = float(typed.replace(",", "."))
    if abs(value - expected) <= far:
        return None
    meant = min(_misread(typed, value), key=lambda one: abs(one - expected))
    return Slip(typed, f"{meant:g}", meant) if abs(meant - expected) <= near else None


def _misread(typed: str, value: float) -> Iterator[float]:
    for power in (10.0, 0.1, 100.0, 0.01):
        yield round(value * power, 6)
    digits = list(typed)
    places = [place for place, mark in enumerate(digits) if mark.isdigit()]
    for first, second in pairwise(places):
        swapped = digits.copy()
        swapped[first], swapped[second] = swapped[second], swapped[first]
        yield float("".join(swapped).replace(",", "."))


def time_doubts(
    state: Batch, bodies: Iterable[Body], utc: datetime, *, shown: Callable[[datetime], str]
) -> tuple[Doubt, ...]:
    """Return what is odd about when something is said to have been.

    Parameters
    ----------
    state : Batch
    bodies : iterable of Body
        What is to be recorded.
    utc : datetime
        When it was so.
    shown : callable
        Gives a moment as it is shown to people.

    Returns
    -------
    doubts : tuple of Doubt
        At most one.
    """
    steps = {one.outline.step: one for one in state.steps()}
    for body in bodies:
        step = steps.get(str(getattr(body, "step", "")))
        if step is None or step.started is None or isinstance(body, (*_UNTIMED, StepStarted)):
            continue
        if utc < step.started:
            return (
                Doubt(
                    f"before-start {utc:%m-%d %H:%M}",
                    "at",
                    f"{shown(utc)} is before this step was started, {shown(step.started)}",
                ),
            )
        if step.outline.kind == "distil" and _from_the_spout(body):
            drop = first_drop(state, step.outline.step)
            if drop is not None and utc < drop:
                return (
                    Doubt(
                        f"before-first-drop {utc:%m-%d %H:%M}",
                        "at",
                        f"{shown(utc)} is before the first drop, {shown(drop)}: nothing ran off "
                        "then that could be measured or divided",
                    ),
                )
    return ()


def _from_the_spout(body: Body) -> bool:
    """Whether there can be no such thing before the first drop."""
    if isinstance(body, ReadingTaken):
        return body.quantity in _FROM_THE_SPOUT and body.lot is None and body.jar is None
    return isinstance(body, JarFilled)


def late_note(body: Body, doubts: Iterable[Doubt]) -> NoteWritten | None:
    """Return the note that marks a doubtful entry nobody could be asked about.

    Parameters
    ----------
    body : Body
        The entry.
    doubts : iterable of Doubt

    Returns
    -------
    note : NoteWritten or None
        None without doubts.
    """
    words = "; ".join(one.text for one in doubts)
    step = getattr(body, "step", None)
    return (
        NoteWritten(f"{LATE}{words}.", step if isinstance(step, str) else None) if words else None
    )
