# SPDX-License-Identifier: MIT
"""The pressure of the standard atmosphere against altitude."""

from __future__ import annotations

from typing import cast

from middlecut.liquid.ranges import Number, as_given, within

__all__ = ["STANDARD_PRESSURE", "altitude_from_pressure", "pressure_from_altitude"]

STANDARD_PRESSURE = 101325.0
"""Standard atmosphere. [Pa]"""

_SOURCE = "standard atmosphere, ISO 2533:1975"
_LOWEST, _HIGHEST = -500.0, 5000.0
_LAPSE, _SEA_TEMPERATURE = 0.0065, 288.15
_EXPONENT = 9.80665 / (_LAPSE * 287.05287)


def pressure_from_altitude(altitude: Number) -> Number:
    r"""Return the pressure of the standard atmosphere at an altitude.

    :math:`P = P_0 (1 - \beta H / T_0)^{g / (\beta R)}` with :math:`P_0` = 101 325 Pa,
    :math:`T_0` = 288.15 K, :math:`\beta` = 6.5 K km⁻¹, g = 9.806 65 m s⁻² and
    R = 287.052 87 J kg⁻¹ K⁻¹.

    Parameters
    ----------
    altitude : float or ndarray
        Height above sea level, taken as geopotential height. [m] Valid -500 to 5000.

    Returns
    -------
    float or ndarray
        Pressure. [Pa] Weather moves the true pressure by about ±3 %.

    Raises
    ------
    OutOfRangeError
        If any altitude is outside the range.

    Notes
    -----
    Leaves out weather, season and latitude; a barometer on site beats it. Above about 4200 m the
    pressure falls below the range of :func:`~middlecut.liquid.equilibrium.bubble_point`.

    References
    ----------
    .. [1] :cite:t:`iso2533`, troposphere.

    Examples
    --------
    The row for 1000 m of the standard, 898.746 hPa:

    >>> round(pressure_from_altitude(1000.0))
    89875
    """
    height = within("altitude", altitude, _LOWEST, _HIGHEST, unit="m", source=_SOURCE)
    ratio = 1.0 - _LAPSE * height / _SEA_TEMPERATURE
    return cast("Number", as_given(STANDARD_PRESSURE * ratio**_EXPONENT))


def altitude_from_pressure(pressure: Number) -> Number:
    """Return the altitude at which the standard atmosphere has a pressure.

    The inverse of :func:`pressure_from_altitude`, in closed form.

    Parameters
    ----------
    pressure : float or ndarray
        Absolute pressure. [Pa] Valid 54 020 to 107 477, which is 5000 to -500 m.

    Returns
    -------
    float or ndarray
        Altitude. [m]

    Raises
    ------
    OutOfRangeError
        If any pressure is outside the range.

    Notes
    -----
    A fall of 1 hPa by weather looks like a rise of about 8 m.

    References
    ----------
    .. [1] :cite:t:`iso2533`, troposphere.

    Examples
    --------
    >>> round(altitude_from_pressure(89874.6))
    1000
    """
    low, high = pressure_from_altitude(_HIGHEST), pressure_from_altitude(_LOWEST)
    value = within("pressure", pressure, low, high, unit="Pa", source=_SOURCE)
    ratio = (value / STANDARD_PRESSURE) ** (1.0 / _EXPONENT)
    return cast("Number", as_given((1.0 - ratio) * _SEA_TEMPERATURE / _LAPSE))
