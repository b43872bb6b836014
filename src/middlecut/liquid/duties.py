# SPDX-License-Identifier: MIT
"""Heat that the still has to supply or carry away: heat-up, condensation, cooling water."""

from __future__ import annotations

from typing import cast

import numpy as np

from middlecut.liquid.alcoholometry import ETHANOL_MOLAR_MASS, WATER_MOLAR_MASS
from middlecut.liquid.enthalpy import of_liquid, of_vapour
from middlecut.liquid.equilibrium import bubble_point, dew_point
from middlecut.liquid.ranges import Number, as_given, within

__all__ = ["SOLIDS_HEAT_CAPACITY", "cooling_water_mass", "heat_up_energy", "latent_heat"]

SOLIDS_HEAT_CAPACITY = 1800.0
"""Share of dissolved extract in the heat capacity of a wash. [J kg⁻¹ K⁻¹]

Memory: heat capacity of sugar solutions about 4187 (1 - 0.57 w), so 0.43 of water's a kilogram.
"""

COOLING_WATER_HEAT_CAPACITY = 4182.0
"""Heat capacity of water at 20 to 50 °C, IAPWS-95, rounded. [J kg⁻¹ K⁻¹]"""

_TEMPERATURE_RANGE = (273.15, 378.0)
_LARGEST = 1e12


def latent_heat(vapour_mole_fraction: Number, pressure: Number | float) -> Number:
    r"""Return the heat of condensing a vapour wholly, from its dew point to its bubble point.

    :math:`\lambda = H(y, T_{dew}) - h(y, T_{bubble})`.

    Parameters
    ----------
    vapour_mole_fraction : float or ndarray
        Ethanol in the vapour, 0 to 1.
    pressure : float or ndarray
        Absolute pressure. [Pa] Valid 60 000 to 110 000.

    Returns
    -------
    float or ndarray
        Heat given off. [J mol⁻¹] Standard uncertainty about 1.5 %.

    Raises
    ------
    OutOfRangeError
        If any input is outside its range.

    Notes
    -----
    Cooling of the condensate below its bubble point is not in it.

    References
    ----------
    .. [1] :cite:t:`schroeder2014`.
    .. [2] :cite:t:`wagner2002`.

    Examples
    --------
    Pure water at one atmosphere, 40.65 kJ/mol:

    >>> round(latent_heat(0.0, 101325.0) / 1e3, 2)
    40.65
    """
    y = within("vapour_mole_fraction", vapour_mole_fraction, 0.0, 1.0)
    pressures = np.asarray(pressure, dtype=np.float64)
    dew, _ = dew_point(y, pressures)
    bubble, _ = bubble_point(y, pressures)
    return cast(
        "Number", as_given(of_vapour(y, np.asarray(dew)) - of_liquid(y, np.asarray(bubble)))
    )


def heat_up_energy(
    *,
    water: float,
    ethanol: float,
    solids: float,
    from_temperature: float,
    to_temperature: float,
) -> float:
    """Return the heat that takes a liquid from one temperature to another without boiling.

    The difference of :func:`~middlecut.liquid.heat.liquid_enthalpy`, plus the share of the
    dissolved solids.

    Parameters
    ----------
    water : float
        [kg]
    ethanol : float
        [kg]
    solids : float
        Dissolved extract, at 1800 J kg⁻¹ K⁻¹. [kg]
    from_temperature : float
        [K] Valid 273.15 to 378.
    to_temperature : float
        [K] Valid 273.15 to 378. Lower than the other gives a negative heat: cooling.

    Returns
    -------
    float
        Heat. [J]

    Raises
    ------
    OutOfRangeError
        If a mass is negative or a temperature is outside its range.

    Notes
    -----
    Heat losses and the metal of the still are not in it.

    References
    ----------
    .. [1] :cite:t:`wagner2002`.

    Examples
    --------
    A kilogram of water from 20 to 100 °C, by the steam tables 335.2 kJ:

    >>> round(
    ...     heat_up_energy(
    ...         water=1.0, ethanol=0.0, solids=0.0, from_temperature=293.15, to_temperature=373.15
    ...     )
    ...     / 1e3
    ... )
    335
    """
    for name, mass in (("water", water), ("ethanol", ethanol), ("solids", solids)):
        within(name, mass, 0.0, _LARGEST, unit="kg", remedy="Give a mass of 0 kg or more.")
    source = "range of the fitted tables"
    start, end = (
        within(name, value, *_TEMPERATURE_RANGE, unit="K", source=source)
        for name, value in (
            ("from_temperature", from_temperature),
            ("to_temperature", to_temperature),
        )
    )
    moles = ethanol / ETHANOL_MOLAR_MASS + water / WATER_MOLAR_MASS
    x = np.asarray(ethanol / ETHANOL_MOLAR_MASS / moles if moles > 0.0 else 0.0)
    liquid = moles * float(of_liquid(x, end) - of_liquid(x, start))
    return liquid + solids * SOLIDS_HEAT_CAPACITY * float(end - start)


def cooling_water_mass(*, energy: float, temperature_rise: float) -> float:
    r"""Return the mass of cooling water that carries a heat away.

    :math:`m = Q / (c \, \Delta T)` with c = 4182 J kg⁻¹ K⁻¹.

    Parameters
    ----------
    energy : float
        Heat to carry away, 0 or more. [J]
    temperature_rise : float
        How much warmer the water leaves than it came. [K] Valid 0.1 to 90.

    Returns
    -------
    float
        Mass of water. [kg]

    Raises
    ------
    OutOfRangeError
        If an input is outside its range.

    Notes
    -----
    Leaves out heat lost to the room by the condenser, so it errs to more water.

    References
    ----------
    .. [1] :cite:t:`wagner2002` for the heat capacity.

    Examples
    --------
    >>> round(cooling_water_mass(energy=4.182e6, temperature_rise=20.0), 6)
    50.0
    """
    within("energy", energy, 0.0, _LARGEST, unit="J")
    within("temperature_rise", temperature_rise, 0.1, 90.0, unit="K")
    return energy / (COOLING_WATER_HEAT_CAPACITY * temperature_rise)
