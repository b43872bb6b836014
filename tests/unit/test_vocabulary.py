# SPDX-License-Identifier: MIT
from __future__ import annotations

import csv
import hashlib
import tomllib
from pathlib import Path

import pytest

import middlecut.insight.vocabulary as words
from middlecut.errors import NotFoundError
from middlecut.liquid import aroma, compounds

TABLES = Path(words.__file__).with_name("tables")


def test_there_are_at_least_60_words_in_families() -> None:
    assert len(words.descriptors()) >= 60
    assert len(words.families()) == 19
    for family in words.families():
        members = [one for one in words.descriptors() if one.family == family]
        assert len(members) >= 2


def test_no_word_leads_to_two_descriptors() -> None:
    keys = [words._key(word) for one in words.descriptors() for word in (one.name, *one.synonyms)]
    assert len(keys) == len(set(keys))


def test_every_word_finds_itself_and_means_something() -> None:
    for one in words.descriptors():
        assert one.meaning
        for word in (one.name, *one.synonyms):
            assert words.find_descriptor(word) is one


@pytest.mark.parametrize(
    ("word", "name"),
    [
        ("Green  Bell Pepper", "green bell pepper"),
        ("capsicum", "green bell pepper"),
        ("green bell pepper, raw pea", "green bell pepper"),
        ("drying", "astringent"),
        ("butterscotch", "butter"),
    ],
)
def test_synonyms(word: str, name: str) -> None:
    assert words.find_descriptor(word).name == name


@pytest.mark.parametrize(
    ("word", "sense"), [("bitter", "taste"), ("astringent", "mouthfeel"), ("clove", "smell")]
)
def test_senses_are_told_apart(word: str, sense: str) -> None:
    assert words.find_descriptor(word).sense == sense


def test_unknown_word_offers_the_nearest() -> None:
    with pytest.raises(NotFoundError) as caught:
        words.find_descriptor("vanila")
    assert "vanilla" in caught.value.near
    with pytest.raises(NotFoundError) as caught:
        words.find_descriptor("qqqq")
    assert caught.value.near == ()


@pytest.mark.parametrize("word", ["", ",", "x" * 100_000])
def test_odd_words_are_refused(word: str) -> None:
    with pytest.raises(NotFoundError):
        words.find_descriptor(word)


@pytest.mark.parametrize(
    ("compound", "family"),
    [
        ("isoamyl acetate", "ripe fruit"),
        ("limonene", "citrus"),
        ("IBMP", "green"),
        ("vanillin", "vanilla and caramel"),
        ("guaiacol", "smoke"),
        ("dimethyl sulfide", "grain and malt"),
        ("geosmin", "earth and must"),
        ("carvone", "herbs and mint"),
        ("capsaicin", "mouthfeel"),
    ],
)
def test_compounds_lead_to_families(compound: str, family: str) -> None:
    assert words.compound_descriptors(compound)[0].family == family


def test_every_compound_with_a_threshold_has_a_word() -> None:
    lacking = [
        name
        for name in compounds.names()
        if aroma.thresholds(name).for_strength(0.4) and not words.compound_descriptors(name)
    ]
    assert lacking == []


def test_the_table_has_its_sidecar() -> None:
    path = TABLES / "vocabulary.csv"
    sidecar = tomllib.loads(path.with_suffix(".toml").read_text(encoding="utf-8"))
    assert hashlib.sha256(path.read_bytes()).hexdigest() == sidecar["sha256"]
    with path.open(newline="", encoding="utf-8") as stream:
        assert set(sidecar["units"]) == set(next(csv.reader(stream)))
