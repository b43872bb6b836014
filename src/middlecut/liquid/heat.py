# SPDX-License-Identifier: MIT
"""Enthalpies of ethanol-water liquid and vapour on one datum: pure liquids at 293.15 K are zero."""

from __future__ import annotations

import csv
from functools import lru_cache
from importlib.resources import files
from typing import cast

import numpy as np

from middlecut.liquid import equilibrium
from middlecut.liquid.ranges import Array, Number, as_given, within

__all__ = [
    "DATUM",
    "cooling_water_mass",
    "heat_up_energy",
    "latent_heat",
    "latent_heat_ethanol",
    "latent_heat_water",
    "liquid_enthalpy",
    "liquid_heat_capacity",
    "vapour_enthalpy",
]

DATUM = 293.15
"""Temperature at which the pure liquids have no enthalpy. [K]"""

GAS_CONSTANT = 8.31446261815324
ETHANOL_MOLAR_MASS = 46.06844e-3
WATER_MOLAR_MASS = 18.01528e-3

_RANGE = (273.15, 390.0)
_CENTRE, _WIDTH = 333.15, 60.0


@lru_cache(maxsize=1)
def _fits() -> dict[str, np.polynomial.Polynomial]:
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
    return _fits()[f"liquid_heat_capacity {substance}"].integ(lbnd=DATUM)


def _temperature(value: object) -> Array:
    return within("temperature", value, *_RANGE, unit="K", source="range of the fitted tables")


def _excess_enthalpy(x: Array, temperature: Array) -> Array:
    b = np.array([0.05100077775155816, 0.37948703102841935, -1.168247698925492])
    d = 2.0 * x - 1.0
    series = b[0] + d * (b[1] + d * b[2])
    return np.asarray(GAS_CONSTANT * 353.15 * x * (1.0 - x) * series + 0.0 * temperature)


def _liquid(x: Array, temperature: Array) -> Array:
    pure = x * _pure_enthalpy("ethanol")(temperature)
    pure = pure + (1.0 - x) * _pure_enthalpy("water")(temperature)
    return np.asarray(pure + _excess_enthalpy(x, temperature))


def _vapour(y: Array, temperature: Array) -> Array:
    fits = _fits()
    ethanol = _pure_enthalpy("ethanol")(temperature) + fits["latent_heat ethanol"](temperature)
    water = _pure_enthalpy("water")(temperature) + fits["latent_heat water"](temperature)
    return np.asarray(y * ethanol + (1.0 - y) * water)


def latent_heat_ethanol(temperature: Number) -> Number:
    """Return the latent heat of evaporation of pure ethanol."""
    value = _fits()["latent_heat ethanol"](_temperature(temperature))
    return cast("Number", as_given(np.asarray(value), temperature))


def latent_heat_water(temperature: Number) -> Number:
    """Return the latent heat of evaporation of pure water."""
    value = _fits()["latent_heat water"](_temperature(temperature))
    return cast("Number", as_given(np.asarray(value), temperature))


def liquid_heat_capacity(ethanol_mole_fraction: Number, temperature: Number | float) -> Number:
    """Return the molar heat capacity of the liquid mixture."""
    x = within("ethanol_mole_fraction", ethanol_mole_fraction, 0.0, 1.0)
    t = _temperature(temperature)
    fits = _fits()
    pure = x * fits["liquid_heat_capacity ethanol"](t)
    pure = pure + (1.0 - x) * fits["liquid_heat_capacity water"](t)
    return cast("Number", as_given(np.asarray(pure), ethanol_mole_fraction, temperature))


def liquid_enthalpy(ethanol_mole_fraction: Number, temperature: Number | float) -> Number:
    """Return the molar enthalpy of the liquid mixture."""
    x = within("ethanol_mole_fraction", ethanol_mole_fraction, 0.0, 1.0)
    value = _liquid(x, _temperature(temperature))
    return cast("Number", as_given(value, ethanol_mole_fraction, temperature))


def vapour_enthalpy(vapour_mole_fraction: Number, temperature: Number | float) -> Number:
    """Return the molar enthalpy of the vapour mixture."""
    y = within("vapour_mole_fraction", vapour_mole_fraction, 0.0, 1.0)
    value = _vapour(y, _temperature(temperature))
    return cast("Number", as_given(value, vapour_mole_fraction, temperature))


def latent_heat(vapour_mole_fraction: Number, pressure: Number | float) -> Number:
    """Return the heat of condensing a vapour wholly, from its dew point to its bubble point."""
    y = np.asarray(vapour_mole_fraction, dtype=np.float64)
    dew, _ = equilibrium.dew_point(y, np.asarray(pressure, dtype=np.float64))
    bubble, _ = equilibrium.bubble_point(y, np.asarray(pressure, dtype=np.float64))
    value = _vapour(y, dew) - _liquid(y, bubble)
    return cast("Number", as_given(value, vapour_mole_fraction, pressure))


def heat_up_energy(
    *,
    water: float,
    ethanol: float,
    solids: float,
    from_temperature: float,
    to_temperature: float,
) -> float:
    """Return the heat that takes a liquid from one temperature to another."""
    within("water", water, 0.0, np.finfo(float).max, unit="kg")
    within("ethanol", ethanol, 0.0, np.finfo(float).max, unit="kg")
    within("solids", solids, 0.0, np.finfo(float).max, unit="kg")
    start, end = _temperature(from_temperature), _temperature(to_temperature)
    moles = ethanol / ETHANOL_MOLAR_MASS + water / WATER_MOLAR_MASS
    x = np.asarray(ethanol / ETHANOL_MOLAR_MASS / moles if moles > 0.0 else 0.0)
    liquid = moles * float(_liquid(x, end) - _liquid(x, start))
    return liquid + solids * SOLIDS_HEAT_CAPACITY * float(end - start)


SOLIDS_HEAT_CAPACITY = 1300.0


def cooling_water_mass(*, energy: float, temperature_rise: float) -> float:
    """Return the cooling water that carries a heat away."""
    within("energy", energy, 0.0, np.finfo(float).max, unit="J")
    within("temperature_rise", temperature_rise, 0.1, 90.0, unit="K")
    return energy / (4182.0 * temperature_rise)
