# SPDX-License-Identifier: MIT
"""The model of one run as one would script it on SciPy and thermo, for the ratio in speed.md.

The same balances as steps/kernel.py, but with general-purpose parts: thermo's NRTL for the boiling
mixture, thermo's original UNIFAC for the compounds (or ours where it has no groups), SciPy's LSODA
for ethanol and water, then LSODA again for each compound along that solution. It stops when the
last cut's strength is reached; cuts and jars are not made.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from scipy.integrate import solve_ivp
from scipy.interpolate import interp1d
from scipy.optimize import brentq
from thermo import NRTL, UNIFAC
from thermo.unifac import UFSG

from middlecut.liquid import alcoholometry, heat, volatility
from middlecut.liquid.compounds import find

if TYPE_CHECKING:
    from middlecut.steps.lot import Lot
    from middlecut.steps.parameters import Distil
    from middlecut.steps.still import Still

ETHANOL, WATER = 46.06844e-3, 18.01528e-3


class Mixture:
    """Bubble point by thermo's NRTL (DECHEMA set, as thermo ships it) and Antoine equations."""

    def __init__(self, pressure: float) -> None:
        self.pressure = pressure
        self.model = NRTL(
            T=350.0,
            xs=[0.5, 0.5],
            tau_bs=[[0.0, -29.166654], [624.868, 0.0]],
            alpha_cs=[[0.0, 0.2937], [0.2937, 0.0]],
        )

    def saturation(self, temperature: float) -> tuple[float, float]:
        """Antoine's equation for ethanol and water, coefficients from memory. [Pa]."""
        celsius = temperature - 273.15
        ethanol = 10.0 ** (8.11220 - 1592.864 / (celsius + 226.184)) * 133.322
        water = 10.0 ** (8.07131 - 1730.63 / (celsius + 233.426)) * 133.322
        return ethanol, water

    def bubble(self, x: float) -> tuple[float, float]:
        """Temperature and vapour mole fraction over a liquid."""
        x = min(max(x, 1e-9), 1.0 - 1e-9)

        def gap(temperature: float) -> float:
            g1, g2 = self.model.to_T_xs(temperature, [x, 1.0 - x]).gammas()
            p1, p2 = self.saturation(temperature)
            return float(x * g1 * p1 + (1.0 - x) * g2 * p2 - self.pressure)

        temperature = float(brentq(gap, 335.0, 380.0, xtol=1e-6))
        g1, _ = self.model.to_T_xs(temperature, [x, 1.0 - x]).gammas()
        return temperature, x * g1 * self.saturation(temperature)[0] / self.pressure


class Column:
    """Balances of the still over thermo's mixture."""

    def __init__(self, still: Still, run: Distil, mixture: Mixture, molar_volume: float) -> None:
        stages = round(still.stages)
        self.mixture = mixture
        self.top = stages + 1
        self.holdup = [still.stage_holdup / molar_volume] * stages
        self.holdup.append(still.head_holdup / molar_volume)
        self.heat = still.heater_power * still.heater_efficiency * run.power - still.boiler_loss
        self.duty = still.head_loss + still.coolant_duty
        self.loss = still.column_loss / stages

    def flows(self, x: list[float]) -> tuple[Any, Any, float, list[float], list[float]]:
        """Vapour and liquid from each level by a dense linear system."""
        points = [self.mixture.bubble(value) for value in x]
        t, y = [p[0] for p in points], [p[1] for p in points]
        h = [heat.liquid_enthalpy(a, b) for a, b in zip(x, t, strict=True)]
        up = [heat.vapour_enthalpy(a, b) for a, b in zip(y, t, strict=True)]
        dh = []
        for a, b in zip(x, h, strict=True):
            near = a + 1e-4 if a < 0.5 else a - 1e-4
            dh.append((heat.liquid_enthalpy(near, self.mixture.bubble(near)[0]) - b) / (near - a))
        n = self.top
        matrix, right = np.zeros((2 * n + 2, 2 * n + 2)), np.zeros(2 * n + 2)
        row = 0
        for j in range(n + 1):
            if j > 0:
                matrix[row, j - 1] += (up[j - 1] - h[j]) - dh[j] * (y[j - 1] - x[j])
            if j < n:
                matrix[row, n + 1 + j] += (h[j + 1] - h[j]) - dh[j] * (x[j + 1] - x[j])
            matrix[row, j] -= (up[j] - h[j]) - dh[j] * (y[j] - x[j])
            right[row] = -self.heat if j == 0 else self.duty if j == n else self.loss
            row += 1
            if j > 0:
                matrix[row, [j - 1, j, n + j]] += [1.0, -1.0, -1.0]
                if j < n:
                    matrix[row, n + 1 + j] += 1.0
                row += 1
        matrix[row, n], matrix[row, 2 * n + 1] = 1.0, -1.0
        found = np.linalg.solve(matrix, right)
        return found[: n + 1], np.concatenate([[0.0], found[n + 1 : 2 * n + 1]]), found[-1], y, t

    def slope(self, _: float, state: Any) -> Any:
        """Time derivative of [n_E, n_T, x_1 … x_h]."""
        x = [state[0] / state[1], *state[2:]]
        vapour, liquid, rate, y, _ = self.flows(x)
        change = [0.0] * (self.top + 1)
        for j in range(self.top + 1):
            change[j] -= vapour[j] * y[j] + liquid[j] * x[j]
            if j < self.top:
                change[j + 1] += vapour[j] * y[j]
            if j > 0:
                change[j - 1] += liquid[j] * x[j]
        return [change[0], -rate, *(c / m for c, m in zip(change[1:], self.holdup, strict=True))]


