# SPDX-License-Identifier: MIT
"""The ethanol-water equilibrium against published measurements and reference equations."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from middlecut.liquid import equilibrium
from middlecut.liquid.ranges import Array
from middlecut.liquid.redlich_kister import partial_pressures, solve_bubble

DATA = Path(__file__).parent / "data" / "ethanol_water_vle.csv"


def measured(name: str) -> tuple[Array, Array, Array, Array]:
    """Return pressure [Pa], temperature [K], x and y of one measured set."""
    lines = DATA.read_text(encoding="utf-8").splitlines()
    rows = [row for row in csv.DictReader(lines) if row["set"] == name]
    columns = ("pressure_kPa", "temperature_C", "ethanol_mole_fraction", "vapour_mole_fraction")
    p, t, x, y = (np.array([float(row[c] or "nan") for row in rows]) for c in columns)
    return p * 1e3, t + 273.15, x, y


def rms(values: Array) -> float:
    return float(np.sqrt(np.mean(values**2)))


# The goal of the design (0.2 K, 0.008) for the modern table; for the 1968 compilation its own
# disagreement with the modern one (0.3 K bias, 0.6 K scatter, 0.02 in y), see the sidecar.
@pytest.mark.parametrize(
    ("name", "by_temperature", "by_vapour"),
    [("kamihama2012", 0.2, 0.008), ("hala1968", 0.45, 0.02)],
)
def test_isobaric_tables_at_one_atmosphere(
    name: str, by_temperature: float, by_vapour: float
) -> None:
    pressure, temperature, x, y = measured(name)
    predicted, vapour = equilibrium.bubble_point(x, pressure)
    assert len(x) >= 21
    assert rms(predicted - temperature) <= by_temperature
    assert rms(vapour - y) <= by_vapour


# Beebe et al. 1942: temperatures are 1 to 4 K high (sidecar), so only the vapour is compared. The
# sets lie below the pressures that are offered; they check the model's trend with temperature.
@pytest.mark.parametrize(
    ("name", "tolerance"),
    [("beebe1942-380", 0.010), ("beebe1942-190", 0.015), ("beebe1942-95", 0.025)],
)
def test_vapour_of_the_tables_at_reduced_pressure(name: str, tolerance: float) -> None:
    pressure, _, x, y = measured(name)
    _, vapour = solve_bubble(x, pressure)
    assert rms(vapour - y) <= tolerance


# Relative pressure; tolerances: the sets at 50 and 90 °C disagree among themselves by 0.5 to 1 %,
# the 30 °C set lies at the cold edge of the fit.
@pytest.mark.parametrize(
    ("name", "tolerance"),
    [
        ("pemberton1978-30", 0.008),
        ("pemberton1978-90", 0.003),
        ("wichterle-50a", 0.013),
        ("wichterle-50b", 0.013),
        ("wichterle-90b", 0.005),
    ],
)
def test_isothermal_pressures(name: str, tolerance: float) -> None:
    pressure, temperature, x, _ = measured(name)
    ethanol, water, _, _ = partial_pressures(x, temperature)
    assert len(x) >= 23
    assert rms((ethanol + water) / pressure - 1.0) <= tolerance


def test_vapour_of_a_set_whose_vapour_was_not_needed_to_fit_it() -> None:
    # Fredenslund's rule: isothermal x-y-P data are consistent with a model when the mean |Δy| is
    # below 0.01.
    _, temperature, x, y = measured("pemberton1978-30")
    ethanol, water, _, _ = partial_pressures(x, temperature)
    assert float(np.mean(np.abs(ethanol / (ethanol + water) - y))) < 0.01


def test_azeotrope_at_one_atmosphere() -> None:
    # Accepted: 78.15 °C and x = 0.894 to 0.904; the goal of the design allows 0.890.
    temperature, x = equilibrium.azeotrope(101325.0)
    assert temperature - 273.15 == pytest.approx(78.15, abs=0.05)
    assert 0.890 <= x <= 0.904
    # Distance from the accepted band, stated in the docstring and on the validation page.
    assert 0.894 - x == pytest.approx(0.0024, abs=2e-4)


@pytest.mark.parametrize(
    ("name", "tolerance"),
    # The fit's stated misfit, 1.2e-5 and 4.8e-5, rounded up.
    [("ethanol", 1.3e-5), ("water", 5e-5)],
)
def test_vapour_pressures_are_those_of_the_reference_equations(name: str, tolerance: float) -> None:
    temperature = np.linspace(300.0, 390.0, 31)
    ours = getattr(equilibrium, f"vapour_pressure_{name}")(temperature)
    theirs = np.array([PropsSI("P", "T", t, "Q", 0, name.capitalize()) for t in temperature])
    assert np.max(np.abs(ours / theirs - 1.0)) < tolerance


@pytest.mark.parametrize(
    ("altitude", "pressure"),
    # ISO 2533:1975, pressure in Pa printed to six figures; also in any table of the standard.
    [(0.0, 101325.0), (500.0, 95461.3), (1000.0, 89876.3), (2000.0, 79501.4), (5000.0, 54048.3)],
)
def test_standard_atmosphere(altitude: float, pressure: float) -> None:
    # The printed rows are by geometric height; ours takes the height as geopotential, which at
    # 5000 m is 4 m (0.05 %) apart.
    assert equilibrium.pressure_from_altitude(altitude) == pytest.approx(pressure, rel=6e-4)
