# SPDX-License-Identifier: MIT
"""What the outbox does when the server fails, when a finger taps twice, and with two pages open."""

from __future__ import annotations

import contextlib
import itertools
import re
import shutil
import subprocess
from collections import Counter
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from pathlib import Path
from urllib.parse import parse_qs

import pytest
from outbox_page import enter, length, outbox, readings_since
from playwright.sync_api import Locator, Page, Route, expect
from shed_server import Shed
from visits import DESK, PHONE, Visits, picture, to_demo_run

FAULT = (
    "<!doctype html><html lang=en><title>x</title><main><h1>A fault of middlecut</h1>"
    "<div role=alert><p class=severity>Not done</p><p>This should not happen.</p></div>"
    "<p><a href=/>Go to the shed</a></p></main></html>"
)


def fail(route: Route, status: int) -> None:
    route.fulfill(status=status, content_type="text/html", body=FAULT)


def key_of(route: Route) -> str:
    return parse_qs(route.request.post_data or "")["entry_key"][0]


def into(held: list[Route]) -> Callable[[Route], None]:
    """Hold the first request back until the test lets it go."""

    def hold(route: Route) -> None:
        if held:
            route.continue_()
        else:
            held.append(route)

    return hold


def told(page: Page) -> Locator:
    return page.locator(".said[data-told]")


@pytest.mark.parametrize("status", [500, 502, 503, 504])
def test_a_server_in_trouble_refuses_nothing_and_is_asked_again(
    visits: Visits, shed: Shed, status: int
) -> None:
    page = visits.on(shed, PHONE)
    to_demo_run(page)
    before = length(shed)
    page.route("**/read", lambda route: fail(route, status))
    enter(page, "83.01")
    expect(outbox(page)).to_contain_text("Saved on this phone, not yet in the record: 1 entry")
    expect(outbox(page)).to_contain_text("A fault of middlecut. This should not happen.")
    expect(outbox(page)).to_contain_text("Next try at")
    expect(outbox(page)).not_to_contain_text("did not take")
    page.unroute("**/read")
    # Nobody presses anything: it is tried again by itself.
    expect(outbox(page)).to_be_hidden(timeout=30_000)
    assert [head for head, _ in readings_since(shed, before)] == [83.01]


def test_the_same_key_is_sent_again_after_growing_pauses(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, DESK)
    page.clock.install()
    # Only the pauses count here: no news that the line is there again, which would send at once,
    # and no other requests, whose patience the clock of the test would end.
    for others in ("**/events?*", "**/vendor/htmx.js*"):
        page.route(others, lambda route: route.abort())
    to_demo_run(page)
    sent: list[tuple[datetime, str]] = []

    def refuse(route: Route) -> None:
        at = datetime.fromisoformat(route.request.headers["x-sent"])
        sent.append((at, route.request.post_data or ""))
        fail(route, 503)

    page.route("**/read", refuse)
    enter(page, "83.02")
    next_try = re.compile(r"Next try at (\d\d:\d\d:\d\d)")
    pauses = (2, 4, 8, 15, 30, 60, 60)
    shown = ""
    for pause in pauses:
        expect(outbox(page)).to_contain_text(next_try)
        expect(outbox(page)).not_to_contain_text(shown or "never")
        found = next_try.search(outbox(page).inner_text())
        assert found is not None
        shown = found[1]
        with page.expect_response("**/read"):
            page.clock.fast_forward(pause * 1000)  # if it were longer, nothing would be sent
    times = [at for at, _ in sent]
    assert len(times) == len(pauses) + 1
    for pause, (before, after) in zip(pauses, itertools.pairwise(times), strict=True):
        assert after - before >= timedelta(seconds=pause)
    assert len({body for _, body in sent}) == 1, "one entry, one key, in every try"


def test_one_entry_it_fails_on_does_not_hold_up_the_others_for_ever(
    visits: Visits, shed: Shed
) -> None:
    page = visits.on(shed, PHONE)
    to_demo_run(page)
    before = length(shed)

    def fail_on_one(route: Route) -> None:
        if "83.03" in (route.request.post_data or ""):
            fail(route, 500)
        else:
            route.continue_()

    page.route("**/read", fail_on_one)
    enter(page, "83.03")
    expect(outbox(page)).to_contain_text("not yet in the record: 1 entry")
    enter(page, "83.04")
    expect(outbox(page)).to_contain_text(
        re.compile("Sent [3-9] times, middlecut failed on it"), timeout=30_000
    )
    expect(outbox(page)).to_contain_text("not yet in the record: 1 entry")
    assert [head for head, _ in readings_since(shed, before)] == [83.04]
    page.evaluate("scrollTo(0, 0)")
    picture(page, "outbox-failed-phone", whole=False)
    page.unroute("**/read")
    outbox(page).get_by_role("button", name="Send now").click()
    expect(outbox(page)).to_be_hidden()
    assert [head for head, _ in readings_since(shed, before)] == [83.04, 83.03]


