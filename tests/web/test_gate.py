# SPDX-License-Identifier: MIT
"""The gate: hosts, origins, sizes, strangers and the headers of every answer."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Iterable

import httpx
import pytest
from visitor import BASE, Visitor, check_page

from middlecut.app.record import Record
from middlecut.app.use_cases import pair_device
from middlecut.web.application import create_app
from middlecut.web.pairing import COOKIE, digest_of
from middlecut.web.services import Services

# What the OWASP cheat sheet on HTTP headers asks for, and DESIGN section 8: no request leaves.
POLICY_PARTS = ("default-src 'none'", "script-src 'self'", "frame-ancestors 'none'")


def paths_of(visitor: Visitor) -> Iterable[str]:
    schema = visitor.get("/api/openapi.json").json()
    return [path for path, kinds in schema["paths"].items() if "get" in kinds and "{" not in path]


def test_every_answer_carries_the_headers(visitor: Visitor) -> None:
    for path in ("/", "/patterns", "/nothing-here", "/api/nothing", "/static/look.css", "/due.ics"):
        headers = visitor.get(path).headers
        for part in POLICY_PARTS:
            assert part in headers["content-security-policy"], path
        assert "unsafe" not in headers["content-security-policy"]
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "same-origin"


def test_a_fault_carries_them_too_and_shows_no_traceback(
    services: Services, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise RuntimeError("secret detail")

    monkeypatch.setattr("middlecut.web.pages.shed.shed_rows", fail)
    answer = Visitor(create_app(services)).get("/")
    assert answer.status_code == 500
    assert "script-src 'self'" in answer.headers["content-security-policy"]
    assert "secret detail" not in answer.text
    assert "secret detail" in caplog.text
    check_page(answer)


@pytest.mark.parametrize(
    "host",
    [
        "evil.example",
        "evil.example:8460",
        "127.0.0.1:9999",
        "127.0.0.1.evil.example",
        "",
        # Nothing but a name and a port is a host (RFC 9110, section 7.2).
        "127.0.0.1:evil:8460",
        "127.0.0.1:8460:8460",
        "127.0.0.1:",
        "127.0.0.1:08460",
        "127.0.0.1:+8460",
        "127.0.0.1 evil:8460",
        "user@127.0.0.1:8460",
        "[127.0.0.1:8460",
        "[127.0.0.1]:8460",
        "[127.0.0.1]evil:8460",
        "127.0.0.1]:8460",
        # The app listens on 127.0.0.1 only: who comes by this name reached something else.
        "[::1]:8460",
        "[::1]",
    ],
)
def test_an_unknown_host_is_refused(visitor: Visitor, host: str) -> None:
    assert visitor.get("/", headers={"host": host}).status_code == 421


@pytest.mark.parametrize("host", ["127.0.0.1:8460", "localhost:8460", "LOCALHOST"])
def test_our_own_names_are_answered(visitor: Visitor, host: str) -> None:
    assert visitor.get("/", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "https://evil.example"},
        {"origin": "null"},
        {"origin": "http://127.0.0.1:8461"},
        {"origin": "https://127.0.0.1:8460"},
        {"origin": BASE, "sec-fetch-site": "cross-site"},
        {"origin": BASE, "sec-fetch-site": "same-site"},
    ],
)
def test_a_foreign_page_changes_nothing(
    visitor: Visitor, record: Record, headers: dict[str, str]
) -> None:
    answer = visitor.post("/new", {"example": "demo"}, headers=headers)
    assert answer.status_code == 403
    assert record.store.last_sequence() == 0
    check_page(answer)


def test_a_program_without_origin_may_write(visitor: Visitor) -> None:
    assert visitor.ask("POST", "/new", data={"example": "demo"}).status_code == 303


def test_fifty_megabytes_are_refused_announced_or_not(visitor: Visitor, record: Record) -> None:
    async def chunks() -> AsyncIterator[bytes]:
        yield b"plan_text="
        for _ in range(50):
            yield b"a" * 1_000_000

    announced = visitor.ask(
        "POST", "/new", content=b"", headers={"content-length": "50000000", "origin": BASE}
    )
    kind = {"content-type": "application/x-www-form-urlencoded", "origin": BASE}
    streamed = visitor.ask("POST", "/new", content=chunks(), headers=kind)
    for answer in (announced, streamed):
        assert answer.status_code == 413
        check_page(answer)
    assert record.store.last_sequence() == 0


def test_a_garbled_length_is_refused(visitor: Visitor) -> None:
    for length in ("-1", "ten", "9" * 40):
        answer = visitor.ask("POST", "/new", content=b"", headers={"content-length": length})
        assert answer.status_code == 413


def test_a_stranger_sees_only_the_way_to_pair(phone: Visitor) -> None:
    computer = Visitor(phone.app)
    for path in paths_of(computer):
        if path == "/events":
            continue
        answer = phone.get(path)
        assert answer.status_code == (200 if path == "/pair" else 403), path
    assert phone.get("/static/look.css").status_code == 200
    assert phone.get("/static/../pages").status_code == 403
    assert phone.get("/pairs").status_code == 403
    assert phone.post("/new", {"example": "demo"}).status_code == 403
    refused = phone.get("/api/openapi.json")
    assert refused.status_code == 403
    assert refused.json()["error"]["code"] == "not-paired"


def test_a_loopback_name_does_not_make_a_phone_the_computer(phone: Visitor) -> None:
    assert phone.get("/", headers={"host": "127.0.0.1:8460"}).status_code == 403
    for header in ("x-forwarded-for", "forwarded", "x-real-ip"):
        assert phone.get("/", headers={header: "127.0.0.1"}).status_code == 403


def test_a_paired_device_is_served_until_revoked(phone: Visitor, record: Record) -> None:
    device = pair_device(record, "tablet", digest_of("secret"))
    phone.cookies[COOKIE] = "secret"
    assert phone.get("/").status_code == 200
    assert phone.post(f"/devices/{device}/revoke").status_code == 403
    assert Visitor(phone.app).post(f"/devices/{device}/revoke").status_code == 303
    assert phone.get("/").status_code == 403


@pytest.mark.parametrize("cookie", ["", "x" * 5000, "secret; other", "\xe9", '"', "a=b=c"])
def test_a_wrong_secret_lets_nobody_in(phone: Visitor, record: Record, cookie: str) -> None:
    pair_device(record, "tablet", digest_of("secret"))
    headers = [(b"cookie", f"{COOKIE}={cookie}x".encode("latin-1"))]
    assert phone.get("/", headers=headers).status_code == 403


def test_a_websocket_is_closed(services: Services) -> None:
    application = create_app(services)
    sent: list[dict[str, object]] = []

    async def speak() -> None:
        async def receive() -> dict[str, object]:
            return {"type": "websocket.connect"}

        async def send(message: object) -> None:
            assert isinstance(message, dict)
            sent.append(message)

        await application({"type": "websocket", "path": "/", "headers": []}, receive, send)

    asyncio.run(speak())
    assert sent == [{"type": "websocket.close", "code": 1008}]


def test_one_error_shape_for_programs(visitor: Visitor) -> None:
    wanted = {"status", "code", "title", "message", "field", "allowed", "remedy", "problems"}
    answers: list[httpx.Response] = [
        visitor.get("/api/nothing"),
        visitor.get("/batch/none", headers={"accept": "application/json"}),
        visitor.get("/events?after=-1", headers={"accept": "application/json"}),
        visitor.get("/", headers={"accept": "application/json", "host": "evil.example"}),
    ]
    assert [answer.status_code for answer in answers] == [404, 404, 422, 421]
    for answer in answers:
        assert set(answer.json()["error"]) == wanted


def test_htmx_gets_the_fault_as_a_fragment(visitor: Visitor) -> None:
    answer = visitor.get("/batch/none", headers={"hx-request": "true"})
    assert answer.status_code == 404
    assert answer.text.lstrip().startswith('<div class="caution danger"')
