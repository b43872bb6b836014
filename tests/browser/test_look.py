# SPDX-License-Identifier: MIT
"""What a careful eye asks of the pages: nothing cut off, nothing on top of another, figures large.

Sizes are those of the page (CSS pixels); 48 of them are legible at two metres.
"""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from axe import violations
from playwright.sync_api import FloatRect, Page, expect
from shed_server import Shed
from visits import DESK, PHONE, TABLET, Device, Visits, picture, to_demo_run

from middlecut.web.mark_lanes import place_marks

CUT_OFF = """place => [...document.querySelectorAll(place)].filter((one) => {
  const { left, right } = one.getBoundingClientRect();
  return left < 0 || right > document.documentElement.clientWidth
    || one.scrollWidth > one.clientWidth + 1;
}).map((one) => one.textContent.trim())"""
BIG = """() => [...document.querySelectorAll("#now .figure.big .number")]
  .map((one) => parseFloat(getComputedStyle(one).fontSize))"""
SHADED = """() => [...document.querySelectorAll(".table-frame")]
  .filter((one) => one.scrollWidth > one.clientWidth + 1)
  .map((one) => getComputedStyle(one).backgroundAttachment)"""
PLACED = """async ([marks, left, right]) => {
  const { placeMarks } = await import("/static/mark_lanes.js");
  return placeMarks(marks.map(([x, width]) => ({ x, width })), left, right)
    .map((one) => [one.lane, one.left, one.right]);
}"""


@pytest.mark.parametrize("device", [PHONE, TABLET, DESK], ids=lambda one: one.name)
def test_every_page_of_the_menu_is_in_sight(visits: Visits, shed: Shed, device: Device) -> None:
    page = visits.on(shed, device)
    for address in ("/", "/settings", "/stills"):
        page.goto(address)
        assert page.evaluate(CUT_OFF, ".masthead nav a, .masthead nav, .facts dd") == []


@pytest.mark.parametrize("device", [PHONE, TABLET, DESK], ids=lambda one: one.name)
def test_the_run_can_be_read_from_two_metres(visits: Visits, shed: Shed, device: Device) -> None:
    page = visits.on(shed, device)
    to_demo_run(page)
    sizes = page.evaluate(BIG)
    assert len(sizes) == 4
    assert min(sizes) >= 48
    assert page.evaluate(CUT_OFF, "#now .figure .number") == []
    picture(page, f"look/run-{device.name}")
    if device is PHONE:
        return
    figures, curve = _box(page, "#now"), _box(page, "#curve-part .plot-live, #curve-part .plot")
    assert curve["x"] >= figures["x"] + figures["width"]  # beside the figures
    assert curve["y"] < figures["y"] + figures["height"]  # at their height
    # The three forms, or two of them, begin at one height: no column stands empty.
    tops = {round(_box(page, form)["y"]) for form in ("#read-form", "#cut-form")}
    assert len(tops) == 1
    if device is DESK:
        assert round(_box(page, "#jar-form")["y"]) in tops


def test_the_form_of_a_reading_comes_right_under_the_figures(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, PHONE)
    to_demo_run(page)
    expect(page.locator("#ahead")).to_be_attached()  # the forecast is there, folded
    picture(page, "bench-phone")
    save = page.locator("#read-form").get_by_role("button", name="Save").bounding_box()
    assert save is not None
    assert save["y"] + save["height"] < 1_220  # some room for other fonts; once it was 1,380
    figures, form = (page.locator(one).bounding_box() for one in ("#now", "#read-form"))
    assert figures is not None
    assert form is not None
    assert form["y"] - (figures["y"] + figures["height"]) < 80
    assert page.evaluate("document.documentElement.scrollHeight") < 7_500  # once 10,700
    for words in ("Notes, figures and tables of the plan", "What the step takes and makes"):
        expect(page.locator("summary").filter(has_text=words)).to_be_visible()


def test_a_table_that_is_wider_shows_that_it_goes_on(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, PHONE)
    to_demo_run(page)
    shaded = page.evaluate(SHADED)
    assert shaded
    assert all(one.split(", ")[:2] == ["local", "scroll"] for one in shaded)
    page.locator("#plan-behind > summary").click()
    frame = page.get_by_role("region", name="What to look for").first
    frame.evaluate("one => { one.scrollLeft = 120; }")
    # The name of the row stays where it was.
    first = frame.locator("tbody th").first.bounding_box()
    place = frame.bounding_box()
    assert first is not None
    assert place is not None
    assert first["x"] == pytest.approx(place["x"], abs=1.0)


def test_figures_stay_when_a_forecast_fails(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, PHONE)
    page.route("**/*forecast=yes", lambda route: route.fulfill(status=500, body="<p>out of order"))
    with page.expect_response("**/*forecast=yes"):
        to_demo_run(page)
    page.wait_for_timeout(200)
    expect(page.locator("#now .figure.big")).to_have_count(4)


def test_the_curve_keeps_its_line_on_paper(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, DESK)
    to_demo_run(page)
    page.emulate_media(media="print")
    line = page.locator("#curve-part svg.chart polyline.line").first
    assert line.evaluate("one => getComputedStyle(one).display") != "none"
    box = line.bounding_box()
    assert box is not None
    assert box["width"] > 100
    # Forms cannot be filled in on paper, and leave no heading behind.
    expect(page.get_by_role("heading", name="Read")).to_be_hidden()
    expect(page.get_by_role("heading", name="So far")).to_be_visible()


def test_a_comparison_is_as_wide_as_the_phone(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, PHONE)
    page.goto("/compare")
    for choice in page.locator("input[name=batch]").all():
        choice.check()
    page.get_by_role("button", name="Put them side by side").click()
    # The ranges come by themselves, and make the table wider.
    expect(page.locator("#yield-part")).to_contain_text("In brackets", timeout=90_000)
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE.width
    picture(page, "look/compare-phone")
    assert violations(page) == []


def test_both_drawings_of_a_chart_place_words_alike(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, DESK)
    page.goto("/")
    crowds: Sequence[list[tuple[float, float]]] = (
        [(56.0, 110.0), (80.0, 120.0), (280.0, 30.0), (380.0, 100.0), (470.0, 80.0)],
        [(60.0, 90.0)] * 3,
        [(400.0, 90.0), (430.0, 40.0), (470.0, 200.0)],
        [],
    )
    for marks in crowds:
        ours = [[one.lane, one.left, one.right] for one in place_marks(marks, left=52, right=474)]
        assert page.evaluate(PLACED, [marks, 52, 474]) == ours


def _box(page: Page, place: str) -> FloatRect:
    found = page.locator(place).locator("visible=true").first.bounding_box()
    assert found is not None
    return found
