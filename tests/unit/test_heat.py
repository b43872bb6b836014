# SPDX-License-Identifier: MIT
from __future__ import annotations

import math

import numpy as np
import pytest

from middlecut.errors import OutOfRangeError
from middlecut.liquid import heat
from middlecut.liquid.equilibrium import bubble_point

GAS_CONSTANT = 8.31446261815324


def test_pure_liquids_have_no_enthalpy_at_the_datum() -> None:
    assert heat.DATUM == 293.15
    assert heat.liquid_enthalpy(np.array([0.0, 1.0]), heat.DATUM) == pytest.approx(0.0, abs=1e-9)


def test_heat_capacity_is_the_slope_of_enthalpy() -> None:
    x = np.linspace(0.0, 1.0, 11)
    for temperature in (295.0, 330.0, 370.0):
        rise = heat.liquid_enthalpy(x, temperature + 0.01) - heat.liquid_enthalpy(
            x, temperature - 0.01
        )
        assert rise / 0.02 == pytest.approx(heat.liquid_heat_capacity(x, temperature), rel=1e-7)


def test_vapour_of_a_pure_substance_lies_above_its_liquid_by_the_latent_heat() -> None:
    for x, latent in ((0.0, heat.latent_heat_water), (1.0, heat.latent_heat_ethanol)):
        gap = heat.vapour_enthalpy(x, 350.0) - heat.liquid_enthalpy(x, 350.0)
        assert gap == pytest.approx(latent(350.0), rel=1e-12)


def test_steam_tables() -> None:
    # IAPWS-95: 419.06 - 83.91 kJ/kg for the liquid, 2675.5 - 83.91 kJ/kg for steam, at 100 °C.
    assert heat.liquid_enthalpy(0.0, 373.15) / 18.01528 == pytest.approx(335.15, rel=2e-4)
    assert heat.vapour_enthalpy(0.0, 373.15) / 18.01528 == pytest.approx(2591.6, rel=2e-4)


def test_mixing_cold_gives_off_heat_and_warm_much_less() -> None:
    # Recalled: about -0.78 kJ/mol at x = 0.15 and 25 °C; near nothing at boiling.
    cold = heat.excess_enthalpy(0.15, 298.15)
    assert cold == pytest.approx(-785.0, abs=45.0)
    assert abs(heat.excess_enthalpy(0.15, 358.0)) < 0.25 * abs(cold)
    assert heat.excess_enthalpy(np.array([0.0, 1.0]), 310.0) == pytest.approx(0.0, abs=1e-12)


def test_excess_enthalpy_and_activity_coefficients_agree_by_gibbs_and_helmholtz() -> None:
    # gE/RT(30 °C) - gE/RT(90 °C) = ∫ hE/(R T²) dT. The equilibrium data carry 0.3 to 0.6 % in
    # pressure at either end, so 0.02 in gE/RT (which is up to 0.35).
    from middlecut.liquid.equilibrium import activity_coefficients

    nodes, weights = np.polynomial.legendre.leggauss(8)
    temperature = 333.15 + 30.0 * nodes
    for x in np.linspace(0.05, 0.95, 10):
        fraction = float(x)
        enthalpy = heat.excess_enthalpy(np.full_like(temperature, fraction), temperature)
        integral = float(30.0 * weights @ (enthalpy / (GAS_CONSTANT * temperature**2)))
        ends = []
        for end in (303.15, 363.15):
            ethanol, water = activity_coefficients(fraction, end)
            ends.append(fraction * math.log(ethanol) + (1.0 - fraction) * math.log(water))
        assert integral == pytest.approx(ends[0] - ends[1], abs=0.02)


def test_latent_heat_agrees_with_the_slope_of_the_boiling_line() -> None:
    # Clausius-Clapeyron for a mixture at constant x, ideal vapour: R T² dlnP/dT =
    # Σ y_i (H_i - h_i), h_i being the partial molar enthalpies of the liquid. Neglect of the
    # vapour's non-ideality (z about 0.97) costs up to 3 %, the regressed slopes some more: 5 %.
    step = 1e-5
    for x in (0.02, 0.1, 0.3, 0.6, 0.9):
        low, _ = bubble_point(x, 100e3)
        high, _ = bubble_point(x, 102e3)
        temperature, y = bubble_point(x, 101e3)
        slope = GAS_CONSTANT * temperature**2 * math.log(1.02) / (high - low)
        h = heat.liquid_enthalpy(x, temperature)
        dh = (
            heat.liquid_enthalpy(x + step, temperature)
            - heat.liquid_enthalpy(x - step, temperature)
        ) / (2.0 * step)
        partial = y * (h + (1.0 - x) * dh) + (1.0 - y) * (h - x * dh)
        differential = heat.vapour_enthalpy(y, temperature) - partial
        assert differential == pytest.approx(slope, rel=0.05)


def test_condensing_in_two_ways_takes_the_same_heat() -> None:
    # From vapour at its dew point to liquid at its bubble point, twice by hand.
    from middlecut.liquid.equilibrium import dew_point

    y = np.array([0.2, 0.7])
    dew, _ = dew_point(y, 80e3)
    bubble, _ = bubble_point(y, 80e3)
    expected = heat.vapour_enthalpy(y, dew) - heat.liquid_enthalpy(y, bubble)
    assert heat.latent_heat(y, 80e3) == pytest.approx(expected, rel=1e-14)
    # between the two pure substances, 37.5 to 42.5 kJ/mol
    assert np.all((heat.latent_heat(np.linspace(0, 1, 21), 80e3) / 1e3 - 40.0) ** 2 < 2.5**2)


