# SPDX-License-Identifier: MIT
"""Volume, mass and weight in air of ethanol-water mixtures."""

from __future__ import annotations

from typing import overload

from middlecut.liquid.alcoholometry.ranges import Array, Floats, admit, check_range
from middlecut.liquid.alcoholometry.surface import density, density_20

__all__ = [
    "AIR_DENSITY",
    "WEIGHT_DENSITY",
    "apparent_density",
    "density_from_apparent",
    "mass_from_volume",
    "volume_20_from_volume",
    "volume_at_temperature",
    "volume_from_mass",
    "weight_in_air_factor",
]

AIR_DENSITY = 1.2
"""Conventional density of air for weighings. [kg m⁻³] Regulation (EC) 2870/2000, annex I."""
WEIGHT_DENSITY = 8000.0
"""Conventional density of the weights of a balance. [kg m⁻³] The same."""


def _check_weighing(density: Floats, air_density: float, weight_density: float) -> None:
    check_range("density", density, 500.0, 2000.0, unit="kg m⁻³", source="liquids")
    check_range("air_density", air_density, 0.0, 2.0, unit="kg m⁻³", source="air near the ground")
    check_range("weight_density", weight_density, 1000.0, 2.5e4, unit="kg m⁻³", source="metals")


def check_amount(name: str, value: Floats, unit: str) -> None:
    """Raise unless every amount is a finite number of 0 or more."""
    check_range(name, value, 0.0, 1e12, unit=unit, remedy="An amount is 0 or more.")


@overload
def weight_in_air_factor(
    density: float, *, air_density: float = AIR_DENSITY, weight_density: float = WEIGHT_DENSITY
) -> float: ...
@overload
def weight_in_air_factor(
    density: Array, *, air_density: float = AIR_DENSITY, weight_density: float = WEIGHT_DENSITY
) -> Array: ...
def weight_in_air_factor(
    density: Floats, *, air_density: float = AIR_DENSITY, weight_density: float = WEIGHT_DENSITY
) -> Floats:
    r"""Return what a balance in air shows for each kilogram of a liquid.

    Buoyancy of the liquid and of the weights: :math:`(1 - \rho_a/\rho) / (1 - \rho_a/\rho_w)`.

    Parameters
    ----------
    density : float or ndarray
        Of the liquid, in vacuo. [kg m⁻³] Valid 500 to 2000.
    air_density : float
        [kg m⁻³] Valid 0 to 2.
    weight_density : float
        Of the weights the balance was set with. [kg m⁻³] Valid 1000 to 25000.

    Returns
    -------
    factor : float or ndarray
        Shown mass over true mass.

    Raises
    ------
    OutOfRangeError
        If a number is outside its range or not a number.

    Notes
    -----
    About 0.9989 for water and 0.9986 for ethanol: a batch weighed without it is 0.1 % short.

    References
    ----------
    .. [1] :cite:t:`regulation28702000`, annex I, appendix on density in air.

    Examples
    --------
    >>> round(weight_in_air_factor(998.203), 6)
    0.998948
    """
    value = admit(density)
    air, weights = float(air_density), float(weight_density)
    _check_weighing(value, air, weights)
    return (1.0 - air / value) / (1.0 - air / weights)


@overload
def apparent_density(
    density: float, *, air_density: float = AIR_DENSITY, weight_density: float = WEIGHT_DENSITY
) -> float: ...
@overload
def apparent_density(
    density: Array, *, air_density: float = AIR_DENSITY, weight_density: float = WEIGHT_DENSITY
) -> Array: ...
def apparent_density(
    density: Floats, *, air_density: float = AIR_DENSITY, weight_density: float = WEIGHT_DENSITY
) -> Floats:
    r"""Return the density that weighing a known volume in air shows.

    :math:`(\rho - \rho_a) / (1 - \rho_a/\rho_w)`.

    Parameters
    ----------
    density : float or ndarray
        Of the liquid, in vacuo. [kg m⁻³] Valid 500 to 2000.
    air_density : float
        [kg m⁻³] Valid 0 to 2.
    weight_density : float
        Of the weights the balance was set with. [kg m⁻³] Valid 1000 to 25000.

    Returns
    -------
    apparent_density : float or ndarray
        In air. [kg m⁻³]

    Raises
    ------
    OutOfRangeError
        If a number is outside its range or not a number.

    Notes
    -----
    A balance reads about 1.05 kg m⁻³ less than the density of water, 1.08 less than that of
    ethanol.

    References
    ----------
    .. [1] :cite:t:`regulation28702000`, annex I, appendix on density in air.

    Examples
    --------
    Water at 20 °C, 997.15 in the regulation:

    >>> round(apparent_density(998.203), 2)
    997.15
    """
    value = admit(density)
    air, weights = float(air_density), float(weight_density)
    _check_weighing(value, air, weights)
    return (value - air) / (1.0 - air / weights)


