# SPDX-License-Identifier: MIT
"""What can be done with the record, from opening a batch to undoing a reading.

One :class:`Record` serves a whole process; it may be used from several threads. It keeps the state
of each stream in memory and reads on from there, so that an entry costs one decision and one write.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass, field, replace
from datetime import datetime

from middlecut.app.batch import Batch, Reading
from middlecut.app.batch_events import (
    BatchOpened,
    EntryWithdrawn,
    PlanAdopted,
    ReadingCorrected,
    ReadingTaken,
)
from middlecut.app.decide import Command
from middlecut.app.events import NOBODY, Body, Event, Who
from middlecut.app.outline import outline_of
from middlecut.app.ports import Clock, Ids, Store
from middlecut.app.quantities import read_typed
from middlecut.app.shop_events import DevicePaired, DeviceRevoked, SettingsChanged, StillDescribed
from middlecut.app.states import (
    WORKSHOP,
    State,
    batch_stream,
    decide_any,
    documents_after,
    evolve_any,
    fresh_state,
    still_stream,
)
from middlecut.app.stills import StillState
from middlecut.app.workshop import Workshop
from middlecut.errors import ConflictError, InputError, NotFoundError, StoreError
from middlecut.plan.read import read_plan_text

__all__ = ["Entry", "Record"]

TRIES = 50


@dataclass(frozen=True, slots=True)
class Entry:
    """How something comes to be entered; every part may be left out.

    Parameters
    ----------
    key : str
        Idempotency key: the same entry sent twice is kept once. "" makes a new one.
    utc : datetime or None
        When it was so; None: when it was entered.
    entered_utc : datetime or None
        When it was typed; None: now.
    who : Who
    seen : int or None
        Version of the stream the person was looking at; ConflictError if it has gone on since.
        None: whatever it is now, as befits a reading.
    """

    key: str = ""
    utc: datetime | None = None
    entered_utc: datetime | None = None
    who: Who = NOBODY
    seen: int | None = None


HERE = Entry()


@dataclass(slots=True)
class Record:
    """The record of a workshop.

    Parameters
    ----------
    store : Store
    clock : Clock
    ids : Ids
    """

    store: Store
    clock: Clock
    ids: Ids
    _states: dict[str, State] = field(default_factory=dict, init=False, repr=False)
    _door: threading.RLock = field(default_factory=threading.RLock, init=False, repr=False)

    def batch(self, batch: str) -> Batch:
        """Return the state of a batch, or raise NotFoundError."""
        state = self._load(batch_stream(batch))
        if not (isinstance(state, Batch) and state.version):
            raise NotFoundError("batch", batch)
        return state

    def still(self, name: str) -> StillState:
        """Return the state of a still, or raise NotFoundError."""
        state = self._load(still_stream(name))
        if not (isinstance(state, StillState) and state.version):
            known = (stream.partition("/")[2] for stream in self.store.streams("still"))
            raise NotFoundError("still", name, tuple(known)[:3])
        return state

    def workshop(self) -> Workshop:
        """Return settings and devices."""
        state = self._load(WORKSHOP)
        return state if isinstance(state, Workshop) else Workshop()

    def open_batch(
        self, text: str, *, name: str = "", origin: str = "", made_from: str | None = None,
        entry: Entry = HERE,
    ) -> str:  # fmt: skip
        """Open a batch from the text of a plan.

        Parameters
        ----------
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
        entry = replace(entry, key=entry.key or self.ids.new())
        known = self.store.find_key(entry.key)
        if known:
            if not any(isinstance(e.body, PlanAdopted) and e.body.text == text for e in known):
                raise ConflictError(_KEY_USED)
            return known[0].stream.partition("/")[2]
        plan = read_plan_text(text, origin or "plan")
        if made_from is not None:
            self.batch(made_from)
        batch = self.ids.new()
        bodies = (
            BatchOpened((name or plan.batch.name).strip(), origin, made_from),
            PlanAdopted(text, outline_of(plan)),
        )
        events = self.keep(batch_stream(batch), bodies, entry=entry)
        return events[0].stream.partition("/")[2]

    def adopt_plan(
        self, batch: str, text: str, *, reason: str = "", entry: Entry = HERE
    ) -> tuple[Event, ...]:
        """Let another plan hold for a batch from now on.

        Parameters
        ----------
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
        return self.note(batch, body, entry=entry)

    def note(self, batch: str, *bodies: Body, entry: Entry = HERE) -> tuple[Event, ...]:
        """Record facts of a batch, together or not at all.

        Parameters
        ----------
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
        return self.keep(batch_stream(batch), bodies, entry=entry)

    def take_reading(
        self,
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
            As :meth:`note`.
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
        return self.note(batch, body, entry=entry)[0]

    def correct_reading(
        self, batch: str, target: str, value: str, *, temperature: str = "", reference: str = "",
        uncertainty: str = "", reason: str = "", entry: Entry = HERE,
    ) -> Event:  # fmt: skip
        """Correct a reading; the first one stays in the record and is marked.

        Parameters
        ----------
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
            As :meth:`note`.
        """
        quantity = self._reading(batch, target).taken.quantity
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
        return self.note(batch, body, entry=entry)[0]

    def withdraw(self, batch: str, target: str, *, reason: str = "", entry: Entry = HERE) -> Event:
        """Undo an entry of a batch by a further one; undoing that brings it back.

        Parameters
        ----------
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
        return self.note(batch, EntryWithdrawn(target, reason), entry=entry)[0]

    def describe_still(
        self, name: str, text: str, *, reason: str = "", entry: Entry = HERE
    ) -> tuple[Event, ...]:
        """Record how a still is built.

        Parameters
        ----------
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
        plan = read_plan_text(f"{text}\n{_AROUND_A_STILL}", f"still {name}")
        if set(plan.stills) != {name}:
            raise InputError(
                "name", name, f"the section describes {', '.join(plan.stills) or 'no still'}", ""
            )
        return self.keep(still_stream(name), (StillDescribed(name, text, reason),), entry=entry)

    def change_setting(self, setting: str, value: str, *, entry: Entry = HERE) -> Event:
        """Change a setting; "" puts it back to its default."""
        return self.keep(WORKSHOP, (SettingsChanged(setting, value),), entry=entry)[0]

    def pair_device(self, name: str, token_digest: str, *, entry: Entry = HERE) -> str:
        """Let a device read and write; return its id. Only the digest of its secret is kept."""
        known = self.store.find_key(entry.key) if entry.key else ()
        if known and isinstance(known[0].body, DevicePaired):
            return known[0].body.device
        device = self.ids.new()
        self.keep(WORKSHOP, (DevicePaired(device, name, token_digest),), entry=entry)
        return device

    def revoke_device(self, device: str, *, reason: str = "", entry: Entry = HERE) -> Event:
        """Let a device read and write no more."""
        return self.keep(WORKSHOP, (DeviceRevoked(device, reason),), entry=entry)[0]

    def keep(
        self, stream: str, bodies: tuple[Body, ...], *, entry: Entry = HERE
    ) -> tuple[Event, ...]:
        """Decide on facts and append them to a stream.

        Parameters
        ----------
        stream : str
        bodies : tuple of Body
        entry : Entry

        Returns
        -------
        events : tuple of Event
            What is now in the record; that of the first time if the key was used before.

        Raises
        ------
        InputError, NotFoundError, ConflictError, StoreError
            As :meth:`note`.
        """
        if not bodies:
            raise InputError("entry", (), "there is nothing to record", "")
        key = entry.key or self.ids.new()
        command = Command(bodies, entry.utc, entry.entered_utc, entry.who)
        with self._door:
            known = self.store.find_key(key)
            if known:
                return _same(known, stream, bodies)
            for _ in range(TRIES):
                state = self._load(stream)
                _check_seen(state, entry.seen)
                try:
                    return self._append(state, stream, command, key)
                except ConflictError:
                    # Another process was first: decide again on what is there now.
                    if self._load(stream).version == state.version:
                        raise
            raise StoreError(f"The record at {self.store.location} is too busy; try again.")

    def _append(self, state: State, stream: str, command: Command, key: str) -> tuple[Event, ...]:
        now = self.clock.now()
        drafts = decide_any(state, command, now, self.ids.new)
        documents = documents_after(state, drafts, now)
        events = self.store.append(
            stream, state.version, drafts, key, synced_utc=now, documents=documents
        )
        if events[0].version == state.version + 1:
            self._states[stream] = evolve_any(state, events)
        return events

    def _load(self, stream: str) -> State:
        with self._door:
            state = self._states.get(stream) or fresh_state(stream)
            later = self.store.read_stream(stream, state.version)
            if later:
                state = evolve_any(state, later)
            if state.version:
                self._states[stream] = state
            return state

    def _reading(self, batch: str, target: str) -> Reading:
        for reading in self.batch(batch).readings():
            if reading.id == target:
                return reading
        raise NotFoundError("reading that holds", target)


_KEY_USED = "That entry's key was already used for something else; it was not kept. Enter it again."
_AROUND_A_STILL = """
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


def _same(known: tuple[Event, ...], stream: str, bodies: tuple[Body, ...]) -> tuple[Event, ...]:
    if known[0].stream != stream or tuple(event.body for event in known) != bodies:
        raise ConflictError(_KEY_USED)
    return known


def _check_seen(state: State, seen: int | None) -> None:
    if seen is not None and seen != state.version:
        raise ConflictError(
            f"Somebody else was first: you were looking at version {seen}, the record is at "
            f"{state.version}. Nothing was changed; look at what is new and enter it again."
        )
