# SPDX-License-Identifier: MIT
"""Drive the compiled kernel through heat-up, filling, total reflux and the cuts of one run."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from middlecut.errors import ConvergenceError, InputError
from middlecut.liquid import alcoholometry
from middlecut.steps import kernel
from middlecut.steps.lot import SOLIDS_VOLUME
from middlecut.steps.medium import NODES
from middlecut.steps.rows import Rows, Segment
from middlecut.steps.scenario import RUN_TOLERANCE
from middlecut.units import format_quantity

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from middlecut.steps.columns import Columns
    from middlecut.steps.medium import Medium
    from middlecut.steps.parameters import Cut, Distil, PowerChange, Until
    from middlecut.steps.still import Still

    Array = NDArray[np.float64]

__all__ = ["Load", "Outcome", "run_still"]

DRY = 0.01
"""A run ends at the latest when this share of the charge is left in the boiler."""
ROUGH = 2e-3
"""The same while the profile settles, which is itself a simplification."""
SETTLING = 3.0
"""Turnovers of the hold-up before the first drop."""
LATENT_HEAT = 41e3  # J/mol, near enough for times before the first drop
SMALLEST_HOLDUP = 0.02  # mol; half a millilitre keeps every level a state without being felt


@dataclass(frozen=True, slots=True, eq=False)
class Outcome:
    """What a run leaves behind.

    Parameters
    ----------
    rows : Rows
    segments : tuple of Segment
        One per cut.
    state : ndarray
        Boiler, levels and receiver at the end, as the kernel keeps them.
    shares : ndarray, shape (levels + 2, k)
        Share of each column on every level, in the receiver and, last, still in solids.
    holdup : ndarray
        Per level, the boiler's unused. [mol]
    fill_time : float
        Filling and total reflux before the first drop. [s]
    """

    rows: Rows
    segments: tuple[Segment, ...]
    state: Array
    shares: Array
    holdup: Array
    fill_time: float


@dataclass(frozen=True, slots=True, eq=False)
class Load:
    """What is loaded.

    Parameters
    ----------
    amounts : tuple of float
        Ethanol and water in the charge. [mol]
    solids : float
        Dissolved solids in the charge. [kg]
    columns : Columns
        What boils, origin by origin.
    bed : float
        Liquid that a botanical bed in the vapour path holds; 0 without one. [m³]
    soak : float
        Time that a botanical in the boiler has given off before the first vapour, counted at the
        rate of the boil. [s]
    """

    amounts: tuple[float, float]
    solids: float
    columns: Columns
    bed: float = 0.0
    soak: float = 0.0


class _Run:
    """The mutable middle of a run; lives only inside ``run_still``."""

    def __init__(
        self, load: Load, parameters: Distil, still: Still, medium: Medium, tolerance: float
    ) -> None:
        amounts = load.amounts
        self.tolerance = tolerance
        self.parameters = parameters
        self.still = still
        self.medium = medium
        # A botanical bed in the vapour path is one more level below the head.
        self.stages = round(still.stages) + (1 if load.bed > 0.0 else 0)
        table = medium.table
        first = amounts[0] / (amounts[0] + amounts[1])
        y = float(np.interp(first, np.linspace(0.0, 1.0, NODES), table[:, 1]))
        molar = _molar_volume(y)
        self.holdup = np.empty(self.stages + 2)
        self.holdup[0] = 0.0
        self.holdup[1:-1] = max(still.stage_holdup / molar, SMALLEST_HOLDUP)
        self.holdup[-1] = max(still.head_holdup / molar, SMALLEST_HOLDUP)
        self.state = np.zeros(self.stages + 5)
        self.state[0] = amounts[0]
        self.state[1] = amounts[0] + amounts[1]
        if load.bed > 0.0:
            self.holdup[-2] = max(load.bed / molar, SMALLEST_HOLDUP)
        columns = load.columns
        self.release = np.array(columns.release)
        in_basket = np.array([place == "basket" for place in columns.entry_points], dtype=bool)
        self.source = np.where(in_basket, self.stages, 0).astype(np.int64)
        self.shares = np.zeros((self.stages + 4, len(columns.compounds)))
        self.shares[0] = [origin is None for origin in columns.origins]
        self.shares[-1] = columns.accessible
        self._soak(load.soak * ~in_basket)
        self.rows = Rows(self.stages, len(medium.compounds))
        self.clock = 0.0
        self.step = 0.01
        self.power = parameters.power
        self.coolant = still.coolant_duty
        self.ratio = still.reflux_ratio or 0.0

    def _soak(self, time: Array) -> None:
        """Release into the boiler for a time at the boil. [s]."""
        gone = self.shares[-1] * -np.expm1(-self.release * time)
        self.shares[-1] -= gone
        self.shares[0] += gone

    def drive(self, *, held: bool) -> Array:
        """Return the heats and the reflux ratio of the moment, as the kernel takes them."""
        still = self.still
        return np.array(
            [
                still.heater_power * still.heater_efficiency * self.power - still.boiler_loss,
                still.column_loss / self.stages if self.stages else 0.0,
                still.head_loss + self.coolant + (0.0 if self.stages else still.column_loss),
                self.ratio,
                1.0 if held else 0.0,
            ]
        )

    def model(self, solids: float, *, held: bool) -> kernel.Model:
        """Return the kernel's view of the still with the settings of the moment."""
        found = self.medium
        return kernel.Model(
            found.table,
            found.volatility,
            found.density,
            self.holdup,
            solids,
            self.drive(held=held),
            self.release,
            self.source,
        )

    def adopt(self, cut: Cut) -> None:
        """Take over the settings of a cut."""
        self.power = self.power if cut.power is None else cut.power
        self.coolant = self.coolant if cut.coolant_duty is None else cut.coolant_duty
        self.ratio = self.ratio if cut.reflux_ratio is None else cut.reflux_ratio

    def wait(self, time: float, limit: float, *, held: bool, tolerance: float) -> None:
        """Run for a time before the first drop; the rows are not kept."""
        self.clock = 0.0
        self.advance(
            np.array([[kernel.AT_TIME, time, 0.0, 0.0, 0.0]]),
            0.0,
            limit + time,
            held=held,
            record=False,
            tolerance=tolerance,
        )
        self.rows.count = 0

    def advance(
        self,
        triggers: Array,
        solids: float,
        limit: float,
        *,
        held: bool,
        record: bool,
        tolerance: float | None = None,
    ) -> int:
        """Advance until a trigger fires; return its index."""
        armed = np.zeros(len(triggers), np.int64)
        rows, start = self.rows, record
        while True:
            before = rows.count
            status, self.clock, self.step, rows.count = kernel.advance(
                self.state,
                self.shares,
                self.clock,
                min(self.step, 1.0),
                self.model(solids, held=held),
                triggers,
                armed,
                tolerance or self.tolerance,
                limit,
                rows.record(),
                rows.count,
                start,
            )
            rows.setting[before : rows.count] = (self.power, self.coolant, self.ratio)
            start = False
            if status != kernel.FULL:
                break
            rows.grow()
        if status == kernel.FAILED:
            raise ConvergenceError("The integration of the run", rows.count, float(self.step))
        return int(status)


