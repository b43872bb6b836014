# SPDX-License-Identifier: MIT
"""Readings entered beside the still, the outbox above them, and what of it is in the record."""

from __future__ import annotations

import time

from playwright.sync_api import Locator, Page
from shed_server import Shed

from middlecut.adapters.shelf import LocalShelf
from middlecut.app.batch_events import ReadingTaken
from middlecut.app.events import Event


def enter(page: Page, head: str) -> None:
    form = page.locator("#read-form")
    form.get_by_label("Head").fill(head)
    form.get_by_role("button", name="Save").click()


def outbox(page: Page) -> Locator:
    return page.get_by_role("region", name="Entries not yet in the record")


def readings_since(shed: Shed, sequence: int, count: int = 0) -> list[tuple[float, Event]]:
    """Return the temperatures of the head in the record (°C) after some event, in its order.

    With a count, what is on its way is waited for, ten seconds at most.
    """
    until = time.monotonic() + 10.0
    while len(found := _readings_since(shed, sequence)) < count and time.monotonic() < until:
        time.sleep(0.1)
    return found


def _readings_since(shed: Shed, sequence: int) -> list[tuple[float, Event]]:
    store = LocalShelf().open(str(shed.record), make=False)
    try:
        events = store.read_all(sequence)
    finally:
        store.close()
    return [
        (round(event.body.value - 273.15, 2), event)
        for event in events
        if isinstance(event.body, ReadingTaken) and event.body.quantity == "head_temperature"
    ]


def length(shed: Shed) -> int:
    store = LocalShelf().open(str(shed.record), make=False)
    try:
        return store.last_sequence()
    finally:
        store.close()
