# SPDX-License-Identifier: MIT
"""Enthalpies of ethanol-water liquid and vapour on one datum: pure liquids at 293.15 K are zero.

Liquid: both pure liquids plus an excess enthalpy that depends on composition and temperature.
Vapour: an ideal mixture of the two saturated vapours. Where the numbers come from stands beside
each table; ``docs/validation/equilibrium.md`` compares them with others.
"""

from __future__ import annotations

from typing import cast

from middlecut.liquid.duties import (
    SOLIDS_HEAT_CAPACITY,
    cooling_water_mass,
    heat_up_energy,
    latent_heat,
)
from middlecut.liquid.enthalpy import (
    DATUM,
    EXCESS_BASE,
    excess_series,
    mixing,
    of_liquid,
    of_vapour,
    pure_fits,
)
from middlecut.liquid.ranges import Array, Number, as_given, within

__all__ = [
    "DATUM",
    "SOLIDS_HEAT_CAPACITY",
    "TEMPERATURE_RANGE",
    "cooling_water_mass",
    "excess_enthalpy",
    "heat_up_energy",
    "latent_heat",
    "latent_heat_ethanol",
    "latent_heat_water",
    "liquid_enthalpy",
    "liquid_heat_capacity",
    "vapour_enthalpy",
]

TEMPERATURE_RANGE = (273.15, 378.0)
"""Temperatures for which heat is offered. [K]"""


def _temperature(value: object) -> Array:
    return within(
        "temperature", value, *TEMPERATURE_RANGE, unit="K", source="range of the fitted tables"
    )


def _fraction(name: str, value: object) -> Array:
    return within(name, value, 0.0, 1.0, remedy="Give a mole fraction between 0 and 1.")


def latent_heat_ethanol(temperature: Number) -> Number:
    """Return the latent heat of evaporation of pure ethanol.

    A polynomial of degree six in temperature, fitted to the reference equation of state.

    Parameters
    ----------
    temperature : float or ndarray
        [K] Valid 273.15 to 378.

    Returns
    -------
    float or ndarray
        Latent heat. [J mol⁻¹] Within 1e-6 of the equation it was fitted to.

    Raises
    ------
    OutOfRangeError
        If any temperature is outside the range.

    Notes
    -----
    Handbooks give 38.56 kJ/mol at the boiling point, 1.5 % less than the equation of state.

    References
    ----------
    .. [1] :cite:t:`schroeder2014`.

    Examples
    --------
    >>> round(latent_heat_ethanol(351.44) / 1e3, 2)
    39.15
    """
    return cast("Number", as_given(pure_fits()["latent_heat ethanol"](_temperature(temperature))))


def latent_heat_water(temperature: Number) -> Number:
    """Return the latent heat of evaporation of pure water.

    A polynomial of degree six in temperature, fitted to IAPWS-95.

    Parameters
    ----------
    temperature : float or ndarray
        [K] Valid 273.15 to 378.

    Returns
    -------
    float or ndarray
        Latent heat. [J mol⁻¹] Within 1e-6 of the equation it was fitted to.

    Raises
    ------
    OutOfRangeError
        If any temperature is outside the range.

    Notes
    -----
    Along the saturation line of pure water; the small effect of pressure is left out.

    References
    ----------
    .. [1] :cite:t:`wagner2002`.

    Examples
    --------
    The handbook value at the normal boiling point is 40.65 kJ/mol:

    >>> round(latent_heat_water(373.124) / 1e3, 2)
    40.65
    """
    return cast("Number", as_given(pure_fits()["latent_heat water"](_temperature(temperature))))


def excess_enthalpy(ethanol_mole_fraction: Number, temperature: Number | float) -> Number:
    r"""Return the excess enthalpy of the liquid mixture: the heat of mixing at one temperature.

    :math:`h^E = x_1 x_2 \sum_k (h_k + c_k t + e_k t^2 / 2)(x_1 - x_2)^k` with
    :math:`t = T - 298.15` K.

    Parameters
    ----------
    ethanol_mole_fraction : float or ndarray
        Of the liquid, 0 to 1.
    temperature : float or ndarray
        [K] Valid 273.15 to 378.

    Returns
    -------
    float or ndarray
        Excess enthalpy, negative where mixing gives off heat. [J mol⁻¹] Standard uncertainty, an
        estimate: 40 near 25 °C, 100 at boiling.

    Raises
    ------
    OutOfRangeError
        If any input is outside its range.

    Notes
    -----
    Fitted to the calorimetric curve at 25 °C (recalled, basis "memory"), to excess heat capacities
    from tables of aqueous ethanol up to 40 °C and from modified UNIFAC in the ethanol-rich half,
    and to the Gibbs-Helmholtz integral of the excess Gibbs energy of
    :mod:`middlecut.liquid.equilibrium` between 30 and 90 °C.

    References
    ----------
    .. [1] :cite:t:`boyne1967`.
    .. [2] :cite:t:`lama1965`.
    .. [3] :cite:t:`melinder2010`.

    Examples
    --------
    The deepest point of the curve at 25 °C is about -785 J/mol near x = 0.15:

    >>> round(excess_enthalpy(0.15, 298.15), -1)
    -780.0
    """
    x = _fraction("ethanol_mole_fraction", ethanol_mole_fraction)
    return cast("Number", as_given(mixing(x, _temperature(temperature))))


