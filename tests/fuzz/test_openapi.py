# SPDX-License-Identifier: MIT
"""Every operation of the app takes whatever is sent: an answer, never a fault."""

from __future__ import annotations

import asyncio
from functools import cache
from typing import Any

import httpx
import pytest
import schemathesis
from fastapi import FastAPI
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from middlecut.adapters.store_memory import MemoryStore
from middlecut.adapters.system import RandomIds, SystemClock
from middlecut.app.demo import seed_demo
from middlecut.app.record import Record
from middlecut.web.application import create_app
from middlecut.web.services import Services

BASE = "http://127.0.0.1:8460"
STREAMS = {"GET /events"}  # without end; tests/web/test_news_stream.py


@cache
def world() -> tuple[FastAPI, str]:
    """Return the app over the demo record, and the demo batch; shared, so that states pile up."""
    record = Record(MemoryStore(), SystemClock(), RandomIds())
    batch = seed_demo(record)
    return create_app(Services(record)), batch


def operations() -> list[Any]:
    schema = schemathesis.openapi.from_dict(world()[0].openapi())
    results: Any = schema.get_all_operations()
    found = [result.ok() for result in results]
    return [one for one in found if one.label not in STREAMS]


def real(name: str) -> str:
    return {"batch": world()[1], "step": "spirit"}.get(name, "1")


async def send(method: str, path: str, options: dict[str, Any]) -> httpx.Response:
    transport = httpx.ASGITransport(world()[0], client=("127.0.0.1", 50000))
    async with httpx.AsyncClient(transport=transport, base_url=BASE) as client:
        return await client.request(method, path, **options)


def for_httpx(sent: dict[str, Any]) -> dict[str, Any]:
    """Return a request as httpx takes it; schemathesis makes them for another client."""
    options: dict[str, Any] = {
        name: sent[name] for name in ("params", "headers", "json") if name in sent
    }
    data = sent.get("data")
    if isinstance(data, bytes | str):
        options["content"] = data
    elif data is not None:
        options["data"] = dict(data)
    if sent.get("files"):
        options["files"] = sent["files"]
    return options


@pytest.mark.parametrize("operation", operations(), ids=lambda one: one.label)
def test_no_operation_fails(operation: Any, caplog: pytest.LogCaptureFixture) -> None:
    @given(case=operation.as_strategy(), known=st.booleans())
    @settings(
        max_examples=12,
        deadline=None,
        derandomize=True,
        database=None,
        suppress_health_check=list(HealthCheck),
    )
    def attempt(case: Any, known: bool) -> None:
        if known:
            case.path_parameters = {name: real(name) for name in case.path_parameters or {}}
        sent = case.as_transport_kwargs(base_url=BASE)
        answer = asyncio.run(send(case.method, sent["url"], for_httpx(sent)))
        assert answer.status_code < 500, f"{answer.status_code}: {caplog.text[-2000:]}"

    attempt()
