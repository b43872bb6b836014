# SPDX-License-Identifier: MIT
"""The record of a workshop: the state of every stream, and the one door new facts go through.

One :class:`Record` serves a whole process; it may be used from several threads. It keeps the state
of each stream in memory and reads on from there, so that an entry costs one decision and one write.
"""

from __future__ import annotations

import random
import threading
import time
from dataclasses import dataclass, field
from datetime import datetime

from middlecut.app.batch import Batch
from middlecut.app.decide import Command
from middlecut.app.events import NOBODY, Body, Event, Who
from middlecut.app.ports import Clock, Ids, Store
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

__all__ = ["HERE", "KEY_USED", "Entry", "Record"]

TRIES = 400
PAUSE = 0.05  # s; the longest one after somebody else was first, so some 10 s of patience in all
KEY_USED = "That entry's key was already used for something else; it was not kept. Enter it again."


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
"""Entered at this computer, now."""


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
            for tried in range(TRIES):
                state = self._load(stream)
                _check_seen(state, entry.seen)
                try:
                    return self._append(state, stream, command, key)
                except ConflictError:
                    # Another process was first: decide again on what is there now.
                    if self._load(stream).version == state.version:
                        raise
                # Not at once: who reads while another writes is late again and again.
                time.sleep(random.uniform(0.0, min(PAUSE, 0.001 * 2.0 ** min(tried, 10))))  # noqa: S311
            raise StoreError(f"The record at {self.store.location} is too busy; try again.")

    def _append(self, state: State, stream: str, command: Command, key: str) -> tuple[Event, ...]:
        now = self.clock.now()
        drafts = decide_any(state, command, now=now, ids=self.ids.new)
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


def _same(known: tuple[Event, ...], stream: str, bodies: tuple[Body, ...]) -> tuple[Event, ...]:
    if known[0].stream != stream or tuple(event.body for event in known) != bodies:
        raise ConflictError(KEY_USED)
    return known


def _check_seen(state: State, seen: int | None) -> None:
    if seen is not None and seen != state.version:
        raise ConflictError(
            f"Somebody else was first: you were looking at version {seen}, the record is at "
            f"{state.version}. Nothing was changed; look at what is new and enter it again."
        )
