# SPDX-License-Identifier: MIT
"""A phone joins, both see what the other enters, and what is not let in stays out."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, Request, expect
from shed_server import Shed
from visits import DESK, PHONE, Visits, picture, to_demo_run

MakeShed = Callable[..., Shed]


@pytest.fixture(scope="module")
def open_shed(make_shed: MakeShed) -> Shed:
    """A shed that other devices can reach."""
    return make_shed(named=True)


def fresh_code(visits: Visits, shed: Shed) -> str:
    """Take a code for a device from the page on the computer."""
    desk = visits.on(shed, DESK)
    desk.goto("/devices")
    return desk.locator(".code").inner_text().replace(" ", "")


def pair(page: Page, code: str, name: str = "Phone by the still") -> None:
    page.goto(f"/pair?code={code}")
    page.get_by_label("Name of this device").fill(name)
    page.get_by_role("button", name=re.compile("Pair")).click()
    expect(page.get_by_role("status").filter(has_text="This device is paired.")).to_be_visible()


def enter_head(page: Page, head: str) -> None:
    form = page.locator("#read-form")
    form.get_by_label("Head").fill(head)
    form.get_by_role("button", name="Save").click()
    saved = re.compile("it is in the record|Now in the record")
    expect(page.locator(".said").filter(has_text=saved).first).to_be_visible()


def entries_with(page: Page, words: str) -> None:
    expect(page.locator("#entries-part")).to_contain_text(words)


def test_the_terminal_shows_a_code_that_lets_in(visits: Visits, make_shed: MakeShed) -> None:
    shed = make_shed(named=True)
    pair(visits.on(shed, PHONE, elsewhere=True), shed.pairing_code)


def test_both_devices_see_what_the_other_enters(visits: Visits, open_shed: Shed) -> None:
    phone = visits.on(open_shed, PHONE, elsewhere=True)
    assert not phone.evaluate("isSecureContext")  # as over the network: no locks, no worker
    pair(phone, fresh_code(visits, open_shed))
    desk = visits.on(open_shed, DESK)
    to_demo_run(desk)
    to_demo_run(phone)
    enter_head(phone, "71.5")
    entries_with(desk, "71.5 °C")  # without a reload
    enter_head(desk, "72.5")
    entries_with(phone, "72.5 °C")
    # What stands in a field is not swept away by news.
    field = phone.locator("#read-form").get_by_label("Head")
    field.fill("73.5")
    enter_head(desk, "74.5")
    entries_with(phone, "74.5 °C")
    expect(field).to_have_value("73.5")


def test_two_pages_of_a_phone_share_one_stream(visits: Visits, open_shed: Shed) -> None:
    first = visits.on(open_shed, PHONE, elsewhere=True)
    pair(first, fresh_code(visits, open_shed))
    streams: list[Request] = []

    def begun(request: Request) -> None:
        if "/events?" in request.url:
            streams.append(request)

    def ended(request: Request) -> None:
        if request in streams:
            streams.remove(request)

    first.context.on("request", begun)
    first.context.on("requestfailed", ended)
    to_demo_run(first)
    second = first.context.new_page()
    second.goto(first.url)
    assert len(streams) >= 1
    # Both may listen for a moment, until one sees that the other was first.
    for _ in range(100):
        second.wait_for_timeout(100)
        if len(streams) == 1:
            break
    assert len(streams) == 1
    desk = visits.on(open_shed, DESK)
    to_demo_run(desk)
    enter_head(desk, "75.5")
    entries_with(first, "75.5 °C")
    entries_with(second, "75.5 °C")
    first.close()  # the other takes over, and misses nothing
    enter_head(desk, "76.5")
    entries_with(second, "76.5 °C")


def test_news_goes_on_where_the_line_was_lost(visits: Visits, open_shed: Shed) -> None:
    desk = visits.on(open_shed, DESK)
    other = visits.on(open_shed, DESK)
    to_demo_run(desk)
    to_demo_run(other)
    desk.context.set_offline(True)
    enter_head(other, "77.5")
    enter_head(other, "78.5")
    desk.context.set_offline(False)
    entries_with(desk, "77.5 °C")
    entries_with(desk, "78.5 °C")


def test_an_entry_on_a_phone_without_network_waits(visits: Visits, open_shed: Shed) -> None:
    """Over plain http there is no service worker; the outbox does without."""
    phone = visits.on(open_shed, PHONE, elsewhere=True)
    pair(phone, fresh_code(visits, open_shed))
    desk = visits.on(open_shed, DESK)
    to_demo_run(phone)
    to_demo_run(desk)
    phone.context.set_offline(True)
    form = phone.locator("#read-form")
    form.get_by_label("Head").fill("79.5")
    form.get_by_role("button", name="Save").click()
    outbox = phone.get_by_role("region", name="Entries not yet in the record")
    expect(outbox).to_contain_text("Saved on this phone, not yet in the record: 1 entry")
    phone.context.set_offline(False)
    expect(outbox).to_be_hidden()
    entries_with(desk, "79.5 °C")


def test_what_is_not_paired_stays_out(visits: Visits, open_shed: Shed) -> None:
    stranger = visits.on(open_shed, PHONE, elsewhere=True)
    answer = stranger.goto("/")
    assert answer is not None
    assert answer.status == 403
    expect(stranger.get_by_role("heading", level=1)).to_contain_text("not paired")
    picture(stranger, "not-paired-phone")
    stranger.goto("/pair?code=AAAAABBBBB")
    stranger.get_by_label("Name of this device").fill("nobody")
    stranger.get_by_role("button", name=re.compile("Pair")).click()
    expect(stranger.get_by_role("alert")).to_contain_text("not, or no longer, the right one")
    expect(stranger.get_by_label("Name of this device")).to_have_value("nobody")
    answer = stranger.goto("/record")
    assert answer is not None
    assert answer.status == 403


def test_a_code_works_once_and_a_device_can_be_shut_out(visits: Visits, open_shed: Shed) -> None:
    phone = visits.on(open_shed, PHONE, elsewhere=True)
    code = fresh_code(visits, open_shed)
    pair(phone, code, "Phone of the day")
    thief = visits.on(open_shed, PHONE, elsewhere=True)
    thief.goto(f"/pair?code={code}")
    thief.get_by_label("Name of this device").fill("thief")
    thief.get_by_role("button", name=re.compile("Pair")).click()
    expect(thief.get_by_role("alert")).to_be_visible()
    to_demo_run(phone)
    desk = visits.on(open_shed, DESK)
    desk.goto("/devices")
    expect(desk.get_by_role("img", name="Address that pairs a device")).to_be_visible()
    row = desk.locator("li, tr").filter(has_text="Phone of the day")
    row.get_by_role("button").click()
    expect(desk.get_by_role("status").filter(has_text="shut out")).to_be_visible()
    # What the phone still types is kept on the phone, and it is told why it goes no further.
    form = phone.locator("#read-form")
    form.get_by_label("Head").fill("70.5")
    form.get_by_role("button", name="Save").click()
    outbox = phone.get_by_role("region", name="Entries not yet in the record")
    expect(outbox).to_contain_text("not yet in the record: 1 entry")
    expect(outbox).to_contain_text("once this phone is paired again")
    expect(outbox).not_to_contain_text("Next try")


def test_a_phone_that_was_shut_out_is_told_once_and_asks_no_more(
    visits: Visits, open_shed: Shed
) -> None:
    phone = visits.on(open_shed, PHONE, elsewhere=True)
    pair(phone, fresh_code(visits, open_shed), "Phone to be shut out")
    to_demo_run(phone)
    desk = visits.on(open_shed, DESK)
    desk.goto("/devices")
    row = desk.locator("li, tr").filter(has_text="Phone to be shut out")
    row.get_by_role("button").click()
    line = phone.locator("#line")
    expect(line).to_contain_text("This phone is not paired with middlecut any more")
    expect(line).to_contain_text("open Devices")
    expect(line.get_by_role("link", name="Pair this phone")).to_have_attribute("href", "/pair")
    asked: list[str] = []
    phone.context.on("request", lambda request: asked.append(request.url))
    form = phone.locator("#read-form")
    form.get_by_label("Head").fill("70.6")
    form.get_by_role("button", name="Save").click()
    outbox = phone.get_by_role("region", name="Entries not yet in the record")
    expect(outbox).to_contain_text("not yet in the record: 1 entry")
    expect(outbox).to_contain_text("70.6")
    phone.wait_for_timeout(5_000)  # two beats and the first pauses: nothing asks again
    assert [url for url in asked if "/events?" in url] == []
    assert len([url for url in asked if url.endswith("/read")]) == 1
    expect(line).to_contain_text("not paired")  # and not the contrary
    expect(line).not_to_contain_text("cannot be reached")
    expect(outbox).not_to_contain_text("cannot be reached")
    phone.evaluate("scrollTo(0, 0)")
    picture(phone, "shut-out-phone", whole=False)
    # Paired again in another page, what waited goes.
    again = phone.context.new_page()
    pair(again, fresh_code(visits, open_shed))
    to_demo_run(desk)
    entries_with(desk, "70.6 °C")
    expect(outbox).to_be_hidden()
    expect(line).to_be_hidden()


def test_a_page_of_a_stranger_asks_for_no_news(visits: Visits, open_shed: Shed) -> None:
    stranger = visits.on(open_shed, PHONE, elsewhere=True)
    asked: list[str] = []
    stranger.context.on("request", lambda request: asked.append(request.url))
    for path in ("/pair", "/"):
        stranger.goto(path)
        stranger.wait_for_timeout(1_000)
    assert [url for url in asked if "/events?" in url] == []
