# SPDX-License-Identifier: MIT
"""Nothing typed is lost: the network cut, the server killed, the page loaded anew."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable
from datetime import timedelta

import pytest
from outbox_page import enter, length, outbox, readings_since
from playwright.sync_api import Locator, Page, Route, expect
from shed_server import Shed
from visits import DESK, PHONE, Visits, picture, to_demo_run


@pytest.fixture
def own_shed(make_shed: Callable[..., Shed]) -> Shed:
    """A shed that this test may kill."""
    return make_shed()


def test_without_network_entries_wait_and_then_go_in_order(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, PHONE)
    to_demo_run(page)
    before = length(shed)
    page.context.set_offline(True)
    enter(page, "82.01")
    expect(outbox(page)).to_contain_text("Saved on this phone, not yet in the record: 1 entry")
    expect(page.locator("#read-form").get_by_label("Head")).to_have_value("")
    enter(page, "82.02")
    expect(outbox(page)).to_contain_text("Saved on this phone, not yet in the record: 2 entries")
    expect(outbox(page)).to_contain_text("Head, °C 82.02")
    picture(page, "outbox-waiting-phone", whole=False)
    assert readings_since(shed, before) == []
    page.wait_for_timeout(1000)
    page.context.set_offline(False)
    expect(outbox(page)).to_be_hidden()
    # Its answer or the news of the record tells of the first; then both are told in one or in two.
    expect(page.locator("#announcer")).to_have_text(
        re.compile("Now in the record: (1 entry|2 entries) that waited on this phone.")
    )
    kept = readings_since(shed, before, 2)
    assert [head for head, _ in kept] == [82.01, 82.02]
    for _, event in kept:
        # Both times are kept; the entry waited for the second above.
        assert event.synced_utc - event.entered_utc >= timedelta(seconds=1)
        assert event.utc == event.entered_utc


def test_a_killed_server_and_a_page_loaded_anew(visits: Visits, own_shed: Shed) -> None:
    page = visits.on(own_shed, PHONE)
    to_demo_run(page)
    before = length(own_shed)
    own_shed.kill()
    enter(page, "82.03")
    expect(outbox(page)).to_contain_text("not yet in the record: 1 entry")
    expect(page.locator("#line")).to_contain_text("The record cannot be reached since")
    address = page.url
    page.goto("about:blank")
    own_shed.open()
    page.goto(address)
    expect(page.locator("#announcer")).to_contain_text("Now in the record: 1 entry")
    expect(outbox(page)).to_be_hidden()
    assert [head for head, _ in readings_since(own_shed, before, 1)] == [82.03]


_TYPED_MEANWHILE = """async () => {
  const form = document.getElementById("read-form");
  const field = [...form.elements].find((one) => one.labels?.[0]?.textContent.includes("Head"));
  const save = [...form.querySelectorAll("button")].find((one) => one.textContent.includes("Save"));
  field.value = "82.21";
  save.click();
  field.value = "82.22";  // typed before the page knows what became of the first
  const waits = () => document.querySelector("[data-told]")?.textContent.includes("1 entry");
  for (let turn = 0; !waits() && turn < 300; turn++) await new Promise((go) => setTimeout(go, 10));
  const left = field.value;
  save.click();
  return left;
}"""


def test_what_was_typed_meanwhile_is_an_entry_of_its_own(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, PHONE)
    to_demo_run(page)
    before = length(shed)
    page.context.set_offline(True)
    assert page.evaluate(_TYPED_MEANWHILE) == "82.22"  # within the time of a second tap
    expect(outbox(page)).to_contain_text("not yet in the record: 2 entries")
    page.context.set_offline(False)
    expect(outbox(page)).to_be_hidden(timeout=30_000)
    assert [head for head, _ in readings_since(shed, before, 2)] == [82.21, 82.22]


def test_a_slow_line_holds_nobody_up(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, PHONE)
    to_demo_run(page)
    before = length(shed)
    held: list[Route] = []

    def hold(route: Route) -> None:
        held.append(route)

    page.route("**/read", hold)
    form = page.locator("#read-form")
    form.get_by_label("Head").fill("82.11")
    form.get_by_role("button", name="Save").dblclick()  # a wet finger
    # No answer for a while: the form is free, and the page says where the entry is.
    told = page.locator(".said[data-told]")
    expect(told).to_contain_text("not yet in the record: 1 entry")
    expect(told).to_contain_text("You tapped twice: it was kept once.")
    field = page.locator("#read-form").get_by_label("Head")
    expect(field).to_have_value("")
    field.fill("82.12")
    assert len(held) == 1
    held[0].continue_()
    page.unroute("**/read")
    # Its own answer or the news of the record says so, whichever comes first.
    expect(told).to_contain_text(
        re.compile("Saved: it is in the record|Now in the record: 1 entry")
    )
    expect(field).to_have_value("82.12")  # neither swept away nor the page left
    page.locator("#read-form").get_by_role("button", name="Save").click()
    expect(field).to_have_value("")
    expect(page.locator(".said").filter(has_not_text="not yet").first).to_be_visible()
    assert [head for head, _ in readings_since(shed, before, 2)] == [82.11, 82.12]


def test_a_question_that_comes_late_is_seen_and_nothing_is_lost(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, PHONE)
    to_demo_run(page)
    before = length(shed)

    def slowly(route: Route) -> None:
        page.wait_for_timeout(1200)  # the form is free for the next reading long before
        route.continue_()

    page.route("**/read", slowly)
    form = page.locator("#read-form")
    form.get_by_label("Head").fill("84.01")
    form.get_by_label("Volume so far").fill("25 L")  # more than was loaded
    form.get_by_role("button", name="Save").click()
    asked = page.locator("#read-form")
    expect(asked).to_contain_text("Is this right?")
    expect(asked.get_by_label("Volume so far")).to_have_value("25 L")
    expect(outbox(page)).to_be_hidden()
    assert [head for head, _ in readings_since(shed, before, 1)] == [84.01]
    page.unroute("**/read")
    asked.get_by_label("Volume so far").fill("")
    asked.get_by_label("Head").fill("84.02")
    asked.get_by_role("button", name="Save").click()
    expect(page.locator(".said").filter(has_text="record").first).to_be_visible()
    assert [head for head, _ in readings_since(shed, before, 2)] == [84.01, 84.02]


def _jar_field(page: Page) -> Locator:
    return page.locator('form[action$="/jar"] input[name="volume"]')


def test_what_stands_unsent_in_another_form_stays(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, DESK)
    to_demo_run(page)
    before = length(shed)
    _jar_field(page).evaluate("(field) => { field.value = '77'; }")
    enter(page, "82.31")  # taken
    expect(page.locator(".said").filter(has_text="in the record").first).to_be_visible()
    assert [head for head, _ in readings_since(shed, before, 1)] == [82.31]
    assert _jar_field(page).input_value() == "77"
    enter(page, "a lot")  # refused: the answer takes the place of the page
    expect(page.locator("#read-form").get_by_label("Head")).to_have_attribute(
        "aria-invalid", "true"
    )
    assert _jar_field(page).input_value() == "77"
    assert page.locator("#read-form").get_by_label("Head").input_value() == "a lot"


def test_a_late_refusal_leaves_the_next_entry_alone(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, PHONE)
    to_demo_run(page)
    before = length(shed)
    held: list[Route] = []

    def hold(route: Route) -> None:
        held.append(route)

    page.route("**/read", hold)
    enter(page, "a lot")
    told = page.locator(".said[data-told]")
    field = page.locator("#read-form").get_by_label("Head")
    # The next one is begun at once, before the page gives the form free.
    field.fill("82.33")
    expect(told).to_contain_text("not yet in the record: 1 entry")
    held[0].continue_()
    page.unroute("**/read")
    expect(outbox(page)).to_contain_text("the record did not take: 1 entry")
    expect(outbox(page)).to_contain_text("a lot")
    expect(field).to_have_value("82.33")
    page.locator("#read-form").get_by_role("button", name="Save").click()
    assert [head for head, _ in readings_since(shed, before, 1)] == [82.33]
    expect(outbox(page)).to_contain_text("a lot")


def test_an_answer_that_is_lost_makes_no_second_entry(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, DESK)
    page.route("**/events?*", lambda route: route.abort())  # no news that it is in the record
    to_demo_run(page)
    before = length(shed)

    def lose(route: Route) -> None:
        route.fetch(max_redirects=0)  # the server has it
        route.abort()

    page.route("**/read", lose)
    enter(page, "82.04")
    expect(outbox(page)).to_contain_text("Saved on this computer, not yet in the record: 1 entry")
    assert [head for head, _ in readings_since(shed, before, 1)] == [82.04]
    page.unroute("**/read")
    expect(outbox(page)).to_be_hidden(timeout=30_000)  # it is tried again by itself
    assert [head for head, _ in readings_since(shed, before, 1)] == [82.04]


def test_what_is_seen_in_the_record_waits_no_longer(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, DESK)
    to_demo_run(page)

    def lose(route: Route) -> None:
        if lose_all:
            route.fulfill(status=503, body="")
            return
        lose_all.append(1)
        route.fetch(max_redirects=0)  # the server has it, and cannot be asked again
        route.fulfill(status=503, body="")

    lose_all: list[int] = []
    page.route("**/read", lose)
    enter(page, "61.5")
    expect(page.locator("#entries-part")).to_contain_text("61.5 °C")
    expect(outbox(page)).to_be_hidden()
    expect(page.locator(".said").filter(has_text="in the record").first).to_be_visible()
    # Without the news, too: a page that shows the entry takes it off the list.
    page.route("**/events?*", lambda route: route.abort())
    page.reload()
    lose_all.clear()
    enter(page, "62.5")
    expect(outbox(page)).to_contain_text("not yet in the record: 1 entry")
    page.reload()
    expect(page.locator("#entries-part")).to_contain_text("62.5 °C")
    expect(outbox(page)).to_be_hidden()


def test_what_the_record_refuses_later_can_be_put_right(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, PHONE)
    to_demo_run(page)
    before = length(shed)
    page.context.set_offline(True)
    enter(page, "fifteen")
    expect(outbox(page)).to_contain_text("not yet in the record: 1 entry")
    enter(page, "82.05")
    expect(outbox(page)).to_contain_text("not yet in the record: 2 entries")
    page.context.set_offline(False)
    expect(outbox(page)).to_contain_text("the record did not take: 1 entry")
    expect(outbox(page)).to_contain_text("fifteen")
    # The good entry behind it was not held up.
    expect(outbox(page)).not_to_contain_text("not yet in the record")
    assert [head for head, _ in readings_since(shed, before, 1)] == [82.05]
    picture(page, "outbox-refused-phone", whole=False)
    outbox(page).get_by_role("button", name="Put it back into its form").click()
    field = page.locator("#read-form").get_by_label("Head")
    expect(field).to_have_value("fifteen")
    field.fill("82.06")
    page.locator("#read-form").get_by_role("button", name="Save").click()
    expect(page.get_by_role("status").filter(has_text=re.compile("saved", re.I))).to_be_visible()
    expect(outbox(page)).to_be_hidden()
    assert [head for head, _ in readings_since(shed, before, 2)] == [82.05, 82.06]


def test_a_mistake_is_named_at_its_field_and_kept_nowhere(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, DESK)
    to_demo_run(page)
    enter(page, "a lot")
    field = page.locator("#read-form").get_by_label("Head")
    expect(field).to_have_attribute("aria-invalid", "true")
    expect(field).to_have_value("a lot")
    expect(field).to_be_focused()
    expect(outbox(page)).to_be_hidden()
    enter(page, "82.07")
    expect(page.locator(".said").filter(has_text="in the record").first).to_be_visible()


def test_a_record_that_cannot_be_written_keeps_the_entry_here(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, DESK)
    to_demo_run(page)
    before = length(shed)
    lock = sqlite3.connect(shed.record, isolation_level=None)
    try:
        lock.execute("BEGIN IMMEDIATE")  # another program holds the file
        enter(page, "82.08")
        expect(outbox(page)).to_contain_text("not yet in the record: 1 entry")
        expect(outbox(page)).to_contain_text("The record cannot be written", timeout=30_000)
        lock.execute("ROLLBACK")
    finally:
        lock.close()
    expect(outbox(page)).to_be_hidden(timeout=30_000)  # it is tried again by itself
    assert [head for head, _ in readings_since(shed, before, 1)] == [82.08]


def test_without_script_forms_are_plain(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, PHONE, script=False)
    to_demo_run(page)
    before = length(shed)
    enter(page, "82.09")
    expect(page.locator(".said")).to_be_visible()
    assert [head for head, _ in readings_since(shed, before, 1)] == [82.09]


_KEPT = """async () => {
  const shelf = await caches.open("middlecut-pages-1");
  const kept = (await shelf.keys()).map((one) => new URL(one.url).pathname);
  return kept.includes(location.pathname) && kept.includes("/static/outbox_store.js");
}"""


def test_on_this_computer_a_page_opens_without_its_server(visits: Visits, own_shed: Shed) -> None:
    page = visits.on(own_shed, DESK, worker=True)
    to_demo_run(page)
    # Opened once only: the worker came after it, and keeps it all the same.
    page.wait_for_function(_KEPT)
    own_shed.kill()
    page.reload()
    expect(page.locator("#read-form")).to_be_visible()
    enter(page, "82.10")
    expect(outbox(page)).to_contain_text("not yet in the record: 1 entry")
    page.reload()
    expect(outbox(page)).to_contain_text("not yet in the record: 1 entry")
    before = length(own_shed)
    own_shed.open()
    expect(outbox(page)).to_be_hidden(timeout=20_000)
    assert [head for head, _ in readings_since(own_shed, before, 1)] == [82.10]
    own_shed.kill()
    page.context.set_offline(True)
    enter(page, "82.11")
    page.context.set_offline(False)
    page.goto("/pantry")  # never opened here
    expect(page.get_by_role("heading", level=1)).to_contain_text("cannot be reached")
    expect(page.locator("main")).to_contain_text("keeps no copy of this page")
    expect(page.locator("main")).not_to_contain_text("not opened here before")
    expect(page.locator("#count")).to_contain_text("not yet in the record: 1")
    expect(page.locator("#waiting li")).to_contain_text("82.11")
    own_shed.open()
