# SPDX-License-Identifier: MIT
"""The boiling mixture as the kernel looks it up: one set of tables per pressure and compounds."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from middlecut.liquid import alcoholometry, volatility
from middlecut.liquid.saturation import saturation_table

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["NODES", "Medium", "medium"]

NODES = 4001


@dataclass(frozen=True, slots=True, eq=False)
class Medium:
    """Everything the kernel looks up at one pressure for one set of compounds.

    Parameters
    ----------
    pressure : float
        [Pa]
    compounds : tuple of str
        Compounds that boil; all others stay in the boiler.
    table : ndarray, shape (nodes, 5)
        Bubble point [K], vapour mole fraction, liquid enthalpy, its slope, vapour enthalpy
        [J mol⁻¹] over ethanol mole fraction.
    volatility : ndarray, shape (nodes, k)
        K of each compound.
    density : ndarray, shape (nodes,)
        At 20 °C over mass fraction. [kg m⁻³]
    """

    pressure: float
    compounds: tuple[str, ...]
    table: Array
    volatility: Array
    density: Array


@lru_cache(maxsize=4)
def _density() -> Array:
    fractions = np.linspace(0.0, 1.0, NODES)
    return np.ascontiguousarray(alcoholometry.density(fractions, 293.15))


@lru_cache(maxsize=16)
def _saturation(pressure: float) -> Array:
    found = saturation_table(pressure, NODES)
    return np.ascontiguousarray(
        np.stack(
            [
                found.temperature,
                found.vapour_mole_fraction,
                found.liquid_enthalpy,
                found.liquid_enthalpy_slope,
                found.vapour_enthalpy,
            ],
            axis=1,
        )
    )


@lru_cache(maxsize=16)
def medium(pressure: float, compounds: tuple[str, ...]) -> Medium:
    """Return the tables of a boiling mixture at a pressure for these compounds, cached."""
    if compounds:
        values = np.array(volatility.k_table(compounds, pressure).values)
    else:
        values = np.zeros((2, 0))
    return Medium(pressure, compounds, _saturation(pressure), values, _density())
