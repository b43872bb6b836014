# SPDX-License-Identifier: MIT
"""Dose ladders: against balances by hand with the international density formula."""

from __future__ import annotations

import math

import pytest

from middlecut.errors import InputError, OutOfRangeError
from middlecut.insight.trials import dose_batch, dose_ladder, even_rates
from middlecut.liquid import alcoholometry
from middlecut.steps.lot import Amount, Lot


def spirit(name: str, strength: float, volume: float, oil: float = 0.0) -> Lot:
    fraction = alcoholometry.mass_fraction_from_strength(strength)
    mass = volume * alcoholometry.density_20(fraction)
    amount = Amount(oil * volume, oil * volume, oil * volume)
    return Lot(name, mass * (1.0 - fraction), mass * fraction, amounts={"limonene": amount})


BASE = spirit("base", 0.62, 4.0e-3)
FLAVOUR = spirit("flavour", 0.55, 0.3e-3, oil=0.4)


def test_pure_alcohol_of_a_glass_is_that_of_its_parts() -> None:
    glass = dose_ladder(BASE, FLAVOUR, (0.06,), glass_volume=20e-6)[0]
    assert glass.dose_volume == pytest.approx(1.2e-6, rel=1e-12)
    alcohol = 20e-6 * 0.62 + 1.2e-6 * 0.55
    assert glass.volume * glass.strength == pytest.approx(alcohol, rel=1e-9)
    # The dose weighs its volume times the density of 55 % vol by the formula.
    density = alcoholometry.density_20(alcoholometry.mass_fraction_from_strength(0.55))
    assert glass.dose_mass == pytest.approx(1.2e-6 * density, rel=1e-9)


def test_every_glass_of_a_tasting_has_its_strength() -> None:
    ladder = dose_ladder(
        BASE, FLAVOUR, even_rates(0.08, 5), glass_volume=15e-6, tasting_strength=0.2
    )
    assert [glass.glass for glass in ladder] == ["A", "B", "C", "D", "E"]
    for glass in ladder:
        assert glass.strength == pytest.approx(0.2, rel=1e-9)
        assert glass.water > 0.0
    # 15 mL of 62 % vol to 20 % vol without a dose: the published way to compute the water.
    plain = alcoholometry.dilution_water(15e-6, 0.62, 0.2)
    assert ladder[0].water == pytest.approx(plain.mass, rel=1e-9)
    assert ladder[0].batch_strength == pytest.approx(0.62, rel=1e-9)
    assert ladder[-1].batch_strength < ladder[0].batch_strength


def test_the_batch_gets_what_the_glass_got() -> None:
    dose = dose_batch(BASE, FLAVOUR, 0.05)
    glass = dose_ladder(BASE, FLAVOUR, (0.05,), glass_volume=20e-6)[0]
    assert dose.volume == pytest.approx(0.05 * 4.0e-3, rel=1e-12)
    assert dose.lot.strength == pytest.approx(glass.batch_strength, rel=1e-12)
    assert dose.mass / dose.volume == pytest.approx(glass.dose_mass / glass.dose_volume, rel=1e-9)
    # Limonene: 0.4 g/L in 0.2 L of dose, spread over the batch.
    assert dose.lot.amounts["limonene"].typical == pytest.approx(0.4 * 0.2e-3, rel=1e-9)
    assert dose.short_by == 0.0
    assert dose.to_dict()["rate"] == 0.05


def test_says_what_is_missing() -> None:
    dose = dose_batch(BASE, FLAVOUR, 0.1)
    assert dose.short_by == pytest.approx(0.1e-3, rel=1e-9)
    assert dose.largest_rate == pytest.approx(0.075, rel=1e-9)


def test_rates_are_even() -> None:
    assert even_rates(0.06, 4) == (0.0, 0.02, 0.04, 0.06)


@pytest.mark.parametrize(
    ("highest", "glasses"), [(0.0, 3), (1.5, 3), (math.nan, 3), (0.05, 1), (0.05, 27)]
)
def test_refuses_such_ladders(highest: float, glasses: int) -> None:
    with pytest.raises(OutOfRangeError):
        even_rates(highest, glasses)


@pytest.mark.parametrize(
    ("rates", "glass", "strength"),
    [
        ((-0.1,), 2e-5, None),
        ((math.inf,), 2e-5, None),
        ((0.1,), 1.0, None),
        ((0.1,), math.nan, None),
        ((0.1,), 2e-5, 0.01),
    ],
)
def test_refuses_numbers_out_of_range(
    rates: tuple[float, ...], glass: float, strength: float | None
) -> None:
    with pytest.raises(OutOfRangeError):
        dose_ladder(BASE, FLAVOUR, rates, glass_volume=glass, tasting_strength=strength)


def test_refuses_what_makes_no_ladder() -> None:
    empty = Lot("nothing", 0.0, 0.0)
    for base, flavour, rates in (
        (BASE, FLAVOUR, ()),
        (BASE, FLAVOUR, (0.1, 0.1)),
        (empty, FLAVOUR, (0.1,)),
        (BASE, empty, (0.1,)),
    ):
        with pytest.raises(InputError):
            dose_ladder(base, flavour, rates, glass_volume=2e-5)
    with pytest.raises(InputError):  # water cannot raise a strength
        dose_ladder(BASE, FLAVOUR, (0.1,), glass_volume=2e-5, tasting_strength=0.9)
