# SPDX-License-Identifier: MIT
"""Density of ethanol-water mixtures by the international formula, and its inverse.

The formula (OIML R 22, Council Directive 76/766/EEC) is a polynomial in the mass fraction of
ethanol and in the temperature less 20 °C. Its 54 coefficients are data
(``liquid/tables/oiml_r22.csv``; the sidecar says which were read on a page and how the rest were
confirmed). For one temperature it collapses to a polynomial of degree 11 in the mass fraction,
which falls strictly from pure water to pure ethanol at every temperature from -20 to 40 °C, so the
inverse has exactly one root.
"""

from __future__ import annotations

import csv
from functools import lru_cache
from importlib import resources
from typing import overload

import numpy as np

from middlecut.errors import ConvergenceError
from middlecut.liquid.alcoholometry.ranges import Array, Floats, admit, check_range

__all__ = [
    "ETHANOL_DENSITY_20",
    "LEGAL_ETHANOL_DENSITY_20",
    "TEMPERATURE_20C",
    "TEMPERATURE_60F",
    "WATER_DENSITY_20",
    "density",
    "density_20",
    "mass_fraction_from_density",
]

SOURCE = "OIML R 22"
TEMPERATURE_20C = 293.15
"""Reference temperature of strengths by volume. [K]"""
TEMPERATURE_60F = 273.15 + (60.0 - 32.0) / 1.8
"""Reference temperature of US proof, 60 °F. [K]"""
LOWEST_TEMPERATURE = 253.15
HIGHEST_TEMPERATURE = 313.15
TEMPERATURE_SLACK = 1e-9
"""Rounding that -20 or 40 °C may show when it has been turned into kelvin. [K]"""
DENSITY_SLACK = 1e-9
"""Rounding that a density may show beyond that of pure water or pure ethanol. [kg m⁻³]"""

CLOSE = 1e-11
"""A Newton step this short ends a search; rounding of the polynomial moves a root by 1e-12."""

_TERMS = 12
Row = tuple[float, ...]


def _read_coefficients() -> tuple[Row, ...]:
    """Read the coefficients as rows by power of (t - 20), each by power of the mass fraction."""
    rows = [[0.0] * _TERMS for _ in range(7)]
    table = resources.files("middlecut.liquid") / "tables" / "oiml_r22.csv"
    with table.open("r", encoding="utf-8") as file:
        for line in csv.DictReader(file):
            place = int(line["temperature_power"]), int(line["mass_fraction_power"])
            rows[place[0]][place[1]] = float(line["value"])
    return tuple(tuple(row) for row in rows)


_COEFFICIENTS = _read_coefficients()
_COLUMNS = tuple(tuple(row[k] for row in reversed(_COEFFICIENTS)) for k in range(_TERMS))


@lru_cache(maxsize=512)
def isotherm(temperature: float) -> Row:
    """Return the coefficients in the mass fraction at one temperature, highest power first."""
    difference = temperature - TEMPERATURE_20C
    row = []
    for column in reversed(_COLUMNS):
        total = 0.0
        for coefficient in column:
            total = total * difference + coefficient
        row.append(total)
    return tuple(row)


def isotherms(temperature: Array) -> Array:
    """Return the same as :func:`isotherm` for an array, the coefficients along the first axis."""
    difference = temperature - TEMPERATURE_20C
    rows = np.empty((_TERMS, *temperature.shape))
    for place, column in enumerate(reversed(_COLUMNS)):
        total = np.zeros_like(difference)
        for coefficient in column:
            total = total * difference + coefficient
        rows[place] = total
    return rows


ROW_20C = isotherm(TEMPERATURE_20C)
ROW_60F = isotherm(TEMPERATURE_60F)


def polynomial(row: Row | Array, w: Floats) -> Floats:
    """Return the value of a polynomial given highest power first."""
    total = row[0]
    for coefficient in row[1:]:
        total = total * w + coefficient
    return total


def check_mass_fraction(mass_fraction: Floats) -> None:
    """Raise unless every mass fraction lies within 0 and 1."""
    check_range(
        "mass_fraction",
        mass_fraction,
        0.0,
        1.0,
        remedy="Give the mass of ethanol over the mass of ethanol and water, not per cent.",
    )


def check_temperature(temperature: Floats) -> None:
    """Raise unless every temperature lies within -20 and 40 °C."""
    check_range(
        "temperature",
        temperature,
        LOWEST_TEMPERATURE - TEMPERATURE_SLACK,
        HIGHEST_TEMPERATURE + TEMPERATURE_SLACK,
        unit="K",
        source=f"{SOURCE}, -20 to 40 °C",
        remedy="Let the sample come near 20 °C and read it again.",
    )


