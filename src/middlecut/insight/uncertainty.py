# SPDX-License-Identifier: MIT
"""Which inputs of a plan are uncertain, how far, and on what that rests."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, replace
from functools import lru_cache
from importlib.resources import files
from typing import TYPE_CHECKING

from middlecut.errors import InputError, NotFoundError
from middlecut.insight.solid_inputs import solid_inputs
from middlecut.insight.uncertain_input import NINETY, Form, UncertainInput, content_input
from middlecut.insight.wash_inputs import wash_inputs
from middlecut.insight.wood_inputs import wood_inputs
from middlecut.liquid import congeners, volatility
from middlecut.plan.problems import nearest
from middlecut.steps.lot import Amount
from middlecut.steps.parameters import Dilute, Distil, Ferment, Steep, Wood
from middlecut.steps.still import Still

if TYPE_CHECKING:
    from collections.abc import Iterable

    from middlecut.insight.narrow import NarrowedCompound
    from middlecut.plan.model import Plan

__all__ = ["NINETY", "UncertainInput", "uncertain_inputs", "with_narrowed", "with_spreads"]

_WEAKEST, _STRONGEST = 0.02, 0.95
"""Given lots outside these are called exact in strength: an offset could leave 0 to 100 %."""


@dataclass(frozen=True, slots=True)
class _Rule:
    """One row of the table of input uncertainties."""

    form: Form
    spread: float
    basis: str
    source: str
    label: str
    advice: str

    def input(self, key: str, **names: str) -> UncertainInput:
        spread = self.spread if self.form == "offset" else 1.0 + self.spread
        return UncertainInput(
            key,
            self.label.format(**names),
            self.form,
            spread,
            spread,
            self.basis,
            self.source,
            self.advice.format(**names),
        )


@lru_cache(maxsize=1)
def _rules() -> dict[str, _Rule]:
    path = files("middlecut.insight") / "tables" / "input_uncertainty.csv"
    return {
        row["input"]: _Rule(
            row["form"],  # type: ignore[arg-type]
            float(row["spread"]),
            row["basis"],
            row["source"],
            row["label"],
            row["advice"],
        )
        for row in csv.DictReader(path.read_text(encoding="utf-8").splitlines())
    }


def uncertain_inputs(plan: Plan, compounds: Iterable[str] = ()) -> tuple[UncertainInput, ...]:
    """Return every uncertain input that a plan has, with its distribution.

    Parameters
    ----------
    plan : Plan
        The plan.
    compounds : iterable of str
        Compounds whose volatility counts: all that its lots hold. Those that never distil are left
        out.

    Returns
    -------
    tuple of UncertainInput
        In a fixed order, without doubles.

    Notes
    -----
    A volatility factor is common to a compound through the whole plan, a content to all
    fermentations of one profile: two batches of one recipe share yeast and grain, so their
    differences do not average out. One alcoholometer and one thermometer serve the whole plan.
    Left out: the equilibrium of ethanol and water (0.008 in y, well below the effect of the
    stages), reading errors that differ from one reading to the next, and models that are wrong in
    kind rather than in a number.
    """
    found = (
        *_still_inputs(plan),
        *_instrument_inputs(plan),
        *_step_inputs(plan),
        *_given_inputs(plan),
        *_content_inputs(plan),
        *_ingredient_inputs(plan),
        *(one for step in plan.steps if isinstance(step, Ferment) for one in wash_inputs(step)),
        *(
            one
            for step in plan.steps
            if isinstance(step, Steep | Ferment)
            for one in solid_inputs(step)
        ),
        *(one for step in plan.steps if isinstance(step, Wood) for one in wood_inputs(step)),
        *_volatility_inputs(compounds),
    )
    return tuple({one.key: one for one in found}.values())


def with_spreads(
    inputs: tuple[UncertainInput, ...], spreads: Mapping[str, float]
) -> tuple[UncertainInput, ...]:
    """Return the inputs with some spreads of the user's own.

    Parameters
    ----------
    inputs : tuple of UncertainInput
        As :func:`uncertain_inputs` returns them.
    spreads : mapping of str to float
        By key: half-width of the 5–95 % range, as a share for factors and in SI for offsets; 0
        makes the input exact.

    Returns
    -------
    tuple of UncertainInput
        In the same order.

    Raises
    ------
    NotFoundError
        If the plan has no input of that key.
    InputError
        If a spread is negative or not a number.
    """
    known = [one.key for one in inputs]
    for key, spread in spreads.items():
        if key not in known:
            near = nearest(key, known)
            raise NotFoundError("uncertain input", key, (near,) if near else ())
        if not 0.0 <= spread < math.inf:
            raise InputError(
                f"spreads[{key}]", spread, "a spread is 0 or more", "Give half of the 5–95 % range."
            )
    return tuple(
        _with_spread(one, spreads[one.key]) if one.key in spreads else one for one in inputs
    )


def with_narrowed(
    inputs: tuple[UncertainInput, ...], narrowed: Iterable[NarrowedCompound]
) -> tuple[UncertainInput, ...]:
    """Return the inputs with the volatilities that laboratory results have narrowed.

    Parameters
    ----------
    inputs : tuple of UncertainInput
        As :func:`uncertain_inputs` returns them.
    narrowed : iterable of NarrowedCompound
        As :func:`middlecut.insight.narrow.narrow_volatility` returns them.

    Returns
    -------
    tuple of UncertainInput
        In the same order. A compound that the plan does not hold changes nothing.

    Raises
    ------
    InputError
        If a compound is there twice.
    """
    known: dict[str, NarrowedCompound] = {}
    for one in narrowed:
        key = f"volatility.{one.compound}"
        if key in known:
            raise InputError(
                "narrowed", one.compound, "it is there twice",
                "Give all results of a compound to narrow_volatility at once.",
            )  # fmt: skip
        known[key] = one
    return tuple(_narrowed(one, known[one.key]) if one.key in known else one for one in inputs)


def _narrowed(one: UncertainInput, measured: NarrowedCompound) -> UncertainInput:
    factor = measured.volatility
    width = factor.spread**NINETY
    label = f"volatility of {measured.compound} as measured"
    return replace(
        one, label=label, up=width, down=width, centre=factor.median,
        basis="measured", source="laboratory results",
    )  # fmt: skip


def _with_spread(one: UncertainInput, spread: float) -> UncertainInput:
    width = spread if one.form == "offset" else 1.0 + spread
    return replace(one, up=width, down=width, source="stated by the user")


def _still_inputs(plan: Plan) -> Iterator[UncertainInput]:
    used = {step.still for step in plan.steps if isinstance(step, Distil)}
    names = [field.name for field in fields(Still) if f"still.{field.name}" in _rules()]
    for name in sorted(used & set(plan.stills)):
        still = plan.stills[name]
        for quantity in names:
            value = getattr(still, quantity)
            exact = 1.0 if _rules()[f"still.{quantity}"].form == "remainder" else 0.0
            if value is not None and value != exact:
                yield _rules()[f"still.{quantity}"].input(f"still.{name}.{quantity}", still=name)


def _instrument_inputs(plan: Plan) -> Iterator[UncertainInput]:
    runs = [step for step in plan.steps if isinstance(step, Distil)]
    if runs:
        yield _rules()["batch.pressure"].input("batch.pressure")
    ends = [cut.until for run in runs for cut in run.cuts]
    ends += [change.at for run in runs for change in run.power_changes]
    for quantity, instrument in (
        ("strength", "alcoholometer"),
        ("head_temperature", "thermometer"),
    ):
        if any(getattr(until, quantity) is not None for until in ends):
            yield _rules()[f"instrument.{instrument}"].input(f"instrument.{instrument}")


def _step_inputs(plan: Plan) -> Iterator[UncertainInput]:
    for step in plan.steps:
        present: list[tuple[str, bool]] = []
        if isinstance(step, Ferment):
            present = [("ferment.volume", True), ("ferment.gravity", True)]
            present += [("ferment.final_gravity", True), ("ferment.lees", step.lees > 0.0)]
        elif isinstance(step, Distil):
            powers = [step.power, *(cut.power for cut in step.cuts if cut.power is not None)]
            volumes = any(cut.until.volume is not None for cut in step.cuts)
            present = [("distil.power", any(power < 1.0 for power in powers))]
            present += [("distil.volume", volumes), ("distil.water", step.water > 0.0)]
        elif isinstance(step, Dilute):
            present = [("dilute.strength", True)]
        for rule, there in present:
            if there:
                quantity = rule.split(".")[1]
                yield _rules()[rule].input(f"step.{step.id}.{quantity}", step=step.id)
        takes = getattr(step, "takes", None) or (getattr(step, "take", None),)
        if any(take is not None and take.volume is not None for take in takes):
            yield _rules()["take.volume"].input(f"step.{step.id}.take", step=step.id)


def _given_inputs(plan: Plan) -> Iterator[UncertainInput]:
    for lot in plan.given:
        yield _rules()["given.volume"].input(f"given.{lot.name}.volume", lot=lot.name)
        if _WEAKEST < lot.strength < _STRONGEST:
            yield _rules()["given.strength"].input(f"given.{lot.name}.strength", lot=lot.name)
        for compound, amount in lot.amounts.items():
            key = f"given.{lot.name}.content.{compound}"
            yield from content_input(key, (), amount, f"{compound} in {lot.name}")


def _content_inputs(plan: Plan) -> Iterator[UncertainInput]:
    for step in plan.steps:
        if not isinstance(step, Ferment):
            continue
        for row in congeners.congener_levels(step.profile):
            amount = Amount(row.typical, row.low, row.high, row.basis)
            label = f"{row.compound} that the yeast makes"
            target = (step.profile, row.compound)
            yield from content_input(
                f"content.{'.'.join(target)}", target, amount, label, row.source
            )
        for compound, amount in step.compounds.items():
            target = (f"step:{step.id}", compound)
            label = f"{compound} in {step.into}"
            yield from content_input(f"content.{'.'.join(target)}", target, amount, label)


def _ingredient_inputs(plan: Plan) -> Iterator[UncertainInput]:
    for step in plan.steps:
        additions = getattr(step, "additions", ())
        for addition in additions if isinstance(additions, tuple) else ():
            ingredient = addition.ingredient
            rule = _rules()["ingredient.extraction"]
            yield rule.input(f"extraction.{ingredient.name}", ingredient=ingredient.name)
            for marker in ingredient.markers:
                amount = Amount(marker.typical, marker.low, marker.high, marker.basis)
                target = (ingredient.name, marker.compound)
                label = f"{marker.compound} in {ingredient.name}"
                yield from content_input(f"content.{'.'.join(target)}", target, amount, label)


def _volatility_inputs(compounds: Iterable[str]) -> Iterator[UncertainInput]:
    for compound in dict.fromkeys(compounds):
        try:
            grade = volatility.grade(compound)
        except NotFoundError:
            continue  # it stays in the boiler
        ninety = grade.factor**NINETY
        yield UncertainInput(
            key=f"volatility.{grade.compound}",
            label=f"volatility of {compound} (grade {grade.grade})",
            form="factor",
            up=ninety,
            down=ninety,
            basis=grade.basis,
            source=grade.anchor,
            advice=f"have {compound} measured in charge and distillate",
            target=(grade.compound,),
        )
