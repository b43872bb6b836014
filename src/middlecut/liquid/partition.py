# SPDX-License-Identifier: MIT
"""How a compound sits between air and liquid: Henry constants and the ethanol effect."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from typing import cast

import numpy as np

from middlecut.errors import NotFoundError
from middlecut.liquid import alcoholometry, compounds
from middlecut.liquid.constants import GAS_CONSTANT
from middlecut.liquid.own_names import OwnCompound
from middlecut.liquid.own_volatility import henry_of
from middlecut.liquid.ranges import Number, as_given, within
from middlecut.liquid.volatility import limiting_activity_coefficient

__all__ = ["PARTITION_TEMPERATURES", "Henry", "air_water_partition", "henry"]

REFERENCE = 298.15
PARTITION_TEMPERATURES = (273.15, 333.15)
"""Temperatures the partition is used at. [K]"""
HENRY_FACTOR = {"A": 1.2, "B": 1.5, "C": 2.0, "D": 5.0}

_WATER_VOLUME, _ETHANOL_VOLUME = 18.07, 58.7  # cm³/mol, as in the volatility tables


@dataclass(frozen=True, slots=True)
class Henry:
    """How a compound sits between air and pure water at 25 °C.

    Parameters
    ----------
    compound : str
        Its name.
    constant : float
        Amount per volume of water over partial pressure. [mol m⁻³ Pa⁻¹]
    slope : float
        d ln(constant) / d(1/T). [K]
    slope_basis : {"table", "assumed"}
        ``assumed`` is 5500 K.
    quality : {"A", "B", "C", "D"}
        D is an estimate, good for ranking only.
    factor : float
        How far it may be off, up or down; a judgement from the quality.
    basis : str
        ``read``, ``library``, ``computed``, ``memory`` or ``estimate``.
    source : str
        Keys for :func:`middlecut.liquid.sources.flavour_sources`, or the name of a table.
    note : str
        What to beware of, or "".
    """

    compound: str
    constant: float
    slope: float
    slope_basis: str
    quality: str
    factor: float
    basis: str
    source: str
    note: str


@lru_cache(maxsize=1)
def _henry() -> dict[str, Henry]:
    path = files("middlecut.liquid") / "tables" / "henry.csv"
    rows = csv.DictReader(path.read_text(encoding="utf-8").splitlines())
    return {
        row["name"]: Henry(
            compound=row["name"],
            constant=float(row["constant_25"]),
            slope=float(row["slope"]),
            slope_basis=row["slope_basis"],
            quality=row["quality"],
            factor=HENRY_FACTOR[row["quality"]],
            basis=row["basis"],
            source=row["source"],
            note=row["note"],
        )
        for row in rows
    }


def _own_henry(own: OwnCompound) -> Henry:
    """Return the constant of a compound of the user's own: C if given, D if it follows from K."""
    constant, slope = henry_of(own)
    quality = "D" if own.henry is None else "C"
    return Henry(
        compound=own.label,
        constant=constant,
        slope=slope,
        slope_basis="assumed" if own.henry_slope is None else "table",
        quality=quality,
        factor=HENRY_FACTOR[quality],
        basis="estimate",
        source=own.source,
        note=own.note,
    )


def henry(compound: str) -> Henry:
    """Return the recommended Henry constant of a compound in water.

    Parameters
    ----------
    compound : str
        Name, synonym or CAS number.

    Returns
    -------
    henry : Henry
        With quality, basis and source.

    Raises
    ------
    NotFoundError
        If no compound goes by that name, or if nothing of it goes into the air.

    Notes
    -----
    Recommended values, not the mixed averages of a compilation, which are off by more than three
    times for 23 of these compounds. Acids and bases: the undissociated form.

    References
    ----------
    .. [1] :cite:t:`sander2015`.

    Examples
    --------
    >>> henry("ethyl acetate").constant, henry("ethyl acetate").slope
    (0.06, 5600.0)
    """
    found = compounds.find(compound)
    name = found.name
    if found.own is not None and not found.nonvolatile:
        return _own_henry(found.own)
    try:
        return _henry()[name]
    except KeyError:
        raise NotFoundError("Henry constant of a compound", name) from None


def air_water_partition(
    compound: str, temperature: Number | float, strength: Number | float = 0.0
) -> Number:
    r"""Return the concentration in air over the concentration in the liquid at equilibrium.

    .. math:: K_{aw} = \frac{1}{H(T)\,R\,T}, \quad
        H(T) = H_{25}\exp\left[s\left(\frac1T-\frac1{298.15}\right)\right]

    and with ethanol in the liquid times γ∞(x)·v(x)/(γ∞(0)·v(0)), the change of the activity
    coefficient at 25 °C and of the molar volume of the liquid.

    Parameters
    ----------
    compound : str
        Name, synonym or CAS number.
    temperature : float or ndarray
        [K] Valid 273.15 to 333.15.
    strength : float or ndarray
        Of the liquid, a fraction by volume at 20 °C; 0 (water) to 1.

    Returns
    -------
    partition : same shape as the broadcast inputs
        Dimensionless.

    Raises
    ------
    NotFoundError
        If no compound goes by that name, or if nothing of it goes into the air.
    OutOfRangeError
        If an input is outside its range or is not a number.

    Notes
    -----
    Ethanol holds esters and terpenes back: here by 30 to 65 % at 10 % vol. Measurements in
    wine-like liquids, as recalled, show 10 to 30 % for esters; so below 20 % vol the correction is
    an upper bound of the effect, and strength 0 the lower one. Left out: sugar, salts and acidity,
    and the temperature dependence of the ethanol effect. ``henry`` gives the uncertainty of the
    value in water.

    References
    ----------
    .. [1] :cite:t:`sander2015`.

    Examples
    --------
    Ethyl hexanoate at 25 °C, 0.026 in the table of Henry constants:

    >>> round(air_water_partition("ethyl hexanoate", 298.15), 3)
    0.026
    """
    found = henry(compound)
    kelvin = within("temperature", temperature, *PARTITION_TEMPERATURES, unit="K")
    share = within("strength", strength, 0.0, 1.0)
    constant = found.constant * np.exp(found.slope * (1.0 / kelvin - 1.0 / REFERENCE))
    value = 1.0 / (constant * GAS_CONSTANT * kelvin)
    if np.any(share > 0.0):
        x = np.asarray(alcoholometry.mole_fraction_from_strength(share))
        gamma = np.asarray(limiting_activity_coefficient(found.compound, x, REFERENCE))
        gamma = gamma / limiting_activity_coefficient(found.compound, 0.0, REFERENCE)
        value = value * gamma * (1.0 + x * (_ETHANOL_VOLUME / _WATER_VOLUME - 1.0))
    return cast("Number", as_given(np.asarray(value)))
