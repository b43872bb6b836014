# SPDX-License-Identifier: MIT
"""Readings: what is used, what is refused or flagged, and why."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from middlecut.errors import InputError, NotFoundError
from middlecut.insight.readings import Reading, check_readings, true_value
from middlecut.insight.readings_csv import read_readings_csv
from middlecut.liquid import alcoholometry
from middlecut.steps.lot import Lot

GOOD = Reading(600.0, "distillate_strength", 0.84, temperature=295.15)


def refusal(reading: Reading, now: float | None = None) -> str:
    found = check_readings([reading], now=now)
    assert found.used == ()
    (only,) = found.refused
    assert only.reading == reading
    return only.reason


def test_a_good_reading_is_used_as_it_is() -> None:
    found = check_readings([GOOD], now=700.0)
    assert found.used == (GOOD,)
    assert found.refused == ()
    assert found.flagged == ()


@pytest.mark.parametrize(
    ("reading", "word"),
    [
        (Reading(60.0, "strenght", 0.5), "no quantity"),
        (Reading(60.0, "distillate_strength", 84.0, temperature=295.0), "check the unit"),
        (Reading(60.0, "distillate_strength", 0.99, temperature=293.15), "outside"),
        (Reading(60.0, "head_temperature", 78.4), "check the unit"),
        (Reading(60.0, "collected_volume", 250.0), "check the unit"),
        (Reading(60.0, "distillate_strength", 0.84), "temperature of the sample"),
        (Reading(60.0, "gravity", 1.030), "temperature of the sample"),
        (Reading(60.0, "distillate_strength", 0.84, temperature=340.0), "40 °C"),
        (Reading(60.0, "gravity", 1.030, temperature=325.0), "40 °C"),
        (Reading(-1.0, "collected_mass", 0.2), "before the start"),
        (Reading(60.0, "collected_mass", math.nan), "not finite"),
        (Reading(60.0, "collected_mass", 0.2, uncertainty=0.0), "uncertainty"),
        (Reading(60.0, "jar_volume", 1e-4, since=90.0), "before it begins"),
        (Reading(60.0, "distillate_strength", 0.001, temperature=308.15), "elsewhere"),
    ],
    ids=lambda value: value if isinstance(value, str) else value.quantity,
)
def test_a_bad_reading_is_refused_with_its_reason(reading: Reading, word: str) -> None:
    assert word in refusal(reading)


@pytest.mark.parametrize(
    ("reading", "words"),
    [
        (
            Reading(60.0, "head_temperature", 447.15),
            "174.0 °C is outside what is possible for head temperature, -10.0 °C to 120.0 °C",
        ),
        (Reading(60.0, "collected_volume", -1e-3), "-1.00 L is outside"),
        (Reading(60.0, "refraction", 80.0), "80.0 °Bx is outside what is possible for refraction"),
        (Reading(60.0, "gravity", 1.3, temperature=293.15), "1.300 SG is outside"),
    ],
    ids=lambda value: value if isinstance(value, str) else value.quantity,
)
def test_a_value_is_refused_in_the_units_of_a_person(reading: Reading, words: str) -> None:
    assert words in refusal(reading)


def test_more_than_was_loaded_cannot_come_over() -> None:
    charge = Lot("charge", water=8.0, ethanol=2.0)
    litre, wrong = Reading(60.0, "collected_volume", 1e-3), Reading(90.0, "collected_volume", 0.25)
    heavy = Reading(90.0, "collected_mass", 250.0)
    jar = Reading(90.0, "jar_volume", 0.1, since=60.0)
    found = check_readings([litre, wrong, heavy, jar], charge=charge)
    assert found.used == (litre,)
    assert [one.reading for one in found.refused] == [wrong, heavy, jar]
    assert "250 L cannot come of a charge of 10.3 L" in found.refused[0].reason
    assert "250 kg cannot come of a charge of 10.0 kg" in found.refused[1].reason
    assert check_readings([wrong]).used == (wrong,)  # nothing is known of the charge


def test_the_future_is_refused_only_where_the_present_is_known() -> None:
    assert "The time lies 1.67 min in the future." in refusal(GOOD, now=500.0)
    assert check_readings([GOOD]).used == (GOOD,)


def test_a_duplicate_counts_once_and_a_contradiction_is_flagged() -> None:
    other = Reading(600.0, "distillate_strength", 0.80, temperature=295.15)
    found = check_readings([GOOD, GOOD, other])
    assert found.used == (GOOD, other)
    assert "counts once" in found.refused[0].reason
    assert found.flagged[0].reading == other


def test_out_of_order_is_sorted_and_flagged() -> None:
    early = Reading(300.0, "collected_mass", 0.1)
    found = check_readings([GOOD, early], lines=[2, 3])
    assert found.used == (early, GOOD)
    assert "out of order" in found.flagged[0].reason
    assert found.flagged[0].line == 3


def test_what_was_collected_cannot_become_less() -> None:
    rows = [Reading(60.0 * n, "collected_volume", v) for n, v in ((1, 1e-4), (2, 3e-4), (3, 2e-4))]
    found = check_readings(rows)
    assert len(found.used) == 3
    assert "cannot become less" in found.flagged[0].reason
    assert check_readings(rows[:2]).flagged == ()


def test_a_density_meter_needs_no_temperature() -> None:
    reading = Reading(60.0, "distillate_strength", 0.84, instrument="density meter")
    assert check_readings([reading]).used == (reading,)
    assert true_value(reading) == 0.84


def test_glass_is_corrected_for_temperature() -> None:
    # 27 CFR 30.23: a reading of 192 proof at 72 °F is 189.1 proof.
    hot = (72.0 - 32.0) / 1.8 + 273.15
    reading = Reading(0.0, "jar_strength", 0.96, temperature=hot, instrument="proof hydrometer")
    found = true_value(reading)
    assert alcoholometry.proof_from_strength(found) == pytest.approx(189.1, abs=0.1)
    # Directive 76/766 by way of the handbook row: a warm alcoholometer shows too much.
    assert true_value(Reading(0.0, "jar_strength", 0.40, temperature=303.15)) < 0.365


FILE = """time;quantity;value;uncertainty;temperature;instrument;since
0 min;head_temperature;78,4 °C;0,2 K;;;
12 min;distillate_strength;86,5 %vol;;22 °C;;
12 min;collected_volume;236 mL;;22 °C;;
20 min;jar_strength;168 proof;1 proof;72 °F;;12 min
20 min;jar_strength;84;;22 °C;;12 min
25 min;distillate_strength;85 %vol;;;;
25 min;boiler_temperature;88 mL;;;;
;;;;;;
"""


def test_a_file_is_read_with_its_units(tmp_path: Path) -> None:
    path = tmp_path / "run.csv"
    path.write_text(FILE, encoding="utf-8")
    found = read_readings_csv(path, now=3600.0)
    assert [row.quantity for row in found.used] == [
        "head_temperature",
        "distillate_strength",
        "collected_volume",
        "jar_strength",
    ]
    assert found.used[0].value == pytest.approx(351.55)
    assert found.used[0].uncertainty == pytest.approx(0.2)
    assert found.used[2].value == pytest.approx(236e-6)
    assert found.used[3].value == pytest.approx(0.84)
    assert found.used[3].since == pytest.approx(720.0)
    assert {row.line for row in found.refused} == {6, 7, 8}


def test_plato_and_brix_are_read(tmp_path: Path) -> None:
    path = tmp_path / "wash.csv"
    path.write_text(
        'time,quantity,value,temperature\n0 h,gravity,"15 °P",20 °C\n0 h,refraction,15.2 °Bx,\n',
        encoding="utf-8",
    )
    found = read_readings_csv(path)
    assert found.used[0].value == pytest.approx(1.0611, abs=1e-4)  # ASBC cubic, as in extract
    assert found.used[1].value == pytest.approx(15.2)


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("", "columns"),
        ("time,value\n1 min,2\n", "quantity"),
        ("time,quantity,value,colour\n", "colour"),
        ("time,quantity,value\n1 min,collected_mass,1 g,extra\n", "more cells"),
        ('time,quantity,value\n"1 min,collected_mass\n', "no table"),
    ],
)
def test_a_file_that_is_no_table_is_refused(tmp_path: Path, text: str, word: str) -> None:
    path = tmp_path / "run.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=word):
        read_readings_csv(path)


def test_garbage_and_absence_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "run.csv"
    path.write_bytes(bytes(range(256)))
    with pytest.raises(InputError, match="UTF-8"):
        read_readings_csv(path)
    path.write_bytes(b"x" * 5_000_001)
    with pytest.raises(InputError, match="at most"):
        read_readings_csv(path)
    with pytest.raises(NotFoundError):
        read_readings_csv(tmp_path / "none.csv")


def test_the_table_of_the_how_to_is_read_as_it_stands(tmp_path: Path) -> None:
    page = Path(__file__).resolve().parents[2] / "docs" / "how-to" / "calibrate-a-still.md"
    path = tmp_path / "run.csv"
    path.write_text(page.read_text(encoding="utf-8").split("```")[1].strip(), encoding="utf-8")
    found = read_readings_csv(path, now=7200.0)
    assert len(found.used) == 7
    assert found.refused == ()
    assert found.flagged == ()
