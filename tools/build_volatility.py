# SPDX-License-Identifier: MIT
"""Write the volatility tables of the liquid layer from their sources.

Reads ``tools/data/volatility_sources.csv`` (anchors, grades, group counts) and writes, with thermo
and chemicals, which the product itself never imports:

- ``volatility.csv``: one row a compound with vapour-pressure coefficients and the uncertainty;
- ``ln_gamma_model.csv``: ln γ∞ of the group model on nodes of composition and temperature;
- the SHA-256 of both, and of ``compounds.csv``, in their sidecars.

Run it as ``python tools/build_volatility.py``; the result is committed.
"""

from __future__ import annotations

import ast
import csv
import hashlib
import math
import re
from pathlib import Path

import numpy as np
import thermo.unifac as groups
from thermo.interaction_parameters import IPDB
from thermo.nrtl import NRTL
from thermo.unifac import UNIFAC
from thermo.vapor_pressure import VaporPressure

HERE = Path(__file__).resolve().parent
TABLES = HERE.parent / "src" / "middlecut" / "liquid" / "tables"
SOURCES = HERE / "data" / "volatility_sources.csv"

ETHANOL_VOLUME, WATER_VOLUME = 58.7, 18.07  # cm³/mol, as the method's volume fraction uses them
TEMPERATURE_LOW, TEMPERATURE_HIGH, TEMPERATURE_NODES = 298.15, 385.0, 5
COMPOSITION_NODES = 17
PRESSURE_LOW, PRESSURE_HIGH = 330.0, 385.0  # K, range of the vapour-pressure fit
GAS_CONSTANT_CAL = 1.98720425  # cal/(mol K), the unit of Fishtine's correlation
WATER_CONCENTRATION = 55345.0  # mol/m³ of water at 25 °C
TRACE = 1e-10  # mole fraction that stands for infinite dilution
MILLIMETRE_OF_MERCURY = 133.322  # Pa, the unit of the association constants

BASIS = {"A": "measured", "B": "measured", "B-": "measured", "D": "estimated"}
FACTOR = {"A": 1.15, "B": 1.3, "B-": 1.5, "C+": 1.5, "C": 1.8, "C-": 1.8, "D": 2.5}
ETHANOL_UNIFAC, WATER_UNIFAC = {1: 1, 2: 1, 14: 1}, {16: 1}


def lobatto(count: int) -> np.ndarray:
    """Chebyshev–Lobatto nodes on 0 to 1, rising."""
    nodes: np.ndarray = 0.5 * (1.0 - np.cos(np.pi * np.arange(count) / (count - 1)))
    return nodes


def composition_nodes() -> np.ndarray:
    """Mole fractions whose volume fractions are Chebyshev–Lobatto nodes: dense near 0."""
    phi = lobatto(COMPOSITION_NODES)
    ratio = WATER_VOLUME / ETHANOL_VOLUME
    nodes: np.ndarray = phi * ratio / (phi * ratio + (1.0 - phi))
    return nodes


def temperature_nodes() -> np.ndarray:
    """Temperatures whose reciprocals are Chebyshev–Lobatto nodes."""
    inverse = 1.0 / TEMPERATURE_LOW + lobatto(TEMPERATURE_NODES) * (
        1.0 / TEMPERATURE_HIGH - 1.0 / TEMPERATURE_LOW
    )
    nodes: np.ndarray = np.round(1.0 / inverse, 3)
    return nodes


def fishtine_pressure(temperature: float, boiling_point: float, factor: float) -> float:
    """Antoine form through the boiling point with Fishtine's K_F (Lyman's handbook, method 1)."""
    offset = -18.0 + 0.19 * boiling_point
    enthalpy = factor * (8.75 + GAS_CONSTANT_CAL * math.log(boiling_point))
    scale = enthalpy * (boiling_point - offset) ** 2 / (0.97 * GAS_CONSTANT_CAL * boiling_point)
    return 101325.0 * math.exp(
        scale * (1.0 / (boiling_point - offset) - 1.0 / (temperature - offset))
    )


def henry_pressure(temperature: float, row: dict[str, str]) -> float:
    """Partial pressure over water per mole fraction, for a gas above its critical point."""
    constant, slope = float(row["henry_25"]), float(row["henry_slope"])
    rise = math.exp(-slope * (1.0 / temperature - 1.0 / 298.15))
    return WATER_CONCENTRATION / constant * rise


