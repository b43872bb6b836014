# SPDX-License-Identifier: MIT
"""The boiling mixture as the kernel looks it up: one set of tables per pressure and compounds."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from middlecut.liquid import alcoholometry, volatility
from middlecut.liquid.saturation import saturation_table

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["NODES", "Medium", "medium", "with_factors"]

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


def with_factors(mixture: Medium, factors: Mapping[str, float]) -> Medium:
    """Return the mixture with the K of some compounds multiplied by a factor each.

    Parameters
    ----------
    mixture : Medium
        As :func:`medium` returns it.
    factors : mapping of str to float
        By compound; those left out keep their K.

    Returns
    -------
    Medium
        The same object when no compound of the mixture has a factor.
    """
    row = np.array([factors.get(name, 1.0) for name in mixture.compounds])
    if np.all(row == 1.0):
        return mixture
    return replace(mixture, volatility=mixture.volatility * row)
