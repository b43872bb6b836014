# SPDX-License-Identifier: MIT
"""Vapour-liquid equilibrium of ethanol and water, and the pressure of the air.

Activity coefficients from a three-term Redlich-Kister excess Gibbs energy that depends on
temperature, regressed on published isobaric and isothermal tables; vapour pressures fitted to
reference equations; ideal vapour. Measured points and other models are compared with it in
``docs/validation/equilibrium.md``.
"""

from __future__ import annotations

import csv
from functools import lru_cache
from importlib.resources import files
from typing import cast

import numpy as np

from middlecut.errors import ConvergenceError
from middlecut.liquid import alcoholometry
from middlecut.liquid.ranges import Array, Number, as_given, within

__all__ = [
    "PRESSURE_RANGE",
    "STANDARD_PRESSURE",
    "activity_coefficients",
    "altitude_from_pressure",
    "azeotrope",
    "boiling_temperature",
    "bubble_point",
    "dew_point",
    "pressure_from_altitude",
    "vapour_pressure_ethanol",
    "vapour_pressure_water",
]

STANDARD_PRESSURE = 101325.0
"""Standard atmosphere. [Pa]"""

PRESSURE_RANGE = (60.0e3, 110.0e3)
"""Pressures for which the equilibrium is offered. [Pa]"""

_TEMPERATURE_RANGE = (300.0, 390.0)
_REFERENCE_TEMPERATURE = 353.15
_MOST_ITERATIONS = 30


@lru_cache(maxsize=1)
def _coefficients() -> dict[str, Array]:
    table = files("middlecut.liquid") / "tables" / "ethanol_water_equilibrium.csv"
    found: dict[str, list[float]] = {}
    for row in csv.DictReader(table.read_text(encoding="utf-8").splitlines()):
        found.setdefault(f"{row['quantity']} {row['substance']}", []).append(float(row["value"]))
    return {key: np.array(values) for key, values in found.items()}


def _temperature(value: object) -> Array:
    return within(
        "temperature", value, *_TEMPERATURE_RANGE, unit="K", source="range of the fitted tables"
    )


def _fraction(name: str, value: object) -> Array:
    return within(name, value, 0.0, 1.0, remedy="Give a mole fraction between 0 and 1.")


def _pressure(value: object) -> Array:
    return within(
        "pressure",
        value,
        *PRESSURE_RANGE,
        unit="Pa",
        source="range over which the equilibrium was checked",
        remedy="Give the absolute pressure in pascals; 101325 Pa is one atmosphere.",
    )


def _log_vapour_pressure(substance: str, temperature: Array) -> tuple[Array, Array]:
    """Return ln(P/Pa) and its derivative by temperature."""
    c0, c1, c2, c3 = _coefficients()[f"ln Psat {substance}"]
    value = c0 + c1 / temperature + c2 * np.log(temperature) + c3 * temperature + np.log(1e3)
    return value, -c1 / temperature**2 + c2 / temperature + c3


def _log_gammas(x: Array, temperature: Array) -> tuple[Array, Array, Array, Array]:
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


def _partial_pressures(x: Array, temperature: Array) -> tuple[Array, Array, Array, Array]:
    """Return both partial pressures [Pa] and their logarithmic derivatives by temperature."""
    gamma_e, gamma_w, slope_e, slope_w = _log_gammas(x, temperature)
    psat_e, dpsat_e = _log_vapour_pressure("ethanol", temperature)
    psat_w, dpsat_w = _log_vapour_pressure("water", temperature)
    ethanol = x * np.exp(gamma_e + psat_e)
    water = (1.0 - x) * np.exp(gamma_w + psat_w)
    return ethanol, water, slope_e + dpsat_e, slope_w + dpsat_w


def _bubble(x: Array, pressure: Array) -> tuple[Array, Array]:
    """Newton's method in 1/T on ln(P/P0), which is nearly a straight line there."""
    x, pressure = np.broadcast_arrays(x, pressure)
    temperature = 373.15 - 22.0 * np.sqrt(np.sqrt(x)) + 25.0 * np.log(pressure / STANDARD_PRESSURE)
    step = np.inf
    for _ in range(_MOST_ITERATIONS):
        ethanol, water, slope_e, slope_w = _partial_pressures(x, temperature)
        total = ethanol + water
        slope = (ethanol * slope_e + water * slope_w) / total
        inverse = 1.0 / temperature + np.log(total / pressure) / (slope * temperature**2)
        step = float(np.max(np.abs(1.0 / inverse - temperature), initial=0.0))
        temperature = 1.0 / inverse
        if step < 1e-6:  # the step after this one would be of the order of 1e-12 K
            ethanol, water, _, _ = _partial_pressures(x, temperature)
            return temperature, ethanol / (ethanol + water)
    raise ConvergenceError("The bubble point", _MOST_ITERATIONS, step)


def vapour_pressure_ethanol(temperature: Number) -> Number:
    """Return the vapour pressure of pure ethanol."""
    value, _ = _log_vapour_pressure("ethanol", _temperature(temperature))
    return cast("Number", as_given(np.exp(value), temperature))


