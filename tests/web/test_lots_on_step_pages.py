# SPDX-License-Identifier: MIT
"""What was measured stands on the page of every step after it, and can be measured there."""

from __future__ import annotations

import pytest
from visitor import Visitor, check_page

from middlecut.app.batch_events import ReadingTaken, StepFinished, StepStarted
from middlecut.app.record import Record
from middlecut.app.spirit_events import BottlesFilled, HeartsChosen, JarFilled
from middlecut.app.use_cases import note, open_batch
from middlecut.plan.examples import example_path

DEMO = example_path("demo").read_text(encoding="utf-8")
ASK = {"target": "46", "water_temperature": "20", "additions": "3", "form": "ask"}


@pytest.fixture
def batch(record: Record) -> str:
    """Four jars of 0.25 L at 83.1 % chosen of five."""
    made = open_batch(record, DEMO)
    note(record, made, StepStarted("spirit"))
    for name in "12345":
        strength = 0.88 if name == "5" else 0.831
        note(record, made, JarFilled("spirit", name, 0.00025, strength, None, "", "hearts"))
    note(record, made, StepFinished("spirit"), HeartsChosen("spirit", tuple("1234"), "hearts"))
    return made


def test_every_step_after_the_choice_of_jars_says_what_there_is(
    visitor: Visitor, record: Record, batch: str
) -> None:
    aside = visitor.get(f"/batch/{batch}/step/set-aside")
    check_page(aside)
    assert "volume and strength measured, from the jars chosen" in aside.text
    assert "500 mL" in aside.text
    thin = visitor.get(f"/batch/{batch}/step/thin")
    check_page(thin)
    assert "nothing measured yet" not in thin.text
    assert "hearts to flavour: 500 mL at 83.1 %vol, worked out from what was measured" in thin.text
    # The plan's 1.3 L would need 948 g of water; 0.5 L of 83.1 % to 44.5 % needs 453 g: 0.4278 kg
    # of spirit holds 0.3279 kg of ethanol, which in 44.5 % (0.374 by mass) weighs 0.881 kg.
    assert "453" in thin.text
    assert "948 g" not in thin.text.partition("What the plan says")[0]
    assert "500 mL" in visitor.get(f"/batch/{batch}/step/marry").text
    note(record, batch, StepStarted("flavour"))
    note(record, batch, JarFilled("flavour", "1", 0.000127, 0.77, None, "", "flavour spirit"))
    note(record, batch, StepFinished("flavour"))
    # 127 mL of it to 500 mL of hearts, where the plan had 1.18 L to 1.31 L.
    assert "with what there is, 25.4 %" in visitor.get(f"/batch/{batch}/step/marry").text


def test_nothing_is_said_before_anything_was_measured(visitor: Visitor, record: Record) -> None:
    fresh = open_batch(record, DEMO)
    for step in ("set-aside", "thin", "marry", "bottle", "ferment-1", "strip-1"):
        page = visitor.get(f"/batch/{fresh}/step/{step}")
        check_page(page)
        assert "What there is now" not in page.text


def test_the_spirit_typed_to_a_dilution_is_recorded_and_water_counts_against_it(
    visitor: Visitor, record: Record, batch: str
) -> None:
    sent = {
        **ASK, "lot": "full-strength spirit", "volume": "627 mL", "strength": "83,4",
        "temperature": "27",
    }  # fmt: skip
    assert visitor.post(f"/batch/{batch}/step/reduce/lot", sent).status_code == 303
    taken = [body for _, body in record.batch(batch).of(ReadingTaken)]
    assert [one.quantity for one in taken] == ["volume", "strength"]
    assert {one.lot for one in taken} == {"full-strength spirit"}
    assert [one.temperature for one in taken] == pytest.approx([300.15, 300.15])
    visitor.post(f"/batch/{batch}/step/reduce/start", {"anyway": "yes"})
    page = visitor.get(f"/batch/{batch}/step/reduce")
    check_page(page)
    assert "622" in page.text
    assert "volume and strength measured" in page.text
    before = page.text
    visitor.post(f"/batch/{batch}/step/reduce/water", {"water": "0,1", "water_temperature": "20"})
    after = visitor.get(f"/batch/{batch}/step/reduce").text
    assert "so it is now" in after
    assert "so it is now" not in before


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({"lot": "gold", "volume": "1 L"}, "Choose it from the list"),
        ({"lot": "flavour charge"}, "Type what you measured"),
        ({"lot": "flavour charge", "volume": "much"}, "Not usable"),
        ({"lot": "flavour charge", "strength": "140", "temperature": "20"}, "Not usable"),
        ({"lot": "hearts to flavour", "volume": "x", "form": "ask"}, "Not understood"),
    ],
)
def test_refuses(visitor: Visitor, batch: str, sent: dict[str, str], said: str) -> None:
    visitor.post(f"/batch/{batch}/step/thin/start", {"anyway": "yes"})
    answer = visitor.post(f"/batch/{batch}/step/thin/lot", sent)
    assert answer.status_code == 422
    assert said in answer.text
    check_page(answer)


def test_a_bottling_says_what_is_left_and_what_is_too_much(
    visitor: Visitor, record: Record, batch: str
) -> None:
    note(record, batch, ReadingTaken("reduce", "volume", 1.1e-3, lot="spirit at strength"))
    note(record, batch, ReadingTaken("reduce", "true_strength", 0.46, lot="spirit at strength"))
    note(record, batch, StepStarted("bottle"), BottlesFilled("bottle", 2, 0.0005, 0.46, "L1"))
    page = visitor.get(f"/batch/{batch}/step/bottle")
    check_page(page)
    assert "left by the bottles filled" in page.text
    assert "More bottled than there was" not in page.text
    note(record, batch, BottlesFilled("bottle", 30, 0.0005, 0.46, "L2"))
    page = visitor.get(f"/batch/{batch}/step/bottle")
    check_page(page)
    assert "hold 16.0 L together; there was 1.10 L (volume and strength measured)" in page.text


def test_what_the_step_made_can_be_measured(visitor: Visitor, batch: str) -> None:
    visitor.post(f"/batch/{batch}/step/thin/start", {"anyway": "yes"})
    sent = {"lot": "flavour charge", "volume": "0.95 L", "strength": "44", "temperature": "20"}
    assert visitor.post(f"/batch/{batch}/step/thin/lot", sent).status_code == 303
    page = visitor.get(f"/batch/{batch}/step/flavour")
    check_page(page)
    assert "950 mL" in page.text
    assert "44.0 %vol" in page.text
