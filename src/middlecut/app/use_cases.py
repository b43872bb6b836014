# SPDX-License-Identifier: MIT
"""What can be done with the record, from opening a batch to undoing a reading."""

from __future__ import annotations

from dataclasses import replace

from middlecut.app.batch import Reading
from middlecut.app.batch_events import (
    BatchOpened,
    PlanAdopted,
    ReadingCorrected,
    ReadingTaken,
)
from middlecut.app.events import Body, Event
from middlecut.app.outline import outline_of
from middlecut.app.quantities import read_typed
from middlecut.app.record import HERE, KEY_USED, Entry, Record
from middlecut.app.shop_events import DevicePaired, DeviceRevoked, SettingsChanged, StillDescribed
from middlecut.app.states import WORKSHOP, batch_stream, still_stream
from middlecut.app.undoing import withdrawals
from middlecut.errors import ConflictError, InputError, NotFoundError
from middlecut.plan.read import read_plan_text

__all__ = [
    "AROUND_A_STILL",
    "adopt_plan",
    "change_setting",
    "correct_reading",
    "describe_still",
    "note",
    "open_batch",
    "pair_device",
    "revoke_device",
    "take_reading",
    "withdraw",
]

AROUND_A_STILL = """
[batch]
name = "a still"
[[step]]
id = "wash"
kind = "ferment"
into = "wash"
volume = "1 L"
gravity = "1.060 SG"
final_gravity = "1.010 SG"
temperature = "20 °C"
duration = "6 d"
"""
"""What makes a plan of the section of a still, so that it can be read by itself."""


def open_batch(
    record: Record, text: str, *, name: str = "", origin: str = "", made_from: str | None = None,
    entry: Entry = HERE,
) -> str:  # fmt: skip
    """Open a batch from the text of a plan.

    Parameters
    ----------
    record : Record
    text : str
        The plan file.
    name : str
        The person's name for the batch; "" takes that of the plan.
    origin : str
        Where the plan came from.
    made_from : str or None
        Id of the batch whose lesson this one carries on.
    entry : Entry

    Returns
    -------
    batch : str
        Id of the batch; that of the first time if the key was used before.

    Raises
    ------
    PlanError
        With every problem of the plan; nothing is opened then.
    """
    entry = replace(entry, key=entry.key or record.ids.new())
    known = record.store.find_key(entry.key)
    if known:
        if not any(isinstance(e.body, PlanAdopted) and e.body.text == text for e in known):
            raise ConflictError(KEY_USED)
        return known[0].stream.partition("/")[2]
    plan = read_plan_text(text, origin or "plan")
    if made_from is not None:
        record.batch(made_from)
    batch = record.ids.new()
    bodies = (
        BatchOpened((name or plan.batch.name).strip(), origin, made_from),
        PlanAdopted(text, outline_of(plan)),
    )
    events = record.keep(batch_stream(batch), bodies, entry=entry)
    return events[0].stream.partition("/")[2]


def adopt_plan(
    record: Record, batch: str, text: str, *, reason: str = "", entry: Entry = HERE
) -> tuple[Event, ...]:
    """Let another plan hold for a batch from now on.

    Parameters
    ----------
    record : Record
    batch : str
    text : str
        The plan file.
    reason : str
    entry : Entry

    Returns
    -------
    events : tuple of Event

    Raises
    ------
    PlanError
        With every problem of the plan; the batch goes on with the one it has.
    """
    body = PlanAdopted(text, outline_of(read_plan_text(text)), reason)
    return note(record, batch, body, entry=entry)


def note(record: Record, batch: str, *bodies: Body, entry: Entry = HERE) -> tuple[Event, ...]:
    """Record facts of a batch, together or not at all.

    Parameters
    ----------
    record : Record
    batch : str
    *bodies : Body
        In SI units, such as ``JarFilled("spirit", "3", 2.5e-4)``.
    entry : Entry

    Returns
    -------
    events : tuple of Event
        On disk when this returns.

    Raises
    ------
    InputError
        If something given cannot be.
    NotFoundError
        If the batch, or a step or jar of it, does not exist.
    ConflictError
        If the batch is closed, or went on since the version that was seen.
    StoreError
        If it could not be kept.
    """
    return record.keep(batch_stream(batch), bodies, entry=entry)


