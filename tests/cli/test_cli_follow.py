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


def test_a_fermentation_is_followed(run: Any) -> None:
    done = run("follow", DEMO, "--step", "ferment-2", "--readings", written(WASH))
    assert done.code == 0
    assert "36 h after pitching, fermenting" in done.out
    assert "Add 60.0 g of cacao nibs, roasted in" in done.out


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
