# SPDX-License-Identifier: MIT
from __future__ import annotations

import math

import numpy as np
import pytest

from middlecut.errors import ConvergenceError, OutOfRangeError
from middlecut.liquid import equilibrium, redlich_kister
from middlecut.liquid.equilibrium import (
    activity_coefficients,
    altitude_from_pressure,
    azeotrope,
    boiling_temperature,
    bubble_point,
    dew_point,
    pressure_from_altitude,
    vapour_pressure_ethanol,
    vapour_pressure_water,
)
from middlecut.liquid.ranges import Array


def test_pure_liquids_boil_at_their_normal_boiling_points() -> None:
    # 99.97 °C (IAPWS-95) and 78.42 °C (Schroeder et al. 2014), both printed to 0.01 K.
    water, no_ethanol = bubble_point(0.0, 101325.0)
    ethanol, all_ethanol = bubble_point(1.0, 101325.0)
    assert water == pytest.approx(373.124, abs=0.005)
    assert ethanol == pytest.approx(351.57, abs=0.005)
    assert (no_ethanol, all_ethanol) == (0.0, 1.0)


def test_bubble_point_satisfies_its_own_equation() -> None:
    x = np.linspace(0.0, 1.0, 101)
    for pressure in (60e3, 85e3, 110e3):
        temperature, y = bubble_point(x, pressure)
        ethanol, water = activity_coefficients(x, temperature)
        first = x * ethanol * vapour_pressure_ethanol(temperature)
        second = (1.0 - x) * water * vapour_pressure_water(temperature)
        # 1e-11 in pressure is 3e-10 K
        assert np.max(np.abs((first + second) / pressure - 1.0)) < 1e-11
        assert np.max(np.abs(first / pressure - y)) < 1e-11


def test_activity_coefficients_obey_gibbs_and_duhem() -> None:
    # x1 dlnγ1/dx + x2 dlnγ2/dx = 0 at constant temperature; central differences of step 1e-4 are
    # good to about 1e-7.
    x = np.linspace(0.01, 0.99, 99)
    step = 1e-4
    for temperature in (320.0, 351.0, 372.0):
        right = activity_coefficients(x + step, temperature)
        left = activity_coefficients(x - step, temperature)
        first, second = (
            (np.log(r) - np.log(s)) / (2.0 * step) for r, s in zip(right, left, strict=True)
        )
        assert np.max(np.abs(first)) > 1.0
        assert np.max(np.abs(x * first + (1.0 - x) * second)) < 1e-6


def test_area_under_the_ratio_of_activity_coefficients_vanishes() -> None:
    # Redlich and Kister's area test, exact for any excess Gibbs energy at constant temperature.
    nodes, weights = np.polynomial.legendre.leggauss(20)
    ethanol, water = activity_coefficients(0.5 * (nodes + 1.0), 351.0)
    ratio = np.log(ethanol / water)
    assert abs(float(weights @ ratio)) < 1e-12
    assert float(weights @ np.abs(ratio)) > 0.5


def test_vapour_rises_with_liquid_everywhere_so_that_the_dew_point_is_unique() -> None:
    x = np.linspace(0.0, 1.0, 4001)
    for pressure in np.linspace(60e3, 110e3, 6):
        _, y = bubble_point(x, float(pressure))
        assert np.min(np.diff(y)) > 0.3 * (x[1] - x[0])


@pytest.mark.parametrize("pressure", [60e3, 101325.0, 110e3])
def test_dew_point_undoes_bubble_point(pressure: float) -> None:
    x = np.concatenate([[0.0, 1e-9, 1e-5], np.linspace(0.001, 1.0, 500)])
    temperature, y = bubble_point(x, pressure)
    back_temperature, back = dew_point(y, pressure)
    assert np.max(np.abs(back - x)) < 1e-11
    assert np.max(np.abs(back_temperature - temperature)) < 1e-9


def test_at_the_azeotrope_dew_and_bubble_point_meet() -> None:
    for pressure in (60e3, 101325.0):
        temperature, x = azeotrope(pressure)
        bubble, y = bubble_point(x, pressure)
        dew, _ = dew_point(x, pressure)
        assert y == pytest.approx(x, abs=1e-12)
        assert (bubble, dew) == pytest.approx((temperature, temperature), abs=1e-9)
        # the azeotrope boils lower than anything else
        assert temperature < bubble_point(x - 0.02, pressure)[0]
        assert temperature < bubble_point(x + 0.02, pressure)[0]


def test_azeotrope_grows_richer_as_the_pressure_falls() -> None:
    # Common knowledge since Wade and Merriman 1911: it vanishes near 9 kPa.
    fractions = [azeotrope(p)[1] for p in (110e3, 101325.0, 80e3, 60e3)]
    assert fractions == sorted(fractions)
    assert fractions[-1] - fractions[0] > 0.01


def test_scalars_give_floats_and_arrays_give_arrays() -> None:
    assert all(type(v) is float for v in bubble_point(0.3, 101325.0))
    assert all(type(v) is float for v in dew_point(0.3, 101325.0))
    assert all(type(v) is float for v in activity_coefficients(0.3, 350.0))
    assert type(vapour_pressure_ethanol(350.0)) is float
    assert type(boiling_temperature(0.4, 101325.0)) is float
    assert type(pressure_from_altitude(100.0)) is float
    x = np.array([[0.1], [0.2]])
    pressure = np.array([70e3, 80e3, 90e3])
    temperature, y = bubble_point(x, pressure)
    assert temperature.shape == y.shape == (2, 3)
    assert temperature[1, 2] == pytest.approx(bubble_point(0.2, 90e3)[0], abs=1e-10)
    assert dew_point(x, pressure)[1].shape == (2, 3)
    assert bubble_point(np.array([]), 90e3)[0].shape == (0,)


