# SPDX-License-Identifier: MIT
"""A range that was left is said in the units beside the field, never in kelvin."""

from __future__ import annotations

import re

import pytest
from bench_plan import begin
from visitor import Visitor, check_page

from middlecut.app.record import Record
from middlecut.app.use_cases import change_setting
from middlecut.errors import OutOfRangeError
from middlecut.web.faults import refusal_of
from middlecut.web.forms import FormState


@pytest.fixture
def batch(record: Record) -> str:
    return begin(record)


# The still head is read from 263.15 to 388.15 K, which is -10 to 115 °C or 14 to 239 °F.
@pytest.mark.parametrize(
    ("units", "field", "typed", "said"),
    [
        ("metric", "head", "300", "the range is -10 to 115 °C"),
        ("us", "head", "600", "the range is 14 to 239 °F"),
        ("metric", "volume", "9000 L", "the range is 0 to 5000 L"),
    ],
)
def test_a_form_says_its_range_in_the_units_beside_the_field(
    visitor: Visitor, record: Record, batch: str, *, units: str, field: str, typed: str, said: str
) -> None:
    last = record.store.last_sequence()
    answer = visitor.post(f"/batch/{batch}/step/run/read", {field: typed, "units": units})
    assert answer.status_code == 422
    check_page(answer)
    errors = re.findall(r'<p class="error".*?</p>', answer.text, re.DOTALL)
    assert [said in error for error in errors] == [True]
    assert not re.search(r"\d K\b", errors[0])
    assert record.store.last_sequence() == last


def test_what_is_asked_for_is_refused_in_the_units_of_the_settings(
    visitor: Visitor, record: Record, batch: str
) -> None:
    change_setting(record, "units", "us")
    answer = visitor.get(f"/batch/{batch}/step/reduce?temperature=600&water_temperature=60")
    assert answer.status_code == 422
    error = re.findall(r'<p class="error".*?</p>', answer.text, re.DOTALL)[0]
    assert "°F" in error
    assert not re.search(r"\d K\b", error)


def test_a_range_without_a_field_is_worded_too() -> None:
    error = OutOfRangeError("temperature", 275.15, 278.15, 313.15, unit="K", remedy="Warm it.")
    refusal = refusal_of(error, system="us")
    # 2 °C is 35.6 °F, 5 °C is 41 °F and 40 °C is 104 °F.
    assert refusal.message == (
        "temperature: 35.6 °F is not usable; the range is 41 to 104 °F. Warm it."
    )
    assert (refusal.status, refusal.field) == (422, "temperature")
    assert refusal.allowed == "the range is 41 to 104 °F"


def test_a_form_puts_the_worded_range_beside_its_field() -> None:
    def refuse() -> None:
        raise OutOfRangeError("temperature", 275.15, 278.15, 313.15, unit="K")

    form = FormState({"temperature": "2 °C"})
    form.tried("temperature", "Temperature", refuse)
    assert form.errors["temperature"].allowed == "the range is 5 to 40 °C"
