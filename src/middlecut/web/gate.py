# SPDX-License-Identifier: MIT
"""The gate every request passes: which host, from where, how large, and who is asking.

1. The Host must be a name we listen on (against DNS rebinding).
2. What changes something must come from our own pages (Sec-Fetch-Site when the browser sends it,
   Origin otherwise; SameSite=Strict on the cookie besides). A request with neither header comes
   from no browser.
3. A body above the limit is refused, whether announced or not.
4. From another machine only a paired device is served; everything else gets 403 and the way to
   pair. Accounts will be looked up in :meth:`Gate._asker`, the one place that knows.
5. Every answer carries the headers that keep a browser from loading or leaking anything elsewhere.
"""

from __future__ import annotations

import re
from collections.abc import MutableMapping
from http.cookies import CookieError, SimpleCookie
from ipaddress import ip_address
from typing import Any

from fastapi import HTTPException
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from middlecut.app.giving_way import WAY
from middlecut.web.faults import Refusal, answer_refusal, note_fault
from middlecut.web.pairing import COOKIE, digest_of
from middlecut.web.services import LOOPBACK_NAMES, Services

__all__ = ["POLICY", "Gate"]

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
    "font-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; "
    "frame-ancestors 'none'; base-uri 'none'"
)
"""Content Security Policy of every answer."""

_HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    # "no-referrer" would turn the Origin of our own forms into "null".
    "referrer-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
}
_HOST = re.compile(
    r"(?P<name>[^:@/\[\]\s]+|\[[0-9A-Fa-f.]*:[0-9A-Fa-f:.]*\])(?::(?P<port>[0-9]{1,5}))?"
)
"""A Host header, whole: a name, an address, or an address of the sixth version in brackets."""
_SAFE = frozenset({"GET", "HEAD", "OPTIONS"})
_OPEN_FOLDER, _OPEN_PAGE = "/static/", "/pair"
"""What a stranger may see."""
_TOO_LARGE = Refusal(
    413,
    "too-large",
    "What was sent is too large",
    "A plan may have 1 MB at most, and notes and readings are far smaller. Nothing was kept.",
)


class _TooLarge(HTTPException):
    """More bytes came than the limit allows; an HTTPException passes the form reader unchanged."""

    def __init__(self) -> None:
        super().__init__(_TOO_LARGE.status, _TOO_LARGE.message)


class Gate:
    """ASGI middleware in front of all pages."""

    def __init__(self, app: ASGIApp, services: Services) -> None:
        self._app = app
        self._services = services

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve, or refuse."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1008})
            return
        sent = _Sender(send)
        WAY.begin_answer()
        try:
            await self._answer(scope, receive, sent)
        finally:
            sent.end()

    async def _answer(self, scope: Scope, receive: Receive, sent: _Sender) -> None:
        refusal = await self._refusal(scope)
        if refusal is not None:
            await self._refuse(refusal, scope, receive, sent)
            return
        counted = _Counter(receive, self._services.body_limit)
        try:
            await self._app(scope, counted, sent)
        except Exception as fault:
            # Caught here and not further out, so that the answer has its headers.
            if sent.started:
                raise
            await self._refuse(note_fault(fault, scope), scope, receive, sent)

    async def _refusal(self, scope: Scope) -> Refusal | None:
        headers = Headers(scope=scope)
        if not self._known_host(headers.get("host", "")):
            return Refusal(
                421,
                "unknown-host",
                "This is not an address of middlecut",
                "Open the address that middlecut showed when it started.",
            )
        if scope["method"] not in _SAFE and not _own_page(scope, headers):
            return Refusal(
                403,
                "foreign-origin",
                "This did not come from a page of middlecut",
                "Nothing was changed. Go back to the page itself and try again there.",
            )
        if not _announced_size_ok(headers, self._services.body_limit):
            return _TOO_LARGE
        return await self._unknown_device(scope, headers)

    async def _unknown_device(self, scope: Scope, headers: Headers) -> Refusal | None:
        asker = await run_in_threadpool(self._asker, scope, headers)
        scope.setdefault("state", {})
        state: MutableMapping[str, Any] = scope["state"]
        state["device"] = asker or ""
        state["stranger"] = asker is None
        if asker is not None or _is_open(scope["path"]):
            return None
        return Refusal(
            403,
            "not-paired",
            "This device is not paired",
            "On the computer that runs middlecut open Devices and scan the code shown there.",
        )

    def _asker(self, scope: Scope, headers: Headers) -> str | None:
        """Return the id of the device, "" for the computer itself, None for a stranger."""
        if _is_loopback(scope) and _host_name(headers.get("host", "")) in LOOPBACK_NAMES:
            return ""
        secret = _cookie(headers.get("cookie", ""))
        if not secret:
            return None
        device = self._services.record.workshop().device_of(digest_of(secret))
        return device.paired.device if device is not None else None

    def _known_host(self, host: str) -> bool:
        address = self._services.address
        found = _HOST.fullmatch(host)
        port = found["port"] if found else None
        return _host_name(host) in address.names and port in (None, str(address.port))

    async def _refuse(
        self, refusal: Refusal, scope: Scope, receive: Receive, send: _Sender
    ) -> None:
        answer = answer_refusal(refusal, Request(scope))
        answer.headers["x-refusal"] = refusal.code  # for scripts, which must not ask on
        await answer(scope, receive, send)


class _Sender:
    """Adds the headers to an answer and knows whether one has begun."""

    def __init__(self, send: Send) -> None:
        self._send = send
        self._ended = False
        self.started = False

    def end(self) -> None:
        """Note, once, that nobody waits for this answer any more; a stream goes on for long."""
        if not self._ended:
            self._ended = True
            WAY.end_answer()

    async def __call__(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            self.started = True
            headers = MutableHeaders(scope=message)
            for name, value in _HEADERS.items():
                headers.setdefault(name, value)
            headers.setdefault("cache-control", "no-cache")
            self.end()
        await self._send(message)


class _Counter:
    """Counts what comes in, for bodies that do not announce their size."""

    def __init__(self, receive: Receive, limit: int) -> None:
        self._receive = receive
        self._left = limit

    async def __call__(self) -> Message:
        message = await self._receive()
        if message["type"] == "http.request":
            self._left -= len(message.get("body", b""))
            if self._left < 0:
                raise _TooLarge
        return message


def _host_name(host: str) -> str:
    """Return the name in a Host header, "" if the header is not one through and through."""
    found = _HOST.fullmatch(host)
    return found["name"].strip("[]").lower() if found else ""


def _own_page(scope: Scope, headers: Headers) -> bool:
    site = headers.get("sec-fetch-site")
    if site is not None and site not in ("same-origin", "none"):
        return False
    origin = headers.get("origin")
    return origin is None or origin == f"{scope['scheme']}://{headers.get('host', '')}"


def _announced_size_ok(headers: Headers, limit: int) -> bool:
    announced = headers.get("content-length")
    if announced is None:
        return True
    return announced.isascii() and announced.isdigit() and int(announced[:20]) <= limit


def _is_open(path: str) -> bool:
    return path == _OPEN_PAGE or path.startswith(_OPEN_FOLDER)


def _is_loopback(scope: Scope) -> bool:
    client = scope.get("client")
    try:
        return client is not None and ip_address(client[0]).is_loopback
    except ValueError:
        return False


def _cookie(header: str) -> str:
    try:
        found = SimpleCookie(header).get(COOKIE)
    except CookieError:
        return ""
    return found.value if found is not None else ""
