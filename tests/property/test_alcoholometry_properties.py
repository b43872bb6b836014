# SPDX-License-Identifier: MIT
"""Round trips, monotony and balances of alcoholometry and extract for numbers at large."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from middlecut.liquid import alcoholometry as al
from middlecut.liquid import extract as ex

fractions = st.floats(0.0, 1.0)
temperatures = st.floats(253.15, 313.15)
volumes = st.floats(1e-6, 1.0)


@given(fractions, temperatures)
def test_density_there_and_back(w: float, temperature: float) -> None:
    back = al.mass_fraction_from_density(al.density(w, temperature), temperature)
    assert back == pytest.approx(w, abs=1e-9)


@given(fractions)
def test_strength_there_and_back(strength: float) -> None:
    w = al.mass_fraction_from_strength(strength)
    assert al.strength_from_mass_fraction(w) == pytest.approx(strength, abs=1e-9)
    assert al.strength_from_proof(al.proof_from_strength(strength)) == pytest.approx(
        strength, abs=1e-9
    )
    x = al.mole_fraction_from_strength(strength)
    assert al.mass_fraction_from_mole_fraction(x) == pytest.approx(w, abs=1e-9)


@given(fractions, fractions, temperatures)
def test_stronger_is_lighter(one: float, two: float, temperature: float) -> None:
    low, high = sorted((one, two))
    if high - low > 1e-9:
        assert al.density(high, temperature) < al.density(low, temperature)
        assert al.strength_from_mass_fraction(high) > al.strength_from_mass_fraction(low)
        assert al.proof_from_mass_fraction(high) > al.proof_from_mass_fraction(low)


@given(st.floats(0.15, 0.9), st.floats(273.15, 303.15), st.sampled_from(["20C", "60F"]))
def test_reading_there_and_back(strength: float, temperature: float, which: str) -> None:
    reference: al.Reference = "20C" if which == "20C" else "60F"
    reading = al.reading_for_strength(strength, temperature, reference)
    assert al.true_strength(reading, temperature, reference) == pytest.approx(strength, abs=1e-9)
    own = 293.15 if reference == "20C" else al.TEMPERATURE_60F
    # An alcoholometer in a warm liquid shows too much, in a cold one too little.
    assert math.copysign(1.0, reading - strength) == math.copysign(1.0, temperature - own) or (
        abs(temperature - own) < 1e-6
    )


@given(volumes, st.floats(0.02, 1.0), st.floats(0.01, 1.0))
def test_dilution_closes(volume: float, strength: float, share: float) -> None:
    target = strength * share
    mass, water = al.dilution_water(volume, strength, target)
    made = al.blend([volume, water], [strength, 0.0])
    assert made.strength == pytest.approx(target, rel=1e-9)
    assert made.volume * made.strength == pytest.approx(volume * strength, rel=1e-9)
    assert mass == pytest.approx(water * al.WATER_DENSITY_20, rel=1e-12)


@given(volumes, st.floats(0.2, 0.96), st.integers(1, 12))
def test_stages_take_the_water_of_one(volume: float, strength: float, additions: int) -> None:
    stages = al.dilution_stages(volume, strength, strength / 2.0, additions)
    whole, _ = al.dilution_water(volume, strength, strength / 2.0)
    assert len(stages) == additions
    assert math.fsum(stage.water for stage in stages) == pytest.approx(whole, rel=1e-9)
    assert stages[-1].water_total == whole
    assert stages[-1].strength == strength / 2.0
    for stage in stages:
        assert stage.volume * stage.strength == pytest.approx(volume * strength, rel=1e-9)
    levels = [stage.strength for stage in stages]
    assert levels == sorted(levels, reverse=True)


@given(st.lists(st.tuples(volumes, fractions), min_size=2, max_size=6))
def test_blend_does_not_care_for_the_order(parts: list[tuple[float, float]]) -> None:
    shuffled = parts[1:] + parts[:1]
    one = al.blend([part[0] for part in parts], [part[1] for part in parts])
    two = al.blend([part[0] for part in shuffled], [part[1] for part in shuffled])
    assert two == pytest.approx(one, rel=1e-12)
    ethanol = math.fsum(volume * strength for volume, strength in parts)
    assert one.volume * one.strength == pytest.approx(ethanol, rel=1e-9, abs=1e-15)
    mass = math.fsum(v * al.density_20(al.mass_fraction_from_strength(q)) for v, q in parts)
    blended = one.volume * al.density_20(al.mass_fraction_from_strength(one.strength))
    assert blended == pytest.approx(mass, rel=1e-9)


@given(volumes, fractions, temperatures)
def test_volume_there_and_back(volume: float, w: float, temperature: float) -> None:
    warm = al.volume_at_temperature(volume, mass_fraction=w, temperature=temperature)
    back = al.volume_20_from_volume(warm, mass_fraction=w, temperature=temperature)
    assert back == pytest.approx(volume, rel=1e-12)
    mass = al.mass_from_volume(warm, mass_fraction=w, temperature=temperature)
    assert mass == pytest.approx(volume * al.density_20(w), rel=1e-12)
    again = al.volume_from_mass(mass, mass_fraction=w, temperature=temperature)
    assert again == pytest.approx(warm, rel=1e-12)


@given(st.floats(500.0, 2000.0), st.floats(0.0, 2.0), st.floats(1000.0, 25000.0))
def test_weighing_there_and_back(density: float, air: float, weights: float) -> None:
    shown = al.apparent_density(density, air_density=air, weight_density=weights)
    factor = al.weight_in_air_factor(density, air_density=air, weight_density=weights)
    assert shown == pytest.approx(density * factor, rel=1e-12)
    if 500.0 <= shown <= 2000.0:
        back = al.density_from_apparent(shown, air_density=air, weight_density=weights)
        assert back == pytest.approx(density, rel=1e-12)


@given(st.floats(0.0, 300.0), st.floats(0.05, 0.9))
def test_solids_only_hide_strength(extract: float, strength: float) -> None:
    density = al.density_20(al.mass_fraction_from_strength(strength)) + 0.386 * extract
    assert al.strength_with_extract(density, extract, 293.15) == pytest.approx(strength, abs=1e-9)


@given(st.floats(0.98, 1.13))
def test_plato_there_and_back(gravity: float) -> None:
    plato = ex.plato_from_gravity(gravity)
    assert ex.gravity_from_plato(plato) == pytest.approx(gravity, abs=1e-9)


@given(st.floats(0.99, 1.12), st.floats(273.15, 313.15), st.floats(288.15, 298.15))
def test_hydrometer_there_and_back(gravity: float, temperature: float, reference: float) -> None:
    shown = ex.gravity_reading(gravity, temperature, reference_temperature=reference)
    back = ex.true_gravity(shown, temperature, reference_temperature=reference)
    assert back == pytest.approx(gravity, rel=1e-12)


@given(volumes, st.floats(1.02, 1.12), st.floats(0.0, 0.95))
def test_fermentation_loses_nothing(volume: float, gravity: float, attenuation: float) -> None:
    final = ex.final_gravity_from_attenuation(gravity, attenuation)
    assert ex.apparent_attenuation(gravity, final) == pytest.approx(attenuation, abs=1e-9)
    wash = ex.ferment_balance(volume, gravity, final)
    out = wash.water + wash.ethanol + wash.solids + wash.carbon_dioxide + wash.yeast
    assert out == pytest.approx(wash.wort, rel=1e-12)
    assert wash.wort == pytest.approx(volume * gravity * al.WATER_DENSITY_20, rel=1e-12)
    assert wash.water == pytest.approx(wash.wort - wash.extract, rel=1e-12)
    gone = wash.extract - wash.solids
    assert gone == pytest.approx(wash.extract * ex.real_attenuation(gravity, final), rel=1e-9)
    # Balling's mass per cent is per mass of wash, and the balance must say the same.
    liquid = wash.water + wash.ethanol + wash.solids
    original = ex.plato_from_gravity(gravity) / 100.0
    real = ex.real_extract(original, ex.plato_from_gravity(final) / 100.0)
    expected = ex.ethanol_mass_fraction(original, real)
    assert wash.ethanol / liquid == pytest.approx(expected, rel=1e-9, abs=1e-12)
    assert wash.solids / liquid == pytest.approx(real, rel=1e-9, abs=1e-12)


@given(st.lists(fractions, min_size=1, max_size=5), temperatures)
def test_arrays_are_many_scalars(many: list[float], temperature: float) -> None:
    array = np.array(many)
    density = al.density(array, temperature)
    assert list(density) == [al.density(one, temperature) for one in many]
    strengths = al.mass_fraction_from_strength(array)
    assert list(strengths) == pytest.approx(
        [al.mass_fraction_from_strength(one) for one in many], abs=1e-11
    )
    back = al.mass_fraction_from_density(density, np.full(len(many), temperature))
    assert list(back) == pytest.approx(many, abs=1e-9)
