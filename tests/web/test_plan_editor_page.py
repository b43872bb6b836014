# SPDX-License-Identifier: MIT
"""The plan editor: live check, line numbers, stale edits, and the form for the common things."""

from __future__ import annotations

import re

import pytest
from visitor import Visitor, check_page

from middlecut.app.plan_form import common_values, with_values
from middlecut.app.record import Record
from middlecut.app.use_cases import adopt_plan, open_batch
from middlecut.plan.examples import example_names, example_path

DEMO = example_path("demo").read_text(encoding="utf-8")


@pytest.fixture
def batch(record: Record) -> str:
    return open_batch(record, DEMO)


def plan_of(record: Record, batch: str) -> str:
    plan = record.batch(batch).plan
    assert plan is not None
    return plan.text


def seen_in(text: str) -> str:
    found = re.search(r'name="seen" value="(\d+)"', text)
    assert found is not None
    return found[1]


def test_shows_the_plan_that_holds(visitor: Visitor, batch: str) -> None:
    answer = visitor.get(f"/batch/{batch}/plan")
    assert answer.status_code == 200
    check_page(answer)
    assert "[still.column]" in answer.text


def test_a_new_text_holds(visitor: Visitor, record: Record, batch: str) -> None:
    text = DEMO.replace('strength = "44.5 %vol"', 'strength = "43 %vol"')
    sent = {"plan_text": text.replace("\n", "\r\n"), "reason": "softer", "entry_key": "k"}
    for _ in range(2):  # sent twice, kept once
        assert visitor.post(f"/batch/{batch}/plan", sent).status_code == 303
    assert plan_of(record, batch) == text
    assert record.batch(batch).version == 3


def test_an_unchanged_text_is_no_event(visitor: Visitor, record: Record, batch: str) -> None:
    answer = visitor.post(f"/batch/{batch}/plan", {"plan_text": DEMO})
    assert "said=unchanged" in answer.headers["location"]
    assert record.batch(batch).version == 2


@pytest.mark.parametrize("text", ["", "[batch", "<script>alert(1)</script>", "x = 1\n" * 3])
def test_a_broken_text_comes_back_and_harms_nothing(
    visitor: Visitor, record: Record, batch: str, text: str
) -> None:
    answer = visitor.post(f"/batch/{batch}/plan", {"plan_text": text})
    assert answer.status_code == 422
    check_page(answer)
    assert "<script>alert" not in answer.text
    assert plan_of(record, batch) == DEMO


def test_a_stale_edit_shows_both_and_loses_neither(
    visitor: Visitor, record: Record, batch: str
) -> None:
    seen = seen_in(visitor.get(f"/batch/{batch}/plan").text)
    theirs = DEMO.replace('power = "60 %"', 'power = "58 %"')
    mine = DEMO.replace('power = "60 %"', 'power = "52 %"')
    adopt_plan(record, batch, theirs)
    answer = visitor.post(f"/batch/{batch}/plan", {"plan_text": mine, "seen": seen})
    assert answer.status_code == 409
    check_page(answer)
    assert "58 %" in answer.text
    assert "52 %" in answer.text
    assert plan_of(record, batch) == theirs
    again = {"plan_text": mine, "seen": seen_in(answer.text)}
    assert visitor.post(f"/batch/{batch}/plan", again).status_code == 303
    assert plan_of(record, batch) == mine


@pytest.mark.parametrize("seen", ["", "x", "-1", "9" * 30, "²"])
def test_a_garbled_version_is_no_fault(visitor: Visitor, batch: str, seen: str) -> None:
    text = DEMO.replace("140 m", "150 m")
    answer = visitor.post(f"/batch/{batch}/plan", {"plan_text": text, "seen": seen})
    assert answer.status_code == 303


def test_the_live_check_names_lines_or_the_outcome(visitor: Visitor, record: Record) -> None:
    headers = {"hx-request": "true"}
    bad = DEMO.replace('duration = "6 d"', 'duration = "6 m"', 1)
    answer = visitor.post("/plan/check", {"plan_text": bad}, headers=headers)
    line = bad[: bad.index('"6 m"')].count("\n") + 1
    assert f'data-line="{line}"' in answer.text
    good = visitor.post("/plan/check", {"plan_text": DEMO}, headers=headers)
    assert "can be carried out" in good.text
    assert "8 full bottles" in good.text
    assert visitor.post("/plan/check", {"plan_text": " "}).text.strip() == ""
    assert record.store.last_sequence() == 0


@pytest.mark.parametrize("name", example_names())
def test_the_form_changes_one_value_and_nothing_else(name: str) -> None:
    text = example_path(name).read_text(encoding="utf-8")
    values = common_values(text)
    assert len(values) > 8
    assert with_values(text, {one.key: one.value for one in values}) == text
    changed = with_values(text, {"batch.altitude": "321 m", "step.none.power": "1 %"})
    before, after = text.splitlines(), changed.splitlines()
    differing = [(a, b) for a, b in zip(before, after, strict=True) if a != b]
    assert len(differing) == 1
    assert "321 m" in differing[0][1]


def test_the_form_is_shown_and_holds(visitor: Visitor, record: Record, batch: str) -> None:
    page = visitor.get(f"/batch/{batch}/plan/form")
    assert page.status_code == 200
    check_page(page)
    sent = {one.key: one.value for one in common_values(DEMO)}
    sent |= {"step.spirit.power": "22 %", "seen": seen_in(page.text), "reason": "slower"}
    assert visitor.post(f"/batch/{batch}/plan/form", sent).status_code == 303
    assert plan_of(record, batch) == DEMO.replace('power = "20 %"', 'power = "22 %"', 1)


def test_a_value_that_cannot_be_comes_back_beside_its_field(
    visitor: Visitor, record: Record, batch: str
) -> None:
    sent = {"step.spirit.power": "60 <b>", "step.ferment-1.volume": "0 L"}
    answer = visitor.post(f"/batch/{batch}/plan/form", sent)
    assert answer.status_code == 422
    check_page(answer)
    assert 'value="60 &lt;b&gt;"' in answer.text
    assert 'id="e-step.spirit.power"' in answer.text
    assert plan_of(record, batch) == DEMO


def test_an_unknown_batch_is_said(visitor: Visitor) -> None:
    for path in ("/batch/none/plan", "/batch/none/plan/form"):
        assert visitor.get(path).status_code == 404
        assert visitor.post(path, {"plan_text": DEMO}).status_code == 404
