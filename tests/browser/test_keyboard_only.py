# SPDX-License-Identifier: MIT
"""Everything is reached and done with the keyboard, and one always sees where one is."""

from __future__ import annotations

import re

from playwright.sync_api import Page, expect
from shed_server import Shed
from visits import DESK, Visits, to_demo_run

FOCUS = """() => {
  const one = document.activeElement;
  const style = getComputedStyle(one);
  const box = one.getBoundingClientRect();
  return {
    words: (one.textContent || one.getAttribute("aria-label") || one.name || "").trim(),
    name: one.getAttribute("name") || "",
    outline: parseFloat(style.outlineWidth) * (style.outlineStyle === "none" ? 0 : 1),
    seen: box.width > 0 && box.height > 0 && box.bottom > 0 && box.top < innerHeight,
  };
}"""


def tab_to(page: Page, words: str, *, most: int = 150) -> None:
    """Press Tab until something is reached; all on the way must show the focus."""
    for _ in range(most):
        page.keyboard.press("Tab")
        here = page.evaluate(FOCUS)
        assert here["outline"] >= 2, f"no focus is seen on {here}"
        assert here["seen"], f"focus is out of sight on {here}"
        if re.search(words, here["words"]) or here["name"] == words:
            return
    raise AssertionError(f"{words} is not reached by Tab")


def test_skip_link_leads_to_the_content(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, DESK)
    page.goto("/")
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="Skip to the content")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator("main")).to_be_focused()


def test_begin_a_batch(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, DESK)
    page.goto("/")
    tab_to(page, "^Begin a batch$")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Begin a batch")
    tab_to(page, "example")
    page.keyboard.type("Ferry")  # as in any list of choices
    tab_to(page, "^Begin with this example$")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Ferry Street")


def test_log_a_reading_and_read_the_chart(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, DESK)
    to_demo_run(page)
    page.locator("main").focus()
    tab_to(page, "strength")
    page.keyboard.type("74,5")
    page.keyboard.press("Enter")
    saved = re.compile("it is in the record|Now in the record")
    expect(page.locator(".said").filter(has_text=saved).first).to_be_visible()
    chart = page.get_by_role("application").first
    chart.focus()
    page.keyboard.press("End")
    expect(page.locator("#announcer")).to_contain_text(re.compile(r"\d"))
    last = page.locator("#announcer").text_content() or ""
    page.keyboard.press("Home")
    expect(page.locator("#announcer")).not_to_have_text(last)


def test_details_open_by_key(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, DESK)
    to_demo_run(page)
    page.locator("main").focus()
    tab_to(page, "^The numbers of")
    page.keyboard.press("Enter")
    expect(page.locator("details.behind[open] table").first).to_be_visible()
