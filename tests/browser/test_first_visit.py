# SPDX-License-Identifier: MIT
"""What a newcomer meets: the demo with every page alive, little to load, a batch of their own."""

from __future__ import annotations

import re
from urllib.parse import urlsplit

from playwright.sync_api import Page, Request, expect
from shed_server import Shed
from visits import DESK, PHONE, Visits, picture, to_demo_run

FIRST_VIEW = 250_000  # bytes, DESIGN section 10


def loaded(page: Page, address: str) -> int:
    """Return the bytes of everything a first view loads, uncompressed; later news not counted."""
    asked: list[Request] = []

    def note(request: Request) -> None:
        if request.resource_type not in {"eventsource", "fetch"}:
            asked.append(request)

    page.on("requestfinished", note)
    page.goto(address, wait_until="load")
    page.wait_for_timeout(500)  # a chart loads its plotter when it comes into being
    return sum(len(answer.body()) for one in asked if (answer := one.response()) is not None)


def test_demo_leads_to_the_run_that_is_under_way(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, DESK)
    page.goto("/")
    expect(page.get_by_role("heading", level=1)).to_have_text("The shed")
    expect(page.get_by_role("heading", name="What is due")).to_be_visible()
    demo = page.locator("li").filter(has_text="4 of 11 steps done")
    demo.get_by_role("link", name=re.compile("Quarry Lane")).click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Quarry Lane")
    page.get_by_role("link", name=re.compile(r"^\d+\. spirit")).click()
    expect(page.get_by_text("Running into")).to_be_visible()
    expect(page.locator(".figure.big").first).to_contain_text(re.compile(r"\d"))
    expect(page.get_by_role("application")).to_be_visible()  # the chart came alive
    page.get_by_role("link", name="Tasting").click()
    expect(page.get_by_role("heading", name="What was found")).to_be_visible()


def test_first_views_are_light(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, PHONE)
    to_demo_run(page)
    run = urlsplit(page.url).path
    batch = run.split("/step/")[0]
    for address in ("/", batch, run, f"{batch}/tasting", f"{batch}/step/spirit/jars"):
        fresh = visits.on(shed, PHONE)
        assert loaded(fresh, address) <= FIRST_VIEW, address


def test_new_batch_from_an_example(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, PHONE)
    page.goto("/")
    page.get_by_role("link", name="Begin a batch").click()
    page.get_by_label("Example").select_option("double-pot-1300m")
    page.get_by_role("button", name="Begin with this example").click()
    expect(page.get_by_role("status").filter(has_text="The batch is open.")).to_be_visible()
    expect(page.get_by_role("heading", level=1)).to_contain_text("High Pasture")
    picture(page, "new-batch-phone")
    page.goto("/")
    expect(page.get_by_role("link", name=re.compile("High Pasture"))).to_be_visible()


def test_a_broken_plan_comes_back_as_typed(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, DESK)
    page.goto("/new")
    page.get_by_label("Text of the plan").fill('[batch]\nname = "<script>alert(1)</script>"\n')
    page.get_by_role("button", name="Begin with this text").click()
    expect(page.get_by_role("alert").first).to_be_visible()
    expect(page.get_by_label("Text of the plan")).to_have_value(re.compile("<script>"))
