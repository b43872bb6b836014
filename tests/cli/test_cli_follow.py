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