def monomer_pressure(total: float, temperature: float, row: dict[str, str]) -> float:
    """Partial pressure of the single molecules over a pure acid, whose vapour is mostly dimers.

    p + K p² is the whole pressure, with log10(K mmHg) = b/T - a. At infinite dilution the vapour
    holds no dimers, so that this pressure, the fugacity of the pure acid, takes Psat's place.
    """
    constant = 10.0 ** (float(row["dimer_b"]) / temperature - float(row["dimer_a"]))
    constant /= MILLIMETRE_OF_MERCURY
    return (math.sqrt(1.0 + 4.0 * constant * total) - 1.0) / (2.0 * constant)


def fit_vapour_pressure(row: dict[str, str]) -> tuple[np.ndarray, float, str]:
    """Coefficients of ln P = c0 + c1/T + c2 ln T, largest relative error, basis."""
    temperature = np.linspace(PRESSURE_LOW, PRESSURE_HIGH, 45)
    method = row["vapour_pressure_method"]
    if method:
        source = VaporPressure(CASRN=row["cas"])
        source.method = method
        pressure = [source.T_dependent_property(value) for value in temperature]
        basis = f"correlation: {method}"
    elif row["henry_25"]:
        pressure = [henry_pressure(value, row) for value in temperature]
        basis = "Henry constant in place of a vapour pressure"
    else:
        boiling_point = float(row["boiling_point_for_estimate"])
        factor = float(row["fishtine_factor"])
        pressure = [fishtine_pressure(value, boiling_point, factor) for value in temperature]
        basis = f"estimate: boiling point {boiling_point:g} K and Fishtine factor {factor:g}"
    if row["dimer_a"]:
        pressure = [
            monomer_pressure(total, value, row)
            for total, value in zip(pressure, temperature, strict=True)
        ]
        basis += (
            f"; its monomer, log10(K mmHg) = {row['dimer_b']}/T - {row['dimer_a']} "
            f"({row['dimer_basis']})"
        )
    target = np.log(np.asarray(pressure, dtype=float))
    design = np.column_stack([np.ones_like(temperature), 1.0 / temperature, np.log(temperature)])
    coefficients, *_ = np.linalg.lstsq(design, target, rcond=None)
    coefficients = np.array([float(f"{value:.10g}") for value in coefficients])
    return coefficients, float(np.max(np.abs(np.expm1(design @ coefficients - target)))), basis


def missing_pairs(solute: dict[int, int], modified: bool) -> list[tuple[int, int]]:
    """Pairs of main groups the interaction table has no parameters for."""
    subgroups = groups.DOUFSG if modified else groups.UFSG
    table = groups.DOUFIP2016 if modified else groups.UFIP
    mains = {subgroups[key].main_group_id for key in (*solute, *ETHANOL_UNIFAC, *WATER_UNIFAC)}
    return [
        (first, second)
        for first in mains
        for second in mains
        if first != second and second not in table.get(first, {})
    ]


def unifac_ln_gamma(
    solute: dict[int, int], modified: bool, temperature: float, ethanol: float
) -> float:
    """Logarithm of γ∞ of the solute in ethanol–water by (modified) UNIFAC."""
    fractions = [TRACE, ethanol * (1.0 - TRACE), (1.0 - ethanol) * (1.0 - TRACE)]
    model = UNIFAC.from_subgroups(
        T=temperature,
        xs=fractions,
        chemgroups=[solute, ETHANOL_UNIFAC, WATER_UNIFAC],
        subgroups=groups.DOUFSG if modified else groups.UFSG,
        interaction_data=groups.DOUFIP2016 if modified else groups.UFIP,
        version=1 if modified else 0,
    )
    return math.log(model.gammas()[0])


def nrtl_ln_gamma(cas: str, temperature: float, ethanol: float) -> float:
    """Logarithm of γ∞ by NRTL with the published binary sets the library ships (ChemSep)."""
    members = [cas, "64-17-5", "7732-18-5"]
    energies = IPDB.get_ip_asymmetric_matrix("ChemSep NRTL", members, "bij")
    alphas = IPDB.get_ip_asymmetric_matrix("ChemSep NRTL", members, "alphaij")
    fractions = [TRACE, ethanol * (1.0 - TRACE), (1.0 - ethanol) * (1.0 - TRACE)]
    model = NRTL(T=temperature, xs=fractions, tau_bs=energies, alpha_cs=alphas)
    return math.log(model.gammas()[0])


