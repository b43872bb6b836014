# SPDX-License-Identifier: MIT
"""Run sheet and batch record: all of it is there, and made for paper."""

from __future__ import annotations

import pytest
from bench_plan import PLAN, begin
from visitor import Visitor, check_page

from middlecut.app.record import Record


@pytest.fixture
def batch(record: Record) -> str:
    return begin(record)


def test_the_run_sheet_has_every_step_and_room_to_write(visitor: Visitor, batch: str) -> None:
    answer = visitor.get(f"/batch/{batch}/sheet")
    assert answer.status_code == 200
    check_page(answer)
    for step in ("wash", "strip", "run", "peel", "marry", "reduce", "chips", "fill"):
        assert f"By hand: {step}" in answer.text
    assert "Jars: run" in answer.text
    assert 'href="/static/paper.css' in answer.text


def test_the_batch_record_has_entries_lots_and_plan(visitor: Visitor, batch: str) -> None:
    visitor.post(f"/batch/{batch}/step/run/note", {"text": "odd <script> smell"})
    answer = visitor.get(f"/batch/{batch}/book")
    assert answer.status_code == 200
    check_page(answer)
    for words in ("jar 2 filled", "cut to hearts", "odd &lt;script&gt; smell", "Pure alcohol"):
        assert words in answer.text
    assert PLAN.strip().splitlines()[1] in answer.text.replace("&#34;", '"')


@pytest.mark.parametrize("page", ["sheet", "book"])
def test_unknown_batches_and_strangers(
    visitor: Visitor, phone: Visitor, batch: str, page: str
) -> None:
    assert visitor.get(f"/batch/nothing/{page}").status_code == 404
    assert phone.get(f"/batch/{batch}/{page}").status_code == 403
