# SPDX-License-Identifier: MIT
"""The interpolated tables against the group models and correlations they were made from."""

from __future__ import annotations

import ast
import csv
import math
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import thermo.unifac as groups
from chemicals import Wagner_original
from chemicals.vapor_pressure import Psat_data_WagnerMcGarry
from scipy.optimize import brentq
from thermo.unifac import UNIFAC

from middlecut.liquid import equilibrium, volatility, volatility_tables

SOURCES = Path(__file__).resolve().parents[2] / "tools" / "data" / "volatility_sources.csv"
POINTS = [(0.003, 371.0), (0.07, 360.0), (0.31, 354.5), (0.62, 352.1), (0.97, 351.4), (0.2, 305.0)]
NAMES = (
    "ethyl acetate", "ethyl dodecanoate", "3-methyl-1-butanol", "2-phenylethanol", "limonene",
    "linalool", "guaiacol", "furfural", "acetic acid", "dimethyl sulfide", "methyl anthranilate",
)  # fmt: skip


@lru_cache
def sources() -> dict[str, dict[str, str]]:
    with SOURCES.open(newline="", encoding="utf-8") as stream:
        return {row["name"]: row for row in csv.DictReader(stream)}


def model_ln_gamma(row: dict[str, str], temperature: float, x: float) -> float:
    modified = row["base_model"] == "modified-unifac"
    text = row["groups_modified_unifac"] if modified else row["groups_unifac"]
    trace = 1e-10
    settings: dict[str, Any] = (
        {"subgroups": groups.DOUFSG, "interaction_data": groups.DOUFIP2016, "version": 1}
        if modified
        else {"subgroups": groups.UFSG, "interaction_data": groups.UFIP, "version": 0}
    )
    model = UNIFAC.from_subgroups(
        T=temperature,
        xs=[trace, x * (1 - trace), (1 - x) * (1 - trace)],
        chemgroups=[ast.literal_eval(text), {1: 1, 2: 1, 14: 1}, {16: 1}],
        **settings,
    )
    return math.log(model.gammas()[0])


@pytest.mark.parametrize("name", NAMES)
def test_table_agrees_with_the_group_model(name: str) -> None:
    row = sources()[name]
    for x, temperature in POINTS:
        share = 18.07 * (1 - x) / (58.7 * x + 18.07 * (1 - x))
        base = model_ln_gamma(row, temperature, x)
        water = model_ln_gamma(row, temperature, 0.0)
        literal = base + (math.log(float(row["gamma_water"])) - water) * share
        ours = volatility.limiting_activity_coefficient(name, x, temperature)
        assert math.log(ours) == pytest.approx(literal, abs=5e-4)


@pytest.mark.parametrize("name", ["4-vinylguaiacol", "menthol"])
def test_predictions_without_anchor_are_the_bare_model(name: str) -> None:
    row = sources()[name]
    assert row["gamma_water"] == ""
    for x, temperature in POINTS:
        ours = volatility.limiting_activity_coefficient(name, x, temperature)
        assert math.log(ours) == pytest.approx(model_ln_gamma(row, temperature, x), abs=5e-4)


@pytest.mark.parametrize("name", ["ethyl acetate", "1-propanol", "2-butanol"])
def test_k_agrees_with_correlation_and_model(name: str) -> None:
    row = sources()[name]
    assert row["vapour_pressure_method"] == "WAGNER_MCGARRY"
    wagner = Psat_data_WagnerMcGarry.loc[row["cas"]]
    for x in (0.02, 0.5):
        temperature, _ = equilibrium.bubble_point(x, 85e3)
        psat = Wagner_original(temperature, *(float(wagner[key]) for key in ("Tc", "Pc", *"ABCD")))
        gamma = volatility.limiting_activity_coefficient(name, x, temperature)
        # The vapour-pressure fit is within 0.4 % of its correlation (column of the table).
        assert volatility.k_value(name, x, 85e3) == pytest.approx(gamma * psat / 85e3, rel=0.004)


@pytest.mark.parametrize("temperature", [333.15, 351.0, 373.15])
def test_acetic_acid_is_taken_at_the_pressure_of_its_monomer(temperature: float) -> None:
    # Wagner's pressure P of the pure acid (McGarry) and log10(K mmHg) = 3166/T - 10.4205 (memory):
    # the monomer's p solves p + K p² = P. Literally, by a root finder.
    wagner = Psat_data_WagnerMcGarry.loc["64-19-7"]
    total = Wagner_original(temperature, *(float(wagner[key]) for key in ("Tc", "Pc", *"ABCD")))
    constant = 10.0 ** (3166.0 / temperature - 10.4205) / 133.322
    monomer = brentq(lambda p: p + constant * p * p - total, 0.0, total)
    found = volatility_tables.tables()
    coefficients = found.pressure_coefficients[[found.index["64-19-7"]]]
    ours = math.exp(volatility_tables.ln_pressure(coefficients, np.array([temperature]))[0, 0])
    assert ours == pytest.approx(monomer, rel=0.004)  # the fit, as for all
    assert monomer < 0.4 * total


def test_no_group_model_lacks_a_pair() -> None:
    for row in sources().values():
        if "unifac" not in row["base_model"]:
            continue
        modified = row["base_model"] == "modified-unifac"
        text = row["groups_modified_unifac"] if modified else row["groups_unifac"]
        subgroups = groups.DOUFSG if modified else groups.UFSG
        table = groups.DOUFIP2016 if modified else groups.UFIP
        keys = {*ast.literal_eval(text), 1, 2, 14, 16}
        mains = {subgroups[key].main_group_id for key in keys}
        missing = [(a, b) for a in mains for b in mains if a != b and b not in table.get(a, {})]
        assert missing == [], row["name"]


def test_interpolation_is_exact_for_a_polynomial() -> None:
    nodes = np.array([0.0, 0.2, 0.5, 1.0])
    at = np.array([0.0, 0.13, 0.5, 0.77, 1.0])
    values = 3.0 - nodes + 2.0 * nodes**3
    ours = volatility_tables.interpolation(nodes, at) @ values
    assert np.allclose(ours, 3.0 - at + 2.0 * at**3, rtol=0, atol=1e-13)