def run_still(
    *,
    load: Load,
    parameters: Distil,
    still: Still,
    medium: Medium,
    tolerance: float = RUN_TOLERANCE,
) -> Outcome:
    """Run the still through all cuts.

    Parameters
    ----------
    load : Load
    parameters : Distil
    still : Still
    medium : Medium
        For the compounds of ``load.columns``.
    tolerance : float
        Largest local error of a step, as a share of the charge (amounts) or of 1 (mole fractions).

    Returns
    -------
    Outcome
        Rows, cuts and what is left.

    Raises
    ------
    InputError
        If the power is too low, the hold-up too large, or a cut never comes to its end.
    ConvergenceError
        If the integration fails.
    """
    run = _Run(load, parameters, still, medium, tolerance)
    solids = load.solids
    _check_drive(run)
    held = float(run.holdup.sum())
    if held > 0.5 * run.state[1]:
        raise InputError(
            "charge",
            f"{run.state[1]:.3g} mol",
            f"column and head alone hold {held:.3g} mol, over half of it",
            "Load more, or check the hold-up of the still.",
        )
    charge = float(run.state[1])
    fill_time = _fill(run)
    limit = 50.0 * charge * LATENT_HEAT / run.drive(held=False)[0] + 1e5
    if parameters.total_reflux > 0.0:
        run.wait(parameters.total_reflux, limit, held=True, tolerance=tolerance)
        fill_time += parameters.total_reflux
    else:
        _settle(run, limit)
    run.rows.count = 0
    run.clock = 0.0
    run.step = 0.01
    dry = DRY * charge * 18e-6 + solids * SOLIDS_VOLUME
    changes = list(parameters.power_changes)
    ends = _Ends(solids=solids * SOLIDS_VOLUME, dry=dry, limit=limit)
    segments = tuple(_cut(run, index, changes, ends) for index in range(len(parameters.cuts)))
    run.rows.trim()
    return Outcome(run.rows, segments, run.state, run.shares, run.holdup, fill_time)


def _settle(run: _Run, limit: float) -> None:
    """Let the profile settle at the settings of the first cut; what comes over goes back.

    By the first drop the levels have seen a few times their hold-up in vapour; how they fill is
    not modelled, so the time this takes is not counted.
    """
    first = run.parameters.cuts[0]
    run.adopt(first)
    _check_drive(run)
    vapour = float(run.drive(held=True)[0]) / LATENT_HEAT
    turnovers = SETTLING * float(run.holdup.sum())
    time = min(turnovers, 0.3 * float(run.state[1])) / vapour
    run.wait(time, limit, held=False, tolerance=ROUGH)
    run.state[0] += run.state[-2]
    run.state[1] += run.state[-1]
    run.state[-2:] = 0.0
    run.shares[0] += run.shares[-2]
    run.shares[-2] = 0.0


