# SPDX-License-Identifier: MIT
"""A bottling: count, label against its tolerance, lot number."""

from __future__ import annotations

import html
import re

import pytest
from bench_plan import begin
from visitor import Visitor, check_page

from middlecut.app.record import Record
from middlecut.app.spirit_events import BottlesFilled


@pytest.fixture
def batch(record: Record) -> str:
    return begin(record)


def fill(visitor: Visitor, batch: str, **changed: str) -> int:
    sent = {"count": "4", "bottle_volume": "100", "strength": "46,1", "temperature": "20",
            "lot_number": "L1", "anyway": "yes"}  # fmt: skip
    visitor.post(f"/batch/{batch}/step/fill/start", {"anyway": "yes"})
    path = f"/batch/{batch}/step/fill/bottles"
    answer = visitor.post(path, {**sent, **changed})
    asked = re.search(
        r'type="checkbox" id="f-bottles-anyway" name="anyway" value="([^"]*)"', answer.text
    )
    if asked:  # more than is expected, or not what the label says: it is so all the same
        check_page(answer)
        sure = html.unescape(asked[1])
        answer = visitor.post(path, {**sent, **changed, "anyway": sure})
    if answer.status_code == 422:
        check_page(answer)
    return answer.status_code


def test_expects_bottles_and_suggests_a_number(visitor: Visitor, batch: str) -> None:
    visitor.post(f"/batch/{batch}/step/fill/start", {"anyway": "yes"})
    answer = visitor.get(f"/batch/{batch}/step/fill")
    check_page(answer)
    assert "full bottles to expect" in answer.text
    assert 'value="L27060-1"' in answer.text  # 1 March is day 60


def test_a_label_within_its_tolerance(visitor: Visitor, record: Record, batch: str) -> None:
    assert fill(visitor, batch) == 303
    body = record.batch(batch).of(BottlesFilled)[-1][1]
    assert [body.count, body.strength] == pytest.approx([4, 0.461])
    page = visitor.get(f"/batch/{batch}/step/fill").text
    assert "The label holds" in page
    assert "lot L1" in page


def test_a_label_beyond_its_tolerance(visitor: Visitor, batch: str) -> None:
    # Regulation (EU) 1169/2011, Annex XII: 0.3 % vol; 46.5 against 46.0 is beyond.
    assert fill(visitor, batch, strength="46,5") == 303
    page = visitor.get(f"/batch/{batch}/step/fill")
    check_page(page)
    assert "The label does not hold" in page.text
    assert "0.50 %vol apart" in page.text


def test_a_warm_reading_is_corrected(visitor: Visitor, record: Record, batch: str) -> None:
    assert fill(visitor, batch, strength="48", temperature="30") == 303
    # 48 % vol read at 30 °C: about 44 at 20 °C (international tables).
    assert record.batch(batch).of(BottlesFilled)[-1][1].strength == pytest.approx(0.44, abs=0.003)


@pytest.mark.parametrize(
    "changed",
    [
        {"count": ""}, {"count": "2.5"}, {"count": "-1"}, {"count": "many"},
        {"bottle_volume": ""}, {"bottle_volume": "900 L"}, {"strength": ""},
        {"strength": "400"}, {"temperature": ""}, {"lot_number": "x" * 300},
    ],
)  # fmt: skip
def test_refuses(visitor: Visitor, record: Record, batch: str, changed: dict[str, str]) -> None:
    assert fill(visitor, batch, **changed) == 422
    assert not record.batch(batch).of(BottlesFilled)


def test_only_a_bottling_has_bottles(visitor: Visitor, batch: str) -> None:
    answer = visitor.post(f"/batch/{batch}/step/run/bottles", {"count": "1"})
    assert answer.status_code == 404