@overload
def density_20(mass_fraction: float) -> float: ...
@overload
def density_20(mass_fraction: Array) -> Array: ...
def density_20(mass_fraction: Floats) -> Floats:
    r"""Return the density of an ethanol-water mixture at 20 °C.

    The 20 °C row of the international formula,
    :math:`\rho(w) = \sum_{k=1}^{12} A_k w^{k-1}`; the short way for the many calls that need it.

    Parameters
    ----------
    mass_fraction : float or ndarray
        Ethanol over ethanol and water, by mass, 0 to 1.

    Returns
    -------
    density : float or ndarray
        In vacuo. [kg m⁻³]

    Raises
    ------
    OutOfRangeError
        If a mass fraction is outside 0 to 1 or not a number.

    Notes
    -----
    Cost: eleven multiplications. Congeners and dissolved solids are left out.

    References
    ----------
    .. [1] :cite:t:`directive76766`, Annex, point 4.

    Examples
    --------
    Pure water at 20 °C is the first coefficient of the table:

    >>> density_20(0.0)
    998.20123
    """
    if isinstance(mass_fraction, float) and 0.0 <= mass_fraction <= 1.0:
        w = float(mass_fraction)
        total = 0.0
        for coefficient in ROW_20C:
            total = total * w + coefficient
        return total
    value = admit(mass_fraction)
    check_mass_fraction(value)
    return polynomial(ROW_20C, value)


@overload
def density(mass_fraction: float, temperature: float) -> float: ...
@overload
def density(mass_fraction: Array, temperature: Floats) -> Array: ...
@overload
def density(mass_fraction: float, temperature: Array) -> Array: ...
def density(mass_fraction: Floats, temperature: Floats) -> Floats:
    r"""Return the density of an ethanol-water mixture.

    The international formula,
    :math:`\rho(w, t) = \sum_{k=1}^{12} A_k w^{k-1} + \sum_{k=1}^{6} B_k (t-20)^k +
    \sum_{i=1}^{5} \sum_{k=1}^{m_i} C_{i,k} w^k (t-20)^i`, with t in °C.

    Parameters
    ----------
    mass_fraction : float or ndarray
        Ethanol over ethanol and water, by mass, 0 to 1.
    temperature : float or ndarray
        [K] Valid 253.15 to 313.15.

    Returns
    -------
    density : float or ndarray
        In vacuo, in the shape of the broadcast inputs. [kg m⁻³]

    Raises
    ------
    OutOfRangeError
        If a mass fraction is outside 0 to 1, a temperature outside -20 to 40 °C, or either is
        not a number.

    Notes
    -----
    The formula is on the temperature scale of 1968; taking it with today's readings costs at most
    0.009 kg m⁻³ between 0 and 40 °C. It does not hold below the freezing line of the mixture, which
    the directive leaves to the reader: below 0 °C a weak mixture may be ice, and this function
    then gives the density of the undercooled liquid. Congeners and dissolved solids are left out.

    References
    ----------
    .. [1] :cite:t:`directive76766`, Annex, point 4.

    Examples
    --------
    Pure ethanol at 20 °C, in law 789.24:

    >>> round(density(1.0, 293.15), 2)
    789.24
    """
    w, at = admit(mass_fraction), admit(temperature)
    check_mass_fraction(w)
    check_temperature(at)
    if isinstance(at, float):
        return polynomial(isotherm(at), w)
    return polynomial(isotherms(at), w)


ETHANOL_DENSITY_20: float = density_20(1.0)
"""Density of ethanol at 20 °C by the formula; the legal rounded value is 789.24. [kg m⁻³]"""
LEGAL_ETHANOL_DENSITY_20 = 789.24
"""Density of ethanol at 20 °C as the European texts round it. [kg m⁻³]"""
WATER_DENSITY_20: float = density_20(0.0)
"""Density of water at 20 °C by the formula. [kg m⁻³]"""


def solve_scalar(row: Row, target: float, *, low: float = 0.0, high: float = 1.0) -> float:
    """Return where a polynomial that is monotonic between low and high meets the target.

    Newton steps kept inside a bracket that shrinks; a step that leaves it is halved instead. The
    target must lie between the polynomial's values at low and high.
    """
    rising = polynomial(row, high) > polynomial(row, low)
    w = 0.5 * (low + high)
    for _ in range(100):
        value = slope = 0.0
        for coefficient in row:
            slope = slope * w + value
            value = value * w + coefficient
        gap = value - target
        if gap == 0.0:
            return w
        if (gap > 0.0) == rising:
            high = w
        else:
            low = w
        before, w = w, w - gap / slope if slope else low - 1.0
        if not low - CLOSE <= w <= high + CLOSE:
            w = 0.5 * (low + high)
        w = min(max(w, low), high)  # a step beyond the bracket by rounding ends on it
        if abs(w - before) <= CLOSE:
            return w
    raise ConvergenceError("the inverse of the density formula", 100, gap)


