# SPDX-License-Identifier: MIT
"""What poisons is set against the published figure, in the drink that is poured."""

from __future__ import annotations

from functools import lru_cache

import pytest

import middlecut as mc
from middlecut.liquid.ingredients import find
from middlecut.plan.prediction import Prediction
from middlecut.plan.read import read_plan_text
from middlecut.steps.food import level_words
from middlecut.steps.result import Caution

PLAN = """
[batch]
name = "an invented steep"

[lot.spirit]
volume = "2 L"
strength = "45 %vol"

[[step]]
id = "soak"
kind = "steep"
from = "spirit"
duration = "7 d"
into = "extract"
add = [{ ingredient = "INGREDIENT", amount = "AMOUNT" }]

[[step]]
id = "thin"
kind = "dilute"
from = "extract"
strength = "STRENGTH"
into = "drink"
"""


@lru_cache(maxsize=32)
def made(ingredient: str, amount: str, strength: str = "40 %vol") -> Prediction:
    text = PLAN.replace("INGREDIENT", ingredient).replace("AMOUNT", amount)
    return mc.predict(read_plan_text(text.replace("STRENGTH", strength)))


def caution(code: str, ingredient: str, amount: str, strength: str = "40 %vol") -> Caution:
    cautions = made(ingredient, amount, strength).steps["thin"].cautions
    return next(one for one in cautions if one.code == code)


def test_coumarin_is_told_as_millilitres_a_day() -> None:
    # 0.1 mg per kg of body mass a day (BfR 26/2012) is 6 mg for 60 kg.
    watched = caution("drink-coumarin", "cassia", "30 g")
    level = made("cassia", "30 g").lots["drink"].compounds["coumarin"]
    assert f"about {level_words(level)} mg/L" in watched.text
    assert f"reached with {6.0 / level * 1e3:.0f} mL" in watched.text
    assert watched.severity == "watch"
    assert caution("drink-coumarin", "cassia", "150 g").severity == "danger"
    codes = {one.code for one in made("cinnamon, Ceylon", "5 g").steps["thin"].cautions}
    assert "drink-coumarin" not in codes


def test_thujone_is_bounded_by_what_the_herb_holds() -> None:
    # Regulation (EC) 1334/2008, Annex III: 10 mg/kg, from Artemisia 35; wormwood 0.5 to 9 g/kg
    # (ingredients.csv): 20 g hold at most 180 mg.
    told = caution("drink-thujone", "wormwood", "20 g")
    drink = made("wormwood", "20 g").lots["drink"]
    assert told.severity == "watch"
    assert told.value == pytest.approx(0.18e-3 / drink.volume, rel=1e-6)
    assert told.limit == pytest.approx(1e-5 * drink.mass / drink.volume, rel=1e-6)
    assert "is not followed" in told.text
    assert "if all came over" in told.text
    assert caution("drink-thujone", "wormwood", "80 g").severity == "danger"
    assert caution("drink-thujone", "wormwood", "500 mg").severity == "note"


def test_hydrocyanic_acid_counts_by_the_most_there_can_be() -> None:
    # Regulation (EU) 2019/787: 7 g per hL of pure alcohol, 28 mg/L at 40 %vol, 14 at 20.
    told = caution("drink-hydrocyanic-acid", "cherries, crushed with stones", "1.5 kg", "20 %vol")
    assert told.severity == "danger"
    assert told.limit == pytest.approx(0.014, rel=1e-3)
    assert "Do not drink it before it is measured" in told.text
    few = caution("drink-hydrocyanic-acid", "cherries, crushed with stones", "50 g")
    assert few.severity == "note"


def test_nutmeg_is_counted_by_the_bottle() -> None:
    # Symptoms from about 5 g eaten; the bottle is one of 700 mL where the plan names none.
    volume = made("nutmeg", "20 g").lots["drink"].volume
    told = caution("drink-myristicin", "nutmeg", "20 g")
    assert told.value == pytest.approx(0.02 * 0.7e-3 / volume, rel=1e-6)
    assert told.severity == "danger"
    assert caution("drink-myristicin", "nutmeg", "4 g").severity == "watch"
    assert caution("drink-myristicin", "nutmeg", "1 g").severity == "note"


def test_the_level_is_that_of_the_drink_and_not_of_the_extract() -> None:
    strong = made("liquorice", "20 g", "30 %vol")
    extract, drink = (
        strong.lots[name].compounds["glycyrrhizic acid"] for name in ("extract", "drink")
    )
    step = next(one for one in strong.steps["soak"].cautions if one.code == "food-glycyrrhizin")
    assert f"Expected in extract: {level_words(extract)} mg/L" in step.text
    told = caution("drink-glycyrrhizin", "liquorice", "20 g", "30 %vol")
    assert f"in drink: about {level_words(drink)} mg/L" in told.text
    assert drink < 0.75 * extract


def test_what_has_no_figure_or_no_content_says_so() -> None:
    assert "no figure for alcoholic drinks" in caution("drink-safrole", "nutmeg", "20 g").text
    assert "only a laboratory can say" in caution("drink-pulegone", "peppermint", "20 g").text


def test_what_brings_nothing_to_beware_of_adds_no_line() -> None:
    codes = {one.code for one in made("orange peel, dried", "20 g").steps["thin"].cautions}
    assert not any(code.startswith("drink-") for code in codes)


def test_a_route_says_it_of_the_drink_too() -> None:
    plan = read_plan_text(PLAN.replace("INGREDIENT", "clove").replace("AMOUNT", "1 g").replace(
        "STRENGTH", "40 %vol"))  # fmt: skip
    steeped = mc.routes(plan, "wormwood", amount=0.05).route("steep")
    told = next(one for one in steeped.cautions if one.code == "drink-thujone")
    assert told.severity == "danger"
    assert not any("clove" in one.text for one in steeped.cautions if "drink-" in one.code)


def test_levels_are_written_without_an_exponent() -> None:
    assert level_words(1592.0) == "1,590"
    assert level_words(31.64) == "31.6"


def test_every_untracked_marker_is_held_by_an_ingredient_that_names_the_caution() -> None:
    for name in ("wormwood, dried", "cherries, crushed with stones"):
        item = find(name)
        held = {marker.compound for marker in item.markers if not marker.tracked}
        from middlecut.liquid.food_safety import food_safety

        markers = {fact.marker for fact in food_safety(item) if fact.marker}
        assert markers
        assert markers <= held


def test_what_nobody_has_said_is_not_counted_as_nothing() -> None:
    # An own ingredient says that it brings hydrocyanic acid, but not how much: no level is told.
    own = '\n[ingredient."apricot kernels"]\nmarkers = { benzaldehyde = "20 g/kg" }\n'
    own += 'safety = ["hydrocyanic acid"]\n'
    text = PLAN.replace("INGREDIENT", "apricot kernels").replace("AMOUNT", "100 g")
    done = mc.predict(read_plan_text(own + text.replace("STRENGTH", "40 %vol")))
    told = next(one for one in done.steps["thin"].cautions if "ydrocyanic" in one.text)
    assert told.severity == "watch"
    assert "its content is not known here" in told.text
    assert "0 mg/L of drink" not in told.text
