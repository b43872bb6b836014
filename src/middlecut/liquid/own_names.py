# SPDX-License-Identifier: MIT
"""Compounds of the user's own, and names that carry them along.

The tables are asked by name from many places, under a cache, in threads and in other processes.
What a user describes belongs to one plan, so that it must not be put where every plan sees it.
Hence the name itself carries the description: wherever it comes to, the tables can look at it.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["OwnAnchor", "OwnCompound", "OwnName", "OwnThreshold", "unknown_name"]

Span = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class OwnAnchor:
    """A volatility that somebody measured in a still at 101.325 kPa.

    Parameters
    ----------
    strength : float
        Of the boiling liquid, a fraction by volume at 20 °C.
    value : float
        K = y/x in mole fractions, or the same over that of ethanol.
    relative : bool
        Whether it is over that of ethanol.
    """

    strength: float
    value: float
    relative: bool


@dataclass(frozen=True, slots=True)
class OwnThreshold:
    """How little of it a nose notices in one medium.

    Parameters
    ----------
    medium : {"water", "10 % vol", "40 % vol"}
    low, typical, high : float
        [kg m⁻³]
    printed : bool
        Whether the range is the user's; False: it is assumed.
    """

    medium: str
    low: float
    typical: float
    high: float
    printed: bool


@dataclass(frozen=True, slots=True)
class OwnCompound:
    """What a user says of a compound that is in none of the tables.

    Parameters
    ----------
    name : str
        The user's name for it.
    molar_mass : float or None
        [kg mol⁻¹] None only for a name that nobody has described.
    log_p : float or None
        Decimal logarithm of the octanol-water partition ratio; None only for what never distils.
    cas, formula, descriptor, source, note : str
        As the user has them, or "".
    synonyms : tuple of str
        Other names it is found by.
    boiling_point : float or None
        At 101.325 kPa. [K]
    henry : float or None
        Amount per volume of water over partial pressure at 25 °C. [mol m⁻³ Pa⁻¹]
    henry_slope : float or None
        d ln(henry) / d(1/T). [K]
    anchors : tuple of OwnAnchor
        Volatilities measured in a still.
    nonvolatile : str
        Why it never distils, or "".
    thresholds : tuple of OwnThreshold
        At most one a medium.
    water_solubility : float or None
        At 25 °C. [kg m⁻³]
    """

    name: str
    molar_mass: float | None
    log_p: float | None = None
    cas: str = ""
    formula: str = ""
    descriptor: str = ""
    source: str = ""
    note: str = ""
    synonyms: tuple[str, ...] = ()
    boiling_point: float | None = None
    henry: float | None = None
    henry_slope: float | None = None
    anchors: tuple[OwnAnchor, ...] = ()
    nonvolatile: str = ""
    thresholds: tuple[OwnThreshold, ...] = ()
    water_solubility: float | None = None

    @property
    def label(self) -> OwnName:
        """The name, carrying this description along."""
        return OwnName(self.name, self)


class OwnName(str):
    """The name of a compound with what its user says of it, be it that nothing is known.

    It is the text it holds wherever text is wanted. Two of them are alike only if they mean the
    same, so that what is remembered of one is never taken for the other.

    Parameters
    ----------
    text : str
        The name.
    definition : OwnCompound
        What it stands for.
    """

    __slots__ = ("definition",)

    definition: OwnCompound

    def __new__(  # noqa: D102 - the class says it
        cls, text: str, definition: OwnCompound
    ) -> OwnName:
        found = super().__new__(cls, text)
        found.definition = definition
        return found

    def __getnewargs__(self) -> tuple[str, OwnCompound]:  # type: ignore[override]
        return str(self), self.definition

    def __eq__(self, other: object) -> bool:
        if isinstance(other, OwnName) and self.definition != other.definition:
            return False
        return str.__eq__(self, other)

    def __ne__(self, other: object) -> bool:
        return not self == other

    def __hash__(self) -> int:
        return str.__hash__(self)


def unknown_name(name: str) -> OwnName:
    """Return a name that nobody has described: it stays in the boiler and smells of nothing."""
    return OwnCompound(str(name), None, nonvolatile="nothing else is known of it").label
