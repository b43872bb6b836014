# SPDX-License-Identifier: MIT
"""The state of a run between calls of the kernel: levels, settings, rows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from middlecut.errors import ConvergenceError
from middlecut.liquid import alcoholometry
from middlecut.steps import kernel
from middlecut.steps.medium import even
from middlecut.steps.rows import Rows

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from middlecut.steps.columns import Columns
    from middlecut.steps.medium import Medium
    from middlecut.steps.parameters import Cut, Distil
    from middlecut.steps.still import Still

    Array = NDArray[np.float64]

__all__ = ["Load", "StillRun", "levels_of"]

SMALLEST_HOLDUP = 0.02  # mol; half a millilitre keeps every level a state without being felt


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


class StillRun:
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
        levels, last = levels_of(still)
        self.stages = levels + (1 if load.bed > 0.0 else 0)
        table = medium.table
        first = amounts[0] / (amounts[0] + amounts[1])
        y = float(np.interp(first, even(), table[:, 1]))
        molar = _molar_volume(y)
        self.molar = molar
        self.holdup = np.empty(self.stages + 2)
        self.holdup[0] = 0.0
        self.holdup[1:-1] = max(still.stage_holdup / molar, SMALLEST_HOLDUP)
        self.efficiency = np.ones(self.stages + 2)
        self.efficiency[-1] = still.head_efficiency
        if levels:
            self.holdup[levels] = max(last * still.stage_holdup / molar, SMALLEST_HOLDUP)
            self.efficiency[levels] = last
        # Every stage has its part of the column's loss. Below one stage the head has the rest.
        parts = self.efficiency.copy()
        parts[[0, -1]] = 0.0
        self.loss = still.column_loss * parts / max(float(parts.sum()), 1.0)
        self.head_share = max(1.0 - float(parts.sum()), 0.0)
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
                still.head_loss + self.coolant + self.head_share * still.column_loss,
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
            self.loss,
            self.efficiency,
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


def levels_of(still: Still) -> tuple[int, float]:
    """Return the levels that stand for the stages of a column, and what the last one counts for.

    Parameters
    ----------
    still : Still

    Returns
    -------
    levels : int
        0 or more.
    last : float
        Share of the vapour that comes to equilibrium on the last one, up to 1. The rest passes,
        so that a still between two whole numbers of stages lies between the two.
    """
    levels = int(np.ceil(still.stages - 1e-9))
    return levels, min(still.stages - (levels - 1), 1.0)


def _molar_volume(mole_fraction: float) -> float:
    """Volume of a mole of mixture at 20 °C. [m³ mol⁻¹]."""
    mass = mole_fraction * kernel.ETHANOL + (1.0 - mole_fraction) * kernel.WATER
    return mass / alcoholometry.density_20(mole_fraction * kernel.ETHANOL / mass)
