# SPDX-License-Identifier: MIT
"""Stills: descriptions, limits, calibrations with what they cannot tell."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from visitor import Visitor, check_page

from middlecut.app.demo import seed_demo
from middlecut.app.record import Record
from middlecut.app.shop_events import FittedValue, StillCalibrated
from middlecut.app.states import still_stream
from middlecut.app.use_cases import describe_still, open_batch
from middlecut.app.views.still_book import limits_of, offers, still_cautions, still_view
from middlecut.insight.calibrated import CalibratedStill, FittedParameter, Residual
from middlecut.plan.examples import example_path
from middlecut.steps.still import Still

POT = Still(
    "pot", 0.030, 2400.0, safe_fill=0.66, condenser_duty=3200.0, element_covered_above=3.5e-3
)
TEXT = '[still.pot]\nboiler_volume = "30 L"\nheater_power = "2.4 kW"\ncondenser_duty = "3 kW"\n'


def fitted() -> CalibratedStill:
    def parameter(name: str, value: float, before: float) -> FittedParameter:
        return FittedParameter(name, value, 1.0, 0.9 * value, 1.1 * value, before, 0.1, "linear")

    return CalibratedStill(
        name="column",
        still=POT,
        described=POT,
        parameters=(
            parameter("head_loss", 140.0, 160.0),
            parameter("stages", 2.8, 3.0),
            parameter("heater_efficiency", 0.95, 0.97),
            parameter("stage_holdup", 4.642e-6, 5e-6),
            replace(parameter("offset of parrot", -0.003, 0.0), prior_deviation=0.004),
            replace(parameter("offset of head thermometer", 0.25, 0.0), prior_deviation=0.4),
            replace(parameter("strength of charge spirit", -0.063, 0.0), prior_deviation=0.004),
        ),
        inner_covariance=((1.0,),),
        correlation=(
            (1.0, -0.97, 0.85, 0.0, 0.0, 0.0, 0.0),
            (-0.97, 1.0, 0.1, 0.0, 0.0, 0.0, 0.0),
            (0.85, 0.1, 1.0, 0.0, 0.0, 0.0, 0.0),
            *(tuple(float(row == column) for column in range(7)) for row in range(3, 7)),
        ),
        residuals=(Residual(0.0, "distillate_strength", 0.8, 0.81, 0.01),),
        degrees_of_freedom=7,
        residual_deviation=1.12,
        undetermined=("heater_efficiency",),
        inseparable=(("head_loss", "stages", -0.97),),
        trustworthy=False,
        reasons=("few readings",),
        advice=("Read the boiler temperature too.",),
        provenance={"readings": "10", "runs": "spirit"},
    )


def calibrate(record: Record, document: str) -> None:
    body = StillCalibrated(
        (FittedValue("head_loss", 140.0, 4.0),), trustworthy=False, reasons=("few readings",),
        step="spirit", document=document,
    )  # fmt: skip
    record.keep(still_stream("column"), (body,))


@pytest.fixture
def batch(record: Record) -> str:
    return seed_demo(record)


def test_an_empty_workshop(visitor: Visitor) -> None:
    answer = visitor.get("/stills")
    assert answer.status_code == 200
    check_page(answer)
    assert "No still was described yet." in answer.text


def test_shows_stills_with_their_limits(visitor: Visitor, record: Record, batch: str) -> None:
    answer = visitor.get("/stills")
    check_page(answer)
    assert "as described, not calibrated" in answer.text
    view = still_view(record, "column")
    assert view.still is not None
    assert dict(view.used)[batch]
    page = visitor.get("/stills/of/column")
    assert page.status_code == 200
    check_page(page)
    assert ">19.8<" in page.text  # 66 % of 30 L
    assert "Never leave a running still" in page.text


def test_limits_and_cautions_by_hand() -> None:
    limits = {one.label: one.value for one in limits_of(POT)}
    assert limits["Largest charge"] == pytest.approx(0.0198)
    assert limits["Heat into the liquid at full power"] == pytest.approx(0.97 * 2400.0)
    assert "Basket" not in limits
    assert limits_of(replace(POT, basket_volume=6e-4))[-1].value == 6e-4
    assert "condenser-overload" not in {one.code for one in still_cautions(POT)}
    # 2.33 kW of vapour on a condenser of 1.5 kW: at most 64 % of full power (1500 / 2328).
    weak = {one.code: one for one in still_cautions(replace(POT, condenser_duty=1500.0))}
    assert weak["condenser-overload"].severity == "danger"
    assert "64 %" in weak["condenser-overload"].text
    unknown = {one.code for one in still_cautions(replace(POT, condenser_duty=0.0))}
    assert "condenser-unknown" in unknown


def test_shows_what_a_calibration_cannot_tell(visitor: Visitor, record: Record, batch: str) -> None:
    calibrate(record, json.dumps(fitted().to_dict()))
    (one,) = still_view(record, "column").calibrations
    assert one.fitted == fitted()
    assert [row.known for row in one.rows] == [True, True, False, True, True, True, True]
    assert len(one.ties) == 2
    assert "cannot tell" in one.ties[0]
    assert "move together (correlation +0.85)" in one.ties[1]
    page = visitor.get("/stills/of/column")
    check_page(page)
    for words in (
        "140 W",
        "nothing: the description counts",
        "few readings",
        "1.1 times",
        "4.64 mL",
        "parrot shows too much by",
        "-0.30 %vol",
        "+0.3 K",
        "charge spirit is stronger by",
        "-6.30 %vol",
        "[still.",
    ):
        assert words in page.text
    assert "not to be trusted yet" in visitor.get("/stills").text


@pytest.mark.parametrize("document", ["", "{", '{"format": "something"}'])
def test_a_calibration_of_another_release_is_shown_as_far_as_it_can_be(
    visitor: Visitor, record: Record, batch: str, document: str
) -> None:
    calibrate(record, document)
    page = visitor.get("/stills/of/column")
    assert page.status_code == 200
    check_page(page)
    assert "140 W" in page.text
    assert "cannot be read here" in page.text


def test_describes_a_still_once(visitor: Visitor, record: Record) -> None:
    check_page(visitor.get("/stills/new"))
    sent = {"name": "pot", "text": TEXT, "seen": "0", "entry_key": "s1"}
    for _ in range(2):
        answer = visitor.post("/stills/describe", sent)
        assert answer.status_code == 303
    assert record.store.last_sequence() == 1
    assert record.still("pot").described is not None
    page = visitor.get("/stills/change/pot")
    check_page(page)
    assert "2.4 kW" in page.text


def test_takes_over_the_description_of_a_plan(visitor: Visitor, record: Record) -> None:
    open_batch(record, example_path("neutral").read_text(encoding="utf-8"))
    offer = offers(record)[0]
    assert offer.name in visitor.get("/stills").text
    page = visitor.get(f"/stills/new?still={offer.name}")
    check_page(page)
    assert offer.text.splitlines()[1].split("=")[0] in page.text
    sent = {"name": offer.name, "text": offer.text, "seen": "0"}
    assert visitor.post("/stills/describe", sent).status_code == 303
    assert offer.name not in {one.name for one in offers(record)}


def test_a_stale_description_shows_both(visitor: Visitor, record: Record) -> None:
    describe_still(record, "pot", TEXT)
    mine = TEXT.replace("30 L", "25 L")
    theirs = TEXT.replace("30 L", "28 L")
    describe_still(record, "pot", theirs)
    answer = visitor.post("/stills/describe", {"name": "pot", "text": mine, "seen": "1"})
    assert answer.status_code == 409
    check_page(answer)
    assert "25 L" in answer.text
    assert "28 L" in answer.text
    again = visitor.post("/stills/describe", {"name": "pot", "text": mine, "seen": "2"})
    assert again.status_code == 303
    described = record.still("pot").described
    assert described is not None
    assert "25 L" in described.text


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        ({"name": "", "text": TEXT}, "Name is missing"),
        ({"name": "pot", "text": ""}, "Description is missing"),
        ({"name": "pot", "text": "[still.pot"}, "to put right"),
        ({"name": "pot", "text": TEXT.replace('"30 L"', '"30"')}, "unit"),
        ({"name": "pan", "text": TEXT}, "describes pot"),
        ({"name": "pot", "text": TEXT, "reason": "x" * 1001}, "at most 1000"),
    ],
)
def test_refuses_and_keeps_nothing(
    visitor: Visitor, record: Record, sent: dict[str, str], words: str
) -> None:
    answer = visitor.post("/stills/describe", {"seen": "0", **sent})
    assert answer.status_code == 422
    check_page(answer)
    assert words in answer.text
    assert record.store.last_sequence() == 0


def test_unknown_stills_are_told(visitor: Visitor, batch: str) -> None:
    assert visitor.get("/stills/of/gold").status_code == 404
    assert visitor.get("/stills/change/gold").status_code == 404
    assert visitor.get("/stills/new?still=gold").status_code == 200


def test_script_in_a_description_is_escaped(visitor: Visitor, record: Record) -> None:
    text = f"# <script>x</script>\n{TEXT}"
    sent = {"name": "pot", "text": text, "seen": "0", "reason": "<b>why</b>"}
    assert visitor.post("/stills/describe", sent).status_code == 303
    for path in ("/stills", "/stills/of/pot", "/stills/change/pot", "/record"):
        answer = visitor.get(path)
        assert "<script>x" not in answer.text
        assert "<b>why" not in answer.text


def test_strangers_are_refused(phone: Visitor, batch: str) -> None:
    for path in ("/stills", "/stills/new", "/stills/of/column", "/stills/change/column"):
        assert phone.get(path).status_code == 403
    assert phone.post("/stills/describe", {"name": "x", "text": TEXT}).status_code == 403
