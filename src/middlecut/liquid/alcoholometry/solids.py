# SPDX-License-Identifier: MIT
"""Dissolved solids hide strength from every instrument that goes by density."""

from __future__ import annotations

from typing import overload

from middlecut.liquid.alcoholometry.ranges import Array, Floats, admit, check_range
from middlecut.liquid.alcoholometry.scales import strength_from_density

__all__ = ["EXTRACT_DENSITY_RISE", "obscuration_us", "strength_with_extract"]

EXTRACT_DENSITY_RISE = 0.386
"""Rise of density for each unit of dissolved sucrose per volume; a pure number (kg m⁻³ per g/L)."""


@overload
def strength_with_extract(density: float, extract: float, temperature: float) -> float: ...
@overload
def strength_with_extract(density: Floats, extract: Floats, temperature: Floats) -> Floats: ...
def strength_with_extract(density: Floats, extract: Floats, temperature: Floats) -> Floats:
    r"""Return the true strength of a liquid of known density and dissolved solids.

    The balance of densities of Tabarié: a drink is as much heavier than ethanol-water of its
    strength as its solids make water heavier, :math:`\rho_a = \rho_v - 0.386\,E`; the strength is
    that of the ethanol-water density :math:`\rho_a`.

    Parameters
    ----------
    density : float or ndarray
        Of the liquid with its solids, in vacuo. [kg m⁻³]
    extract : float or ndarray
        Dissolved solids, counted as sucrose, per volume of liquid. [kg m⁻³] The same number in g/L.
        Valid 0 to 400.
    temperature : float or ndarray
        [K] Valid 253.15 to 313.15.

    Returns
    -------
    strength : float or ndarray
        Fraction by volume at 20 °C, 0 to 1.

    Raises
    ------
    OutOfRangeError
        If the extract is outside 0 to 400 g/L, or what is left of the density is not that of an
        ethanol-water mixture at that temperature.

    Notes
    -----
    Written for 20 °C; the rise by sugar is taken as the same at other temperatures. Other solids
    than sugar raise the density by other amounts (oak extract a little more). In a lot, solids are
    counted by the volume they take up instead, which differs from this by 1 % of the correction in
    water and by about 5 % at 50 % vol.

    References
    ----------
    .. [1] :cite:t:`oivma2012`, method OIV-MA-AS2-03B.

    Examples
    --------
    One gram per litre hides 0.2 % vol at 50 % vol:

    >>> apparent = strength_from_density(930.14, 293.15)
    >>> round(100.0 * (strength_with_extract(930.14, 1.0, 293.15) - apparent), 2)
    0.2
    """
    value, solids = admit(density), admit(extract)
    check_range(
        "extract",
        solids,
        0.0,
        400.0,
        unit="kg m⁻³",
        source="OIV-MA-AS2-03B",
        remedy="Give grams per litre, which is the same number.",
    )
    return strength_from_density(value - EXTRACT_DENSITY_RISE * solids, admit(temperature))


@overload
def obscuration_us(extract: float) -> float: ...
@overload
def obscuration_us(extract: Array) -> Array: ...
def obscuration_us(extract: Floats) -> Floats:
    """Return the proof that dissolved solids hide, by the US gauging rule.

    100 mg of solids in 100 mL hide 0.4 degree of proof.

    Parameters
    ----------
    extract : float or ndarray
        Dissolved solids per volume of liquid. [kg m⁻³] The same number in g/L. Valid 0 to 6.

    Returns
    -------
    obscuration : float or ndarray
        To add to the apparent proof. [US proof]

    Raises
    ------
    OutOfRangeError
        If the solids are outside 0 to 6 g/L: above that the rule asks for distilling first.

    Notes
    -----
    The rule is made for spirits near 100 proof and leaves out that the same solids hide 0.48 proof
    at 80 proof; :func:`strength_with_extract` follows the strength.

    References
    ----------
    .. [1] :cite:t:`cfr27part30`, section 30.32.

    Examples
    --------
    >>> obscuration_us(1.0)
    0.4
    """
    solids = admit(extract)
    check_range(
        "extract",
        solids,
        0.0,
        6.0,
        unit="kg m⁻³",
        source="27 CFR 30.32",
        remedy="Distil the sample and gauge the distillate, or use strength_with_extract.",
    )
    return 0.4 * solids