@overload
def density_from_apparent(
    apparent_density: float,
    *,
    air_density: float = AIR_DENSITY,
    weight_density: float = WEIGHT_DENSITY,
) -> float: ...
@overload
def density_from_apparent(
    apparent_density: Array,
    *,
    air_density: float = AIR_DENSITY,
    weight_density: float = WEIGHT_DENSITY,
) -> Array: ...
def density_from_apparent(
    apparent_density: Floats,
    *,
    air_density: float = AIR_DENSITY,
    weight_density: float = WEIGHT_DENSITY,
) -> Floats:
    r"""Return the density in vacuo from a weighing of a known volume in air.

    The inverse of :func:`apparent_density`: :math:`\rho_s (1 - \rho_a/\rho_w) + \rho_a`.

    Parameters
    ----------
    apparent_density : float or ndarray
        Mass shown by the balance over the volume weighed. [kg m⁻³] Valid 500 to 2000.
    air_density : float
        [kg m⁻³] Valid 0 to 2.
    weight_density : float
        Of the weights the balance was set with. [kg m⁻³] Valid 1000 to 25000.

    Returns
    -------
    density : float or ndarray
        Of the liquid, in vacuo. [kg m⁻³]

    Raises
    ------
    OutOfRangeError
        If a number is outside its range or not a number.

    Notes
    -----
    The way to a strength from a kitchen scale and a flask of known volume.

    References
    ----------
    .. [1] :cite:t:`regulation28702000`, annex I, appendix on density in air.

    Examples
    --------
    >>> round(density_from_apparent(997.15), 2)
    998.2
    """
    value = admit(apparent_density)
    air, weights = float(air_density), float(weight_density)
    _check_weighing(value, air, weights)
    return value * (1.0 - air / weights) + air


@overload
def volume_at_temperature(
    volume_20: float, *, mass_fraction: float, temperature: float
) -> float: ...
@overload
def volume_at_temperature(
    volume_20: Floats, *, mass_fraction: Floats, temperature: Floats
) -> Floats: ...
def volume_at_temperature(
    volume_20: Floats, *, mass_fraction: Floats, temperature: Floats
) -> Floats:
    r"""Return the volume at a temperature of a liquid whose volume at 20 °C is known.

    The mass stays: :math:`V_t = V_{20}\, \rho(w, 20) / \rho(w, t)`.

    Parameters
    ----------
    volume_20 : float or ndarray
        At 20 °C. [m³]
    mass_fraction : float or ndarray
        Ethanol over ethanol and water, by mass, 0 to 1.
    temperature : float or ndarray
        [K] Valid 253.15 to 313.15.

    Returns
    -------
    volume : float or ndarray
        At the temperature. [m³]

    Raises
    ------
    OutOfRangeError
        If a number is outside its range or not a number.

    Notes
    -----
    The vessel's own expansion is left out: 0.05 % for steel over 10 K.

    References
    ----------
    .. [1] :cite:t:`directive76766`, Annex, point 4.

    Examples
    --------
    >>> round(volume_at_temperature(1.0, mass_fraction=0.0, temperature=293.15), 12)
    1.0
    """
    volume, w = admit(volume_20), admit(mass_fraction)
    check_amount("volume_20", volume, "m³")
    return volume * density_20(w) / density(w, admit(temperature))


