# SPDX-License-Identifier: MIT
"""Rates, partition and stripping: forms, temperature, strength, ends of the range."""

from __future__ import annotations

import math

import numpy as np
import pytest

from middlecut.errors import OutOfRangeError
from middlecut.liquid import extraction, ingredients
from middlecut.liquid.extraction_table import Range
from middlecut.liquid.ingredients import BASES


def rate(name: str, form: ingredients.Form, temperature: float, strength: float = 0.4) -> Range:
    return extraction.extraction(
        "linalool",
        ingredients.find(name),
        form=form,
        temperature=temperature,
        strength=strength,
    ).rate


def test_vanilla_doubles_per_ten_kelvin() -> None:
    # Recalled in the vanilla literature: twice the rate per 10 K, 0.05 to 0.10 per day split.
    cool, warm = (rate("vanilla", "whole", kelvin) for kelvin in (293.15, 303.15))
    assert warm.typical / cool.typical == pytest.approx(2.0, rel=0.01)
    assert cool.low * 86400.0 == pytest.approx(0.05, rel=0.02)
    assert cool.high * 86400.0 == pytest.approx(0.10, rel=0.02)


@pytest.mark.parametrize("name", ingredients.names())
def test_finer_is_never_slower(name: str) -> None:
    rates = [rate(name, form, 293.15).typical for form in ingredients.FORMS]
    assert rates == sorted(rates)


def test_whole_juniper_is_three_to_five_times_slower() -> None:
    whole, crushed = (rate("juniper", form, 293.15).typical for form in ("whole", "coarse"))
    assert 3.0 <= crushed / whole <= 5.0  # common practice


def test_fresh_zest_wants_strong_spirit() -> None:
    # A third of the rate at 50 %vol against 93 %vol (an estimate of the citrus literature).
    weak, strong = (rate("orange zest", "coarse", 293.15, f).typical for f in (0.50, 0.93))
    assert strong / weak == pytest.approx(3.0, rel=0.02)


def test_stirring_helps_where_it_was_not_measured_to_be_idle() -> None:
    coffee, pepper = ingredients.find("coffee"), ingredients.find("pepper")
    gains = []
    for one in (coffee, pepper):
        still, stirred = (
            extraction.extraction(
                "linalool", one, temperature=293.15, strength=0.4, stirred=moved
            ).rate.typical
            for moved in (False, True)
        )
        gains.append(stirred / still)
    assert gains == pytest.approx([1.0, 1.3])


def test_partition_by_hand() -> None:
    # log P of linalool 2.97: K = 0.1/900 · 10^(2.97 - 0.4·(0.93·2.97 + 0.40)) m³/kg
    from middlecut.liquid import compounds

    log_p = compounds.find("linalool").log_p
    by_hand = 0.1 / 900.0 * 10.0 ** (log_p - 0.4 * (0.93 * log_p + 0.40))
    assert extraction.solid_liquid_partition("linalool", 0.1, 0.4) == pytest.approx(by_hand)
    assert extraction.solid_liquid_partition("dragon's blood", 0.1, 0.4) == 0.0
    assert extraction.solid_liquid_partition("linalool", 0.0, 0.4) == 0.0


def test_equilibrium_and_time_of_a_release() -> None:
    release = extraction.Release("x", Range(1e-5, 1e-4, 1e-3), Range(0.5, 0.8, 1.0), 1e-3, "read")
    assert release.equilibrium_share(1.0, 1e-3) == pytest.approx(0.5)
    assert release.equilibrium_share(0.0, 0.0) == 0.0
    half = math.log(2.0) / 1e-4
    assert release.released_share(half, solid=1.0, liquid=1e-3) == pytest.approx(0.8 * 0.5 * 0.5)
    assert release.released_share(0.0, solid=1.0, liquid=1e-3) == 0.0


def test_the_weakest_basis_counts() -> None:
    release = extraction.extraction(
        "2-furfurylthiol", ingredients.find("coffee"), temperature=293.15, strength=0.4
    )
    assert release.basis == "memory"  # the share is read in an abstract, the fat is recalled
    assert release.accessible.high <= 0.25
    assert release.basis in BASES


@pytest.mark.parametrize(
    ("temperature", "strength"),
    [
        (250.0, 0.4),
        (380.0, 0.4),
        (293.15, -0.1),
        (293.15, 0.99),
        (math.nan, 0.4),
        (293.15, math.nan),
    ],
)
def test_out_of_range(temperature: float, strength: float) -> None:
    with pytest.raises(OutOfRangeError):
        extraction.extraction(
            "linalool", ingredients.find("clove"), temperature=temperature, strength=strength
        )


@pytest.mark.parametrize("bad", [-0.1, 1.1, math.nan])
def test_a_share_of_fat_is_a_share(bad: float) -> None:
    with pytest.raises(OutOfRangeError):
        extraction.solid_liquid_partition("linalool", bad, 0.4)


def test_stripping_of_scalars_and_arrays() -> None:
    gas = np.array([0.0, 1.0, 50.0])
    present = extraction.stripped_fraction_present(0.02, gas)
    assert present == pytest.approx([0.0, -math.expm1(-0.02), -math.expm1(-1.0)])
    assert isinstance(extraction.stripped_fraction_present(0.02, 50.0), float)
    produced = extraction.stripped_fraction_produced(0.02, gas)
    assert produced == pytest.approx([0.0, 1 - -math.expm1(-0.02) / 0.02, math.exp(-1.0)])


def test_the_series_meets_the_formula() -> None:
    below, above = (
        extraction.stripped_fraction_produced(1.0, x) / x
        for x in (1e-5 * 0.999999, 1e-5 * 1.000001)
    )
    assert below == pytest.approx(above, rel=2e-6)


@pytest.mark.parametrize("bad", [-1.0, math.inf, math.nan])
def test_stripping_refuses_what_makes_no_sense(bad: float) -> None:
    with pytest.raises(OutOfRangeError):
        extraction.stripped_fraction_present(bad, 1.0)
    with pytest.raises(OutOfRangeError):
        extraction.stripped_fraction_produced(1.0, bad)
