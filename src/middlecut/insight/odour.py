# SPDX-License-Identifier: MIT
"""What a person is likely to smell in a lot: odour activity values with bands, by family.

The odour activity value (OAV) is the concentration over the odour threshold. It ranks what can be
noticed; it does not say how strong a smell seems, nor how smells mask or mend each other.
"""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING, Any

from middlecut.errors import InputError
from middlecut.insight.vocabulary import compound_descriptors
from middlecut.liquid.aroma import Threshold, Thresholds, thresholds

if TYPE_CHECKING:
    import pandas as pd

    from middlecut.steps.lot import Amount, Lot

__all__ = ["FamilyOdour", "OdourProfile", "OdourRow", "grade", "odour_profile"]

OTHER = "without a family"
SPIRIT = 0.2
"""Strength from which a threshold in a weaker medium is taken to be too low."""
RISE_OVER_WATER = 7.0
"""How much higher a threshold is in 40 % vol than in water: the middle of the 27 compounds whose
tables hold both (0.14 to 190). Over 10 % vol there is none in the middle (0.8, 24 compounds)."""
NOTES = (
    (
        "An odour activity value is the level over the threshold: above 1 a person is likely to"
        " notice the compound by itself. It does not add up to a strength, and smells mask each"
        " other."
    ),
    (
        "Thresholds rise with strength: a spirit let down in the glass smells of more than the "
        "same spirit at full strength. A threshold taken in water overstates what is smelled in"
        " spirit, in the middle by about seven times; where one had to be used, the band reaches"
        " down as far."
    ),
    (
        "Most thresholds are recalled, not read from a page, and panels differ by ten to a "
        "hundred times. The band joins the range of the level with the range of the threshold; "
        "where a figure in a weaker liquid is the higher one, the range reaches up to it."
    ),
)


@dataclass(frozen=True, slots=True)
class OdourRow:
    """One compound of a lot and how far it stands above its threshold.

    Parameters
    ----------
    compound : str
        Its name.
    descriptors : tuple of str
        What it smells of.
    family : str
        Family of the first descriptor.
    concentration, concentration_low, concentration_high : float
        [mg L⁻¹]
    concentration_basis : str
        Where the level comes from.
    medium : {"water", "10 % vol", "40 % vol"}
        What the threshold was taken in.
    threshold, threshold_low, threshold_high : float
        [mg L⁻¹]
    threshold_basis, threshold_source : str
        How the threshold was read, and source keys.
    oav, oav_low, oav_high : float
        Odour activity value with its band.
    verdict : {"noticed", "perhaps noticed", "not noticed"}
        By the whole band: noticed when even its lower end is above 1.
    """

    compound: str
    descriptors: tuple[str, ...]
    family: str
    concentration: float
    concentration_low: float
    concentration_high: float
    concentration_basis: str
    medium: str
    threshold: float
    threshold_low: float
    threshold_high: float
    threshold_basis: str
    threshold_source: str
    oav: float
    oav_low: float
    oav_high: float
    verdict: str

    @property
    def graded(self) -> str:
        """How strong it seems, over the whole band, as :func:`grade` has it."""
        low, high = grade(self.oav_low), grade(self.oav_high)
        return low if low == high else f"{low} to {high}"


