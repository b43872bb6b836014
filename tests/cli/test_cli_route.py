# SPDX-License-Identifier: MIT
"""``middlecut route``: entry points side by side, pictures, refusals."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import pytest

from middlecut.plan.examples import example_path

DEMO = ("--plan", example_path())
IBMP = "2-isobutyl-3-methoxypyrazine"


def test_every_entry_point_stands_side_by_side(run: Any) -> None:
    done = run("route", "vanilla", *DEMO, "--amount", "20 g")
    assert done.code == 0
    assert done.err == ""
    assert done.out.startswith("20.0 g of cured vanilla pods on the way to bottles")
    for word in (
        "wash-late:",
        "basket:",
        "dose:",
        "almost none of it distils",
        "In short",
        "Compound by compound",
        "What each way costs",
    ):
        assert word in done.out
    # A table of a plan file stays on one line: it could not be read broken up.
    wrapped = [line for line in done.out.splitlines() if "{ ingredient" not in line]
    assert max(map(len, wrapped)) <= 100


def test_json_is_the_routes_and_the_fate(run: Any) -> None:
    done = run("route", "coffee", *DEMO, "--json", "--compound", IBMP)
    read = json.loads(done.out)
    assert read["routes"][0]["entry_point"] == "wash-early"
    assert read["fate"]["compound"] == IBMP
    assert sum(end["share"] for end in read["fate"]["ends"]) == pytest.approx(1.0, abs=1e-8)


def test_pictures_and_data_are_written(run: Any) -> None:
    words = ("route", "coffee", *DEMO, "--compound", IBMP, "--entry", "wash-late")
    done = run(*words, "--svg", "map.svg", "--flow", "flow.svg")
    assert done.code == 0
    for name in ("map.svg", "flow.svg"):
        assert f"Written to {name}." in done.out
        root = ET.fromstring(Path(name).read_text(encoding="utf-8"))  # noqa: S314 - our own
        space = "{http://www.w3.org/2000/svg}"
        assert root.tag == f"{space}svg"
        assert root.get("role") == "img"
        for part in ("title", "desc"):
            found = root.find(f"{space}{part}")
            assert found is not None
            assert found.text
    assert run(*words, "--svg", "map.csv", "--flow", "flow.csv").code == 0
    rows = list(csv.DictReader(Path("flow.csv").read_text(encoding="utf-8").splitlines()))
    ends = sum(float(row["share"]) for row in rows if row["to_kind"] == "end")
    assert ends == pytest.approx(1.0, abs=1e-8)
    assert run(*words, "--svg", "map.json", "--flow", "flow.json").code == 0
    assert json.loads(Path("flow.json").read_text(encoding="utf-8"))["compound"] == IBMP


def test_a_png_is_a_png(run: Any) -> None:
    pytest.importorskip("matplotlib")
    assert run("route", "vanilla", *DEMO, "--svg", "map.png").code == 0
    assert Path("map.png").read_bytes().startswith(b"\x89PNG\r\n\x1a\n")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("cofee",), "roasted coffee"),
        (("coffee", "--amount", "40 kg"), "fits nowhere"),
        (("coffee", "--amount", "-3 g"), "more than 0 kg"),
        (("coffee", "--amount", "3"), "unit"),
        (("coffee", "--compound", "vanilin"), "vanillin"),
        (("coffee", "--compound", "vanillin", "--entry", "stepe"), "entry point"),
        (("coffee", "--flow", "f.svg"), "--compound"),
        (("coffee", "--entry", "steep"), "--compound"),
        (("coffee", "--svg", "m.gif"), ".svg"),
        (("coffee", "--svg", "nowhere/m.svg"), "cannot be written"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_written(
    run: Any, words: tuple[str, ...], said: str
) -> None:
    done = run("route", *words, *DEMO)
    assert done.code == 2
    assert done.out == ""
    assert said in done.err
    assert list(Path().iterdir()) == []


def test_an_existing_file_stays_and_stops_the_other(run: Any) -> None:
    Path("flow.svg").write_text("mine", encoding="utf-8")
    words = ("route", "coffee", *DEMO, "--compound", "vanillin", "--svg", "map.svg")
    done = run(*words, "--flow", "flow.svg")
    assert done.code == 2
    assert Path("flow.svg").read_text(encoding="utf-8") == "mine"
    assert not Path("map.svg").exists()
    assert run(*words, "--flow", "flow.svg", "--force").code == 0


def test_an_amount_below_nothing_is_told_as_it_was_typed(run: Any) -> None:
    run("demo", "--save", "mine.toml")
    done = run("route", "coffee", "--plan", "mine.toml", "--amount=-3 g")
    assert done.code == 2
    assert "'-3 g' is not usable" in done.err
