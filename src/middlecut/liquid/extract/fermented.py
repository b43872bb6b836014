# SPDX-License-Identifier: MIT
"""The masses a whole wort turns into."""

from __future__ import annotations

from dataclasses import dataclass

from middlecut.liquid.alcoholometry import ETHANOL_DENSITY_20, WATER_DENSITY_20, density_20
from middlecut.liquid.alcoholometry.volumes import check_amount
from middlecut.liquid.extract.balling import (
    CARBON_DIOXIDE_YIELD,
    EXTRACT_PER_ETHANOL,
    PER_CENT,
    YEAST_YIELD,
    check_gravities,
    ethanol_per_wort,
)
from middlecut.liquid.extract.gravity import plato_from_gravity, wort_density

__all__ = ["EXTRACT_VOLUME", "Fermented", "ferment_balance"]

EXTRACT_VOLUME = 6.18e-4
"""Apparent specific volume of dissolved extract, as every lot counts it. [m³ kg⁻¹]"""


@dataclass(frozen=True, slots=True)
class Fermented:
    """What a wort has become, when the yeast has settled and the gas has left.

    Parameters
    ----------
    wort : float
        Mass of the wort. [kg]
    extract : float
        Extract it held. [kg]
    water : float
        Unchanged by the fermentation. [kg]
    ethanol : float
        [kg]
    solids : float
        Real extract left. [kg]
    carbon_dioxide : float
        [kg]
    yeast : float
        Dry yeast grown. [kg]
    volume : float
        Of the wash at 20 °C: its ethanol and water by the international formula, and
        ``EXTRACT_VOLUME`` for each kilogram of solids. [m³]
    strength : float
        Of the wash; fraction by volume at 20 °C, 0 to 1.
    gravity : float
        Of the wash by that volume, SG 20/20; how far it lies from the final gravity given is how
        far Balling's balance and the volumes of a lot are apart.
    """

    wort: float
    extract: float
    water: float
    ethanol: float
    solids: float
    carbon_dioxide: float
    yeast: float
    volume: float
    strength: float
    gravity: float


def ferment_balance(volume: float, gravity: float, final_gravity: float) -> Fermented:
    """Return the masses that a wort of known gravity turns into.

    Balling's balance on the whole wort: mass in is mass out exactly, and the water stays.

    Parameters
    ----------
    volume : float
        Wort at 20 °C. [m³]
    gravity : float
        Before fermenting, SG 20/20. Valid 1.001 to 1.13.
    final_gravity : float
        Of the wash, SG 20/20. Valid 0.98 to ``gravity``.

    Returns
    -------
    fermented : Fermented
        Masses [kg], and volume, strength and gravity of the clear wash.

    Raises
    ------
    OutOfRangeError
        If a number is outside its range or not a number.
    InputError
        If the final gravity is above the first, or so low that more extract would be gone than
        there was.

    Notes
    -----
    The gravity of the wash that its volume gives and the one put in rest on different sources; for
    worts of 1.030 to 1.100 the volume's gravity comes out up to 0.0016 lower. Losses of ethanol
    with the gas are left out (of the order of 1 %, estimate).

    References
    ----------
    .. [1] :cite:t:`balling1865`, as quoted by :cite:t:`cutaia2009`.

    Examples
    --------
    >>> wash = ferment_balance(0.025, 1.062, 1.010)
    >>> out = wash.water + wash.ethanol + wash.solids + wash.carbon_dioxide + wash.yeast
    >>> round(out - wash.wort, 12) + 0.0
    0.0
    """
    amount, start, end = float(volume), float(gravity), float(final_gravity)
    check_amount("volume", amount, "m³")
    check_gravities(start, end)
    wort = amount * wort_density(start)
    extract = wort * plato_from_gravity(start) / PER_CENT
    water = wort - extract
    ethanol = wort * float(ethanol_per_wort(start, end))
    solids = extract - EXTRACT_PER_ETHANOL * ethanol
    liquid = water + ethanol
    if liquid <= 0.0:
        return Fermented(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, end)
    wash = liquid / density_20(ethanol / liquid) + solids * EXTRACT_VOLUME
    result = (liquid + solids) / wash / WATER_DENSITY_20
    return Fermented(
        wort=wort,
        extract=extract,
        water=water,
        ethanol=ethanol,
        solids=solids,
        carbon_dioxide=CARBON_DIOXIDE_YIELD * ethanol,
        yeast=YEAST_YIELD * ethanol,
        volume=wash,
        strength=ethanol / ETHANOL_DENSITY_20 / wash,
        gravity=result,
    )
