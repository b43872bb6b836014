# SPDX-License-Identifier: MIT
"""Vapour-liquid equilibrium of ethanol and water.

Activity coefficients from a three-term Redlich-Kister excess Gibbs energy that depends on
temperature, regressed on published isobaric and isothermal tables; vapour pressures fitted to
reference equations; ideal vapour. Measured points and other models are compared with it in
``docs/validation/equilibrium.md``.
"""

from __future__ import annotations

from typing import cast

import numpy as np

from middlecut.liquid import alcoholometry
from middlecut.liquid.atmosphere import (
    STANDARD_PRESSURE,
    altitude_from_pressure,
    pressure_from_altitude,
)
from middlecut.liquid.ranges import Array, Number, as_given, within
from middlecut.liquid.redlich_kister import (
    log_activity_coefficients,
    log_vapour_pressure,
    solve_bubble,
    solve_dew,
)

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

PRESSURE_RANGE = (60.0e3, 110.0e3)
"""Pressures for which the equilibrium is offered. [Pa]"""

_TEMPERATURE_RANGE = (300.0, 390.0)


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


def vapour_pressure_ethanol(temperature: Number) -> Number:
    r"""Return the vapour pressure of pure ethanol.

    :math:`\ln(P/\mathrm{kPa}) = c_0 + c_1/T + c_2 \ln T + c_3 T`, fitted to the reference equation
    of state of Schroeder et al.

    Parameters
    ----------
    temperature : float or ndarray
        [K] Valid 300 to 390.

    Returns
    -------
    float or ndarray
        Vapour pressure. [Pa] Within 1.2e-5 of the equation it was fitted to.

    Raises
    ------
    OutOfRangeError
        If any temperature is outside the range.

    Notes
    -----
    The equation of state itself is stated to 0.2 % or so in this range.

    References
    ----------
    .. [1] :cite:t:`schroeder2014`.

    Examples
    --------
    At 351.57 K, the normal boiling point by [1], one atmosphere:

    >>> round(vapour_pressure_ethanol(351.57) / 101325.0, 4)
    1.0
    """
    value, _ = log_vapour_pressure("ethanol", _temperature(temperature))
    return cast("Number", as_given(np.exp(value)))


def vapour_pressure_water(temperature: Number) -> Number:
    r"""Return the vapour pressure of pure water.

    :math:`\ln(P/\mathrm{kPa}) = c_0 + c_1/T + c_2 \ln T + c_3 T`, fitted to IAPWS-95.

    Parameters
    ----------
    temperature : float or ndarray
        [K] Valid 300 to 390.

    Returns
    -------
    float or ndarray
        Vapour pressure. [Pa] Within 4.8e-5 of the equation it was fitted to.

    Raises
    ------
    OutOfRangeError
        If any temperature is outside the range.

    Notes
    -----
    The largest misfit is at 300 K; above 350 K it is below 1e-5.

    References
    ----------
    .. [1] :cite:t:`wagner2002`.

    Examples
    --------
    At 373.124 K, the normal boiling point by [1]:

    >>> round(vapour_pressure_water(373.124) / 101325.0, 4)
    1.0
    """
    value, _ = log_vapour_pressure("water", _temperature(temperature))
    return cast("Number", as_given(np.exp(value)))


def activity_coefficients(
    ethanol_mole_fraction: Number, temperature: Number | float
) -> tuple[Number, Number]:
    r"""Return the activity coefficients of ethanol and water in their liquid mixture.

    :math:`g^E/RT = x_1 x_2 \sum_{k=0}^{2} [A_k + B_k (353.15/T - 1)] (x_1 - x_2)^k`, and
    :math:`\ln\gamma_1 = g + x_2\, dg/dx_1`, :math:`\ln\gamma_2 = g - x_1\, dg/dx_1`.

    Parameters
    ----------
    ethanol_mole_fraction : float or ndarray
        Of the liquid, 0 to 1.
    temperature : float or ndarray
        [K] Valid 300 to 390.

    Returns
    -------
    tuple of (float or ndarray)
        Activity coefficient of ethanol, activity coefficient of water.

    Raises
    ------
    OutOfRangeError
        If any input is outside its range.

    Notes
    -----
    Regressed on the measured tables of ``tests/reference/data/ethanol_water_vle.csv``; leaves out
    the non-ideality of the vapour, up to 3 % in fugacity at these pressures (estimate from second
    virial coefficients) and mostly absorbed by the fit.

    References
    ----------
    .. [1] :cite:t:`redlich1948`.
    .. [2] :cite:t:`pemberton1978`, one of the tables regressed.

    Examples
    --------
    Pure ethanol, and water that is infinitely dilute in it:

    >>> ethanol, water = activity_coefficients(1.0, 351.0)
    >>> ethanol, round(water, 2)
    (1.0, 2.7)
    """
    x = _fraction("ethanol_mole_fraction", ethanol_mole_fraction)
    ethanol, water, _, _ = log_activity_coefficients(x, _temperature(temperature))
    return cast("Number", as_given(np.exp(ethanol))), cast("Number", as_given(np.exp(water)))


