# SPDX-License-Identifier: MIT
"""News of the record: nothing is missed, whoever wrote it and wherever the line was lost."""

from __future__ import annotations

import asyncio
import json

import pytest
from visitor import Visitor

from middlecut.app.record import Record
from middlecut.app.use_cases import change_setting, open_batch
from middlecut.plan.examples import example_path
from middlecut.web.pages.news import follow

DEMO = example_path("demo").read_text(encoding="utf-8")


async def take(record: Record, start: int, count: int, *, beat: float = 5.0) -> list[str]:
    stream = follow(record.store, start, beat=beat)
    try:
        async with asyncio.timeout(10):
            return [await anext(stream) for _ in range(count)]
    finally:
        await stream.aclose()  # type: ignore[attr-defined]


def sequences(messages: list[str]) -> list[int]:
    lines = [line for message in messages for line in message.splitlines()]
    return [int(line.removeprefix("id: ")) for line in lines if line.startswith("id: ")]


def test_resumes_after_the_last_one_seen(record: Record) -> None:
    open_batch(record, DEMO)
    change_setting(record, "units", "us")
    messages = asyncio.run(take(record, 1, 3))
    assert sequences(messages) == [2, 3]
    data = json.loads(messages[-1].splitlines()[2].removeprefix("data: "))
    assert data == {"sequence": 3, "stream": "workshop", "type": "settings.changed"}


def test_wakes_when_something_is_written(record: Record) -> None:
    async def watch() -> list[str]:
        waiting = asyncio.create_task(take(record, 0, 2, beat=60.0))
        await asyncio.sleep(0)
        await asyncio.to_thread(change_setting, record, "units", "us")
        return await waiting

    assert sequences(asyncio.run(watch())) == [1]


def test_shows_signs_of_life(record: Record) -> None:
    messages = asyncio.run(take(record, 0, 2, beat=0.001))
    assert messages[1].startswith(":")


@pytest.mark.parametrize("after", ["-1", "x", "1.5"])
def test_refuses_a_garbled_place(visitor: Visitor, after: str) -> None:
    assert visitor.get(f"/events?after={after}").status_code == 422


def test_lets_go_of_the_record(record: Record) -> None:
    asyncio.run(take(record, 0, 1))
    # A listener left behind would speak to a loop that is closed, and raise here.
    change_setting(record, "units", "us")
