# SPDX-License-Identifier: MIT
"""What a still was loaded with, and the run that is to be expected of that."""

from __future__ import annotations

from dataclasses import dataclass

from middlecut.app.lots_now import run_loaded
from middlecut.app.views.frame import StepFrame
from middlecut.app.views.lots import taken_lots
from middlecut.steps.lot import Lot
from middlecut.steps.mixing import mixed, water_lot
from middlecut.steps.parameters import Distil
from middlecut.steps.result import StepResult

__all__ = ["ChargeKey", "expected_run", "loaded_charge", "planned_charge"]

_NAME = "charge"


@dataclass(frozen=True, slots=True, eq=False)
class ChargeKey:
    """A measured charge as part of a key: lots are compared by what is in them."""

    lot: Lot | None

    def _key(self) -> tuple[float, float, float] | None:
        lot = self.lot
        return None if lot is None else (lot.water, lot.ethanol, lot.solids)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, ChargeKey) and self._key() == other._key()

    def __hash__(self) -> int:
        return hash(self._key())


def loaded_charge(frame: StepFrame) -> Lot | None:
    """Return what was loaded, if all of it was measured or follows from what was.

    Parameters
    ----------
    frame : StepFrame
        Of a distil step.

    Returns
    -------
    charge : Lot or None
        With the water that the plan adds.
    """
    lots = _sure_lots(frame)
    return None if lots is None else mixed((*lots, *_water(frame)), _NAME)


def planned_charge(frame: StepFrame) -> Lot:
    """Return what the plan loads, with its water."""
    return mixed((*frame.result.used.values(), *_water(frame)), _NAME)


def expected_run(frame: StepFrame) -> StepResult:
    """Return what is expected of a run by what was loaded, or by the plan until that is known.

    Parameters
    ----------
    frame : StepFrame
        Of a distil step.

    Returns
    -------
    result : StepResult
        By the plan too where what was loaded cannot run as planned.
    """
    lots = _sure_lots(frame)
    again = None if lots is None else run_loaded(frame.plan_text, frame.fits, frame.id, lots)
    return frame.result if again is None or again.curve is None else again


def _sure_lots(frame: StepFrame) -> tuple[Lot, ...] | None:
    known = taken_lots(frame)
    if not known or not all(one.sure and one.lot.mass > 0.0 for one in known):
        return None
    return tuple(one.lot for one in known)


def _water(frame: StepFrame) -> tuple[Lot, ...]:
    step = frame.parameters
    if not isinstance(step, Distil) or step.water <= 0.0:
        return ()
    return (water_lot(step.water),)
