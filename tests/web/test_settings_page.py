# SPDX-License-Identifier: MIT
"""Settings: saved whole or not at all."""

from __future__ import annotations

import pytest
from visitor import Visitor, check_page

from middlecut.app.record import Record


def test_shows_settings_and_where_the_record_is(visitor: Visitor, record: Record) -> None:
    answer = visitor.get("/settings")
    assert answer.status_code == 200
    check_page(answer)
    assert record.store.location in answer.text


def test_changes_only_what_differs(visitor: Visitor, record: Record) -> None:
    answer = visitor.post("/settings", {"units": "us", "theme": "dark", "altitude": "1500 ft"})
    assert answer.status_code == 303
    assert record.store.last_sequence() == 3
    page = visitor.get(answer.headers["location"])
    assert 'data-theme="dark"' in page.text
    assert "Saved: it is in the record." in page.text
    again = visitor.post("/settings", {"units": "us"})
    assert "said=unchanged" in again.headers["location"]
    assert record.store.last_sequence() == 3


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("units", "imperial"),
        ("theme", "pink"),
        ("altitude", "90 km"),
        ("altitude", "high"),
        ("currency", "euro"),
        ("place", "x" * 300),
    ],
)
def test_refuses_and_keeps_nothing(
    visitor: Visitor, record: Record, field: str, value: str
) -> None:
    good = {"units": "us", "place": "north shed"}
    answer = visitor.post("/settings", {**good, field: value})
    assert answer.status_code == 422
    check_page(answer)
    assert f'id="e-{field}"' in answer.text
    assert record.store.last_sequence() == 0


def test_a_currency_may_be_typed_small(visitor: Visitor, record: Record) -> None:
    assert visitor.post("/settings", {"currency": "usd"}).status_code == 303
    assert record.workshop().setting("currency") == "USD"


def test_script_in_a_place_is_escaped(visitor: Visitor) -> None:
    visitor.post("/settings", {"place": "<script>x</script>"})
    assert "<script>x" not in visitor.get("/settings").text