def take_reading(
    record: Record,
    batch: str,
    step: str,
    quantity: str,
    value: str,
    *,
    temperature: str = "",
    reference: str = "",
    uncertainty: str = "",
    instrument: str = "",
    lot: str | None = None,
    jar: str | None = None,
    entry: Entry = HERE,
) -> Event:
    """Record a reading as it was typed.

    Parameters
    ----------
    record : Record
    batch, step : str
    quantity : str
        A name in :data:`middlecut.app.quantities.QUANTITIES`.
    value, temperature, uncertainty : str
        With units.
    reference, instrument : str
        As in :class:`ReadingTaken`.
    lot, jar : str or None
    entry : Entry

    Returns
    -------
    event : Event

    Raises
    ------
    UnitError, InputError, NotFoundError, ConflictError, StoreError
        As :func:`note`.
    """
    typed = read_typed(
        quantity, value, temperature=temperature, uncertainty=uncertainty, reference=reference
    )
    body = ReadingTaken(
        step,
        quantity,
        typed.value,
        typed.temperature,
        typed.reference,
        typed.uncertainty,
        instrument,
        lot,
        jar,
        typed.as_entered,
    )
    return note(record, batch, body, entry=entry)[0]


def correct_reading(
    record: Record, batch: str, target: str, value: str, *, temperature: str = "",
    reference: str = "", uncertainty: str = "", reason: str = "", entry: Entry = HERE,
) -> Event:  # fmt: skip
    """Correct a reading; the first one stays in the record and is marked.

    Parameters
    ----------
    record : Record
    batch : str
    target : str
        Id of the reading.
    value, temperature, uncertainty : str
        With units; all as they should have been.
    reference, reason : str
    entry : Entry

    Returns
    -------
    event : Event

    Raises
    ------
    UnitError, InputError, NotFoundError, ConflictError, StoreError
        As :func:`note`.
    """
    quantity = _reading(record, batch, target).taken.quantity
    typed = read_typed(
        quantity, value, temperature=temperature, uncertainty=uncertainty, reference=reference
    )
    body = ReadingCorrected(
        target,
        typed.value,
        typed.temperature,
        typed.reference,
        typed.uncertainty,
        typed.as_entered,
        reason,
    )
    return note(record, batch, body, entry=entry)[0]


def withdraw(
    record: Record, batch: str, target: str, *, reason: str = "", entry: Entry = HERE
) -> Event:
    """Undo an entry of a batch by a further one; undoing that brings it back.

    A cut goes back with the power set with it, a start with its heat.

    Parameters
    ----------
    record : Record
    batch : str
    target : str
        Id of the entry.
    reason : str
    entry : Entry

    Returns
    -------
    event : Event

    Raises
    ------
    InputError, NotFoundError, StoreError
        If the entry does not hold, or others rest on it.
    """
    bodies = withdrawals(record.batch(batch), target, reason, entry.key)
    events = note(record, batch, *bodies, entry=entry)
    return next(one for one in events if getattr(one.body, "target", None) == target)


def describe_still(
    record: Record, name: str, text: str, *, reason: str = "", entry: Entry = HERE
) -> tuple[Event, ...]:
    """Record how a still is built.

    Parameters
    ----------
    record : Record
    name : str
    text : str
        A ``[still.NAME]`` section as in a plan file.
    reason : str
    entry : Entry

    Returns
    -------
    events : tuple of Event

    Raises
    ------
    PlanError
        With every problem of the section.
    InputError
        If the section describes another still.
    """
    plan = read_plan_text(f"{text}\n{AROUND_A_STILL}", f"still {name}")
    if set(plan.stills) != {name}:
        raise InputError(
            "name", name, f"the section describes {', '.join(plan.stills) or 'no still'}", ""
        )
    return record.keep(still_stream(name), (StillDescribed(name, text, reason),), entry=entry)


def change_setting(record: Record, setting: str, value: str, *, entry: Entry = HERE) -> Event:
    """Change a setting; "" puts it back to its default."""
    return record.keep(WORKSHOP, (SettingsChanged(setting, value),), entry=entry)[0]


def pair_device(record: Record, name: str, token_digest: str, *, entry: Entry = HERE) -> str:
    """Let a device read and write; return its id. Only the digest of its secret is kept."""
    known = record.store.find_key(entry.key) if entry.key else ()
    if known and isinstance(known[0].body, DevicePaired):
        return known[0].body.device
    device = record.ids.new()
    record.keep(WORKSHOP, (DevicePaired(device, name, token_digest),), entry=entry)
    return device


def revoke_device(record: Record, device: str, *, reason: str = "", entry: Entry = HERE) -> Event:
    """Let a device read and write no more."""
    return record.keep(WORKSHOP, (DeviceRevoked(device, reason),), entry=entry)[0]


def _reading(record: Record, batch: str, target: str) -> Reading:
    for reading in record.batch(batch).readings():
        if reading.id == target:
            return reading
    raise NotFoundError("reading that holds", target)
