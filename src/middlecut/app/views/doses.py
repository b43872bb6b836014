# SPDX-License-Identifier: MIT
"""Dose trials of a blend: what is dosed with what, the glasses tried, the rate chosen."""

from __future__ import annotations

from dataclasses import dataclass

from middlecut.app.known_lot import KnownLot
from middlecut.app.lots_now import lots_now
from middlecut.app.spirit_events import DoseChosen, DoseTried
from middlecut.app.views.frame import StepFrame
from middlecut.errors import NotFoundError
from middlecut.insight.trials import Dose, dose_batch
from middlecut.steps.mixing import mixed
from middlecut.steps.parameters import Blend, Distil

__all__ = ["DoseView", "dose_view"]


@dataclass(frozen=True, slots=True)
class DoseView:
    """The dose trials of a blend.

    Parameters
    ----------
    base, flavour : KnownLot
        What is flavoured, and all there is of what flavours it.
    parts : tuple of KnownLot
        Everything the blend takes, in the plan's order.
    planned_rate : float
        Flavour spirit per volume of base that the plan puts together. [m³ m⁻³]
    tried : tuple of DoseTried
        In the order they were entered; the last word on a glass counts.
    chosen : DoseChosen or None
    dose : Dose or None
        What the chosen rate means for the batch.
    """

    base: KnownLot
    flavour: KnownLot
    parts: tuple[KnownLot, ...]
    planned_rate: float
    tried: tuple[DoseTried, ...]
    chosen: DoseChosen | None
    dose: Dose | None

    @property
    def rate(self) -> float:
        """Flavour spirit per volume of base with what the step takes of both now. [m³ m⁻³]."""
        taken = next(one for one in self.parts if one.lot.name == self.flavour.lot.name)
        base = self.base.lot.volume
        return taken.lot.volume / base if base > 0.0 else 0.0


def dose_view(frame: StepFrame) -> DoseView | None:
    """Return the dose trials of a blend.

    The lot the plan doses is the flavour; where it doses none, the last lot taken is, and
    everything before it together is the base.

    Parameters
    ----------
    frame : StepFrame
        Of a blend step.

    Returns
    -------
    view : DoseView or None
        None when the blend takes a single lot, or only puts lots together: feints kept for the
        next batch, low wines for a run.

    Raises
    ------
    NotFoundError
        If it is no blend.
    """
    step = frame.parameters
    if not isinstance(step, Blend):
        raise NotFoundError("blend", frame.id)
    lots = lots_now(frame.state, frame.fits)
    parts = tuple(lots.taken[frame.id].values())
    if len(parts) < 2 or not _is_trial(frame, step):
        return None
    dosed = [take.lot for take in step.takes if take.dose is not None]
    name = dosed[-1] if dosed else parts[-1].lot.name
    flavour = lots.offered[frame.id][name]
    others = [one for one in parts if one.lot.name != name]
    base = KnownLot(
        others[0].lot if len(others) == 1 else mixed([one.lot for one in others], "base"),
        max(one.volume_known for one in others),
        max(one.strength_known for one in others),
    )
    tried = tuple(body for _, body in frame.state.of(DoseTried) if body.step == frame.id)
    chosen = next(
        (body for _, body in reversed(frame.state.of(DoseChosen)) if body.step == frame.id), None
    )
    used = frame.result.used
    planned = used[name].volume / sum(lot.volume for key, lot in used.items() if key != name)
    return DoseView(
        base,
        flavour,
        parts,
        planned,
        tried,
        chosen,
        None if chosen is None else dose_batch(base.lot, flavour.lot, chosen.rate),
    )


def _is_trial(frame: StepFrame, step: Blend) -> bool:
    """Whether a blend makes something to drink, or doses a flavour: then glasses are tried."""
    if any(take.dose is not None for take in step.takes):
        return True
    after = _kinds_after(frame, step.into)
    if "distil" in after:
        return False
    return "bottle" in after or any(_flavoured(frame, take.lot) for take in step.takes)


def _kinds_after(frame: StepFrame, lot: str) -> set[str]:
    """Return the kinds of the steps that a lot goes into, straight or by way of others."""
    lots = {lot}
    kinds: set[str] = set()
    for one, result in frame.prediction.steps.items():  # in the order they are carried out
        if lots & set(result.used):
            lots |= set(result.made)
            kinds.add(frame.prediction.plan.step(one).kind)
    return kinds


def _flavoured(frame: StepFrame, lot: str) -> bool:
    """Whether a lot comes straight from a steep or a flavour run."""
    maker = next((one for one, made in frame.prediction.steps.items() if lot in made.made), None)
    if maker is None:
        return False
    parameters = frame.prediction.plan.step(maker)
    return parameters.kind == "steep" or (
        isinstance(parameters, Distil) and parameters.purpose == "flavour"
    )
