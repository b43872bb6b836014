# SPDX-License-Identifier: MIT
"""The boiling ethanol-water mixture on a uniform grid of composition, for the still's kernel."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from middlecut.liquid import equilibrium, heat
from middlecut.liquid.ranges import Array, within

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
    """Return the table of the boiling mixture at a pressure.

    Bubble points and enthalpies on a uniform grid of the liquid's composition, made once for each
    pressure and kept.

    Parameters
    ----------
    pressure : float
        Absolute pressure. [Pa] Valid 60 000 to 110 000; rounded to 1 Pa.
    nodes : int
        Points of the grid, 11 to 100 001.

    Returns
    -------
    SaturationTable
        The same object for the same pressure.

    Raises
    ------
    OutOfRangeError
        If an input is outside its range.

    Notes
    -----
    With 2001 nodes linear interpolation is within 4e-4 K and 2e-5 in y. The slope is
    the second-order difference of the tabulated enthalpy. Costs about 1.5 ms the first time.

    References
    ----------
    .. [1] :cite:t:`redlich1948`.

    Examples
    --------
    >>> table = saturation_table(101325.0)
    >>> bool(table.temperature[0] > table.temperature[-1])
    True
    """
    within("nodes", nodes, 11, 100_001)
    given = within("pressure", pressure, *equilibrium.PRESSURE_RANGE, unit="Pa")
    return _table(round(float(given)), nodes)


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
