# SPDX-License-Identifier: MIT
"""Lots as they are: what was measured of them, with what is expected filling the gaps."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from middlecut.app.alcohol import true_strength_of
from middlecut.app.measured import Measured, measured_lots
from middlecut.app.spirit_events import HeartsChosen
from middlecut.app.views.frame import StepFrame
from middlecut.errors import InputError, NotFoundError
from middlecut.liquid import alcoholometry
from middlecut.steps.lot import Lot

__all__ = ["KnownLot", "known_lot", "lot_like", "taken_lots", "true_strength"]


@dataclass(frozen=True, slots=True)
class KnownLot:
    """A lot and how it is known.

    Parameters
    ----------
    lot : Lot
    volume_measured, strength_measured : bool
        Else it is what the plan expects.
    """

    lot: Lot
    volume_measured: bool
    strength_measured: bool

    @property
    def basis(self) -> str:
        """In words."""
        if self.volume_measured and self.strength_measured:
            return "volume and strength measured"
        if self.volume_measured or self.strength_measured:
            known = "volume" if self.volume_measured else "strength"
            return f"{known} measured, the rest as planned"
        return "as planned; nothing measured yet"


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


def known_lot(frame: StepFrame, name: str, expected: Lot | None = None) -> KnownLot:
    """Return a lot of the batch, measured as far as it was.

    Parameters
    ----------
    frame : StepFrame
    name : str
        Of the lot.
    expected : Lot or None
        What the plan expects, or the part of it that is meant; None: all of it as made.

    Returns
    -------
    known : KnownLot

    Raises
    ------
    NotFoundError
        If the plan knows no such lot.
    """
    lots: Mapping[str, Lot] = frame.prediction.lots
    if name not in lots:
        raise NotFoundError("lot", name, tuple(lots)[:3])
    whole = lots[name]
    part = expected or whole
    found = _chosen_jars(frame, name) or measured_lots(frame.state).get(name, Measured())
    if not found.complete:  # jars of it are still being filled
        found = Measured()
    volume = found.volume
    share = part.volume / whole.volume if whole.volume > 0.0 else 1.0
    lot = part
    if volume or found.strength is not None:
        lot = lot_like(
            part,
            volume=part.volume if not volume else volume * share,
            strength=part.strength if found.strength is None else found.strength,
        )
    return KnownLot(lot, bool(volume), found.strength is not None)


def _chosen_jars(frame: StepFrame, name: str) -> Measured | None:
    """Return what the jars chosen for a lot make, once somebody chose."""
    chosen = [body for _, body in frame.state.of(HeartsChosen) if body.lot == name]
    if not chosen:
        return None
    jars = [one for one in frame.state.jars(chosen[-1].step) if one.jar in chosen[-1].jars]
    strengths = [true_strength_of(one.strength, one.temperature, one.reference) for one in jars]
    volumes = [one.volume for one in jars]
    known = [value for value in strengths if value is not None]
    if len(known) < len(jars):
        return Measured(sum(volumes), None)
    both = alcoholometry.blend(volumes, known)
    return Measured(both.volume, both.strength)


def taken_lots(frame: StepFrame) -> tuple[KnownLot, ...]:
    """Return what a step takes, measured as far as it was."""
    return tuple(known_lot(frame, name, lot) for name, lot in frame.result.used.items())


def true_strength(
    strength: float, temperature: float | None, *, proof_scale: bool = False
) -> float:
    """Return the strength at 20 °C behind a strength as read on glass.

    Parameters
    ----------
    strength : float
        As read, 0 to 1; half the proof over 100 on the proof scale.
    temperature : float or None
        Of the liquid. [K] None: it is already the strength at 20 °C.
    proof_scale : bool
        Whether the instrument is made for 60 °F and marked in proof.

    Returns
    -------
    strength : float
        0 to 1.

    Raises
    ------
    OutOfRangeError
        If there is no such strength at that temperature.
    """
    if proof_scale:
        proof = 200.0 * strength
        if temperature is not None:
            proof = 200.0 * float(alcoholometry.true_strength(strength, temperature, "60F"))
        return float(alcoholometry.strength_from_proof(proof))
    if temperature is None:
        return strength
    return float(alcoholometry.true_strength(strength, temperature))
