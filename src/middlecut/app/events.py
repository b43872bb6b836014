# SPDX-License-Identifier: MIT
"""Events: what was done (the body) and when, by whom and where it stands (the envelope).

Three times are kept. ``utc``: when it was so. ``entered_utc``: when a person typed it, by the clock
of their device. ``synced_utc``: when this record took it; later than the entry when a phone had no
network.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from types import MappingProxyType

from middlecut.app.batch_events import BATCH_BODIES, BatchBody
from middlecut.app.shop_events import SHOP_BODIES, STILL_BODIES, ShopBody, StillBody

__all__ = ["BODIES", "KINDS_OF_STREAM", "NOBODY", "Body", "Draft", "Event", "Row", "Who"]

Body = BatchBody | StillBody | ShopBody

BODIES: MappingProxyType[str, type[Body]] = MappingProxyType(
    {kind.NAME: kind for kind in (*BATCH_BODIES, *STILL_BODIES, *SHOP_BODIES)}
)
"""The class of each stable event name."""

KINDS_OF_STREAM: MappingProxyType[str, tuple[type[Body], ...]] = MappingProxyType(
    {"batch": BATCH_BODIES, "still": STILL_BODIES, "workshop": SHOP_BODIES}
)
"""What a stream may hold, by the word before the slash of its id."""


@dataclass(frozen=True, slots=True)
class Who:
    """Who entered something, on what.

    Parameters
    ----------
    actor : str
        The person's name; "" while there are no accounts.
    device : str
        Id of the paired device; "" for the computer itself.
    """

    actor: str = ""
    device: str = ""


NOBODY = Who()
"""This computer, nobody named."""


@dataclass(frozen=True, slots=True)
class Draft:
    """An event that was decided and is not yet in the record.

    Parameters
    ----------
    id : str
        Unique for ever.
    body : Body
        What was done.
    utc, entered_utc : datetime
        When it was so, and when it was typed.
    who : Who
    """

    id: str
    body: Body
    utc: datetime
    entered_utc: datetime
    who: Who = NOBODY


@dataclass(frozen=True, slots=True)
class Event:
    """An event in the record.

    Parameters
    ----------
    sequence : int
        Place in the whole record, from 1, without gaps.
    stream : str
        ``batch/ID``, ``still/NAME`` or ``workshop``.
    version : int
        Place in its stream, from 1, without gaps.
    id : str
    type : str
        Stable name.
    schema : int
        Version of the shape it was written in; the body is always of the newest.
    utc, entered_utc, synced_utc : datetime
    who : Who
    key : str
        Idempotency key of the entry that made it.
    body : Body
    """

    sequence: int
    stream: str
    version: int
    id: str
    type: str
    schema: int
    utc: datetime
    entered_utc: datetime
    synced_utc: datetime
    who: Who
    key: str
    body: Body


@dataclass(frozen=True, slots=True)
class Row:
    """An event as it is kept: only text and whole numbers.

    Parameters
    ----------
    sequence : int
    stream : str
    version : int
    id, type : str
    schema : int
    utc, entered_utc, synced_utc : str
        ISO 8601 with microseconds and Z.
    actor, device, key : str
    part : int
        Place among the events of one key, from 0.
    payload : str
        The body as canonical JSON.
    digest : str
        SHA-256 over the digest of the row before and all fields of this one.
    """

    sequence: int
    stream: str
    version: int
    id: str
    type: str
    schema: int
    utc: str
    entered_utc: str
    synced_utc: str
    actor: str
    device: str
    key: str
    part: int
    payload: str
    digest: str
