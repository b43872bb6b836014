# SPDX-License-Identifier: MIT
from __future__ import annotations

import math

import numpy as np
import pytest

from middlecut.errors import InputError, NotFoundError, OutOfRangeError
from middlecut.liquid import compounds, equilibrium, volatility, volatility_tables

ATMOSPHERE = 101325.0


def test_at_least_150_compounds_have_a_volatility() -> None:
    assert len(compounds.volatile_names()) >= 150
    assert {row.cas for row in volatility_tables.tables().rows} == {
        compounds.find(name).cas for name in compounds.volatile_names()
    }


def test_scalars_give_floats_and_arrays_give_arrays() -> None:
    one = volatility.k_value("methanol", 0.2, ATMOSPHERE)
    many = volatility.k_value("methanol", np.array([[0.2, 0.4]]), ATMOSPHERE)
    assert type(one) is float
    assert many.shape == (1, 2)
    assert many[0, 0] == pytest.approx(one, rel=1e-12)
    assert type(volatility.relative_volatility("methanol", 0.2, ATMOSPHERE)) is float
    assert type(volatility.limiting_activity_coefficient("methanol", 0.2, 350.0)) is float


def test_inputs_broadcast() -> None:
    pressure = np.array([[70e3], [101325.0]])
    x = np.array([0.1, 0.3, 0.5])
    values = np.asarray(volatility.k_value("acetone", x, pressure))
    assert values.shape == (2, 3)
    assert values[0, 2] == pytest.approx(volatility.k_value("acetone", 0.5, 70e3), rel=1e-12)


def test_methanol_passes_ethanol_near_x_024() -> None:
    # The method's measured landmark: relative volatility of methanol is 1 near x = 0.24.
    below = volatility.relative_volatility("methanol", 0.20, ATMOSPHERE)
    above = volatility.relative_volatility("methanol", 0.28, ATMOSPHERE)
    assert below < 1.0 < above


def test_vanillin_hardly_distils() -> None:
    assert np.max(volatility.k_value("vanillin", np.linspace(0, 1, 21), ATMOSPHERE)) < 0.05


def test_isoamyl_alcohol_leads_in_weak_liquid_and_trails_in_strong() -> None:
    assert volatility.relative_volatility("isoamyl alcohol", 0.05, ATMOSPHERE) > 1.5
    assert volatility.relative_volatility("isoamyl alcohol", 0.6, ATMOSPHERE) < 0.5


def test_k_is_gamma_psat_over_p() -> None:
    # Definition, with ethyl acetate's normal boiling point, 77.1 °C (CRC Handbook): there its
    # vapour pressure is 101.325 kPa, and the correlation used is within 1 % of that.
    coefficients = volatility_tables.tables().pressure_coefficients
    place = volatility_tables.tables().index["141-78-6"]
    psat = np.exp(volatility_tables.ln_pressure(coefficients[[place]], np.array([350.25])))[0, 0]
    assert psat == pytest.approx(ATMOSPHERE, rel=0.01)
    temperature, _ = equilibrium.bubble_point(0.3, 80e3)
    gamma = volatility.limiting_activity_coefficient("ethyl acetate", 0.3, temperature)
    psat = np.exp(volatility_tables.ln_pressure(coefficients[[place]], np.array([temperature])))
    expected = gamma * float(psat[0, 0]) / 80e3
    assert volatility.k_value("ethyl acetate", 0.3, 80e3) == pytest.approx(expected, rel=1e-12)


def test_relative_volatility_is_k_over_ethanols_k() -> None:
    _, y = equilibrium.bubble_point(0.3, ATMOSPHERE)
    expected = volatility.k_value("acetone", 0.3, ATMOSPHERE) / (y / 0.3)
    given = volatility.relative_volatility("acetone", 0.3, ATMOSPHERE)
    assert given == pytest.approx(expected, rel=1e-9)
    assert math.isfinite(volatility.relative_volatility("acetone", 0.0, ATMOSPHERE))


@pytest.mark.parametrize("name", ["ethyl octanoate", "3-methyl-1-butanol", "limonene"])
def test_k_falls_with_strength_for_water_haters(name: str) -> None:
    values = np.asarray(volatility.k_value(name, np.linspace(0.0, 0.9, 91), ATMOSPHERE))
    assert np.all(np.diff(values) < 0)


