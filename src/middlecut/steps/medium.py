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
    from numpy.typing import NDArray

    from middlecut.steps.scenario import Scenario

    Array = NDArray[np.float64]

__all__ = ["NODES", "Medium", "assumed", "even", "medium"]

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


@lru_cache(maxsize=8)
def even(nodes: int = NODES) -> Array:
    """Return the places of so many nodes, evenly from 0 to 1; read-only, kept for all callers."""
    found = np.linspace(0.0, 1.0, nodes)
    found.flags.writeable = False
    return found


@lru_cache(maxsize=4)
def _density() -> Array:
    return np.ascontiguousarray(alcoholometry.density(even(), 293.15))


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


@lru_cache(maxsize=32)
def medium(pressure: float, compounds: tuple[str, ...]) -> Medium:
    """Return the tables of a boiling mixture at a pressure for these compounds, cached."""
    if compounds:
        values = np.array(volatility.k_table(compounds, pressure).values)
    else:
        values = np.zeros((2, 0))
    return Medium(pressure, compounds, _saturation(pressure), values, _density())


@lru_cache(maxsize=8)
def assumed(mixture: Medium, scenario: Scenario) -> Medium:
    """Return the mixture with the K of its compounds as a scenario has them.

    Parameters
    ----------
    mixture : Medium
        As :func:`medium` returns it.
    scenario : Scenario
        Its factors on K; the runs of one draw mostly share one mixture, so the last few are kept.

    Returns
    -------
    Medium
        The same object when no compound of the mixture has a factor.
    """
    row = np.array([scenario.volatility.get(name, 1.0) for name in mixture.compounds])
    if np.all(row == 1.0):
        return mixture
    # Every second node in a draw: interpolation is then within 0.4 % of K, nothing beside the
    # uncertainty of any factor.
    values = _halved(mixture) if scenario.lean else mixture.volatility
    return replace(mixture, volatility=values * row)


@lru_cache(maxsize=32)
def _halved(mixture: Medium) -> Array:
    return np.ascontiguousarray(mixture.volatility[::2])
