# SPDX-License-Identifier: MIT
"""The page of a run under way: what a thumb needs first, what is looked up folded."""

from __future__ import annotations

import pytest
from bench_plan import begin
from visitor import StandingClock, Visitor, check_page

from middlecut.app.record import Record


@pytest.fixture
def batch(record: Record) -> str:
    return begin(record)


def test_during_a_run_what_is_looked_up_stands_folded(visitor: Visitor, batch: str) -> None:
    page = visitor.get(f"/batch/{batch}/step/run?forecast=yes")
    check_page(page)
    now, form, lots, plan = (
        page.text.index(words)
        for words in ('id="now"', 'id="read-form"', 'id="lots-behind"', 'id="plan-behind"')
    )
    assert now < form < lots < plan
    between = page.text[now:form]
    assert between.index("All that is still to come") < between.index("To come: ")
    # What is to be watched stays in sight: only notes are folded.
    folded = page.text[plan:].partition('id="entries-part"')[0]
    assert '<div class="caution watch">' not in folded
    assert '<div class="caution danger">' not in folded


def test_before_and_after_a_run_nothing_is_folded(visitor: Visitor, batch: str) -> None:
    for step in ("strip", "reduce"):
        page = visitor.get(f"/batch/{batch}/step/{step}").text
        assert "What the plan says" in page
        assert "plan-behind" not in page


def test_a_forecast_before_the_first_drop_is_shown(
    visitor: Visitor, record: Record, batch: str, clock: StandingClock
) -> None:
    begun = visitor.post(f"/batch/{batch}/step/strip/start", {"anyway": "yes"})
    assert begun.status_code == 303
    clock.pass_by(minutes=5)
    for boiler in ("40", "60"):
        clock.pass_by(minutes=5)
        sent = {"boiler": boiler, "entry_key": f"b{boiler}"}
        assert visitor.post(f"/batch/{batch}/step/strip/read", sent).status_code == 303
    page = visitor.get(f"/batch/{batch}/step/strip?forecast=yes")
    assert page.status_code == 200
    check_page(page)
    assert "All that is still to come" in page.text
    assert "To come: " not in page.text
