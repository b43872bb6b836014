# SPDX-License-Identifier: MIT
"""One battery over every kind of step: bounds, signs, closure, sources, limit cases."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import pytest

from middlecut.liquid import alcoholometry
from middlecut.steps.blend import blend
from middlecut.steps.bottle import bottle
from middlecut.steps.dilute import dilute
from middlecut.steps.distil import distil
from middlecut.steps.draw import draw
from middlecut.steps.ferment import ferment
from middlecut.steps.lot import Amount, Lot
from middlecut.steps.parameters import (
    Blend,
    Bottle,
    Cut,
    Dilute,
    Distil,
    Draw,
    Ferment,
    Take,
    Until,
)
from middlecut.steps.result import CLOSURE, StepResult
from middlecut.steps.still import Still
from middlecut.units import DIMENSIONS

TRACES = {
    "methanol": Amount(2e-4, 1e-4, 4e-4, "memory"),
    "ethyl acetate": Amount(3e-4, 1e-4, 6e-4, "read"),
    "3-methyl-1-butanol": Amount(2e-3, 1e-3, 3e-3, "read"),
}
LOW_WINES = Lot("low wines", 9.0, 2.4, 0.05, TRACES)
HEARTS = Lot("hearts", 0.7, 1.2, 0.0, TRACES, 288.15)
RESERVE = Lot("reserve", 1.9, 0.1, 0.03, {"acetic acid": Amount(1e-4, 5e-5, 3e-4, "read")})
POT = Still("pot", 0.030, 2400.0, head_loss=90.0, condenser_duty=4000.0)
COLUMN = replace(
    POT, name="column", stages=4.0, column_diameter=0.054, stage_holdup=3e-5, drains_back=False
)


def run(purpose: str, still: Still, *lots: Lot) -> StepResult:
    cuts = (Cut("heads", Until(volume=1e-4)), Cut("hearts 2", Until(strength=0.5)))
    step = Distil("run", tuple(Take(lot.name) for lot in lots), still.name, purpose,  # type: ignore[arg-type]
                  cuts, "rest", water=0.5, power=0.7)  # fmt: skip
    return distil(step, lots, still=still, pressure=95000.0)


def a_ferment() -> StepResult:
    return ferment(
        Ferment("f", "wash", 0.02, 1.055, 1.006, 295.15, 5e5, 1e5, 1e-3, (("late", 2e-3),))
    )


KINDS: dict[str, Callable[[], StepResult]] = {
    "ferment": a_ferment,
    "draw": lambda: draw(Draw("d", Take("hearts"), "kept"), HEARTS),
    "strip": lambda: run("strip", POT, LOW_WINES),
    "spirit": lambda: run("spirit", COLUMN, LOW_WINES, RESERVE),
    "flavour": lambda: run("flavour", replace(POT, basket_volume=1e-3), LOW_WINES),
    "blend": lambda: blend(Blend("b", (Take("hearts"), Take("reserve")), "mix"), (HEARTS, RESERVE)),
    "dilute": lambda: dilute(Dilute("d", Take("hearts"), 0.4, "cut", 3, 283.15), HEARTS),
    "bottle": lambda: bottle(Bottle("b", Take("hearts"), "full", 5e-4, 0.6, loss=1e-5), HEARTS),
}


@pytest.fixture(scope="module", params=list(KINDS))
def result(request: pytest.FixtureRequest) -> StepResult:
    return KINDS[request.param]()


def test_every_account_closes(result: StepResult) -> None:
    assert result.account.entries
    for substance, entry in result.account.entries.items():
        assert abs(entry.gap) <= CLOSURE, substance
        assert all(mass >= -1e-15 for mass in (*entry.came.values(), *entry.went.values()))


def test_the_account_is_what_the_lots_hold(result: StepResult) -> None:
    for name, lot in result.made.items():
        assert result.account.entries["ethanol"].went[name] == lot.ethanol
        assert result.account.entries["water"].went[name] == lot.water
        for compound, amount in lot.amounts.items():
            assert result.account.entries[compound].went[name] == amount.typical
    for name, lot in result.used.items():
        assert result.account.entries["ethanol"].came[name] == lot.ethanol


def test_lots_are_within_bounds(result: StepResult) -> None:
    assert result.made
    for name, lot in result.made.items():
        assert lot.name == name
        assert lot.volume > 0.0
        assert 0.0 <= lot.strength < 0.972  # the azeotrope lies at 97.2 %vol
        assert 263.15 < lot.temperature < 383.15


def test_ranges_hold_their_typical_value(result: StepResult) -> None:
    for lot in result.made.values():
        for amount in lot.amounts.values():
            slack = 1e-12 * abs(amount.high)
            assert amount.low - slack <= amount.typical <= amount.high + slack


def test_no_compound_appears_from_nowhere(result: StepResult) -> None:
    for lot in result.made.values():
        for compound in lot.amounts:
            assert sum(result.account.entries[compound].came.values()) > 0.0


def test_figures_are_finite_and_of_a_known_kind(result: StepResult) -> None:
    keys = [figure.key for figure in result.figures]
    assert len(keys) == len(set(keys))
    for figure in result.figures:
        assert figure.dimension in DIMENSIONS
        assert math.isfinite(figure.value)
        if figure.low is not None and figure.high is not None:
            assert figure.low <= figure.value <= figure.high


def test_cautions_say_something(result: StepResult) -> None:
    for caution in result.cautions:
        assert caution.severity in {"danger", "watch", "note"}
        assert caution.text.endswith(".")
        assert caution.source
    assert result.duration >= 0.0
    assert result.energy >= 0.0


def test_pure_ethanol_mass_never_grows_but_by_yeast(result: StepResult) -> None:
    entry = result.account.entries["ethanol"]
    sources = {name for name, mass in entry.came.items() if mass > 0.0}
    assert sources <= {*result.used, "made by yeast"}


def test_a_compound_of_nothing_stays_nothing() -> None:
    empty = replace(HEARTS, amounts={"methanol": Amount(0.0, 0.0, 0.0, "read")})
    made = blend(Blend("b", (Take("hearts"),), "mix"), (empty,)).made["mix"]
    assert made.amounts["methanol"].typical == 0.0
    assert made.compounds["methanol"] == 0.0


def test_diluting_to_the_same_strength_adds_nothing() -> None:
    made = dilute(Dilute("d", Take("hearts"), HEARTS.strength, "same"), HEARTS).made["same"]
    assert made.water == pytest.approx(HEARTS.water, rel=1e-9)


def test_blending_one_lot_changes_nothing() -> None:
    made = blend(Blend("b", (Take("hearts"),), "mix"), (HEARTS,)).made["mix"]
    assert (made.water, made.ethanol, dict(made.amounts)) == (
        HEARTS.water, HEARTS.ethanol, dict(HEARTS.amounts),
    )  # fmt: skip
    assert made.temperature == pytest.approx(HEARTS.temperature, abs=1e-9)


def test_water_alone_has_no_strength() -> None:
    water = Lot("water", 1.0, 0.0)
    made = blend(Blend("b", (Take("water"),), "mix"), (water,)).made["mix"]
    assert made.strength == 0.0
    assert made.volume == pytest.approx(1.0 / alcoholometry.density_20(0.0), rel=1e-12)
