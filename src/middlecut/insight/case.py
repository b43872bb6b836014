# SPDX-License-Identifier: MIT
"""The batch a diagnosis is about: which steps led to the tasted lot, and what went into them."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from middlecut.errors import InputError, NotFoundError
from middlecut.insight.fate import final_lot
from middlecut.insight.odour import odour_profile
from middlecut.steps.parameters import Addition, Distil, Ferment, Steep, Wood

if TYPE_CHECKING:
    from middlecut.insight.odour import OdourRow
    from middlecut.insight.off_flavours import Fault
    from middlecut.insight.readings import Reading
    from middlecut.plan.model import Plan
    from middlecut.plan.prediction import Prediction
    from middlecut.steps.curve import Curve, CutMark
    from middlecut.steps.lot import Lot
    from middlecut.steps.result import StepResult
    from middlecut.steps.still import Still

__all__ = ["Case", "Placed", "Run", "chosen_lot", "make_case"]


MINOR = 0.1
"""An addition with less of a compound than this share of what the richest brings is left out."""


@dataclass(frozen=True, slots=True)
class Placed:
    """An addition and where it stands in the plan.

    Parameters
    ----------
    step : Ferment, Distil or Steep
    index : int
        Place in the step's list of additions, from 0.
    addition : Addition
    """

    step: Ferment | Distil | Steep
    index: int
    addition: Addition

    @property
    def key(self) -> str:
        """Place in the plan file."""
        return f"step.{self.step.id}.add[{self.index}]"

    @property
    def name(self) -> str:
        """Of the ingredient."""
        return self.addition.ingredient.name

    def brought(self, fault: Fault) -> tuple[tuple[str, float], ...]:
        """Return the responsible compounds it holds, and how much of each. [kg]."""
        return tuple(
            (marker.compound, marker.typical * self.addition.amount)
            for marker in self.addition.ingredient.tracked
            if marker.compound in fault.compounds
        )

    @property
    def distilled(self) -> bool:
        """Whether it sits in a still."""
        return isinstance(self.step, Distil)


@dataclass(frozen=True, slots=True)
class Run:
    """A distil step on the way to the tasted lot.

    Parameters
    ----------
    step : Distil
    result : StepResult
    still : Still
    kept : tuple of int
        Places of the cuts that lead on to the tasted lot.
    final : bool
        Whether what it keeps is distilled no more.
    """

    step: Distil
    result: StepResult
    still: Still
    kept: tuple[int, ...]
    final: bool

    @property
    def curve(self) -> Curve:
        """The dense run."""
        assert self.result.curve is not None  # noqa: S101 - a distil step has one
        return self.result.curve

    @property
    def charge_volume(self) -> float:
        """Liquid in the boiler at the start. [m³ at 20 °C]."""
        return sum(lot.volume for lot in self.result.used.values()) + self.step.water / 998.2

    @property
    def settings(self) -> tuple[tuple[str, float, tuple[str, ...]], ...]:
        """Power settings that act until the last kept cut ends: place in the plan, share, for what.

        Where the first cut sets its own, that of the step is only for the hold before it.
        """
        key, power, names = f"step.{self.step.id}.power", self.step.power, list[str]()
        found = []
        for index, cut in enumerate(self.step.cuts[: self.kept[-1] + 1]):
            if cut.power is not None:
                found.append((key, power, tuple(names)))
                key, power, names = f"step.{self.step.id}.cuts[{index}].power", cut.power, []
            names.append(cut.into)
        found.append((key, power, tuple(names)))
        found += [
            (f"step.{self.step.id}.power_changes[{index}].power", change.power, ("later on",))
            for index, change in enumerate(self.step.power_changes)
        ]
        return tuple(one for one in found if one[2])

    @property
    def first_kept(self) -> CutMark:
        """The first cut that is kept."""
        return self.curve.cuts[self.kept[0]]

    @property
    def last_kept(self) -> CutMark:
        """The last cut that is kept."""
        return self.curve.cuts[self.kept[-1]]


@dataclass(frozen=True, slots=True)
class Case:
    """A tasted lot of a plan, and all that led to it.

    Parameters
    ----------
    plan : Plan
    prediction : Prediction
    lot : Lot
        What was tasted, as predicted.
    odours : mapping of str to OdourRow
        By compound.
    additions : tuple of Placed
        Ingredients on the way.
    ferments : tuple of Ferment
    runs : tuple of Run
    woods : tuple of Wood
    undistilled : frozenset of str
        Lots that reach the tasted one without another run.
    document : mapping
        The plan file as TOML; empty where the plan has no text.
    readings : mapping of str to tuple of Reading
        By step id.
    """

    plan: Plan
    prediction: Prediction
    lot: Lot
    odours: Mapping[str, OdourRow]
    additions: tuple[Placed, ...]
    ferments: tuple[Ferment, ...]
    runs: tuple[Run, ...]
    woods: tuple[Wood, ...]
    undistilled: frozenset[str]
    document: Mapping[str, Any] = field(default_factory=dict)
    readings: Mapping[str, tuple[Reading, ...]] = field(default_factory=dict)

    def raw_step(self, step_id: str) -> Mapping[str, Any]:
        """Return a step's table of the plan file; empty where there is none."""
        steps = self.document.get("step", [])
        return next((step for step in steps if step.get("id") == step_id), {})

    def relevant(self, fault: Fault) -> tuple[Placed, ...]:
        """Return the additions that bring most of what a fault blames, or bear its names."""
        if fault.brought_by:
            return tuple(one for one in self.additions if one.name == fault.brought_by)
        names = [name for name in fault.limit_of("carried").split(",") if name]
        most: dict[str, float] = {}
        for one in self.additions:
            for compound, mass in one.brought(fault):
                most[compound] = max(most.get(compound, 0.0), mass)
        return tuple(
            one
            for one in self.additions
            if any(mass >= MINOR * most[compound] for compound, mass in one.brought(fault))
            or any(name in one.name for name in names)
        )

    def spirit_runs(self) -> tuple[Run, ...]:
        """Return the runs whose cuts decide: last spirit runs, else last flavour runs."""
        last = tuple(run for run in self.runs if run.final)
        return tuple(run for run in last if run.step.purpose == "spirit") or tuple(
            run for run in last if run.step.purpose != "strip"
        )

    def new_name(self, name: str) -> str:
        """Return a name that no lot and no step of the plan bears."""
        taken = {*self.prediction.lots, *(step.id for step in self.plan.steps)}
        while name in taken:
            name += "-2" if re.fullmatch(r"[\w-]+", name) else " again"
        return name

    def stripped(self) -> tuple[Run, ...]:
        """Return the stripping runs that made what was tasted: they keep heads and tails."""
        last = tuple(run for run in self.runs if run.final)
        return () if self.spirit_runs() else last


