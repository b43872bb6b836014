# SPDX-License-Identifier: MIT
"""``middlecut pantry``: list, search, show, and ingredients of the user's own."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

OWN = '[ingredient."sea buckthorn"]\nlike = "raspberries"\nmarkers = { linalool = "3 mg/kg" }\n'


def test_the_list_has_every_ingredient(run: Any) -> None:
    done = run("pantry", "list")
    assert done.code == 0
    assert "46 ingredients" in done.out
    assert "orange peel, dried" in done.out
    assert max(map(len, done.out.splitlines())) <= 88
    assert len(json.loads(run("pantry", "list", "--json").out)["ingredients"]) == 46


@pytest.mark.parametrize(
    ("word", "some"), [("coumarin", "cassia"), ("caffeine", "black tea"), ("orange", "orange peel")]
)
def test_search_finds_by_compound_danger_and_name(run: Any, word: str, some: str) -> None:
    done = run("pantry", "search", word)
    assert done.code == 0
    assert some in done.out
    assert "hop cones" not in done.out


def test_nothing_found_offers_the_nearest(run: Any) -> None:
    done = run("pantry", "search", "nutmek")
    assert done.code == 2
    assert "nutmeg" in done.err
    assert run("pantry", "show", "cardamon").code == 2
    assert "cardamom" in run("pantry", "show", "cardamon").err


def test_a_page_tells_read_from_recalled_and_warns(run: Any) -> None:
    done = run("pantry", "show", "cassia")
    assert done.code == 0
    text = " ".join(done.out.split())
    assert "Woehrlin" in text
    assert "seen in the abstract of a paper" in text
    assert "tolerable 0.1 mg per kg of body mass" in text
    assert "law of the place" in text
    guess = " ".join(run("pantry", "show", "smoked tea").out.split())
    assert "may be off by a factor of 5" in guess
    assert max(map(len, done.out.splitlines())) <= 88


def test_a_page_as_json(run: Any) -> None:
    page = json.loads(run("pantry", "show", "star anise", "--json").out)
    anethole = next(one for one in page["markers"] if one["compound"] == "trans-anethole")
    assert anethole["typical"] == pytest.approx(0.065)
    assert anethole["basis"] == "memory"
    assert {fact["code"] for fact in page["food_safety"]} >= {"estragole", "anyone"}


def test_own_ingredients_by_option_and_by_the_usual_file(
    run: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    Path("mine.toml").write_text(OWN, encoding="utf-8")
    assert "47 ingredients" in run("pantry", "list", "--library", "mine.toml").out
    assert run("pantry", "show", "sea buckthorn").code == 2
    monkeypatch.setenv("MIDDLECUT_LIBRARY", "mine.toml")
    page = run("pantry", "show", "sea buckthorn")
    assert page.code == 0
    assert "Own; usual form" in page.out


COMPOUND = """
[compound."meadow lactone"]
formula = "C8H14O2"
log_p = 2.1
boiling_point = "215 °C"
descriptor = "coconut, hay loft"
threshold = { spirit = "60 µg/L" }

[compound."root bitter"]
molar_mass = "320 g/mol"
stays_in_boiler = true
"""


def test_own_compounds_are_listed_found_and_shown(run: Any) -> None:
    Path("mine.toml").write_text(OWN + COMPOUND, encoding="utf-8")
    own = ("--library", "mine.toml")
    listed = run("pantry", "list", *own).out
    assert "meadow lactone" in listed
    assert "never distils" in listed
    found = run("pantry", "search", "coconut", *own)
    assert found.code == 0
    assert "meadow lactone" in found.out
    assert "root bitter" not in found.out
    shown = " ".join(run("pantry", "show", "Meadow Lactone", *own).out.split())
    assert "Grade D, estimated" in shown
    assert "within a factor of 3.8 near water" in shown  # a boiling point alone
    assert "The vocabulary has no 'hay loft'" in shown
    assert "40 % vol 60 20 to 180 (assumed) yours" in shown
    assert shown.endswith("Whether it is safe to drink is not known here.")
    assert "It never distils" in run("pantry", "show", "root bitter", *own).out
    page = json.loads(run("pantry", "show", "meadow lactone", *own, "--json").out)["compound"]
    assert page["own"] is True
    assert page["volatility"]["grade"] == "D"
    assert page["thresholds"][0]["typical"] == pytest.approx(6e-5)
    rows = json.loads(run("pantry", "list", *own, "--json").out)["compounds"]
    assert [row["name"] for row in rows] == ["meadow lactone", "root bitter"]
    assert rows[1]["log_p"] is None


def test_a_compound_of_the_tables_is_shown_too(run: Any) -> None:
    done = run("pantry", "show", "78-70-6")
    assert done.code == 0
    assert done.out.startswith("linalool")
    assert "A compound of the tables: CAS 78-70-6" in done.out
    nothing = run("pantry", "show", "linalol")
    assert nothing.code == 2
    assert "linalool" in nothing.err


def test_a_library_that_cannot_be_used_is_named(run: Any) -> None:
    Path("bad.toml").write_text(OWN.replace("mg/kg", "mg/L"), encoding="utf-8")
    done = run("pantry", "list", "--library", "bad.toml")
    assert done.code == 2
    assert "bad.toml: ingredient.sea buckthorn" in done.err
    assert run("pantry", "list", "--library", "none.toml").code == 2


@pytest.mark.parametrize("word", ["cyanide", "prussic", "apricot", "plum", "broken stones"])
def test_search_finds_the_danger_of_stones_by_the_words_people_use(run: Any, word: str) -> None:
    assert "cherries, crushed with stones" in run("pantry", "search", word).out


def test_a_search_that_finds_nothing_is_told_in_a_sentence(run: Any) -> None:
    done = run("pantry", "search", "qqqq")
    assert done.err.strip() == "There is no ingredient or marker called 'qqqq'."


def test_the_table_of_a_page_stays_one_at_a_narrow_width(
    run: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "72")
    lines = run("pantry", "show", "coffee").out.splitlines()
    assert max(map(len, lines)) <= 72
    assert any(line.split()[:5] == ["marker", "mg/kg", "from", "to", "basis"] for line in lines)
    assert "furaneol: caramel" in " ".join(" ".join(lines).split())


def test_small_contents_are_not_written_as_nothing() -> None:
    from middlecut.cli.pantry import _short

    assert [_short(one) for one in (0.0, 2.3e-13, 2e-8, 0.0125)] == [
        "0", "0.00000023", "0.02", "12,500",
    ]  # fmt: skip