def vapour_pressure_water(temperature: Number) -> Number:
    """Return the vapour pressure of pure water."""
    value, _ = _log_vapour_pressure("water", _temperature(temperature))
    return cast("Number", as_given(np.exp(value), temperature))


def activity_coefficients(
    ethanol_mole_fraction: Number, temperature: Number
) -> tuple[Number, Number]:
    """Return the activity coefficients of ethanol and water in their liquid mixture."""
    x = _fraction("ethanol_mole_fraction", ethanol_mole_fraction)
    ethanol, water, _, _ = _log_gammas(x, _temperature(temperature))
    given = (ethanol_mole_fraction, temperature)
    return (
        cast("Number", as_given(np.exp(ethanol), *given)),
        cast("Number", as_given(np.exp(water), *given)),
    )


def bubble_point(ethanol_mole_fraction: Number, pressure: Number | float) -> tuple[Number, Number]:
    """Return the boiling temperature of a liquid and the composition of its first vapour."""
    x = _fraction("ethanol_mole_fraction", ethanol_mole_fraction)
    temperature, vapour = _bubble(x, _pressure(pressure))
    given = (ethanol_mole_fraction, pressure)
    return (
        cast("Number", as_given(temperature, *given)),
        cast("Number", as_given(vapour, *given)),
    )


@lru_cache(maxsize=1)
def _dew_start() -> tuple[Array, Array]:
    """Return y on a grid of x at one atmosphere, to start the dew point from."""
    x = np.concatenate([np.linspace(0.0, 0.05, 51), np.linspace(0.06, 1.0, 189)])
    return x, _bubble(x, np.asarray(STANDARD_PRESSURE))[1]


def _dew(y: Array, pressure: Array) -> tuple[Array, Array]:
    """Newton's method in x and T together on both partial pressures."""
    y, pressure = np.broadcast_arrays(y, pressure)
    grid, vapour = _dew_start()
    x = np.interp(y, vapour, grid)
    temperature, _ = _bubble(x, pressure)
    step = np.inf
    for _ in range(_MOST_ITERATIONS):
        ethanol, water, slope_e, slope_w = _partial_pressures(x, temperature)
        partials = np.stack([ethanol, water])
        small = 1e-7
        left, right = np.maximum(x - small, 0.0), np.minimum(x + small, 1.0)
        by_x = (
            np.stack(_partial_pressures(right, temperature)[:2])
            - np.stack(_partial_pressures(left, temperature)[:2])
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


def dew_point(vapour_mole_fraction: Number, pressure: Number | float) -> tuple[Number, Number]:
    """Return the temperature at which a vapour begins to condense, and its first liquid."""
    y = _fraction("vapour_mole_fraction", vapour_mole_fraction)
    temperature, x = _dew(y, _pressure(pressure))
    given = (vapour_mole_fraction, pressure)
    return cast("Number", as_given(temperature, *given)), cast("Number", as_given(x, *given))


def azeotrope(pressure: float) -> tuple[float, float]:
    """Return temperature and ethanol mole fraction where vapour and liquid are alike."""
    given = float(_pressure(pressure))
    low, high = 0.8, 0.99
    for _ in range(60):
        middle = 0.5 * (low + high)
        _, vapour = _bubble(np.asarray(middle), np.asarray(given))
        low, high = (middle, high) if vapour > middle else (low, middle)
    x = 0.5 * (low + high)
    return float(_bubble(np.asarray(x), np.asarray(given))[0]), x


def boiling_temperature(strength: Number, pressure: Number | float) -> Number:
    """Return the boiling temperature of a spirit of a given strength."""
    x = np.asarray(alcoholometry.mole_fraction_from_strength(strength), dtype=np.float64)
    temperature, _ = _bubble(x, _pressure(pressure))
    return cast("Number", as_given(temperature, strength, pressure))


# International Standard Atmosphere, ISO 2533:1975.
_LAPSE, _SEA_TEMPERATURE, _EXPONENT = 0.0065, 288.15, 5.2558797


def pressure_from_altitude(altitude: Number) -> Number:
    """Return the pressure of the standard atmosphere at an altitude."""
    height = within("altitude", altitude, -500.0, 5000.0, unit="m", source="ISO 2533:1975")
    ratio = 1.0 - _LAPSE * height / _SEA_TEMPERATURE
    return cast("Number", as_given(STANDARD_PRESSURE * ratio**_EXPONENT, altitude))


def altitude_from_pressure(pressure: Number) -> Number:
    """Return the altitude at which the standard atmosphere has a pressure."""
    low, high = float(pressure_from_altitude(5000.0)), float(pressure_from_altitude(-500.0))
    value = within("pressure", pressure, low, high, unit="Pa", source="ISO 2533:1975")
    ratio = (value / STANDARD_PRESSURE) ** (1.0 / _EXPONENT)
    return cast("Number", as_given((1.0 - ratio) * _SEA_TEMPERATURE / _LAPSE, pressure))
