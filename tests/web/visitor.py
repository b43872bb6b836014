# SPDX-License-Identifier: MIT
"""Somebody who visits the pages, and the check of what every page promises."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

import html5lib
import httpx
from fastapi import FastAPI

BASE = "http://127.0.0.1:8460"


@dataclass(slots=True)
class StandingClock:
    """Tells the time it is set to."""

    moment: datetime = datetime(2027, 3, 1, 9, 0, tzinfo=UTC)

    def now(self) -> datetime:
        return self.moment

    def pass_by(self, **spans: float) -> None:
        self.moment += timedelta(**spans)


@dataclass(slots=True)
class CountedIds:
    """Ids one after another."""

    last: int = 0

    def new(self) -> str:
        self.last += 1
        return f"{self.last:032x}"


@dataclass(slots=True)
class Visitor:
    """Asks the app as a browser on some machine would."""

    app: FastAPI
    address: str = "127.0.0.1"
    base: str = BASE
    cookies: dict[str, str] = field(default_factory=dict)

    def ask(self, method: str, path: str, **options: Any) -> httpx.Response:
        return asyncio.run(self._ask(method, path, options))

    async def _ask(self, method: str, path: str, options: Mapping[str, Any]) -> httpx.Response:
        transport = httpx.ASGITransport(self.app, client=(self.address, 50000))
        async with httpx.AsyncClient(
            transport=transport, base_url=self.base, cookies=self.cookies
        ) as client:
            answer = await client.request(method, path, **options)
            self.cookies.update(client.cookies)
            return answer

    def get(self, path: str, **options: Any) -> httpx.Response:
        return self.ask("GET", path, **options)

    def post(
        self, path: str, data: Mapping[str, Any] | None = None, **options: Any
    ) -> httpx.Response:
        headers = {"origin": self.base, **options.pop("headers", {})}
        return self.ask("POST", path, data=data, headers=headers, **options)


def check_page(answer: httpx.Response) -> None:
    """Valid HTML, one h1, a label to every field, no style or script in the page itself."""
    text = answer.text
    html5lib.HTMLParser(strict=True).parse(text)
    tree = html5lib.parse(text, treebuilder="etree", namespaceHTMLElements=False)
    assert len(tree.findall(".//h1")) == 1
    ids = [element.get("id") for element in tree.iter() if element.get("id")]
    assert len(ids) == len(set(ids)), "an id stands twice"
    labelled = {label.get("for") for label in tree.iter("label")}
    inside = {id(field) for label in tree.iter("label") for field in label.iter()}
    for field_kind in ("input", "select", "textarea"):
        for element in tree.iter(field_kind):
            named = element.get("id") in labelled or id(element) in inside
            assert named or element.get("type") in {"hidden", "submit"}, element.attrib
    for element in tree.iter():
        assert element.get("style") is None, element.attrib
        assert not [name for name in element.attrib if name.startswith("on")], element.attrib
    for link in re.findall(r'(?:href|src|action)="([^"]*)"', text):
        assert link.startswith(("/", "#", "?")), f"{link} leads away"
    for button in tree.iter("button"):
        assert "".join(button.itertext()).strip(), "a button without words"
