# SPDX-License-Identifier: MIT
"""A number means what stood beside its field, whatever the settings are when it arrives."""

from __future__ import annotations

import re

import pytest
from bench_plan import begin
from visitor import Visitor, check_page

from middlecut.app.batch_events import ReadingCorrected, ReadingTaken
from middlecut.app.record import Record
from middlecut.app.spirit_events import (
    AdditionMade,
    BottlesFilled,
    JarFilled,
    WaterAdded,
    WoodSampled,
)
from middlecut.app.use_cases import change_setting

# NIST Handbook 44, appendix C: 1 US fluid ounce is 29.573 53 mL;
# the avoirdupois pound is 0.453 592 37 kg by definition.
FLUID_OUNCE = 29.57353e-6
POUND = 0.45359237


@pytest.fixture
def batch(record: Record) -> str:
    return begin(record)


def post_forms(page: str) -> list[str]:
    return re.findall(r'<form method="post".*?</form>', page, re.DOTALL)


@pytest.mark.parametrize("units", ["metric", "us"])
def test_every_form_of_the_bench_says_its_units(
    visitor: Visitor, record: Record, batch: str, units: str
) -> None:
    change_setting(record, "units", units)
    entry = record.batch(batch).readings("run")[-1].id
    steps = ("wash", "run", "run/jars", "peel", "marry", "reduce", "chips", "fill")
    for path in (*(f"step/{step}" for step in steps), f"entry/{entry}"):
        page = visitor.get(f"/batch/{batch}/{path}")
        forms = post_forms(page.text)
        assert forms, path
        for form in forms:
            assert f'name="units" value="{units}"' in form, path


def test_a_jar_that_waited_is_read_in_its_own_units(
    visitor: Visitor, record: Record, batch: str
) -> None:
    sent = {"jar": "4", "volume": "2", "strength": "68", "temperature": "68", "lot": "hearts",
            "units": "us", "entry_key": "jar-4"}  # fmt: skip
    assert visitor.post(f"/batch/{batch}/step/run/jar", sent).status_code == 303
    jar = record.batch(batch).of(JarFilled)[-1][1]
    assert jar.volume == pytest.approx(2 * FLUID_OUNCE, rel=1e-6)
    assert jar.temperature == pytest.approx(293.15)  # 68 °F


def test_the_settings_between_typing_and_arriving_change_nothing(
    visitor: Visitor, record: Record, batch: str
) -> None:
    change_setting(record, "units", "us")
    step = f"/batch/{batch}/step"
    metric = {"units": "metric", "anyway": "yes"}
    entry = record.batch(batch).readings("run")[0].id
    for path, sent in (
        (f"{step}/run/read", {"head": "79", "volume": "250"}),
        (f"{step}/peel/addition", {"ingredient": "orange peel, dried", "weight": "3"}),
        (f"{step}/reduce/water", {"water": "0.1", "water_temperature": "18"}),
        (f"{step}/chips/sample", {"sample": "a", "volume": "100", "wood": "2"}),
        (f"{step}/fill/bottles", {"count": "2", "bottle_volume": "100", "strength": "46",
                                  "temperature": "20"}),
        (f"{step}/wash/gravity", {"gravity": "1.008", "temperature": "20",
                                  "instrument": "hydrometer"}),
        (f"/batch/{batch}/entry/{entry}/correct", {"value": "72", "temperature": "21"}),
    ):  # fmt: skip
        answer = visitor.post(path, {**sent, **metric})
        assert answer.status_code == 303, (path, re.findall('class="error".*', answer.text))
    state = record.batch(batch)
    read = {body.quantity: body for _, body in state.of(ReadingTaken)}
    assert read["head_temperature"].value == pytest.approx(352.15)
    assert read["volume"].value == pytest.approx(250e-6)
    assert read["gravity"].temperature == pytest.approx(293.15)
    assert state.of(AdditionMade)[-1][1].amount == pytest.approx(3e-3)
    water = state.of(WaterAdded)[-1][1]
    assert water.mass == pytest.approx(0.1)
    assert water.temperature == pytest.approx(291.15)
    sample = state.of(WoodSampled)[-1][1]
    assert sample.volume == pytest.approx(1e-4)
    assert sample.wood_mass == pytest.approx(2e-3)
    assert state.of(BottlesFilled)[-1][1].bottle_volume == pytest.approx(1e-4)
    assert state.of(ReadingCorrected)[-1][1].temperature == pytest.approx(294.15)


def test_an_entry_sent_again_after_a_change_of_units_is_answered_as_at_first(
    visitor: Visitor, record: Record, batch: str
) -> None:
    sent = {"water": "0.1", "units": "metric", "entry_key": "water-1", "anyway": "yes"}
    first = visitor.post(f"/batch/{batch}/step/reduce/water", sent)
    change_setting(record, "units", "us")
    last = record.store.last_sequence()
    again = visitor.post(f"/batch/{batch}/step/reduce/water", sent)
    assert (again.status_code, again.headers["location"]) == (303, first.headers["location"])
    assert record.store.last_sequence() == last


def test_a_form_that_comes_back_has_its_units_beside_the_fields(
    visitor: Visitor, record: Record, batch: str
) -> None:
    sent = {"jar": "4", "volume": "much", "units": "us"}
    answer = visitor.post(f"/batch/{batch}/step/run/jar", sent)
    assert answer.status_code == 422
    check_page(answer)
    assert 'name="units" value="us"' in answer.text
    assert 'name="units" value="metric"' not in answer.text
    assert '<span class="unit">US fl oz</span>' in answer.text