def test_the_same_values_entered_on_purpose_are_two_entries(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, PHONE)
    to_demo_run(page)
    before = length(shed)
    held: list[Route] = []
    page.route("**/read", into(held))
    enter(page, "83.05")
    field = page.locator("#read-form").get_by_label("Head")
    expect(field).to_have_value("")  # the form is free, the first on its way
    page.wait_for_timeout(700)  # two readings are never closer
    enter(page, "83.05")
    expect(outbox(page)).to_contain_text("not yet in the record: 2 entries")
    held[0].continue_()
    expect(outbox(page)).to_be_hidden()
    kept = readings_since(shed, before)
    assert [head for head, _ in kept] == [83.05, 83.05]
    assert len({event.key for _, event in kept}) == 2


@pytest.mark.parametrize("slow", [True, False])
def test_two_taps_of_a_wet_finger_are_one_entry(visits: Visits, shed: Shed, slow: bool) -> None:
    page = visits.on(shed, PHONE)
    to_demo_run(page)
    before = length(shed)
    held: list[Route] = []
    page.route("**/read", into(held))
    form = page.locator("#read-form")
    form.get_by_label("Head").fill("83.06")
    button = form.get_by_role("button", name="Save")
    # The second tap comes while the values stand there, or when the form is free again.
    wait = 550 if slow else 150
    button.evaluate(f"button => {{ button.click(); setTimeout(() => button.click(), {wait}); }}")
    expect(told(page)).to_contain_text("You tapped twice: it was kept once.")
    expect(outbox(page)).to_contain_text("not yet in the record: 1 entry")
    told(page).scroll_into_view_if_needed()
    picture(page, "outbox-tapped-twice-phone", whole=False)
    held[0].continue_()
    expect(outbox(page)).to_be_hidden()
    assert [head for head, _ in readings_since(shed, before)] == [83.06]


def test_a_restored_entry_keeps_the_units_it_was_typed_in(visits: Visits, shed: Shed) -> None:
    page = visits.on(shed, DESK)
    to_demo_run(page)
    before = length(shed)
    page.context.set_offline(True)
    enter(page, "eighty")
    # Were the line back before, the answer would stand in the form and not in the outbox.
    expect(outbox(page)).to_contain_text("not yet in the record: 1 entry")
    page.context.set_offline(False)
    expect(outbox(page)).to_contain_text("the record did not take: 1 entry")
    set_units(page, "us")
    try:
        page.reload()
        expect(page.locator("#read-form")).to_contain_text("°F")
        outbox(page).get_by_role("button", name="Put it back into its form").click()
        form = page.locator("#read-form")
        expect(form.get_by_label("Head")).to_have_value("eighty")
        expect(form.locator('input[name="units"]')).to_have_value("metric")
        expect(form).to_contain_text("°C")  # what stands beside the field is what it means
        expect(form).not_to_contain_text("°F")
        enter(page, "83.07")
        expect(outbox(page)).to_be_hidden()
        expect(page.locator("#read-form")).to_contain_text("°F")  # the settings hold again
    finally:
        set_units(page, "metric")
    assert [head for head, _ in readings_since(shed, before)] == [83.07]


def set_units(page: Page, units: str) -> None:
    origin = re.match(r"https?://[^/]+", page.url)
    assert origin is not None
    answer = page.request.post(
        "/settings", form={"units": units, "theme": "system", "altitude": "0 m", "currency": "EUR"},
        headers={"origin": origin[0]}, max_redirects=0,
    )  # fmt: skip
    assert answer.status == 303, answer.text()[:500]


