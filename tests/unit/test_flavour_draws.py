# SPDX-License-Identifier: MIT
"""A draw of an ingredient's content reaches the bottle by every entry point."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

import middlecut as mc
from middlecut.insight.entry_points import ENTRY_POINTS
from middlecut.insight.fate import final_lot
from middlecut.insight.route_model import Routes
from middlecut.insight.uncertainty import uncertain_inputs
from middlecut.liquid import extraction, ingredients, partition
from middlecut.plan.model import Plan
from middlecut.plan.predict import walk
from middlecut.steps.ferment import ferment
from middlecut.steps.gravity_course import gravity_course
from middlecut.steps.lot import Lot
from middlecut.steps.parameters import Addition, Ferment, Steep, Take
from middlecut.steps.result import StepResult
from middlecut.steps.scenario import AIR, SOLID, Scenario
from middlecut.steps.steep import steep

HALF = 0.5


@cache
def vanilla() -> Routes:
    return mc.routes(mc.load_plan(mc.example_path()), "vanilla", amount=0.004)


def vanillin(plan: Plan, factor: float) -> float:
    done = walk(plan, Scenario(content={("cured vanilla pods", "vanillin"): factor}))
    results = tuple(done.results.values())
    lots = {name: lot for result in results for name, lot in result.made.items()}
    return lots[final_lot(results)].amounts["vanillin"].typical


@pytest.mark.parametrize("way", ENTRY_POINTS)
def test_half_the_content_gives_half_the_marker(way: str) -> None:
    # Nothing here is near saturation, so all is linear; the integrator is good to 2e-4.
    plan = vanilla().route(way).plan
    nominal = vanillin(plan, 1.0)
    assert nominal > 0.0
    assert vanillin(plan, HALF) == pytest.approx(HALF * nominal, rel=1e-3)


def share(scenario: Scenario, contact: float | None = None) -> float:
    """Return the pinene that is in the racked wash. [kg]"""
    return _ferment(scenario, contact).made["wash"].amounts["alpha-pinene"].typical


def _ferment(scenario: Scenario, contact: float | None) -> StepResult:
    late = Addition(ingredients.find("coriander"), 0.05, "wash-late", attenuation=0.90,
                    contact=contact)  # fmt: skip
    step = Ferment("f", "wash", 0.02, 1.060, 1.000, duration=5 * 86400.0, settling=86400.0,
                   temperature=293.15, profile="sugar", additions=(late,))  # fmt: skip
    return ferment(step, scenario=scenario)


def test_midpoint_and_slope_move_a_late_addition() -> None:
    start = "add_1_start"
    usual, slow = (
        {one.key: one.value for one in _ferment(scenario, None).figures}[start]
        for scenario in (
            Scenario(lean=True),
            Scenario(process={("f", "midpoint"): 1.5}, lean=True),
        )
    )
    # t = M + ln(f/(1 - f))/B, so half of M more.
    course = gravity_course(293.15)
    assert slow - usual == pytest.approx(0.5 * (course.midpoint[0] * course.midpoint[1]) ** 0.5)
    never = share(Scenario(process={("f", "midpoint"): 8.0}, lean=True))
    assert 0.0 <= never < 0.01 * share(Scenario(lean=True))  # racked before anything is out
    kept = share(Scenario(process={("f", "midpoint"): 8.0}, lean=True), contact=86400.0)
    assert kept > never  # a contact that is asked for is had


def test_a_volatile_that_likes_the_gas_more_leaves_with_it() -> None:
    more = Scenario(process={(AIR, "alpha-pinene"): 2.0}, lean=True)
    assert share(more) < share(Scenario(lean=True))


def test_inputs_of_a_wash_with_ingredients() -> None:
    plan = vanilla().route("wash-late").plan
    found = {one.key: one for one in uncertain_inputs(plan)}
    course = gravity_course(293.15)
    step = next(one for one in plan.steps if isinstance(one, Ferment) and one.additions)
    assert found[f"step.{step.id}.midpoint"].up == pytest.approx(
        (course.midpoint[1] / course.midpoint[0]) ** 0.5
    )
    tracked = {
        marker.compound
        for one in plan.steps
        if isinstance(one, Ferment)
        for addition in one.additions
        for marker in addition.ingredient.tracked
    }
    air = [one for key, one in found.items() if key.startswith(AIR)]
    assert air
    assert {one.target[2] for one in air} < tracked
    assert all(one.up == partition.henry(one.target[2]).factor for one in air)
    banded = mc.predict_bands(plan, 20, 0, workers=1)
    assert banded.ensemble is not None
    assert banded.ensemble.used == 20


def test_the_range_of_a_steep_covers_its_partition() -> None:
    # In a weak steep the fat of coffee holds beta-damascenone back; with K three times as large the
    # liquid gets V/(V + 3 K m) of what comes out, three times as small V/(V + K m/3).
    coffee, water = ingredients.find("coffee"), Lot("water", water=1.0, ethanol=0.0)
    sure = tuple(replace(one, low=one.typical, high=one.typical) for one in coffee.markers)
    addition = Addition(replace(coffee, markers=sure), 0.06, "steep")
    step = Steep("s", Take("water"), "brew", (addition,), duration=1e8)
    found = steep(step, water).made["brew"].amounts["beta-damascenone"]
    release = extraction.extraction("beta-damascenone", coffee, temperature=293.15, strength=0.0)
    volume, held, access = water.volume, release.partition * 0.06, release.accessible
    weak = access.low / access.typical * (volume + held) / (volume + 3.0 * held)
    strong = access.high / access.typical * (volume + held) / (volume + held / 3.0)
    # 1 %: the water that the coffee brings.
    assert found.low / found.typical == pytest.approx(weak, rel=0.01)
    assert found.high / found.typical == pytest.approx(strong, rel=0.01)


def test_what_the_solids_of_a_wash_hold_back_is_drawn() -> None:
    plan = mc.load_plan(mc.example_path())
    step = plan.step("ferment-2")
    assert isinstance(step, Ferment)
    (nibs,) = step.additions
    solid = SOLID + nibs.ingredient.name
    keys = {one.target[2] for one in uncertain_inputs(plan) if one.target[:2] == ("process", solid)}
    assert {"linalool", "tetramethylpyrazine", "3-methylbutanal"} <= keys
    # What sits in the solids at rest is held / (held + volume), as in a steep; linalool of cacao
    # dissolves in its fat, the pyrazine hardly does.
    plain = walk(plan).results["ferment-2"].made["wash 2"].amounts
    factors = {(solid, compound): 3.0 for compound in keys}
    tight = walk(plan, Scenario(process=factors)).results["ferment-2"].made["wash 2"].amounts
    for compound, at_most in (("linalool", 0.95), ("tetramethylpyrazine", 0.999)):
        release = extraction.extraction(
            compound, nibs.ingredient, form=nibs.form, temperature=step.temperature, strength=0.04
        )
        held = release.partition * nibs.amount / step.volume
        resting = (1.0 + held) / (1.0 + 3.0 * held)  # were it at rest; the release is slower
        found = tight[compound].typical / plain[compound].typical
        assert resting - 0.02 < found < at_most
        # The range of a single prediction has it too.
        assert plain[compound].low < tight[compound].typical