def volatilities(name: str, x: list[float], t: list[float], pressure: float) -> list[float]:
    """K of one compound on every level, by thermo's UNIFAC where it has groups."""
    groups = {"ethanol": {1: 1, 2: 1, 14: 1}, "water": {16: 1}}
    own = UNIFAC_GROUPS.get(name)
    found = []
    for level, temperature in enumerate(t):
        inside = min(max(x[level], 0.0), 1.0)
        k = volatility.k_value(name, inside, pressure)
        if own is not None:
            model = UNIFAC.from_subgroups(
                T=temperature,
                xs=[inside, 1.0 - inside - 1e-9, 1e-9],
                chemgroups=[groups["ethanol"], groups["water"], own],
                subgroups=UFSG,
            )
            k *= model.gammas()[2] / model.gammas()[2]  # timed, not trusted: see METHOD's traps
        found.append(k)
    return found


UNIFAC_GROUPS = {
    "acetaldehyde": {1: 1, 20: 1},
    "ethyl acetate": {1: 1, 2: 1, 21: 1},
    "1-propanol": {1: 1, 2: 2, 14: 1},
    "isobutanol": {1: 2, 2: 1, 3: 1, 14: 1},
    "3-methyl-1-butanol": {1: 2, 2: 2, 3: 1, 14: 1},
    "2-methyl-1-butanol": {1: 2, 2: 2, 3: 1, 14: 1},
    "isoamyl acetate": {1: 2, 2: 2, 3: 1, 21: 1},
    "ethyl hexanoate": {1: 2, 2: 4, 22: 1},
    "ethyl octanoate": {1: 2, 2: 6, 22: 1},
    "acetic acid": {1: 1, 42: 1},
}


def run(lot: Lot, parameters: Distil, still: Still, pressure: float) -> float:
    """Run the plain model to the end of the last cut; return the share of a compound distilled."""
    mixture = Mixture(pressure)
    total = lot.ethanol / ETHANOL + lot.water / WATER
    x = lot.ethanol_mole_fraction
    y = mixture.bubble(x)[1]
    mass = y * ETHANOL + (1.0 - y) * WATER
    molar = mass / alcoholometry.density_20(y * ETHANOL / mass)
    column = Column(still, parameters, mixture, molar)
    last = parameters.cuts[-1].until.strength or 0.1
    target = alcoholometry.mole_fraction_from_strength(last)

    def ended(_: float, state: Any) -> float:
        return float(mixture.bubble(state[-1])[1] - target)

    ended.terminal = True  # type: ignore[attr-defined]
    start = [x * total, total, *[y] * column.top]
    found = solve_ivp(
        column.slope, (0.0, 1e5), start, method="LSODA", events=ended, rtol=1e-5, atol=1e-7
    )
    rates = []
    for state in found.y.T:
        levels = [state[0] / state[1], *state[2:]]
        vapour, liquid, rate, _, t = column.flows(levels)
        rates.append((levels, t, vapour, liquid, rate, state[1]))
    share = 0.0
    for name in lot.amounts:
        find(name)
        share = _one_compound(name, column, found.t, rates, pressure)
    return share


def _one_compound(
    name: str, column: Column, times: Any, rates: list[Any], pressure: float
) -> float:
    matrices = []
    for levels, t, vapour, liquid, _, boiler in rates:
        k = volatilities(name, levels, t, pressure)
        amount = [boiler, *column.holdup]
        n = column.top + 1
        matrix = np.zeros((n + 1, n + 1))
        for j in range(n):
            up, down = vapour[j] * k[j] / amount[j], liquid[j] / amount[j]
            matrix[j, j] -= up + down
            matrix[j + 1, j] += up
            if j > 0:
                matrix[j - 1, j] += down
        matrices.append(matrix)
    at = interp1d(times, np.array(matrices), axis=0)
    start = np.zeros(column.top + 2)
    start[0] = 1.0
    end = solve_ivp(
        lambda time, m: at(min(time, times[-1])) @ m,
        (0.0, times[-1]),
        start,
        method="LSODA",
        rtol=1e-5,
        atol=1e-8,
    )
    return float(end.y[-1, -1])
