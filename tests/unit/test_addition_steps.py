# SPDX-License-Identifier: MIT
"""Steeping, baskets, boilers and washes with ingredients, against sums by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from middlecut.errors import InputError
from middlecut.liquid import ingredients
from middlecut.liquid.extraction_table import Range
from middlecut.steps.additions import (
    KEPT,
    RECOVERED,
    SPENT,
    drawn,
    sources_for_still,
    spread,
)
from middlecut.steps.basket import bed_liquid, bed_of, charge_cautions, check_additions
from middlecut.steps.ferment import ferment
from middlecut.steps.flavoured import distil_with_ingredients
from middlecut.steps.food import food_cautions
from middlecut.steps.lot import Lot
from middlecut.steps.parameters import Addition, Cut, Distil, Ferment, Steep, Take, Until
from middlecut.steps.scenario import Scenario
from middlecut.steps.steep import steep
from middlecut.steps.still import Still
from middlecut.steps.wash_additions import BLOWN_OFF, CONVERTED
from middlecut.steps.wash_release import addition_start

DAY = 86400.0
SPIRIT = Lot("spirit", water=0.5, ethanol=0.4)
STILL = Still("pot", boiler_volume=5e-3, heater_power=1000.0, head_loss=35.0, basket_volume=6e-4)


def add(name: str, mass: float, point: str = "steep", **more: object) -> Addition:
    return Addition(ingredients.find(name), mass, point, **more)  # type: ignore[arg-type]


def soak(*additions: Addition, duration: float = 2 * DAY, temperature: float = 293.15) -> Steep:
    return Steep("soak", Take("spirit"), "out", additions, duration, temperature)


def test_water_of_fresh_zest_lowers_the_strength_and_the_solids_keep_liquid() -> None:
    # 0.1 kg of zest brings 72 % water and keeps its own mass of liquid.
    result = steep(soak(add("orange zest", 0.1)), SPIRIT)
    lot = result.made["out"]
    water, ethanol = 0.5 + 0.072, 0.4
    assert lot.ethanol / (lot.water + lot.ethanol) == pytest.approx(ethanol / (water + ethanol))
    solids = result.account.entries["solids"].came["orange peel, fresh"]
    assert lot.mass == pytest.approx(water + ethanol + solids - 0.1, rel=1e-12)
    assert lot.strength < SPIRIT.strength
    assert result.account.entries["ethanol"].went[KEPT] > 0.0


def test_what_goes_over_by_hand() -> None:
    # Caffeine: no fat to speak of holds it (log P -0.1), 95 % accessible, 0.57 per h at 22.5 °C.
    result = steep(soak(add("coffee", 0.02), duration=2 * 3600.0, temperature=295.65), SPIRIT)
    entry = result.account.entries["caffeine"]
    content = 0.02 * 0.0125
    over = 1.0 - entry.went[SPENT] / content
    assert over == pytest.approx(0.95 * (1.0 - math.exp(-0.57 * 2.0)), rel=0.01)
    assert entry.came["roasted coffee, medium (Arabica)"] == pytest.approx(content)


def test_an_ingredient_taken_out_early_gives_less() -> None:
    long = steep(soak(add("vanilla", 0.01), duration=20 * DAY), SPIRIT).made["out"]
    short = steep(soak(add("vanilla", 0.01, contact=5 * DAY), duration=20 * DAY), SPIRIT).made[
        "out"
    ]
    assert short.amounts["vanillin"].typical < 0.5 * long.amounts["vanillin"].typical


def test_steeps_that_cannot_be() -> None:
    with pytest.raises(InputError, match="at least one ingredient"):
        steep(soak(), SPIRIT)
    with pytest.raises(InputError, match="lasts only 2 d"):
        steep(soak(add("clove", 0.01, contact=3 * DAY)), SPIRIT)
    with pytest.raises(InputError, match="they would soak up"):
        steep(soak(add("hops", 0.2)), SPIRIT)


def test_what_a_steep_warns_of() -> None:
    strong = {c.code: c for c in steep(soak(add("coffee", 0.06)), SPIRIT).cautions}
    assert strong["steep-flammable"].severity == "watch"
    caffeine = strong["food-caffeine"]
    assert caffeine.severity == "watch"
    assert caffeine.value is not None
    assert caffeine.value > 0.15  # [kg/m³] 150 mg/L, Regulation (EU) 1169/2011
    weak = steep(soak(add("coffee", 0.001)), Lot("spirit", water=0.9, ethanol=0.05)).cautions
    codes = {c.code: c for c in weak}
    assert "steep-weak" in codes
    assert codes["food-caffeine"].severity == "note"


def test_a_scenario_changes_contents_and_leaves_accounts_out() -> None:
    step = soak(add("clove", 0.001))
    twice = Scenario(content={("clove", "eugenol"): 2.0}, lean=True)
    one, two = steep(step, SPIRIT), steep(step, SPIRIT, scenario=twice)
    ratio = two.made["out"].amounts["eugenol"].typical / one.made["out"].amounts["eugenol"].typical
    assert ratio == pytest.approx(2.0)
    assert two.account.entries == {}
    assert two.cautions == ()
    addition = add("clove", 0.001)
    assert drawn(addition, Scenario()) is addition


def test_ranges_of_content_and_share_join_as_squares() -> None:
    joined = spread(Range(0.5, 1.0, 2.0), Range(0.25, 0.5, 1.0))
    factor = math.exp(math.hypot(math.log(2.0), math.log(2.0)))
    assert (joined.low, joined.typical, joined.high) == pytest.approx(
        (0.5 / factor, 0.5, 0.5 * factor)
    )
    assert spread(Range(0.0, 1.0, 2.0), Range(0.1, 0.5, 1.0)).low == 0.0
    assert spread(Range(0.0, 0.0, 2.0), Range(0.1, 0.5, 1.0)) == Range(0.0, 0.0, 2.0)


@pytest.mark.parametrize("point", ["charge", "basket"])
def test_sources_hold_back_what_practice_does_not_recover(point: str) -> None:
    juniper = sources_for_still(add("juniper", 0.05, point), temperature=355.0, strength=0.4)
    pinene = next(one for one in juniper if one.compound == "alpha-pinene")
    assert pinene.accessible == RECOVERED[point].typical
    assert pinene.amount.typical == pytest.approx(0.05 * 0.004)
    assert pinene.entry_point == point
    coffee = sources_for_still(add("coffee", 0.05, point), temperature=355.0, strength=0.4)
    caffeine = next(one for one in coffee if one.compound == "caffeine")
    assert caffeine.accessible == 0.95  # it cannot boil: the tissue alone counts
    # 0.57 per h at 22.5 °C and 30 kJ/mol up to 355 K
    boil = 0.57 / 3600.0 * math.exp(30e3 / 8.314462618 * (1 / 295.65 - 1 / 355.0))
    assert caffeine.release == pytest.approx(boil)


def test_a_still_takes_no_late_additions() -> None:
    with pytest.raises(InputError, match="charge"):
        sources_for_still(add("coffee", 0.05, "wash-late"), temperature=355.0, strength=0.4)


def test_the_bed_by_hand() -> None:
    # 25 g of dried peel, 250 g/L loose, swollen by 1.3: 0.13 L in a basket of 0.6 L.
    bed = bed_of((add("dried orange peel", 0.025, "basket"),), basket_volume=6e-4, boil_up=900.0)
    width = (4 * 6e-4 / math.pi) ** (1 / 3)
    area = math.pi * width**2 / 4
    assert bed.volume == pytest.approx(1.3e-4)
    assert bed.depth == pytest.approx(1.3e-4 / area)
    assert bed.vapour_speed == pytest.approx(900.0 / 1.2e6 / 1.25 / area)
    # Ergun with 2 mm pieces and a void of 0.3
    speed, void, size = bed.vapour_speed, 0.3, 2e-3
    slope = 150 * 1.1e-5 * 0.7**2 / (void**3 * size**2) * speed
    slope += 1.75 * 1.25 * 0.7 / (void**3 * size) * speed**2
    assert bed.pressure_drop == pytest.approx(slope * bed.depth)
    assert bed_liquid((add("dried orange peel", 0.025, "basket"),)) == pytest.approx(0.075 / 860.0)
    assert bed_liquid((add("dried orange peel", 0.025, "charge"),)) == 0.0


RUN = Distil(
    "run", (Take("spirit"),), "pot", "flavour", (Cut("hearts", Until(strength=0.40)),), "rest"
)
CHARGE = Lot("spirit", water=1.6, ethanol=0.9)


def run(*additions: Addition) -> dict[str, str]:
    result = distil_with_ingredients(
        replace(RUN, additions=additions), (CHARGE,), still=STILL, pressure=101325.0
    )
    return {caution.code: caution.severity for caution in result.cautions}


def test_what_a_basket_warns_of() -> None:
    coarse = run(add("dried orange peel", 0.025, "basket"))
    assert coarse["basket-load"] == "note"
    assert "basket-full" not in coarse
    powder = run(add("orris", 0.05, "basket"))
    assert powder["basket-blocked"] in {"watch", "danger"}
    stuffed = run(add("dried orange peel", 0.14, "basket"))
    assert stuffed["basket-full"] in {"watch", "danger"}


# 74 g of dried peel, 250 g/L loose, swollen by 1.3: 0.385 L, 64 % of 0.6 L.
PEEL = add("dried orange peel", 0.074, "basket")


def test_two_ingredients_fill_the_basket_together() -> None:
    # Loose they are 1.28/1.3 = 98 % of the basket, so that they go in; swollen they do not stay.
    alone = run(PEEL)
    assert "basket-full" not in alone
    result = distil_with_ingredients(
        replace(RUN, additions=(PEEL, replace(PEEL))), (CHARGE.part(2.0),),
        still=replace(STILL, boiler_volume=10e-3), pressure=101325.0,
    )  # fmt: skip
    (full,) = [one for one in result.cautions if one.code == "basket-full"]
    assert full.severity == "danger"
    assert full.value == pytest.approx(2 * 0.074 / 250.0 * 1.3 / 6e-4)
    assert "128 %" in full.text
    loads = [one for one in result.cautions if one.code in {"basket-load", "basket-blocked"}]
    assert len(loads) == 1  # once for the bed


def test_a_bed_of_two_layers_by_hand() -> None:
    # One above the other: volumes, depths and pressure drops add; the looser layer lifts first.
    powder = add("orris", 0.02, "basket")
    first, second, both = (
        bed_of(items, basket_volume=6e-4, boil_up=900.0)
        for items in ((PEEL,), (powder,), (PEEL, powder))
    )
    assert second.lifting > first.lifting
    assert both.volume == pytest.approx(first.volume + second.volume)
    assert both.depth == pytest.approx(first.depth + second.depth)
    assert both.pressure_drop == pytest.approx(first.pressure_drop + second.pressure_drop)
    assert both.lifting == second.lifting
    assert both.loosest == second.loosest


def test_what_a_charge_warns_of() -> None:
    found = {c.code: c for c in charge_cautions((add("juniper", 0.2, "charge"),), 2.6e-3, STILL)}
    assert found["charge-foam"].value == pytest.approx((2.6e-3 + 0.2 / 1200.0) / 5e-3)
    assert found["charge-solids"].severity == "watch"  # 77 g/L
    assert charge_cautions((add("juniper", 0.2, "basket"),), 2.6e-3, STILL) == ()


def test_what_does_not_fit_a_still() -> None:
    bare = replace(STILL, basket_volume=0.0)
    with pytest.raises(InputError, match="no vapour basket"):
        check_additions((add("clove", 0.01, "basket"),), 2e-3, bare)
    with pytest.raises(InputError, match=r"it fills 1\.00 L and the basket of pot holds"):
        check_additions((add("peppermint", 0.09, "basket"),), 2e-3, STILL)
    with pytest.raises(InputError, match=r"does not go into a boiler of 5\.00 L"):
        check_additions((add("clove", 1.2, "charge"),), 4.5e-3, STILL)
    check_additions((add("clove", 0.1, "charge"),), 4.5e-3, STILL)


def test_a_bed_that_would_hold_back_the_charge() -> None:
    # 58 g of hops keep six times their mass: 0.4 L of 0.9 L.
    step = replace(RUN, additions=(add("hops", 0.058, "basket"),))
    small = Lot("spirit", water=0.5, ethanol=0.3)
    with pytest.raises(InputError, match="wetted it holds about"):
        distil_with_ingredients(step, (small,), still=STILL, pressure=101325.0)


def test_a_wash_loses_to_gas_and_yeast_what_it_should() -> None:
    step = Ferment(
        "f", "wash", 0.018, 1.066, 1.006, 295.15, 6 * DAY, 2 * DAY, 0.0017,
        additions=(add("lemon zest", 0.03, "wash-early", time=0.0),),
    )  # fmt: skip
    entries = ferment(step).account.entries
    plain = ferment(replace(step, additions=())).account.entries["geraniol"]
    assert entries["limonene"].went[BLOWN_OFF] > 5.0 * entries["citral"].went[BLOWN_OFF]
    turned = entries["citral"].went[CONVERTED]
    # Isomers: the same molar mass within two hydrogens, 152.23 to 154.25; four fifths of the moles.
    made = entries["geraniol"].came["made by yeast"] - plain.came["made by yeast"]
    assert made == pytest.approx(0.8 * turned * 154.25 / 152.23, rel=1e-3)


def test_sugar_of_fruit_is_told_not_fermented() -> None:
    step = Ferment(
        "f", "wash", 0.018, 1.066, 1.006, 295.15, 6 * DAY, 2 * DAY, 0.0017,
        additions=(add("raspberries", 1.0, "wash-early", time=0.0),),
    )  # fmt: skip
    plain = ferment(replace(step, additions=()))
    result = ferment(step)
    assert "fruit-sugar" in {caution.code for caution in result.cautions}
    ethanol = [one.account.entries["ethanol"].came["made by yeast"] for one in (plain, result)]
    assert ethanol[0] == ethanol[1]


def test_the_start_of_a_late_addition() -> None:
    late = add("cacao", 0.06, "wash-late", attenuation=0.9)
    assert addition_start(late, temperature=293.15, end=8 * DAY) / 3600.0 == pytest.approx(
        43, abs=1
    )
    with pytest.raises(InputError, match="racked after"):
        addition_start(late, temperature=293.15, end=1 * DAY)


def test_food_cautions_name_who_brought_them_once() -> None:
    both = food_cautions((add("coffee", 0.1), add("black tea", 0.1), add("coffee", 0.1)))
    codes = [caution.code for caution in both]
    assert codes.count("food-caffeine") == 1
    assert codes.count("food-anyone") == 1
    assert "roasted coffee, medium (Arabica); black tea:" in both[0].text
