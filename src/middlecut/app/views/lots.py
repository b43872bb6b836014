# SPDX-License-Identifier: MIT
"""The lots a step page shows: what it takes, and any other, as far as they are known."""

from __future__ import annotations

from dataclasses import dataclass

from middlecut.app.known_lot import KnownLot, lot_like
from middlecut.app.lots_now import lots_now
from middlecut.app.views.frame import StepFrame
from middlecut.errors import NotFoundError
from middlecut.liquid import alcoholometry

__all__ = [
    "KnownLot",
    "LotLine",
    "known_lot",
    "lot_like",
    "lot_lines",
    "taken_lots",
    "true_strength",
]


def known_lot(frame: StepFrame, name: str) -> KnownLot:
    """Return a lot of the batch as it was made, as far as it is known.

    Parameters
    ----------
    frame : StepFrame
    name : str
        Of the lot.

    Returns
    -------
    known : KnownLot

    Raises
    ------
    NotFoundError
        If the plan knows no such lot.
    """
    lots = lots_now(frame.state, frame.fits).made
    if name not in lots:
        raise NotFoundError("lot", name, tuple(lots)[:3])
    return lots[name]


def taken_lots(frame: StepFrame) -> tuple[KnownLot, ...]:
    """Return what a step takes, as far as it is known."""
    return tuple(lots_now(frame.state, frame.fits).taken[frame.id].values())


@dataclass(frozen=True, slots=True)
class LotLine:
    """A lot of a step as it is now.

    Parameters
    ----------
    role : str
        "takes" or "makes".
    name : str
    known : KnownLot
    """

    role: str
    name: str
    known: KnownLot


def lot_lines(frame: StepFrame) -> tuple[LotLine, ...]:
    """Return what a step takes and makes, as far as it is known."""
    lots = lots_now(frame.state, frame.fits)
    taken = [LotLine("takes", name, one) for name, one in lots.taken[frame.id].items()]
    made = [LotLine("makes", name, lots.made[name]) for name in frame.result.made]
    return (*taken, *made)


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
