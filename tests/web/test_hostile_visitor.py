# SPDX-License-Identifier: MIT
"""What somebody in the same network may try who was not let in, or not any more."""

from __future__ import annotations

import re
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from bench_plan import begin
from visitor import StandingClock, Visitor

from middlecut.app.batch_events import ReadingTaken
from middlecut.app.record import Record
from middlecut.web.application import create_app
from middlecut.web.pairing import COOKIE, PairingDesk
from middlecut.web.services import Services


def code_of(computer: Visitor) -> str:
    found = re.search(r'aria-label="Code">(\w{5}) (\w{5})<', computer.get("/devices").text)
    assert found is not None
    return found[1] + found[2]


def let_in(computer: Visitor, name: str, address: str) -> Visitor:
    device = Visitor(computer.app, address, "http://192.168.7.5:8460")
    answer = device.post("/pair", {"code": code_of(computer), "name": name})
    assert answer.status_code == 303
    assert device.cookies[COOKIE]
    return device


@pytest.fixture
def computer(phone: Visitor) -> Visitor:
    return Visitor(phone.app)


@pytest.fixture
def tablet(computer: Visitor) -> Visitor:
    return let_in(computer, "tablet", "192.168.7.30")


@pytest.fixture
def read(record: Record) -> str:
    """The address that takes readings of a run."""
    return f"/batch/{begin(record)}/step/run/read"


def heads(record: Record, read: str) -> list[float]:
    state = record.batch(read.split("/")[2])
    return [round(body.value, 2) for _, body in state.of(ReadingTaken)]


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"host": "evil.example"}, 421),
        ({"host": "192.168.7.6:8460"}, 421),
        ({"origin": "http://evil.example"}, 403),
        ({"origin": "http://192.168.7.5"}, 403),
        ({"origin": "null"}, 403),
        ({"sec-fetch-site": "cross-site"}, 403),
        ({"sec-fetch-site": "same-site"}, 403),
        ({"cookie": ""}, 403),
        ({"cookie": f"{COOKIE}=guessed"}, 403),
    ],
)
def test_a_stolen_look_at_a_paired_tablet_changes_nothing(
    tablet: Visitor, record: Record, read: str, headers: dict[str, str], status: int
) -> None:
    before = record.store.last_sequence()
    sent = {"head": "79", "units": "metric", "entry_key": "foreign"}
    if "cookie" in headers:
        tablet.cookies.clear()
    given = {"origin": tablet.base, **headers}
    answer = tablet.ask("POST", read, data=sent, headers=given)
    assert answer.status_code == status
    assert "set-cookie" not in answer.headers
    assert record.store.last_sequence() == before


def test_without_its_cookie_a_paired_address_is_a_stranger(tablet: Visitor) -> None:
    assert tablet.get("/").status_code == 200
    again = Visitor(tablet.app, tablet.address, tablet.base)
    for method in ("GET", "HEAD", "OPTIONS", "PUT", "DELETE"):
        assert again.ask(method, "/").status_code == 403, method


def test_of_many_who_give_the_same_code_at_once_one_comes_in(clock: StandingClock) -> None:
    for _ in range(20):
        desk, together = PairingDesk(), Barrier(8)
        code = desk.offer(clock.now())

        def give(
            number: int, desk: PairingDesk = desk, together: Barrier = together, code: str = code
        ) -> bool:
            together.wait()
            return desk.redeem(code, client=f"192.168.7.{number}", now=clock.now())

        with ThreadPoolExecutor(8) as hands:
            assert sum(hands.map(give, range(8))) == 1


def test_a_code_that_was_seen_is_worth_nothing_afterwards(
    computer: Visitor, shared_services: Services
) -> None:
    code = code_of(computer)
    phone = Visitor(computer.app, "192.168.7.31", "http://192.168.7.5:8460")
    assert phone.post("/pair", {"code": code, "name": "phone"}).status_code == 303
    # By another device, by the same address without its cookie, and after the app starts anew.
    anew = create_app(Services(shared_services.record, address=shared_services.address))
    for app, address in (
        (computer.app, "192.168.7.40"),
        (computer.app, phone.address),
        (anew, "192.168.7.41"),
    ):
        thief = Visitor(app, address, phone.base)
        answer = thief.post("/pair", {"code": code, "name": "thief"})
        assert answer.status_code == 403
        assert COOKIE not in thief.cookies
        assert "set-cookie" not in answer.headers
    assert len(shared_services.record.workshop().devices) == 1


