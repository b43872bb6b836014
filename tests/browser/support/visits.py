# SPDX-License-Identifier: MIT
"""A browser visit as every test makes it: on a device, watched for what must never happen."""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import (
    Browser,
    BrowserContext,
    ConsoleMessage,
    Page,
    Request,
    sync_playwright,
)
from shed_server import NAME, Shed

ARTEFACTS = Path(__file__).parents[3] / "artefacts" / "browser"
_NAMES = ("chromium", "chromium-browser", "google-chrome-stable", "google-chrome")
_FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-sync",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-dev-shm-usage",
)
# Nothing but this machine can be reached, whatever a page asks for.
_HOSTS = f"--host-resolver-rules=MAP {NAME} 127.0.0.1, MAP * ~NOTFOUND, EXCLUDE 127.0.0.1"

_AWAY = re.compile(r"Failed to load resource|htmx: htmx:error: Failed to fetch")
Theme = Literal["light", "dark"]


@dataclass(frozen=True, slots=True)
class Device:
    """Something with a screen."""

    name: str
    width: int
    height: int
    touch: bool


PHONE = Device("phone", 390, 844, True)
TABLET = Device("tablet", 820, 1180, True)
DESK = Device("desk", 1280, 800, False)


def chromium_path() -> str:
    """Return the browser of this machine, or skip the test in words."""
    given = os.environ.get("MIDDLECUT_CHROMIUM", "")
    found = given or next(filter(None, map(shutil.which, _NAMES)), None)
    if not found:
        pytest.skip(
            "BROWSER TESTS NOT RUN: there is no Chromium here. On Debian or Ubuntu: "
            "apt-get install chromium; elsewhere name it in MIDDLECUT_CHROMIUM."
        )
    return found


@contextmanager
def a_browser() -> Iterator[Browser]:
    """Start a browser; end it before others use this thread's event loop."""
    path = chromium_path()
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=[*_FLAGS, _HOSTS])
        try:
            yield browser
        finally:
            browser.close()


@dataclass(slots=True)
class Watch:
    """What the browser did that no test may let pass."""

    faults: list[str] = field(default_factory=list)

    def note(self, words: str) -> None:
        self.faults.append(words)

    def follow(self, context: BrowserContext) -> None:
        """Watch everything a browser does from now on."""

        def requested(request: Request) -> None:
            host = urlsplit(request.url).hostname
            if host not in {"127.0.0.1", NAME, None}:
                self.note(f"left the machine: {request.url}")

        def said(message: ConsoleMessage) -> None:
            # That a server refuses, or is away, is noted there too; tests look at it themselves.
            if message.type == "error" and not _AWAY.match(message.text):
                self.note(f"console: {message.text}")

        context.on("request", requested)
        context.on("console", said)
        context.on("weberror", lambda fault: self.note(f"fault in script: {fault.error}"))

    def check(self) -> None:
        assert not self.faults, self.faults


@dataclass(slots=True)
class Visits:
    """Makes visits to a shed with one browser."""

    browser: Browser
    watch: Watch = field(default_factory=Watch)
    _open: list[BrowserContext] = field(default_factory=list)
    sheds: list[Shed] = field(default_factory=list)

    def on(
        self,
        shed: Shed,
        device: Device = DESK,
        *,
        theme: Theme = "light",
        elsewhere: bool = False,
        script: bool = True,
        worker: bool = False,
    ) -> Page:
        """Open a page on a device; with ``elsewhere`` it comes as another device."""
        context = self.browser.new_context(
            base_url=shed.from_elsewhere if elsewhere else shed.address,
            viewport={"width": device.width, "height": device.height},
            is_mobile=device.touch,
            has_touch=device.touch,
            color_scheme=theme,
            java_script_enabled=script,
            service_workers="allow" if worker else "block",
            reduced_motion="reduce",
            locale="en-GB",
        )
        context.set_default_timeout(15_000)
        self.watch.follow(context)
        self.sheds.append(shed)
        self._open.append(context)
        return context.new_page()

    def close(self) -> None:
        for context in self._open:
            context.close()
        self._open.clear()


def picture(page: Page, name: str, *, whole: bool = True) -> None:
    """Keep a picture of a page, for people to look at."""
    place = ARTEFACTS / f"{name}.png"
    place.parent.mkdir(parents=True, exist_ok=True)
    page.screenshot(path=place, full_page=whole)


def to_demo_run(page: Page) -> None:
    """Go to the run of the demo batch that is under way."""
    page.goto("/")
    demo = page.locator("li").filter(has_text="4 of 11 steps done")
    demo.get_by_role("link", name="spirit", exact=True).click()
    page.locator("#read-form").wait_for()
    page.wait_for_load_state("load")


def begin_batch(page: Page, example: str) -> str:
    """Open a batch from an example without the pages; return its address."""
    page.goto("/new")
    key = page.locator('input[name="entry_key"]').first.get_attribute("value") or ""
    answer = page.request.post(
        "/new",
        form={"example": example, "entry_key": key},
        headers={"origin": page.url.removesuffix("/new")},
        max_redirects=0,
    )
    assert answer.status == 303, answer.text()[:500]
    return answer.headers["location"].partition("?")[0]


def watched(visits: Visits) -> Callable[[], None]:
    """Return what ends a test: nothing forbidden happened."""

    def end() -> None:
        visits.close()
        for shed in visits.sheds:
            assert "fault" not in shed.log, shed.log[-3000:]
        visits.watch.check()

    return end
