# SPDX-License-Identifier: MIT
"""Every page there is, in both themes, on a phone, a tablet and a desk: WCAG 2.2 AA by axe."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from urllib.parse import urlsplit

import pytest
from axe import violations
from playwright.sync_api import Page
from shed_server import Shed
from visits import DESK, PHONE, TABLET, Theme, Visits, begin_batch, picture, to_demo_run

OVERFLOW = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
# Numbers that stand in the way of the next one.
SPILT = """() => [...document.querySelectorAll(".figure .number")]
  .filter((one) => one.scrollWidth > one.clientWidth + 1).map((one) => one.textContent.trim())"""
PICTURES = (("light", PHONE), ("dark", DESK))
START = ("/", "/new", "/settings", "/devices", "/patterns", "/no-such-page")
NO_PAGES = (".ics", ".csv", ".jsonl", ".json", ".sqlite", ".toml", ".svg")


def kind_of(address: str) -> str:
    """Return one name for pages that differ only in what they are about."""
    path = urlsplit(address).path
    path = re.sub(r"[0-9a-f]{32}", "ID", path)
    path = re.sub(r"/(compound|ingredient|of|change|entry)/[^/]+", r"/\1/X", path)
    path = re.sub(r"/step/(thin|to-cask-strength)", "/step/reduce", path)  # all dilutions
    return re.sub(r"-\d+(?=$|/)", "", path)


def walk(page: Page, *starts: str) -> Iterator[str]:
    """Visit a page of every kind that can be reached by links; the demo's own come first."""
    seen: set[str] = set()
    ahead = list(starts)
    while ahead:
        address = ahead.pop(0)
        if kind_of(address) in seen or kind_of(address).endswith(NO_PAGES):
            continue
        seen.add(kind_of(address))
        page.goto(address)
        yield kind_of(address)
        links = page.locator("a[href]").evaluate_all("all => all.map(a => a.getAttribute('href'))")
        ahead += [link for link in links if link.startswith("/") and "export" not in link]


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_no_page_shuts_anybody_out(
    visits: Visits, make_shed: Callable[..., Shed], theme: Theme
) -> None:
    shed = make_shed(named=True)
    page = visits.on(shed, DESK, theme=theme)
    begun = [begin_batch(page, name) for name in ("demo", "double-pot-1300m")]
    to_demo_run(page)
    running = urlsplit(page.url).path
    faults: list[str] = []
    kinds = 0
    for kind in walk(page, running, *begun, *START):
        kinds += 1
        for device in (PHONE, TABLET, DESK):
            page.set_viewport_size({"width": device.width, "height": device.height})
            page.wait_for_timeout(30)
            if (theme, device) in PICTURES:
                name = kind.strip("/").replace("/", "-") or "shed"
                picture(page, f"pages/{name}-{theme}-{device.name}")
            faults += [
                f"{kind} {device.name}: {one['rule']} {one['nodes'][:2]}"
                for one in violations(page)
            ]
            wide = page.evaluate(OVERFLOW)
            if wide > 0:
                faults.append(f"{kind} {device.name}: {wide} px wider than the screen")
            faults += [f"{kind} {device.name}: {one} runs over" for one in page.evaluate(SPILT)]
    assert not faults, "\n".join(faults)
    assert kinds > 25, "pages went missing"  # 31 kinds when this was written
