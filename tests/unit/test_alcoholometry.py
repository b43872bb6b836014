# SPDX-License-Identifier: MIT
"""What alcoholometry and extract refuse, and the shapes they give back."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from middlecut.errors import InputError, OutOfRangeError
from middlecut.liquid import alcoholometry as al
from middlecut.liquid import extract as ex
from middlecut.steps.lot import SOLIDS_VOLUME, Lot

NAN, INF = math.nan, math.inf
Call = Callable[[], object]

REFUSED: dict[str, Call] = {
    "mass fraction in per cent": lambda: al.density(40.0, 293.15),
    "negative mass fraction": lambda: al.density_20(-1e-9),
    "mass fraction above one": lambda: al.density_20(1.0 + 1e-9),
    "mass fraction not a number": lambda: al.density_20(NAN),
    "mole fraction above one": lambda: al.mass_fraction_from_mole_fraction(1.1),
    "temperature in celsius": lambda: al.density(0.4, 20.0),
    "too cold": lambda: al.density(0.4, 253.14),
    "too warm": lambda: al.density(0.4, 313.16),
    "temperature not a number": lambda: al.density(0.4, NAN),
    "endless temperature": lambda: al.density(0.4, INF),
    "one of many": lambda: al.density(np.array([0.1, NAN, 0.3]), 293.15),
    "strength in per cent": lambda: al.mass_fraction_from_strength(40.0),
    "strength not a number": lambda: al.mass_fraction_from_strength(NAN),
    "proof above 200": lambda: al.strength_from_proof(200.5),
    "heavier than water": lambda: al.strength_from_density(998.3, 293.15),
    "lighter than ethanol": lambda: al.strength_from_density(789.2, 293.15),
    "density not a number": lambda: al.strength_from_density(NAN, 293.15),
    "one heavier than water": lambda: al.strength_from_density(
        np.array([998.0, 998.0]), np.array([293.15, 303.15])
    ),
    "reading above the stem": lambda: al.true_strength(1.01, 293.15),
    "reading of no mixture": lambda: al.true_strength(0.0, 303.15),
    "reading in the wrong shape of unit": lambda: al.true_proof(192.0, 293.15),
    "floats off the stem": lambda: al.reading_for_strength(1.0, 303.15),
    "negative volume": lambda: al.dilution_water(-1.0, 0.6, 0.4),
    "endless volume": lambda: al.dilution_water(INF, 0.6, 0.4),
    "negative part": lambda: al.blend([1.0, -1.0], [0.4, 0.4]),
    "negative mass": lambda: al.volume_from_mass(-1.0, mass_fraction=0.4, temperature=293.15),
    "weights of water": lambda: al.apparent_density(900.0, weight_density=998.0),
    "too much sugar": lambda: al.strength_with_extract(1000.0, 401.0, 293.15),
    "solids beyond the US rule": lambda: al.obscuration_us(6.1),
    "gravity in points": lambda: ex.plato_from_gravity(62.0),
    "gravity not a number": lambda: ex.wort_density(NAN),
    "heavy wort": lambda: ex.gravity_from_plato(31.0),
    "hot wort": lambda: ex.true_gravity(1.05, 330.0),
    "ice": lambda: ex.true_gravity(1.05, 272.0),
    "attenuation in per cent": lambda: ex.final_gravity_from_attenuation(1.05, 75.0),
    "water for wort": lambda: ex.apparent_attenuation(1.0, 0.99),
    "plato for a fraction": lambda: ex.real_extract(12.0, 3.0),
}

SENSELESS: dict[str, tuple[Call, str]] = {
    "stronger by water": (lambda: al.dilution_water(1.0, 0.4, 0.5), "stronger spirit"),
    "nothing left": (lambda: al.dilution_water(1.0, 0.4, 0.0), "all the strength"),
    "one of many": (lambda: al.dilution_water(1.0, np.array([0.6, 0.3]), 0.4), "stronger"),
    "no stages": (lambda: al.dilution_stages(1.0, 0.6, 0.4, 0), "whole number"),
    "no such instrument": (lambda: al.true_strength(0.4, 293.15, "15C"), "60F"),  # type: ignore[call-overload]
    "one strength missing": (lambda: al.blend([1.0, 2.0], [0.4]), "each of the 2"),
    "nothing to blend": (lambda: al.blend([0.0, 0.0], [0.4, 0.5]), "above 0"),
    "heavier after fermenting": (lambda: ex.ferment_balance(1.0, 1.05, 1.06), "above the gravity"),
    "extract out of nowhere": (lambda: ex.ferment_balance(1.0, 1.03, 0.98), "more ethanol"),
    "extract grows": (lambda: ex.ethanol_mass_fraction(0.1, 0.2), "original extract"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_out_of_range_raises(name: str) -> None:
    with pytest.raises(OutOfRangeError) as caught:
        REFUSED[name]()
    assert "the range is" in str(caught.value)


@pytest.mark.parametrize("name", SENSELESS)
def test_senseless_input_raises_with_a_remedy(name: str) -> None:
    call, words = SENSELESS[name]
    with pytest.raises(InputError, match=words) as caught:
        call()
    assert not isinstance(caught.value, OutOfRangeError)


def test_reading_error_names_what_the_instrument_can_show() -> None:
    """Water of 30 °C floats a 20 °C alcoholometer at 2 % vol or so; zero cannot be read."""
    with pytest.raises(OutOfRangeError, match="dissolved solids") as caught:
        al.true_strength(np.array([0.4, 0.0]), 303.15)
    lowest = al.reading_for_strength(0.0, 303.15)
    assert caught.value.low == pytest.approx(lowest)
    assert al.true_strength(lowest + 1e-9, 303.15) < 1e-6


def test_the_ends_belong_to_the_range() -> None:
    for celsius in (-20.0, 40.0):
        kelvin = celsius + 273.15  # -20 + 273.15 is a hair below 253.15
        for w in (0.0, 1.0):
            assert al.mass_fraction_from_density(al.density(w, kelvin), kelvin) == w
    assert al.mass_fraction_from_strength(0.0) == 0.0
    assert al.mass_fraction_from_strength(1.0) == 1.0
    assert al.proof_from_strength(1.0) == 200.0
    assert al.true_proof(120.0, -4.0) > 120.0
    both = al.mass_fraction_from_strength(np.array([0.0, 1.0]))
    assert list(both) == pytest.approx([0.0, 1.0], abs=1e-15)


def test_scalars_give_floats_and_arrays_give_arrays() -> None:
    column, row = np.array([[0.1], [0.5]]), np.array([283.15, 293.15, 303.15])
    scalars: list[object] = [
        al.density(0.4, 293.15),
        al.density(np.float64(0.4), np.float64(293.15)),
        al.density_20(1),
        al.strength_from_density(950.0, 293.15),
        al.true_strength(0.4, 300.0),
        al.reading_for_strength(0.4, 300.0, "60F"),
        al.dilution_water(1.0, 0.6, 0.4).mass,
        al.strength_with_extract(950.0, 5.0, 293.15),
        ex.true_gravity(1.05, 300.0),
        ex.gravity_from_plato(12.0),
        ex.real_attenuation(1.05, 1.01),
    ]
    assert [type(value) for value in scalars] == [float] * len(scalars)
    assert al.density(column, row).shape == (2, 3)
    assert al.density(0.4, row).shape == (3,)
    assert al.mass_fraction_from_density(950.0, row).shape == (3,)
    assert al.mass_fraction_from_density(al.density(column, row), row) == pytest.approx(
        np.broadcast_to(column, (2, 3)), abs=1e-9
    )
    assert al.true_strength(np.array([0.4, 0.5]), 300.0).shape == (2,)
    assert al.true_strength(0.4, row).shape == (3,)
    shown = al.reading_for_strength(np.array([0.3, 0.4, 0.5]), row)
    assert al.true_strength(shown, row) == pytest.approx([0.3, 0.4, 0.5], abs=1e-9)
    assert np.shape(al.dilution_water(1.0, np.array([0.6, 0.7]), 0.4).mass) == (2,)
    assert al.true_proof(np.array([100.0, 120.0]), 70.0).shape == (2,)
    assert ex.gravity_from_plato(np.array([0.0, 12.0])).shape == (2,)
    assert al.density(np.array([]), 293.15).shape == (0,)


def test_water_and_ethanol_pack_closer() -> None:
    """50 mL and 50 mL give 96.46 mL by the international densities."""
    missing = al.contraction([50e-6, 50e-6], [1.0, 0.0])
    assert 1e6 * missing == pytest.approx(3.54, abs=0.005)
    # 30 to 15 % vol takes 99.7 of water on 100 (dilution table): the blend swells.
    _, water = al.dilution_water(100.0, 0.30, 0.15)
    assert water == pytest.approx(99.8, abs=0.15)
    assert al.contraction([100.0, water], [0.30, 0.0]) < 0.0


def test_wash_is_the_lot_it_becomes() -> None:
    wash = ex.ferment_balance(0.025, 1.062, 1.010)
    lot = Lot("wash", water=wash.water, ethanol=wash.ethanol, solids=wash.solids)
    assert ex.EXTRACT_VOLUME == SOLIDS_VOLUME
    assert wash.volume == pytest.approx(lot.volume, rel=1e-12)
    assert wash.strength == pytest.approx(lot.strength, rel=1e-12)
    assert 0.065 < wash.strength < 0.072  # 131.25 times the drop of 0.052 is the usual 6.8 % vol


@pytest.mark.parametrize("gravity", [1.04, 1.05, 1.062, 1.075, 1.09])
@pytest.mark.parametrize("attenuation", [0.6, 0.8, 1.0])
def test_wash_gravity_by_volume_is_near_the_one_given(gravity: float, attenuation: float) -> None:
    """Balling and the volumes of a lot are different sources; 0.0015 SG is 0.2 % vol."""
    final = ex.final_gravity_from_attenuation(gravity, attenuation)
    wash = ex.ferment_balance(1.0, gravity, final)
    assert abs(wash.gravity - final) < 0.0015


def test_no_wort_no_wash() -> None:
    assert ex.ferment_balance(0.0, 1.05, 1.01).ethanol == 0.0


def test_unfermented_wort_has_no_ethanol() -> None:
    wash = ex.ferment_balance(1.0, 1.05, 1.05)
    assert wash.ethanol == 0.0
    assert wash.solids == pytest.approx(wash.extract)
    # Sugar at 12.4 °P: Plato's table and 6.18e-4 m3/kg agree to about 0.0004 SG.
    assert abs(wash.gravity - 1.05) < 1e-3


def test_gas_is_that_of_the_molar_masses() -> None:
    """Glucose gives one CO2 (44.0095) for each ethanol (46.0684): 0.9553; Balling says 0.9565."""
    assert pytest.approx(44.0095 / 46.0684, abs=0.0015) == ex.CARBON_DIOXIDE_YIELD
    whole = 1.0 + ex.CARBON_DIOXIDE_YIELD + ex.YEAST_YIELD
    assert whole == pytest.approx(ex.EXTRACT_PER_ETHANOL, abs=1e-15)