def test_opening_the_address_of_a_code_alone_lets_nobody_in(
    computer: Visitor, shared_services: Services
) -> None:
    # A link that a phone previews, or that a foreign page loads as a picture, uses nothing up.
    code = code_of(computer)
    phone = Visitor(computer.app, "192.168.7.31", "http://192.168.7.5:8460")
    assert "set-cookie" not in phone.get(f"/pair?code={code}").headers
    foreign = phone.post(
        "/pair", {"code": code, "name": "x"}, headers={"origin": "http://evil.example"}
    )
    assert foreign.status_code == 403
    assert shared_services.record.workshop().devices == {}
    assert phone.post("/pair", {"code": code, "name": "phone"}).status_code == 303


def test_a_secret_that_was_planted_before_is_not_taken_over(computer: Visitor) -> None:
    phone = Visitor(computer.app, "192.168.7.31", "http://192.168.7.5:8460")
    answer = phone.ask(
        "POST",
        "/pair",
        data={"code": code_of(computer), "name": "phone"},
        headers={"origin": phone.base, "cookie": f"{COOKIE}=planted"},
    )
    secret = re.search(rf"{COOKIE}=([^;]+)", answer.headers["set-cookie"])
    assert secret is not None
    assert secret[1] != "planted"
    thief = Visitor(computer.app, "192.168.7.32", phone.base, {COOKIE: "planted"})
    assert thief.get("/").status_code == 403


def test_a_guesser_shuts_out_himself_and_not_the_next_phone(
    computer: Visitor, clock: StandingClock
) -> None:
    guesser = Visitor(computer.app, "192.168.7.66", "http://192.168.7.5:8460")
    code = code_of(computer)
    for _ in range(5):
        guesser.post("/pair", {"code": "AAAAAAAAAA", "name": "x"})
    for _ in range(30):  # to go on does not make it longer or wider
        assert guesser.post("/pair", {"code": code, "name": "x"}).status_code == 429
    assert let_in(computer, "phone", "192.168.7.31").get("/").status_code == 200


def test_another_devices_entry_key_neither_changes_nor_repeats_its_entry(
    computer: Visitor, tablet: Visitor, record: Record, read: str
) -> None:
    first = heads(record, read)
    sent = {"head": "79", "units": "metric", "entry_key": "tablet-1"}
    assert tablet.post(read, sent).status_code == 303
    kept = heads(record, read)
    assert kept == [*first, 352.15]
    phone = let_in(computer, "phone", "192.168.7.31")
    last = record.store.last_sequence()
    answer = phone.post(read, {**sent, "head": "85"})
    assert answer.status_code == 422
    assert "key was already used for something else; it was not kept" in answer.text
    assert 'value="tablet-1"' not in answer.text, "sent once more, it would be refused for ever"
    phone.post(read, sent)  # the same words again: it is there already, and stays the tablet's
    assert record.store.last_sequence() == last
    event = record.store.find_key("tablet-1")[0]
    names = {one.paired.device: one.paired.name for one in record.workshop().devices.values()}
    assert names[event.who.device] == "tablet"


def test_shutting_one_device_out_leaves_the_others_in(
    computer: Visitor, tablet: Visitor, record: Record, read: str
) -> None:
    phone = let_in(computer, "phone", "192.168.7.31")
    lost = next(
        key for key, one in record.workshop().devices.items() if one.paired.name == "tablet"
    )
    assert phone.post(f"/devices/{lost}/revoke").status_code == 403, "only at the computer"
    assert computer.post(f"/devices/{lost}/revoke").status_code == 303
    before = record.store.last_sequence()
    entry = {"head": "79", "units": "metric", "entry_key": "late"}
    assert tablet.post(read, entry).status_code == 403
    assert record.store.last_sequence() == before
    assert tablet.get("/events").status_code == 403
    assert phone.get("/").status_code == 200
    # Whoever was shut out comes in again only by a new code.
    assert tablet.get("/pair").status_code == 200
