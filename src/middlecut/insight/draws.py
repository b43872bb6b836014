# SPDX-License-Identifier: MIT
"""Make of a plan what one draw takes it to be: other stills, measures, contents, volatilities."""

from __future__ import annotations

import math
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from middlecut.insight.uncertain_input import tied
from middlecut.liquid import alcoholometry
from middlecut.steps.lot import SOLIDS_VOLUME, Amount, Lot
from middlecut.steps.parameters import (
    Cut,
    Dilute,
    Distil,
    Ferment,
    PowerChange,
    Steep,
    StepParameters,
    Take,
    Until,
)
from middlecut.steps.scenario import DRAW_TOLERANCE, Scenario
from middlecut.steps.still import Still

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from middlecut.insight.calibrated import CalibratedStill
    from middlecut.insight.uncertainty import UncertainInput
    from middlecut.plan.model import Plan

    Array = NDArray[np.float64]

__all__ = ["Beliefs", "KnownStill", "deviates", "known_still", "vary"]

_PRESSURES = (-1.40, -0.53, 0.0, 0.53, 1.40)
"""Means of the fifths of a standard normal distribution: the air pressure takes five values, so
that the tables of the mixture are made five times and not once a draw."""


@dataclass(frozen=True, slots=True, eq=False)
class KnownStill:
    """Parameters of a still that readings have narrowed; they vary together.

    Parameters
    ----------
    names : tuple of str
        Fields of a Still.
    logarithmic : tuple of bool
        Whether a parameter is normal on its logarithm.
    centre : ndarray, shape (n,)
        Estimates on their scales.
    root : ndarray, shape (n, n)
        A matrix whose product with its transpose is their covariance.
    """

    names: tuple[str, ...]
    logarithmic: tuple[bool, ...]
    centre: Array
    root: Array

    def values(self, row: Array) -> dict[str, float]:
        """Return the parameters that belong to a row of standard normal deviates."""
        inner = self.centre + self.root @ row
        return {
            name: math.exp(at) if log else max(at, 0.0)  # a loss is never a gain
            for name, log, at in zip(self.names, self.logarithmic, inner.tolist(), strict=True)
        }


def known_still(calibrated: CalibratedStill) -> KnownStill:
    """Return what a calibration says of a still, without charges and instruments.

    Parameters
    ----------
    calibrated : CalibratedStill
        As fitted.

    Returns
    -------
    KnownStill
        With the covariance among the parameters of the still itself.
    """
    fields_ = {one.name for one in fields(Still)}
    places = [at for at, one in enumerate(calibrated.parameters) if one.name in fields_]
    chosen = [calibrated.parameters[at] for at in places]
    logarithmic = tuple(one.scale == "log" for one in chosen)
    values, vectors = np.linalg.eigh(np.array(calibrated.inner_covariance)[np.ix_(places, places)])
    return KnownStill(
        names=tuple(one.name for one in chosen),
        logarithmic=logarithmic,
        centre=np.array(
            [
                math.log(one.value) if log else one.value
                for one, log in zip(chosen, logarithmic, strict=True)
            ]
        ),
        root=vectors @ np.diag(np.sqrt(np.maximum(values, 0.0))) @ vectors.T,
    )


@dataclass(frozen=True, slots=True)
class Beliefs:
    """What is believed of the inputs of a plan.

    Parameters
    ----------
    inputs : tuple of UncertainInput
        One column of deviates each.
    stills : mapping of str to KnownStill
        Stills of the plan that readings have narrowed, by name.
    """

    inputs: tuple[UncertainInput, ...]
    stills: Mapping[str, KnownStill] = field(default_factory=dict)


