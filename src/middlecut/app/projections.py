# SPDX-License-Identifier: MIT
"""What is read often, computed from the state: the shed list and the account of pure alcohol.

Each is a plain function of the state, so a projection can be thrown away and computed again.
The documents of a batch are stored beside its events; ``verify`` computes them anew and compares.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta, tzinfo

from middlecut.app.alcohol import alcohol_entries
from middlecut.app.batch import Batch, StepState
from middlecut.app.codec import canonical, parse_utc, render_utc
from middlecut.app.ports import Document

__all__ = [
    "PROJECTIONS",
    "DueItem",
    "ShedRow",
    "arranged",
    "documents_of",
    "shed",
    "when_word",
]

PROJECTIONS = ("shed", "alcohol")
"""Names of the stored projections."""

SOON = timedelta(days=3)


@dataclass(frozen=True, slots=True)
class DueItem:
    """Something to do.

    Parameters
    ----------
    step, what : str
    at : datetime
    when : str
        "overdue", "today", "soon" or "later".
    low, high : datetime or None
        Between which it is expected; None where that is not known.
    key : str
        What it is, whatever its words say today; "": its words.
    """

    step: str
    what: str
    at: datetime
    when: str
    low: datetime | None = None
    high: datetime | None = None
    key: str = ""


@dataclass(frozen=True, slots=True)
class ShedRow:
    """Where a batch stands.

    Parameters
    ----------
    batch, name : str
        Id and the person's name.
    closed : bool
    opened, touched : datetime
        First and last time anything was done.
    steps : tuple of (str, str, str)
        Id, kind and planned, under way or done.
    due : tuple of DueItem
        Soonest first.
    """

    batch: str
    name: str
    closed: bool
    opened: datetime
    touched: datetime
    steps: tuple[tuple[str, str, str], ...]
    due: tuple[DueItem, ...]

    def with_due(self, items: Iterable[DueItem]) -> ShedRow:
        """Return the row with other things to do, the soonest first."""
        return replace(self, due=tuple(sorted(items, key=lambda item: item.at)))


def documents_of(state: Batch) -> tuple[Document, ...]:
    """Return the documents that belong to a batch as it stands.

    Parameters
    ----------
    state : Batch

    Returns
    -------
    documents : tuple of Document
        One a projection.
    """
    return (
        Document("shed", state.id, canonical(_shed_document(state))),
        Document("alcohol", state.id, canonical(alcohol_entries(state))),
    )


def _shed_document(state: Batch) -> dict[str, object]:
    moments = [entry.event.utc for entry in state.entries.values()]
    return {
        "name": state.name,
        "closed": state.closed,
        "opened": render_utc(moments[0]),
        "touched": render_utc(max(moments)),
        "steps": [[one.outline.step, one.outline.kind, one.word] for one in state.steps()],
        "due": [item for one in state.steps() for item in _due(one)],
    }


def _due(step: StepState) -> list[list[str]]:
    if step.started is None or step.finished is not None:
        return []
    return [
        [step.outline.step, due.what, render_utc(step.started + timedelta(seconds=due.after))]
        for due in step.outline.due
    ]


def shed(documents: Mapping[str, str], *, now: datetime, zone: tzinfo = UTC) -> tuple[ShedRow, ...]:
    """Return the shed list: every batch, those with something due first.

    Parameters
    ----------
    documents : mapping of str to str
        Of the projection "shed", by batch.
    now : datetime
    zone : tzinfo
        In which "today" is meant.

    Returns
    -------
    rows : tuple of ShedRow
        Open batches by what is due, then by when they were last touched; closed ones at the end.
    """
    return arranged(_row(batch, json.loads(text), now, zone) for batch, text in documents.items())


def arranged(rows: Iterable[ShedRow]) -> tuple[ShedRow, ...]:
    """Return rows in the order of the shed list; see :func:`shed`."""
    far = datetime.max.replace(tzinfo=UTC)
    found = sorted(rows, key=lambda row: row.touched, reverse=True)
    found.sort(key=lambda row: (row.closed, row.due[0].at if row.due else far))
    return tuple(found)


def _row(batch: str, content: Mapping[str, object], now: datetime, zone: tzinfo) -> ShedRow:
    closed = bool(content["closed"])
    due = [] if closed else _texts(content["due"])
    items = [
        DueItem(step, what, parse_utc(at), when_word(parse_utc(at), now, zone))
        for step, what, at in due
    ]
    return ShedRow(
        batch,
        str(content["name"]),
        closed,
        parse_utc(str(content["opened"])),
        parse_utc(str(content["touched"])),
        tuple((step, kind, word) for step, kind, word in _texts(content["steps"])),
        tuple(sorted(items, key=lambda item: item.at)),
    )


def _texts(value: object) -> list[tuple[str, str, str]]:
    found: list[tuple[str, str, str]] = []
    if isinstance(value, Iterable):
        found.extend((str(a), str(b), str(c)) for a, b, c in value)
    return found


def when_word(at: datetime, now: datetime, zone: tzinfo) -> str:
    """Return how near a date is: "overdue", "today", "soon" or "later"."""
    day, today = at.astimezone(zone).date(), now.astimezone(zone).date()
    if day < today:
        return "overdue"
    if day == today:
        return "today"
    return "soon" if day - today <= SOON else "later"
