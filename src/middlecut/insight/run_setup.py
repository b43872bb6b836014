# SPDX-License-Identifier: MIT
"""What is known of a run before its first reading: the step, the charge, the still, and how far."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np

from middlecut.errors import InputError, NotFoundError
from middlecut.insight.calibrate import CHARGE_STRENGTH, OFFSETS, still_of, still_parameters
from middlecut.insight.calibrated import CalibratedStill
from middlecut.insight.draws import known_still
from middlecut.insight.still_model import CHARGE, LoggedRun
from middlecut.plan.predict import walk
from middlecut.steps.basket import bed_liquid
from middlecut.steps.lot import Lot
from middlecut.steps.mixing import mixed, water_lot
from middlecut.steps.parameters import Distil
from middlecut.steps.still import Still

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from middlecut.plan.model import Plan

    Array = NDArray[np.float64]

__all__ = ["EXECUTION", "Belief", "RunSetup", "Truth", "beliefs_of", "charge_of", "distil_step"]

# How far things are from the plan, one standard deviation; all are our estimates.
PREDICTED_STRENGTH, MEASURED_STRENGTH = 0.010, 0.004
PREDICTED_VOLUME, MEASURED_VOLUME = 0.02, 0.01
HEAT_UP = 0.06
"""Of the logarithm of the time to the first drop: the metal, the lid, the start temperature."""
JUG = 0.01
"""Of the marks on the jugs, the same for all volumes of a run."""
CALL = {"strength": 0.005, "temperature": 0.3, "volume": 0.01}
"""Reading error at the moment a cut is called: strength, head temperature [K], share of volume."""

CHARGE_VOLUME = "volume of the charge"
HEATING = "time to the first drop"
STRENGTH_OFFSET = "offset of the alcoholometer"
HEAD_OFFSET = "offset of the head thermometer"
JUGS = "marks on the jugs"
CALLS = "the eye at the cut"
EXECUTION = (HEATING, STRENGTH_OFFSET, HEAD_OFFSET, JUGS, CALLS)
"""What belongs to the person and the instruments and not to still and charge."""


@dataclass(frozen=True, slots=True)
class Belief:
    """One uncertain parameter of a run: normal on its scale.

    Parameters
    ----------
    name : str
    centre, deviation : float
        On the scale.
    logarithmic : bool
        Whether the scale is the logarithm.
    low, high : float
        Bounds, in the unit of the parameter.
    """

    name: str
    centre: float
    deviation: float
    logarithmic: bool = False
    low: float = -math.inf
    high: float = math.inf

    def value(self, q: float) -> float:
        """Return the parameter at so many deviations from the centre."""
        inner = self.centre + self.deviation * q
        return min(max(math.exp(inner) if self.logarithmic else inner, self.low), self.high)

    def within(self, q: Array) -> Array:
        """Return deviations held where the parameter meets its bounds."""
        low, high = (
            math.log(bound) if self.logarithmic and 0.0 < bound < math.inf else bound
            for bound in (self.low, self.high)
        )
        if self.logarithmic and self.low <= 0.0:
            low = -math.inf
        return np.clip(
            q, (low - self.centre) / self.deviation, (high - self.centre) / self.deviation
        )


@dataclass(frozen=True, slots=True)
class Truth:
    """How still and charge may truly be.

    Parameters
    ----------
    still : Still
    charge : Lot
    heating : float
        Factor on the time to the first drop.
    strength_offset, head_offset : float
        What alcoholometer (0 to 1) and head thermometer [K] show too much.
    """

    still: Still
    charge: Lot
    heating: float
    strength_offset: float
    head_offset: float


@dataclass(frozen=True, slots=True)
class RunSetup:
    """A run before its first reading; hashable, so that its draws can be kept.

    Parameters
    ----------
    step : Distil
        As carried out so far and planned from here on.
    still : Still
    masses : tuple of float
        Water, ethanol and solids in the charge [kg], and its temperature [K].
    pressure : float
        [Pa]
    bed : float
        Liquid held by a botanical bed. [m³]
    beliefs : tuple of Belief
        Columns of every array of deviations.
    correlation : tuple of tuple of float
        Of the deviations, before any reading.
    """

    step: Distil
    still: Still
    masses: tuple[float, float, float, float]
    pressure: float
    bed: float
    beliefs: tuple[Belief, ...]
    correlation: tuple[tuple[float, ...], ...]

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the parameters, in order."""
        return tuple(one.name for one in self.beliefs)

    def charge(self) -> Lot:
        """Return the charge as described."""
        water, ethanol, solids, temperature = self.masses
        return Lot(CHARGE, water, ethanol, solids, temperature=temperature)

    def within(self, q: Array) -> Array:
        """Return rows of deviations held where a parameter meets its bounds."""
        rows = [one.within(q[:, place]) for place, one in enumerate(self.beliefs)]
        return np.stack(rows, axis=1)

    def truth(self, q: Array) -> Truth:
        """Return still and charge at a row of deviations."""
        values = {one.name: one.value(at) for one, at in zip(self.beliefs, q.tolist(), strict=True)}
        still = still_of(self.still, values)
        charge = self.charge()
        factor = 1.0 + values[CHARGE_STRENGTH] / charge.strength
        ethanol = charge.ethanol * factor
        water = max(charge.water + charge.ethanol - ethanol, 0.0)
        share = values[CHARGE_VOLUME]
        charge = replace(charge, ethanol=ethanol * share, water=water * share)
        return Truth(
            still=still,
            charge=replace(charge, solids=charge.solids * share),
            heating=values[HEATING],
            strength_offset=values[STRENGTH_OFFSET],
            head_offset=values[HEAD_OFFSET],
        )


