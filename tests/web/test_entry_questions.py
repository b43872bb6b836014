# SPDX-License-Identifier: MIT
"""What is asked about before it is kept: what can be true and probably is a slip."""

from __future__ import annotations

import html
import re
from datetime import timedelta

import httpx
import pytest
from bench_plan import NOW, begin
from visitor import StandingClock, Visitor, check_page

from middlecut.app.batch_events import NoteWritten
from middlecut.app.doubts import LATE, digits_slip
from middlecut.app.record import Record
from middlecut.app.spirit_events import CutCalled, JarFilled

ASKED = "Is this right?"


@pytest.fixture
def batch(record: Record) -> str:
    return begin(record)  # 200 mL of hearts, read 235 s ago; the first drop came 700 s ago


def answer_of(answer: httpx.Response) -> str:
    """Return what ticking "it is so" sends."""
    found = re.search(r'name="anyway" value="([^"]*)"', answer.text)
    assert found, "there is nothing to tick"
    return html.unescape(found[1])


def here(minutes: float) -> str:
    """Return the time of day some minutes ago, on the clock of this computer."""
    return f"{(NOW - timedelta(minutes=minutes)).astimezone():%H:%M}"


def asks(answer: httpx.Response, *words: str) -> None:
    assert answer.status_code == 422
    check_page(answer)
    assert ASKED in answer.text
    for one in words:
        assert one in html.unescape(answer.text)


def late(visitor: Visitor, clock: StandingClock, path: str, sent: dict[str, str]) -> None:
    """Send what was typed two minutes ago on a device that had no line."""
    typed = clock.now() - timedelta(minutes=2)
    headers = {
        "x-outbox": "1",
        "x-entered": f"{typed:%Y-%m-%dT%H:%M:%SZ}",
        "x-sent": f"{clock.now():%Y-%m-%dT%H:%M:%SZ}",
    }
    assert visitor.post(path, sent, headers=headers).status_code == 200


def read(record: Record, batch: str, quantity: str) -> list[float]:
    return [
        one.taken.value
        for one in record.batch(batch).readings("run")
        if one.taken.quantity == quantity
    ]


class TestTotals:
    @pytest.mark.parametrize(
        ("typed", "words"),
        [("9 L", "that went into the still"), ("0.9 L", "the whole run is expected to give")],
    )
    def test_more_than_there_can_be_is_asked_about(
        self, visitor: Visitor, record: Record, batch: str, typed: str, words: str
    ) -> None:
        path = f"/batch/{batch}/step/run/read"
        asked = visitor.post(path, {"volume": typed})
        asks(asked, words)
        assert read(record, batch, "volume") == [pytest.approx(2e-4)]
        other = visitor.post(path, {"volume": "4 L", "anyway": answer_of(asked)})
        asks(other)  # the answer was about another value
        sure = visitor.post(path, {"volume": typed, "anyway": answer_of(asked)})
        assert sure.status_code == 303

    def test_the_slip_is_taken_back_and_the_true_one_kept(
        self, visitor: Visitor, record: Record, batch: str
    ) -> None:
        path = f"/batch/{batch}/step/run/read"
        asked = visitor.post(path, {"volume": "2 L", "at": here(2)})
        visitor.post(path, {"volume": "2 L", "at": here(2), "anyway": answer_of(asked)})
        sent = {"volume": "260", "strength": "69", "temperature": "20", "entry_key": "k"}
        answer = visitor.post(path, sent)
        asks(answer, "260 mL is less than the 2 L of", "take it back", "Correct the 2 L")
        assert 'name="anyway" value' not in answer.text  # saying so does not help here
        assert read(record, batch, "strength")[-1] == pytest.approx(0.69)
        assert 'value="69"' not in answer.text
        found = re.search(r'name="take_back" value="(\w+)"', answer.text)
        assert found
        again = visitor.post(path, {"volume": "260", "take_back": found[1], "entry_key": "k2"})
        assert again.status_code == 303
        assert [round(1e6 * one) for one in read(record, batch, "volume")] == [200, 260]

    def test_litres_typed_without_their_unit(self, visitor: Visitor, batch: str) -> None:
        answer = visitor.post(f"/batch/{batch}/step/run/read", {"volume": "0,26"})
        asks(answer, "Did you mean 0.26 L?")

    def test_a_late_one_is_kept_with_a_note(
        self, visitor: Visitor, record: Record, clock: StandingClock, batch: str
    ) -> None:
        path = f"/batch/{batch}/step/run/read"
        for _ in range(2):  # sent twice is kept once
            late(visitor, clock, path, {"volume": "9 L", "entry_key": "late"})
        assert read(record, batch, "volume")[-1] == pytest.approx(9e-3)
        notes = [one.text for _, one in record.batch(batch).of(NoteWritten)]
        assert [one for one in notes if one.startswith(LATE) and "went into the still" in one]
        assert len(notes) == 1

    def test_a_jar_larger_than_all_there_is(
        self, visitor: Visitor, record: Record, batch: str
    ) -> None:
        path = f"/batch/{batch}/step/run/jar"
        sent = {"jar": "4", "volume": "0.8 L", "lot": "hearts"}
        asked = visitor.post(path, sent)
        asks(asked, "the jars hold 950 mL", "the last total read is 200 mL")
        assert len(record.batch(batch).of(JarFilled)) == 3
        assert visitor.post(path, {**sent, "anyway": answer_of(asked)}).status_code == 303