def deviates(inputs: Sequence[UncertainInput], draws: int, seed: int) -> Array:
    """Return standard normal deviates for all draws and inputs: a Latin hypercube.

    Each input has a stream of its own, made from the seed and the input's key, so an input keeps
    its deviates when others come or go, and two variants of a plan are compared on equal terms.

    Parameters
    ----------
    inputs : sequence of UncertainInput
        One column each.
    draws : int
        Rows.
    seed : int
        0 or more.

    Returns
    -------
    ndarray, shape (draws, inputs)
    """
    from scipy.special import ndtri  # noqa: PLC0415 - only needed with draws

    found = np.empty((draws, len(inputs)))
    for column, one in enumerate(inputs):
        stream = np.random.default_rng([seed, zlib.crc32(one.key.encode())])
        found[:, column] = (stream.permutation(draws) + stream.random(draws)) / draws
    deviate: Array = ndtri(np.clip(found, 1e-12, 1.0 - 1e-12))
    return deviate


def vary(plan: Plan, beliefs: Beliefs, row: Array) -> tuple[Plan, Scenario]:
    """Return the plan and the scenario of one draw.

    Parameters
    ----------
    plan : Plan
        The nominal plan.
    beliefs : Beliefs
        Inputs in the order of the row.
    row : ndarray, shape (inputs,)
        Standard normal deviates.

    Returns
    -------
    plan : Plan
        With the stills, lots and measures of the draw.
    scenario : Scenario
        With its contents and volatilities; lean.
    """
    draw = _Draw(beliefs, row)
    volatility: dict[str, float] = {}
    content: dict[tuple[str, str], float] = {}
    process: dict[tuple[str, str], float] = {}
    for one, z in zip(beliefs.inputs, draw.row, strict=True):
        if len(one.target) == 1:
            volatility[one.target[0]] = one.factor(z)
        elif len(one.target) == 3:
            process[one.target[1], one.target[2]] = one.apply(_neutral(one), z)
        elif one.target:
            content[one.target[0], one.target[1]] = one.factor(z)
    for ingredient, compound in draw.markers(plan):
        came_out = draw.value(f"extraction.{ingredient}", 1.0)
        content[ingredient, compound] = content.get((ingredient, compound), 1.0) * came_out
    varied = replace(
        plan,
        batch=replace(plan.batch, pressure=draw.pressure(plan.batch.pressure)),
        stills={name: draw.still(name, still) for name, still in plan.stills.items()},
        given=tuple(draw.lot(lot) for lot in plan.given),
        steps=tuple(draw.step(step) for step in plan.steps),
    )
    return varied, Scenario(volatility, content, process, lean=True, tolerance=DRAW_TOLERANCE)


def _neutral(one: UncertainInput) -> float:
    """Return the value that changes nothing."""
    return 0.0 if one.form == "offset" else 1.0


