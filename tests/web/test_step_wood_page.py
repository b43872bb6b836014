# SPDX-License-Identifier: MIT
"""A lot on wood: samples, dates, and a jar scaled to the batch."""

from __future__ import annotations

import pytest
from bench_plan import begin
from visitor import StandingClock, Visitor, check_page

from middlecut.app.record import Record
from middlecut.app.spirit_events import WoodSampled


@pytest.fixture
def batch(record: Record) -> str:
    return begin(record)


SCALE = "ask=scale&jar_volume=200&jar_wood=2&jar_form=chips&jar_time=14&batch_volume=6&onto=chips"


def test_scales_a_jar(visitor: Visitor, batch: str) -> None:
    answer = visitor.get(f"/batch/{batch}/step/chips?{SCALE}")
    assert answer.status_code == 200
    check_page(answer)
    # The same pieces in 30 times the volume: 30 times the wood, for the same time.
    assert "60.0" in answer.text
    assert "What does not scale" in answer.text


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("jar_volume", ""), ("jar_volume", "x"), ("jar_wood", "0"), ("jar_time", "ever"),
        ("jar_form", "cask"), ("onto", "glass"), ("batch_volume", "0"),
    ],
)  # fmt: skip
def test_refuses_to_scale(visitor: Visitor, batch: str, field: str, value: str) -> None:
    query = "&".join(
        f"{field}={value}" if part.startswith(f"{field}=") else part for part in SCALE.split("&")
    )
    answer = visitor.get(f"/batch/{batch}/step/chips?{query}")
    assert answer.status_code == 422
    assert "Not understood" in answer.text
    check_page(answer)


def test_a_cask_smaller_than_the_batch_is_refused(visitor: Visitor, batch: str) -> None:
    query = SCALE.replace("onto=chips", "onto=cask&cask=3")
    answer = visitor.get(f"/batch/{batch}/step/chips?{query}")
    assert answer.status_code == 422
    assert "does not go in" in answer.text


def test_keeps_samples_with_their_age(
    visitor: Visitor, record: Record, batch: str, clock: StandingClock
) -> None:
    visitor.post(f"/batch/{batch}/step/chips/start", {"anyway": "yes"})
    clock.pass_by(days=5)
    sent = {"sample": "batch", "colour": "straw", "words": "vanilla, raw", "text": "early"}
    assert visitor.post(f"/batch/{batch}/step/chips/sample", sent).status_code == 303
    jar = {"sample": "jar 2", "volume": "200", "wood": "40 cm2", "age": "12"}
    assert visitor.post(f"/batch/{batch}/step/chips/sample", jar).status_code == 303
    body = record.batch(batch).of(WoodSampled)[-1][1]
    assert [body.wood_area, body.age] == pytest.approx([4e-3, 12 * 86400.0])
    page = visitor.get(f"/batch/{batch}/step/chips")
    check_page(page)
    for words in ("straw", "5.00 d", "12.0 d", "Taste from"):
        assert words in page.text


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({"sample": ""}, "Sample is missing"),
        ({"sample": "a", "volume": "200 g"}, "Not usable"),
        ({"sample": "a", "wood": "x"}, "Not usable"),
        ({"sample": "a", "age": "-1"}, "Look at the number"),
    ],
)
def test_refuses_a_sample(visitor: Visitor, batch: str, sent: dict[str, str], said: str) -> None:
    answer = visitor.post(f"/batch/{batch}/step/chips/sample", {**sent, "colour": "amber <b>"})
    assert answer.status_code == 422
    assert said in answer.text
    assert 'value="amber &lt;b&gt;"' in answer.text
    check_page(answer)


def test_only_wood_has_samples(visitor: Visitor, batch: str) -> None:
    assert visitor.post(f"/batch/{batch}/step/fill/sample", {"sample": "a"}).status_code == 404


def test_what_has_just_begun_counts_no_seconds(
    visitor: Visitor, batch: str, clock: StandingClock
) -> None:
    begun = visitor.post(f"/batch/{batch}/step/chips/start", {"anyway": "yes"})
    assert begun.status_code == 303
    clock.pass_by(seconds=3)
    page = visitor.get(f"/batch/{batch}/step/chips").text
    assert "It has just begun." in page
    assert "so far" not in page.partition("Where it is")[2].partition("</section>")[0]
    clock.pass_by(days=3)
    assert "so far" in visitor.get(f"/batch/{batch}/step/chips").text
