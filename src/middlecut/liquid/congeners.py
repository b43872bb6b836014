# SPDX-License-Identifier: MIT
"""How much of each fermentation congener a finished wash holds, by the kind of wash."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

from middlecut.errors import NotFoundError

__all__ = ["PROFILES", "CongenerLevel", "congener_levels"]

PROFILES = ("grain", "sugar", "fruit")
"""The kinds of wash that have a table of congeners."""


@dataclass(frozen=True, slots=True)
class CongenerLevel:
    """The level of one congener in a finished wash.

    Parameters
    ----------
    compound : str
        Name, as in the table of compounds.
    low, typical, high : float
        Of mass per volume of pure alcohol; low and high are meant as the 5 and 95 % points from
        one batch to the next. [kg m⁻³]
    basis : str
        ``computed`` (mg/L read in the source, per pure alcohol by an assumed strength), ``memory``
        (recalled, perhaps off by a factor 2) or ``estimate`` (order of magnitude, perhaps off
        by 5).
    source : str
        Where the numbers come from.
    """

    compound: str
    low: float
    typical: float
    high: float
    basis: str
    source: str


def _scale(unit: str, strength: str) -> float:
    """Return the factor from the table's unit to kg per m³ of pure alcohol."""
    return 1e-3 / float(strength) if unit == "mg/L" else 1e-2  # 1 g/hL = 0.01 kg/m³


@lru_cache(maxsize=1)
def _levels() -> dict[str, tuple[CongenerLevel, ...]]:
    path = files("middlecut.liquid") / "tables" / "congeners.csv"
    found: dict[str, list[CongenerLevel]] = {profile: [] for profile in PROFILES}
    for row in csv.DictReader(path.read_text(encoding="utf-8").splitlines()):
        scale = _scale(row["unit"], row["reference_strength"])
        found[row["profile"]].append(
            CongenerLevel(
                compound=row["compound"],
                low=float(row["low"]) * scale,
                typical=float(row["typical"]) * scale,
                high=float(row["high"]) * scale,
                basis=row["basis"],
                source=row["source"],
            )
        )
    return {profile: tuple(levels) for profile, levels in found.items()}


def congener_levels(profile: str) -> tuple[CongenerLevel, ...]:
    """Return the congeners of a finished wash, per volume of pure alcohol.

    Parameters
    ----------
    profile : str
        ``grain``, ``sugar`` or ``fruit``.

    Returns
    -------
    levels : tuple of CongenerLevel
        One a compound, in alphabetical order; every compound has a volatility.

    Raises
    ------
    NotFoundError
        If there is no such profile.

    Notes
    -----
    Of the grain profile, 15 rows are computed from mg/L read in published tables for beer; their
    strength was not stated and is taken as 5 % vol. All other rows, and the sugar and fruit
    profiles entirely, are from memory or estimates: good for what leads and what trails, not for a
    label. Yeast strain, temperature and nutrients move most rows by a factor 2 to 3. Methanol of a
    fruit wash can pass legal limits; have it measured.

    References
    ----------
    .. [1] :cite:t:`beer2021foab040`, Table 3.
    .. [2] :cite:t:`bamforth2004`, tables 3.13 to 3.15, p. 84.

    Examples
    --------
    Isoamyl alcohol of an all-malt wash, 50 mg/L at 5 % vol in the source:

    >>> levels = {row.compound: row for row in congener_levels("grain")}
    >>> round(levels["3-methyl-1-butanol"].typical, 6)
    1.0
    """
    try:
        return _levels()[profile]
    except KeyError:
        raise NotFoundError("congener profile", profile, PROFILES) from None
