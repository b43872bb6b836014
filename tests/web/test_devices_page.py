# SPDX-License-Identifier: MIT
"""Pairing: a code works once and for ten minutes, wrong ones run out of tries."""

from __future__ import annotations

import re

import pytest
from visitor import StandingClock, Visitor, check_page

from middlecut.app.record import Record
from middlecut.web.pairing import COOKIE, digest_of
from middlecut.web.services import Services


@pytest.fixture
def computer(phone: Visitor) -> Visitor:
    return Visitor(phone.app)


def code_of(computer: Visitor) -> str:
    found = re.search(
        r'aria-label="Code">([A-Z0-9]{5}) ([A-Z0-9]{5})<', computer.get("/devices").text
    )
    assert found is not None
    return found[1] + found[2]


def test_pages_are_in_order(computer: Visitor, visitor: Visitor, phone: Visitor) -> None:
    for answer in (computer.get("/devices"), visitor.get("/devices"), phone.get("/pair?code=AB")):
        assert answer.status_code == 200
        check_page(answer)
    assert "<svg" in computer.get("/devices").text
    assert "<svg" in computer.get("/").text
    assert "--lan" in visitor.get("/devices").text


def test_a_phone_comes_in_with_the_code(computer: Visitor, phone: Visitor, record: Record) -> None:
    code = code_of(computer)
    assert code in phone.get(f"/pair?code={code}").text
    answer = phone.post("/pair", {"code": f" {code.lower()[:5]}-{code[5:]}", "name": "phone"})
    assert answer.status_code == 303
    cookie = answer.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "samesite=strict" in cookie.lower()
    assert phone.get("/").status_code == 200
    kept = next(iter(record.workshop().devices.values())).paired
    assert kept.token_digest == digest_of(phone.cookies[COOKIE])
    assert phone.cookies[COOKIE] not in str(record.store.read_all())
    assert phone.get("/pair").status_code == 303
    # The code is shown to nobody but the computer itself.
    assert 'aria-label="Code"' not in phone.get("/devices").text


def test_a_code_works_once(computer: Visitor, phone: Visitor) -> None:
    code = code_of(computer)
    phone.post("/pair", {"code": code, "name": "phone"})
    other = Visitor(phone.app, "192.168.7.21", phone.base)
    answer = other.post("/pair", {"code": code, "name": "other"})
    assert answer.status_code == 403
    check_page(answer)
    assert code_of(computer) != code


def test_a_code_runs_out(computer: Visitor, phone: Visitor, clock: StandingClock) -> None:
    code = code_of(computer)
    clock.pass_by(minutes=10)
    assert phone.post("/pair", {"code": code, "name": "phone"}).status_code == 403
    assert code_of(computer) != code


def test_guessing_is_stopped_even_with_the_right_code(
    computer: Visitor, phone: Visitor, clock: StandingClock
) -> None:
    code = code_of(computer)
    for _ in range(5):
        assert phone.post("/pair", {"code": "WRONGWRONG", "name": "x"}).status_code == 403
    stopped = phone.post("/pair", {"code": code, "name": "x"})
    assert stopped.status_code == 429
    assert stopped.headers["retry-after"] == "600"
    check_page(stopped)
    clock.pass_by(minutes=10)
    assert phone.post("/pair", {"code": code_of(computer), "name": "x"}).status_code == 303


def test_many_addresses_together_are_stopped_too(computer: Visitor, phone: Visitor) -> None:
    code = code_of(computer)
    for number in range(20):
        guest = Visitor(phone.app, f"192.168.7.{100 + number}", phone.base)
        assert guest.post("/pair", {"code": "WRONGWRONG", "name": "x"}).status_code == 403
    guest = Visitor(phone.app, "192.168.7.200", phone.base)
    assert guest.post("/pair", {"code": code, "name": "x"}).status_code == 429


def test_the_form_comes_back_as_typed(phone: Visitor) -> None:
    answer = phone.post("/pair", {"code": '"><script>', "name": ""})
    assert answer.status_code == 422
    check_page(answer)
    assert "<script>" not in answer.text
    assert "&#34;&gt;&lt;script&gt;" in answer.text


def test_a_name_with_script_is_escaped(computer: Visitor, phone: Visitor) -> None:
    phone.post("/pair", {"code": code_of(computer), "name": "<script>alert(1)</script>"})
    page = computer.get("/devices")
    check_page(page)
    assert "<script>alert" not in page.text
    assert "&lt;script&gt;alert" in page.text


def test_a_device_that_is_not_there_cannot_be_shut_out(computer: Visitor) -> None:
    assert computer.post("/devices/none/revoke").status_code == 404


def test_an_empty_code_never_works(phone: Visitor, shared_services: Services) -> None:
    # Nothing was offered yet: the desk holds no code, and an empty one is not it.
    assert phone.post("/pair", {"code": "- -", "name": "x"}).status_code == 403
    assert shared_services.record.workshop().devices == {}
