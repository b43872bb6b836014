# SPDX-License-Identifier: MIT
"""Dose trials: the ladder, the glasses, the rate, and what the batch gets."""

from __future__ import annotations

import pytest
from bench_plan import begin
from visitor import Visitor, check_page

from middlecut.app.record import Record
from middlecut.app.spirit_events import DoseChosen, DoseTried
from middlecut.app.use_cases import open_batch
from middlecut.plan.examples import example_path


@pytest.fixture
def batch(record: Record) -> str:
    return begin(record)


def test_lays_out_a_ladder(visitor: Visitor, batch: str) -> None:
    query = "highest=8&glasses=5&glass_volume=20&tasting=20"
    answer = visitor.get(f"/batch/{batch}/step/marry?{query}")
    assert answer.status_code == 200
    check_page(answer)
    assert "flavour" in answer.text
    assert "What goes into each glass" in answer.text
    assert "0.400 mL" in answer.text  # 2 % of 20 mL
    assert answer.text.count("20.0 %vol") >= 5


def test_the_plan_gives_the_usual_ladder(visitor: Visitor, batch: str) -> None:
    page = visitor.get(f"/batch/{batch}/step/marry").text
    assert "5.0 % of the base" in page  # 50 mL/L
    assert 'value="7.5 %"' in page  # half as much again


@pytest.mark.parametrize(
    "query", ["highest=abc", "highest=250", "glasses=1", "glass_volume=0", "tasting=99", "highest="]
)
def test_refuses_a_ladder(visitor: Visitor, batch: str, query: str) -> None:
    answer = visitor.get(f"/batch/{batch}/step/marry?{query}")
    assert answer.status_code == 422
    assert "Not understood" in answer.text
    check_page(answer)


def test_keeps_a_glass(visitor: Visitor, record: Record, batch: str) -> None:
    sent = {"glass": "C", "rate": "4", "rank": "1", "words": "orange, honey", "text": "bright"}
    assert visitor.post(f"/batch/{batch}/step/marry/glass", sent).status_code == 303
    body = record.batch(batch).of(DoseTried)[-1][1]
    assert (body.rate, body.rank, body.descriptors) == (0.04, 1, ("orange", "honey"))
    assert "bright" in visitor.get(f"/batch/{batch}/step/marry").text


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({"glass": "", "rate": "4"}, "Glass is missing"),
        ({"glass": "A", "rate": ""}, "Its dose"),
        ({"glass": "A", "rate": "400"}, "Look at the number"),
        ({"glass": "A", "rate": "4", "rank": "1.5"}, "whole number"),
        ({"glass": "A", "rate": "4", "rank": "0"}, "Look at the number"),
    ],
)
def test_refuses_a_glass(visitor: Visitor, batch: str, sent: dict[str, str], said: str) -> None:
    answer = visitor.post(f"/batch/{batch}/step/marry/glass", {**sent, "text": "kept"})
    assert answer.status_code == 422
    assert said in answer.text
    check_page(answer)


def test_chooses_a_rate_and_tells_the_amount(visitor: Visitor, record: Record, batch: str) -> None:
    sent = {"rate": "4 %", "reason": "best of five"}
    assert visitor.post(f"/batch/{batch}/step/marry/rate", sent).status_code == 303
    assert record.batch(batch).of(DoseChosen)[-1][1].rate == pytest.approx(0.04)
    page = visitor.get(f"/batch/{batch}/step/marry")
    check_page(page)
    assert "for the whole batch" in page.text
    assert "on a scale" in page.text
    high = visitor.post(f"/batch/{batch}/step/marry/rate", {"rate": "60"})
    assert high.status_code == 303
    assert "is missing" in visitor.get(f"/batch/{batch}/step/marry").text


def test_refuses_a_rate_and_shows_a_stale_one(visitor: Visitor, record: Record, batch: str) -> None:
    path = f"/batch/{batch}/step/marry/rate"
    for rate in ("", "abc", "300"):
        answer = visitor.post(path, {"rate": rate, "reason": "<i>"})
        assert answer.status_code == 422
        assert 'value="&lt;i&gt;"' in answer.text
        check_page(answer)
    seen = str(record.batch(batch).version)
    visitor.post(path, {"rate": "4", "seen": seen, "entry_key": "1"})
    late = visitor.post(path, {"rate": "6", "seen": seen, "entry_key": "2"})
    assert late.status_code == 409
    assert "dose chosen: 4.0 %" in late.text
    assert 'value="6"' in late.text
    check_page(late)


@pytest.mark.parametrize("action", ["glass", "rate"])
def test_only_a_blend_is_dosed(visitor: Visitor, batch: str, action: str) -> None:
    sent = {"glass": "A", "rate": "4"}
    assert visitor.post(f"/batch/{batch}/step/fill/{action}", sent).status_code == 404


def test_feints_that_are_put_together_are_no_dose(visitor: Visitor, record: Record) -> None:
    plan = example_path("double-pot-1300m").read_text(encoding="utf-8")
    batch = open_batch(record, plan)
    answer = visitor.get(f"/batch/{batch}/step/keep-feints")
    assert answer.status_code == 200
    check_page(answer)
    assert "feints for the next batch" in answer.text
    for words in ("glass", "Dose", "ladder"):
        assert words not in answer.text
    sent = {"glass": "A", "rate": "4"}
    assert visitor.post(f"/batch/{batch}/step/keep-feints/glass", sent).status_code == 404


def test_a_blend_without_a_stated_dose_is_one_when_it_is_for_drinking(
    visitor: Visitor, record: Record
) -> None:
    batch = open_batch(record, example_path("demo").read_text(encoding="utf-8"))
    assert "What goes into each glass" in visitor.get(f"/batch/{batch}/step/marry").text
