# SPDX-License-Identifier: MIT
"""Run sheet and batch record on paper: black on white, within A4 and Letter, nothing cut off."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect
from shed_server import Shed
from visits import ARTEFACTS, DESK, Visits, picture, to_demo_run

# Width between the margins of print.css (15 mm) in CSS px: the narrower of A4 and Letter.
BETWEEN_MARGINS = round((210 - 2 * 15) / 25.4 * 96)
CUT_OFF = """() => [...document.querySelectorAll("main *")].filter((one) => {
  const box = one.getBoundingClientRect();
  return box.width > 1 && box.right > document.documentElement.clientWidth + 1;
}).map((one) => one.outerHTML.slice(0, 80))"""
DARK = """() => {
  const rgb = (text) => text.match(/[\\d.]+/g).map(Number);
  const of = (one, name) => getComputedStyle(one).getPropertyValue(name);
  return [rgb(of(document.body, "color")), rgb(of(document.documentElement, "background-color"))];
}"""


@pytest.fixture
def paper(visits: Visits, shed: Shed) -> Page:
    """A page seen as it is printed, by somebody who likes the screen dark."""
    page = visits.on(shed, DESK, theme="dark")
    to_demo_run(page)
    return page


@pytest.mark.parametrize(("name", "link"), [("sheet", "Run sheet"), ("book", "Batch record")])
def test_prints_on_a4_and_letter(paper: Page, name: str, link: str) -> None:
    paper.get_by_role("link", name=link, exact=True).click()
    expect(paper.get_by_role("heading", level=1)).to_contain_text(link)
    paper.emulate_media(media="print")
    expect(paper.get_by_role("navigation").first).to_be_hidden()
    expect(paper.get_by_text("Made for paper")).to_be_hidden()
    ink, ground = paper.evaluate(DARK)
    assert ink[:3] == [0, 0, 0]
    assert ground[:3] == [255, 255, 255]
    paper.set_viewport_size({"width": BETWEEN_MARGINS, "height": 1000})
    assert paper.evaluate(CUT_OFF) == []
    picture(paper, f"print-{name}")
    for size in ("A4", "Letter"):
        place = ARTEFACTS / f"print-{name}-{size}.pdf"
        sheet = paper.pdf(format=size, path=place, prefer_css_page_size=True)
        pages = len(re.findall(rb"/Type\s*/Page\b", sheet))
        assert 2 <= pages <= 40, pages  # eleven steps need more than one and no pile


def test_run_page_prints_its_drawing_not_the_canvas(paper: Page) -> None:
    expect(paper.get_by_role("application")).to_be_visible()
    paper.emulate_media(media="print")
    expect(paper.locator("svg.chart").first).to_be_visible()
    expect(paper.locator(".plot-live").first).to_be_hidden()
    expect(paper.locator("form").first).to_be_hidden()
