# SPDX-License-Identifier: MIT
"""The numbers behind :mod:`middlecut.liquid.heat`: arrays in, arrays out, no checks.

Enthalpies in J mol⁻¹.
"""

from __future__ import annotations

import csv
from functools import lru_cache
from importlib.resources import files

import numpy as np

from middlecut.liquid.ranges import Array

__all__ = ["DATUM", "EXCESS_BASE", "excess_series", "mixing", "of_liquid", "of_vapour", "pure_fits"]

DATUM = 293.15
"""Temperature at which the pure liquids have no enthalpy. [K]"""

_CENTRE, _WIDTH = 325.65, 52.5
EXCESS_BASE = 298.15


@lru_cache(maxsize=1)
def pure_fits() -> dict[str, np.polynomial.Polynomial]:
    """Return heat capacity and latent heat of both pure substances as polynomials in T."""
    table = files("middlecut.liquid") / "tables" / "pure_heat.csv"
    domain = [_CENTRE - _WIDTH, _CENTRE + _WIDTH]
    return {
        f"{row['quantity']} {row['substance']}": np.polynomial.Polynomial(
            [float(row[f"c{k}"]) for k in range(7)], domain=domain
        )
        for row in csv.DictReader(table.read_text(encoding="utf-8").splitlines())
    }


@lru_cache(maxsize=2)
def _pure_enthalpy(substance: str) -> np.polynomial.Polynomial:
    return pure_fits()[f"liquid_heat_capacity {substance}"].integ(lbnd=DATUM)


@lru_cache(maxsize=1)
def _excess_terms() -> dict[str, list[float]]:
    table = files("middlecut.liquid") / "tables" / "excess_enthalpy.csv"
    found: dict[str, list[float]] = {}
    for row in csv.DictReader(table.read_text(encoding="utf-8").splitlines()):
        found.setdefault(row["term"], []).append(float(row["value"]))
    return found


def excess_series(term: str, x: Array) -> Array:
    """Return x1 x2 Σ_k coefficient_k (x1 - x2)^k for one of the terms h, c, e."""
    d = 2.0 * x - 1.0
    total = np.zeros_like(x)
    for coefficient in reversed(_excess_terms()[term]):
        total = coefficient + d * total
    return x * (1.0 - x) * total


def mixing(x: Array, temperature: Array) -> Array:
    """Return the excess enthalpy of the liquid."""
    t = temperature - EXCESS_BASE
    return excess_series("h", x) + t * (excess_series("c", x) + 0.5 * t * excess_series("e", x))


def of_liquid(x: Array, temperature: Array) -> Array:
    """Return the enthalpy of the liquid mixture."""
    ethanol = _pure_enthalpy("ethanol")(temperature)
    water = _pure_enthalpy("water")(temperature)
    return x * ethanol + (1.0 - x) * water + mixing(x, temperature)


def of_vapour(y: Array, temperature: Array) -> Array:
    """Return the enthalpy of an ideal mixture of the two saturated vapours."""
    fits = pure_fits()
    ethanol = _pure_enthalpy("ethanol")(temperature) + fits["latent_heat ethanol"](temperature)
    water = _pure_enthalpy("water")(temperature) + fits["latent_heat water"](temperature)
    return y * ethanol + (1.0 - y) * water
