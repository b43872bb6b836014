# SPDX-License-Identifier: MIT
"""Bands of spirit on oak are as wide as the ranges they rest on."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from middlecut.insight.draws import Beliefs, vary
from middlecut.insight.uncertainty import NINETY, uncertain_inputs
from middlecut.liquid import alcoholometry
from middlecut.liquid.evaporation import YEAR, climate_of
from middlecut.liquid.oak_pieces import CASK_AREA_PER_VOLUME, cask_area
from middlecut.plan.model import Batch, Plan
from middlecut.plan.predict import walk
from middlecut.steps.lot import Lot
from middlecut.steps.parameters import Take, Wood
from middlecut.steps.result import StepResult
from middlecut.steps.scenario import Scenario
from middlecut.steps.wood import wood
from middlecut.steps.wood_contact import ABSORBED, EVAPORATED

CASK = Wood(
    "oak", Take("new"), "aged", YEAR, "cask", "american oak", "medium toast",
    climate="hot dry", cask_volume=0.2,
)  # fmt: skip


def spirit(volume: float = 0.2) -> Lot:
    share = alcoholometry.mass_fraction_from_strength(0.60)
    mass = alcoholometry.density_20(share) * volume
    return Lot("new", water=mass * (1.0 - share), ethanol=mass * share)


def plan_of(step: Wood) -> Plan:
    return Plan("oak.toml", Batch("Oak"), (step,), {}, (spirit(),))


def drawn(step: Wood, key: str, z: float) -> StepResult:
    """Return the step with one input at z standard deviations and all others as usual."""
    plan = plan_of(step)
    inputs = tuple(one for one in uncertain_inputs(plan) if not one.key.startswith("given."))
    assert key in {one.key for one in inputs}
    row = np.array([z * NINETY if one.key == key else 0.0 for one in inputs])
    varied, scenario = vary(plan, Beliefs(inputs), row)
    return walk(varied, replace(scenario, lean=False)).results["oak"]


def lost(result: StepResult) -> float:
    entries, whole = result.account.entries, spirit()
    gone = entries["water"].went[EVAPORATED] + entries["ethanol"].went[EVAPORATED]
    return gone / (whole.water + whole.ethanol)


@pytest.mark.parametrize(("z", "end"), [(-1.0, 0), (0.0, 1), (1.0, 2)])
def test_evaporation_is_drawn_over_the_range_of_its_climate(z: float, end: int) -> None:
    # hot dry: 4, 6 and 8 % of the volume in a year from a full cask of 200 L. Ours is by mass, and
    # water and ethanol leave unevenly, so that share by mass and by volume differ a little.
    share = climate_of("hot dry").loss[end]
    scale = cask_area(0.2) / 0.2 / CASK_AREA_PER_VOLUME
    assert lost(drawn(CASK, "step.oak.evaporation", z)) == pytest.approx(share * scale, rel=0.1)


def test_drift_is_drawn_over_its_range() -> None:
    low, typical, high = climate_of("hot dry").drift
    weak, strong = (drawn(CASK, "step.oak.drift", z).made["aged"].strength for z in (-1.0, 1.0))
    usual = drawn(CASK, "step.oak.drift", 0.0).made["aged"].strength
    assert weak < usual < strong
    assert strong - weak == pytest.approx(high - low, rel=0.1)
    assert low < typical < high


def test_what_soaks_in_is_drawn() -> None:
    key = "step.oak.absorption"
    low, usual, high = (
        drawn(CASK, key, z).account.entries["water"].went[ABSORBED] for z in (-1.0, 0.0, 1.0)
    )
    # 1.5, 2.5 and 4.0 L for each m2.
    assert low / usual == pytest.approx(0.6)
    assert high / usual == pytest.approx(1.6)


def test_a_loss_of_the_users_own_is_not_drawn() -> None:
    keys = {one.key for one in uncertain_inputs(plan_of(replace(CASK, yearly_loss=0.05)))}
    assert "step.oak.evaporation" not in keys
    assert "step.oak.drift" in keys


def test_what_is_dissolved_of_the_wood_is_drawn() -> None:
    solids = {z: drawn(CASK, "content.wood:oak.other extract", z).made["aged"].solids
              for z in (-1.0, 0.0, 1.0)}  # fmt: skip
    assert solids[-1.0] < solids[0.0] < solids[1.0]


def test_a_step_named_like_an_ingredient_keeps_its_own_contents() -> None:
    rich = Scenario(content={("cured vanilla pods", "vanillin"): 2.0})
    named = replace(CASK, id="cured vanilla pods")
    usual = wood(named, spirit()).made["aged"].amounts["vanillin"].typical
    assert wood(named, spirit(), scenario=rich).made["aged"].amounts["vanillin"].typical == usual
