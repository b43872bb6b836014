# SPDX-License-Identifier: MIT
"""Glass alcoholometers read away from the temperature they were made for.

A glass instrument floats where its volume displaces its own weight. Away from its reference
temperature both the liquid and the glass have expanded, so the scale shows neither the true
strength nor the true density. The corrections printed on an instrument's or a thermometer's
certificate are plain additions: add them to the readings first.
"""

from __future__ import annotations

from typing import Literal, overload

import numpy as np

from middlecut.errors import InputError, OutOfRangeError
from middlecut.liquid.alcoholometry.proof import check_proof, mass_fraction_from_proof, strength_60f
from middlecut.liquid.alcoholometry.ranges import Array, Floats, admit, check_range
from middlecut.liquid.alcoholometry.scales import check_strength, mass_fraction_from_strength
from middlecut.liquid.alcoholometry.surface import (
    DENSITY_SLACK,
    ETHANOL_DENSITY_20,
    ROW_20C,
    ROW_60F,
    SOURCE,
    TEMPERATURE_20C,
    TEMPERATURE_60F,
    Row,
    check_temperature,
    density,
    mass_fraction_from_density,
    polynomial,
    solve_array,
    solve_scalar,
)

__all__ = ["GLASS_EXPANSION", "Reference", "reading_for_strength", "true_proof", "true_strength"]

GLASS_EXPANSION = 25e-6
"""Cubic expansion of the glass of an alcoholometer. [K⁻¹] Directive 76/765/EEC (memory)."""

Reference = Literal["20C", "60F"]
"""Temperature at which an instrument shows the truth, and of the volumes its scale speaks of."""

# Marks a little beyond the stem, so that an error can say where the instrument would float.
_BELOW, _ABOVE = -0.02, 1.10


def _reference(reference: str) -> tuple[float, Row]:
    if reference == "20C":
        return TEMPERATURE_20C, ROW_20C
    if reference == "60F":
        return TEMPERATURE_60F, ROW_60F
    raise InputError(
        "reference",
        reference,
        'it is "20C" or "60F"',
        "Read it off the instrument's stem; US proof instruments are made for 60 °F.",
    )


def _scale(mass_fraction: Floats, reference: str) -> Floats:
    """Return what a scale says of a mass fraction, also a little beyond 0 to 1."""
    if reference == "60F":
        return strength_60f(mass_fraction)
    return mass_fraction * polynomial(ROW_20C, mass_fraction) / ETHANOL_DENSITY_20


def _mass_fraction_of_mark(reading: Floats, reference: str) -> Floats:
    if reference == "60F":
        return mass_fraction_from_proof(200.0 * reading)
    return mass_fraction_from_strength(reading)


def _marks(mass_fraction: Floats, temperature: Floats, reference: str) -> Floats:
    """Return where the instrument floats, also a little beyond its stem."""
    made_for, row = _reference(reference)
    expansion = 1.0 + GLASS_EXPANSION * (temperature - made_for)
    floats_at = density(mass_fraction, temperature) * expansion
    if isinstance(floats_at, float):
        mark: Floats = solve_scalar(row, floats_at, low=_BELOW, high=_ABOVE)
    else:
        mark = solve_array(row, floats_at, low=_BELOW, high=_ABOVE)
    return _scale(mark, reference)


def _check_reading(target: Floats, reading: Floats, temperature: Floats, reference: str) -> None:
    """Raise when no ethanol-water mixture floats the instrument there at that temperature."""
    lightest, heaviest = density(1.0, temperature), density(0.0, temperature)
    outside = np.less(target, lightest - DENSITY_SLACK) | np.greater(
        target, heaviest + DENSITY_SLACK
    )
    if not outside.any():
        return
    place = np.unravel_index(int(np.argmax(outside)), np.shape(outside))
    shape = np.shape(outside)
    at = float(np.broadcast_to(temperature, shape)[place])
    ends = [float(_marks(w, at, reference)) for w in (0.0, 1.0)]
    raise OutOfRangeError(
        "reading",
        float(np.broadcast_to(reading, shape)[place]),
        max(ends[0], 0.0),
        min(ends[1], 1.0),
        source=f"no ethanol-water mixture floats it elsewhere at {at - 273.15:.1f} °C; {SOURCE}",
        remedy="Check the temperature; dissolved solids make a liquid heavier than water.",
    )