class _Draw:
    """One row of deviates, by the key of its input."""

    def __init__(self, beliefs: Beliefs, row: Array) -> None:
        self.row = tied(beliefs.inputs, row.tolist())
        self.stills = beliefs.stills
        self.found = {one.key: (one, z) for one, z in zip(beliefs.inputs, self.row, strict=True)}

    def value(self, key: str, nominal: float) -> float:
        """Return an input's value in this draw; the nominal one if it is not uncertain."""
        if key not in self.found:
            return nominal
        one, z = self.found[key]
        return one.apply(nominal, z)

    def markers(self, plan: Plan) -> set[tuple[str, str]]:
        """Return ingredient and compound of every marker in the plan."""
        return {
            (addition.ingredient.name, marker.compound)
            for step in plan.steps
            if isinstance(step, Ferment | Distil | Steep)
            for addition in step.additions
            for marker in addition.ingredient.markers
        }

    def pressure(self, nominal: float) -> float:
        """Return the air pressure, one of five values."""
        if "batch.pressure" not in self.found:
            return nominal
        one, z = self.found["batch.pressure"]
        return one.apply(nominal, min(_PRESSURES, key=lambda level: abs(level - z)))

    def still(self, name: str, still: Still) -> Still:
        """Return a still as it truly is in this draw."""
        changed: dict[str, Any] = {
            one.name: self.value(f"still.{name}.{one.name}", getattr(still, one.name))
            for one in fields(Still)
            if f"still.{name}.{one.name}" in self.found
        }
        known = self.stills.get(name)
        if known is not None:
            row = np.array([self.found[f"still.{name}.{key}"][1] for key in known.names])
            changed.update(known.values(row))
        return replace(still, **changed) if changed else still

    def lot(self, lot: Lot) -> Lot:
        """Return a given lot as it truly is in this draw."""
        found = lot.part(self.value(f"given.{lot.name}.volume", 1.0))
        key = f"given.{lot.name}.strength"
        if key in self.found:
            found = _at_strength(found, self.value(key, lot.strength))
        amounts = {
            compound: _scaled(amount, self.value(f"given.{lot.name}.content.{compound}", 1.0))
            for compound, amount in found.amounts.items()
        }
        return replace(found, amounts=amounts)

    def step(self, step: StepParameters) -> StepParameters:
        """Return a step as it is truly carried out in this draw."""
        key = f"step.{step.id}"
        if isinstance(step, Ferment):
            return replace(
                step,
                volume=self.value(f"{key}.volume", step.volume),
                gravity=self.value(f"{key}.gravity", step.gravity),
                final_gravity=self.value(f"{key}.final_gravity", step.final_gravity),
                lees=self.value(f"{key}.lees", step.lees),
            )
        if f"{key}.take" in self.found:
            step = self._taking(step, self.value(f"{key}.take", 1.0))
        if isinstance(step, Dilute):
            return replace(step, strength=self.value(f"{key}.strength", step.strength))
        if isinstance(step, Distil):
            return self._run(step, key)
        return step

    def _taking(self, step: StepParameters, share: float) -> StepParameters:
        if hasattr(step, "takes"):
            takes = tuple(_part(take, share) for take in step.takes)
            return replace(step, takes=takes)  # type: ignore[arg-type]
        if hasattr(step, "take"):
            return replace(step, take=_part(step.take, share))  # type: ignore[arg-type]
        return step

    def _run(self, step: Distil, key: str) -> Distil:
        dial = self.value(f"{key}.power", 1.0)
        marks = self.value(f"{key}.volume", 1.0)
        return replace(
            step,
            water=self.value(f"{key}.water", step.water),
            power=_set(step.power, dial),
            cuts=tuple(self._cut(cut, dial, marks) for cut in step.cuts),
            power_changes=tuple(
                PowerChange(self._until(change.at, marks), _set(change.power, dial))
                for change in step.power_changes
            ),
        )

    def _cut(self, cut: Cut, dial: float, marks: float) -> Cut:
        power = None if cut.power is None else _set(cut.power, dial)
        return replace(cut, until=self._until(cut.until, marks), power=power)

    def _until(self, until: Until, marks: float) -> Until:
        if until.volume is not None:
            return replace(until, volume=until.volume * marks)
        if until.strength is not None:
            read = self.value("instrument.alcoholometer", until.strength)
            return replace(until, strength=read) if read > 0.0 else until
        if until.head_temperature is not None:
            read = self.value("instrument.thermometer", until.head_temperature)
            return replace(until, head_temperature=read)
        return until


def _set(power: float, dial: float) -> float:
    """Return a setting of the dial; full power is full power."""
    return power if power >= 1.0 else min(power * dial, 1.0)


def _part(take: Take, share: float) -> Take:
    return take if take.volume is None else replace(take, volume=take.volume * share)


def _scaled(amount: Amount, factor: float) -> Amount:
    return Amount(amount.typical * factor, amount.low, amount.high, amount.basis)


def _at_strength(lot: Lot, strength: float) -> Lot:
    """Return a lot of the same volume and solids at another strength."""
    pure = lot.volume * strength
    liquid = lot.volume - lot.solids * SOLIDS_VOLUME
    ethanol = pure * alcoholometry.ETHANOL_DENSITY_20
    mass_fraction = alcoholometry.mass_fraction_from_strength(pure / liquid)
    return replace(lot, ethanol=ethanol, water=ethanol / mass_fraction - ethanol)
