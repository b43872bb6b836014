# SPDX-License-Identifier: MIT
from __future__ import annotations

import math

import numpy as np
import pytest

from middlecut.errors import NotFoundError, OutOfRangeError
from middlecut.liquid import aroma, compounds
from middlecut.liquid.aroma import Threshold
from middlecut.liquid.sources import flavour_sources

BASES = {"read", "read-abstract", "memory", "estimate"}


def every_threshold() -> list[tuple[str, Threshold]]:
    found = []
    for name in compounds.names():
        item = aroma.thresholds(name)
        found += [
            (name, one) for one in (item.water, item.ethanol_10, item.ethanol_40) if one is not None
        ]
    return found


def test_most_volatile_compounds_have_a_threshold() -> None:
    known = {name for name, _ in every_threshold()}
    assert len(known) >= 135
    assert len(known & set(compounds.volatile_names())) >= 135
    media = [one.medium for _, one in every_threshold()]
    assert {medium: media.count(medium) >= 20 for medium in set(media)} == {
        "water": True,
        "10 % vol": True,
        "40 % vol": True,
    }


def test_thresholds_are_ordered_and_say_where_they_come_from() -> None:
    for name, one in every_threshold():
        assert 0.0 < one.low <= one.typical <= one.high, name
        assert one.basis in BASES, name
        assert flavour_sources(one.source), name
        assert one.spread in {"sources", "assumed"}


def test_memory_is_never_shown_as_measured() -> None:
    for name, one in every_threshold():
        recalled = any(source.key.startswith("M_") for source in flavour_sources(one.source))
        if recalled:
            assert one.basis in {"memory", "estimate"}, name
    assert sum(one.basis == "read" for _, one in every_threshold()) >= 18


def test_assumed_spread_is_the_middle_of_the_printed_ones() -> None:
    printed = [
        math.sqrt(one.high / one.low)
        for _, one in every_threshold()
        if one.medium == "water" and one.spread == "sources"
    ]
    assert len(printed) == 102
    assert np.median(printed) == pytest.approx(2.8, abs=0.01)
    assumed = aroma.thresholds("hexyl acetate").water
    assert assumed is not None
    assert assumed.high / assumed.typical == pytest.approx(aroma.ASSUMED_SPREAD)


@pytest.mark.parametrize(
    ("compound", "low", "typical", "high"),
    [  # µg/L in water: Belitz et al. 2009, table 5.34, p. 386
        ("beta-myrcene", 13, 14, 15),
        ("alpha-phellandrene", 40, 200, 500),
        ("citronellol", 10, 10, 40),
        ("alpha-terpineol", 280, 330, 350),
        ("cis-rose oxide", 0.1, 0.5, 0.5),
    ],
)
def test_read_rows_stand_exactly(compound: str, low: float, typical: float, high: float) -> None:
    found = aroma.thresholds(compound).water
    assert found is not None
    assert found.basis == "read"
    given = np.array([found.low, found.typical, found.high]) * 1e6
    assert given == pytest.approx([low, typical, high])


def test_a_threshold_for_the_liquid_at_hand_is_taken() -> None:
    found = aroma.thresholds("ethyl hexanoate")
    assert found.for_strength(0.4) is found.ethanol_40
    assert found.for_strength(0.08) is found.ethanol_10
    only_water = aroma.thresholds("hexanal")
    assert only_water.for_strength(0.6) is only_water.water
    assert aroma.thresholds("caffeine").for_strength(0.4) is None


def test_every_volatile_compound_has_a_henry_constant() -> None:
    for name in compounds.volatile_names():
        item = aroma.henry(name)
        assert item.constant > 0.0
        assert item.factor == {"A": 1.2, "B": 1.5, "C": 2.0, "D": 5.0}[item.quality]
        assert item.slope_basis == ("table" if item.slope != 5500.0 else item.slope_basis)
    with pytest.raises(NotFoundError, match="naringin"):
        aroma.henry("naringin")