def solve_array(row: Row | Array, target: Array, *, low: float = 0.0, high: float = 1.0) -> Array:
    """Return the same as :func:`solve_scalar` for many targets, and many isotherms, at once."""
    rows = np.asarray(row, dtype=np.float64)
    shape = np.broadcast_shapes(target.shape, rows.shape[1:])
    lows, highs = np.full(shape, low), np.full(shape, high)
    rising = polynomial(rows, high) > polynomial(rows, low)
    w: Array = 0.5 * (lows + highs)
    gap = np.zeros(shape)
    for _ in range(100):
        value = slope = np.zeros(shape)
        for coefficient in rows:
            slope = slope * w + value
            value = value * w + coefficient
        gap = value - target
        above = (gap > 0.0) == rising
        highs, lows = np.where(above, w, highs), np.where(above, lows, w)
        step = np.where(slope == 0.0, np.inf, gap / np.where(slope == 0.0, 1.0, slope))
        after = np.where(gap == 0.0, w, w - step)
        near = (after >= lows - CLOSE) & (after <= highs + CLOSE)
        after = np.where(near, after, 0.5 * (lows + highs)).clip(lows, highs)
        moved = float(np.max(np.abs(after - w), initial=0.0))
        w = np.asarray(after, dtype=np.float64)
        if moved <= CLOSE:
            return w
    raise ConvergenceError(
        "the inverse of the density formula", 100, float(np.max(np.abs(gap), initial=0.0))
    )


def _check_density(value: Floats, lightest: Floats, heaviest: Floats) -> None:
    wide_low = float(np.min(lightest)) - DENSITY_SLACK
    wide_high = float(np.max(heaviest)) + DENSITY_SLACK
    remedy = (
        "Heavier than water means dissolved solids, lighter than "
        "ethanol a wrong reading or temperature."
    )
    check_range("density", value, wide_low, wide_high, unit="kg m⁻³", source=SOURCE, remedy=remedy)
    # Each number against its own temperature: 0 where it lies between water and ethanol.
    beyond = np.maximum(np.subtract(lightest, value), np.subtract(value, heaviest))
    if np.any(beyond > DENSITY_SLACK):
        place = np.unravel_index(int(np.argmax(beyond)), np.shape(beyond))
        one = float(np.broadcast_to(value, np.shape(beyond))[place])
        low = float(np.broadcast_to(lightest, np.shape(beyond))[place])
        high = float(np.broadcast_to(heaviest, np.shape(beyond))[place])
        check_range("density", one, low, high, unit="kg m⁻³", source=SOURCE, remedy=remedy)


@overload
def mass_fraction_from_density(density: float, temperature: float) -> float: ...
@overload
def mass_fraction_from_density(density: Array, temperature: Floats) -> Array: ...
@overload
def mass_fraction_from_density(density: float, temperature: Array) -> Array: ...
def mass_fraction_from_density(density: Floats, temperature: Floats) -> Floats:
    """Return the mass fraction of ethanol of a mixture of known density.

    The root in w of :func:`density`, kept in a bracket; there is exactly one, since the density
    falls with the mass fraction at every temperature of the range.

    Parameters
    ----------
    density : float or ndarray
        In vacuo. [kg m⁻³]
    temperature : float or ndarray
        [K] Valid 253.15 to 313.15.

    Returns
    -------
    mass_fraction : float or ndarray
        Ethanol over ethanol and water, by mass, 0 to 1.

    Raises
    ------
    OutOfRangeError
        If a density is not between those of water and of ethanol at its temperature, a temperature
        is outside -20 to 40 °C, or either is not a number.

    Notes
    -----
    A weighing in air needs :func:`density_from_apparent` first. A density beyond that of water or
    of ethanol by no more than rounding (1e-9 kg m⁻³) counts as that of water or of ethanol.

    References
    ----------
    .. [1] :cite:t:`directive76766`, Annex, point 4.

    Examples
    --------
    >>> mass_fraction_from_density(998.20123, 293.15)
    0.0
    """
    value, at = admit(density), admit(temperature)
    check_temperature(at)
    if isinstance(value, float) and isinstance(at, float):
        row = isotherm(at)
        heaviest, lightest = row[-1], polynomial(row, 1.0)
        if not lightest < value < heaviest:
            _check_density(value, lightest, heaviest)
            return 0.0 if value >= heaviest else 1.0
        return solve_scalar(row, value)
    rows = isotherms(np.asarray(at))
    heaviest, lightest = rows[-1], polynomial(rows, 1.0)
    _check_density(value, lightest, heaviest)
    inside = np.minimum(np.maximum(value, lightest), heaviest)  # the slack alone is taken back
    return solve_array(rows, np.asarray(inside))