@dataclass(frozen=True, slots=True)
class FamilyOdour:
    """The odour activity values of one family, added up.

    Parameters
    ----------
    family : str
        Its name.
    oav, oav_low, oav_high : float
        Sum, with the errors of its members taken as independent.
    compounds : tuple of str
        Its members, the largest value first.
    """

    family: str
    oav: float
    oav_low: float
    oav_high: float
    compounds: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class OdourProfile:
    """What a person is likely to smell in a lot.

    Parameters
    ----------
    lot : str
        Its name.
    strength : float
        Fraction by volume at 20 °C.
    rows : tuple of OdourRow
        The largest odour activity value first.
    families : tuple of FamilyOdour
        Likewise.
    without_threshold : tuple of str
        Compounds in the lot whose threshold is not known, or that have no smell.
    notes : tuple of str
        What to keep in mind.
    """

    lot: str
    strength: float
    rows: tuple[OdourRow, ...]
    families: tuple[FamilyOdour, ...]
    without_threshold: tuple[str, ...]
    notes: tuple[str, ...] = NOTES

    def to_dict(self) -> dict[str, Any]:
        """Return the profile as plain JSON types."""
        found: dict[str, Any] = asdict(self)
        found["rows"] = [
            {**row, "descriptors": list(row["descriptors"]), "graded": one.graded}
            for row, one in zip(found["rows"], self.rows, strict=True)
        ]
        found["families"] = [
            {**one, "compounds": list(one["compounds"])} for one in found["families"]
        ]
        found["without_threshold"] = list(self.without_threshold)
        found["notes"] = list(self.notes)
        return found

    def to_frame(self) -> pd.DataFrame:
        """Return the rows as a table, one compound a line."""
        import pandas as pd  # noqa: PLC0415 - costly to import and not always wanted

        names = list(OdourRow.__dataclass_fields__)
        return pd.DataFrame([asdict(row) for row in self.rows], columns=names)


def grade(oav: float) -> str:
    """Return how strong a smell seems, in words, ten times a step.

    Parameters
    ----------
    oav : float
        Odour activity value.

    Returns
    -------
    str
        Below 1 "not there", below 10 "gentle", below 100 "clear", else "strong".

    Notes
    -----
    What a nose calls twice as strong takes several times as much; the steps are our choice.

    References
    ----------
    .. [1] :cite:t:`belitz2009`, the odour activity value.

    Examples
    --------
    >>> grade(0.4), grade(3.0), grade(1154.0)
    ('not there', 'gentle', 'strong')
    """
    words = ((1.0, "not there"), (10.0, "gentle"), (100.0, "clear"))
    return next((word for end, word in words if oav < end), "strong")


def odour_profile(lot: Lot) -> OdourProfile:
    """Return the odour activity value of every compound of a lot, and their sums by family.

    OAV = concentration / threshold. The threshold is that of the medium most like the lot: from
    20 % vol up 40 %, else 10 %, else water; below 20 % vol 10 %, else water, else 40 %. Its range
    is widened by what contradicts it: a higher figure in a weaker, a lower in a stronger medium.
    The band
    joins the relative ranges of level and threshold as independent (in logarithms); in a spirit its
    lower end is lowered further by 7 for a threshold in water.

    Parameters
    ----------
    lot : Lot
        Any lot of a prediction, or one made by hand.

    Returns
    -------
    OdourProfile
        Sorted, with notes on what it leaves out.

    Raises
    ------
    InputError
        If the lot holds no liquid.
    NotFoundError
        If the lot names a compound that does not exist.

    Notes
    -----
    Left out: masking and synergy, the glass and its temperature, the pull of ethanol vapour on
    the nose, and everything the lot does not track.

    References
    ----------
    .. [1] :cite:t:`belitz2009`, thresholds and the odour activity value.
    .. [2] :cite:t:`poisson2008`, the same for a whisky.

    Examples
    --------
    Isoamyl acetate of a malt whisky, 4.02 mg/L (Belitz et al. 2009, table 20.28):

    >>> from middlecut.steps.lot import Amount, Lot
    >>> whisky = Lot("dram", water=0.632, ethanol=0.316,
    ...              amounts={"isoamyl acetate": Amount(4.02e-6, 4.02e-6, 4.02e-6, "read")})
    >>> row = odour_profile(whisky).rows[0]
    >>> round(row.oav), row.medium, row.threshold_basis
    (16, '40 % vol', 'memory')
    """
    volume, strength = lot.volume, lot.strength
    if not volume > 0.0:
        raise InputError(
            f"lot {lot.name}", "0 L", "there is nothing to smell", "Take a lot with liquid."
        )
    rows, unknown = [], []
    for compound, amount in lot.amounts.items():
        known = thresholds(compound)
        chosen = known.for_strength(strength)
        if chosen is None:
            unknown.append(compound)
        else:
            threshold = _with_every_figure(chosen, known)
            over = threshold.medium == "water" and strength >= SPIRIT
            rise = RISE_OVER_WATER if over else 1.0
            rows.append(_row(compound, amount, volume, threshold, rise))
    rows.sort(key=lambda row: (-row.oav, row.compound))
    return OdourProfile(
        lot=lot.name,
        strength=strength,
        rows=tuple(rows),
        families=_families(rows),
        without_threshold=tuple(sorted(unknown)),
    )


