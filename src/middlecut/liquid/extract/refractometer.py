# SPDX-License-Identifier: MIT
"""Strength from a refractometer and a hydrometer together."""

from __future__ import annotations

from typing import overload

from middlecut.liquid.alcoholometry.ranges import Floats, admit, check_range

__all__ = ["strength_from_refractometer"]


@overload
def strength_from_refractometer(*, brix: float, gravity: float) -> float: ...
@overload
def strength_from_refractometer(*, brix: Floats, gravity: Floats) -> Floats: ...
def strength_from_refractometer(*, brix: Floats, gravity: Floats) -> Floats:
    r"""Return the strength of a fortified wine from its refraction and gravity.

    :math:`100\,q = 1.646\,B - 2.703\,(145 - 145/G) - 1.794`: sugar raises both readings, ethanol
    raises one and lowers the other.

    Parameters
    ----------
    brix : float or ndarray
        Reading of a refractometer, not corrected for ethanol. [°Brix] Valid 5 to 40.
    gravity : float or ndarray
        Reading of a hydrometer at its temperature, SG 20/20. Valid 0.98 to 1.06.

    Returns
    -------
    strength : float or ndarray
        Fraction by volume at 20 °C; 0.165 to 0.22, the wines it was fitted on.

    Raises
    ------
    OutOfRangeError
        If a reading is outside its range, or the strength that comes out is outside 0.165 to 0.22.

    Notes
    -----
    Fitted on 35 port wines (r² 0.997). The abstract, which is what was read, does not print the
    range of strengths; 16.5 to 22 % vol is what such wines have (memory). The equation is not
    validated for washes of grain or sugar, which are weaker, nor for spirits: there it is refused
    rather than stretched.

    References
    ----------
    .. [1] :cite:t:`rogerson2006`, abstract.

    Examples
    --------
    >>> round(strength_from_refractometer(brix=16.0, gravity=1.017), 3)
    0.18
    """
    refraction, density_ratio = admit(brix), admit(gravity)
    check_range("brix", refraction, 5.0, 40.0, unit="°Brix", source="Rogerson and Symington 2006")
    check_range("gravity", density_ratio, 0.98, 1.06, source="Rogerson and Symington 2006")
    strength = (1.646 * refraction - 2.703 * (145.0 - 145.0 / density_ratio) - 1.794) / 100.0
    check_range(
        "strength",
        strength,
        0.165,
        0.22,
        source="the equation was fitted on port wines only",
        remedy="For a wash use its gravity before and after fermenting; for a spirit distil a "
        "sample or use an alcoholometer.",
    )
    return strength
