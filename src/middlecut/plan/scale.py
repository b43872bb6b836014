# SPDX-License-Identifier: MIT
"""Fit a plan to a wanted volume: how much wash, how many charges, what to draw."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from typing import Any

from middlecut.errors import ConvergenceError, InputError, NotFoundError, OutOfRangeError, PlanError
from middlecut.plan.model import Plan
from middlecut.plan.predict import Prediction, predict
from middlecut.plan.read import read_plan_text
from middlecut.plan.scale_limits import Search, Wanted
from middlecut.plan.scale_text import as_in_file, scaled_text_of
from middlecut.plan.scale_values import Change, changes_between
from middlecut.plan.scaling import enlarge, outputs_of, split_charges
from middlecut.steps.bottle import remainder_name
from middlecut.steps.lot import Lot
from middlecut.steps.parameters import Bottle, Dilute, Draw

__all__ = ["Change", "ScaledPlan", "scale"]

_MOST_TRIALS = 60
_CLOSE = 2e-4  # a wanted volume is met from above within this share
_MARGIN = 0.01  # so that the last bottle does not hang on half a millilitre
_MOST_OF_A_BOTTLE = 0.8  # a larger reserve would fill one bottle more than was asked for
_DIGITS = (3, 4, 5)
_SPARE = 0.005  # rounding may give so much more


@dataclass(frozen=True, slots=True)
class ScaledPlan:
    """A plan fitted to a wanted volume.

    Parameters
    ----------
    lot : str
        The lot that was to come out so.
    wanted : float
        How much of it was asked for. [m³ at 20 °C]
    reserve : float
        How much more than that the factor allows for. [m³ at 20 °C]
    factor : float
        Every amount of the plan times this; in the file, rounded.
    plan : Plan
        The new plan, with charges split where a boiler would be overfilled.
    prediction : Prediction
        Of the new plan.
    changes : tuple of Change
        Each value of the plan file that changes.
    charges : dict of str to int
        Number of charges by distil step of the old plan.
    text : str
        The new plan as a file; comments and order of the old one are kept.
    """

    lot: str
    wanted: float
    reserve: float
    factor: float
    plan: Plan
    prediction: Prediction
    changes: tuple[Change, ...]
    charges: dict[str, int]
    text: str

    def to_dict(self) -> dict[str, Any]:
        """Return goal, factor, changes, charges, text and prediction as plain JSON types."""
        return {
            "lot": self.lot,
            "wanted": self.wanted,
            "reserve": self.reserve,
            "factor": self.factor,
            "changes": [asdict(change) for change in self.changes],
            "charges": dict(self.charges),
            "text": self.text,
            "prediction": self.prediction.to_dict(),
        }


def scale(
    plan: Plan,
    *,
    bottles: int | None = None,
    volume: float | None = None,
    strength: float | None = None,
    lot: str | None = None,
    margin: float | None = None,
) -> ScaledPlan:
    """Fit a plan to a wanted number of bottles or a wanted volume.

    One factor on every amount of liquid is found such that the predicted last lot has the wanted
    volume; a charge above the safe fill of its boiler is split into equal charges on the way.

    Parameters
    ----------
    plan : Plan
        As :func:`middlecut.load_plan` returns it.
    bottles : int, optional
        Full bottles wanted. Exactly one of bottles and volume is given.
    volume : float, optional
        Volume wanted. [m³ at 20 °C]
    strength : float, optional
        Wanted strength of that lot, 0 to 1; sets the dilution before it and the label.
    lot : str, optional
        The lot that has to come out so; the bottled lot, or the last one made, by default.
    margin : float, optional
        Reserve on top, as a share of what is wanted, 0 to 0.5. By default 1 % for bottles, so that
        the last bottle does not hang on a millilitre, and none for a volume. A reserve never makes
        one more bottle.

    Returns
    -------
    ScaledPlan
        The new plan, what changes in the file, and its prediction.

    Raises
    ------
    InputError
        If both or neither of bottles and volume are given, no dilution sets the strength, the
        margin is outside its range, or no size of the plan gives so much or so little.
    NotFoundError
        If there is no such lot.
    PlanError
        If the plan cannot be carried out so, e.g. a strength above what the run gives.
    ConvergenceError
        If no factor gives the wanted volume.

    Notes
    -----
    Power stays as it is, so a larger charge takes longer and, at equal head loss, runs a little
    differently: the factor is not simply the ratio of the volumes. The volume with its reserve is
    met within 0.02 %, always from above. Cuts that end by time are lengthened in proportion.
    In the file each amount keeps its unit and has three significant digits, or as many more as it
    takes to give what is wanted with half of the reserve left; the plan as written is predicted
    again to make sure.
    """
    goal = _goal(plan, bottles=bottles, volume=volume, lot=lot, margin=margin)
    start = plan if strength is None else _at_strength(plan, goal.lot, strength)
    factor, scaled, charges = _fit(start, goal)
    exact = changes_between(plan, enlarge(start, factor, goal.lot))
    written = _written(plan, exact, scaled, charges, goal)
    return ScaledPlan(goal.lot, goal.wanted, goal.reserve, factor, *written)


_Written = tuple[Plan, Prediction, tuple[Change, ...], dict[str, int], str]


def _written(
    plan: Plan, exact: tuple[Change, ...], scaled: Plan, charges: dict[str, int], goal: _Goal
) -> _Written:
    """Return the plan with the fewest digits that still gives what is wanted."""
    for digits in (*_DIGITS, None) if plan.text else ():
        changes = as_in_file(plan, exact, digits)
        text = scaled_text_of(plan, changes, scaled, charges, digits)
        try:
            rounded = read_plan_text(text, plan.path, plan.library)
            prediction = predict(rounded)
        except PlanError:
            continue  # rounded too far, such as two cuts that have become one
        reached = _volume(dict(prediction.lots), goal.lot)
        enough = goal.wanted + 0.5 * goal.reserve <= reached <= goal.volume * (1.0 + _SPARE)
        if enough or digits is None:
            return rounded, prediction, changes, charges, text
    text = scaled_text_of(plan, exact, scaled, charges)
    return scaled, predict(scaled), exact, charges, text


@dataclass(frozen=True, slots=True)
class _Goal:
    lot: str
    wanted: float
    reserve: float
    bottle: float = 0.0

    @property
    def volume(self) -> float:
        return self.wanted + self.reserve

    @property
    def told(self) -> Wanted:
        return Wanted(self.lot, self.wanted, self.reserve, self.bottle)


def _goal(
    plan: Plan,
    *,
    bottles: int | None,
    volume: float | None,
    lot: str | None,
    margin: float | None,
) -> _Goal:
    if margin is not None and not 0.0 <= margin <= 0.5:
        raise OutOfRangeError("margin", margin * 100.0, 0.0, 50.0, unit="%")
    if (bottles is None) == (volume is None):
        given = "neither" if bottles is None else "both"
        raise InputError("bottles or volume", given, "exactly one of them is needed")
    fills = [step for step in plan.steps if isinstance(step, Bottle)]
    if lot is None:
        lot = fills[-1].into if fills else outputs_of(plan.steps[-1])[0]
    elif not any(lot in outputs_of(step) for step in plan.steps):
        raise NotFoundError("lot", lot, tuple(outputs_of(plan.steps[-1]))[:3])
    fill = next((step for step in fills if step.into == lot), None)
    if bottles is not None:
        if bottles < 1:
            raise InputError("bottles", bottles, "at least one bottle is needed")
        if fill is None:
            raise InputError(
                "bottles", bottles, f"no step bottles {lot!r}", "Give a volume, or add a step."
            )
        size = fill.bottle_volume
        spare = (_MARGIN if margin is None else margin) * bottles * size
        return _Goal(lot, bottles * size, min(spare, _MOST_OF_A_BOTTLE * size), size)
    wanted = float(volume or 0.0)
    if not 0.0 < wanted < float("inf"):
        raise InputError("volume", wanted, "a volume above 0 L is needed")
    return _Goal(lot, wanted, (margin or 0.0) * wanted)


def _fit(plan: Plan, goal: _Goal) -> tuple[float, Plan, dict[str, int]]:
    """Find the factor by regula falsi between a factor too small and one large enough."""
    factor = 1.0
    search = Search(goal.told)
    best: tuple[float, Plan, dict[str, int]] | None = None
    for trial in range(_MOST_TRIALS):
        try:
            scaled, charges, reached = _try(plan, factor, goal.lot)
        except PlanError as error:
            factor = search.refused(factor, error)
            continue
        miss = reached / goal.volume - 1.0
        if miss >= 0.0:
            best = (factor, scaled, charges)
            if miss <= _CLOSE:
                return best
        search.reached(factor, miss, reached)
        low, high = search.low, search.high
        if low and high and abs(high[0] / low[0] - 1.0) < 1e-7 and best:
            return best  # a jump in the number of charges lies between: the larger is enough
        factor = search.kept(factor, _next(factor, miss, low, high, trial))
    raise ConvergenceError("Fitting the plan to the wanted volume", _MOST_TRIALS, miss)


def _next(
    factor: float,
    miss: float,
    low: tuple[float, float] | None,
    high: tuple[float, float] | None,
    trial: int,
) -> float:
    aim = _CLOSE / 2.0
    if low is None or high is None:
        return factor * (1.0 + aim) / (1.0 + miss) if miss > -1.0 else factor * 4.0
    if trial % 4 == 3:  # a jump can stall regula falsi on one side
        return (low[0] + high[0]) / 2.0
    share = (aim - low[1]) / (high[1] - low[1]) if high[1] > low[1] else 0.5
    return low[0] + min(max(share, 0.01), 0.99) * (high[0] - low[0])


def _try(plan: Plan, factor: float, lot: str) -> tuple[Plan, dict[str, int], float]:
    scaled, charges, lots = split_charges(enlarge(plan, factor, lot))
    return scaled, charges, _volume(lots, lot)


def _volume(lots: dict[str, Lot], lot: str) -> float:
    parts = (lots.get(lot), lots.get(remainder_name(lot)))
    return sum(part.volume for part in parts if part is not None)


def _at_strength(plan: Plan, lot: str, strength: float) -> Plan:
    """Set the dilution that a lot comes from, and its label, to a strength."""
    name = lot
    steps = list(plan.steps)
    for index in range(len(steps) - 1, -1, -1):
        step = steps[index]
        if name not in outputs_of(step):
            continue
        match step:
            case Dilute():
                steps[index] = replace(step, strength=strength)
                return replace(plan, steps=tuple(steps))
            case Bottle():
                steps[index] = replace(step, label_strength=strength)
                name = step.take.lot
            case Draw():
                name = step.take.lot
            case _:
                break
    raise InputError(
        "strength",
        f"{strength * 100:.4g} %vol",
        f"no dilute step makes {name!r}, so nothing sets its strength",
        "Add a dilute step before it, or leave the strength out.",
    )