def _with_every_figure(chosen: Threshold, known: Thresholds) -> Threshold:
    """Widen the range of a threshold by figures of other media that contradict it.

    A threshold rises with strength: a higher figure in a weaker liquid and a lower one in a
    stronger say that panels differ by as much.
    """
    order = [known.water, known.ethanol_10, known.ethanol_40]
    at = order.index(chosen)
    weaker = [one for one in order[:at] if one is not None]
    stronger = [one for one in order[at + 1 :] if one is not None]
    highs = [one.high if one.spread == "sources" else one.typical for one in weaker]
    lows = [one.low if one.spread == "sources" else one.typical for one in stronger]
    return replace(chosen, low=min([chosen.low, *lows]), high=max([chosen.high, *highs]))


def _row(
    compound: str, amount: Amount, volume: float, threshold: Threshold, rise: float
) -> OdourRow:
    words = compound_descriptors(compound)
    words = tuple(word for word in words if word.sense == "smell") or words
    level, low, high = (value / volume for value in (amount.typical, amount.low, amount.high))
    oav = level / threshold.typical
    oav_low = oav / rise / _together(level, low, threshold.high / threshold.typical)
    oav_high = high / threshold.low
    if level > 0.0:
        oav_high = min(
            oav_high, oav * _together(max(high, level), level, threshold.typical / threshold.low)
        )
    return OdourRow(
        compound=compound,
        descriptors=tuple(word.name for word in words),
        family=words[0].family if words else OTHER,
        concentration=level * 1e3,
        concentration_low=low * 1e3,
        concentration_high=high * 1e3,
        concentration_basis=amount.basis,
        medium=threshold.medium,
        threshold=threshold.typical * 1e3,
        threshold_low=threshold.low * 1e3,
        threshold_high=threshold.high * 1e3,
        threshold_basis=threshold.basis,
        threshold_source=threshold.source,
        oav=oav,
        oav_low=oav_low,
        oav_high=oav_high,
        verdict=_verdict(oav_low, oav_high),
    )


def _together(upper: float, lower: float, spread: float) -> float:
    """Join the ratio of two levels with the spread of the threshold, as independent factors."""
    if upper <= 0.0:
        return 1.0
    if lower <= 0.0:
        return math.inf
    return math.exp(math.hypot(math.log(upper / lower), math.log(spread)))


def _verdict(low: float, high: float) -> str:
    if low >= 1.0:
        return "noticed"
    return "perhaps noticed" if high >= 1.0 else "not noticed"


def _families(rows: list[OdourRow]) -> tuple[FamilyOdour, ...]:
    members: dict[str, list[OdourRow]] = {}
    for row in rows:
        members.setdefault(row.family, []).append(row)
    found = []
    for family, group in members.items():
        total = math.fsum(row.oav for row in group)
        down = math.hypot(*(row.oav - row.oav_low for row in group))
        up = math.hypot(*(row.oav_high - row.oav for row in group))
        names = tuple(row.compound for row in group)
        found.append(FamilyOdour(family, total, max(total - down, 0.0), total + up, names))
    return tuple(sorted(found, key=lambda one: (-one.oav, one.family)))