def bubble_point(ethanol_mole_fraction: Number, pressure: Number | float) -> tuple[Number, Number]:
    r"""Return the boiling temperature of a liquid and the composition of its first vapour.

    Solves :math:`\sum_i x_i \gamma_i(x, T) P_i(T) = P` for T; then
    :math:`y = x \gamma_1 P_1 / P`.

    Parameters
    ----------
    ethanol_mole_fraction : float or ndarray
        Of the liquid, 0 to 1.
    pressure : float or ndarray
        Absolute pressure. [Pa] Valid 60 000 to 110 000.

    Returns
    -------
    tuple of (float or ndarray)
        Temperature [K]; ethanol mole fraction of the vapour. At 101.3 kPa 0.1 K and 0.004 rms
        from the best modern table, 0.25 to 0.3 K from older ones.

    Raises
    ------
    OutOfRangeError
        If any input is outside its range.
    ConvergenceError
        If Newton's method fails, which no input inside the range has been seen to do.

    Notes
    -----
    Newton's method in 1/T on ln P, where the residual is nearly a straight line: three or four
    evaluations to 1e-10 K. Dissolved solids and carbon dioxide are left out.

    References
    ----------
    .. [1] :cite:t:`kamihama2012`, Table of isobaric data at 101.3 kPa.

    Examples
    --------
    The row x = 0.570 of [1] reads 352.39 K and y = 0.688:

    >>> temperature, vapour = bubble_point(0.570, 101300.0)
    >>> round(temperature, 2), round(vapour, 3)
    (352.53, 0.686)
    """
    x = _fraction("ethanol_mole_fraction", ethanol_mole_fraction)
    temperature, vapour = solve_bubble(x, _pressure(pressure))
    return cast("Number", as_given(temperature)), cast("Number", as_given(vapour))


def dew_point(vapour_mole_fraction: Number, pressure: Number | float) -> tuple[Number, Number]:
    r"""Return the temperature at which a vapour begins to condense, and its first liquid.

    Solves :math:`x \gamma_1 P_1 = y P` and :math:`(1-x) \gamma_2 P_2 = (1-y) P` for T and x.

    Parameters
    ----------
    vapour_mole_fraction : float or ndarray
        Ethanol in the vapour, 0 to 1.
    pressure : float or ndarray
        Absolute pressure. [Pa] Valid 60 000 to 110 000.

    Returns
    -------
    tuple of (float or ndarray)
        Temperature [K]; ethanol mole fraction of the first liquid.

    Raises
    ------
    OutOfRangeError
        If any input is outside its range.
    ConvergenceError
        If Newton's method fails, which no input inside the range has been seen to do.

    Notes
    -----
    y rises with x everywhere (dy/dx is never below 0.34 in the range), azeotrope included, because
    the two liquids mix in all proportions: so the answer is the only one.

    References
    ----------
    .. [1] :cite:t:`kamihama2012`, Table of isobaric data at 101.3 kPa.

    Examples
    --------
    The row y = 0.688 of [1] reads 352.39 K and x = 0.570:

    >>> temperature, liquid = dew_point(0.688, 101300.0)
    >>> round(temperature, 2), round(liquid, 3)
    (352.5, 0.574)
    """
    y = _fraction("vapour_mole_fraction", vapour_mole_fraction)
    temperature, x = solve_dew(y, _pressure(pressure))
    return cast("Number", as_given(temperature)), cast("Number", as_given(x))


def azeotrope(pressure: float) -> tuple[float, float]:
    """Return temperature and composition at which vapour and liquid are alike.

    The strongest spirit that plain distillation can reach at a pressure, by bisection on y - x.

    Parameters
    ----------
    pressure : float
        Absolute pressure. [Pa] Valid 60 000 to 110 000.

    Returns
    -------
    tuple of float
        Temperature [K]; ethanol mole fraction.

    Raises
    ------
    OutOfRangeError
        If the pressure is outside its range.

    Notes
    -----
    At one atmosphere the model gives x = 0.8916, which is 0.002 below the accepted band of 0.894
    to 0.904, and 78.19 °C, 0.04 K above the accepted 78.15 °C.

    References
    ----------
    .. [1] :cite:t:`pemberton1978`.

    Examples
    --------
    >>> temperature, composition = azeotrope(101325.0)
    >>> round(temperature - 273.15, 2), round(composition, 4)
    (78.19, 0.8916)
    """
    given = _pressure(pressure)
    low, high = 0.8, 0.99
    for _ in range(50):
        middle = 0.5 * (low + high)
        _, vapour = solve_bubble(np.asarray(middle), given)
        low, high = (middle, high) if vapour > middle else (low, middle)
    x = 0.5 * (low + high)
    return float(solve_bubble(np.asarray(x), given)[0]), x


def boiling_temperature(strength: Number, pressure: Number | float) -> Number:
    """Return the temperature at which a spirit of a given strength begins to boil.

    The bubble point of its mole fraction (:func:`bubble_point`).

    Parameters
    ----------
    strength : float or ndarray
        Fraction by volume at 20 °C, 0 to 1.
    pressure : float or ndarray
        Absolute pressure. [Pa] Valid 60 000 to 110 000.

    Returns
    -------
    float or ndarray
        Temperature. [K]

    Raises
    ------
    OutOfRangeError
        If any input is outside its range.

    Notes
    -----
    Leaves out dissolved solids, which raise it by 0.015 to 0.03 K for every 10 g of sugar in a
    kilogram of water (ebullioscopic constant of water, 0.51 K kg mol⁻¹).

    References
    ----------
    .. [1] :cite:t:`kamihama2012`.

    Examples
    --------
    A wash of 8 % vol at sea level, in °C:

    >>> round(boiling_temperature(0.08, 101325.0) - 273.15, 1)
    93.4
    """
    x = np.asarray(alcoholometry.mole_fraction_from_strength(strength), dtype=np.float64)
    temperature, _ = solve_bubble(x, _pressure(pressure))
    return cast("Number", as_given(temperature))