@overload
def true_strength(reading: float, temperature: float, reference: Reference = "20C") -> float: ...
@overload
def true_strength(reading: Array, temperature: Floats, reference: Reference = "20C") -> Array: ...
@overload
def true_strength(reading: float, temperature: Array, reference: Reference = "20C") -> Array: ...
def true_strength(reading: Floats, temperature: Floats, reference: Reference = "20C") -> Floats:
    r"""Return the true strength from the reading of a glass alcoholometer.

    The instrument floats where :math:`\rho(w, t) = \rho(w_R, t_0) / (1 + \alpha (t - t_0))`, with
    w_R the mass fraction of the mark it shows, t_0 its reference temperature and α = 25e-6 K⁻¹ the
    expansion of glass. The true strength is that of the root w.

    Parameters
    ----------
    reading : float or ndarray
        Mark at the level surface, as a fraction by volume, 0 to 1.
    temperature : float or ndarray
        Of the liquid while the instrument floats in it. [K] Valid 253.15 to 313.15.
    reference : {"20C", "60F"}
        Temperature the instrument is made for.

    Returns
    -------
    strength : float or ndarray
        True fraction by volume at the instrument's own reference temperature: at 20 °C, or at 60 °F
        (half the US proof over 100; :func:`strength_from_proof` leads on to 20 °C).

    Raises
    ------
    OutOfRangeError
        If a reading is outside 0 to 1 or cannot be that of an ethanol-water mixture at its
        temperature, a temperature is outside -20 to 40 °C, or either is not a number.
    InputError
        If the reference is neither "20C" nor "60F".

    Notes
    -----
    Leaves out dissolved solids (they hide strength), wetting of the stem and the meniscus. Near
    40 to 60 % vol a degree moves the reading by 0.35 to 0.4 % vol.

    References
    ----------
    .. [1] :cite:t:`directive76766`, Annex, point 4.
    .. [2] :cite:t:`directive76765` for the expansion of glass.

    Examples
    --------
    At its own temperature an instrument shows the truth:

    >>> round(true_strength(0.40, 293.15), 12)
    0.4

    In a warm liquid it sinks and shows too much:

    >>> round(true_strength(0.40, 303.15), 3)
    0.36
    """
    mark, at = admit(reading), admit(temperature)
    made_for, row = _reference(reference)
    check_strength(mark, "reading")
    check_temperature(at)
    shown = polynomial(row, _mass_fraction_of_mark(mark, reference))
    target = shown / (1.0 + GLASS_EXPANSION * (at - made_for))
    _check_reading(target, mark, at, reference)
    return _scale(mass_fraction_from_density(target, at), reference)


@overload
def reading_for_strength(
    strength: float, temperature: float, reference: Reference = "20C"
) -> float: ...
@overload
def reading_for_strength(
    strength: Array, temperature: Floats, reference: Reference = "20C"
) -> Array: ...
@overload
def reading_for_strength(
    strength: float, temperature: Array, reference: Reference = "20C"
) -> Array: ...
def reading_for_strength(
    strength: Floats, temperature: Floats, reference: Reference = "20C"
) -> Floats:
    """Return what a glass alcoholometer shows in a liquid of known strength.

    The inverse of :func:`true_strength`: what to look for on the stem beside the still.

    Parameters
    ----------
    strength : float or ndarray
        True fraction by volume at the instrument's own reference temperature, 0 to 1.
    temperature : float or ndarray
        Of the liquid while the instrument floats in it. [K] Valid 253.15 to 313.15.
    reference : {"20C", "60F"}
        Temperature the instrument is made for.

    Returns
    -------
    reading : float or ndarray
        Mark at the level surface, as a fraction by volume, 0 to 1.

    Raises
    ------
    OutOfRangeError
        If a strength is outside 0 to 1, a temperature outside -20 to 40 °C, either is not a number,
        or the instrument floats beyond the ends of its scale; the error then carries, as ``value``,
        where the scale would read if it went on.
    InputError
        If the reference is neither "20C" nor "60F".

    Notes
    -----
    Leaves out dissolved solids, wetting of the stem and the meniscus.

    References
    ----------
    .. [1] :cite:t:`directive76766`, Annex, point 4.
    .. [2] :cite:t:`directive76765` for the expansion of glass.

    Examples
    --------
    >>> round(reading_for_strength(0.36, 303.15), 2)
    0.4
    """
    true, at = admit(strength), admit(temperature)
    _reference(reference)
    check_strength(true)
    check_temperature(at)
    reading = _marks(_mass_fraction_of_mark(true, reference), at, reference)
    check_range(
        "reading",
        reading,
        -1e-12,
        1.0 + 1e-12,
        source="the scale ends there",
        remedy="Bring the sample to the instrument's reference temperature.",
    )
    # A mark off the end by no more than rounding is the end itself.
    return min(max(reading, 0.0), 1.0) if isinstance(reading, float) else reading.clip(0.0, 1.0)


@overload
def true_proof(reading: float, temperature_f: float) -> float: ...
@overload
def true_proof(reading: Array, temperature_f: Floats) -> Array: ...
@overload
def true_proof(reading: float, temperature_f: Array) -> Array: ...
def true_proof(reading: Floats, temperature_f: Floats) -> Floats:
    """Return the true US proof from the reading of a glass proof hydrometer.

    As :func:`true_strength` with a 60 °F instrument; the one function here that speaks the units on
    the instruments of the US gauging tables.

    Parameters
    ----------
    reading : float or ndarray
        Mark at the level surface. [US proof] 0 to 200.
    temperature_f : float or ndarray
        Of the liquid while the instrument floats in it. [°F] Valid -4 to 104.

    Returns
    -------
    proof : float or ndarray
        True US proof at 60 °F, 0 to 200.

    Raises
    ------
    OutOfRangeError
        If a reading is outside 0 to 200 or cannot be that of an ethanol-water mixture at its
        temperature, a temperature is outside -4 to 104 °F, or either is not a number.

    Notes
    -----
    Agrees with the published samples of the gauging tables to their 0.1 proof. Leaves out dissolved
    solids; see :func:`obscuration_us`.

    References
    ----------
    .. [1] :cite:t:`cfr27part30`, sections 30.23 and 30.61.
    .. [2] :cite:t:`directive76766`, Annex, point 4.

    Examples
    --------
    The worked reading of section 30.23, 192 at 72 °F, printed as 189.1:

    >>> round(true_proof(192.0, 72.0), 1)
    189.1
    """
    mark, at = admit(reading), admit(temperature_f)
    check_proof(mark, "reading")
    check_range("temperature_f", at, -4.0, 104.0, unit="°F", source=f"{SOURCE}, -20 to 40 °C")
    return 200.0 * true_strength(mark / 200.0, TEMPERATURE_60F + (at - 60.0) / 1.8, "60F")