def model_rows(row: dict[str, str]) -> list[list[str]]:
    """Rows (cas, temperature, ln γ at each composition) of one compound; none for cosolvency."""
    model = row["base_model"]
    if model == "cosolvency":
        return []
    modified = model == "modified-unifac"
    solute: dict[int, int] = {}
    if model != "nrtl":
        text = row["groups_modified_unifac"] if modified else row["groups_unifac"]
        solute = ast.literal_eval(text)
        if missing := missing_pairs(solute, modified):
            raise SystemExit(f"{row['name']}: {model} lacks the pairs {missing}")
    rows = []
    for temperature in temperature_nodes():
        values = [
            nrtl_ln_gamma(row["cas"], temperature, x)
            if model == "nrtl"
            else unifac_ln_gamma(solute, modified, temperature, x)
            for x in composition_nodes()
        ]
        rows.append([row["cas"], f"{temperature:.3f}", *(f"{value:.6f}" for value in values)])
    return rows


def used_anchors(text: str) -> list[float]:
    """Numbers of the anchor text that went into the mean."""
    return [
        float(value) for value in re.findall(r"= ([\d.]+(?:e\+\d+)?)", text.partition(" ; ")[0])
    ]


def water_factor(row: dict[str, str]) -> float:
    """One-sigma multiplicative factor of the row's grade, which holds at the water end."""
    if row["grade"] != "C?":
        return FACTOR[row["grade"]]
    anchors = used_anchors(row["anchor"])
    return round(max(1.8, math.sqrt(max(anchors) / min(anchors))), 2)


def middle_factor(row: dict[str, str]) -> float:
    """One-sigma multiplicative factor between water and ethanol, never below the water end's."""
    return max(float(row["middle_factor"] or 1.0), water_factor(row))


def write_table(name: str, header: list[str], rows: list[list[str]]) -> None:
    """Write one table and put its checksum into the sidecar."""
    path = TABLES / f"{name}.csv"
    with path.open("w", newline="", encoding="utf-8") as stream:
        writer = csv.writer(stream, lineterminator="\n")
        writer.writerow(header)
        writer.writerows(rows)
    seal(path)


def seal(path: Path) -> None:
    """Put the checksum of a table into its sidecar."""
    digest = hashlib.sha256(path.read_bytes()).hexdigest()
    sidecar = path.with_suffix(".toml")
    text = sidecar.read_text(encoding="utf-8")
    text = re.sub(r'^sha256 = ".*"$', f'sha256 = "{digest}"', text, flags=re.MULTILINE)
    sidecar.write_text(text, encoding="utf-8")


def main() -> None:
    """Build both tables and seal all sidecars of this area."""
    with SOURCES.open(newline="", encoding="utf-8") as stream:
        sources = list(csv.DictReader(stream))
    volatility: list[list[str]] = []
    gammas: list[list[str]] = []
    for row in sources:
        coefficients, error, basis = fit_vapour_pressure(row)
        gammas.extend(model_rows(row))
        volatility.append(
            [
                row["name"], row["cas"], row["base_model"], row["grade"],
                BASIS.get(row["grade"], "anchored"), f"{water_factor(row):g}",
                f"{middle_factor(row):g}", row["middle_basis"],
                row["gamma_water"], row["gamma_water_low"], row["gamma_water_high"],
                row["gamma_ethanol"], *(f"{value:.10g}" for value in coefficients),
                f"{error:.1e}", basis, row["anchor"], row["note"],
            ]
        )  # fmt: skip
    write_table(
        "volatility",
        [
            "name", "cas", "base_model", "grade", "basis", "water_factor", "middle_factor",
            "middle_basis", "gamma_water", "gamma_water_low", "gamma_water_high", "gamma_ethanol",
            "c0", "c1", "c2",
            "vapour_pressure_fit_error", "vapour_pressure_basis", "anchor", "note",
        ],
        volatility,
    )  # fmt: skip
    header = ["cas", "temperature", *(f"{value:.10f}" for value in composition_nodes())]
    write_table("ln_gamma_model", header, gammas)
    for name in ("compounds", "congeners"):
        if (TABLES / f"{name}.toml").exists():
            seal(TABLES / f"{name}.csv")
    print(f"{len(volatility)} compounds, {len(gammas)} rows of ln gamma")


if __name__ == "__main__":
    main()
