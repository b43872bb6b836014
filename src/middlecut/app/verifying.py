# SPDX-License-Identifier: MIT
"""Check a record: every event whole and in place, and every projection what the events say."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from middlecut.app.batch import replay
from middlecut.app.chain import check_rows
from middlecut.app.codec import to_event
from middlecut.app.events import KINDS_OF_STREAM, Event
from middlecut.app.ports import Document, Store
from middlecut.app.projections import PROJECTIONS, documents_of
from middlecut.errors import ConflictError, StoreError

__all__ = ["Verdict", "rebuild", "verify"]

TRIES = 10


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a check found.

    Parameters
    ----------
    events, streams : int
        Read and found good.
    documents : int
        Compared.
    problems : tuple of str
        Sentences; none when all is well.
    damaged : bool
        Whether the events themselves are; projections can be computed again.
    """

    events: int
    streams: int
    documents: int
    problems: tuple[str, ...]
    damaged: bool


def verify(store: Store) -> Verdict:
    """Read the whole record again and compare.

    Parameters
    ----------
    store : Store

    Returns
    -------
    verdict : Verdict
    """
    for _ in range(TRIES):
        events, problems = _read(store)
        kept = {
            (name, key): text for name in PROJECTIONS for key, text in store.documents(name).items()
        }
        if problems or store.last_sequence() == len(events):
            break
    damaged = bool(problems)
    if not damaged:
        problems = _differences(events, kept)
    streams = len({event.stream for event in events})
    return Verdict(len(events), streams, len(kept), tuple(problems), damaged)


def _read(store: Store) -> tuple[list[Event], list[str]]:
    """Return the events up to the first that is damaged, and what is wrong."""
    events: list[Event] = []
    problems: list[str] = []
    try:
        for row in check_rows(store.rows()):
            event = to_event(row)
            kinds = KINDS_OF_STREAM.get(event.stream.partition("/")[0], ())
            if not isinstance(event.body, kinds):
                problems.append(f"Event {event.sequence} ({event.type}) is in {event.stream}.")
            events.append(event)
    except StoreError as error:
        problems.append(str(error))
    return events, problems


def _differences(events: list[Event], kept: dict[tuple[str, str], str]) -> list[str]:
    wanted = {(one.name, one.key): one.content for one in _documents(events)}
    return [
        f"The projection {name!r} of batch {key} is not what its events say."
        for name, key in sorted(set(wanted) | set(kept))
        if wanted.get((name, key)) != kept.get((name, key))
    ]


def rebuild(store: Store) -> int:
    """Compute all projections again from the events; return how many documents there are.

    Parameters
    ----------
    store : Store

    Returns
    -------
    count : int

    Raises
    ------
    StoreError
        If the events cannot be read, or others keep writing.
    """
    for _ in range(TRIES):
        events = store.read_all()
        documents = _documents(events)
        try:
            store.replace_documents(documents, len(events))
        except ConflictError:
            continue
        return len(documents)
    raise StoreError(f"The record at {store.location} is too busy; try again.")


def _documents(events: Iterable[Event]) -> tuple[Document, ...]:
    by_batch: dict[str, list[Event]] = {}
    for event in events:
        kind, _, batch = event.stream.partition("/")
        if kind == "batch":
            by_batch.setdefault(batch, []).append(event)
    return tuple(
        document
        for batch, theirs in by_batch.items()
        for document in documents_of(replay(batch, theirs))
    )