def chosen_lot(prediction: Prediction, name: str | None = None) -> Lot:
    """Return the lot that was tasted.

    Parameters
    ----------
    prediction : Prediction
    name : str or None
        None: what the plan bottles, else what it makes last; of a run the cut with most alcohol.

    Returns
    -------
    Lot

    Raises
    ------
    NotFoundError
        If the plan has no such lot; carries near names.
    InputError
        If the plan makes nothing.
    """
    if name is not None:
        if name in prediction.lots:
            return prediction.lots[name]
        import difflib  # noqa: PLC0415 - only for the error

        near = difflib.get_close_matches(name, prediction.lots, n=3) or list(prediction.lots)[-3:]
        raise NotFoundError("lot", name, tuple(near))
    last = final_lot(prediction.steps.values())
    if not last:
        raise InputError("plan", prediction.plan.path, "it makes nothing", "Add a step.")
    return prediction.lots[last]


def make_case(
    plan: Plan,
    prediction: Prediction,
    lot: Lot,
    readings: Mapping[str, Iterable[Reading]] | None = None,
) -> Case:
    """Gather what led to a lot.

    Parameters
    ----------
    plan : Plan
    prediction : Prediction
    lot : Lot
        One of the prediction's.
    readings : mapping of str to iterable of Reading, optional
        By step id.

    Returns
    -------
    Case

    Raises
    ------
    NotFoundError
        If readings name a step that the plan does not have.
    """
    wanted, undistilled, on_the_way = {lot.name}, {lot.name}, set()
    for step_id, result in reversed(list(prediction.steps.items())):
        if not wanted.isdisjoint(result.made):
            on_the_way.add(step_id)
            wanted |= set(result.used)
            if result.kind != "distil" and not undistilled.isdisjoint(result.made):
                undistilled |= set(result.used)
    steps = [step for step in plan.steps if step.id in on_the_way]
    runs = [
        _run(step, prediction, wanted, undistilled)
        for step in steps
        if isinstance(step, Distil) and prediction.steps[step.id].curve is not None
    ]
    given = {plan.step(name).id: tuple(rows) for name, rows in (readings or {}).items()}
    return Case(
        plan=plan,
        prediction=prediction,
        lot=lot,
        odours={row.compound: row for row in odour_profile(lot).rows},
        additions=tuple(
            Placed(step, index, addition)
            for step in steps
            if isinstance(step, Ferment | Distil | Steep)
            for index, addition in enumerate(step.additions)
        ),
        ferments=tuple(step for step in steps if isinstance(step, Ferment)),
        runs=tuple(run for run in runs if run.kept),
        woods=tuple(step for step in steps if isinstance(step, Wood)),
        undistilled=frozenset(undistilled),
        document=tomllib.loads(plan.text) if plan.text else {},
        readings=given,
    )


def _run(step: Distil, prediction: Prediction, wanted: set[str], undistilled: set[str]) -> Run:
    result = prediction.steps[step.id]
    curve = result.curve
    cuts = curve.cuts if curve is not None else ()
    final = tuple(index for index, cut in enumerate(cuts) if cut.into in undistilled)
    led = tuple(index for index, cut in enumerate(cuts) if cut.into in wanted)
    still = prediction.plan.stills[step.still]
    run = Run(step, result, still, kept=led, final=False)
    return replace(run, kept=final, final=True) if final else run