def test_heating_a_wash() -> None:
    # 8 % vol wash, 25 L: 1.578 kg of ethanol, 23.1 kg of water, 0.4 kg of solids, 20 to 93 °C.
    # By hand: water 4.19 kJ/(kg K), ethanol dissolved in much water 5.2 kJ/(kg K) (239 J/(mol K)
    # between 20 and 93 °C), solids 1.8: 73 (96.8 + 8.2 + 0.7) = 7.7 MJ; 3 %.
    energy = heat.heat_up_energy(
        water=23.1, ethanol=1.578, solids=0.4, from_temperature=293.15, to_temperature=366.15
    )
    assert energy == pytest.approx(7.72e6, rel=0.03)


def test_heat_up_energy_is_additive_and_reverses() -> None:
    def warm(start: float, end: float) -> float:
        return heat.heat_up_energy(
            water=3.0, ethanol=1.0, solids=0.2, from_temperature=start, to_temperature=end
        )

    assert warm(293.15, 360.0) == pytest.approx(warm(293.15, 320.0) + warm(320.0, 360.0))
    assert warm(360.0, 293.15) == pytest.approx(-warm(293.15, 360.0))


def test_solids_alone_and_nothing_at_all() -> None:
    def warm(solids: float) -> float:
        return heat.heat_up_energy(
            water=0.0, ethanol=0.0, solids=solids, from_temperature=300.0, to_temperature=310.0
        )

    assert warm(2.0) == pytest.approx(2.0 * heat.SOLIDS_HEAT_CAPACITY * 10.0)
    assert warm(0.0) == 0.0


def test_heating_a_wort_of_sugar() -> None:
    # Recalled: heat capacity of a sugar solution 4.187 (1 - 0.57 w) kJ/(kg K), 3.90 at w = 0.12.
    energy = heat.heat_up_energy(
        water=0.88, ethanol=0.0, solids=0.12, from_temperature=303.15, to_temperature=323.15
    )
    assert energy / 20.0 == pytest.approx(3900.0, rel=0.005)


def test_cooling_water() -> None:
    # One kilowatt-hour by 20 K: 3.6e6 / (4182 × 20) = 43.04 kg.
    assert heat.cooling_water_mass(energy=3.6e6, temperature_rise=20.0) == pytest.approx(
        43.04, abs=0.01
    )


def test_scalars_give_floats_and_arrays_give_arrays() -> None:
    assert type(heat.liquid_enthalpy(0.3, 350.0)) is float
    assert type(heat.vapour_enthalpy(0.3, 350.0)) is float
    assert type(heat.liquid_heat_capacity(0.3, 350.0)) is float
    assert type(heat.latent_heat(0.3, 90e3)) is float
    assert type(heat.latent_heat_water(350.0)) is float
    assert heat.liquid_enthalpy(np.array([[0.1], [0.2]]), np.array([300.0, 310.0])).shape == (2, 2)
    assert heat.latent_heat(np.array([[0.1], [0.2]]), np.array([70e3, 80e3])).shape == (2, 2)


@pytest.mark.parametrize("bad", [273.0, 378.5, 25.0, math.nan])
def test_temperatures_outside_the_range_are_refused(bad: float) -> None:
    for call in (heat.latent_heat_ethanol, heat.latent_heat_water):
        with pytest.raises(OutOfRangeError, match="temperature"):
            call(bad)
    for two in (
        heat.liquid_enthalpy,
        heat.vapour_enthalpy,
        heat.liquid_heat_capacity,
        heat.excess_enthalpy,
    ):
        with pytest.raises(OutOfRangeError, match="temperature"):
            two(0.5, bad)
    with pytest.raises(OutOfRangeError, match="to_temperature"):
        heat.heat_up_energy(
            water=1.0, ethanol=0.0, solids=0.0, from_temperature=300.0, to_temperature=bad
        )


@pytest.mark.parametrize("bad", [-0.1, 1.1, math.nan])
def test_impossible_fractions_are_refused(bad: float) -> None:
    for call in (
        heat.liquid_enthalpy,
        heat.vapour_enthalpy,
        heat.liquid_heat_capacity,
        heat.excess_enthalpy,
    ):
        with pytest.raises(OutOfRangeError, match="mole_fraction"):
            call(bad, 350.0)
    with pytest.raises(OutOfRangeError, match="vapour_mole_fraction"):
        heat.latent_heat(bad, 101325.0)


@pytest.mark.parametrize("name", ["water", "ethanol", "solids"])
def test_negative_masses_are_refused(name: str) -> None:
    masses = {"water": 1.0, "ethanol": 1.0, "solids": 1.0, name: -1e-6}
    with pytest.raises(OutOfRangeError, match=name):
        heat.heat_up_energy(**masses, from_temperature=300.0, to_temperature=310.0)


def test_impossible_cooling_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match="energy"):
        heat.cooling_water_mass(energy=-1.0, temperature_rise=10.0)
    for rise in (0.0, -5.0, 91.0):
        with pytest.raises(OutOfRangeError, match="temperature_rise"):
            heat.cooling_water_mass(energy=1.0, temperature_rise=rise)
    with pytest.raises(OutOfRangeError, match="pressure"):
        heat.latent_heat(0.5, 50e3)
