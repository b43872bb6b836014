# SPDX-License-Identifier: MIT
"""From what was tasted to a remedy, and from that to a new plan; and a dose found in glasses."""

from __future__ import annotations

import re

from playwright.sync_api import Page, expect
from shed_server import Shed
from visits import DESK, PHONE, Visits, begin_batch, picture

COMPUTED = 60_000  # ms: every remedy is predicted anew, on a machine that may be busy


def saved(page: Page, words: str) -> None:
    said = page.locator(".said").filter(has_text=words)
    expect(said.filter(has_not_text="not yet").first).to_be_visible()


def test_tasting_leads_to_a_remedy_and_a_new_plan(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, PHONE)
    batch = begin_batch(page, "demo")
    answer = page.request.post(
        f"{batch}/step/strip-2/start", form={"anyway": "yes"}, headers={"origin": shed.address}
    )  # what is not made is no glass to taste
    assert answer.ok
    page.goto(f"{batch}/tasting")
    page.locator("#f-subject").select_option("low wines 2")
    page.get_by_label("Who tastes").fill("E. T.")
    nose = page.get_by_role("group", name="Nose")
    nose.get_by_role("checkbox", name="fusel", exact=True).check()
    nose.get_by_label("How strong is fusel").select_option("7")
    page.get_by_label("On the whole").fill("hot <b>and</b> oily")
    picture(page, "tasting-form-phone")
    page.get_by_role("button", name="Keep this tasting").click()
    saved(page, "The tasting is in the record.")
    expect(page.get_by_text("hot <b>and</b> oily")).to_be_visible()  # as text, not as markup
    page.get_by_role("link", name="Look for causes and remedies").click()
    remedy = page.get_by_role("checkbox", name=re.compile("^Remedy"))
    remedy.first.wait_for(timeout=COMPUTED)
    expect(page.locator(".remedy .verdict").first).to_contain_text(re.compile(r"\w"))
    picture(page, "causes-phone")
    remedy.first.check()
    page.get_by_label("Name of the new batch").fill("Second try")
    page.get_by_role("button", name="Make a new plan from this").click()
    expect(page.locator(".said")).to_contain_text("A new batch is open", timeout=COMPUTED)
    assert page.url.split("?")[0].endswith("/plan")
    assert batch not in page.url  # the first batch stays as it is
    expect(page.get_by_label("Text of the plan")).to_have_value(re.compile("Second try"))


def test_dose_is_found_on_a_ladder_of_glasses(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, DESK)
    batch = begin_batch(page, "demo")
    page.goto(f"{batch}/step/marry")
    ladder = page.locator("#ladder-form")
    ladder.get_by_label("Strongest dose").fill("8")
    ladder.get_by_label("Glasses").fill("5")
    ladder.get_by_label("Base in each glass").fill("50 mL")
    ladder.get_by_role("button", name="Lay out the glasses").click()
    table = page.get_by_role("region", name="What goes into each glass")
    # Five glasses from 0 to 8 % by equal steps: the strongest takes 8 % of 50 mL, 4 mL.
    expect(table.get_by_role("row")).to_have_count(6)
    expect(table.get_by_role("row").last).to_contain_text(re.compile(r"8\.0+ %"))
    expect(table.get_by_role("row").last).to_contain_text(re.compile(r"4\.0+ mL"))
    picture(page, "dose-ladder-desk")
    form = page.locator("#try-form")
    form.get_by_label("Glass", exact=False).first.fill("C")
    form.get_by_label("Its dose").fill("4")
    form.get_by_label("Rank").fill("1")
    form.get_by_label("Words").fill("cacao, orange")
    form.get_by_role("button", name="Save the glass").click()
    saved(page, "in the record")
    expect(page.get_by_role("region", name="Glasses tasted")).to_contain_text("cacao, orange")
    rate = page.locator("#rate-form")
    rate.get_by_label("Dose for the whole batch").fill("4")
    rate.get_by_role("button", name="The batch gets this dose").click()
    saved(page, "in the record")
    expect(page.locator(".figure.big").first).to_contain_text(re.compile(r"4\.0+ %"))


def test_a_stale_choice_shows_both(visits: Visits, shed: Shed) -> None:
    page, other = visits.on(shed, DESK), visits.on(shed, PHONE)
    batch = begin_batch(page, "demo")
    for one in (page, other):
        one.goto(f"{batch}/step/marry")
        one.locator("#rate-form").get_by_label("Dose for the whole batch").fill("3")
    other.locator("#rate-form").get_by_label("Why").fill("mine was first")
    other.locator("#rate-form").get_by_role("button").click()
    saved(other, "in the record")
    page.locator("#rate-form").get_by_label("Dose for the whole batch").fill("6")
    page.locator("#rate-form").get_by_role("button").click()
    expect(page.locator("#clash")).to_contain_text("mine was first")
    expect(page.locator("#rate-form").get_by_label("Dose for the whole batch")).to_have_value("6")
