# SPDX-License-Identifier: MIT
"""How much of an oil or ester dissolves at a strength, to a factor 3."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from typing import cast

import numpy as np

from middlecut.errors import NotFoundError
from middlecut.liquid import compounds
from middlecut.liquid.own_names import OwnCompound
from middlecut.liquid.ranges import Number, as_given, within

__all__ = [
    "SOLUBILITY_FACTOR",
    "SOLUBILITY_STRENGTHS",
    "WaterSolubility",
    "solubility",
    "water_solubility",
]

SOLUBILITY_STRENGTHS = (0.0, 0.8)
"""Strengths the log-linear relation is used for; above, oils and esters mix with the spirit."""
SOLUBILITY_FACTOR = 3.0
"""How far a solubility may be off, up or down."""

_MIXES = 1.5
"""log P below which a compound of the user's own is taken to mix with spirit at any level."""


@dataclass(frozen=True, slots=True)
class WaterSolubility:
    """How much of a compound dissolves in water at 25 °C.

    Parameters
    ----------
    compound : str
        Its name.
    value : float
        [kg m⁻³]
    basis : str
        ``memory`` or ``computed`` (from the limiting activity coefficient).
    state : {"liquid", "solid"}
        Of the pure compound at 25 °C; a solid dissolves less than stated.
    note : str
        What to beware of, or "".
    """

    compound: str
    value: float
    basis: str
    state: str
    note: str


@lru_cache(maxsize=1)
def _solubilities() -> dict[str, WaterSolubility]:
    path = files("middlecut.liquid") / "tables" / "solubility.csv"
    rows = csv.DictReader(path.read_text(encoding="utf-8").splitlines())
    return {
        row["name"]: WaterSolubility(
            row["name"],
            float(row["water_solubility"]) * 1e-3,
            row["basis"],
            row["state"],
            row["note"],
        )
        for row in rows
    }


def _own_solubility(own: OwnCompound) -> WaterSolubility | None:
    """Return what is given, else what log P says of a compound that mixes poorly with water."""
    note = own.note
    if own.water_solubility is not None:
        return WaterSolubility(own.label, own.water_solubility, "estimate", "liquid", note)
    mass, log_p = own.molar_mass, own.log_p
    if mass is None or log_p is None or log_p < _MIXES or own.nonvolatile:
        return None
    value = mass * 1e3 * 10.0 ** (0.5 - log_p)
    return WaterSolubility(own.label, value, "estimate", "liquid", note)


def water_solubility(compound: str) -> WaterSolubility:
    """Return how much of an oil, ester or other sparingly soluble compound dissolves in water.

    Parameters
    ----------
    compound : str
        Name, synonym or CAS number.

    Returns
    -------
    solubility : WaterSolubility
        At 25 °C.

    Raises
    ------
    NotFoundError
        If no compound goes by that name, or if it mixes with spirit at any level that occurs.

    Notes
    -----
    Twelve values are recalled; the others are 1/γ∞ of the volatility tables. Of a compound of the
    user's own that gives none, log10(S in mol/L) = 0.5 - log P, the solubility rule of liquids.

    References
    ----------
    .. [1] :cite:t:`li1998cosolvency`.

    Examples
    --------
    >>> round(water_solubility("limonene").value, 4), water_solubility("limonene").basis
    (0.013, 'memory')
    """
    found = compounds.find(compound)
    name = found.name
    if found.own is not None and (mine := _own_solubility(found.own)) is not None:
        return mine
    try:
        return _solubilities()[name]
    except KeyError:
        raise NotFoundError("limit of solubility for a compound", name) from None


def solubility(compound: str, strength: Number | float) -> Number:
    r"""Return how much of a compound dissolves in ethanol and water, to a factor 3.

    .. math:: \log_{10} S = \log_{10} S_w + f\,(0.93 \log P + 0.40)

    with f the fraction of ethanol by volume.

    Parameters
    ----------
    compound : str
        Name, synonym or CAS number.
    strength : float or ndarray
        Of the liquid, a fraction by volume at 20 °C. 0 to 0.8.

    Returns
    -------
    solubility : same shape as ``strength``
        [kg m⁻³] An estimate, right within a factor 3; for 25 °C.

    Raises
    ------
    NotFoundError
        If no compound goes by that name, or if it mixes with spirit at any level that occurs.
    OutOfRangeError
        If the strength is outside its range or is not a number.

    Notes
    -----
    Cold lowers it; other oils in the same spirit lower it too, since they share the droplets.
    Clouding may come late, because small droplets form slowly.

    References
    ----------
    .. [1] :cite:t:`li1998cosolvency`, recalled.

    Examples
    --------
    Trans-anethole at 40 % vol, 2.9 g/L in a published form of the relation:

    >>> round(solubility("trans-anethole", 0.4), 1)
    2.9
    """
    found = water_solubility(compound)
    share = within("strength", strength, *SOLUBILITY_STRENGTHS)
    slope = 0.93 * compounds.find(compound).log_p + 0.40
    return cast("Number", as_given(np.asarray(found.value * 10.0 ** (share * slope))))
