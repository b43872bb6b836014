# SPDX-License-Identifier: MIT
"""Decide what follows from what somebody wants recorded: new events, or a sentence why not."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime

from middlecut.app.batch import Batch, evolve
from middlecut.app.batch_events import (
    BatchClosed,
    BatchOpened,
    EntryWithdrawn,
    NoteWritten,
    ReadingCorrected,
)
from middlecut.app.decide_course import AHEAD, check_body
from middlecut.app.events import NOBODY, Body, Draft, Event, Who
from middlecut.app.running_totals import PRESENT, check_totals
from middlecut.app.spirit_events import TastingMade
from middlecut.errors import ConflictError, InputError, NotFoundError

__all__ = ["AHEAD", "Command", "decide", "draft_of", "foreseen"]

EARLIEST = datetime(1990, 1, 1, tzinfo=UTC)
AFTER_CLOSING = (NoteWritten, TastingMade, EntryWithdrawn, ReadingCorrected)
NewId = Callable[[], str]


@dataclass(frozen=True, slots=True)
class Command:
    """What somebody wants recorded.

    Parameters
    ----------
    bodies : tuple of Body
        One thing, or several that belong together and are kept together or not at all.
    utc : datetime or None
        When it was so; None: when it was entered.
    entered_utc : datetime or None
        When it was typed; None: now.
    who : Who
    """

    bodies: tuple[Body, ...]
    utc: datetime | None = None
    entered_utc: datetime | None = None
    who: Who = NOBODY


def decide(state: Batch, command: Command, *, now: datetime, ids: NewId) -> tuple[Draft, ...]:
    """Decide whether the batch can take what is wanted.

    Parameters
    ----------
    state : Batch
        As it is before.
    command : Command
    now : datetime
        The moment of the decision.
    ids : callable
        Gives a new id each time.

    Returns
    -------
    drafts : tuple of Draft
        To be appended at ``state.version``.

    Raises
    ------
    InputError
        If something given cannot be; it names the field, what is allowed and what to do.
    NotFoundError
        If a step, jar or entry of that name does not exist.
    ConflictError
        If the batch is already open or already closed.
    """
    drafts: list[Draft] = []
    for body in command.bodies:
        _check_stage(state, body)
        draft = draft_of(body, command, now=now, new_id=ids())
        check_body(state, body, draft.utc)
        if now - draft.entered_utc <= PRESENT:  # else nobody is there to be asked: keep and mark it
            check_totals(state, body, utc=draft.utc)
        drafts.append(draft)
        state = evolve(state, foreseen(draft, state, now))
    return tuple(drafts)


def foreseen(draft: Draft, state: Batch, now: datetime) -> Event:
    """Return the event a draft will be, as far as the state of its batch depends on it.

    Parameters
    ----------
    draft : Draft
    state : Batch
        Before it.
    now : datetime

    Returns
    -------
    event : Event
        Not in the record: its sequence is 0.
    """
    body = draft.body
    return Event(
        sequence=0,
        stream=f"batch/{state.id}",
        version=state.version + 1,
        id=draft.id,
        type=body.NAME,
        schema=body.SCHEMA,
        utc=draft.utc,
        entered_utc=draft.entered_utc,
        synced_utc=now,
        who=draft.who,
        key="",
        body=body,
    )


def draft_of(body: Body, command: Command, *, now: datetime, new_id: str) -> Draft:
    """Return the draft of one body with its times checked.

    Parameters
    ----------
    body : Body
    command : Command
        That it belongs to.
    now : datetime
    new_id : str

    Returns
    -------
    draft : Draft

    Raises
    ------
    InputError
        If a time lies in the future, before 1990 or has no zone.
    """
    entered = command.entered_utc or now
    utc = command.utc or entered
    for field, moment in (("entered", entered), ("time", utc)):
        if moment.tzinfo is None:
            raise InputError(field, str(moment), "a time needs its zone", "Add it.")
        if moment > now + AHEAD:
            raise InputError(
                field,
                moment.isoformat(),
                f"it lies in the future; here it is {now.astimezone(UTC):%Y-%m-%d %H:%M} UTC",
                "Check date and time, and the clock of the device.",
            )
        if moment < EARLIEST:
            raise InputError(field, moment.isoformat(), "it lies before 1990", "Check the date.")
    return Draft(new_id, body, utc.astimezone(UTC), entered.astimezone(UTC), command.who)


def _check_stage(state: Batch, body: Body) -> None:
    if isinstance(body, BatchOpened):
        if state.version:
            raise ConflictError(f"The batch {state.name or state.id!r} is already open.")
        return
    if not state.version:
        raise NotFoundError("batch", state.id)
    if state.closed and not isinstance(body, AFTER_CLOSING):
        what = "is already closed" if isinstance(body, BatchClosed) else "is closed"
        raise ConflictError(
            f"The batch {state.name!r} {what}. Notes, tastings and corrections are still taken; "
            "withdraw the closing to go on with it."
        )
