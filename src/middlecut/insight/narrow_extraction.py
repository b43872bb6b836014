# SPDX-License-Identifier: MIT
"""Narrow content, extraction and partition of ingredients by compounds measured in one lot."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from typing import TYPE_CHECKING

import numpy as np

from middlecut.errors import InputError, NotFoundError
from middlecut.insight.narrow import NUDGE, Factor, LabResult, NarrowedCompound, narrow_factors
from middlecut.insight.uncertain_input import NINETY, UncertainInput
from middlecut.insight.uncertainty import uncertain_inputs, with_narrowed
from middlecut.plan.predict import predict
from middlecut.steps.ferment import ferment
from middlecut.steps.parameters import Ferment, Steep
from middlecut.steps.scenario import Scenario
from middlecut.steps.steep import steep

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from middlecut.plan.model import Plan
    from middlecut.steps.lot import Lot
    from middlecut.steps.result import StepResult

    Array = NDArray[np.float64]

__all__ = [
    "NarrowedExtraction",
    "NarrowedInput",
    "extraction_check",
    "median_scenario",
    "narrow_extraction",
    "with_extraction",
    "with_measured",
]

_SAYS_NOTHING = 1e-3
"""Slope below which a lot does not depend on an input."""
_ALREADY = math.log(1.5)
"""Deviation of ln of what the liquid held already, where its content has no range; our estimate."""


@dataclass(frozen=True, slots=True)
class NarrowedInput:
    """One uncertain input, before and after laboratory results.

    Parameters
    ----------
    key, label : str
        As :func:`middlecut.insight.uncertainty.uncertain_inputs` names it.
    target : tuple of str
        What it acts on.
    before, after : Factor
        Ratios to what the plan predicts.
    """

    key: str
    label: str
    target: tuple[str, ...]
    before: Factor
    after: Factor


@dataclass(frozen=True, slots=True)
class NarrowedExtraction:
    """What compounds measured in a steep or a wash say of its ingredients.

    Parameters
    ----------
    step : str
    inputs : tuple of NarrowedInput
        Content and partition of each compound, the share of each ingredient that comes out, which
        all its compounds have in common, and what of a compound is there without the ingredient.
    correlation : tuple of tuple of float
        Among the inputs: mostly only their product is known.
    results : int
    surprise : float
        Largest distance of a result from the prior prediction, in standard deviations.
    brought : tuple of (str, str)
        Ingredient and compound of all that the step adds, measured or not.
    """

    step: str
    inputs: tuple[NarrowedInput, ...]
    correlation: tuple[tuple[float, ...], ...]
    results: int
    surprise: float
    brought: tuple[tuple[str, str], ...] = ()

    def scenario(self) -> Scenario:
        """Return the scenario in which every input has its new median."""
        content: dict[tuple[str, str], float] = {}
        process: dict[tuple[str, str], float] = {}
        shares: dict[str, float] = {}
        for one in self.inputs:
            if one.target[:1] == ("process",):
                process[one.target[1], one.target[2]] = one.after.median
            elif len(one.target) == 2:
                content[one.target[0], one.target[1]] = one.after.median
            elif one.key.startswith("extraction."):
                shares[one.key.removeprefix("extraction.")] = one.after.median
        for origin, compound in self.brought:
            factor = content.get((origin, compound), 1.0) * shares.get(origin, 1.0)
            content[origin, compound] = factor
        return Scenario(content=content, process=process)


def narrow_extraction(plan: Plan, step_id: str, results: Iterable[LabResult]) -> NarrowedExtraction:
    """Narrow content, extraction and partition of ingredients by laboratory results of one lot.

    Parameters
    ----------
    plan : Plan
        What was done.
    step_id : str
        Of the steep, or of the fermentation with ingredients in it.
    results : iterable of LabResult
        Compounds measured in what it made.

    Returns
    -------
    NarrowedExtraction
        All inputs together, as one share that comes out acts on every compound of an ingredient.

    Raises
    ------
    NotFoundError
        If the plan has no such step, or the step no such lot.
    InputError
        If a result is not above 0, or no ingredient brings that compound.

    Notes
    -----
    The straight line through the prediction on the scale of logarithms, as in
    :func:`middlecut.insight.narrow.narrow_factors`. One lot tells the product of the factors and
    not each of them: that shows as correlations near -1, which the draws keep. Measuring the
    ingredient, or the same ingredient in another amount of liquid, tells them apart.
    """
    step = plan.step(step_id)
    if not (isinstance(step, Steep | Ferment) and step.additions):
        ids = tuple(
            one.id for one in plan.steps if isinstance(one, Steep | Ferment) and one.additions
        )
        raise NotFoundError("steep or wash with ingredients", step_id, ids[:3])
    done = predict(plan).steps[step_id]
    rows = tuple(results)
    if not rows:
        raise InputError("results", 0, "at least one result is needed", "Have a lot measured.")
    for row in rows:
        _check(row, done, step)
    measured = {row.compound for row in rows}
    names = {addition.ingredient.name for addition in step.additions}
    if isinstance(step, Ferment):  # what the yeast makes, or the wash is said to hold
        names |= {step.profile, f"step:{step.id}"}
    inputs = [one for one in uncertain_inputs(plan) if _acts(one, names, measured)]
    inputs += _already(done, measured) if isinstance(step, Steep) else []
    predicted = np.array([done.made[row.lot].compounds[row.compound] for row in rows])
    slopes = np.stack(
        [_slope(step, done, rows, predicted, _nudged(one, measured)) for one in inputs],
        axis=1,
    )
    kept = [at for at in range(len(inputs)) if np.max(np.abs(slopes[:, at])) > _SAYS_NOTHING]
    inputs, slopes = [inputs[at] for at in kept], slopes[:, kept]
    if not inputs:
        raise InputError(
            "results", ", ".join(sorted(measured)),
            "what the plan says of these compounds has no range that a result could narrow",
            "Give their content in the ingredient with a range.",
        )  # fmt: skip
    found = _narrowed(step_id, rows, predicted, inputs=inputs, slopes=slopes)
    brought = [
        (addition.ingredient.name, marker.compound)
        for addition in step.additions
        for marker in addition.ingredient.markers
    ]
    return replace(found, brought=tuple(dict.fromkeys(brought)))


def extraction_check(plan: Plan, step_id: str) -> Callable[[LabResult], None]:
    """Return what raises the fault of a result of what a step made, if it has one.

    Parameters
    ----------
    plan : Plan
        What was done.
    step_id : str
        Of the steep or the fermentation.

    Returns
    -------
    callable
    """
    step = plan.step(step_id)
    assert isinstance(step, Steep | Ferment)  # noqa: S101 - of no other step
    done = predict(plan).steps[step_id]
    return lambda row: _check(row, done, step)


def _narrowed(
    step_id: str,
    rows: Sequence[LabResult],
    predicted: Array,
    *,
    inputs: Sequence[UncertainInput],
    slopes: Array,
) -> NarrowedExtraction:
    deviations = np.array([math.log(one.up * one.down) / (2.0 * NINETY) for one in inputs])
    uncertainty = np.array([row.uncertainty for row in rows])
    logs = np.log(np.array([row.value for row in rows]) / predicted)
    mean, covariance = narrow_factors(
        logs=logs, slopes=slopes, uncertainty=uncertainty, deviations=deviations
    )
    after = np.sqrt(np.diag(covariance))
    beforehand = np.sqrt((slopes**2) @ (deviations**2) + uncertainty**2)
    found = tuple(
        NarrowedInput(
            one.key,
            one.label,
            one.target,
            Factor.of(0.0, float(deviations[at])),
            Factor.of(float(mean[at]), float(after[at])),
        )
        for at, one in enumerate(inputs)
    )
    correlation = covariance / np.outer(after, after)
    return NarrowedExtraction(
        step=step_id,
        inputs=found,
        correlation=tuple(tuple(row) for row in correlation.tolist()),
        results=len(rows),
        surprise=float(np.max(np.abs(logs) / beforehand)),
    )


def _check(row: LabResult, done: StepResult, step: Steep | Ferment) -> None:
    if row.lot not in done.made:
        near = tuple(get_close_matches(row.lot, done.made, 3, 0.0))
        raise NotFoundError("lot of this step", row.lot, near)
    if not (0.0 < row.value < math.inf and 0.0 < row.uncertainty < math.inf):
        raise InputError(row.compound, row.value, "a result and its uncertainty lie above 0")
    brought = {
        marker.compound: addition.ingredient.name
        for addition in step.additions
        for marker in addition.ingredient.tracked
    }
    if row.compound not in brought:
        raise InputError(
            row.compound, row.value,
            f"no ingredient of this step is known to bring it; they bring {', '.join(brought)}",
            "Give its content in the ingredient in the plan.",
        )  # fmt: skip
    if not done.made[row.lot].compounds.get(row.compound, 0.0) > 0.0:
        raise InputError(
            row.compound, row.value,
            f"none of it is predicted in {row.lot}, so that no factor can explain the result",
            "Look at the time and the form of the ingredient in the plan.",
        )  # fmt: skip


def _acts(one: UncertainInput, names: set[str], measured: set[str]) -> bool:
    """Say whether an input acts on a measured compound of these ingredients."""
    if one.form != "factor":
        return False
    for name in names:
        if one.key == f"extraction.{name}":
            return True
        if any(one.key in {f"content.{name}.{c}", f"partition.{name}.{c}"} for c in measured):
            return True
    return False


def _already(done: StepResult, measured: set[str]) -> list[UncertainInput]:
    """Return inputs for what the liquid held of the measured compounds before the steep."""
    found = []
    for lot in done.used.values():
        for compound in sorted(measured & set(lot.amounts)):
            amount = lot.amounts[compound]
            known = 0.0 < amount.low < amount.typical < amount.high
            spread = math.exp(NINETY * _ALREADY)
            found.append(
                UncertainInput(
                    key=f"already.{lot.name}.{compound}",
                    label=f"{compound} that {lot.name} held already",
                    form="factor",
                    up=amount.high / amount.typical if known else spread,
                    down=amount.typical / amount.low if known else spread,
                    basis=amount.basis,
                    source="range of the lot" if known else "own estimate",
                    target=("already", lot.name, compound),
                )
            )
    return found


def _nudged(one: UncertainInput, measured: set[str]) -> tuple[Scenario, tuple[str, str] | None]:
    """Return the scenario, or lot and compound, in which one input is a little larger."""
    up = math.exp(NUDGE)
    if one.key.startswith("extraction."):
        name = one.key.removeprefix("extraction.")
        return Scenario(content={(name, c): up for c in measured}, lean=True), None
    if one.target[0] == "already":
        return Scenario(lean=True), (one.target[1], one.target[2])
    if len(one.target) == 3:
        return Scenario(process={(one.target[1], one.target[2]): up}, lean=True), None
    return Scenario(content={(one.target[0], one.target[1]): up}, lean=True), None


def _slope(
    step: Steep | Ferment,
    done: StepResult,
    rows: Sequence[LabResult],
    predicted: Array,
    nudge: tuple[Scenario, tuple[str, str] | None],
) -> Array:
    scenario, more = nudge
    if isinstance(step, Ferment):
        made = ferment(step, scenario=scenario).made
    else:
        (taken,) = done.used.values()
        made = steep(step, _with_more(taken, more), scenario=scenario).made
    moved = np.array([made[row.lot].compounds[row.compound] for row in rows])
    return np.log(moved / predicted) / NUDGE


def _with_more(taken: Lot, more: tuple[str, str] | None) -> Lot:
    if more is None:
        return taken
    amount = taken.amounts[more[1]]
    return replace(taken, amounts={**taken.amounts, more[1]: amount.scaled(math.exp(NUDGE))})


def with_extraction(
    inputs: tuple[UncertainInput, ...], narrowed: Iterable[NarrowedExtraction]
) -> tuple[UncertainInput, ...]:
    """Return the inputs of a plan with those that laboratory results of a lot have narrowed.

    Parameters
    ----------
    inputs : tuple of UncertainInput
        As :func:`middlecut.insight.uncertainty.uncertain_inputs` returns them.
    narrowed : iterable of NarrowedExtraction
        As :func:`narrow_extraction` returns them.

    Returns
    -------
    tuple of UncertainInput
        In the same order; tied to each other as the results tie them. Inputs that the plan does
        not have change nothing.

    Raises
    ------
    InputError
        If two of them move the same input.
    """
    moved: dict[str, UncertainInput] = {}
    by_key = {one.key: one for one in inputs}
    for found in narrowed:
        places = [at for at, one in enumerate(found.inputs) if one.key in by_key]
        correlation = np.array(found.correlation)[np.ix_(places, places)]
        root = np.linalg.cholesky(correlation + 1e-12 * np.eye(len(places)))
        keys = [found.inputs[at].key for at in places]
        for row, at in enumerate(places):
            one = found.inputs[at]
            if one.key in moved:
                raise InputError(
                    "narrowed", one.key, "two sets of results move it",
                    "Give all results of a step to narrow_extraction at once.",
                )  # fmt: skip
            width = one.after.spread**NINETY
            weights = tuple(zip(keys[: row + 1], root[row, : row + 1].tolist(), strict=True))
            moved[one.key] = replace(
                by_key[one.key], up=width, down=width, centre=one.after.median, mix=weights,
                basis="measured", source="laboratory results",
            )  # fmt: skip
    return tuple(moved.get(one.key, one) for one in inputs)


def with_measured(
    inputs: tuple[UncertainInput, ...], narrowed: Iterable[NarrowedCompound | NarrowedExtraction]
) -> tuple[UncertainInput, ...]:
    """Return the inputs of a plan with all that laboratory results have narrowed.

    Parameters
    ----------
    inputs : tuple of UncertainInput
        As :func:`middlecut.insight.uncertainty.uncertain_inputs` returns them.
    narrowed : iterable of (NarrowedCompound or NarrowedExtraction)
        Of runs, of steeps and of washes.

    Returns
    -------
    tuple of UncertainInput
        In the same order.

    Raises
    ------
    InputError
        If something is narrowed twice.
    """
    known = tuple(narrowed)
    volatilities = [one for one in known if isinstance(one, NarrowedCompound)]
    extractions = [one for one in known if isinstance(one, NarrowedExtraction)]
    return with_extraction(with_narrowed(inputs, volatilities), extractions)


def median_scenario(narrowed: Iterable[NarrowedCompound | NarrowedExtraction]) -> Scenario:
    """Return the scenario in which everything narrowed has its new median.

    Parameters
    ----------
    narrowed : iterable of (NarrowedCompound or NarrowedExtraction)
        Of runs, of steeps and of washes.

    Returns
    -------
    Scenario
        Of a run only the volatility: what was found of a content belongs to that charge.
    """
    volatility: dict[str, float] = {}
    content: dict[tuple[str, str], float] = {}
    process: dict[tuple[str, str], float] = {}
    for one in narrowed:
        if isinstance(one, NarrowedCompound):
            volatility[one.compound] = one.volatility.median
        else:
            found = one.scenario()
            content |= found.content
            process |= found.process
    return Scenario(volatility, content, process)
