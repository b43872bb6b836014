# SPDX-License-Identifier: MIT
"""How much of what oak holds has come out by a time."""

from __future__ import annotations

import math

import numpy as np

from middlecut.errors import NotFoundError
from middlecut.liquid.constants import GAS_CONSTANT
from middlecut.liquid.oak_pieces import wood_form
from middlecut.liquid.ranges import Number, as_given, within

__all__ = ["ACTIVATION_ENERGY", "LONGEST_CONTACT", "STORAGE_TEMPERATURES", "extracted_share"]

ACTIVATION_ENERGY = (25e3, 32e3, 40e3)
"""Low, typical and high for the rates of extraction. [J mol⁻¹] Estimate."""

STORAGE_TEMPERATURES = (263.15, 313.15)
"""Temperatures the rates are used at; our choice. [K]"""
LONGEST_CONTACT = 1.0e9
"""Longest time on wood, about 31 years; our choice. [s]"""

_REFERENCE_TEMPERATURE = 293.15


def extracted_share(
    form: str,
    duration: Number,
    temperature: float = _REFERENCE_TEMPERATURE,
    *,
    rate: str = "typical",
) -> Number:
    r"""Return the share of what the wood can give that has come out by a time.

    Two pools of first order: a fast one that is washed off and a slow one that has to travel or to
    form, :math:`f(1-e^{-k_1 t}) + (1-f)(1-e^{-k_2 t})`; both rates follow Arrhenius.

    Parameters
    ----------
    form : str
        ``cask``, ``staves``, ``cubes``, ``chips`` or ``shavings``.
    duration : float or ndarray
        Time on the wood. [s] Valid 0 to 1e9.
    temperature : float
        [K] Valid 263.15 to 313.15.
    rate : {"low", "typical", "high"}
        Which end of the range of rates and of the activation energy to take.

    Returns
    -------
    share : float or ndarray
        0 to 1.

    Raises
    ------
    OutOfRangeError
        If the time or the temperature is outside the range; hotter is forced ageing, which is not
        predicted.
    NotFoundError
        If there is no such form.

    Notes
    -----
    Estimates throughout; the published order for chips is pseudo-second. All compounds share one
    rate. Stirring, grain, and wood that floats on top are left out.

    References
    ----------
    .. [1] :cite:t:`kadim1999`, fast surface dissolution, then penetration, abstract.
    .. [2] :cite:t:`delgado2022`, two stages, abstract.

    Examples
    --------
    Chips at 20 °C reach nine tenths in two to three weeks:

    >>> 0.85 < extracted_share("chips", 14 * 86400.0) < 0.95
    True
    """
    row = wood_form(form)
    time = within(
        "duration",
        duration,
        0.0,
        LONGEST_CONTACT,
        unit="s",
        source="up to 31 years",
        remedy="Give the time the spirit spends on the wood.",
    )
    kelvin = float(
        within(
            "temperature",
            temperature,
            *STORAGE_TEMPERATURES,
            unit="K",
            source="storage, -10 to 40 °C",
            remedy="Hotter is forced ageing, which is logged but not predicted.",
        )
    )
    which = _which(rate)
    inverse = 1.0 / kelvin - 1.0 / _REFERENCE_TEMPERATURE
    # Above 20 °C the larger activation energy is the faster end, below it the slower one.
    energy = ACTIVATION_ENERGY[which if kelvin >= _REFERENCE_TEMPERATURE else 2 - which]
    warmth = math.exp(-energy / GAS_CONSTANT * inverse)
    fast = -np.expm1(-row.fast[which] * warmth * time)
    slow = -np.expm1(-row.slow[which] * warmth * time)
    return as_given(row.fast_share * fast + (1.0 - row.fast_share) * slow)  # type: ignore[no-any-return]


def _which(rate: str) -> int:
    try:
        return ("low", "typical", "high").index(rate)
    except ValueError:
        raise NotFoundError("rate", rate, ("low", "typical", "high")) from None