def test_a_form_without_units_is_read_in_those_of_the_settings(
    visitor: Visitor, record: Record, batch: str
) -> None:
    change_setting(record, "units", "us")
    sent = {"water": "0.2", "anyway": "yes"}
    assert visitor.post(f"/batch/{batch}/step/reduce/water", sent).status_code == 303
    assert record.batch(batch).of(WaterAdded)[-1][1].mass == pytest.approx(0.2 * POUND)


def test_unknown_units_are_refused_by_name(visitor: Visitor, record: Record, batch: str) -> None:
    last = record.store.last_sequence()
    sent = {"water": "1", "units": "imperial"}
    answer = visitor.post(
        f"/batch/{batch}/step/reduce/water", sent, headers={"accept": "application/json"}
    )
    assert answer.status_code == 422
    assert answer.json()["error"]["field"] == "units"
    assert record.store.last_sequence() == last


def test_a_page_is_shown_in_the_units_its_address_asks_for(
    visitor: Visitor, record: Record, batch: str
) -> None:
    # So an entry that waited is put back with its own units beside the fields.
    address = f"/batch/{batch}/step/run"
    for asked, units in (
        ("us", "us"),
        ("metric", "metric"),
        ("imperial", "metric"),
        ("", "metric"),
    ):
        page = visitor.get(f"{address}?units={asked}")
        check_page(page)
        assert f'name="units" value="{units}"' in page.text
    change_setting(record, "units", "us")
    assert "US fl oz" in visitor.get(address).text
    assert "US fl oz" not in visitor.get(f"{address}?units=metric").text


QUESTIONS = (
    (
        "reduce",
        {"volume": "2", "strength": "60", "temperature": "18", "target": "46",
         "water_temperature": "12", "additions": "1"},
        {"volume": "2 L", "temperature": "18 °C", "water_temperature": "12 °C"},
    ),
    (
        "marry",
        {"highest": "8", "glasses": "3", "glass_volume": "20", "tasting": ""},
        {"glass_volume": "20 mL"},
    ),
    (
        "chips",
        {"ask": "scale", "jar_volume": "200", "jar_wood": "2", "jar_form": "chips",
         "jar_time": "10", "jar_temperature": "18", "batch_volume": "5", "onto": "chips"},
        {"jar_volume": "200 mL", "jar_wood": "2 g", "jar_temperature": "18 °C",
         "batch_volume": "5 L"},
    ),
)  # fmt: skip
_TYPED = re.compile(r'<input id="f-(?:ask|ladder|scale)-[^>]*>')


@pytest.mark.parametrize(("step", "asked", "told"), QUESTIONS)
def test_a_question_means_the_units_that_stood_beside_its_fields(
    visitor: Visitor,
    record: Record,
    batch: str,
    *,
    step: str,
    asked: dict[str, str],
    told: dict[str, str],
) -> None:
    address = f"/batch/{batch}/step/{step}"
    hidden = '<input type="hidden" name="units" value="{}">'
    assert hidden.format("metric") in _question(visitor.get(address).text)
    change_setting(record, "units", "us")  # between showing and sending
    assert hidden.format("us") in _question(visitor.get(address).text)
    late = visitor.get(address, params={**asked, "units": "metric"})
    plain = visitor.get(address, params={**asked, **told, "units": "metric"})
    assert late.status_code == plain.status_code == 200
    check_page(late)
    assert "US fl oz" not in _question(late.text)  # what stands beside the fields is what counts
    assert _answer(late.text) == _answer(plain.text)
    other = visitor.get(address, params=asked)  # by the settings where the address says nothing
    assert _answer(other.text) != _answer(plain.text)


def _question(page: str) -> str:
    form = r'<form (?:method="get"|[^>]*id="ask-form").*?</form>'  # of a dilution it records, too
    found = re.search(form, page, re.DOTALL)
    assert found is not None
    return found[0]


def _answer(page: str) -> str:
    return re.sub(r'value="[0-9a-f]{32}"', "", _TYPED.sub("", page))


def test_a_question_in_unknown_units_is_refused(visitor: Visitor, batch: str) -> None:
    answer = visitor.get(f"/batch/{batch}/step/marry?glass_volume=20&units=imperial")
    assert answer.status_code == 422
    assert "metric or us" in answer.text


def test_us_pages_say_cautions_account_and_glasses_in_units_at_hand(
    visitor: Visitor, record: Record, batch: str
) -> None:
    change_setting(record, "units", "us")
    page = visitor.get(f"/batch/{batch}/step/run")
    check_page(page)
    assert re.search(r"[\d.]+ L/h \([\d.]+ US (gal|fl oz)/h\)", page.text)
    assert re.search(r"[\d.]+ m³ \([\d,.]+ cu ft\) of air", page.text)
    assert "LPA" not in page.text
    account = visitor.get("/record").text
    assert "proof gal" in account
    assert "LPA" not in account
    asked = f"/batch/{batch}/step/marry?highest=8&glasses=5&glass_volume=2"
    table = (
        visitor.get(asked).text.partition("What goes into each glass")[2].partition("</table>")[0]
    )
    assert "59.1 mL</td>" in table  # two US fluid ounces
    assert "fl oz" not in table
