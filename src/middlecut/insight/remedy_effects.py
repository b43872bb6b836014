# SPDX-License-Identifier: MIT
"""Write a change into a plan, predict it again, and set both predictions side by side."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from middlecut.errors import MiddlecutError, PlanError
from middlecut.insight.case import chosen_lot
from middlecut.insight.clouding import louche
from middlecut.insight.diagnosis import NEAR, Edit, Effect, Remedy
from middlecut.insight.kept_stills import keep_stills
from middlecut.insight.new_dangers import new_dangers
from middlecut.insight.odour import odour_profile
from middlecut.insight.off_flavours import never_wanted
from middlecut.insight.remedies import changes
from middlecut.plan.predict import predict
from middlecut.plan.read import read_plan_text
from middlecut.plan.reshape import apply_edits, inline_table, item_at

if TYPE_CHECKING:
    from middlecut.insight.case import Case
    from middlecut.insight.changes import Change
    from middlecut.insight.odour import OdourRow
    from middlecut.insight.off_flavours import Fault
    from middlecut.plan.prediction import Prediction
    from middlecut.plan.reshape import PlanEdit
    from middlecut.steps.lot import Lot

__all__ = ["Workbench", "dissolved_share", "remedies_for", "wanted_compounds"]

MOST_RESPONSIBLE = 4
MOST_WANTED = 4
HELPS = -0.10
"""Relative change of the responsible compounds from which a remedy is said to help; our choice."""
WORSE = 0.02
MOVED = 1e-4
_RANK = ("helps", "hardly helps", "not predicted", "makes it worse", "cannot be done")


@dataclass(frozen=True, slots=True)
class _Again:
    """A changed plan, predicted again."""

    text: str
    prediction: Prediction | None
    odours: Mapping[str, OdourRow] = field(default_factory=dict)
    problem: str = ""


@dataclass(frozen=True, slots=True)
class Workbench:
    """Changed plans of one case; each is predicted once however many causes ask for it.

    Parameters
    ----------
    case : Case
    wanted : tuple of str
        Compounds that a remedy should leave alone.
    done : dict
        What was predicted before, by its changes.
    """

    case: Case
    wanted: tuple[str, ...]
    done: dict[tuple[PlanEdit, ...], _Again] = field(default_factory=dict)

    def again(self, change: Change) -> _Again:
        """Return the plan with a change, predicted."""
        if change.edits not in self.done:
            self.done[change.edits] = self._predicted(change)
        return self.done[change.edits]

    def _predicted(self, change: Change) -> _Again:
        plan = self.case.plan
        text = plan.text
        try:
            text = apply_edits(text, change.edits)
            edited = keep_stills(plan, read_plan_text(text, plan.path, plan.library))
            prediction = predict(edited)
            rows = odour_profile(_tasted(prediction, self.case.lot.name)).rows
        except MiddlecutError as error:
            return _Again(text, None, problem=_reason(error))
        return _Again(text, prediction, {row.compound: row for row in rows})


def _tasted(prediction: Prediction, name: str) -> Lot:
    """Return the lot of that name, or where its step was taken out, what the plan ends with."""
    return prediction.lots[name] if name in prediction.lots else chosen_lot(prediction)


def _reason(error: MiddlecutError) -> str:
    if isinstance(error, PlanError):
        return " ".join(f"{one.message} {one.remedy}".strip() for one in error.problems[:2])
    return str(error)


def wanted_compounds(case: Case, found: Iterable[str]) -> tuple[str, ...]:
    """Return what a remedy should leave alone: what the ingredients are there for.

    Parameters
    ----------
    case : Case
        The batch.
    found : iterable of str
        Descriptors that were found and are not wanted.

    Returns
    -------
    tuple of str
        Compounds of the ingredients that can be noticed, do not smell of what was found and are no
        fault wherever they are, the strongest first; without ingredients those of the spirit.
    """
    unwanted = set(found)
    brought = {
        marker.compound for one in case.additions for marker in one.addition.ingredient.tracked
    }
    rows = [row for row in case.odours.values() if unwanted.isdisjoint(row.descriptors)]
    rows = [row for row in rows if row.compound not in never_wanted()]
    from_ingredients = [row for row in rows if row.compound in brought and row.oav_high >= 1.0]
    chosen = from_ingredients or rows
    return tuple(row.compound for row in sorted(chosen, key=lambda row: -row.oav))


def remedies_for(bench: Workbench, fault: Fault) -> tuple[Remedy, ...]:
    """Return the remedies of a fault, predicted, the best first; numbers are given later.

    Parameters
    ----------
    bench : Workbench
        Keeps what was predicted.
    fault : Fault
        One row of the table.

    Returns
    -------
    tuple of Remedy
        Those that cannot be done in this plan come last, with the reason.
    """
    found = [_remedy(bench, fault, change) for change in changes(bench.case, fault)]
    return tuple(sorted(found, key=lambda one: _order(one, wanted=fault.wanted)))


def _order(remedy: Remedy, *, wanted: bool) -> tuple[bool, int, bool, bool, float]:
    kept = [
        min(effect.after / effect.before, 1.0)
        for effect in remedy.effects
        if effect.role == "wanted" and effect.before > 0.0
    ]
    loss = 1.0 - sum(kept) / len(kept) if kept else 0.0
    # To leave an ingredient out mends nothing: it comes after every remedy that helps.
    actions = {edit.action for edit in remedy.edits}
    left_out = "remove" in actions and "insert" not in actions
    change = remedy.change or 0.0
    worth = (-math.log1p(change) if remedy.missed else change) + 0.5 * loss
    # What brings a fault near its threshold comes before what leaves it to be tasted.
    left = remedy.left
    tasted = not wanted and left is not None and left > NEAR
    return bool(remedy.dangers), _RANK.index(remedy.verdict), left_out, tasted, worth


def _remedy(bench: Workbench, fault: Fault, change: Change) -> Remedy:
    case, again = bench.case, bench.again(change)
    before = case.prediction
    lot = case.lot
    remedy = Remedy(
        number=0,
        title=change.title,
        edits=tuple(
            Edit(one.key, one.value, _standing(case, one), one.action) for one in change.edits
        ),
        effects=(),
        change=None,
        verdict="cannot be done",
        volume_before=lot.volume,
        volume_after=lot.volume,
        strength_before=lot.strength,
        strength_after=lot.strength,
        duration_before=before.totals.duration,
        duration_after=before.totals.duration,
        dangers=(),
        problem=again.problem,
        text=again.text,
    )
    if again.prediction is None:
        return remedy
    after = _tasted(again.prediction, lot.name)
    effects = tuple(_effects(bench, fault, again))
    # Whatever is tasted is let down in the end: compare per litre of pure alcohol.
    scale = lot.strength / after.strength if after.strength > 0.0 else 1.0
    blamed = [one for one in effects if one.role == "responsible"]
    missed = [one for one in effects if one.compound in fault.lost]
    relative = _relative(missed or blamed, scale)
    if fault.clouds:
        relative = _dissolved(case, fault, after)
    return replace(
        remedy,
        effects=effects,
        change=relative,
        verdict=_verdict(-relative if missed and relative is not None else relative),
        missed=bool(missed),
        volume_after=after.volume,
        strength_after=after.strength,
        duration_after=again.prediction.totals.duration,
        dangers=new_dangers(before, again.prediction),
    )


def _effects(bench: Workbench, fault: Fault, again: _Again) -> Iterator[Effect]:
    case = bench.case
    assert again.prediction is not None  # noqa: S101 - asked for only when predicted
    old, new = case.lot.compounds, _tasted(again.prediction, case.lot.name).compounds
    responsible = [name for name in fault.compounds if name in old]
    responsible.sort(key=lambda name: -_oav(case.odours, name))
    wanted = [name for name in bench.wanted if name not in fault.compounds]
    # What a change brings counts like what it takes: the stronger of before and after.
    wanted.sort(key=lambda name: -max(_oav(case.odours, name), _oav(again.odours, name)))
    # Of a lost flavour, what is missed stands before all else that is wanted.
    missed = [name for name in fault.lost if old.get(name, 0.0) > 0.0]
    wanted = [*missed, *(name for name in wanted if name not in missed)]
    for role, names in (
        ("responsible", responsible[:MOST_RESPONSIBLE]),
        ("wanted", wanted[: max(MOST_WANTED, len(missed))]),
    ):
        for name in names:
            was, now = case.odours.get(name), again.odours.get(name)
            left = new.get(name, 0.0)
            gone = was is not None and left <= 0.0
            yield Effect(
                compound=name,
                role=role,
                before=old[name],
                after=left,
                oav_before=None if was is None else was.oav,
                oav_after=0.0 if gone else None if now is None else now.oav,
            )


def _oav(odours: Mapping[str, OdourRow], name: str) -> float:
    return odours[name].oav if name in odours else 0.0


def _relative(rows: Iterable[Effect], scale: float) -> float | None:
    """Return the relative change of compounds together, weighed by odour where that is known.

    ``scale`` brings the levels after to the strength before.
    """
    rows = tuple(rows)
    smelled = [row for row in rows if row.oav_before and row.oav_after is not None]
    if smelled:
        before = sum(row.oav_before or 0.0 for row in smelled)
        change = scale * sum(row.oav_after or 0.0 for row in smelled) / before - 1.0
    elif (before := sum(row.before for row in rows)) > 0.0:
        change = scale * sum(row.after for row in rows) / before - 1.0
    else:
        return None
    return change if abs(change) > MOVED else None


def _dissolved(case: Case, fault: Fault, after: Lot) -> float | None:
    """Return the relative change of what is dissolved over what can be."""
    old = dissolved_share(case.lot, fault.compounds)
    if old <= 0.0:
        return None
    change = dissolved_share(after, fault.compounds) / old - 1.0
    return change if abs(change) > MOVED else None


def dissolved_share(lot: Lot, names: Iterable[str]) -> float:
    """Return how near some oils come to clouding a lot.

    Parameters
    ----------
    lot : Lot
        As it is drunk.
    names : iterable of str
        Compounds.

    Returns
    -------
    float
        What is dissolved of them over what can be, summed; a ratio.
    """
    chosen = set(names)
    return sum(row.saturation for row in louche(lot).rows if row.compound in chosen)


def _verdict(change: float | None) -> str:
    if change is None:
        return "not predicted"
    if change > WORSE:
        return "makes it worse"
    return "helps" if change <= HELPS else "hardly helps"


def _standing(case: Case, edit: PlanEdit) -> str:
    """Return what stands at a place of the plan now, "" for nothing."""
    node = None if edit.action == "insert" else item_at(case.document, edit.key)
    if isinstance(node, Mapping):
        return inline_table(node)
    return "" if node is None else str(node)
