# SPDX-License-Identifier: MIT
"""Nothing typed is lost: the network cut, the server killed, the page loaded anew."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable
from datetime import timedelta

import pytest
from playwright.sync_api import Locator, Page, Route, expect
from shed_server import Shed
from visits import DESK, PHONE, Visits, picture, to_demo_run

from middlecut.adapters.shelf import LocalShelf
from middlecut.app.batch_events import ReadingTaken
from middlecut.app.events import Event


@pytest.fixture
def own_shed(make_shed: Callable[..., Shed]) -> Shed:
    """A shed that this test may kill."""
    return make_shed()


def enter(page: Page, volume: str) -> None:
    form = page.locator("#read-form")
    form.get_by_label("Volume so far").fill(volume)
    form.get_by_role("button", name="Save").click()


def outbox(page: Page) -> Locator:
    return page.get_by_role("region", name="Entries not yet in the record")


def volumes_since(shed: Shed, sequence: int) -> list[tuple[float, Event]]:
    """Return the volumes in the record (mL) after some event, in the order of the record."""
    store = LocalShelf().open(str(shed.record), make=False)
    try:
        events = store.read_all(sequence)
    finally:
        store.close()
    return [
        (round(event.body.value * 1e6, 1), event)
        for event in events
        if isinstance(event.body, ReadingTaken) and event.body.quantity == "volume"
    ]


def length(shed: Shed) -> int:
    store = LocalShelf().open(str(shed.record), make=False)
    try:
        return store.last_sequence()
    finally:
        store.close()


def test_without_network_entries_wait_and_then_go_in_order(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, PHONE)
    to_demo_run(page)
    before = length(shed)
    page.context.set_offline(True)
    enter(page, "1501")
    expect(outbox(page)).to_contain_text("Saved on this phone, not yet in the record: 1 entry")
    expect(page.locator("#read-form").get_by_label("Volume so far")).to_have_value("")
    enter(page, "1502")
    expect(outbox(page)).to_contain_text("Saved on this phone, not yet in the record: 2 entries")
    expect(outbox(page)).to_contain_text("Volume so far, mL 1502")
    picture(page, "outbox-waiting-phone", whole=False)
    assert volumes_since(shed, before) == []
    page.wait_for_timeout(1000)
    page.context.set_offline(False)
    expect(outbox(page)).to_be_hidden()
    expect(page.locator("#announcer")).to_have_text(
        "Now in the record: 2 entries that waited on this phone."
    )
    kept = volumes_since(shed, before)
    assert [volume for volume, _ in kept] == [1501.0, 1502.0]
    for _, event in kept:
        # Both times are kept; the entry waited for the second above.
        assert event.synced_utc - event.entered_utc >= timedelta(seconds=1)
        assert event.utc == event.entered_utc


def test_a_killed_server_and_a_page_loaded_anew(visits: Visits, own_shed: Shed) -> None:
    page = visits.on(own_shed, PHONE)
    to_demo_run(page)
    before = length(own_shed)
    own_shed.kill()
    enter(page, "1503")
    expect(outbox(page)).to_contain_text("not yet in the record: 1 entry")
    expect(page.locator("#line")).to_contain_text("The record cannot be reached since")
    address = page.url
    page.goto("about:blank")
    own_shed.open()
    page.goto(address)
    expect(page.locator("#announcer")).to_contain_text("Now in the record: 1 entry")
    expect(outbox(page)).to_be_hidden()
    assert [volume for volume, _ in volumes_since(own_shed, before)] == [1503.0]


def test_a_slow_line_holds_nobody_up(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, PHONE)
    to_demo_run(page)
    before = length(shed)
    held: list[Route] = []

    def hold(route: Route) -> None:
        held.append(route)

    page.route("**/read", hold)
    enter(page, "1511")
    enter(page, "1511")  # an impatient finger
    # No answer for a while: the form is free, and the page says where the entry is.
    expect(page.locator(".said[data-told]")).to_contain_text("not yet in the record: 1 entry")
    field = page.locator("#read-form").get_by_label("Volume so far")
    expect(field).to_have_value("")
    field.fill("1512")
    assert len(held) == 1
    held[0].continue_()
    page.unroute("**/read")
    expect(page.locator(".said[data-told]")).to_have_text("Saved: it is in the record.")
    expect(field).to_have_value("1512")  # neither swept away nor the page left
    page.locator("#read-form").get_by_role("button", name="Save").click()
    expect(field).to_have_value("")
    expect(page.locator(".said").filter(has_not_text="not yet").first).to_be_visible()
    assert [volume for volume, _ in volumes_since(shed, before)] == [1511.0, 1512.0]


def test_an_answer_that_is_lost_makes_no_second_entry(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, DESK)
    to_demo_run(page)
    before = length(shed)

    def lose(route: Route) -> None:
        route.fetch(max_redirects=0)  # the server has it
        route.abort()

    page.route("**/read", lose)
    enter(page, "1504")
    expect(outbox(page)).to_contain_text("Saved on this computer, not yet in the record: 1 entry")
    assert [volume for volume, _ in volumes_since(shed, before)] == [1504.0]
    page.unroute("**/read")
    outbox(page).get_by_role("button", name="Send now").click()
    expect(outbox(page)).to_be_hidden()
    assert [volume for volume, _ in volumes_since(shed, before)] == [1504.0]


def test_what_the_record_refuses_later_can_be_put_right(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, PHONE)
    to_demo_run(page)
    before = length(shed)
    page.context.set_offline(True)
    enter(page, "fifteen")
    enter(page, "1505")
    page.context.set_offline(False)
    expect(outbox(page)).to_contain_text("the record did not take: 1 entry")
    expect(outbox(page)).to_contain_text("fifteen")
    # The good entry behind it was not held up.
    assert [volume for volume, _ in volumes_since(shed, before)] == [1505.0]
    picture(page, "outbox-refused-phone", whole=False)
    outbox(page).get_by_role("button", name="Put it back into its form").click()
    field = page.locator("#read-form").get_by_label("Volume so far")
    expect(field).to_have_value("fifteen")
    field.fill("1506")
    page.locator("#read-form").get_by_role("button", name="Save").click()
    expect(page.get_by_role("status").filter(has_text=re.compile("saved", re.I))).to_be_visible()
    expect(outbox(page)).to_be_hidden()
    assert [volume for volume, _ in volumes_since(shed, before)] == [1505.0, 1506.0]


def test_a_mistake_is_named_at_its_field_and_kept_nowhere(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, DESK)
    to_demo_run(page)
    enter(page, "a lot")
    field = page.locator("#read-form").get_by_label("Volume so far")
    expect(field).to_have_attribute("aria-invalid", "true")
    expect(field).to_have_value("a lot")
    expect(field).to_be_focused()
    expect(outbox(page)).to_be_hidden()
    enter(page, "1507")
    expect(page.locator(".said").filter(has_text="in the record").first).to_be_visible()


def test_a_record_that_cannot_be_written_keeps_the_entry_here(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, DESK)
    to_demo_run(page)
    before = length(shed)
    lock = sqlite3.connect(shed.record, isolation_level=None)
    try:
        lock.execute("BEGIN IMMEDIATE")  # another program holds the file
        enter(page, "1508")
        expect(outbox(page)).to_contain_text("not yet in the record: 1 entry")
        expect(outbox(page)).to_contain_text("The record cannot be written", timeout=30_000)
        lock.execute("ROLLBACK")
    finally:
        lock.close()
    outbox(page).get_by_role("button", name="Send now").click()
    expect(outbox(page)).to_be_hidden()
    assert [volume for volume, _ in volumes_since(shed, before)] == [1508.0]


def test_without_script_forms_are_plain(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, PHONE, script=False)
    to_demo_run(page)
    before = length(shed)
    enter(page, "1509")
    expect(page.locator(".said")).to_be_visible()
    assert [volume for volume, _ in volumes_since(shed, before)] == [1509.0]


def test_on_this_computer_a_page_opens_without_its_server(visits: Visits, own_shed: Shed) -> None:
    page = visits.on(own_shed, DESK, worker=True)
    to_demo_run(page)
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.reload()  # now through the worker, which keeps it
    own_shed.kill()
    page.reload()
    expect(page.locator("#read-form")).to_be_visible()
    enter(page, "1510")
    expect(outbox(page)).to_contain_text("not yet in the record: 1 entry")
    page.reload()
    expect(outbox(page)).to_contain_text("not yet in the record: 1 entry")
    before = length(own_shed)
    own_shed.open()
    expect(outbox(page)).to_be_hidden(timeout=20_000)
    assert [volume for volume, _ in volumes_since(own_shed, before)] == [1510.0]
