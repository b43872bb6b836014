# SPDX-License-Identifier: MIT
"""The boiling ethanol-water mixture on a uniform grid of composition, for the still's kernel."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from middlecut.errors import InputError
from middlecut.liquid import equilibrium, heat
from middlecut.liquid.ranges import Array

__all__ = ["SaturationTable", "saturation_table"]


@dataclass(frozen=True, slots=True, eq=False)
class SaturationTable:
    """Boiling liquid and its vapour at one pressure; every array is read-only.

    Parameters
    ----------
    pressure : float
        Rounded to 1 Pa. [Pa]
    ethanol_mole_fraction : ndarray, shape (nodes,)
        Of the liquid; uniform from 0 to 1.
    temperature : ndarray, shape (nodes,)
        Bubble point. [K]
    vapour_mole_fraction : ndarray, shape (nodes,)
        Ethanol in the vapour in equilibrium.
    liquid_enthalpy : ndarray, shape (nodes,)
        Of the liquid at its bubble point. [J mol⁻¹]
    liquid_enthalpy_slope : ndarray, shape (nodes,)
        Derivative of ``liquid_enthalpy`` by ``ethanol_mole_fraction`` along the bubble line.
        [J mol⁻¹]
    vapour_enthalpy : ndarray, shape (nodes,)
        Of the vapour in equilibrium, at the same temperature. [J mol⁻¹]
    """

    pressure: float
    ethanol_mole_fraction: Array
    temperature: Array
    vapour_mole_fraction: Array
    liquid_enthalpy: Array
    liquid_enthalpy_slope: Array
    vapour_enthalpy: Array


def saturation_table(pressure: float, nodes: int = 2001) -> SaturationTable:
    """Return the table of the boiling mixture at a pressure."""
    if nodes < 11:
        raise InputError("nodes", nodes, "a table needs at least 11 nodes")
    return _table(round(pressure), nodes)


@lru_cache(maxsize=32)
def _table(pressure: int, nodes: int) -> SaturationTable:
    x = np.linspace(0.0, 1.0, nodes)
    temperature, y = equilibrium.bubble_point(x, float(pressure))
    liquid = heat.liquid_enthalpy(x, temperature)
    vapour = heat.vapour_enthalpy(y, temperature)
    slope = np.asarray(np.gradient(liquid, x[1], edge_order=2))
    arrays = (x, temperature, y, liquid, slope, vapour)
    for array in arrays:
        array.flags.writeable = False
    return SaturationTable(float(pressure), *arrays)
