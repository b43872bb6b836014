# SPDX-License-Identifier: MIT
"""Ingredients, steeps and doses in a plan: what is read, what is refused, what is predicted."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

import middlecut as mc
from middlecut.errors import InputError, PlanError, UnitError
from middlecut.liquid.own_ingredients import read_library
from middlecut.plan.quantities import read_date, read_dose
from middlecut.plan.read import read_plan_text
from middlecut.steps.additions import KEPT, SPENT
from middlecut.steps.parameters import Distil, Ferment, Steep
from middlecut.steps.wash_additions import BLOWN_OFF, CONVERTED

HEAD = """
[batch]
name = "test"
start = "2026-03-01 12:00"

[still.basket]
boiler_volume = "5 L"
heater_power = "1.0 kW"
head_loss = "35 W"
basket_volume = "0.6 L"

[still.bare]
boiler_volume = "5 L"
heater_power = "1.0 kW"

[lot.spirit]
volume = "6 L"
strength = "60 %vol"
"""
WASH = """
[[step]]
id = "wash"
kind = "ferment"
volume = "18 L"
gravity = "1.066 SG"
final_gravity = "1.006 SG"
temperature = "22 °C"
duration = "6 d"
settling = "2 d"
lees = "1.7 L"
into = "clear wash"
add = [{ ADD }]
"""
RUN = """
[[step]]
id = "run"
kind = "distil"
purpose = "flavour"
still = "STILL"
from = [{ lot = "spirit", volume = "2 L" }]
water = "0.7 L"
cuts = [{ into = "hearts", until = "40 %vol" }]
add = [{ ADD }]
"""
STEEP = """
[[step]]
id = "soak"
kind = "steep"
from = [{ lot = "spirit", volume = "1 L" }]
into = "orange spirit"
duration = "2 d"
add = [{ ADD }]
"""
BLEND = """
[[step]]
id = "marry"
kind = "blend"
from = [{ lot = "spirit", volume = "2 L" }, { lot = "orange spirit", dose = "12 mL/L" }]
into = "end"
"""
PEEL = 'ingredient = "dried orange peel", amount = "50 g"'
NIBS = 'ingredient = "cacao", amount = "60 g"'


def read(text: str, add: str, *, still: str = "basket") -> mc.Plan:
    return read_plan_text(HEAD + text.replace("ADD", add).replace("STILL", still))


def refusal(text: str, add: str, *, still: str = "basket") -> str:
    with pytest.raises(PlanError) as caught:
        read(text, add, still=still)
    assert len(caught.value.problems) == 1
    problem = caught.value.problems[0]
    assert problem.line is not None
    return str(caught.value)


def test_a_late_addition_is_read_and_predicted() -> None:
    plan = read(WASH, f'{NIBS}, entry = "wash-late", attenuation = "90 %"')
    step = plan.steps[0]
    assert isinstance(step, Ferment)
    (addition,) = step.additions
    assert (addition.amount, addition.attenuation, addition.entry_point) == (0.06, 0.9, "wash-late")
    prediction = mc.predict(plan)
    entry = prediction.account.entries["3-methylbutanal"]
    assert entry.came["cacao nibs, roasted"] > 0.0
    assert {SPENT, KEPT, BLOWN_OFF, CONVERTED, "lees", "clear wash"} <= set(entry.went)
    text = " ".join(mc.render_text(mc.make_sheet(prediction)).split())
    assert "when 90 % of the fall in gravity is done" in text


def test_a_date_counts_from_the_start_of_the_batch_or_the_pitching() -> None:
    plan = read(WASH, f'{NIBS}, entry = "wash-late", on = "2026-03-05"')
    step = plan.steps[0]
    assert isinstance(step, Ferment)
    assert step.additions[0].time == 4 * 86400.0
    pitched = WASH.replace('into = "clear', 'pitched = 2026-03-03\ninto = "clear')
    later = read(pitched, f'{NIBS}, entry = "wash-late", on = 2026-03-05').steps[0]
    assert isinstance(later, Ferment)
    assert later.additions[0].time == 2 * 86400.0


@pytest.mark.parametrize(
    ("add", "message", "remedy"),
    [
        (f'{NIBS}, entry = "wash-late"', "needs a time", "common practice"),
        (f'{NIBS}, entry = "wash-early"', "needs a time", 'after = "0 h"'),
        (f'{NIBS}, entry = "wash-late", after = "9 d"', "racked after 8 d", "Add it earlier"),
        (
            f'{NIBS}, entry = "wash-late", after = "5 d", contact = "4 d"',
            "there are only 3 d", "Shorten the contact",
        ),
        (f'{NIBS}, entry = "wash-late", attenuation = "20 %"', "50 to 99.9 %", "Give hours"),
        (f'{NIBS}, entry = "wash-late", on = "2026-02-27"', "before the wash", "Correct"),
        (f'{NIBS}, entry = "wash-late", after = "1 d", attenuation = "90 %"', "same thing", "Keep"),
        (f'{NIBS}, entry = "basket", after = "1 d"', '"wash-early" or "wash-late"', "wash-late"),
        (f'{NIBS}, after = "1 d"', '"wash-early" or "wash-late"', "wash-late"),
        (f'{NIBS}, entry = "dose"', "lot of flavour spirit", "12 mL/L"),
        (
            'ingredient = "quince", amount = "20 g", entry = "wash-late", after = "1 d"',
            "o ingredient of that name", "[ingredient.quince]",
        ),
        (
            'ingredient = "hops", amount = "40 kg", entry = "wash-late", after = "1 d"',
            "", "",
        ),
    ],
)  # fmt: skip
def test_additions_to_a_wash_that_do_not_fit(add: str, message: str, remedy: str) -> None:
    if message:
        text = refusal(WASH, add)
        assert message in text
        assert remedy in text
    else:  # only the prediction knows how much wash there is
        with pytest.raises(PlanError, match="soak up") as caught:
            mc.predict(read(WASH, add))
        assert caught.value.problems[0].key == "step.wash.add"


@pytest.mark.parametrize(
    ("add", "still", "message"),
    [
        (f'{PEEL}, entry = "basket"', "bare", "has no vapour basket"),
        ('ingredient = "peppermint", amount = "90 g", entry = "basket"', "basket", "holds 600 mL"),
        ('ingredient = "clove", amount = "4 kg", entry = "charge"', "bare", "does not go into"),
        (f'{PEEL}, entry = "basket", contact = "1 h"', "basket", "to the end of the run"),
        (f'{PEEL}, entry = "steep"', "basket", '"charge" or "basket"'),
        (f'{PEEL}, entry = "charge", after = "1 h"', "basket", "ferment step only"),
    ],
)
def test_additions_to_a_still_that_do_not_fit(add: str, still: str, message: str) -> None:
    assert message in refusal(RUN, add, still=still)


def test_a_run_closes_and_says_what_lies_in_the_basket() -> None:
    plan = read(RUN, f'{PEEL}, entry = "basket"')
    step = plan.steps[0]
    assert isinstance(step, Distil)
    assert step.additions[0].ingredient.name == "orange peel, dried"
    prediction = mc.predict(plan)
    entry = prediction.account.entries["limonene"]
    assert entry.came["orange peel, dried"] == pytest.approx(0.05 * 0.018)
    assert entry.went["hearts"] > 0.3 * 0.05 * 0.018
    codes = {caution.code for caution in prediction.cautions}
    assert {"basket-load", "food-citrus-peel"} <= codes
    assert "50.0 g of orange peel, dried (coarse) in the vapour basket" in " ".join(
        mc.render_text(mc.make_sheet(prediction)).split()
    )


def test_a_steep_and_its_dose() -> None:
    plan = read(STEEP + BLEND, PEEL)
    soak, marry = plan.steps
    assert isinstance(soak, Steep)
    assert soak.additions[0].entry_point == "steep"
    prediction = mc.predict(plan)
    assert prediction.lots["orange spirit"].strength < 0.60
    dosed = prediction.steps[marry.id].used
    assert dosed["orange spirit"].volume == pytest.approx(0.012 * 0.002, rel=1e-9)
    level = prediction.lots["end"].compounds["limonene"]
    assert level == pytest.approx(
        prediction.lots["orange spirit"].compounds["limonene"] * 0.012 / 1.012, rel=1e-3
    )


def test_a_steep_needs_an_ingredient_and_time_for_it() -> None:
    assert "at least one ingredient" in refusal(STEEP.replace("[{ ADD }]", "[]"), "")
    assert "the steep lasts only 2 d" in refusal(STEEP, f'{PEEL}, contact = "3 d"')


def test_a_dose_belongs_in_a_blend_beside_something_else() -> None:
    alone = BLEND.replace('{ lot = "spirit", volume = "2 L" }, ', "")
    assert "something that is dosed" in refusal(STEEP + alone, PEEL)
    wrong = STEEP.replace('volume = "1 L"', 'dose = "12 mL/L"')
    assert "a blend step only" in refusal(wrong, PEEL)


def test_a_lot_may_not_bear_the_name_of_an_ingredient_in_use() -> None:
    same = STEEP.replace("orange spirit", "orange peel, dried")
    assert "n ingredient of this plan has the same name" in refusal(same, PEEL)


def test_bottles_take_no_ingredients() -> None:
    step = """
