# SPDX-License-Identifier: MIT
"""News of the record as server-sent events: what was entered anywhere reaches every open page.

The id of an event is its sequence in the record, so a browser that lost the line asks for what came
after the last one it saw (Last-Event-ID) and misses nothing. A device that is revoked loses the
line at once: the revocation wakes the stream, which asks at every turn whether it may go on.
"""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Callable
from typing import Annotated

from fastapi import APIRouter, Header, Query
from starlette.concurrency import run_in_threadpool
from starlette.responses import StreamingResponse

from middlecut.app.events import Event
from middlecut.app.ports import Store
from middlecut.web.visit import Visit, Visiting

__all__ = ["follow", "router"]

router = APIRouter()

_PAGE = 500
_BEAT = 15.0
"""Seconds between signs of life; another process may have written in the meantime."""


@router.get("/events", response_class=StreamingResponse)
async def events(
    visit: Visiting,
    *,
    after: Annotated[int | None, Query(ge=0)] = None,
    last_event_id: Annotated[str | None, Header()] = None,
) -> StreamingResponse:
    """Stream what is recorded from now on, or from where the browser lost the line."""
    store = visit.record.store
    given = last_event_id or ""
    start = int(given[:18]) if given.isascii() and given.isdigit() else after
    if start is None:
        start = await run_in_threadpool(store.last_sequence)
    return StreamingResponse(
        follow(store, start, beat=_BEAT, allowed=lambda: _may_listen(visit)),
        media_type="text/event-stream",
        headers={"cache-control": "no-store", "x-accel-buffering": "no"},
    )


def _may_listen(visit: Visit) -> bool:
    """Tell whether who asked may still be served; the computer itself always is."""
    if not visit.who.device:
        return True
    device = visit.record.workshop().devices.get(visit.who.device)
    return device is not None and not device.revoked


async def follow(
    store: Store, start: int, *, beat: float, allowed: Callable[[], bool] = lambda: True
) -> AsyncIterator[str]:
    """Give the events after a sequence as they come, for as long as it is allowed.

    Parameters
    ----------
    store : Store
    start : int
        Sequence of the last event that is known already.
    beat : float
        Longest silence. [s]
    allowed : callable
        Asked before every look into the record; the stream ends when it says no.

    Yields
    ------
    text : str
        In the format of server-sent events.
    """
    loop = asyncio.get_running_loop()
    woken = asyncio.Event()

    def wake(_events: tuple[Event, ...]) -> None:
        loop.call_soon_threadsafe(woken.set)

    leave = store.subscribe(wake)
    try:
        yield "retry: 2000\n\n"
        while True:
            woken.clear()
            if not await run_in_threadpool(allowed):
                yield _SHUT_OUT
                return
            found = await run_in_threadpool(store.read_all, start, _PAGE)
            for event in found:
                yield _message(event)
                start = event.sequence
            if len(found) == _PAGE:
                continue
            try:
                await asyncio.wait_for(woken.wait(), beat)
            except TimeoutError:
                yield ": still here\n\n"
    finally:
        leave()


_SHUT_OUT = "event: shut\ndata: {}\n\n"
"""Last words to a device that was shut out, which then need not ask why the line is gone."""


def _message(event: Event) -> str:
    data = json.dumps(
        {
            "sequence": event.sequence,
            "stream": event.stream,
            "type": event.type,
            "key": event.key,  # by which a device knows an entry of its own that still waits
        },
        separators=(",", ":"),
    )
    return f"id: {event.sequence}\nevent: record\ndata: {data}\n\n"
