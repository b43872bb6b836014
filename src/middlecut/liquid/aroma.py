# SPDX-License-Identifier: MIT
"""How little of a compound a nose notices, how it sits between air and liquid, how much dissolves.

Thresholds scatter by 10 to 100 times between panels and rise with the strength of the liquid, so
each carries its medium, its source and how that source was read.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

from middlecut.liquid import compounds
from middlecut.liquid.own_names import OwnCompound
from middlecut.liquid.partition import Henry, air_water_partition, henry
from middlecut.liquid.solubility import (
    SOLUBILITY_FACTOR,
    SOLUBILITY_STRENGTHS,
    WaterSolubility,
    solubility,
    water_solubility,
)

__all__ = [
    "SOLUBILITY_FACTOR",
    "SOLUBILITY_STRENGTHS",
    "Henry",
    "Threshold",
    "Thresholds",
    "WaterSolubility",
    "air_water_partition",
    "henry",
    "solubility",
    "thresholds",
    "water_solubility",
]

ASSUMED_SPREAD = 3.0
"""Half-width of a threshold with no printed range: the middle of the 102 rows that have one."""


@dataclass(frozen=True, slots=True)
class Threshold:
    """The concentration at which half of a panel notices a compound, in one medium.

    Parameters
    ----------
    medium : {"water", "10 % vol", "40 % vol"}
        What it was smelled in.
    low, typical, high : float
        [kg m⁻³] The range of the sources, or a factor 3 either way where they print none.
    spread : {"sources", "assumed"}
        Where the range comes from.
    basis : str
        The weakest of its sources: ``read``, ``read-abstract``, ``memory`` or ``estimate``. Only
        the first two were seen on a page.
    source : str
        Keys for :func:`middlecut.liquid.sources.flavour_sources`.
    """

    medium: str
    low: float
    typical: float
    high: float
    spread: str
    basis: str
    source: str


@dataclass(frozen=True, slots=True)
class Thresholds:
    """What is known about the smell and the keeping of one compound.

    Parameters
    ----------
    compound : str
        Its name.
    water, ethanol_10, ethanol_40 : Threshold or None
        None where no number is known.
    descriptor : str
        What it smells of; from memory.
    stability : str
        What becomes of it in storage; from memory, "" if unknown.
    note : str
        What to beware of, or "".
    """

    compound: str
    water: Threshold | None
    ethanol_10: Threshold | None
    ethanol_40: Threshold | None
    descriptor: str
    stability: str
    note: str

    def for_strength(self, strength: float) -> Threshold | None:
        """Return the threshold whose medium is most like a liquid of this strength.

        From 20 % vol up: 40 %, else 10 %, else water. Below: 10 %, else water, else 40 %.
        """
        order = (self.ethanol_40, self.ethanol_10, self.water)
        if strength < 0.2:
            order = (self.ethanol_10, self.water, self.ethanol_40)
        return next((one for one in order if one is not None), None)


def _threshold(row: dict[str, str], column: str, medium: str) -> Threshold | None:
    if not row[f"{column}_typical"]:
        return None
    typical = float(row[f"{column}_typical"]) * 1e-6  # µg/L
    printed = bool(row[f"{column}_low"])
    low = float(row[f"{column}_low"]) * 1e-6 if printed else typical / ASSUMED_SPREAD
    high = float(row[f"{column}_high"]) * 1e-6 if printed else typical * ASSUMED_SPREAD
    return Threshold(
        medium=medium,
        low=low,
        typical=typical,
        high=high,
        spread="sources" if printed else "assumed",
        basis=row[f"{column}_basis"],
        source=row[f"{column}_source"],
    )


@lru_cache(maxsize=1)
def _thresholds() -> dict[str, Thresholds]:
    path = files("middlecut.liquid") / "tables" / "aroma.csv"
    rows = csv.DictReader(path.read_text(encoding="utf-8").splitlines())
    return {
        row["name"]: Thresholds(
            compound=row["name"],
            water=_threshold(row, "water", "water"),
            ethanol_10=_threshold(row, "ethanol_10", "10 % vol"),
            ethanol_40=_threshold(row, "ethanol_40", "40 % vol"),
            descriptor=compounds.find(row["name"]).descriptor,
            stability=row["stability"],
            note=row["note"],
        )
        for row in rows
    }


def _own_thresholds(own: OwnCompound) -> Thresholds:
    media = {
        one.medium: Threshold(
            medium=one.medium,
            low=one.low if one.printed else one.typical / ASSUMED_SPREAD,
            typical=one.typical,
            high=one.high if one.printed else one.typical * ASSUMED_SPREAD,
            spread="sources" if one.printed else "assumed",
            basis="estimate",
            source=own.source or "own",
        )
        for one in own.thresholds
    }
    return Thresholds(
        compound=own.label,
        water=media.get("water"),
        ethanol_10=media.get("10 % vol"),
        ethanol_40=media.get("40 % vol"),
        descriptor=own.descriptor,
        stability="",
        note=own.note,
    )


def thresholds(compound: str) -> Thresholds:
    """Return the odour thresholds of a compound, its descriptor and how it keeps.

    Parameters
    ----------
    compound : str
        Name, synonym or CAS number.

    Returns
    -------
    thresholds : Thresholds
        Any of the three media may be None.

    Raises
    ------
    NotFoundError
        If no compound goes by that name.

    Notes
    -----
    A threshold in water overstates what is smelled in spirit: where both are known, the threshold
    in 40 % vol is between a seventh of and 190 times that in water, in the middle 7 times. Most
    numbers are recalled, not read; ``basis`` tells. What a person smells depends also on the
    glass, the temperature and on what else is there.

    References
    ----------
    .. [1] :cite:t:`belitz2009`, tables 5.34 and 5.35.
    .. [2] :cite:t:`poisson2008`, thresholds in 40 % vol (recalled).

    Examples
    --------
    Myrcene in water, 13 to 15 µg/L in the source:

    >>> found = thresholds("beta-myrcene").water
    >>> round(found.low * 1e6), round(found.high * 1e6), found.basis
    (13, 15, 'read')
    """
    found = compounds.find(compound)
    return _thresholds()[found.name] if found.own is None else _own_thresholds(found.own)
