# SPDX-License-Identifier: MIT
"""Gravity, degrees Plato and the hydrometer away from its temperature."""

from __future__ import annotations

from typing import overload

from middlecut.liquid.alcoholometry import TEMPERATURE_20C, WATER_DENSITY_20, density
from middlecut.liquid.alcoholometry.instruments import GLASS_EXPANSION
from middlecut.liquid.alcoholometry.ranges import Array, Floats, admit, check_range
from middlecut.liquid.alcoholometry.surface import polynomial, solve_array, solve_scalar

__all__ = [
    "HIGHEST_GRAVITY",
    "HIGHEST_PLATO",
    "LOWEST_GRAVITY",
    "LOWEST_PLATO",
    "gravity_from_plato",
    "gravity_reading",
    "plato_from_gravity",
    "true_gravity",
    "wort_density",
]

LOWEST_GRAVITY = 0.98
"""Lowest gravity taken, SG 20/20: a sugar wash fermented right out. (estimate)"""
HIGHEST_GRAVITY = 1.13
"""Highest gravity taken, SG 20/20: there the cubic is within 0.06 °P of sucrose (memory)."""
# Cubic fit to the ASBC/Plato sucrose table, highest power first (wash_and_extract, memory).
PLATO_CUBIC = (135.997, -630.272, 1111.14, -616.868)
LOWEST_PLATO = float(polynomial(PLATO_CUBIC, LOWEST_GRAVITY))
"""Degrees Plato at the lowest gravity."""
HIGHEST_PLATO = float(polynomial(PLATO_CUBIC, HIGHEST_GRAVITY))
"""Degrees Plato at the highest gravity."""
_FREEZING, _HOTTEST = 273.15, 313.15


def check_gravity(gravity: Floats, name: str = "gravity") -> None:
    """Raise unless every gravity lies within 0.98 and 1.13."""
    check_range(
        name,
        gravity,
        LOWEST_GRAVITY,
        HIGHEST_GRAVITY,
        source="SG 20/20, cubic fit to the Plato table",
        remedy="Give a specific gravity such as 1.062; thin a heavier wort with a known share of "
        "water and measure that.",
    )


@overload
def plato_from_gravity(gravity: float) -> float: ...
@overload
def plato_from_gravity(gravity: Array) -> Array: ...
def plato_from_gravity(gravity: Floats) -> Floats:
    r"""Return degrees Plato from a gravity.

    :math:`P = -616.868 + 1111.14\,G - 630.272\,G^2 + 135.997\,G^3`, the cubic fitted to the ASBC
    table of sucrose solutions.

    Parameters
    ----------
    gravity : float or ndarray
        SG 20/20. Valid 0.98 to 1.13.

    Returns
    -------
    plato : float or ndarray
        Extract in 100 g. [°P] Below SG 1 a negative apparent extract.

    Raises
    ------
    OutOfRangeError
        If a gravity is outside 0.98 to 1.13 or not a number.

    Notes
    -----
    The coefficients are recalled (memory) and were confirmed on five recalled rows of the table
    within 0.007 °P and on a second published fit, read on a page, within 0.006 °P from 5 to 20 °P.
    The table ends at SG 1.083; up to 1.13 the fit is within 0.06 °P of sucrose densities (memory).
    Below SG 1 there is no table: apparent extracts of finished washes are by custom read off the
    curve's continuation. Pure water gives -0.003 °P.

    References
    ----------
    .. [1] :cite:t:`cutaia2009`, which quotes the fit.

    Examples
    --------
    The table has 12 °P at 1.04838:

    >>> round(plato_from_gravity(1.04838), 2)
    12.0
    """
    value = admit(gravity)
    check_gravity(value)
    return polynomial(PLATO_CUBIC, value)


@overload
def gravity_from_plato(plato: float) -> float: ...
@overload
def gravity_from_plato(plato: Array) -> Array: ...
def gravity_from_plato(plato: Floats) -> Floats:
    """Return the gravity from degrees Plato.

    The root of :func:`plato_from_gravity`, kept in a bracket; there and back agrees to 1e-9 °P.

    Parameters
    ----------
    plato : float or ndarray
        Extract in 100 g. [°P] Valid about -5.2 to 30.2, the ends of the gravity's range.

    Returns
    -------
    gravity : float or ndarray
        SG 20/20.

    Raises
    ------
    OutOfRangeError
        If a number is outside the range or not a number.

    Notes
    -----
    Not one of the usual approximations of the inverse, which miss by up to 0.0003 SG.

    References
    ----------
    .. [1] :cite:t:`cutaia2009`, which quotes the fit.

    Examples
    --------
    >>> round(gravity_from_plato(15.0), 4)
    1.0611
    """
    value = admit(plato)
    check_range(
        "plato",
        value,
        LOWEST_PLATO,
        HIGHEST_PLATO,
        unit="°P",
        source="cubic fit to the Plato table",
        remedy="Thin a heavier wort with a known share of water and measure that.",
    )
    if isinstance(value, float):
        return solve_scalar(PLATO_CUBIC, value, low=LOWEST_GRAVITY, high=HIGHEST_GRAVITY)
    return solve_array(PLATO_CUBIC, value, low=LOWEST_GRAVITY, high=HIGHEST_GRAVITY)


