# SPDX-License-Identifier: MIT
"""The numbers behind :mod:`middlecut.liquid.equilibrium`: arrays in, arrays out, no checks.

Index 1 is ethanol, 2 is water. gE/RT = x1 x2 Σ_k [A_k + B_k (353.15 K/T - 1)] (x1 - x2)^k.
"""

from __future__ import annotations

import csv
from functools import lru_cache
from importlib.resources import files

import numpy as np

from middlecut.errors import ConvergenceError
from middlecut.liquid.ranges import Array

__all__ = [
    "log_activity_coefficients",
    "log_vapour_pressure",
    "partial_pressures",
    "solve_bubble",
    "solve_dew",
]

STANDARD_PRESSURE = 101325.0
_REFERENCE_TEMPERATURE = 353.15
_MOST_ITERATIONS = 30


@lru_cache(maxsize=1)
def _coefficients() -> dict[str, Array]:
    table = files("middlecut.liquid") / "tables" / "ethanol_water_equilibrium.csv"
    found: dict[str, list[float]] = {}
    for row in csv.DictReader(table.read_text(encoding="utf-8").splitlines()):
        found.setdefault(f"{row['quantity']} {row['substance']}", []).append(float(row["value"]))
    return {key: np.array(values) for key, values in found.items()}


def log_vapour_pressure(substance: str, temperature: Array) -> tuple[Array, Array]:
    """Return ln(P/Pa) and its derivative by temperature."""
    c0, c1, c2, c3 = _coefficients()[f"ln Psat {substance}"]
    value = c0 + c1 / temperature + c2 * np.log(temperature) + c3 * temperature + np.log(1e3)
    return value, -c1 / temperature**2 + c2 / temperature + c3


def log_activity_coefficients(x: Array, temperature: Array) -> tuple[Array, Array, Array, Array]:
    """Return ln gamma of ethanol and water and the derivatives of both by temperature."""
    a, b = _coefficients()["gE/RT A mixture"], _coefficients()["gE/RT B mixture"]
    tau = _REFERENCE_TEMPERATURE / temperature - 1.0
    slope = -_REFERENCE_TEMPERATURE / temperature**2
    d = 2.0 * x - 1.0
    water = 1.0 - x

    def pair(c0: Array, c1: Array, c2: Array) -> tuple[Array, Array]:
        # g = x1 x2 (c0 + c1 d + c2 d²); ln γ1 = g + x2 g', ln γ2 = g − x1 g'
        series = c0 + d * (c1 + d * c2)
        g = x * water * series
        dg = -d * series + 2.0 * x * water * (c1 + 2.0 * c2 * d)
        return g + water * dg, g - x * dg

    ethanol, aqueous = pair(*(a[k] + b[k] * tau for k in range(3)))
    ethanol_slope, water_slope = pair(*(b[k] * slope for k in range(3)))
    return ethanol, aqueous, ethanol_slope, water_slope


def partial_pressures(x: Array, temperature: Array) -> tuple[Array, Array, Array, Array]:
    """Return both partial pressures [Pa] and their logarithmic derivatives by temperature."""
    gamma_e, gamma_w, slope_e, slope_w = log_activity_coefficients(x, temperature)
    psat_e, dpsat_e = log_vapour_pressure("ethanol", temperature)
    psat_w, dpsat_w = log_vapour_pressure("water", temperature)
    ethanol = x * np.exp(gamma_e + psat_e)
    water = (1.0 - x) * np.exp(gamma_w + psat_w)
    return ethanol, water, slope_e + dpsat_e, slope_w + dpsat_w


def solve_bubble(x: Array, pressure: Array) -> tuple[Array, Array]:
    """Newton's method in 1/T on ln(P/P0), which is nearly a straight line there."""
    x, pressure = np.broadcast_arrays(x, pressure)
    temperature = 373.15 - 22.0 * np.sqrt(np.sqrt(x)) + 25.0 * np.log(pressure / STANDARD_PRESSURE)
    step = np.inf
    for _ in range(_MOST_ITERATIONS):
        ethanol, water, slope_e, slope_w = partial_pressures(x, temperature)
        total = ethanol + water
        slope = (ethanol * slope_e + water * slope_w) / total
        inverse = 1.0 / temperature + np.log(total / pressure) / (slope * temperature**2)
        step = float(np.max(np.abs(1.0 / inverse - temperature), initial=0.0))
        temperature = 1.0 / inverse
        if step < 1e-6:  # the step after this one would be of the order of 1e-12 K
            ethanol, water, _, _ = partial_pressures(x, temperature)
            return temperature, ethanol / (ethanol + water)
    raise ConvergenceError("The bubble point", _MOST_ITERATIONS, step)


@lru_cache(maxsize=1)
def _dew_start() -> tuple[Array, Array]:
    """Return y on a grid of x at one atmosphere, to start the dew point from."""
    x = np.concatenate([np.linspace(0.0, 0.05, 51), np.linspace(0.06, 1.0, 189)])
    return x, solve_bubble(x, np.asarray(STANDARD_PRESSURE))[1]


def solve_dew(y: Array, pressure: Array) -> tuple[Array, Array]:
    """Newton's method in x and T together on both partial pressures."""
    y, pressure = np.broadcast_arrays(y, pressure)
    grid, vapour = _dew_start()
    x = np.interp(y, vapour, grid)
    temperature, _ = solve_bubble(x, pressure)
    step = np.inf
    for _ in range(_MOST_ITERATIONS):
        ethanol, water, slope_e, slope_w = partial_pressures(x, temperature)
        partials = np.stack([ethanol, water])
        small = 1e-7
        left, right = np.maximum(x - small, 0.0), np.minimum(x + small, 1.0)
        by_x = (
            np.stack(partial_pressures(right, temperature)[:2])
            - np.stack(partial_pressures(left, temperature)[:2])
        ) / (right - left)
        by_t = np.stack([ethanol * slope_e, water * slope_w])
        gap = np.stack([y * pressure, (1.0 - y) * pressure]) - partials
        det = by_x[0] * by_t[1] - by_x[1] * by_t[0]
        move_x = (gap[0] * by_t[1] - gap[1] * by_t[0]) / det
        move_t = (by_x[0] * gap[1] - by_x[1] * gap[0]) / det
        x = np.clip(x + move_x, 0.0, 1.0)
        temperature = temperature + move_t
        step = float(np.max(np.abs(move_t) + np.abs(move_x), initial=0.0))
        if step < 1e-10:
            return temperature, x
    raise ConvergenceError("The dew point", _MOST_ITERATIONS, step)
