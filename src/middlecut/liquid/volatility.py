# SPDX-License-Identifier: MIT
"""Volatility of dilute compounds in boiling ethanol–water: K, its basis and its uncertainty.

K = γ∞(x, T)·Psat(T)/P at the bubble point of the ethanol–water liquid; of carboxylic acids Psat is
the pressure of the single molecules over the pure acid. Every compound carries the
grade of its data and a multiplicative uncertainty that feeds the bands of a prediction.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import cast

import numpy as np

from middlecut.errors import InputError
from middlecut.liquid import compounds as compound_table
from middlecut.liquid import equilibrium
from middlecut.liquid.grades import Grade, grade
from middlecut.liquid.ranges import Array, Number, as_given, within
from middlecut.liquid.volatility_tables import (
    TEMPERATURE_RANGE,
    Tables,
    chosen,
    ln_gamma,
    ln_pressure,
)

__all__ = [
    "Grade",
    "KTable",
    "grade",
    "k_table",
    "k_value",
    "limiting_activity_coefficient",
    "relative_volatility",
]


@dataclass(frozen=True, slots=True, eq=False)
class KTable:
    """K of many compounds on a uniform grid of composition at one pressure; read-only arrays.

    Parameters
    ----------
    compounds : tuple of str
        Names, in the order of the columns.
    pressure : float
        Rounded to 1 Pa. [Pa]
    ethanol_mole_fraction : ndarray, shape (nodes,)
        Of the liquid, uniform from 0 to 1.
    values : ndarray, shape (nodes, compounds)
        K = y/x, C-contiguous.
    """

    compounds: tuple[str, ...]
    pressure: float
    ethanol_mole_fraction: Array
    values: Array


def _fraction(value: object) -> Array:
    return within(
        "ethanol_mole_fraction", value, 0.0, 1.0, remedy="Give a mole fraction between 0 and 1."
    )


def _boiling(
    ethanol_mole_fraction: object, pressure: object
) -> tuple[tuple[int, ...], Array, Array, Array]:
    """Return the shape of the inputs together, and x, P and the bubble temperature as one row."""
    x, p = np.broadcast_arrays(
        _fraction(ethanol_mole_fraction), np.asarray(pressure, dtype=np.float64)
    )
    shape, x, p = x.shape, x.ravel(), p.ravel()
    temperature, _ = equilibrium.bubble_point(x, p)
    return shape, x, p, temperature


def _k_values(
    found: Tables, members: list[int], *, x: Array, temperature: Array, pressure: Array
) -> Array:
    """Return K, shape (points, members), at points of a boiling liquid."""
    log = ln_gamma(found, members, x, temperature)
    log += ln_pressure(found.pressure_coefficients[members], temperature)
    values: Array = np.exp(log - np.log(pressure)[:, None])
    return values


def k_value(compound: str, ethanol_mole_fraction: Number, pressure: Number | float) -> Number:
    r"""Return K = y/x of a dilute compound over boiling ethanol–water.

    .. math:: K = \gamma^\infty(x, T)\,P^{sat}(T)/P

    at the bubble temperature T of the liquid. See :func:`limiting_activity_coefficient` for γ∞.

    Parameters
    ----------
    compound : str
        Name, synonym or CAS number.
    ethanol_mole_fraction : float or ndarray
        Of the liquid, free of the compound. 0 to 1.
    pressure : float or ndarray
        [Pa] Valid 60e3 to 110e3.

    Returns
    -------
    k : same shape as the broadcast inputs
        Mole fraction in the vapour over mole fraction in the liquid, at infinite dilution.
        :func:`grade` gives its uncertainty.

    Raises
    ------
    NotFoundError
        If no compound goes by that name, or if it never distils.
    OutOfRangeError
        If an input is outside its range or is not a number.

    Notes
    -----
    The vapour is ideal, but over a pure carboxylic acid most of it is dimers, and of a trace none
    is: there Psat is the monomer's pressure, from a recalled association constant. Left out:
    dissociation of acids and of pyridine bases in water, the pull of dissolved sugar and salt, and
    the interaction of congeners with each other. Psat fits stay within 0.4 % of their correlation.

    References
    ----------
    .. [1] :cite:t:`brouwer2021`, measured limiting activity coefficients.
    .. [2] :cite:t:`sander2015`, Henry constants.
    .. [3] :cite:t:`bell2021chemicals`, vapour-pressure correlations.

    Examples
    --------
    3-methyl-1-butanol leads while the liquid is weak and trails when it is strong:

    >>> round(k_value("3-methyl-1-butanol", 0.02, 101325.0), 1)
    28.4
    >>> round(k_value("3-methyl-1-butanol", 0.6, 101325.0), 2)
    0.26

    Acetic acid stays behind, even in water:

    >>> round(k_value("acetic acid", 0.0, 101325.0), 2)
    0.63
    """
    found, members = chosen((compound,))
    shape, x, p, temperature = _boiling(ethanol_mole_fraction, pressure)
    values = _k_values(found, members, x=x, temperature=temperature, pressure=p).reshape(shape)
    return cast("Number", as_given(values))


def relative_volatility(
    compound: str, ethanol_mole_fraction: Number, pressure: Number | float
) -> Number:
    """Return the volatility of a dilute compound relative to ethanol, K/K(ethanol).

    Above 1 the compound runs ahead of ethanol; below 1 it lags.

    Parameters
    ----------
    compound : str
        Name, synonym or CAS number.
    ethanol_mole_fraction : float or ndarray
        Of the liquid. 0 to 1.
    pressure : float or ndarray
        [Pa] Valid 60e3 to 110e3.

    Returns
    -------
    alpha : same shape as the broadcast inputs
        Dimensionless.

    Raises
    ------
    NotFoundError
        If no compound goes by that name, or if it never distils.
    OutOfRangeError
        If an input is outside its range or is not a number.

    Notes
    -----
    Methanol passes 1 near x = 0.24: it runs through the whole distillation and cannot be taken
    off as a first fraction.

    References
    ----------
    .. [1] :cite:t:`brouwer2021`, measured limiting activity coefficients.

    Examples
    --------
    >>> round(relative_volatility("methanol", 0.02, 101325.0), 2)
    0.64
    >>> round(relative_volatility("methanol", 0.8, 101325.0), 2)
    1.52
    """
    found, members = chosen((compound,))
    shape, x, p, temperature = _boiling(ethanol_mole_fraction, pressure)
    gamma, _ = equilibrium.activity_coefficients(x, temperature)
    ethanol = gamma * equilibrium.vapour_pressure_ethanol(temperature) / p
    alpha = _k_values(found, members, x=x, temperature=temperature, pressure=p)[:, 0] / ethanol
    return cast("Number", as_given(alpha.reshape(shape)))


def limiting_activity_coefficient(
    compound: str, ethanol_mole_fraction: Number, temperature: Number | float
) -> Number:
    r"""Return γ∞ of a dilute compound in liquid ethanol–water.

    .. math:: \ln\gamma(x,T) = \ln\gamma_m(x,T)
        + \ln\frac{\gamma_w}{\gamma_m(0,T)}\,(1-\varphi)

    with γ_m a group model (UNIFAC, or modified UNIFAC; NRTL for methanol), γ_w the published
    value in water and φ the ethanol volume fraction. Without usable groups, log-linear
    cosolvency: ln γ = (1−φ) ln γ_w + φ ln γ_e.

    Parameters
    ----------
    compound : str
        Name, synonym or CAS number.
    ethanol_mole_fraction : float or ndarray
        0 to 1.
    temperature : float or ndarray
        [K] Valid 298.15 to 385.

    Returns
    -------
    gamma : same shape as the broadcast inputs
        Mole-fraction basis, symmetric convention (1 for the pure compound).

    Raises
    ------
    NotFoundError
        If no compound goes by that name, or if it never distils.
    OutOfRangeError
        If an input is outside its range or is not a number.

    Notes
    -----
    γ_w is taken constant between its anchor and the boiling range; measured pairs of C3 to C5
    alcohols and esters support that within 30 to 40 %, phenol and furfural break it. The group
    model is interpolated from a table with an error below 5e-4 in ln γ.

    References
    ----------
    .. [1] :cite:t:`fredenslund1975`, UNIFAC.
    .. [2] :cite:t:`constantinescu2016`, modified UNIFAC.
    .. [3] :cite:t:`li1998cosolvency`, log-linear cosolvency.
    .. [4] :cite:t:`brouwer2021`, measured limiting activity coefficients.

    Examples
    --------
    >>> round(limiting_activity_coefficient("1-propanol", 0.0, 356.0), 1)
    19.0
    """
    found, members = chosen((compound,))
    kelvin = within(
        "temperature", temperature, *TEMPERATURE_RANGE, unit="K", source="nodes of the table"
    )
    x, t = np.broadcast_arrays(_fraction(ethanol_mole_fraction), kelvin)
    gamma = np.exp(ln_gamma(found, members, x.ravel(), t.ravel())).reshape(x.shape)
    return cast("Number", as_given(gamma))


def k_table(compounds: tuple[str, ...], pressure: float, nodes: int = 2001) -> KTable:
    """Return K of many compounds on a uniform grid of composition, for the still's kernel.

    Parameters
    ----------
    compounds : tuple of str
        Names, synonyms or CAS numbers; the columns keep their order.
    pressure : float
        [Pa] Valid 60e3 to 110e3; rounded to 1 Pa.
    nodes : int
        Points of the grid, at least 11.

    Returns
    -------
    table : KTable
        Its arrays are read-only and shared between callers that ask for the same.

    Raises
    ------
    NotFoundError
        If a compound does not exist or never distils.
    OutOfRangeError
        If the pressure is outside its range.
    InputError
        If there are fewer than 11 nodes.

    Notes
    -----
    With 2001 nodes, linear interpolation between them is within 0.1 % of :func:`k_value`.
    Made in a few milliseconds and kept in memory, so nothing is cached on disk.

    References
    ----------
    .. [1] :cite:t:`brouwer2021`, measured limiting activity coefficients.

    Examples
    --------
    >>> k_table(("methanol", "ethyl acetate"), 101325.0).values.shape
    (2001, 2)
    """
    if nodes < 11:
        raise InputError("nodes", nodes, "a table needs at least 11 nodes")
    found = tuple(compound_table.find(compound).name for compound in compounds)
    low, high = equilibrium.PRESSURE_RANGE
    given = float(within("pressure", pressure, low, high, unit="Pa"))
    return _k_table(found, round(given), nodes)


@lru_cache(maxsize=64)
def _k_table(names: tuple[str, ...], pressure: int, nodes: int) -> KTable:
    x = np.linspace(0.0, 1.0, nodes)
    temperature, _ = equilibrium.bubble_point(x, float(pressure))
    found, members = chosen(names)
    at = np.full(1, float(pressure))
    values = _k_values(found, members, x=x, temperature=temperature, pressure=at)
    for array in (x, values):
        array.flags.writeable = False
    return KTable(names, float(pressure), x, values)