class TestTimes:
    def test_before_the_step_began(self, visitor: Visitor, record: Record, batch: str) -> None:
        path = f"/batch/{batch}/step/run/read"
        later = here(-120)  # two hours ahead is yesterday's
        asked = visitor.post(path, {"head": "80", "at": later})
        asks(asked, "is before this step was started")
        sent = {"head": "80", "at": later, "anyway": answer_of(asked)}
        assert visitor.post(path, sent).status_code == 303

    @pytest.mark.parametrize(
        ("action", "sent"),
        [
            ("read", {"strength": "75", "temperature": "20"}),
            ("jar", {"jar": "9", "volume": "50"}),
        ],
    )
    def test_before_the_first_drop(
        self, visitor: Visitor, batch: str, action: str, sent: dict[str, str]
    ) -> None:
        answer = visitor.post(f"/batch/{batch}/step/run/{action}", {**sent, "at": here(15)})
        asks(answer, "is before the first drop")

    def test_the_head_is_read_while_it_heats(self, visitor: Visitor, batch: str) -> None:
        sent = {"head": "40", "at": here(15)}
        assert visitor.post(f"/batch/{batch}/step/run/read", sent).status_code == 303


class TestCuts:
    @pytest.mark.parametrize(
        ("then", "words"),
        [("heads", "heads was called at"), ("hearts", "a cut is called once")],
    )
    def test_going_back_is_asked_about(
        self, visitor: Visitor, record: Record, batch: str, *, then: str, words: str
    ) -> None:
        path = f"/batch/{batch}/step/run/cut"
        asked = visitor.post(path, {"into": then})
        asks(asked, words)
        assert len(record.batch(batch).of(CutCalled)) == 2
        sure = visitor.post(path, {"into": then, "anyway": answer_of(asked)})
        assert sure.status_code == 303

    def test_one_that_was_left_out_lies_behind(self, visitor: Visitor, batch: str) -> None:
        path = f"/batch/{batch}/step/run/cut"
        heads = re.findall(rf"/batch/{batch}/entry/(\w+)", visitor.get(path[:-4]).text)
        for entry in dict.fromkeys(heads):
            page = visitor.get(f"/batch/{batch}/entry/{entry}").text
            if "cut to heads" in page:
                visitor.post(f"/batch/{batch}/entry/{entry}/withdraw", {})
        asks(visitor.post(path, {"into": "heads"}), "heads comes before hearts", "cuts go forward")


class TestSlips:
    def test_a_strength_with_its_mark_in_the_wrong_place(
        self, visitor: Visitor, record: Record, batch: str
    ) -> None:
        path = f"/batch/{batch}/step/run/read"
        sent = {"strength": "6,9", "temperature": "20"}
        asked = visitor.post(path, sent)
        asks(asked, "Did you mean 69 %vol?")
        assert visitor.post(path, {**sent, "anyway": answer_of(asked)}).status_code == 303

    @pytest.mark.parametrize(
        ("text", "meant"),
        [("8,2", "82"), ("28", "82"), ("820", "82"), ("0.82", "82"), ("45", None), ("70", None)],
    )
    def test_what_was_meant(self, text: str, meant: str | None) -> None:
        slip = digits_slip(text, expected=80.0, far=20.0, near=5.0)
        assert (None if slip is None else slip.meant) == meant
