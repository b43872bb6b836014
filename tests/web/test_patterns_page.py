# SPDX-License-Identifier: MIT
"""The pattern page: every part, and how a form comes back."""

from __future__ import annotations

from visitor import Visitor, check_page


def test_shows_every_part(visitor: Visitor) -> None:
    answer = visitor.get("/patterns")
    assert answer.status_code == 200
    check_page(answer)
    for part in ("<svg", "live-chart", 'class="badge', 'class="caution danger"', "<table"):
        assert part in answer.text


def test_shows_us_units_when_set(visitor: Visitor) -> None:
    visitor.post("/settings", {"units": "us"})
    assert "US fl oz" in visitor.get("/patterns").text


def test_form_comes_back_as_typed(visitor: Visitor) -> None:
    answer = visitor.post("/patterns", {"volume": '6,5 <b>"', "name": ""})
    assert answer.status_code == 422
    check_page(answer)
    assert 'value="6,5 &lt;b&gt;&#34;"' in answer.text
    assert "<b>" not in answer.text
    assert answer.text.count('aria-invalid="true"') == 2


def test_takes_a_good_form(visitor: Visitor) -> None:
    answer = visitor.post("/patterns", {"volume": "0,65 L", "name": "3"})
    assert answer.status_code == 303
    assert "Nothing was different" in visitor.get(answer.headers["location"]).text
