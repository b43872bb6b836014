# SPDX-License-Identifier: MIT
"""A compound of one's own in a plan: in a bought lot, a wash, a still, a steep and the bottle."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import middlecut as mc
from middlecut.errors import PlanError
from middlecut.insight.fate import fate
from middlecut.insight.narrow import read_lab_csv
from middlecut.insight.odour import odour_profile
from middlecut.insight.uncertainty import uncertain_inputs
from middlecut.liquid.own_ingredients import read_library
from middlecut.liquid.own_names import OwnName
from middlecut.plan.model import Plan
from middlecut.plan.read import read_plan_text

NAME = "meadow lactone"
LACTONE = """
[compound."meadow lactone"]
formula = "C8H14O2"
log_p = 2.1
boiling_point = "215 °C"
air_water = 0.0007
descriptor = "coconut"
threshold = { water = "20 µg/L", spirit = "60 µg/L" }
"""
GRASS = """
[ingredient."sweet grass"]
like = "chamomile"
markers = { "Meadow Lactone" = { low = "20 mg/kg", typical = "60 mg/kg", high = "150 mg/kg" }, mystery = "5 mg/kg" }
"""  # noqa: E501 - one line of a plan
STEPS = """
[batch]
name = "Meadow"

[still.pot]
boiler_volume = "5 L"
heater_power = "1 kW"
stages = 2
basket_volume = "1 L"
condenser_duty = "3 kW"
element_covered_above = "0 L"

[lot.bought]
volume = "3 L"
strength = "30 %vol"
compounds = { "MEADOW lactone" = "2 mg/L", "ethyl acetate" = "100 mg/L" }

[[step]]
id = "wash"
kind = "ferment"
into = "wash"
volume = "2 L"
gravity = "1.060 SG"
final_gravity = "1.005 SG"
temperature = "22 °C"
duration = "8 d"
add = [{ ingredient = "sweet grass", amount = "10 g", entry = "wash-early", after = "0 h" }]
compounds = { "meadow lactone" = "1 mg/L" }

[[step]]
id = "run"
kind = "distil"
from = ["bought"]
still = "pot"
purpose = "flavour"
cuts = [{ into = "hearts", until = "60 %vol" }, { into = "tails", until = "20 %vol" }]
residue = "rest"
add = [
  { ingredient = "sweet grass", amount = "10 g", entry = "basket" },
  { ingredient = "sweet grass", amount = "10 g", entry = "charge" },
]

[[step]]
id = "soak"
kind = "steep"
from = [{ lot = "hearts", volume = "200 mL" }]
into = "grass spirit"
duration = "3 d"
add = [{ ingredient = "sweet grass", amount = "5 g" }]