def test_two_pages_of_one_device_send_each_entry_once(visits: Visits, shed: Shed) -> None:
    first = visits.on(shed, PHONE)
    to_demo_run(first)
    second = first.context.new_page()
    to_demo_run(second)
    before = length(shed)
    sent: Counter[str] = Counter()

    def count(route: Route) -> None:
        sent[key_of(route)] += 1
        route.continue_()

    context = first.context
    context.set_offline(True)
    typed = [("83.1", first), ("83.2", second), ("83.3", first), ("83.4", second)]
    for number, (head, page) in enumerate(typed, start=1):
        enter(page, head)
        count_of = f"not yet in the record: {number} entr"
        expect(outbox(page)).to_contain_text(count_of)
    for page in (first, second):  # each page shows what the other keeps
        expect(outbox(page)).to_contain_text("not yet in the record: 4 entries")
    context.route("**/read", count)
    context.set_offline(False)  # both hear it in the same moment
    for page in (first, second):
        expect(outbox(page)).to_be_hidden(timeout=30_000)
    assert [head for head, _ in readings_since(shed, before)] == [83.1, 83.2, 83.3, 83.4]
    assert len(sent) == 4
    assert set(sent.values()) == {1}, sent


def test_a_page_that_dies_while_it_sends_leaves_the_entry_to_the_other(
    visits: Visits, shed: Shed
) -> None:
    first = visits.on(shed, PHONE)
    to_demo_run(first)
    second = first.context.new_page()
    second.clock.install()
    to_demo_run(second)
    before = length(shed)
    held: list[Route] = []
    first.route("**/read", into(held))
    enter(first, "83.5")
    expect(outbox(second)).to_contain_text("not yet in the record: 1 entry")
    first.close()
    # The claim of the page that died holds for 20 s, then the other page sends.
    for _ in range(4):
        second.clock.fast_forward(8_000)
        second.wait_for_timeout(200)
    expect(outbox(second)).to_be_hidden(timeout=30_000)
    assert [head for head, _ in readings_since(shed, before)] == [83.5]


SMALL_DISK = 'mount -t tmpfs -o size=24m tmpfs "$0" && cp "$0"/../record.sqlite* "$0" && exec "$@"'


class ShedOnSmallDisk(Shed):
    """A shed whose record is on a disk of its own, which can be filled."""

    __slots__ = ()

    def _arguments(self) -> list[str]:
        space = ["unshare", "-r", "-m", "sh", "-c", SMALL_DISK, str(self.record.parent)]
        return [*space, *Shed._arguments(self)]

    @property
    def disk(self) -> Path:
        """The folder of the record, which only the server sees there."""
        assert self._process is not None
        seen_by = Path("/proc", str(self._process.pid), "root")
        return seen_by / self.record.parent.relative_to("/")

    def copied(self) -> Shed:
        """Return a copy of the record as it is now, where it can be read."""
        copy = self.record.parent.with_name("copy")
        copy.mkdir(exist_ok=True)
        for end in ("", "-wal"):
            shutil.copy(self.disk / f"record.sqlite{end}", copy / f"record.sqlite{end}")
        return Shed(copy / "record.sqlite")


@pytest.fixture
def small(shed: Shed, tmp_path: Path) -> Iterator[ShedOnSmallDisk]:
    if (
        not shutil.which("unshare")
        or subprocess.run(
            ["unshare", "-r", "-m", "mount", "-t", "tmpfs", "tmpfs", tmp_path],
            capture_output=True,
            check=False,
        ).returncode
    ):
        pytest.skip("this machine gives no name space: a full disk was NOT TESTED on the page")
    (tmp_path / "disk").mkdir()
    for part in shed.record.parent.glob(f"{shed.record.name}*"):
        shutil.copy(part, tmp_path / part.name)
    found = ShedOnSmallDisk(tmp_path / "disk" / "record.sqlite")
    found.open()
    yield found
    found.kill()


def test_on_a_full_disk_the_entry_stays_here_until_there_is_room(
    visits: Visits, small: ShedOnSmallDisk
) -> None:
    page = visits.on(small, PHONE)
    to_demo_run(page)
    before = length(small.copied())
    filler = small.disk / "filler"
    with contextlib.suppress(OSError), filler.open("wb", buffering=0) as opened:
        while True:
            opened.write(bytes(4096))
    with page.expect_response("**/read") as refused:
        enter(page, "83.6")
    assert refused.value.status == 507
    expect(outbox(page)).to_contain_text("Saved on this phone, not yet in the record: 1 entry")
    expect(outbox(page)).to_contain_text("The record cannot be written. The disk is full.")
    expect(outbox(page)).to_contain_text("Make room, then send it again.")
    page.evaluate("scrollTo(0, 0)")
    picture(page, "outbox-full-disk-phone", whole=False)
    assert readings_since(small.copied(), before) == []
    page.reload()  # pages are still served from the full disk
    expect(outbox(page)).to_contain_text("not yet in the record: 1 entry")
    filler.unlink()
    expect(outbox(page)).to_be_hidden(timeout=30_000)
    assert [head for head, _ in readings_since(small.copied(), before)] == [83.6]
