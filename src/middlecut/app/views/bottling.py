# SPDX-License-Identifier: MIT
"""Bottles: how many, what the label may say, what is left."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

from middlecut.app.spirit_events import BottlesFilled
from middlecut.app.views.frame import StepFrame
from middlecut.app.views.lots import KnownLot, lot_like, taken_lots
from middlecut.errors import InputError, NotFoundError
from middlecut.steps.bottle import bottle
from middlecut.steps.lot import Lot
from middlecut.steps.parameters import Bottle
from middlecut.steps.result import Caution, StepResult

__all__ = ["BottleView", "LabelCheck", "bottle_view", "check_label", "lot_number"]


@dataclass(frozen=True, slots=True)
class LabelCheck:
    """The strength in the bottle against the one printed.

    Parameters
    ----------
    strength, label, tolerance : float
        0 to 1; the tolerance as a fraction by volume.
    within : bool
    gap : float
        How far apart.
    cautions : tuple of Caution
        What the bottle step says of it.
    """

    strength: float
    label: float
    tolerance: float
    within: bool
    gap: float
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True)
class BottleView:
    """A bottling.

    Parameters
    ----------
    step : Bottle
    lot : KnownLot
        What is bottled.
    result : StepResult or None
        Full bottles and what is left, by the lot as known; None when it fills no bottle.
    filled : tuple of BottlesFilled
    count : int
        Bottles filled so far.
    checks : tuple of LabelCheck
        One for each filling.
    number : str
        A lot number to suggest.
    """

    step: Bottle
    lot: KnownLot
    result: StepResult | None
    filled: tuple[BottlesFilled, ...]
    count: int
    checks: tuple[LabelCheck, ...]
    number: str

    @property
    def left(self) -> float:
        """What the bottles filled so far leave of it. [m³ at 20 °C]; below 0: more than it was."""
        return self.lot.lot.volume - sum(one.count * one.bottle_volume for one in self.filled)


def bottle_view(frame: StepFrame, now: datetime) -> BottleView:
    """Return a bottling as it stands.

    Parameters
    ----------
    frame : StepFrame
        Of a bottle step.
    now : datetime
        On the clock of the workshop, for the lot number.

    Returns
    -------
    view : BottleView

    Raises
    ------
    NotFoundError
        If it is no bottle step.
    """
    step = frame.parameters
    if not isinstance(step, Bottle):
        raise NotFoundError("bottle step", frame.id)
    known = taken_lots(frame)[0]
    filled = tuple(body for _, body in frame.state.of(BottlesFilled) if body.step == frame.id)
    return BottleView(
        step=step,
        lot=known,
        result=_filled(step, known.lot),
        filled=filled,
        count=sum(body.count for body in filled),
        checks=tuple(check_label(frame, body.strength) for body in filled),
        number=lot_number(frame, now),
    )


def check_label(frame: StepFrame, strength: float) -> LabelCheck:
    """Hold a strength against the one the plan prints.

    Parameters
    ----------
    frame : StepFrame
        Of a bottle step.
    strength : float
        In the bottle at 20 °C, 0 to 1.

    Returns
    -------
    check : LabelCheck

    Raises
    ------
    NotFoundError
        If it is no bottle step.
    """
    step = frame.parameters
    if not isinstance(step, Bottle):
        raise NotFoundError("bottle step", frame.id)
    taken = next(iter(frame.result.used.values()))
    lot = lot_like(taken, volume=taken.volume, strength=strength)
    result = _filled(step, lot)
    cautions = () if result is None else result.cautions
    gap = abs(strength - step.label_strength)
    return LabelCheck(
        strength=strength,
        label=step.label_strength,
        tolerance=step.tolerance,
        within=all(one.code != "label-strength" for one in cautions),
        gap=gap,
        cautions=tuple(one for one in cautions if one.code.startswith("label")),
    )


def lot_number(frame: StepFrame, now: datetime) -> str:
    """Suggest a lot number: L, two digits of the year, the day in it, the filling of that batch.

    Parameters
    ----------
    frame : StepFrame
    now : datetime

    Returns
    -------
    number : str
    """
    earlier = sum(body.step == frame.id for _, body in frame.state.of(BottlesFilled))
    return f"L{now:%y%j}-{earlier + 1}"


def _filled(step: Bottle, lot: Lot) -> StepResult | None:
    try:
        return bottle(replace(step, loss=min(step.loss, lot.volume)), lot)
    except InputError:
        return None
