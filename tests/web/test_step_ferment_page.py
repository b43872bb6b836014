# SPDX-License-Identifier: MIT
"""A fermentation: chart, forecast, additions, and gravities with their temperature."""

from __future__ import annotations

import pytest
from bench_plan import PLAN, begin
from visitor import StandingClock, Visitor, check_page

from middlecut.app.record import Record
from middlecut.app.use_cases import open_batch


@pytest.fixture
def batch(record: Record) -> str:
    return begin(record)


def test_shows_course_readings_and_what_goes_in(visitor: Visitor, batch: str) -> None:
    answer = visitor.get(f"/batch/{batch}/step/wash")
    check_page(answer)
    assert "Fitted to 4 readings" in answer.text
    assert answer.text.count("<circle") >= 4
    assert "90 % of the fall done" in answer.text
    assert "cacao nibs, roasted" in answer.text
    assert "that it went in is not in the record" in answer.text


def test_before_the_start_times_count_from_pitching(visitor: Visitor, record: Record) -> None:
    batch = open_batch(record, PLAN)
    answer = visitor.get(f"/batch/{batch}/step/wash")
    check_page(answer)
    assert "after pitching" in answer.text
    assert "/gravity" not in answer.text  # nothing to read before it begins
    assert "The usual course at this temperature" in answer.text


def test_an_addition_is_due_and_then_made(
    visitor: Visitor, record: Record, clock: StandingClock
) -> None:
    batch = open_batch(record, PLAN)
    visitor.post(f"/batch/{batch}/step/wash/start", {})
    clock.pass_by(hours=10)
    assert "due" in visitor.get(f"/batch/{batch}/step/wash").text
    clock.pass_by(days=4)
    assert "due since" in visitor.get(f"/batch/{batch}/step/wash").text
    sent = {"ingredient": "cacao nibs, roasted", "weight": "40"}
    assert visitor.post(f"/batch/{batch}/step/wash/addition", sent).status_code == 303
    assert "went in" in visitor.get(f"/batch/{batch}/step/wash").text


def test_keeps_a_gravity_with_its_temperature(visitor: Visitor, record: Record, batch: str) -> None:
    sent = {"gravity": "1,010", "temperature": "24", "instrument": "hydrometer"}
    answer = visitor.post(f"/batch/{batch}/step/wash/gravity", sent)
    assert answer.status_code == 303
    taken = record.batch(batch).readings("wash")[-1].taken
    assert [taken.value, taken.temperature] == pytest.approx([1.010, 297.15])
    assert 'value="24 °C"' in visitor.get(f"/batch/{batch}/step/wash").text  # remembered


def test_takes_plato_and_a_refractometer(visitor: Visitor, record: Record, batch: str) -> None:
    sent = {"gravity": "15 °P", "temperature": "20 °C"}
    assert visitor.post(f"/batch/{batch}/step/wash/gravity", sent).status_code == 303
    # 15 °P is SG 1.061 in the tables of the brewing literature.
    assert record.batch(batch).readings("wash")[-1].taken.value == pytest.approx(1.061, abs=2e-4)
    sent = {"gravity": "14,8", "instrument": "refractometer"}
    assert visitor.post(f"/batch/{batch}/step/wash/gravity", sent).status_code == 303
    taken = record.batch(batch).readings("wash")[-1].taken
    assert (taken.quantity, taken.value) == ("refraction", 14.8)
    page = visitor.get(f"/batch/{batch}/step/wash")
    check_page(page)


@pytest.mark.parametrize(
    ("gravity", "temperature", "instrument", "said"),
    [
        ("", "20", "hydrometer", "missing"),
        ("1.010", "", "hydrometer", "needs the temperature"),
        ("10.10", "20", "hydrometer", "Not usable"),
        ("abc", "20", "hydrometer", "Not usable"),
        ("1.010", "20", "<b>", "hydrometer or refractometer"),
        ("90", "", "refractometer", "Look at the instrument"),
    ],
)
def test_refuses(
    visitor: Visitor, batch: str, *, gravity: str, temperature: str, instrument: str, said: str
) -> None:
    sent = {"gravity": gravity, "temperature": temperature, "instrument": instrument}
    answer = visitor.post(f"/batch/{batch}/step/wash/gravity", sent)
    assert answer.status_code == 422
    assert said in answer.text
    assert f'value="{gravity}"' in answer.text
    check_page(answer)


def test_only_a_fermentation_has_a_gravity(visitor: Visitor, batch: str) -> None:
    sent = {"gravity": "1.010", "temperature": "20"}
    assert visitor.post(f"/batch/{batch}/step/run/gravity", sent).status_code == 404