[[step]]
id = "marry"
kind = "blend"
from = ["hearts", { lot = "grass spirit", dose = "50 mL/L" }]
into = "spirit"
"""
DOUBLE = """
[compound.b]
synonyms = "meadow lactone"
log_p = 2
molar_mass = "150 g/mol"
boiling_point = "200 °C"
"""
TEXT = LACTONE + GRASS + STEPS


def test_it_goes_the_whole_way_and_its_mass_closes() -> None:
    found = mc.predict(read_plan_text(TEXT))
    for step, name in (("wash", "wash"), ("run", "hearts"), ("soak", "grass spirit")):
        assert found.steps[step].made[name].compounds[NAME] > 0.0
    for result in found.steps.values():
        entry = result.account.entries.get(NAME)
        if entry is not None:
            assert sum(entry.went.values()) == pytest.approx(sum(entry.came.values()), rel=1e-9)
    # 2 mg/L of 3 L, and 20 g of 60 mg/kg
    came = found.steps["run"].account.entries[NAME].came
    assert sum(came.values()) == pytest.approx(6e-6 + 1.2e-6, rel=1e-9)
    # what nobody describes stays in the boiler, as before
    assert found.lots["hearts"].compounds.get("mystery", 0.0) == 0.0


def test_it_leaves_a_wash_by_its_own_henry_constant() -> None:
    # of the ingredient only: levels that a plan gives are those of the finished wash
    text = TEXT.replace('compounds = { "meadow lactone" = "1 mg/L" }', "")
    heavy = mc.predict(read_plan_text(text)).lots["wash"].compounds[NAME]
    light = text.replace("air_water = 0.0007", "air_water = 0.07")
    assert mc.predict(read_plan_text(light)).lots["wash"].compounds[NAME] < 0.5 * heavy
    # in the same process, the first once more: nothing of the second was kept for it
    assert mc.predict(read_plan_text(text)).lots["wash"].compounds[NAME] == heavy


def test_describing_a_marker_later_takes_effect() -> None:
    bare = STEPS.replace('"MEADOW lactone" = "2 mg/L", ', "").replace(
        'compounds = { "meadow lactone" = "1 mg/L" }', ""
    )
    before = mc.predict(read_plan_text(GRASS + bare))
    after = mc.predict(read_plan_text(LACTONE + GRASS + bare))
    assert before.lots["hearts"].compounds.get("Meadow Lactone", 0.0) == 0.0
    assert after.lots["hearts"].compounds[NAME] > 0.0


def test_the_nose_knows_it_and_what_nobody_describes_is_no_obstacle() -> None:
    found = odour_profile(mc.predict(read_plan_text(TEXT)).lots["spirit"])
    row = next(row for row in found.rows if row.compound == NAME)
    assert row.oav == pytest.approx(row.concentration / 0.06, rel=1e-9)  # 60 µg/L
    assert row.descriptors == ("coconut",)
    assert "mystery" in found.without_threshold


def test_routes_follow_it() -> None:
    found = mc.routes(read_plan_text(TEXT), "sweet grass")
    for way in ("wash-late", "charge", "basket", "dose"):
        if way in {route.entry_point for route in found.routes}:
            odour = found.route(way).row(NAME).odour
            assert odour is not None
            assert odour.oav > 0.0
    assert sum(fate(read_plan_text(TEXT), "MEADOW Lactone").shares().values()) == pytest.approx(1.0)


def test_diagnosis_sees_its_odour_activity() -> None:
    found = mc.diagnose(read_plan_text(TEXT), "coconut:5")
    cause = found.causes[0]  # too much of what brings it
    assert cause.compounds == ("meadow lactone",)
    assert re.match(r"meadow lactone at \d+ times its threshold", cause.prediction)
    assert found.to_dict()


def test_draws_spread_its_volatility() -> None:
    plan = read_plan_text(TEXT)
    keys = {one.key: one for one in uncertain_inputs(plan, [plan.compounds[NAME].label])}
    # grade C with a boiling point: 2.6 in two of three cases, to the power 1.645 for nine of ten
    assert keys[f"volatility.{NAME}"].up == pytest.approx(2.62**1.645, rel=0.02)
    found = mc.predict(plan, draws=40, seed=1).lots["hearts"].amounts[NAME]
    assert found.low < found.typical < found.high


def test_as_json_it_is_a_plain_name() -> None:
    import json

    text = json.dumps(mc.predict(read_plan_text(TEXT)).to_dict())
    assert json.loads(text)["lots"]["hearts"]["compounds"][NAME]["mg_per_L"] > 0.0


def library(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "mine.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_it_may_stand_in_a_library(tmp_path: Path) -> None:
    own = read_library(library(tmp_path, LACTONE + GRASS))
    from_file = mc.predict(read_plan_text(STEPS, library=own))
    assert from_file.lots == mc.predict(read_plan_text(TEXT)).lots


def test_the_plan_wins_over_the_library_for_its_ingredients_too(tmp_path: Path) -> None:
    light = LACTONE.replace("215 °C", "150 °C")
    own = read_library(library(tmp_path, light + GRASS))
    found = read_plan_text(LACTONE + STEPS, library=own)
    assert mc.predict(found).lots == mc.predict(read_plan_text(TEXT)).lots
    names = {m.compound for m in found.ingredients["sweet grass"].markers if m.compound == NAME}
    assert {name.definition for name in names if isinstance(name, OwnName)} == {
        found.compounds[NAME]
    }


def test_an_edited_text_is_read_with_what_the_plan_knows(tmp_path: Path) -> None:
    own = read_library(library(tmp_path, LACTONE + GRASS))
    plan = read_plan_text(STEPS, library=own)
    again = read_plan_text(plan.text, plan.path, plan.library)
    assert again.compounds == plan.compounds
    assert mc.predict(again).lots == mc.predict(plan).lots


def test_laboratory_results_may_name_it(tmp_path: Path) -> None:
    path = tmp_path / "lab.csv"
    path.write_text("lot,compound,value\nhearts,Meadow Lactone,2 mg/L\n", encoding="utf-8")
    plan: Plan = read_plan_text(TEXT)
    results, refused = read_lab_csv(path, plan.compounds.values())
    assert not refused
    found = mc.narrow_volatility(plan, "run", results)
    assert found[0].volatility.spread < found[0].volatility_before.spread
    assert read_lab_csv(path)[1]


@pytest.mark.parametrize(
    ("old", "new", "key", "words"),
    [
        ("log_p = 2.1", "", "log_p", "is needed"),
        ("log_p = 2.1", 'log_p = 2.1\nmelts = "20 °C"', "melts", "no key of that name"),
        ('boiling_point = "215 °C"\nair_water = 0.0007', "", "boiling_point", "is needed"),
        ('"215 °C"', '"9000 °C"', "boiling_point", "Allowed is -40 °C to 390 °C"),
        ("air_water = 0.0007", 'cas = "64-17-5"', "cas", "goes by that"),
        ('"60 µg/L"', '"60 µg"', "spirit", ""),
        ("MEADOW lactone", "meadw lactone", '"meadw lactone"', "No compound of that name"),
        ("MEADOW lactone", 'meadow lactone" = "1 mg/L", "MEADOW lactone', "compounds", "same"),
        (GRASS, DOUBLE + GRASS, "b", "same name"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_named_with_its_place(old: str, new: str, key: str, words: str) -> None:
    with pytest.raises(PlanError) as caught:
        read_plan_text(TEXT.replace(old, new))
    problem = caught.value.problems[0]
    assert key in problem.key
    assert words in problem.message
    assert problem.line
    assert problem.remedy


def test_a_built_in_name_is_refused() -> None:
    with pytest.raises(PlanError, match="goes by that"):
        read_plan_text(TEXT.replace('[compound."meadow lactone"]', "[compound.linalool]"))


def test_every_fault_is_told_at_once() -> None:
    broken = LACTONE.replace("2.1", '"x"').replace("215 °C", "215").replace("C8H14O2", "C8H14Q2")
    with pytest.raises(PlanError) as caught:
        read_plan_text(broken + STEPS)
    keys = {problem.key.rpartition(".")[2] for problem in caught.value.problems}
    assert {"log_p", "boiling_point", "formula"} <= keys