@overload
def wort_density(gravity: float) -> float: ...
@overload
def wort_density(gravity: Array) -> Array: ...
def wort_density(gravity: Floats) -> Floats:
    """Return the density of a wort or wash at 20 °C.

    The gravity times the density of water at 20 °C.

    Parameters
    ----------
    gravity : float or ndarray
        SG 20/20. Valid 0.98 to 1.13.

    Returns
    -------
    density : float or ndarray
        At 20 °C. [kg m⁻³]

    Raises
    ------
    OutOfRangeError
        If a gravity is outside 0.98 to 1.13 or not a number.

    Notes
    -----
    Gravity counts as a ratio of densities in vacuo; taken in air it is smaller by 1.2e-3 of
    its distance from 1.

    References
    ----------
    .. [1] :cite:t:`directive76766`, Annex, point 4, for water.

    Examples
    --------
    >>> round(wort_density(1.05), 2)
    1048.11
    """
    value = admit(gravity)
    check_gravity(value)
    return value * WATER_DENSITY_20


def _expansion(temperature: Floats, reference_temperature: Floats) -> Floats:
    for name, value in (
        ("temperature", temperature),
        ("reference_temperature", reference_temperature),
    ):
        check_range(
            name,
            value,
            _FREEZING,
            _HOTTEST,
            unit="K",
            source="OIML R 22, water from 0 to 40 °C",
            remedy="Let the sample cool below 40 °C and read it again.",
        )
    glass = 1.0 + GLASS_EXPANSION * (temperature - reference_temperature)
    return density(0.0, reference_temperature) / density(0.0, temperature) / glass


@overload
def true_gravity(
    reading: float, temperature: float, *, reference_temperature: float = TEMPERATURE_20C
) -> float: ...
@overload
def true_gravity(
    reading: Floats, temperature: Floats, *, reference_temperature: float = TEMPERATURE_20C
) -> Floats: ...
def true_gravity(
    reading: Floats, temperature: Floats, *, reference_temperature: float = TEMPERATURE_20C
) -> Floats:
    r"""Return the gravity from a hydrometer read at another temperature than its own.

    :math:`G = R\, \frac{\rho_w(t_0)}{\rho_w(t)} \frac{1}{1 + \alpha (t - t_0)}`: the liquid expands
    like water and the glass by α = 25e-6 K⁻¹.

    Parameters
    ----------
    reading : float or ndarray
        Mark at the level surface, SG. [1] Valid 0.95 to 1.20.
    temperature : float or ndarray
        Of the liquid while the hydrometer floats in it. [K] Valid 273.15 to 313.15.
    reference_temperature : float
        Temperature the hydrometer is made for, printed on it. [K] Valid 273.15 to 313.15.

    Returns
    -------
    gravity : float or ndarray
        At the reference temperature over water of the same; taken as SG 20/20.

    Raises
    ------
    OutOfRangeError
        If a number is outside its range or not a number. Above 40 °C the water row of the formula
        ends: let the sample cool.

    Notes
    -----
    A wort of 15 °P expands more than water: taking it as water is off by about 0.0003 SG at 30 °C
    (estimate), and a finished wash, which holds ethanol, by about as much.

    References
    ----------
    .. [1] :cite:t:`directive76766`, Annex, point 4, for water.
    .. [2] :cite:t:`directive76765` for the expansion of glass.

    Examples
    --------
    1.040 read at 35 °C on an instrument made for 15 °C:

    >>> round(true_gravity(1.040, 308.15, reference_temperature=288.15), 4)
    1.0448
    """
    mark, at = admit(reading), admit(temperature)
    check_range("reading", mark, 0.95, 1.20, source="the scale of a wine or beer hydrometer")
    return mark * _expansion(at, admit(reference_temperature))


@overload
def gravity_reading(
    gravity: float, temperature: float, *, reference_temperature: float = TEMPERATURE_20C
) -> float: ...
@overload
def gravity_reading(
    gravity: Floats, temperature: Floats, *, reference_temperature: float = TEMPERATURE_20C
) -> Floats: ...
def gravity_reading(
    gravity: Floats, temperature: Floats, *, reference_temperature: float = TEMPERATURE_20C
) -> Floats:
    """Return what a hydrometer shows at a temperature in a liquid of known gravity.

    The inverse of :func:`true_gravity`.

    Parameters
    ----------
    gravity : float or ndarray
        SG 20/20. Valid 0.98 to 1.13.
    temperature : float or ndarray
        Of the liquid while the hydrometer floats in it. [K] Valid 273.15 to 313.15.
    reference_temperature : float
        Temperature the hydrometer is made for. [K] Valid 273.15 to 313.15.

    Returns
    -------
    reading : float or ndarray
        Mark at the level surface.

    Raises
    ------
    OutOfRangeError
        If a number is outside its range or not a number.

    Notes
    -----
    The same limits as :func:`true_gravity`.

    References
    ----------
    .. [1] :cite:t:`directive76766`, Annex, point 4, for water.
    .. [2] :cite:t:`directive76765` for the expansion of glass.

    Examples
    --------
    >>> round(gravity_reading(1.0448, 308.15, reference_temperature=288.15), 3)
    1.04
    """
    value, at = admit(gravity), admit(temperature)
    check_gravity(value)
    return value / _expansion(at, admit(reference_temperature))
