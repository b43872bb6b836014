# SPDX-License-Identifier: MIT
"""News of the record: nothing is missed, whoever wrote it and wherever the line was lost."""

from __future__ import annotations

import asyncio
import json

import pytest
from starlette.types import Message
from visitor import Visitor

from middlecut.app.record import Record
from middlecut.app.use_cases import change_setting, open_batch, pair_device, revoke_device
from middlecut.plan.examples import example_path
from middlecut.web.pages.news import follow
from middlecut.web.pairing import COOKIE, digest_of

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
    assert data.pop("key")  # by which a device knows its own entry
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


def listening(phone: Visitor) -> dict[str, object]:
    """Return the request of a paired phone for the news."""
    headers = [(b"host", b"192.168.7.5:8460"), (b"cookie", f"{COOKIE}=secret".encode())]
    return {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": "GET",
        "scheme": "http", "path": "/events", "raw_path": b"/events", "query_string": b"after=0",
        "root_path": "", "headers": headers, "client": (phone.address, 50000),
        "server": ("192.168.7.5", 8460),
    }  # fmt: skip


@pytest.mark.parametrize("revoked", [True, False])
def test_a_device_that_is_revoked_loses_the_line(
    phone: Visitor, record: Record, *, revoked: bool
) -> None:
    device = pair_device(record, "tablet", digest_of("secret"))
    other = pair_device(record, "phone", digest_of("another secret"))
    sent: list[Message] = []

    async def watch() -> None:
        begun = asyncio.Event()

        async def receive() -> Message:
            await asyncio.Event().wait()  # the browser stays
            raise AssertionError

        async def send(message: Message) -> None:
            sent.append(message)
            if b"id: 2" in message.get("body", b""):
                begun.set()

        line = asyncio.create_task(phone.app(listening(phone), receive, send))
        async with asyncio.timeout(10):
            await begun.wait()
            await asyncio.to_thread(revoke_device, record, device if revoked else other)
            if revoked:
                await line
                return
        await asyncio.wait({line}, timeout=0.3)
        assert not line.done(), "another device's line was cut"
        line.cancel()
        await asyncio.wait({line})

    asyncio.run(watch())
    assert sent[0]["status"] == 200
    told = b"".join(message.get("body", b"") for message in sent)
    assert (b"id: 3" in told) is not revoked
    assert sent[-1].get("more_body", False) is not revoked


def test_a_revocation_written_by_another_process_ends_it_at_the_next_beat(record: Record) -> None:
    answers = iter([True, True, False])

    async def watch() -> list[str]:
        async with asyncio.timeout(10):
            stream = follow(record.store, 0, beat=0.001, allowed=lambda: next(answers))
            return [message async for message in stream]

    told = asyncio.run(watch())
    assert [message[:1] for message in told] == ["r", ":", ":", "e"]
    assert told[-1].startswith("event: shut")  # so that the device need not ask again and again
