# SPDX-License-Identifier: MIT
"""When something was typed on a device that sends it later."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime

from middlecut.errors import InputError

__all__ = ["ENTERED", "OUTBOX", "SENT", "entered_at"]

OUTBOX = "x-outbox"
"""Header of a request that the browser's outbox sends."""
ENTERED = "x-entered"
"""Header: when it was typed, by the clock of the device."""
SENT = "x-sent"
"""Header: when it was sent, by the same clock."""


def entered_at(headers: Mapping[str, str], now: datetime) -> datetime | None:
    """Return when an entry was typed, on our clock.

    Only how long the entry waited is taken from the device, so that its clock may be wrong.

    Parameters
    ----------
    headers : mapping of str to str
        Of the request.
    now : datetime

    Returns
    -------
    entered : datetime or None
        None if the request does not tell; then it was typed now.

    Raises
    ------
    InputError
        If a time cannot be read or has no zone.
    """
    entered = _read(headers, ENTERED)
    if entered is None:
        return None
    sent = _read(headers, SENT) or now
    # A clock that was set back in between tells no age: take its word, the record judges it.
    try:
        return now - (sent - entered) if sent >= entered else entered
    except OverflowError:
        raise _unreadable(SENT, headers.get(SENT, "")) from None


def _read(headers: Mapping[str, str], name: str) -> datetime | None:
    text = headers.get(name)
    if text is None:
        return None
    try:
        moment = datetime.fromisoformat(text)
        if moment.tzinfo is not None:
            return moment.astimezone(UTC)
    except (ValueError, OverflowError):
        pass
    raise _unreadable(name, text)


def _unreadable(name: str, text: str) -> InputError:
    allowed = "a time like 2027-03-01T09:00:00Z"
    return InputError(name, text[:40], allowed, "Check the clock of the device.")
