# SPDX-License-Identifier: MIT
"""Tastings: what is read, what is refused, and several of them together."""

from __future__ import annotations

import datetime as dt
import json

import pytest

from middlecut.errors import InputError, NotFoundError
from middlecut.insight.tasting import (
    Tasting,
    combine_tastings,
    how_read,
    read_found,
    read_tasting,
)


def test_words_and_numbers_are_read_from_text_or_mapping() -> None:
    wanted = {"green bell pepper": 3.0, "bitter": 2.5}
    assert dict(read_found("capsicum:3,  bitter: 2.5")) == wanted
    assert dict(read_found({"Green bell pepper": 3, "bitter": 2.5})) == wanted
    assert dict(read_found("bitter")) == {"bitter": 5.0}


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("bitter:-1", "0 to 10"),
        ("bitter:11", "0 to 10"),
        ("bitter:nan", "0 to 10"),
        ("bitter:much", "number from 0 to 10"),
        ("bitter:2, bitter:3", "twice"),
        ("capsicum:2, green pepper:3", "the same as"),
        (" , ", "at least one word"),
    ],
)
def test_what_cannot_be_used_is_refused_with_a_reason(text: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        read_found(text)


def test_an_unknown_word_offers_the_nearest() -> None:
    with pytest.raises(NotFoundError) as caught:
        read_found("grean bell peper:3")
    assert "green bell pepper" in caught.value.near


def test_a_tasting_survives_toml_and_json() -> None:
    tasting = Tasting(
        code='K"7',
        phases={"finish": {"bitter": 4.0}, "nose": {"capsicum": 3, "rose": 1.5}},
        taster="A",
        date=dt.date(2026, 3, 2),
        texts={"nose": "opens slowly\nthen green"},
        text="with water, at 30 % \\ vol",
    )
    assert read_tasting(tasting.to_toml()) == tasting
    assert read_tasting(json.loads(json.dumps(tasting.to_dict()))) == tasting
    assert list(tasting.phases) == ["nose", "finish"]


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        ({"code": "K7", "phases": {"smell": {}}}, "the phases are nose"),
        ({"code": " ", "phases": {}}, "needs a code"),
        ({"code": "K7", "phases": {"nose": {"bitter": -1}}}, "0 to 10"),
        ({"code": "K7", "phases": {"nose": {"bitter": "2"}}}, "a number from 0 to 10"),
        ({"code": "K7", "phases": {"nose": 3}}, "a table for each phase"),
        ({"code": "K7", "phase": {}}, "the keys are"),
        ({"code": "K7", "date": "yesterday"}, "a date is wanted"),
    ],
)
def test_a_tasting_that_cannot_be_used_is_refused(raw: dict[str, object], words: str) -> None:
    with pytest.raises(InputError, match=words):
        read_tasting(raw)
    with pytest.raises(InputError, match="not TOML"):
        read_tasting("code = ")


def test_a_panel_is_medians_with_who_said_nothing_counted_as_zero() -> None:
    given = [
        Tasting("K7", {"nose": {"rubber": 6.0}}, taster="A"),
        Tasting("K7", {"nose": {"rubber": 2.0, "rose": 1.0}}, taster="B"),
        Tasting("K7", {"nose": {}, "finish": {"rubber": 8.0}}, taster="C"),
    ]
    panel = combine_tastings(given)
    rubber, rose, late = panel.rows
    assert (rubber.median, rubber.low, rubber.high, rubber.named) == (2.0, 0.0, 6.0, 2)
    assert rubber.spread == 6.0
    assert (rose.median, rose.named) == (0.0, 1)
    assert (late.phase, late.median) == ("finish", 8.0)
    assert panel.strongest == {"rubber": 8.0}


def test_glasses_are_not_mixed_up() -> None:
    with pytest.raises(InputError, match="one glass"):
        combine_tastings([Tasting("K7", {}), Tasting("K8", {})])
    with pytest.raises(InputError, match="one glass"):
        combine_tastings([])


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("no vanilla", {"vanilla": 0.0}),
        ("vanilla missing, thin:4", {"vanilla": 0.0, "thin": 4.0}),
        ("weak vanilla", {"vanilla": 1.0}),
        ("almond turns flat", {"marzipan": 1.0}),
        ("weak vanilla:3", {"vanilla": 3.0}),
        ("hot:2,5, bitter:2", {"hot": 2.5, "bitter": 2.0}),
        ("hot:2,bitter:3", {"hot": 2.0, "bitter": 3.0}),
        ("lost aroma", {"thin": 5.0}),
    ],
)
def test_what_is_weak_or_missing_is_not_read_as_there(text: str, found: dict[str, float]) -> None:
    assert dict(read_found(text)) == found


def test_how_a_missing_word_was_read_is_said() -> None:
    assert how_read("no vanilla") == ("'no vanilla' was read as vanilla at 0 of 10.",)
    assert how_read("faint vanilla") == ("'faint vanilla' was read as vanilla at 1 of 10.",)
