# SPDX-License-Identifier: MIT
"""Fit the heat tables: pure water and ethanol, and the excess enthalpy of their mixture.

Pure substances: CoolProp along the saturation line (water IAPWS-95, ethanol Schroeder et al. 2014),
except the heat capacity of liquid ethanol, which is the critically evaluated correlation of
Zábranský et al. as the chemicals library prints it; the equation of state lies 2.5 % lower at
351 K.

Excess enthalpy: x1 x2 Σ_k [h_k + c_k t + e_k t²/2] (x1 - x2)^k with t = T - 298.15 K, a weighted
least-squares fit to the anchors that this script also writes down, each with its basis, and to the
Gibbs-Helmholtz integral of our own excess Gibbs energy between 303.15 and 363.15 K.

The product reads only the coefficients.
"""

from __future__ import annotations

import csv
import hashlib
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
from chemicals.heat_capacity import zabransky_dict_iso_p
from CoolProp.CoolProp import PropsSI
from numpy.typing import NDArray
from thermo.unifac import DOUFIP2006, DOUFSG, UNIFAC

Array = NDArray[np.float64]

ROOT = Path(__file__).parents[1]
TABLES = ROOT / "src/middlecut/liquid/tables"
ANCHORS = ROOT / "tests/reference/data/excess_enthalpy_anchors.csv"

LOW, HIGH = 273.16, 378.0
CENTRE, WIDTH, DEGREE = 325.65, 52.5, 6
GAS_CONSTANT = 8.31446261815324
MOLAR_MASS = {"ethanol": 46.06844e-3, "water": 18.01528e-3}
BASE = 298.15
TERMS = {"h": 6, "c": 5, "e": 3}

# Recalled, not opened: the usual 25 °C curve (Boyne & Williamson 1967; Lama & Lu 1965), rounded.
CURVE_25 = (
    *((0.05, -470.0), (0.10, -705.0), (0.15, -785.0), (0.20, -765.0), (0.30, -620.0)),
    *((0.40, -480.0), (0.50, -375.0), (0.60, -305.0), (0.70, -250.0), (0.80, -190.0)),
    (0.90, -105.0),
)
SOURCE_25 = "calorimetric curve at 25 °C after Boyne & Williamson 1967 and Lama & Lu 1965"


def saturated(name: str, prop: str, temperature: float, quality: int) -> float:
    """Return a property of a pure substance on the saturation line."""
    return float(PropsSI(prop, "T", temperature, "Q", quality, name))


def capacity(name: str, temperature: float) -> float:
    """Return the heat capacity of a pure liquid in J mol⁻¹ K⁻¹."""
    if name == "ethanol":
        return float(zabransky_dict_iso_p["64-17-5"].calculate(temperature))
    return saturated("Water", "Cpmolar", temperature, 0)


def latent(name: str, temperature: float) -> float:
    """Return the latent heat of a pure substance in J mol⁻¹."""
    name = name.capitalize()
    return saturated(name, "Hmolar", temperature, 1) - saturated(name, "Hmolar", temperature, 0)


def write_pure() -> None:
    """Fit and write ``pure_heat.csv``."""
    nodes = np.clip(CENTRE + WIDTH * np.cos(np.pi * (np.arange(400) + 0.5) / 400), LOW, HIGH)
    rows = ["substance,quantity,unit,c0,c1,c2,c3,c4,c5,c6,max_relative_error"]
    quantities: tuple[tuple[str, str, Callable[[str, float], float]], ...] = (
        ("liquid_heat_capacity", "J/mol/K", capacity),
        ("latent_heat", "J/mol", latent),
    )
    for name in ("ethanol", "water"):
        for quantity, unit, function in quantities:
            values = np.array([function(name, float(t)) for t in nodes])
            domain = [CENTRE - WIDTH, CENTRE + WIDTH]
            fit = np.polynomial.Polynomial.fit(nodes, values, DEGREE, domain=domain)
            error = float(np.max(np.abs(fit(nodes) / values - 1.0)))
            coefficients = ",".join(f"{c:.12g}" for c in fit.coef)
            rows.append(f"{name},{quantity},{unit},{coefficients},{error:.1e}")
            print(name, quantity, f"{error:.1e}")
    write(TABLES / "pure_heat.csv", rows)


def write(path: Path, rows: list[str]) -> None:
    """Write lines and print the checksum for the sidecar."""
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    print(path.name, "sha256", hashlib.sha256(path.read_bytes()).hexdigest())


def handbook_excess_capacity(mass_fraction: float, temperature: float) -> tuple[float, float]:
    """Return x and the excess heat capacity from Melinder's tables of aqueous ethanol."""
    specific = PropsSI("C", "T", temperature, "P", 101325, f"INCOMP::MEA-{mass_fraction * 100:g}%")
    ethanol = mass_fraction / MOLAR_MASS["ethanol"]
    moles = ethanol + (1.0 - mass_fraction) / MOLAR_MASS["water"]
    x = ethanol / moles
    pure = x * capacity("ethanol", temperature) + (1.0 - x) * capacity("water", temperature)
    return x, specific / moles - pure


