# SPDX-License-Identifier: MIT
"""Numbers about fire, vapour and gas, each with its source, for the cautions of the steps."""

from __future__ import annotations

import math

from middlecut.errors import OutOfRangeError
from middlecut.liquid.alcoholometry import ETHANOL_MOLAR_MASS

__all__ = [
    "ETHANOL_LATENT_HEAT",
    "FLASH_POINT_MARGIN",
    "FLASH_POINT_SOURCE",
    "GAS_MOLAR_VOLUME",
    "LOWER_EXPLOSIVE_LIMIT",
    "carbon_dioxide_volume",
    "dilution_air",
    "flash_point",
    "vapour_rate",
    "vapour_volume",
]

LOWER_EXPLOSIVE_LIMIT = 0.033
"""Ethanol vapour in air, share by volume. NIOSH Pocket Guide, ethyl alcohol (read)."""

ETHANOL_LATENT_HEAT = 850e3
"""At 78.4 °C. [J kg⁻¹] Reference equation of state (computed)."""

GAS_MOLAR_VOLUME = 0.02406
"""Ideal gas at 20 °C and 101.325 kPa. [m³ mol⁻¹]"""

FLASH_POINT_MARGIN = 6.0
"""How much earlier than the flash-point table to warn. [K] The two printed tables disagree on
their basis, and an activity-coefficient model anchored at 13 °C lies up to 6 K below them."""

FLASH_POINT_SOURCE = (
    "published flash-point table of ethanol and water (read; printed under both % mass and % vol)"
)

_CARBON_DIOXIDE_MOLAR_MASS = 44.0095e-3
_WARNING_SHARE = 0.10

_FLASH_STRENGTH = (0.05, 0.10, 0.20, 0.30, 0.40, 0.50, 0.60, 0.70, 0.80, 0.90, 0.96)
_FLASH_CELSIUS = (62.0, 49.0, 36.0, 29.0, 26.0, 24.0, 22.0, 21.0, 20.0, 17.0, 17.0)


def flash_point(strength: float) -> float:
    """Return the flash point of ethanol and water, as an upper figure.

    Straight lines between the rows of the published table, read as % vol, which is the reading
    that fits a model better and warns earlier.

    Parameters
    ----------
    strength : float
        Fraction by volume at 20 °C. Valid 0.05 to 0.96.

    Returns
    -------
    float
        [K] Treat it as an upper figure and warn ``FLASH_POINT_MARGIN`` earlier.

    Raises
    ------
    OutOfRangeError
        Outside the table.

    Notes
    -----
    The same numbers are printed under "% by weight" in one place and "% ABV" in another. A model
    anchored at 13 °C for pure ethanol gives 42.9 °C instead of 49 °C at 10 % vol (computed).

    Examples
    --------
    >>> round(flash_point(0.40) - 273.15, 2)
    26.0
    """
    if not _FLASH_STRENGTH[0] <= strength <= _FLASH_STRENGTH[-1]:
        raise OutOfRangeError(
            "strength", strength, _FLASH_STRENGTH[0], _FLASH_STRENGTH[-1], source=FLASH_POINT_SOURCE
        )
    rows = zip(_FLASH_STRENGTH, _FLASH_CELSIUS, strict=True)
    low_strength, low_celsius = next(rows)
    for high_strength, high_celsius in rows:
        if strength <= high_strength:
            share = (strength - low_strength) / (high_strength - low_strength)
            return 273.15 + low_celsius + share * (high_celsius - low_celsius)
        low_strength, low_celsius = high_strength, high_celsius
    return 273.15 + low_celsius


def vapour_rate(power: float) -> float:
    """Return the ethanol vapour that a heat flow makes when nothing condenses it.

    Parameters
    ----------
    power : float
        Heat into boiling ethanol. [W] Zero or more.

    Returns
    -------
    float
        [kg s⁻¹] An upper figure for a mixture: water takes more heat to boil.

    Raises
    ------
    OutOfRangeError
        If the power is negative or not a number.

    Examples
    --------
    1 kW makes 4.2 kg an hour:

    >>> round(vapour_rate(1000.0) * 3600, 1)
    4.2
    """
    return _positive("power", power) / ETHANOL_LATENT_HEAT


def vapour_volume(mass: float) -> float:
    """Return the volume of ethanol vapour at 20 °C.

    Parameters
    ----------
    mass : float
        [kg], or [kg s⁻¹] for a flow. Zero or more.

    Returns
    -------
    float
        [m³], or [m³ s⁻¹].

    Raises
    ------
    OutOfRangeError
        If the mass is negative or not a number.

    Examples
    --------
    One litre of ethanol, 0.7893 kg, makes 0.412 m³:

    >>> round(vapour_volume(0.7893), 3)
    0.412
    """
    return _positive("mass", mass) / ETHANOL_MOLAR_MASS * GAS_MOLAR_VOLUME


def dilution_air(mass: float, limit_share: float = _WARNING_SHARE) -> float:
    """Return the air that keeps ethanol vapour below a share of the lower explosive limit.

    Q = G / (f · 0.033) with mixing factor 1: a real room needs 3 to 10 times as much (memory).

    Parameters
    ----------
    mass : float
        Ethanol evaporated. [kg], or [kg s⁻¹] for a flow. Zero or more.
    limit_share : float
        Wanted share f of the lower explosive limit, above 0 to 1.

    Returns
    -------
    float
        [m³], or [m³ s⁻¹].

    Raises
    ------
    OutOfRangeError
        If the mass is negative, or the share is not above 0 and at most 1.

    Examples
    --------
    One litre of ethanol an hour needs 125 m³ of air an hour for a tenth of the limit:

    >>> round(dilution_air(0.7893))
    125
    """
    if not 0.0 < limit_share <= 1.0:
        raise OutOfRangeError("limit_share", limit_share, 0.0, 1.0)
    return vapour_volume(mass) / (limit_share * LOWER_EXPLOSIVE_LIMIT)


def carbon_dioxide_volume(mass: float) -> float:
    """Return the volume of carbon dioxide at 20 °C.

    Parameters
    ----------
    mass : float
        [kg] Zero or more.

    Returns
    -------
    float
        [m³]

    Raises
    ------
    OutOfRangeError
        If the mass is negative or not a number.

    Examples
    --------
    One litre of ethanol made, 0.7893 kg, leaves 0.9565 times as much gas, 0.41 m³:

    >>> round(carbon_dioxide_volume(0.7893 * 0.9565), 2)
    0.41
    """
    return _positive("mass", mass) / _CARBON_DIOXIDE_MOLAR_MASS * GAS_MOLAR_VOLUME


def _positive(name: str, value: float) -> float:
    if not 0.0 <= value < math.inf:
        raise OutOfRangeError(name, value, 0.0, math.inf)
    return value