def test_recommended_constants_stand_where_the_librarys_are_wrong() -> None:
    # mol/(m3 Pa): recommended values of the reference; the library is off by x0.1, x0.09, x110.
    expected = {"furfural": 2.7, "2-phenylethanol": 15.0, "myristicin": 0.16}
    assert {name: aroma.henry(name).constant for name in expected} == expected
    assert aroma.henry("furfural").note


def test_partition_follows_its_definition() -> None:
    # Ethyl acetate: 0.060 mol/(m3 Pa), 5600 K (Sander 2023, read); 1/(H R T) at 20 °C by hand:
    # H = 0.060 exp(5600 (1/293.15 - 1/298.15)) = 0.082654; Kaw = 1/(0.082654 x 2437.4).
    found = aroma.air_water_partition("ethyl acetate", 293.15)
    assert type(found) is float
    assert found == pytest.approx(0.004964, rel=1e-3)


def test_partition_takes_arrays_and_broadcasts() -> None:
    kelvin = np.array([[283.15], [303.15]])
    found = np.asarray(aroma.air_water_partition("linalool", kelvin, np.array([0.0, 0.1, 0.4])))
    assert found.shape == (2, 3)
    assert np.all(np.diff(found, axis=0) > 0.0)  # warmer: more in the air
    assert np.all(np.diff(found, axis=1) < 0.0)  # stronger: less in the air


def test_partition_without_ethanol_is_that_of_water() -> None:
    warm = aroma.air_water_partition("limonene", 300.0)
    assert aroma.air_water_partition("limonene", 300.0, 0.0) == warm
    assert aroma.air_water_partition("limonene", 300.0, 1e-6) == pytest.approx(warm, rel=1e-3)


@pytest.mark.parametrize("temperature", [273.0, 334.0, math.nan])
def test_partition_temperature_out_of_range(temperature: float) -> None:
    with pytest.raises(OutOfRangeError):
        aroma.air_water_partition("limonene", temperature)


@pytest.mark.parametrize("strength", [-0.01, 0.81, math.nan])
def test_solubility_strength_out_of_range(strength: float) -> None:
    with pytest.raises(OutOfRangeError):
        aroma.solubility("limonene", strength)


def test_solubility_rises_with_strength_and_keeps_its_kind() -> None:
    many = np.asarray(aroma.solubility("ethyl dodecanoate", np.linspace(0.0, 0.8, 9)))
    assert np.all(np.diff(many) > 0.0)
    assert type(aroma.solubility("ethyl dodecanoate", 0.4)) is float


def test_solubility_basis_is_told_and_what_mixes_has_none() -> None:
    assert aroma.water_solubility("limonene").basis == "memory"
    assert aroma.water_solubility("thymol").state == "solid"
    assert aroma.water_solubility("thymol").note
    for name in ("methanol", "caffeine"):
        with pytest.raises(NotFoundError, match="limit of solubility"):
            aroma.solubility(name, 0.4)


def test_computed_solubility_is_near_a_handbook_value() -> None:
    # Hexanal in water at 25 °C: about 5 g/L (general handbooks, memory); stated factor 3.
    assert 5.0 / 3.0 <= aroma.water_solubility("hexanal").value <= 15.0


def test_sources_resolve() -> None:
    assert len(flavour_sources()) == 104
    assert [source.key for source in flavour_sources("LIBS;VPS")] == ["LIBS", "VPS"]
    assert flavour_sources("estimate") == ()
    for name in compounds.volatile_names():
        item = aroma.henry(name)
        ours = item.source in {"estimate", "analog", "volatility.csv"}
        assert ours or flavour_sources(item.source), name


def test_henry_constants_from_memory_say_so() -> None:
    for name in compounds.volatile_names():
        item = aroma.henry(name)
        if any(key in item.source for key in ("M_", "VPS")):
            assert item.basis in {"memory", "estimate"}, name