def _fill(run: _Run) -> float:
    table = run.medium.table
    x = run.state[0] / run.state[1]
    grid = np.linspace(0.0, 1.0, NODES)
    heat = float(np.interp(x, grid, table[:, 4]) - np.interp(x, grid, table[:, 2]))
    needed = float(run.holdup.sum()) * heat
    kernel.fill_levels(run.state, run.shares, run.model(0.0, held=True))
    return needed / float(run.drive(held=True)[0])


@dataclass(frozen=True, slots=True)
class _Ends:
    """Volume of solids and of an almost empty boiler [m³], and the latest end [s]."""

    solids: float
    dry: float
    limit: float


def _cut(run: _Run, index: int, changes: list[PowerChange], ends: _Ends) -> Segment:
    cut = run.parameters.cuts[index]
    run.adopt(cut)
    _check_drive(run)
    first = run.rows.count
    reference = (float(run.state[-2]), float(run.state[-1]))
    while True:
        triggers = [
            _trigger(cut.until, reference),
            [kernel.AT_BOILER_VOLUME, ends.dry, 0.0, 0.0, 0.0],
            *(_trigger(change.at, (0.0, 0.0)) for change in changes),
        ]
        if run.rows.count + 2 > run.rows.capacity:
            run.rows.grow()
        fired = run.advance(np.array(triggers), ends.solids, ends.limit, held=False, record=True)
        if fired == 0:
            return Segment(first, run.rows.count - 1)
        if fired >= 2:
            run.power = changes.pop(fired - 2).power
            _check_drive(run)
            continue
        raise _never(run, index, cut, first, stalled=fired == kernel.STALLED)


def _trigger(until: Until, reference: tuple[float, float]) -> list[float]:
    if until.strength is not None:
        target = alcoholometry.mole_fraction_from_strength(until.strength)
        return [kernel.AT_STRENGTH, float(target), 0.0, 0.0, 0.0]
    if until.head_temperature is not None:
        return [kernel.AT_HEAD_TEMPERATURE, until.head_temperature, 0.0, 0.0, 0.0]
    if until.time is not None:
        return [kernel.AT_TIME, until.time, 0.0, 0.0, 0.0]
    if until.volume is not None:
        return [kernel.AT_COLLECTED, until.volume, *reference, 0.0]
    if until.boiler_volume is not None:
        return [kernel.AT_BOILER_VOLUME, until.boiler_volume, 0.0, 0.0, 0.0]
    raise InputError("until", None, "a cut needs one of volume, strength, temperature or time")


def _check_drive(run: _Run) -> None:
    if run.drive(held=False)[0] <= 0.0:
        raise InputError(
            "power",
            f"{run.power:.0%} of {run.still.heater_power:.0f} W",
            f"the boiler loses {run.still.boiler_loss:.0f} W to the room, more than is put in",
            "Raise the power or insulate the boiler.",
        )


def _never(run: _Run, index: int, cut: Cut, first: int, *, stalled: bool) -> InputError:
    place, asked = f"cuts[{index}].until", _words(cut.until)
    if stalled:
        return InputError(
            place,
            asked,
            "nothing comes over: head and coolant send all vapour back to the boiler",
            "Raise the power, or lower the coolant duty or the head loss.",
        )
    rows, table = run.rows, run.medium.table
    grid = np.linspace(0.0, 1.0, len(table))
    ends = rows.state[[first, rows.count - 1], -3]
    heads = [format_quantity(float(t), "temperature") for t in np.interp(ends, grid, table[:, 0])]
    strengths = [
        format_quantity(_strength(float(y)), "strength") for y in np.interp(ends, grid, table[:, 1])
    ]
    return InputError(
        place,
        asked,
        f"the point where {cut.into!r} should end never comes: the cut starts at {strengths[0]} "
        f"with the head at {heads[0]}, and the boiler is almost empty at {strengths[1]}, "
        f"{heads[1]}",
        "Give this cut an end that lies between those two, or change the cut before it.",
    )


def _words(until: Until) -> str:
    """Say the end of a cut as a person would."""
    kinds = (
        ("strength", until.strength),
        ("temperature", until.head_temperature),
        ("duration", until.time),
        ("volume", until.volume),
        ("volume", until.boiler_volume),
    )
    found = [format_quantity(value, kind) for kind, value in kinds if value is not None]
    return found[0] if found else "nothing"


def _strength(mole_fraction: float) -> float:
    return alcoholometry.strength_from_mass_fraction(
        alcoholometry.mass_fraction_from_mole_fraction(mole_fraction)
    )


def _molar_volume(mole_fraction: float) -> float:
    """Volume of a mole of mixture at 20 °C. [m³ mol⁻¹]."""
    mass = mole_fraction * kernel.ETHANOL + (1.0 - mole_fraction) * kernel.WATER
    return mass / alcoholometry.density_20(mole_fraction * kernel.ETHANOL / mass)
