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
    assert "45 ingredients" in done.out
    assert "orange peel, dried" in done.out
    assert max(map(len, done.out.splitlines())) <= 88
    assert len(json.loads(run("pantry", "list", "--json").out)["ingredients"]) == 45


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
    assert "46 ingredients" in run("pantry", "list", "--library", "mine.toml").out
    assert run("pantry", "show", "sea buckthorn").code == 2
    monkeypatch.setenv("MIDDLECUT_LIBRARY", "mine.toml")
    page = run("pantry", "show", "sea buckthorn")
    assert page.code == 0
    assert "Own; usual form" in page.out


def test_a_library_that_cannot_be_used_is_named(run: Any) -> None:
    Path("bad.toml").write_text(OWN.replace("mg/kg", "mg/L"), encoding="utf-8")
    done = run("pantry", "list", "--library", "bad.toml")
    assert done.code == 2
    assert "bad.toml: ingredient.sea buckthorn" in done.err
    assert run("pantry", "list", "--library", "none.toml").code == 2
