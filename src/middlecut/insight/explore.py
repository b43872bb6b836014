# SPDX-License-Identifier: MIT
"""What if: change numbers of a plan and see what becomes different, fast enough for a slider."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from middlecut.errors import InputError, NotFoundError
from middlecut.plan.places import full_place, near_places, places_for
from middlecut.plan.pool import Pool
from middlecut.plan.predict import Walk, carry_out, conclude, walk
from middlecut.plan.read import read_plan_text
from middlecut.plan.write import set_value

if TYPE_CHECKING:
    from middlecut.plan.model import Plan
    from middlecut.plan.prediction import Prediction
    from middlecut.steps.lot import Lot

__all__ = ["Change", "Difference", "Explorer", "changed_plan", "what_if"]

_GRAVITY = ("danger", "watch", "note")
_SAME = 1e-9
"""Relative difference below which two numbers are the same."""
_TRACE = 1e-3
"""Concentration below which a compound is not listed. [mg L⁻¹]"""
_TOTALS = (
    ("duration", "all steps one after another", "duration"),
    ("still_time", "beside a still", "duration"),
    ("energy", "electricity", "energy"),
    ("cooling_water", "cooling water", "mass"),
    ("cost", "energy and cooling water, money", "ratio"),
)


@dataclass(frozen=True, slots=True)
class Change:
    """One number that became different.

    Parameters
    ----------
    group : str
        "lot", "compound", "step" or "total".
    name : str
        Of the lot or step; "" for totals.
    key, label : str
        Of the quantity, and in plain words.
    dimension : str
        Kind of quantity as :mod:`middlecut.units` names it; "mg/L" for compounds.
    before, after : float or None
        In SI, compounds in mg/L; None where there is no such number.
    """

    group: str
    name: str
    key: str
    label: str
    dimension: str
    before: float | None
    after: float | None


@dataclass(frozen=True, slots=True)
class Difference:
    """A plan predicted as it stands and with some numbers changed.

    Parameters
    ----------
    changes : mapping of str to str
        What was set.
    plan : Plan
        With the changes.
    before, after : Prediction
        Both ways.
    first_step : str
        The first step that is done differently; "" when none is.
    """

    changes: Mapping[str, str]
    plan: Plan
    before: Prediction
    after: Prediction
    first_step: str

    @property
    def rows(self) -> tuple[Change, ...]:
        """Every number that became different: lots, compounds, figures of the steps, totals."""
        return tuple(row for row in _rows(self.before, self.after) if not _same(row))

    def to_dict(self) -> dict[str, Any]:
        """Return the changes and their effects as plain JSON types."""
        return {
            "changes": dict(self.changes),
            "first_step": self.first_step,
            "rows": [asdict(row) for row in self.rows],
            "cautions": {
                "gone": _codes(self.before, self.after),
                "new": _codes(self.after, self.before),
            },
        }


class Explorer:
    """A plan whose steps are kept as predicted, so that a change costs only what follows it.

    Parameters
    ----------
    plan : Plan
        As read from a file or text; carried out once.

    Notes
    -----
    Changing a number of the last still step costs that step and what comes after it, some 10 ms.
    """

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        pool = Pool(plan.given)
        self._before: list[Pool] = []
        self._results: list[Any] = []
        for step in plan.steps:
            self._before.append(pool.copy())
            self._results.append(carry_out(step, plan, pool))
        done = Walk(
            pool, {step.id: row for step, row in zip(plan.steps, self._results, strict=True)}
        )
        self.prediction = conclude(plan, done)

    def what_if(self, changes: Mapping[str, str]) -> Difference:
        """Predict the plan with some numbers changed.

        Parameters
        ----------
        changes : mapping of str to str
            New values by their place, as :func:`what_if` takes them.

        Returns
        -------
        Difference
            The plan both ways.

        Raises
        ------
        NotFoundError
            If the plan has no such place.
        PlanError
            If the changed plan cannot be carried out.
        """
        plan = changed_plan(self.plan, changes)
        kept = self._kept(plan)
        after = self.prediction
        first = ""
        if kept < len(plan.steps):
            first = plan.steps[kept].id
            results = {
                step.id: result
                for step, result in zip(plan.steps[:kept], self._results, strict=False)
            }
            so_far = Walk(self._before[kept], results) if kept else None
            after = conclude(plan, walk(plan, after=so_far))
        return Difference(dict(changes), plan, self.prediction, after, first)

    def _kept(self, plan: Plan) -> int:
        """Return how many steps from the start stay exactly as they were."""
        old = self.plan
        if plan.given != old.given or plan.batch.pressure != old.batch.pressure:
            return 0
        if plan.batch != old.batch:
            return 0  # prices: the totals differ
        for at, (mine, theirs) in enumerate(zip(old.steps, plan.steps, strict=False)):
            still = getattr(mine, "still", None)
            if mine != theirs or (still and old.stills.get(still) != plan.stills.get(still)):
                return at
        return min(len(old.steps), len(plan.steps))


def what_if(plan: Plan, changes: Mapping[str, str]) -> Difference:
    """Predict a plan as it stands and with some numbers changed.

    Parameters
    ----------
    plan : Plan
        As read from a file or text.
    changes : mapping of str to str
        New values by their place in the plan file: ``{"step.spirit.power": "55 %"}``,
        ``"still.column.head_loss"``, ``"step.spirit.cuts[2].until"``; "step." and "still." may be
        left out, and a cut may be named by its lot, ``"spirit.hearts.until"``.

    Returns
    -------
    Difference
        Both predictions and every number that became different.

    Raises
    ------
    NotFoundError
        If the plan has no such place.
    InputError
        If a place cannot be set, or the plan was not made from text.
    PlanError
        If the plan cannot be carried out, as it stands or changed.

    Notes
    -----
    For many changes of one plan, keep an :class:`Explorer`: it predicts only what a change touches.
    """
    return Explorer(plan).what_if(changes)


def changed_plan(plan: Plan, changes: Mapping[str, str]) -> Plan:
    """Return a plan with some values of its text set and read again.

    Parameters
    ----------
    plan : Plan
        As read from a file or text.
    changes : mapping of str to str
        New values by their place, as :func:`what_if` takes them.

    Returns
    -------
    Plan
        Checked as a whole.

    Raises
    ------
    NotFoundError
        If the plan has no such place.
    InputError
        If a place cannot be set, or the plan was not made from text.
    PlanError
        If the changed plan is not usable.
    """
    if not plan.text:
        raise InputError("plan", plan.path, "it was not read from a text that could be changed")
    text = plan.text
    for key, value in changes.items():
        if "." not in key:
            raise _misplaced(plan, key)
        try:
            text = set_value(text, full_place(plan, key), value)
        except NotFoundError as error:
            near = near_places(plan, key)
            if not near:
                raise
            raise NotFoundError(error.kind, error.name, near) from None
    return read_plan_text(text, plan.path, plan.library)


def _misplaced(plan: Plan, key: str) -> InputError:
    """Return the error for a key without its section, naming where the plan has it."""
    places = places_for(plan, key)
    shown = " or ".join(places[:3])
    more = f", and {len(places) - 3} more places" if len(places) > 3 else ""
    remedy = f"Did you mean {shown}{more}?" if places else "Write it like batch.altitude."
    return InputError("place", key, "a place names its section, still, lot or step first", remedy)


def _rows(before: Prediction, after: Prediction) -> Iterator[Change]:
    for name in dict.fromkeys((*before.lots, *after.lots)):
        yield from _lot_rows(name, before.lots.get(name), after.lots.get(name))
    for step in dict.fromkeys((*before.steps, *after.steps)):
        sides = [prediction.steps.get(step) for prediction in (before, after)]
        figures = [{} if one is None else {row.key: row for row in one.figures} for one in sides]
        for key in dict.fromkeys((*figures[0], *figures[1])):
            one = figures[1].get(key) or figures[0][key]
            values = [None if key not in side else side[key].value for side in figures]
            yield Change("step", step, key, one.label, one.dimension, values[0], values[1])
    for key, label, dimension in _TOTALS:
        values = [getattr(prediction.totals, key) for prediction in (before, after)]
        yield Change("total", "", key, label, dimension, values[0], values[1])


def _lot_rows(name: str, before: Lot | None, after: Lot | None) -> Iterator[Change]:
    for key, label, dimension in (
        ("volume", "volume at 20 °C", "volume"),
        ("strength", "strength", "strength"),
        ("pure_alcohol", "pure alcohol", "pure_alcohol"),
    ):
        values = [None if lot is None else getattr(lot, key) for lot in (before, after)]
        yield Change("lot", name, key, label, dimension, values[0], values[1])
    levels = [{} if lot is None else lot.compounds for lot in (before, after)]
    for compound in dict.fromkeys((*levels[0], *levels[1])):
        amounts = [side.get(compound) for side in levels]
        if max(amount or 0.0 for amount in amounts) >= _TRACE:
            yield Change("compound", name, compound, compound, "mg/L", amounts[0], amounts[1])


def _same(row: Change) -> bool:
    if row.before is None or row.after is None:
        return row.before is row.after
    return abs(row.after - row.before) <= _SAME * max(abs(row.before), abs(row.after))


def _codes(here: Prediction, there: Prediction) -> list[str]:
    """Return the cautions of one prediction that the other does not have, gravest first."""
    other = {(step, c.code, c.severity) for step, row in there.steps.items() for c in row.cautions}
    found = [
        (_GRAVITY.index(caution.severity), f"{caution.severity.upper()}, {step}: {caution.text}")
        for step, row in here.steps.items()
        for caution in row.cautions
        if (step, caution.code, caution.severity) not in other
    ]
    return [text for _, text in sorted(found, key=lambda row: row[0])]
