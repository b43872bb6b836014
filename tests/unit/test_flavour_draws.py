# SPDX-License-Identifier: MIT
"""A draw of an ingredient's content reaches the bottle by every entry point."""

from __future__ import annotations

from functools import cache

import pytest

import middlecut as mc
from middlecut.insight.entry_points import ENTRY_POINTS
from middlecut.insight.fate import final_lot
from middlecut.insight.route_model import Routes
from middlecut.plan.model import Plan
from middlecut.plan.predict import walk
from middlecut.steps.scenario import Scenario

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