[[step]]
id = "down"
kind = "dilute"
from = [{ lot = "spirit", volume = "1 L" }]
strength = "46 %vol"
into = "x"
add = [{ ADD }]
"""
    assert "dilute step takes no ingredients" in refusal(step, PEEL)


OWN = '[ingredient."my peel"]\nlike = "dried orange peel"\nmarkers = { limonene = "2 g/kg" }\n'


def test_own_ingredients_come_from_the_plan_or_a_library(tmp_path: Path) -> None:
    add = 'ingredient = "my peel", amount = "50 g"'
    plan = read_plan_text(HEAD + OWN + STEEP.replace("ADD", add))
    lot = mc.predict(plan).lots["orange spirit"]
    file = tmp_path / "library.toml"
    file.write_text(OWN, encoding="utf-8")
    from_file = read_plan_text(HEAD + STEEP.replace("ADD", add), library=read_library(file))
    assert mc.predict(from_file).lots["orange spirit"] == lot
    assert lot.amounts["limonene"].typical < 0.05 * 2e-3


def test_every_fault_of_an_own_ingredient_is_told_at_once() -> None:
    broken = """
[ingredient.odd]
lke = "clove"
kinetics = "stone"
bulk_density = "9 kg/m3"
moisture = "200 %"
safety = ["dragons"]
markers = { linalool = "12 mg/L", geraniol = { low = "2 g/kg", typical = "1 g/kg", high = "9 g/kg"}}
"""
    with pytest.raises(PlanError) as caught:
        read_plan_text(HEAD + broken + STEEP.replace("ADD", PEEL))
    keys = {problem.key.rpartition(".")[2] for problem in caught.value.problems}
    assert keys == {
        "lke", "kinetics", "bulk_density", "moisture", "safety", "linalool", "geraniol",
    }  # fmt: skip


@pytest.mark.parametrize("raw", ["12", "12 mL", 12, "3 L/L", "x/L", "12 g/L"])
def test_doses_that_are_none(raw: object) -> None:
    with pytest.raises(InputError):
        read_dose(raw)


def test_a_dose_may_be_written_per_any_volume() -> None:
    assert read_dose("12 mL/L") == pytest.approx(0.012, rel=1e-12)
    assert read_dose("2 floz_us/gal_us") == pytest.approx(2 / 128, rel=1e-12)
    assert read_dose("6 mL / 500 mL") == pytest.approx(0.012, rel=1e-12)
    with pytest.raises(UnitError):
        read_dose("12 %")


def test_dates() -> None:
    noon = dt.datetime(2026, 3, 5, 12)  # noqa: DTZ001 - wall time of the shed
    assert read_date("2026-03-05") == read_date(dt.date(2026, 3, 5)) == noon
    assert read_date("2026-03-05 18:30").hour == 18
    with pytest.raises(InputError, match="a date is wanted"):
        read_date("tomorrow")


def test_scaling_scales_ingredients_too() -> None:
    from middlecut.plan.scale_values import changes_between
    from middlecut.plan.scaling import enlarge

    plan = read(WASH, f'{NIBS}, entry = "wash-late", attenuation = "90 %"')
    larger = enlarge(plan, 2.0)
    step = larger.steps[0]
    assert isinstance(step, Ferment)
    assert step.additions[0].amount == 0.12
    changed = {change.key: change.text for change in changes_between(plan, larger)}
    assert changed['step."wash".add[0].amount'] == "0.12 kg"
