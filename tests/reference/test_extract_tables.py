# SPDX-License-Identifier: MIT
"""Gravity, Plato, Balling and obscuration against published cases (sources in data/)."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from middlecut.errors import OutOfRangeError
from middlecut.liquid import alcoholometry as al
from middlecut.liquid import extract as ex

DATA = Path(__file__).parent / "data"
Row = dict[str, str]

with (DATA / "extract_checks.csv").open(encoding="utf-8", newline="") as checks:
    ROWS = list(csv.DictReader(checks))


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['quantity']}-{row['first']}")
def test_published_extract(row: Row) -> None:
    first, expected = float(row["first"]), float(row["expected"])
    if row["quantity"] == "plato":
        value = ex.plato_from_gravity(first)
    elif row["quantity"] == "real_extract":
        value = 100.0 * ex.real_extract(first / 100.0, float(row["second"]) / 100.0)
    else:
        value = 100.0 * ex.ethanol_mass_fraction(first / 100.0, float(row["second"]) / 100.0)
    assert value == pytest.approx(expected, abs=float(row["tolerance"]), rel=0.0)


def test_second_fit_to_the_plato_table() -> None:
    """De Clerck's quadratic (read on a page): within 0.01 °P of the cubic from 5 to 20 °P."""
    for gravity in (1.0197, 1.04, 1.05, 1.061, 1.083):
        quadratic = -463.37 + 668.72 * gravity - 205.347 * gravity**2
        assert ex.plato_from_gravity(gravity) == pytest.approx(quadratic, abs=0.01)


def test_inverse_that_is_widely_printed() -> None:
    """SG = 1 + P/(258.6 - 227.1 P/258.2), an approximation good to 0.0003 up to 20 °P."""
    for plato in (2.0, 5.0, 10.0, 15.0, 20.0):
        printed = 1.0 + plato / (258.6 - 227.1 * plato / 258.2)
        assert ex.gravity_from_plato(plato) == pytest.approx(printed, abs=3e-4)


def test_hydrometer_in_a_warm_wash() -> None:
    """1.040 at 35 °C for 15 °C: water alone 1.00510, with glass 1.00460 (worked example)."""
    gravity = ex.true_gravity(1.040, 308.15, reference_temperature=288.15)
    assert gravity / 1.040 == pytest.approx(1.00460, abs=1e-5)  # printed to 1e-5
    assert gravity == pytest.approx(1.0448, abs=5e-5)


def test_refractometer_on_its_own_wines() -> None:
    """The equation of Rogerson and Symington (2006) by hand for 16 °Brix and 2.42 °Baumé."""
    strength = ex.strength_from_refractometer(brix=16.0, gravity=145.0 / (145.0 - 2.42))
    assert strength == pytest.approx((26.336 - 6.54126 - 1.794) / 100.0, abs=1e-9)


def test_refractometer_refuses_a_wash() -> None:
    """10 % vol in water reads about 3.6 °Brix and SG 0.9864: not what it was fitted on."""
    with pytest.raises(OutOfRangeError):
        ex.strength_from_refractometer(brix=3.6, gravity=0.9864)
    with pytest.raises(OutOfRangeError, match="port"):
        ex.strength_from_refractometer(brix=9.0, gravity=1.0)


def test_us_obscuration_is_the_balance_at_100_proof() -> None:
    """27 CFR 30.32: 1 g/L hides 0.4 proof; a density balance gives 0.396 at 50 % vol."""
    density = al.density(al.mass_fraction_from_strength(0.5), 293.15)
    hidden = 200.0 * (al.strength_with_extract(density, 1.0, 293.15) - 0.5)
    assert hidden == pytest.approx(0.396, abs=0.005)  # of its 1.95 kg/m3 for one % vol
    assert al.obscuration_us(1.0) == pytest.approx(hidden, abs=0.01)


def test_obscuration_follows_the_strength() -> None:
    """At 40 % vol a gram hides 0.48 proof (0.386 over 1.605 kg/m3 for one % vol)."""
    density = al.density(al.mass_fraction_from_strength(0.4), 293.15)
    hidden = 200.0 * (al.strength_with_extract(density, 1.0, 293.15) - 0.4)
    assert hidden == pytest.approx(0.48, abs=0.005)


def test_oiv_form_of_the_balance() -> None:
    """d_r = 1.00180 (rho_v - rho_a) + 1.000 in g/mL (OIV): 50 g/L of sugar give d_r 1.0193."""
    density = 985.0
    strength = al.strength_with_extract(density, 50.0, 293.15)
    without = al.density(al.mass_fraction_from_strength(strength), 293.15)
    residue = 1.00180 * (density - without) / 1000.0 + 1.0
    # 50 g/L is 4.92 °P or SG 1.0193 by the Plato table.
    assert residue == pytest.approx(1.0193, abs=2e-4)
    assert ex.plato_from_gravity(residue) * 10.0 * residue * 0.9982 == pytest.approx(50.0, abs=0.3)
