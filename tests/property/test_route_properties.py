# SPDX-License-Identifier: MIT
"""What holds for every ingredient on every route."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import middlecut as mc
from middlecut.insight.leaving import leaving
from middlecut.liquid import ingredients, volatility
from middlecut.plan.read import read_plan_text
from middlecut.steps.flavoured import distil_with_ingredients
from middlecut.steps.lot import Lot
from middlecut.steps.parameters import Addition, Distil, Ferment, Steep, Take
from middlecut.steps.result import StepResult
from middlecut.steps.scenario import Scenario
from middlecut.steps.steep import steep
from middlecut.steps.wash_additions import add_to_wash

PLAN = read_plan_text("""
[batch]
name = "small"
[still.basket]
boiler_volume = "5 L"
heater_power = "1.0 kW"
head_loss = "35 W"
basket_volume = "0.6 L"
[lot.spirit]
volume = "3 L"
strength = "42 %vol"
[[step]]
id = "run"
kind = "distil"
purpose = "flavour"
still = "basket"
from = ["spirit"]
cuts = [{ into = "first", until = "40 mL" }, { into = "end", until = "40 %vol" }]
residue = "rest"
""")
NAMES = st.sampled_from([name for name in ingredients.names() if "oak" not in name])
SPIRIT = Lot("spirit", water=0.45, ethanol=0.40)
WASH = Lot("wash", water=16.5, ethanol=1.05, solids=0.3, temperature=295.15)


def run_of(name: str, entry_point: str, scenario: Scenario) -> StepResult:
    step = PLAN.steps[0]
    assert isinstance(step, Distil)
    addition = Addition(ingredients.find(name), 0.01, "basket")
    if entry_point == "charge":
        addition = replace(addition, entry_point="charge")
    return distil_with_ingredients(
        replace(step, additions=(addition,)),
        (replace(PLAN.given[0], amounts={}),),
        still=PLAN.stills["basket"],
        pressure=101325.0,
        scenario=scenario,
    )


@given(name=NAMES, amount=st.floats(0.001, 0.03))
@settings(max_examples=12, deadline=None)
def test_no_route_creates_matter(name: str, amount: float) -> None:
    for route in mc.routes(PLAN, name, amount=amount).routes:
        for row in route.rows:
            assert sum(row.shares.values()) == pytest.approx(1.0, abs=1e-8)
            assert 0.0 <= row.share <= 1.0 + 1e-9
            assert row.concentration * route.volume * 1e-3 <= row.content * (1.0 + 1e-9)


@given(name=NAMES, amount=st.floats(0.001, 0.01))
@settings(max_examples=8, deadline=None)
def test_doubling_the_ingredient_doubles_its_compounds(name: str, amount: float) -> None:
    # The charge does not feel the ingredient at all. A steep does: twice the solids hold back
    # twice the fat and the liquid, so it gives more, and at most twice as much.
    once, twice = (mc.routes(PLAN, name, amount=mass) for mass in (amount, 2.0 * amount))
    for row in once.route("charge").rows:
        other = twice.route("charge").row(row.compound)
        assert other.concentration == pytest.approx(2.0 * row.concentration, rel=1e-9)
    for row in once.route("steep").rows:
        other = twice.route("steep").row(row.compound)
        assert other.share <= row.share * (1.0 + 1e-9)
        assert other.concentration >= row.concentration * (1.0 - 1e-9)


@given(name=NAMES, factor=st.floats(1.05, 4.0), entry_point=st.sampled_from(["charge", "basket"]))
@settings(max_examples=15, deadline=None)
def test_a_higher_volatility_never_leaves_later(name: str, factor: float, entry_point: str) -> None:
    item = ingredients.find(name)
    boiling = [marker.compound for marker in item.tracked if _boils(marker.compound)]
    higher = {volatility.grade(compound).compound: factor for compound in boiling}
    plain = run_of(name, entry_point, Scenario())
    light = run_of(name, entry_point, Scenario(volatility=higher))
    for compound in boiling:
        one, two = (leaving(run, compound, "flavour") for run in (plain, light))
        assert one is not None
        assert two is not None
        # A run keeps every share to 2e-4 of what was loaded; of what comes over that is so much:
        assert two.distilled >= one.distilled - 4e-4
        if one.centre is None or two.centre is None or one.distilled <= 0.02:
            continue
        # What comes over besides comes late and moves the middle of it all: by no more than this.
        more = max(two.distilled - one.distilled, 0.0)
        assert two.centre <= one.centre + (4e-4 + more) / one.distilled


def _boils(compound: str) -> bool:
    try:
        volatility.grade(compound)
    except mc.NotFoundError:
        return False
    return True


@given(name=NAMES, days=st.floats(0.05, 20.0), factor=st.floats(1.01, 5.0))
@settings(max_examples=25, deadline=None)
def test_more_time_in_a_steep_never_extracts_less(name: str, days: float, factor: float) -> None:
    addition = Addition(ingredients.find(name), 0.01, "steep")
    made = [
        steep(Steep("s", Take("spirit"), "out", (addition,), time), SPIRIT).made["out"].amounts
        for time in (days * 86400.0, days * factor * 86400.0)
    ]
    for compound, amount in made[0].items():
        assert made[1][compound].typical >= amount.typical * (1.0 - 1e-12)


@given(name=NAMES, contact=st.floats(0.1, 3.0), factor=st.floats(1.01, 1.3))
@settings(max_examples=10, deadline=None)
def test_more_contact_in_a_wash_never_leaves_more_in_the_solids(
    name: str, contact: float, factor: float
) -> None:
    step = Ferment("w", "wash", 18e-3, 1.066, 1.006, 295.15, 6 * 86400.0, 2 * 86400.0)
    spent = []
    for days in (contact, contact * factor):
        addition = Addition(
            ingredients.find(name), 0.02, "wash-late", time=4 * 86400.0, contact=days * 86400.0
        )
        found = add_to_wash(replace(step, additions=(addition,)), WASH, carbon_dioxide=1.0)
        spent.append(found.went["spent solids"].amounts)
    # 200 steps of time differ between the two; that moves a share by less than 1e-4.
    for compound, amount in spent[0].items():
        assert spent[1][compound].typical <= amount.typical * (1.0 + 1e-4)