def distil_step(plan: Plan, step_id: str) -> Distil:
    """Return the distil step of that id.

    Parameters
    ----------
    plan : Plan
    step_id : str

    Returns
    -------
    Distil

    Raises
    ------
    NotFoundError
        If there is no such step, or its still is not described.
    """
    step = plan.step(step_id)
    if not isinstance(step, Distil):
        ids = tuple(one.id for one in plan.steps if isinstance(one, Distil))
        raise NotFoundError("distil step", step_id, ids[:3])
    if step.still not in plan.stills:
        raise NotFoundError("still", step.still, tuple(plan.stills)[:3])
    return step


_CHARGES: list[tuple[Plan, str, Lot]] = []
_KEPT = 8


def charge_of(plan: Plan, step_id: str) -> Lot:
    """Return what a plan predicts to be in the boiler at the start of a step.

    Parameters
    ----------
    plan : Plan
    step_id : str
        Of a distil step.

    Returns
    -------
    Lot
        Compounds left out; kept, so that the next reading need not wait for it.
    """
    for known, name, lot in _CHARGES:
        if known is plan and name == step_id:
            return lot
    place = [step.id for step in plan.steps].index(step_id)
    step = distil_step(plan, step_id)
    results = walk(replace(plan, steps=plan.steps[: place + 1])).results
    parts = tuple(results[step_id].used.values())
    if step.water > 0.0:
        parts = (*parts, water_lot(step.water))
    lot = replace(mixed(parts, CHARGE), amounts={})
    _CHARGES.append((plan, step_id, lot))
    del _CHARGES[:-_KEPT]
    return lot


def beliefs_of(
    step: Distil,
    still: Still | CalibratedStill,
    charge: Lot,
    *,
    pressure: float,
    measured: bool,
) -> RunSetup:
    """Put together what is known of a run before its first reading.

    Parameters
    ----------
    step : Distil
        With its additions.
    still : Still or CalibratedStill
        As described, or as fitted to earlier runs; then its parameters keep their covariance.
    charge : Lot
    pressure : float
        [Pa]
    measured : bool
        Whether the charge was measured or only predicted.

    Returns
    -------
    RunSetup
        With the step as planned.

    Raises
    ------
    InputError
        If the charge holds no ethanol.
    """
    if not charge.ethanol > 0.0:
        raise InputError("charge", "0 %vol", "the charge holds no ethanol", "Measure it again.")
    found, correlation = _still_beliefs(still, step, charge, pressure)
    strength = MEASURED_STRENGTH if measured else PREDICTED_STRENGTH
    volume = MEASURED_VOLUME if measured else PREDICTED_VOLUME
    at = charge.strength
    found += [
        Belief(CHARGE_STRENGTH, 0.0, strength, low=-0.5 * at, high=0.95 - at),
        Belief(CHARGE_VOLUME, 0.0, volume, logarithmic=True),
        Belief(HEATING, 0.0, HEAT_UP, logarithmic=True),
        Belief(STRENGTH_OFFSET, 0.0, OFFSETS["strength"]),
        Belief(HEAD_OFFSET, 0.0, OFFSETS["temperature"]),
        Belief(JUGS, 0.0, JUG),
        Belief(CALLS, 0.0, 1.0),
    ]
    whole = np.eye(len(found))
    whole[: len(correlation), : len(correlation)] = correlation
    return RunSetup(
        step=step,
        still=still.still if isinstance(still, CalibratedStill) else still,
        masses=(charge.water, charge.ethanol, charge.solids, charge.temperature),
        pressure=pressure,
        bed=bed_liquid(step.additions),
        beliefs=tuple(found),
        correlation=tuple(tuple(row) for row in whole.tolist()),
    )


def _still_beliefs(
    still: Still | CalibratedStill, step: Distil, charge: Lot, pressure: float
) -> tuple[list[Belief], Array]:
    if isinstance(still, CalibratedStill):
        known = known_still(still)
        covariance = known.root @ known.root.T
        deviations = np.sqrt(np.diag(covariance))
        found = [
            Belief(name, centre, deviation, log, low=0.0 if not log else -math.inf)
            for name, log, centre, deviation in zip(
                known.names, known.logarithmic, known.centre.tolist(), deviations.tolist(),
                strict=True,
            )
        ]  # fmt: skip
        return found, covariance / np.outer(deviations, deviations)
    run = LoggedRun(step.id, step, charge, pressure)
    parameters = [
        one for one in still_parameters(still, [run]) if not one.name.startswith(CHARGE_STRENGTH)
    ]
    rows = [_belief(one) for one in parameters]
    return rows, np.eye(len(rows))


def _belief(one: Any) -> Belief:
    return Belief(
        one.name,
        one.inner(one.prior.mean),
        one.prior.deviation,
        one.transform == "log",
        one.low,
        one.high,
    )


@lru_cache(maxsize=16)
def correlation_of(setup: RunSetup) -> Array:
    """Return the correlation of the deviations as an array."""
    return np.array(setup.correlation)
