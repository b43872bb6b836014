# SPDX-License-Identifier: MIT
"""Properties of mixing, drawing, diluting and bottling, over random lots."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from middlecut.steps.blend import blend
from middlecut.steps.bottle import bottle
from middlecut.steps.dilute import dilute, water_to_strength
from middlecut.steps.hazards import flash_point
from middlecut.steps.lot import Amount, Lot
from middlecut.steps.mixing import contraction, mixed, water_lot
from middlecut.steps.parameters import Blend, Bottle, Dilute, Take
from middlecut.steps.result import CLOSURE, StepResult

MASS = st.floats(1e-3, 50.0)
TRACE = st.floats(0.0, 1e-2)


@st.composite
def lots(draw: st.DrawFn, name: str = "lot") -> Lot:
    typical = draw(TRACE)
    return Lot(
        name,
        water=draw(MASS),
        ethanol=draw(st.floats(0.0, 50.0)),
        solids=draw(st.floats(0.0, 1.0)),
        amounts={"x": Amount(typical, typical / 2, typical * 3, "memory")},
        temperature=draw(st.floats(275.0, 350.0)),
    )


def closed(result: StepResult) -> bool:
    return all(abs(entry.gap) <= CLOSURE for entry in result.account.entries.values())


@given(st.lists(lots(), min_size=2, max_size=6), st.randoms(use_true_random=False))
def test_the_order_of_a_blend_does_not_matter(parts: list[Lot], random: object) -> None:
    named = [replace(lot, name=f"lot {number}") for number, lot in enumerate(parts)]
    shuffled = list(named)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    takes = tuple(Take(lot.name) for lot in named)
    one = blend(Blend("b", takes, "mix"), tuple(named))
    two = blend(Blend("b", takes, "mix"), tuple(shuffled))
    assert one.made["mix"].volume == pytest.approx(two.made["mix"].volume, rel=1e-12)
    assert one.made["mix"].strength == pytest.approx(two.made["mix"].strength, rel=1e-12)
    assert one.made["mix"].temperature == pytest.approx(two.made["mix"].temperature, rel=1e-12)
    assert closed(one)


@given(st.lists(lots(), min_size=1, max_size=5))
def test_a_blend_lies_between_its_parts(parts: list[Lot]) -> None:
    whole = mixed(parts, "mix")
    temperatures = [lot.temperature for lot in parts]
    assert min(temperatures) - 1e-9 <= whole.temperature <= max(temperatures) + 1e-9
    clear = [replace(lot, solids=0.0) for lot in parts]
    strengths = [lot.strength for lot in clear]
    # Contraction can lift the strength of a mixture a little above the weighted mean, never
    # above its strongest part: mass fraction is a mean, and strength rises with mass fraction.
    assert min(strengths) - 1e-12 <= mixed(clear, "mix").strength <= max(strengths) + 1e-12


@given(lots("hearts"), st.floats(0.01, 0.99))
def test_drawn_and_put_back_is_the_same(lot: Lot, share: float) -> None:
    back = mixed([lot.part(share), lot.part(1.0 - share)], lot.name)
    assert back.water == pytest.approx(lot.water, rel=1e-12)
    assert back.ethanol == pytest.approx(lot.ethanol, rel=1e-12, abs=1e-300)
    assert back.solids == pytest.approx(lot.solids, rel=1e-12, abs=1e-300)
    assert back.volume == pytest.approx(lot.volume, rel=1e-12)
    assert back.amounts["x"].high == pytest.approx(lot.amounts["x"].high, rel=1e-12, abs=1e-300)


@given(lots("hearts"), st.floats(0.02, 0.98), st.integers(1, 6), st.floats(273.2, 312.0))
def test_diluting_reaches_the_strength_and_closes(
    lot: Lot, share: float, additions: int, water_temperature: float
) -> None:
    assume(lot.strength > 0.02)
    target = lot.strength * share
    step = Dilute("d", Take("hearts"), target, "cut", additions, water_temperature)
    result = dilute(step, lot)
    assert result.made["cut"].strength == pytest.approx(target, rel=1e-9)
    assert closed(result)
    water = next(row.value for row in result.figures if row.key == "water")
    assert water > 0.0


@given(lots("hearts"), st.floats(0.3, 0.9), st.floats(0.3, 0.9))
def test_diluting_twice_is_diluting_once(lot: Lot, first: float, second: float) -> None:
    assume(lot.strength > 0.05)
    halfway = lot.strength * first
    target = halfway * second
    one = water_to_strength(lot, halfway)
    two = water_to_strength(mixed([lot, water_lot(one)], "cut"), target)
    assert one + two == pytest.approx(water_to_strength(lot, target), rel=1e-9)


@given(st.floats(0.05, 0.95), st.floats(0.001, 5.0))
def test_adding_water_contracts(mass_fraction: float, water: float) -> None:
    spirit = Lot("spirit", 1.0 - mass_fraction, mass_fraction)
    parts = [spirit, water_lot(water)]
    shrinkage = contraction(parts, mixed(parts, "cut"))
    # Strong spirit shrinks on dilution; between 5 and 40 % mass the excess volume is past its
    # steepest, and more water swells the mixture by up to 0.15 % (published dilution
    # figures show it: 30 to 15 %vol takes 99.7 parts of water, not 100).
    assert shrinkage >= -2e-3 * sum(lot.volume for lot in parts)
    if mass_fraction > 0.7:
        assert shrinkage > 0.0


@given(lots("ready"), st.floats(1e-4, 2e-3), st.floats(0.0, 0.2))
def test_bottling_keeps_every_drop(lot: Lot, bottle_volume: float, loss_share: float) -> None:
    loss = lot.volume * loss_share
    assume(lot.volume - loss > bottle_volume * 1.01)
    step = Bottle("b", Take("ready"), "full", bottle_volume, max(lot.strength, 0.01), loss=loss)
    result = bottle(step, lot)
    assert closed(result)
    count = next(row.value for row in result.figures if row.key == "bottles")
    assert result.made["full"].volume == pytest.approx(count * bottle_volume, rel=1e-6)
    whole = sum(made.volume for made in result.made.values()) + loss
    assert whole == pytest.approx(lot.volume, rel=1e-9)
    assert count == math.floor(count)


@given(st.floats(0.05, 0.96), st.floats(0.05, 0.96))
def test_stronger_spirit_flashes_no_later(first: float, second: float) -> None:
    weak, strong = sorted((first, second))
    assert flash_point(strong) <= flash_point(weak) + 1e-12
