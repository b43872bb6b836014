# SPDX-License-Identifier: MIT
"""A lot and how it is known: measured, worked out from what was measured, or as planned."""

from __future__ import annotations

from dataclasses import dataclass

from middlecut.app.measured import Measured
from middlecut.errors import InputError
from middlecut.liquid import alcoholometry
from middlecut.steps.lot import Lot

__all__ = [
    "EXPECTED",
    "MEASURED",
    "PARTLY",
    "WORKED_OUT",
    "KnownLot",
    "as_measured",
    "known_words",
    "lot_like",
]

MEASURED, WORKED_OUT, PARTLY, EXPECTED = range(4)
"""How a lot is known, the surest first; PARTLY is worked out from measured and expected parts."""
_WORDS = (
    "measured",
    "worked out from what was measured",
    "worked out, partly from what is expected",
    "as planned",
)


@dataclass(frozen=True, slots=True)
class KnownLot:
    """A lot and how it is known.

    Parameters
    ----------
    lot : Lot
    volume_known, strength_known : int
        MEASURED, WORKED_OUT, PARTLY or EXPECTED.
    origin : str
        Where measured values come from, as in :class:`Measured`.
    """

    lot: Lot
    volume_known: int = EXPECTED
    strength_known: int = EXPECTED
    origin: str = ""

    @property
    def known(self) -> int:
        """The less sure of the two."""
        return max(self.volume_known, self.strength_known)

    @property
    def expected(self) -> bool:
        """Whether nothing measured went into it."""
        return min(self.volume_known, self.strength_known) == EXPECTED

    @property
    def sure(self) -> bool:
        """Whether nothing of it is expected only: measured, or worked out from what was."""
        return self.known <= WORKED_OUT

    @property
    def basis(self) -> str:
        """In words."""
        volume, strength = self.volume_known, self.strength_known
        if volume == strength == EXPECTED:
            return "as planned; nothing measured yet"
        if volume == strength == MEASURED:
            return f"volume and strength measured{f', {self.origin}' if self.origin else ''}"
        if volume == strength:
            return _WORDS[volume]
        if MEASURED in (volume, strength):
            which = "volume" if volume == MEASURED else "strength"
            rest = _WORDS[max(volume, strength)]
            return f"{which} measured, the rest {rest}"
        return f"volume {_WORDS[volume]}, strength {_WORDS[strength]}"


def lot_like(like: Lot, *, volume: float, strength: float, name: str = "") -> Lot:
    """Return a lot of a volume and strength, with the compounds of another.

    The level of each compound, and the solids, per volume stay those of the other lot.

    Parameters
    ----------
    like : Lot
        Where levels, solids and temperature come from.
    volume : float
        [m³ at 20 °C]
    strength : float
        0 to 1.
    name : str
        "" keeps that of the other.

    Returns
    -------
    lot : Lot

    Raises
    ------
    InputError
        If the volume is not above 0.
    OutOfRangeError
        If the strength is none.
    """
    if not volume > 0.0:
        raise InputError("volume", volume, "it is above 0", "Measure it again.")
    share = volume / like.volume if like.volume > 0.0 else 0.0
    part = like.part(share, name or like.name)
    liquid = volume - (part.volume - _liquid_volume(part))  # without what solids take up
    fraction = alcoholometry.mass_fraction_from_strength(strength * volume / liquid)
    mass = liquid * alcoholometry.density_20(fraction)
    return Lot(
        part.name,
        mass * (1.0 - fraction),
        mass * fraction,
        part.solids,
        part.amounts,
        like.temperature,
    )


def _liquid_volume(lot: Lot) -> float:
    mass = lot.water + lot.ethanol
    return mass / alcoholometry.density_20(lot.ethanol / mass) if mass > 0.0 else 0.0


def known_words(known: int) -> str:
    """Return in words how a lot is known."""
    return _WORDS[known]


def as_measured(known: KnownLot, found: Measured) -> KnownLot:
    """Return a lot with what was measured of it in place of the rest.

    Parameters
    ----------
    known : KnownLot
    found : Measured

    Returns
    -------
    known : KnownLot
    """
    if not found.volume and found.strength is None:
        return known
    volume, strength = known.lot.volume, known.lot.strength
    lot = known.lot
    if lot.volume > 0.0:
        lot = lot_like(
            lot,
            volume=found.volume or volume,
            strength=strength if found.strength is None else found.strength,
        )
    return KnownLot(
        lot,
        MEASURED if found.volume else known.volume_known,
        known.strength_known if found.strength is None else MEASURED,
        found.origin,
    )
