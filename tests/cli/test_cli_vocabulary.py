# SPDX-License-Identifier: MIT
"""``middlecut vocabulary``: every word of the table, a family, a word, JSON, a wrong word."""

from __future__ import annotations

import json
from typing import Any

from middlecut.insight.vocabulary import descriptors, families


def test_all_words_stand_under_their_family(run: Any) -> None:
    done = run("vocabulary")
    assert done.code == 0
    text = " ".join(done.out.split())
    assert all(one.name in text for one in descriptors())
    assert all(family in done.out for family in families())
    assert max(map(len, done.out.splitlines())) <= 88


def test_a_family_and_a_word_say_what_they_stand_for(run: Any) -> None:
    done = run("vocabulary", "citrus")
    assert done.code == 0
    assert done.out.startswith("citrus (smell)")
    assert "--found" in done.out
    one = run("vocabulary", "capsicum")
    assert "green bell pepper:" in one.out
    assert "capsicum" in one.out


def test_json_has_every_word_once(run: Any) -> None:
    words = json.loads(run("vocabulary", "--json").out)["words"]
    assert [one["name"] for one in words] == [one.name for one in descriptors()]
    assert {one["sense"] for one in words} == {"smell", "taste", "mouthfeel"}


def test_a_wrong_word_is_answered_with_the_nearest(run: Any) -> None:
    done = run("vocabulary", "citruss")
    assert done.code == 2
    assert "citrus" in done.err