@overload
def volume_20_from_volume(volume: float, *, mass_fraction: float, temperature: float) -> float: ...
@overload
def volume_20_from_volume(
    volume: Floats, *, mass_fraction: Floats, temperature: Floats
) -> Floats: ...
def volume_20_from_volume(volume: Floats, *, mass_fraction: Floats, temperature: Floats) -> Floats:
    r"""Return the volume at 20 °C of a liquid whose volume was read at another temperature.

    The inverse of :func:`volume_at_temperature`.

    Parameters
    ----------
    volume : float or ndarray
        At the temperature. [m³]
    mass_fraction : float or ndarray
        Ethanol over ethanol and water, by mass, 0 to 1.
    temperature : float or ndarray
        [K] Valid 253.15 to 313.15.

    Returns
    -------
    volume_20 : float or ndarray
        At 20 °C. [m³]

    Raises
    ------
    OutOfRangeError
        If a number is outside its range or not a number.

    Notes
    -----
    The vessel's own expansion is left out: 0.05 % for steel over 10 K.

    References
    ----------
    .. [1] :cite:t:`directive76766`, Annex, point 4.

    Examples
    --------
    >>> round(volume_20_from_volume(1.0, mass_fraction=0.0, temperature=293.15), 12)
    1.0
    """
    read, w = admit(volume), admit(mass_fraction)
    check_amount("volume", read, "m³")
    return read * density(w, admit(temperature)) / density_20(w)


@overload
def mass_from_volume(volume: float, *, mass_fraction: float, temperature: float) -> float: ...
@overload
def mass_from_volume(volume: Floats, *, mass_fraction: Floats, temperature: Floats) -> Floats: ...
def mass_from_volume(volume: Floats, *, mass_fraction: Floats, temperature: Floats) -> Floats:
    """Return the mass of a volume of an ethanol-water mixture.

    Volume times density.

    Parameters
    ----------
    volume : float or ndarray
        At the temperature. [m³]
    mass_fraction : float or ndarray
        Ethanol over ethanol and water, by mass, 0 to 1.
    temperature : float or ndarray
        [K] Valid 253.15 to 313.15.

    Returns
    -------
    mass : float or ndarray
        True mass; a balance in air shows :func:`weight_in_air_factor` times this. [kg]

    Raises
    ------
    OutOfRangeError
        If a number is outside its range or not a number.

    Notes
    -----
    Congeners and dissolved solids are left out.

    References
    ----------
    .. [1] :cite:t:`directive76766`, Annex, point 4.

    Examples
    --------
    >>> round(mass_from_volume(1.0, mass_fraction=0.0, temperature=293.15), 5)
    998.20123
    """
    read = admit(volume)
    check_amount("volume", read, "m³")
    return read * density(admit(mass_fraction), admit(temperature))


@overload
def volume_from_mass(mass: float, *, mass_fraction: float, temperature: float) -> float: ...
@overload
def volume_from_mass(mass: Floats, *, mass_fraction: Floats, temperature: Floats) -> Floats: ...
def volume_from_mass(mass: Floats, *, mass_fraction: Floats, temperature: Floats) -> Floats:
    """Return the volume of a mass of an ethanol-water mixture.

    Mass over density.

    Parameters
    ----------
    mass : float or ndarray
        True mass. [kg]
    mass_fraction : float or ndarray
        Ethanol over ethanol and water, by mass, 0 to 1.
    temperature : float or ndarray
        [K] Valid 253.15 to 313.15.

    Returns
    -------
    volume : float or ndarray
        At the temperature. [m³]

    Raises
    ------
    OutOfRangeError
        If a number is outside its range or not a number.

    Notes
    -----
    Congeners and dissolved solids are left out.

    References
    ----------
    .. [1] :cite:t:`directive76766`, Annex, point 4.

    Examples
    --------
    >>> round(volume_from_mass(998.20123, mass_fraction=0.0, temperature=293.15), 9)
    1.0
    """
    known = admit(mass)
    check_amount("mass", known, "kg")
    return known / density(admit(mass_fraction), admit(temperature))