def test_boiling_temperature_is_the_bubble_point_of_the_mole_fraction() -> None:
    # 40 % vol is 0.1466 by amount (mass fraction 0.3330, OIML R 22 table).
    w = 0.3330
    x = (w / 46.06844) / (w / 46.06844 + (1.0 - w) / 18.01528)
    assert boiling_temperature(0.40, 90e3) == pytest.approx(bubble_point(x, 90e3)[0], abs=0.01)
    falling = boiling_temperature(np.linspace(0.0, 0.95, 20), 90e3)
    assert np.all(np.diff(falling) < 0.0)


def test_wash_at_altitude_boils_lower() -> None:
    # Water boils at 95.6 to 95.8 °C at 1300 m by steam tables (86.6 kPa: 95.68 °C).
    pressure = pressure_from_altitude(1300.0)
    assert boiling_temperature(0.0, pressure) - 273.15 == pytest.approx(95.68, abs=0.05)


def test_altitude_undoes_pressure() -> None:
    altitude = np.linspace(-500.0, 5000.0, 23)
    assert (
        np.max(np.abs(altitude_from_pressure(pressure_from_altitude(altitude)) - altitude)) < 1e-8
    )


@pytest.mark.parametrize("bad", [-1e-9, 1.0 + 1e-9, math.nan, math.inf, -math.inf])
def test_impossible_fractions_are_refused(bad: float) -> None:
    with pytest.raises(OutOfRangeError, match="ethanol_mole_fraction"):
        bubble_point(bad, 101325.0)
    with pytest.raises(OutOfRangeError, match="ethanol_mole_fraction"):
        bubble_point(np.array([0.5, bad]), 101325.0)
    with pytest.raises(OutOfRangeError, match="vapour_mole_fraction"):
        dew_point(bad, 101325.0)
    with pytest.raises(OutOfRangeError, match="ethanol_mole_fraction"):
        activity_coefficients(bad, 350.0)
    with pytest.raises(OutOfRangeError, match="strength"):
        boiling_temperature(bad, 101325.0)


@pytest.mark.parametrize("bad", [59999.0, 110001.0, 101.325, math.nan, math.inf])
def test_pressures_outside_the_range_are_refused(bad: float) -> None:
    for call in (bubble_point, dew_point):
        with pytest.raises(OutOfRangeError, match="pressure"):
            call(0.5, bad)
    with pytest.raises(OutOfRangeError, match="pressure"):
        boiling_temperature(0.5, bad)
    with pytest.raises(OutOfRangeError, match="pressure"):
        azeotrope(bad)


@pytest.mark.parametrize("bad", [299.9, 390.1, 78.3, math.nan])
def test_temperatures_outside_the_range_are_refused(bad: float) -> None:
    for call in (vapour_pressure_ethanol, vapour_pressure_water):
        with pytest.raises(OutOfRangeError, match="temperature"):
            call(bad)
    with pytest.raises(OutOfRangeError, match="temperature"):
        activity_coefficients(0.5, bad)


def test_altitudes_and_pressures_outside_the_standard_are_refused() -> None:
    for altitude in (-501.0, 5001.0, math.nan):
        with pytest.raises(OutOfRangeError, match="altitude"):
            pressure_from_altitude(altitude)
    for pressure in (54e3, 108e3, math.nan):
        with pytest.raises(OutOfRangeError, match="pressure"):
            altitude_from_pressure(pressure)


def test_the_error_names_the_first_bad_value_and_the_remedy() -> None:
    with pytest.raises(OutOfRangeError) as caught:
        bubble_point(np.asarray(0.5), np.array([80e3, 120e3, 5.0]))
    assert caught.value.value == 120e3
    assert "60000" in str(caught.value)
    assert "pascals" in str(caught.value)


def astray(x: Array, temperature: Array) -> tuple[Array, Array, Array, Array]:
    """Stand in for partial pressures with something that no search can settle on."""
    rough = np.full_like(temperature, 5e4) * (1.0 + 0.5 * np.sin(1e3 * temperature))
    return x * rough, (1.0 - x) * rough, 0.04 + 0.0 * rough, 0.03 + 0.0 * rough


def test_a_bubble_point_that_is_not_found_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(redlich_kister, "partial_pressures", astray)
    with pytest.raises(ConvergenceError, match=r"bubble point did not converge after 30"):
        redlich_kister.solve_bubble(np.asarray(0.5), np.asarray(101325.0))


def test_a_dew_point_that_is_not_found_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    redlich_kister.solve_dew(np.asarray(0.5), np.asarray(101325.0))  # fills its starting table

    def start(x: Array, pressure: Array) -> tuple[Array, Array]:
        return 350.0 + 0.0 * pressure, x

    monkeypatch.setattr(redlich_kister, "solve_bubble", start)
    monkeypatch.setattr(redlich_kister, "partial_pressures", astray)
    with pytest.raises(ConvergenceError, match=r"dew point did not converge after 30"):
        redlich_kister.solve_dew(np.asarray(0.5), np.asarray(101325.0))


def test_offered_names_are_there() -> None:
    assert all(hasattr(equilibrium, name) for name in equilibrium.__all__)