def test_all_values_are_positive_and_smooth() -> None:
    table = volatility.k_table(compounds.volatile_names(), ATMOSPHERE, 501)
    logs = np.log(table.values)
    assert np.isfinite(logs).all()
    # ln K bends gently: no wiggle of the interpolation, also at the dense water end.
    assert np.max(np.abs(np.diff(logs, axis=0))) < 0.2


def test_water_end_is_the_anchor_at_every_temperature() -> None:
    # gamma_w of 1-propanol: measured, mean 82 °C, n = 21 (Brouwer et al. 2021): 19.0.
    temperatures = np.linspace(298.15, 385.0, 9)
    values = volatility.limiting_activity_coefficient(
        "1-propanol", np.zeros_like(temperatures), temperatures
    )
    assert np.allclose(values, 19.0, rtol=1e-6)


@pytest.mark.parametrize(
    ("mark", "factor"),
    [("A", 1.15), ("B", 1.3), ("B-", 1.5), ("C+", 1.5), ("C", 1.8), ("C-", 1.8), ("D", 2.5)],
)
def test_grades_carry_the_factors_of_the_method_in_water(mark: str, factor: float) -> None:
    found = [volatility.grade(name) for name in compounds.volatile_names()]
    chosen = [item for item in found if item.grade == mark]
    assert chosen
    assert {item.water_factor for item in chosen} == {factor}


def test_the_factor_of_the_bands_is_the_larger_one() -> None:
    for name in compounds.volatile_names():
        item = volatility.grade(name)
        assert item.factor == item.middle_factor >= item.water_factor
        # A factor beyond the grade's has a reason, which the note or the basis gives.
        assert item.middle_factor == item.water_factor or item.middle_basis


def test_no_measurement_in_water_vouches_for_the_middle() -> None:
    # Of grade A only methanol and acetone keep 1.15: published sets of both, over the whole range
    # of composition, stay within 1.15 to the power 1.96 (docs/validation/volatility.md).
    narrow = {
        name
        for name in compounds.volatile_names()
        if volatility.grade(name).grade == "A" and volatility.grade(name).factor < 1.25
    }
    assert narrow == {"methanol", "acetone"}
    assert volatility.grade("2-methyl-1-butanol").factor == volatility.grade("isopentanol").factor


def test_acetic_acid_stays_behind_when_dilute_vinegar_boils() -> None:
    # Common practice, from memory: about 0.7 times as volatile as water. By the whole vapour
    # pressure of the pure acid, dimers and all, it would be 1.74.
    assert 0.5 < volatility.k_value("acetic acid", 0.0, ATMOSPHERE) < 1.0
    for x in (0.0, 0.02, 0.1, 0.3, 0.6, 0.85):
        _, ethanol = equilibrium.bubble_point(x, ATMOSPHERE)
        water = (1.0 - ethanol) / (1.0 - x)
        assert volatility.k_value("acetic acid", x, ATMOSPHERE) < water


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        # Volatility with steam relative to water, from memory: 1.2, 1.9, 2.5. The anchors rest on
        # them in part, and nothing is measured hot: a factor 1.5 either way.
        ("propanoic acid", 1.0, 1.8),  # an azeotrope with water (memory): above 1
        ("butanoic acid", 1.3, 2.9),
        ("2-methylpropanoic acid", 1.7, 3.8),
    ],
)
def test_lower_fatty_acids_over_water(name: str, low: float, high: float) -> None:
    assert low < volatility.k_value(name, 0.0, ATMOSPHERE) < high


def test_no_fatty_acid_claims_to_be_measured() -> None:
    for name in ("acetic acid", "propanoic acid", "butanoic acid", "hexanoic acid"):
        item = volatility.grade(name)
        assert item.basis == "anchored"
        assert item.factor >= 1.5
        assert "monomer" in item.vapour_pressure_basis


def test_disagreeing_sources_widen_the_factor() -> None:
    # TCA: Henry constants imply 1.82e6 and 1.13e4; the square root of their ratio is 12.7.
    assert volatility.grade("TCA").factor == pytest.approx(12.7, abs=0.05)