def liquid_heat_capacity(ethanol_mole_fraction: Number, temperature: Number | float) -> Number:
    r"""Return the molar heat capacity of the liquid mixture.

    :math:`c_p = x_1 c_1(T) + x_2 c_2(T) + \partial h^E / \partial T`.

    Parameters
    ----------
    ethanol_mole_fraction : float or ndarray
        Of the liquid, 0 to 1.
    temperature : float or ndarray
        [K] Valid 273.15 to 378; checked to 3 % from 293.15.

    Returns
    -------
    float or ndarray
        Heat capacity. [J mol⁻¹ K⁻¹]

    Raises
    ------
    OutOfRangeError
        If any input is outside its range.

    Notes
    -----
    The exact derivative of :func:`liquid_enthalpy` at constant composition.

    References
    ----------
    .. [1] :cite:t:`zabransky2001` for ethanol.
    .. [2] :cite:t:`wagner2002` for water.

    Examples
    --------
    Handbooks give 112.3 J/(mol K) for ethanol at 25 °C:

    >>> round(liquid_heat_capacity(1.0, 298.15), 1)
    112.3
    """
    x = _fraction("ethanol_mole_fraction", ethanol_mole_fraction)
    temperatures = _temperature(temperature)
    fits = pure_fits()
    ethanol = fits["liquid_heat_capacity ethanol"](temperatures)
    water = fits["liquid_heat_capacity water"](temperatures)
    excess = excess_series("c", x) + (temperatures - EXCESS_BASE) * excess_series("e", x)
    return cast("Number", as_given(x * ethanol + (1.0 - x) * water + excess))


def liquid_enthalpy(ethanol_mole_fraction: Number, temperature: Number | float) -> Number:
    r"""Return the molar enthalpy of the liquid mixture.

    :math:`h = x_1 h_1(T) + x_2 h_2(T) + h^E(x, T)`, pure liquids at 293.15 K being zero.

    Parameters
    ----------
    ethanol_mole_fraction : float or ndarray
        Of the liquid, 0 to 1.
    temperature : float or ndarray
        [K] Valid 273.15 to 378.

    Returns
    -------
    float or ndarray
        Enthalpy. [J mol⁻¹]

    Raises
    ------
    OutOfRangeError
        If any input is outside its range.

    Notes
    -----
    The effect of pressure on a liquid, below 1 J/mol here, is left out.

    References
    ----------
    .. [1] :cite:t:`wagner2002`.
    .. [2] :cite:t:`zabransky2001`.

    Examples
    --------
    Steam tables give 83.9 and 419.1 kJ/kg for water at 20 and 100 °C:

    >>> round(liquid_enthalpy(0.0, 373.15) / 18.01528e-3 / 1e3, 0)
    335.0
    """
    x = _fraction("ethanol_mole_fraction", ethanol_mole_fraction)
    return cast("Number", as_given(of_liquid(x, _temperature(temperature))))


def vapour_enthalpy(vapour_mole_fraction: Number, temperature: Number | float) -> Number:
    r"""Return the molar enthalpy of the vapour mixture.

    :math:`H = y_1 [h_1(T) + \lambda_1(T)] + y_2 [h_2(T) + \lambda_2(T)]`: an ideal mixture of the
    two saturated vapours.

    Parameters
    ----------
    vapour_mole_fraction : float or ndarray
        Ethanol in the vapour, 0 to 1.
    temperature : float or ndarray
        [K] Valid 273.15 to 378.

    Returns
    -------
    float or ndarray
        Enthalpy. [J mol⁻¹]

    Raises
    ------
    OutOfRangeError
        If any input is outside its range.

    Notes
    -----
    Leaves out the pressure dependence of the vapours, a few tens of J/mol near the boiling line.

    References
    ----------
    .. [1] :cite:t:`schroeder2014`.
    .. [2] :cite:t:`wagner2002`.

    Examples
    --------
    Steam tables give 2675.6 - 83.9 kJ/kg from water at 20 °C to steam at 100 °C:

    >>> round(vapour_enthalpy(0.0, 373.15) / 18.01528e-3 / 1e3)
    2592
    """
    y = _fraction("vapour_mole_fraction", vapour_mole_fraction)
    return cast("Number", as_given(of_vapour(y, _temperature(temperature))))
