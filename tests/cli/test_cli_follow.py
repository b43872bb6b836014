# SPDX-License-Identifier: MIT
"""``middlecut follow`` on the demo plan, as a person beside the still meets it."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import middlecut as mc

DEMO = mc.example_path("demo")
RUN = """time,quantity,value,temperature
0 min,power-on,,
51 min,first-drop,,
52 min,cut,foreshots,
58 min,cut,heads,
60 min,distillate_strength,88 %vol,20 °C
65 min,head_temperature,79.3 °C,
65 min,collected_volume,0.46 L,
70 min,distillate_strength,87,20 °C
70 min,distillate_strength,87 %vol,
"""
WASH = """time,quantity,value,temperature
0 h,gravity,1.066 SG,20 °C
24 h,gravity,1.045 SG,22 °C
36 h,gravity,1.030 SG,22 °C
"""


def written(text: str) -> Path:
    path = Path("log.csv")
    path.write_text(text, encoding="utf-8")
    return path


def test_a_run_is_followed(run: Any) -> None:
    log = written(RUN)
    done = run("follow", DEMO, "--step", "spirit", "--readings", log, "--now", "75 min")
    assert done.code == 0
    assert "24 min after the first drop, the hearts are running." in done.out
    assert re.search(r"Hearts end in \d+–\d+ minutes, about [\d.]+ L to come", done.out)
    assert "line 9: " in done.out
    assert "temperature of the sample" in " ".join(done.out.split())
    us = run("follow", DEMO, "--step", "spirit", "--readings", log, "--units", "us")
    assert "US gal" in us.out
    assert not re.search(r"US fl oz to [\d.]+ US gal", us.out)  # one unit within a range
    assert "proof gal" in us.out
    assert "proof" in us.out.split("Then tails", 1)[1]  # as the sheet has it
    assert "of pure alcohol" not in us.out
    assert "%vol" not in us.out.split("Not used", 1)[0]


def test_a_heater_left_on_is_the_first_thing_said(run: Any) -> None:
    log = written("time,quantity,value\n0 min,power-on,\n36 min,first-drop,\n")
    words = ("follow", DEMO, "--step", "strip-1", "--readings", log, "--now", "20 h")
    done = run(*words)
    assert done.out.startswith("DANGER: If the heat is still on, the heating element is likely out")
    assert "is the heat off?" in " ".join(done.out.split())
    codes = [one["code"] for one in json.loads(run(*words, "--json").out)["cautions"]]
    assert codes == ["element-uncovered", "nothing-heard"]


def test_the_json_holds_everything(run: Any) -> None:
    done = run("follow", DEMO, "--step", "spirit", "--readings", written(RUN), "--json")
    page = json.loads(done.out)
    assert page["now"] == 70.0 * 60.0
    assert page["cut"] == "hearts"
    assert page["cuts"][2]["left"]["low"] < page["cuts"][2]["left"]["high"]
    assert page["unreadable"][0]["line"] == 9


BAD = (
    # Another day; more than there is; the unit of another thing; not possible; too hot a sample;
    # the future; twice; before anything ran; of another kind; a mark that cannot be.
    ("71 min,collected_volume,160 L,", "160 L cannot come of a charge of 10.6 L"),
    ("71 min,collected_mass,40 kg,", "40.0 kg cannot come of a charge of"),
    ("72 min,head_temperature,79 L,", "unit of volume"),
    ("72 min,head_temperature,79,", "the unit is missing"),
    ("72 min,head_temperature,174 °C,", "174.0 °C is outside what is possible"),
    ("73 min,distillate_strength,80 %vol,60 °C", "it can be corrected"),
    ("9000 min,distillate_strength,80 %vol,20 °C", "6.20 d in the future"),
    ("65 min,collected_volume,0.46 L,", "it counts once"),
    ("40 min,distillate_strength,90 %vol,20 °C", "before the first drop"),
    ("72 min,gravity,1.050 SG,20 °C", "no reading of a run"),
    ("72 min,power,150 %,", "150.0 % is no setting between 0 and 100.0 %"),
    ("72 min,cut,middle,", "The step has no cut 'middle'"),
)


def test_bad_rows_move_nothing_and_are_all_named(run: Any) -> None:
    words = ("follow", DEMO, "--step", "spirit", "--now", "75 min", "--readings")
    plain = json.loads(run(*words, written(RUN), "--json").out)
    bad = RUN + "".join(f"{row}\n" for row, _ in BAD)
    page = json.loads(run(*words, written(bad), "--json").out)
    assert page["cuts"] == plain["cuts"]
    assert page["contradictions"] == plain["contradictions"]
    shown = " ".join(run(*words, written(bad)).out.split())
    for row, said in BAD:
        assert said in shown, row


def test_a_late_row_counts_and_is_pointed_at(run: Any) -> None:
    late = RUN + "62 min,collected_volume,0.36 L,20 °C\n"
    words = ("follow", DEMO, "--step", "spirit", "--readings", written(late), "--now", "75 min")
    shown = " ".join(run(*words).out.split())
    assert "collected_volume at 1 h 2 min: It is out of order" in shown


def test_a_fermentation_is_followed(run: Any) -> None:
    done = run("follow", DEMO, "--step", "ferment-2", "--readings", written(WASH))
    assert done.code == 0
    assert "36 h after pitching, fermenting" in done.out
    assert "Add 60.0 g of cacao nibs, roasted in" in done.out


def test_bad_rows_of_a_fermentation_move_nothing_and_are_named(run: Any) -> None:
    words = ("follow", DEMO, "--step", "ferment-2", "--now", "40 h", "--readings")
    plain = json.loads(run(*words, written(WASH), "--json").out)
    rows = (
        ("39 h,gravity,1.3 SG,22 °C", "1.300 SG is outside"),
        ("37 h,gravity,1.030 SG,", "temperature of the sample"),
        ("90 h,gravity,1.010 SG,22 °C", "in the future"),
        ("36 h,gravity,1.030 SG,22 °C", "it counts once"),
        ("37 h,refraction,9 °Bx,", "use a hydrometer"),
        ("38 h,gravity,62 %vol,22 °C", "strength"),
        ("37 h,collected_volume,1 L,", "37 h: It is no reading of a fermentation"),
    )
    bad = WASH + "".join(f"{row}\n" for row, _ in rows)
    page = json.loads(run(*words, written(bad), "--json").out)
    assert page["final_gravity"] == plain["final_gravity"]
    shown = " ".join(run(*words, written(bad)).out.split())
    for row, said in rows:
        assert said in shown, (row, shown)


def test_what_cannot_be_followed_is_said_with_code_2(run: Any) -> None:
    log = written(RUN)
    for words in (
        ("--step", "bottle", "--readings", log),
        ("--step", "nothing", "--readings", log),
        ("--step", "spirit", "--readings", "absent.csv"),
        ("--step", "spirit", "--readings", log, "--now", "75"),
        ("--step", "spirit", "--readings", log, "--still", "absent.json"),
        ("--step", "ferment-1", "--readings", log, "--still", log),
        ("--step", "spirit", "--readings", written("time;value\n1;2\n")),
    ):
        done = run("follow", DEMO, *words)
        assert done.code == 2
        assert done.out == ""
        assert "Traceback" not in done.err


UNUSABLE = (
    "20 min,strenth,73 %vol,26 °C",
    "20 min,first flow,,",
    "20 min,distillate_strength,73 %vol,",
    "21 min,distillate_strength,73 %vol,45 °C",
)


def test_without_one_usable_reading_no_forecast_is_given(run: Any) -> None:
    log = written("\n".join(["time,quantity,value,temperature", *UNUSABLE, ""]))
    for more in ((), ("--json",), ("--units", "us")):
        done = run("follow", DEMO, "--step", "spirit", "--readings", log, *more)
        assert done.code == 2
        assert done.out == ""  # a still at 20 min is not where an empty plan would have it
        assert "none of your 4 readings could be used" in done.err
        assert "Did you mean distillate_strength?" in done.err
        assert "Did you mean first-drop?" in done.err
        assert "temperature of the sample" in done.err
        assert "between -20 and 40 °C" in done.err
        assert done.err.count("collected_mass") == 1  # the long list stands there once


def test_with_marks_alone_left_the_reasons_come_first_and_the_code_is_2(run: Any) -> None:
    rows = ("time,quantity,value,temperature", "0 min,first-drop,,", *UNUSABLE[2:], "")
    done = run("follow", DEMO, "--step", "spirit", "--readings", written("\n".join(rows)))
    assert done.code == 2
    assert done.out.startswith("None of your 2 readings could be used; what follows is only the")
    flat = " ".join(done.out.split())
    assert flat.index("temperature of the sample") < flat.index("after the first drop, the ")


def test_what_is_missing_is_said_at_the_top(run: Any) -> None:
    done = run("follow", DEMO, "--step", "spirit", "--readings", written(RUN))
    assert done.code == 0
    assert done.out.startswith("2 of the 9 rows you wrote down are not used: see below, why.\n")
    again = written(RUN.replace("70 min,distillate_strength", "60 min,distillate_strength"))
    corrected = again.read_text(encoding="utf-8").replace(",87 %vol,\n", ",88 %vol,20 °C\n")
    corrected = corrected.replace("60 min,distillate_strength,87,20 °C\n", "")
    fine = run("follow", DEMO, "--step", "spirit", "--readings", written(corrected))
    assert not re.match(r"\d+ of", fine.out)  # the same row twice is nothing to worry about
    assert "counts once" in fine.out


def test_an_empty_log_says_that_it_is_only_the_plan(run: Any) -> None:
    log = written("time,quantity,value,temperature\n")
    done = run("follow", DEMO, "--step", "spirit", "--readings", log)
    assert done.code == 0
    assert done.out.startswith("Nothing was read or marked yet; what follows is only the plan")


def test_everyday_names_are_understood_and_said(run: Any) -> None:
    log = written(
        "time,quantity,value,temperature\n0 min,first drops,,\n1 min,end of,foreshots,\n"
        "9 min,strength,88 %vol,20 °C\n12 min,collected,0.46 L,\n12 min,Head,79.3 °C,\n"
        "13 min,collected,0.42 kg,\n"
    )
    words = ("follow", DEMO, "--step", "spirit", "--readings", log)
    page = json.loads(run(*words, "--json").out)
    assert [one["reading"]["quantity"] for one in page["readings"]] == [
        "distillate_strength",
        "collected_volume",
        "head_temperature",
        "collected_mass",
    ]
    assert page["unreadable"] == []
    assert "'strength' is taken as distillate_strength." in run(*words).out


def test_readings_are_given_without_a_file(run: Any) -> None:
    words = ("follow", DEMO, "--step", "spirit", "--json")
    spoken = (
        "0 min, first drop",
        "1 min, cut foreshots",
        "9 min, 88 %vol at 20 °C",
        "12 min, 0.46 L",
        "12 min, head 79.3 °C",
    )
    log = written(
        "time,quantity,value,temperature\n0 min,first-drop,,\n1 min,cut,foreshots,\n"
        "9 min,distillate_strength,88 %vol,20 °C\n12 min,collected_volume,0.46 L,\n"
        "12 min,head_temperature,79.3 °C,\n"
    )
    by_hand = run(*words, *[word for one in spoken for word in ("--read", one)])
    assert json.loads(by_hand.out) == json.loads(run(*words, "--readings", log).out)
    both = run(*words, "--readings", log, "--read", "14 min, 87 %vol at 20 °C")
    assert len(json.loads(both.out)["readings"]) == 4


def test_a_reading_that_leaves_something_open_is_refused(run: Any) -> None:
    for said, answer in (
        ("20 min, 79 °C", 'Write "20 min, head 79 °C" or "20 min, boiler 79 °C".'),
        ("20 min, 73%", '"73 %mass" if it is by mass'),
        ("20 min 73 %vol", "a time, a comma and what was read"),
        ("20 min, stregth 73 %vol at 20 °C", "Did you mean distillate_strength?"),
        ("20, 1.2 L", 'Write for example "20 min"'),
        ("20 min, 1200 W", "does not say what was read"),
        ("20 min, 73 %vol", "your one reading could not be used, so there is no forecast:"),
        ("20 min, 73 %vol at 45 °C", "between -20 and 40 °C"),
    ):
        done = run("follow", DEMO, "--step", "spirit", "--read", said)
        assert done.code == 2
        assert done.out == ""
        assert answer in done.err, done.err
    assert "--read" in run("follow", DEMO, "--step", "spirit").err


def test_a_heating_time_of_nothing_means_that_the_clock_starts_there(run: Any) -> None:
    rows = "9 min,distillate_strength,88 %vol,20 °C\n12 min,collected_volume,0.46 L,\n"
    head = "time,quantity,value,temperature\n"
    words = ("follow", DEMO, "--step", "spirit", "--readings")
    plain = json.loads(run(*words, written(head + rows), "--json").out)
    log = written(f"{head}0 min,first_drop_time,0 min,\n{rows}")
    page = json.loads(run(*words, log, "--json").out)
    assert page["cuts"] == plain["cuts"]
    assert page["contradictions"] == plain["contradictions"]
    shown = " ".join(run(*words, log).out.split())
    assert "the clock starts at the first drop" in shown
    on = written(f"{head}0 min,power-on,,\n0 min,first_drop_time,0 min,\n")
    other = " ".join(run(*words, on).out.split())
    assert "mark first-drop at 0 min and leave this row out" in other