def group_excess_capacity(x: float, temperature: float) -> float:
    """Return the excess heat capacity of modified UNIFAC (Dortmund) in J mol⁻¹ K⁻¹."""
    model = UNIFAC.from_subgroups(
        T=temperature,
        xs=[x, 1.0 - x],
        chemgroups=[{1: 1, 2: 1, 14: 1}, {16: 1}],
        version=1,
        interaction_data=DOUFIP2006,
        subgroups=DOUFSG,
    )
    return float(model.CpE())


def anchors() -> Iterator[tuple[str, float, float, float, float, str, str]]:
    """Yield quantity, T, x, value, one sigma, basis and source of every anchor."""
    for x, value in CURVE_25:
        yield "excess_enthalpy", BASE, x, value, 15.0, "memory", SOURCE_25
    infinite = "ethanol at infinite dilution in water at 25 °C; solution calorimetry"
    yield "excess_enthalpy_per_x", BASE, 1e-6, -10160.0, 150.0, "memory", infinite
    yield "excess_heat_capacity_per_x", BASE, 1e-6, 148.7, 10.0, "memory", infinite
    for temperature in (283.15, 293.15, 303.15, 313.15):
        for mass_fraction in (0.1, 0.2, 0.3, 0.4, 0.5, 0.6):
            x, value = handbook_excess_capacity(mass_fraction, temperature)
            source = "Melinder 2010 tables as fitted in CoolProp (INCOMP::MEA)"
            yield "excess_heat_capacity", temperature, x, value, 0.7, "computed", source
    for temperature in (BASE, 343.15):
        for x in (0.5, 0.6, 0.7, 0.8, 0.9):
            value = group_excess_capacity(x, temperature)
            source = "modified UNIFAC (Dortmund) in thermo"
            yield "excess_heat_capacity", temperature, x, value, 2.0, "computed", source


def basis(x: float, temperature: float) -> tuple[Array, Array]:
    """Return the rows of the excess enthalpy and of its derivative by temperature."""
    t = temperature - BASE
    shape = {
        key: np.array([x * (1 - x) * (2 * x - 1) ** k for k in range(n)])
        for key, n in TERMS.items()
    }
    enthalpy = np.concatenate([shape["h"], shape["c"] * t, shape["e"] * t * t / 2])
    slope = np.concatenate([0.0 * shape["h"], shape["c"], shape["e"] * t])
    return enthalpy, slope


def gibbs_rows() -> Iterator[tuple[Array, float, float]]:
    """Yield rows that tie the enthalpy to our excess Gibbs energy (sigma 0.006 in gE/RT)."""
    text = (TABLES / "ethanol_water_equilibrium.csv").read_text(encoding="utf-8")
    table = list(csv.DictReader(text.splitlines()))
    b = [float(row["value"]) for row in table if row["quantity"] == "gE/RT B"]
    cold, hot = 303.15, 363.15
    grid = np.linspace(cold, hot, 61)
    for x in np.arange(0.1, 0.95, 0.1):
        rows = np.array([basis(x, t)[0] / (GAS_CONSTANT * t * t) for t in grid])
        series = x * (1 - x) * sum(b[k] * (2 * x - 1) ** k for k in range(3))
        yield np.trapezoid(rows, grid, axis=0), series * 353.15 * (1 / cold - 1 / hot), 0.006


def write_excess() -> None:
    """Write the anchors, fit and write ``excess_enthalpy.csv``."""
    lines = ["quantity,temperature,ethanol_mole_fraction,value,sigma,basis,source"]
    rows, values = [], []
    for quantity, temperature, x, value, sigma, known, source in anchors():
        lines.append(f"{quantity},{temperature:g},{x:.7g},{value:.5g},{sigma:g},{known},{source}")
        row = basis(x, temperature)[0 if "enthalpy" in quantity else 1]
        row = row / x if quantity.endswith("per_x") else row
        rows.append(row / sigma)
        values.append(value / sigma)
    for row, value, sigma in gibbs_rows():
        rows.append(row / sigma)
        values.append(value / sigma)
    matrix, right = np.array(rows), np.array(values)
    fit = np.linalg.lstsq(matrix, right, rcond=None)[0]
    print("weighted rms", float(np.sqrt(np.mean((matrix @ fit - right) ** 2))))
    print("largest", float(np.max(np.abs(matrix @ fit - right))))
    names = [(key, k) for key, n in TERMS.items() for k in range(n)]
    table = ["term,k,value"] + [
        f"{key},{k},{v:.10g}" for (key, k), v in zip(names, fit, strict=True)
    ]
    write(ANCHORS, lines)
    write(TABLES / "excess_enthalpy.csv", table)


if __name__ == "__main__":
    write_pure()
    write_excess()