def test_basis_follows_the_grade() -> None:
    for name in compounds.volatile_names():
        item = volatility.grade(name)
        expected = {"A": "measured", "B": "measured", "D": "estimated"}.get(
            item.grade[0], "anchored"
        )
        assert item.basis == expected
        assert item.anchor


def test_isopropyl_methoxypyrazine_is_a_third_of_its_neighbour() -> None:
    ratio = volatility.k_value("IPMP", 0.0, ATMOSPHERE) / volatility.k_value(
        "IBMP", 0.0, ATMOSPHERE
    )
    assert ratio == pytest.approx(1 / 3, rel=0.02)
    assert volatility.grade("IPMP").grade == "D"


def test_table_matches_single_values() -> None:
    table = volatility.k_table(("ethyl hexanoate", "67-56-1"), 70e3)
    assert table.compounds == ("ethyl hexanoate", "methanol")
    assert table.values.shape == (2001, 2)
    assert table.values.flags.c_contiguous
    assert not table.values.flags.writeable
    at = [0, 137, 1000, 2000]
    single = volatility.k_value("methanol", table.ethanol_mole_fraction[at], 70e3)
    assert np.allclose(table.values[at, 1], single, rtol=1e-9)


def test_linear_interpolation_of_the_table_is_within_a_thousandth() -> None:
    table = volatility.k_table(compounds.volatile_names(), ATMOSPHERE)
    fine = volatility.k_table(compounds.volatile_names(), ATMOSPHERE, 4001)
    middle = 0.5 * (table.values[:-1] + table.values[1:])
    assert np.max(np.abs(middle / fine.values[1::2] - 1.0)) < 1e-3


def test_a_gas_above_its_critical_point_follows_its_henry_constant() -> None:
    # H2S: 1.0e-3 mol/(m3 Pa) at 25 C and 2000 K (Sander 2015, recalled); 55 345 mol/m3 of water.
    # At the boil of water, 373.12 K, K = 55345/1e-3 exp(-2000 (1/373.12 - 1/298.15))/101325.
    expected = 55345.0 / 1e-3 * math.exp(-2000.0 * (1 / 373.12 - 1 / 298.15)) / ATMOSPHERE
    # 1 % for the fit of three coefficients and for the boiling point of water.
    assert volatility.k_value("H2S", 0.0, ATMOSPHERE) == pytest.approx(expected, rel=0.01)


def test_table_is_kept() -> None:
    first = volatility.k_table(("methanol",), 90e3)
    assert volatility.k_table(("wood alcohol",), 90e3 + 0.2) is first


@pytest.mark.parametrize("x", [-1e-9, 1.0 + 1e-9, math.nan, math.inf])
def test_composition_out_of_range(x: float) -> None:
    with pytest.raises(OutOfRangeError):
        volatility.k_value("methanol", x, ATMOSPHERE)
    with pytest.raises(OutOfRangeError):
        volatility.relative_volatility("methanol", x, ATMOSPHERE)
    with pytest.raises(OutOfRangeError):
        volatility.limiting_activity_coefficient("methanol", x, 350.0)


@pytest.mark.parametrize("pressure", [59e3, 111e3, math.nan])
def test_pressure_out_of_range(pressure: float) -> None:
    with pytest.raises(OutOfRangeError):
        volatility.k_value("methanol", 0.2, pressure)
    with pytest.raises(OutOfRangeError):
        volatility.k_table(("methanol",), pressure)


@pytest.mark.parametrize("temperature", [298.0, 386.0, math.nan])
def test_temperature_out_of_range(temperature: float) -> None:
    with pytest.raises(OutOfRangeError):
        volatility.limiting_activity_coefficient("methanol", 0.2, temperature)


def test_unknown_compound_and_too_few_nodes() -> None:
    with pytest.raises(NotFoundError):
        volatility.k_value("unobtainium", 0.1, ATMOSPHERE)
    with pytest.raises(NotFoundError):
        volatility.k_table(("methanol", "unobtainium"), ATMOSPHERE)
    with pytest.raises(InputError):
        volatility.k_table(("methanol",), ATMOSPHERE, 10)
