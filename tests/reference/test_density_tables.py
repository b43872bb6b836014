# SPDX-License-Identifier: MIT
"""Densities and strengths against published tables (sources in the sidecars under data/)."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from middlecut.liquid import alcoholometry as al

DATA = Path(__file__).parent / "data"
GALLON, POUND = 3.785411784e-3, 0.45359237  # exact: 231 cubic inches, and the pound of 1959
# The US tables weigh in air of 60 °F (dry, 101.325 kPa) against brass (memory).
US_AIR, US_WEIGHTS = 1.2226, 8400.0
Row = dict[str, str]


def rows_of(name: str) -> list[Row]:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


CHECKS = rows_of("alcohol_density_checks.csv")
GOLDEN = rows_of("r22_golden.csv")


def mass_fraction_of(row: Row) -> float:
    strength = float(row["strength"])
    unit = row["strength_unit"]
    if unit == "mass %":
        return strength / 100.0
    if unit == "vol % @15.56":
        return al.mass_fraction_from_proof(2.0 * strength)
    if unit == "vol % @20":
        return al.mass_fraction_from_strength(strength / 100.0)
    if unit == "US proof":
        return al.mass_fraction_from_proof(strength)
    assert unit == "mole fraction"
    return al.mass_fraction_from_mole_fraction(strength)


def excess_volume(x: float, temperature: float) -> float:
    ethanol, water = x * al.ETHANOL_MOLAR_MASS, (1.0 - x) * al.WATER_MOLAR_MASS
    w = ethanol / (ethanol + water)
    apart = ethanol / al.density(1.0, temperature) + water / al.density(0.0, temperature)
    return 1e6 * ((ethanol + water) / al.density(w, temperature) - apart)


def ours(row: Row) -> float:
    w, temperature = mass_fraction_of(row), float(row["temperature_c"]) + 273.15
    density, water = al.density(w, temperature), al.density(0.0, temperature)
    in_air = al.apparent_density(density, air_density=US_AIR, weight_density=US_WEIGHTS)
    pounds = in_air * GALLON / POUND
    values = {
        "density": density,
        "density in air": al.apparent_density(density),
        "sp.gr. in air 25/25": al.apparent_density(density) / al.apparent_density(water),
        "sp.gr. in air 15.56/15.56": al.apparent_density(density) / al.apparent_density(water),
        "sp.gr. 60/60 F in vacuo": density / water,
        "vol % at 15.56 C from mass %": al.proof_from_mass_fraction(w) / 2.0,
        "wine gal per lb in air": 1.0 / pounds,
        "proof gal per lb in air": al.proof_from_mass_fraction(w) / 100.0 / pounds,
    }
    if row["quantity"] == "excess molar volume":
        return excess_volume(float(row["strength"]), temperature)
    return values[row["quantity"]]


@pytest.mark.parametrize("row", CHECKS, ids=lambda row: f"{row['source']}-{row['id']}")
def test_published_value(row: Row) -> None:
    assert ours(row) == pytest.approx(float(row["published"]), abs=float(row["tolerance"]), rel=0.0)


def test_all_published_rows_are_there() -> None:
    assert len(CHECKS) == 295
    assert sum(row["basis"] == "read" for row in CHECKS) == 258


def test_densities_of_1913_scatter_little_about_their_mean() -> None:
    """They lie 0.05 above the formula throughout; the shape of the surface is the same."""
    gaps = [ours(row) - float(row["published"]) for row in CHECKS if row["source"] == "osborne1913"]
    assert len(gaps) == 144
    assert float(np.std(gaps)) < 0.025  # 0.021 was found by a separate program on 287 rows


def test_formula_is_unchanged() -> None:
    """Regression on values computed with the same coefficients; not independent evidence."""
    for row in GOLDEN:
        w, temperature = float(row["mass_fraction"]), float(row["temperature_c"]) + 273.15
        assert al.density(w, temperature) == pytest.approx(float(row["density"]), abs=6e-7)
        percent = 100.0 * al.strength_from_mass_fraction(w)
        assert percent == pytest.approx(float(row["strength_percent_20c"]), abs=6e-7)
        half_proof = al.proof_from_mass_fraction(w) / 2.0
        assert half_proof == pytest.approx(float(row["strength_percent_60f"]), abs=6e-7)


@pytest.mark.parametrize("celsius", range(1, 41, 3))
def test_water_against_iapws95(celsius: int) -> None:
    """CoolProp's IAPWS-95 at 101.325 kPa; 0.01 = the older water formula and the scale of 1968."""
    library = PropsSI("D", "T", celsius + 273.15, "P", 101325.0, "Water")
    assert al.density(0.0, celsius + 273.15) == pytest.approx(library, abs=0.01, rel=0.0)


def its90_density(w: float, t90: float) -> float:
    terms = json.loads((DATA / "its90_refit.json").read_text(encoding="utf-8"))
    u, dt = w - 0.5, t90 - 20.0
    total = sum(a * u**k for k, a in enumerate(terms["A"]))
    total += sum(b * dt**k for k, b in enumerate(terms["B"], 1))
    for i, series in enumerate(terms["C"], 1):
        total += sum(c * u**k * dt**i for k, c in enumerate(series, 1))
    return float(total)


@pytest.mark.parametrize("t90", [-19.9, -10.0, -5.0, 0.0, 5.0, 15.0, 20.0, 30.0, 39.9])
def test_refit_on_the_scale_of_1990(t90: float) -> None:
    """A second set of coefficients for the same surface; 0.001 kg/m3 is what its sidecar says."""
    lowest = 0.5 if t90 < 0.0 else 0.0
    for w in np.linspace(lowest, 1.0, 11):
        assert al.density(float(w), 1.00024 * t90 + 273.15) == pytest.approx(
            its90_density(float(w), t90), abs=0.001, rel=0.0
        )
