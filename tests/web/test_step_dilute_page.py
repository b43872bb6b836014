# SPDX-License-Identifier: MIT
"""A dilution: water by weight and volume, stages, clouding, and water that went in."""

from __future__ import annotations

import pytest
from bench_plan import begin
from visitor import Visitor, check_page

from middlecut.app.record import Record
from middlecut.app.spirit_events import WaterAdded


@pytest.fixture
def batch(record: Record) -> str:
    return begin(record)


ASK = "volume=10&strength=60&temperature=20&target=40&water_temperature=20&additions=4"


def test_works_out_the_water(visitor: Visitor, batch: str) -> None:
    answer = visitor.get(f"/batch/{batch}/step/reduce?{ASK}")
    assert answer.status_code == 200
    check_page(answer)
    # 10 L of 60 % vol to 40 % takes 5.14 kg by the international density formula:
    # 10 L of 0.909 kg/L hold 4.735 kg of ethanol, which in 15 L of 40 % weigh 14.22 kg.
    assert "5.1" in answer.text
    assert "55.0 %vol" in answer.text
    assert "50.0 %vol" in answer.text


def test_the_temperatures_count(visitor: Visitor, batch: str) -> None:
    warm = visitor.get(
        f"/batch/{batch}/step/reduce?{ASK.replace('temperature=20&t', 'temperature=30&t')}"
    )
    cold = visitor.get(f"/batch/{batch}/step/reduce?{ASK}")
    assert warm.status_code == 200
    assert warm.text != cold.text  # 60 % read at 30 °C is less at 20 °C


def test_the_plan_stands_in_for_what_is_not_asked(visitor: Visitor, batch: str) -> None:
    page = visitor.get(f"/batch/{batch}/step/reduce").text
    assert "as planned; nothing measured yet" in page
    assert 'value="46.00 %vol"' in page


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("volume", "-1"), ("volume", "ten"), ("strength", "140"), ("strength", ""),
        ("temperature", "90"), ("target", "80"), ("target", "0"), ("water_temperature", "x"),
        ("additions", "0"), ("additions", "2.5"), ("additions", "999"),
    ],
)  # fmt: skip
def test_refuses(visitor: Visitor, batch: str, field: str, value: str) -> None:
    query = "&".join(
        f"{field}={value}" if part.startswith(f"{field}=") else part for part in ASK.split("&")
    )
    answer = visitor.get(f"/batch/{batch}/step/reduce?{query}")
    assert answer.status_code == 422
    assert "Not understood" in answer.text
    check_page(answer)


def test_water_goes_in_and_the_stages_follow(visitor: Visitor, record: Record, batch: str) -> None:
    visitor.post(f"/batch/{batch}/step/reduce/start", {"anyway": "yes"})
    sent = {"water": "0,1", "water_temperature": "15"}
    assert visitor.post(f"/batch/{batch}/step/reduce/water", sent).status_code == 303
    body = record.batch(batch).of(WaterAdded)[-1][1]
    assert [body.mass, body.temperature] == pytest.approx([0.1, 288.15])
    page = visitor.get(f"/batch/{batch}/step/reduce")
    check_page(page)
    assert "still to add" in page.text
    assert "so it is now" in page.text
    assert "done" in page.text


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({"water": ""}, "Water is missing"),
        ({"water": "wet"}, "Not usable"),
        ({"water": "1 L"}, "Not usable"),
        ({"water": "1", "water_temperature": "300"}, "Look at the number"),
    ],
)
def test_refuses_water(visitor: Visitor, batch: str, sent: dict[str, str], said: str) -> None:
    visitor.post(f"/batch/{batch}/step/reduce/start", {"anyway": "yes"})
    answer = visitor.post(f"/batch/{batch}/step/reduce/water", sent)
    assert answer.status_code == 422
    assert said in answer.text
    check_page(answer)


def test_only_a_dilution_takes_water(visitor: Visitor, batch: str) -> None:
    assert visitor.post(f"/batch/{batch}/step/fill/water", {"water": "1"}).status_code == 404
