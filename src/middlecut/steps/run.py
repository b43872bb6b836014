# SPDX-License-Identifier: MIT
"""Drive the compiled kernel through heat-up, filling, total reflux and the cuts of one run."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from middlecut.errors import InputError
from middlecut.liquid import alcoholometry
from middlecut.steps import kernel
from middlecut.steps.lot import SOLIDS_VOLUME
from middlecut.steps.medium import even
from middlecut.steps.rows import Rows, Segment
from middlecut.steps.run_refusals import (
    check_drive,
    check_hold,
    never_ends,
    never_reached,
    words_of,
)
from middlecut.steps.scenario import RUN_TOLERANCE
from middlecut.steps.still_run import StillRun
from middlecut.units import format_quantity

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from middlecut.steps.medium import Medium
    from middlecut.steps.parameters import Distil, PowerChange, Until
    from middlecut.steps.still import Still
    from middlecut.steps.still_run import Load

    Array = NDArray[np.float64]

__all__ = ["Outcome", "run_still"]

DRY = 0.01
"""A run ends at the latest when this share of the charge is left in the boiler."""
ROUGH = 2e-3
"""Tolerance while the profile settles, which is itself a simplification."""
SETTLING = 3.0
"""Turnovers of the hold-up before the first drop."""
LATENT_HEAT = 41e3  # J/mol, near enough for times before the first drop


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
        Filling, settling and total reflux before the first drop. [s]
    held_heat : float
        Heat that cooling water takes at total reflux. [J]
    """

    rows: Rows
    segments: tuple[Segment, ...]
    state: Array
    shares: Array
    holdup: Array
    fill_time: float
    held_heat: float


def run_still(
    *,
    load: Load,
    parameters: Distil,
    still: Still,
    medium: Medium,
    tolerance: float = RUN_TOLERANCE,
    strict: bool = True,
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
    strict : bool
        Refuse a hold at total reflux that the still cannot return. A run that has been made, or a
        draw of what a still may be, is not refused for that.

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
    run = StillRun(load, parameters, still, medium, tolerance)
    solids = load.solids
    check_drive(run)
    held = float(run.holdup.sum())
    if held > 0.5 * run.state[1]:
        raise InputError(
            "from",
            format_quantity(float(run.state[1]) * run.molar, "volume"),
            f"column and head alone hold {format_quantity(held * run.molar, 'volume')}, over half "
            "of that",
            "Load more, or check the hold-up of the still.",
        )
    charge = float(run.state[1])
    fill_time = _fill(run)
    limit = 50.0 * charge * LATENT_HEAT / run.drive(held=False)[0] + 1e5
    held_heat = 0.0
    if parameters.total_reflux > 0.0:
        held_heat = check_hold(run, strict=strict) * parameters.total_reflux
        run.wait(parameters.total_reflux, limit, held=True, tolerance=tolerance)
        fill_time += parameters.total_reflux
    else:
        fill_time += _settle(run, limit)
    run.rows.count = 0
    run.clock = 0.0
    run.step = 0.01
    dry = DRY * charge * 18e-6 + solids * SOLIDS_VOLUME
    changes = list(enumerate(parameters.power_changes))
    ends = _Ends(solids=solids * SOLIDS_VOLUME, dry=dry, limit=limit)
    segments = tuple(_cut(run, index, changes, ends) for index in range(len(parameters.cuts)))
    if changes:
        raise never_reached(run, *changes[0])
    run.rows.trim()
    return Outcome(run.rows, segments, run.state, run.shares, run.holdup, fill_time, held_heat)


def _settle(run: StillRun, limit: float) -> float:
    """Let the profile settle at the settings of the first cut; return the time it takes. [s].

    How a still warms up level by level is not modelled: by the first drop the levels are taken to
    have seen a few times their hold-up in vapour, and what would have come over is put back.
    """
    first = run.parameters.cuts[0]
    run.adopt(first)
    check_drive(run)
    vapour = float(run.drive(held=True)[0]) / LATENT_HEAT
    turnovers = SETTLING * float(run.holdup.sum())
    time = min(turnovers, 0.3 * float(run.state[1])) / vapour
    run.wait(time, limit, held=False, tolerance=ROUGH)
    run.state[0] += run.state[-2]
    run.state[1] += run.state[-1]
    run.state[-2:] = 0.0
    run.shares[0] += run.shares[-2]
    run.shares[-2] = 0.0
    return time


def _fill(run: StillRun) -> float:
    table = run.medium.table
    x = run.state[0] / run.state[1]
    grid = even()
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


def _cut(run: StillRun, index: int, changes: list[tuple[int, PowerChange]], ends: _Ends) -> Segment:
    cut = run.parameters.cuts[index]
    run.adopt(cut)
    check_drive(run)
    if cut.until.time is not None and cut.until.time <= run.clock:
        raise InputError(
            f"cuts[{index}].until",
            words_of(cut.until),
            f"{cut.into!r} starts {format_quantity(run.clock, 'duration')} after the first drop, "
            "so its end is already past",
            "Times count from the first drop of the run. Give a later one.",
        )
    first = run.rows.count
    reference = (float(run.state[-2]), float(run.state[-1]))
    while True:
        triggers = [
            _trigger(cut.until, reference),
            [kernel.AT_BOILER_VOLUME, ends.dry, 0.0, 0.0, 0.0],
            *(_trigger(change.at, (0.0, 0.0)) for _, change in changes),
        ]
        if run.rows.count + 2 > run.rows.capacity:
            run.rows.grow()
        fired = run.advance(np.array(triggers), ends.solids, ends.limit, held=False, record=True)
        if fired == 0:
            if run.state[-1] - reference[1] <= 1e-9:
                raise never_ends(run, index, cut, first, stalled=True)
            return Segment(first, run.rows.count - 1)
        if fired >= 2:
            run.power = changes.pop(fired - 2)[1].power
            check_drive(run)
            continue
        raise never_ends(run, index, cut, first, stalled=fired == kernel.STALLED)


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
