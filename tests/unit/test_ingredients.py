# SPDX-License-Identifier: MIT
"""The ingredient tables hold together, and finding in them is forgiving."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from middlecut.errors import InputError, NotFoundError
from middlecut.liquid import compounds, extraction_table, ingredients
from middlecut.liquid.own_ingredients import own_ingredient

ALL = [ingredients.find(name) for name in ingredients.names()]


def test_there_are_enough() -> None:
    assert len(ALL) >= 40
    assert sum(len(one.markers) for one in ALL) >= 200


@pytest.mark.parametrize("one", ALL, ids=lambda one: one.name)
def test_each_is_whole(one: ingredients.Ingredient) -> None:
    assert one.markers
    for marker in one.markers:
        assert 0.0 <= marker.low <= marker.typical <= marker.high < 1.0
        assert marker.basis in ingredients.BASES
        assert ingredients.sources_of(marker)
        if marker.tracked:
            assert compounds.find(marker.compound).name == marker.compound
    assert sum(marker.typical for marker in one.tracked) < 1.0
    assert 0.0 < one.bulk_density < 1500.0
    assert 0.0 <= one.moisture < 1.0
    assert 0.0 <= one.lipid_share < 1.0
    for form in ingredients.FORMS:
        assert extraction_table.tissue(one.kinetics, form).rate.typical > 0.0
    assert ingredients.food_safety(one)[-1].code == "anyone"


DANGERS = {
    "caffeine": "caffeine", "coumarin": "coumarin", "safrole": "safrole",
    "glycyrrhizic acid": "glycyrrhizin", "capsaicin": "capsaicin", "myristicin": "myristicin",
    "estragole": "estragole", "methyl eugenol": "methyleugenol",
    "thujone (alpha and beta)": "thujone", "hydrocyanic acid": "hydrocyanic acid",
}  # fmt: skip


@pytest.mark.parametrize("compound", DANGERS)
def test_whoever_holds_a_dangerous_compound_is_cautioned(compound: str) -> None:
    holders = [one for one in ALL if compound in {marker.compound for marker in one.markers}]
    assert holders
    for one in holders:
        assert DANGERS[compound] in one.safety, one.name


def test_figures_of_the_regulations() -> None:
    # Regulation (EC) 1334/2008 Annex III; 1169/2011 Annex III; 2019/787: read.
    facts = {
        fact.code: fact.limit for one in ALL for fact in ingredients.food_safety(one) if fact.limit
    }
    assert facts["thujone"] == 10.0
    assert facts["caffeine"] == 150.0
    assert facts["glycyrrhizin"] == 10.0
    assert facts["pulegone"] == 100.0
    assert facts["ethyl carbamate"] == 1.0
    assert facts["hydrocyanic acid"] == pytest.approx(7e-3 / 0.1)  # 7 g per hL of pure alcohol


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("Orange peel dried", "orange peel, dried"),
        ("COFFEE", "roasted coffee, medium (Arabica)"),
        ("ceylon cinnamon", "cinnamon, Ceylon"),
        ("vanilla bean", "cured vanilla pods"),
    ],
)
def test_names_are_found_as_people_write_them(written: str, name: str) -> None:
    assert ingredients.find(written).name == name


def test_an_unknown_name_offers_the_nearest() -> None:
    with pytest.raises(NotFoundError) as caught:
        ingredients.find("junipr")
    assert "juniper berry" in caught.value.near
    with pytest.raises(NotFoundError) as caught:
        ingredients.find("orange")
    assert set(caught.value.near) >= {"orange peel, dried", "orange peel, fresh"}


def test_search_wants_every_word() -> None:
    assert [one.name for one in ingredients.search("coffee green pepper")] == [
        "roasted coffee, light (Arabica)",
        "roasted coffee, medium (Arabica)",
    ]
    assert ingredients.search("") == ()
    assert ingredients.search("plutonium") == ()


def test_recalled_contents_are_never_called_read() -> None:
    for one in ALL:
        for marker in one.markers:
            if re.search(r"(?<!\w)M_", marker.source):
                assert marker.basis in {"memory", "estimate"}, (one.name, marker.compound)


def test_own_ingredients_win_and_keep_what_they_do_not_say() -> None:
    own = own_ingredient("coffee", {"moisture": "4 %", "form": "fine"})
    assert own.kinetics == "roasted seed"
    assert (own.moisture, own.usual_form, own.own) == (0.04, "fine", True)
    assert ingredients.find("coffee", [own]) is own
    assert "coffee" in ingredients.names([own])
    assert own in ingredients.search("caffeine", [own])


def test_an_ingredient_from_nothing_needs_markers() -> None:
    with pytest.raises(InputError, match="needs markers"):
        own_ingredient("quince", {})
    quince = own_ingredient("quince", {"markers": {"hexanal": "3 mg/kg"}})
    assert quince.markers[0].typical == 3e-6
    with pytest.raises(InputError, match="no ingredient goes by that name"):
        own_ingredient("quince", {"like": "aple", "markers": {"hexanal": "3 mg/kg"}})


def test_a_caution_that_does_not_exist_is_a_fault() -> None:
    odd = replace(ALL[0], safety=("dragons",))
    with pytest.raises(NotFoundError, match="dragons"):
        ingredients.food_safety(odd)


def test_unknown_tissue() -> None:
    with pytest.raises(NotFoundError, match="kind of tissue"):
        extraction_table.tissue("stone", "fine")
