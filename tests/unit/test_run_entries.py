# SPDX-License-Identifier: MIT
"""What is written down beside a still: what counts, what is refused and why, what was done."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from middlecut.insight.readings import Reading
from middlecut.insight.run_entries import Entries, sort_entries
from middlecut.insight.run_log_csv import read_run_log
from middlecut.insight.run_marks import Mark, carried_out
from middlecut.steps.lot import Lot
from middlecut.steps.parameters import Cut, Distil, PowerChange, Take, Until

STEP = Distil(
    id="run",
    takes=(Take("low wines"),),
    still="column",
    purpose="spirit",
    cuts=(
        Cut("heads", Until(volume=3e-4)),
        Cut("hearts", Until(strength=0.6)),
        Cut("tails", Until(strength=0.2), power=0.8),
    ),
    residue="rest",
    power=0.6,
)
ON, DROP = Mark(100.0, "power-on"), Mark(2100.0, "first-drop")
HEAD = Reading(2700.0, "head_temperature", 352.0)
NOW = 6000.0


def sorted_in(*entries: Reading | Mark, now: float = NOW) -> Entries:
    return sort_entries(STEP, entries, now=now)


def refused(entry: Reading | Mark, *others: Reading | Mark) -> str:
    found = sorted_in(*others, entry)
    reasons = [one.reason for one in found.refused]
    reasons += [one.reason for one in found.refused_marks]
    assert len(reasons) == 1
    return reasons[0]


def test_the_clock_is_that_of_the_marks() -> None:
    found = sorted_in(ON, DROP, HEAD)
    assert found.run_time == NOW - 2100.0
    assert [one.time for one in found.observed] == [0.0, 600.0]
    first = found.observed[0]
    # Power on and the first drop together are a reading of the time between.
    assert (first.reading.quantity, first.value) == ("first_drop_time", 2000.0)


def test_without_marks_the_clock_counts_from_the_first_drop() -> None:
    (only,) = sorted_in(HEAD).observed
    assert only.time == 2700.0


def test_the_order_of_entries_does_not_matter() -> None:
    rows = (ON, DROP, HEAD, replace(HEAD, time=3300.0), Mark(3000.0, "cut", cut="heads"))
    assert sorted_in(*rows).observed == sorted_in(*reversed(rows)).observed
    assert sorted_in(*rows).marks == sorted_in(*reversed(rows)).marks


def test_a_correction_takes_the_place_of_the_entry_before_it() -> None:
    right = replace(HEAD, value=353.0)
    found = sorted_in(HEAD, right)
    assert [one.reading for one in found.observed] == [right]
    assert "later entry" in found.refused[0].reason
    moved = sorted_in(DROP, Mark(2200.0, "first-drop"))
    assert moved.clock.first_drop == 2200.0
    assert moved.refused_marks[0].mark == DROP


@pytest.mark.parametrize(
    ("entry", "others", "word"),
    [
        (HEAD, (ON,), "Mark the first drop"),
        (replace(HEAD, time=2000.0), (ON, DROP), "before the first drop"),
        (Reading(50.0, "boiler_temperature", 320.0), (ON,), "before the heat"),
        (Reading(500.0, "boiler_temperature", 320.0), (DROP,), "switched on"),
        (replace(HEAD, time=5900.0), (Mark(5000.0, "heat-off"),), "switched off"),
        (replace(HEAD, time=9000.0), (), "future"),
        (Reading(1.0, "gravity", 1.05, temperature=293.15), (), "no reading of a run"),
        (replace(HEAD, value=79.0), (), "check the unit"),
        (Reading(60.0, "distillate_strength", 0.8), (), "temperature of the sample"),
        (Mark(9000.0, "first-drop"), (), "future"),
        (Mark(3000.0, "power", 60.0), (), "check the unit"),
        (Mark(3000.0, "power"), (), "no setting"),
        (Mark(3000.0, "cut", cut="foreshots"), (), "no cut"),
        (Mark(2000.0, "cut", cut="heads"), (ON, DROP), "before the first drop"),
        (Mark(4000.0, "cut", cut="heads"), (Mark(3000.0, "cut", cut="hearts"),), "later in the"),
        (Mark(float("nan"), "power-on"), (), "not finite"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_what_cannot_be_used_is_refused_with_its_reason(
    entry: Reading | Mark, others: tuple[Reading | Mark, ...], word: str
) -> None:
    assert word in refused(entry, *others)


def test_a_duplicate_counts_once_and_a_late_entry_is_used() -> None:
    late = replace(HEAD, time=2400.0)
    found = sorted_in(HEAD, HEAD, late)
    assert len(found.observed) == 2
    assert "counts once" in found.refused[0].reason
    assert "out of order" in found.flagged[0].reason


def test_the_boiler_may_be_read_while_it_warms() -> None:
    warming = Reading(900.0, "boiler_temperature", 330.0)
    (only,) = sorted_in(ON, warming).observed
    assert only.heating == 800.0
    assert only.spread > 2.0  # a straight line to the boil is no better than that


def test_what_was_done_replaces_what_was_planned() -> None:
    marks = (
        DROP,
        Mark(2600.0, "cut", cut="heads"),
        Mark(3000.0, "power", 0.5),
        Mark(3500.0, "coolant", 200.0),
    )
    done = carried_out(STEP, marks, "charge")
    assert done.takes == (Take("charge"),)
    assert done.power_changes == (PowerChange(Until(time=900.0), 0.5),)
    assert [cut.until for cut in done.cuts] == [
        Until(time=500.0),
        Until(time=1400.0),
        Until(strength=0.6),
        Until(strength=0.2),
    ]
    assert [cut.coolant_duty for cut in done.cuts] == [None, None, 200.0, None]
    assert done.cuts[-1].power == 0.8  # the plan's power of a cut to come stays


def test_power_set_while_heating_is_the_power_of_the_start() -> None:
    done = carried_out(STEP, (ON, Mark(1000.0, "power", 0.9), DROP), "charge")
    assert done.power == 0.9
    assert done.power_changes == ()


FILE = """time;quantity;value;temperature
0 min;power-on;;
31 min;first-drop;;
35 min;distillate_strength;86,5 %vol;20 °C
38 min;cut;heads;
40 min;power;55 %;
41 min;coolant;250 W;
42 min;head_temperature;79;
43 min;first-drop;yes;
44 min;powr;55 %;
"""


def test_readings_and_marks_stand_in_one_file(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text(FILE, encoding="utf-8")
    found = read_run_log(path)
    assert [getattr(one, "kind", "reading") for one in found.entries] == [
        "power-on",
        "first-drop",
        "reading",
        "cut",
        "power",
        "coolant",
    ]
    power = found.entries[4]
    assert isinstance(power, Mark)
    assert power.value == pytest.approx(0.55)
    assert found.last == 41.0 * 60.0
    assert [one.line for one in found.refused] == [8, 9, 10]


def test_more_than_was_loaded_is_refused() -> None:
    charge = Lot("charge", water=8.0, ethanol=2.0)
    much = Reading(2700.0, "collected_volume", 0.05)
    found = sort_entries(STEP, [ON, DROP, much], now=NOW, charge=charge)
    assert [one.reading for one in found.refused] == [much]
    assert [one.reading.quantity for one in found.observed] == ["first_drop_time"]
    assert len(sorted_in(ON, DROP, much).observed) == 2
