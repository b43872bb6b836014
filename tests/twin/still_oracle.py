# SPDX-License-Identifier: MIT
"""The still's model scripted plainly, as an oracle: SciPy's stiff integrator, no tables, no tricks.

Shares with the product only the physical chemistry (bubble point, enthalpies, K). The flows come
from one dense linear system instead of a pass down the column, the liquid's enthalpy slope from a
central difference, the compounds from plain loops, and time from an adaptive Radau or LSODA run.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from middlecut.liquid import equilibrium, heat, volatility

Array = NDArray[np.float64]


@dataclass(frozen=True)
class PlainStill:
    """What the oracle needs to know, in moles and watts."""

    pressure: float
    stages: int
    holdup: tuple[float, ...]  # mol per stage and, last, in the head
    heat: float
    head_duty: float
    stage_loss: tuple[float, ...]  # W per stage
    ratio: float
    compounds: tuple[str, ...]
    held: bool = False  # total reflux: the head returns everything, whatever that takes
    release: float = 0.0  # 1/s, from solids at ``source``, alike for every compound
    source: int = 0
    efficiency: tuple[float, ...] = ()  # of the vapour, per stage and, last, in the head; () all 1


def saturated(x: Array, pressure: float) -> tuple[Array, Array, Array, Array, Array]:
    """Bubble point, vapour, liquid enthalpy, its slope along the bubble line, vapour enthalpy."""
    x = np.clip(x, 0.0, 1.0)  # a Newton iterate of the integrator may stray by rounding
    temperature, y = equilibrium.bubble_point(x, pressure)
    low, high = np.clip(x - 1e-5, 0.0, 1.0), np.clip(x + 1e-5, 0.0, 1.0)
    h_low = heat.liquid_enthalpy(low, equilibrium.bubble_point(low, pressure)[0])
    h_high = heat.liquid_enthalpy(high, equilibrium.bubble_point(high, pressure)[0])
    return (
        temperature,
        y,
        heat.liquid_enthalpy(x, temperature),
        (h_high - h_low) / (high - low),
        heat.vapour_enthalpy(y, temperature),
    )


def passing(still: PlainStill, met: Array) -> Array:
    """What leaves every level when a part of the vapour passes without meeting the liquid."""
    found = met.copy()
    for level, share in enumerate(still.efficiency, start=1):
        found[level] = share * met[level] + (1.0 - share) * found[level - 1]
    return found


def flows(still: PlainStill, x: Array) -> tuple[Array, Array, float, Array]:  # noqa: C901 - one system, written out
    """Vapour and liquid from every level and the distillate, from one dense linear system.

    Unknowns: V_0 … V_top, L_1 … L_top, D. External reflux r·D joins the liquid into the level
    below the head.
    """
    _, y, h, dh, vapour_h = saturated(x, still.pressure)
    y, vapour_h = passing(still, y), passing(still, vapour_h)
    top = len(x) - 1
    h_back = float(saturated(y[top : top + 1], still.pressure)[2][0])
    size = 2 * top + 2
    matrix, right = np.zeros((size, size)), np.zeros(size)
    v = list(range(top + 1))
    liq = [-1, *range(top + 1, 2 * top + 1)]
    d = size - 1
    row = 0
    for level in range(top + 1):
        # Energy over the level's own liquid, with the slope of its composition.
        def over(enthalpy: float, composition: float, at: int = level) -> float:
            return float((enthalpy - h[at]) - dh[at] * (composition - x[at]))

        if level > 0:
            matrix[row, v[level - 1]] += over(vapour_h[level - 1], y[level - 1])
        if level < top:
            matrix[row, liq[level + 1]] += over(h[level + 1], x[level + 1])
        if level == top - 1:
            matrix[row, d] += still.ratio * over(h_back, y[top])
        matrix[row, v[level]] -= over(vapour_h[level], y[level])
        if level == 0:
            right[row] = -still.heat
        elif level == top and still.held:
            matrix[row] = 0.0
            matrix[row, d] = 1.0
        elif level == top:
            right[row] = still.head_duty
        else:
            right[row] = still.stage_loss[level - 1]
        row += 1
        if level > 0:  # constant hold-up
            matrix[row, v[level - 1]] += 1.0
            matrix[row, v[level]] -= 1.0
            matrix[row, liq[level]] -= 1.0
            if level < top:
                matrix[row, liq[level + 1]] += 1.0
            if level == top - 1:
                matrix[row, d] += still.ratio
            row += 1
    matrix[row, v[top]] = 1.0
    matrix[row, d] = -(1.0 + still.ratio)
    found = np.asarray(np.linalg.solve(matrix, right), dtype=np.float64)
    liquid = np.concatenate([[0.0], found[top + 1 : 2 * top + 1]])
    return found[: top + 1], np.asarray(liquid, dtype=np.float64), float(found[d]), y


def slope(_: float, state: Array, still: PlainStill) -> Array:
    """Time derivative of [n_E, n_T, x_1 … x_h, E, T, shares by level and compound].

    The last two rows of the shares are the receiver and what is still in solids.
    """
    top = still.stages + 1
    count = len(still.compounds)
    x = np.concatenate([[state[0] / state[1]], state[2 : 2 + top]])
    vapour, liquid, rate, y = flows(still, x)
    amount = np.array([state[1], *still.holdup])
    shares = state[4 + top :].reshape(top + 3, count)
    inside = np.clip(x, 0.0, 1.0)
    k = np.stack(
        [np.asarray(volatility.k_value(name, inside, still.pressure)) for name in still.compounds],
        axis=1,
    )
    # mol of compound per mol of vapour, in units of what was loaded
    risen = passing(still, k * shares[: top + 1] / amount[:, np.newaxis])
    ethanol = np.zeros(top + 1)
    moved = np.zeros_like(shares)
    for level in range(top + 1):
        up = vapour[level] * y[level]
        down = liquid[level] * x[level]
        rise = vapour[level] * risen[level]
        fall = liquid[level] * shares[level] / amount[level]
        ethanol[level] -= up + down
        moved[level] -= rise + fall
        if level < top:
            ethanol[level + 1] += up
            moved[level + 1] += rise
        else:
            back = still.ratio / (1.0 + still.ratio)
            ethanol[level - 1] += still.ratio * rate * y[level]
            moved[level - 1] += back * rise
            moved[level + 1] += (1.0 - back) * rise
        if level > 0:
            ethanol[level - 1] += down
            moved[level - 1] += fall
    given = still.release * shares[top + 2]
    moved[top + 2] -= given
    moved[still.source] += given
    return np.concatenate(
        [
            [ethanol[0], -rate],
            ethanol[1:] / amount[1:],
            [rate * y[top], rate],
            moved.ravel(),
        ]
    )


def integrate(still: PlainStill, start: Array, times: Array, *, rtol: float = 1e-7) -> Array:
    """Run the plain model; return the states at the times, one a row."""
    found = solve_ivp(
        lambda t, state: slope(t, np.asarray(state, dtype=np.float64), still),
        (0.0, float(times[-1])),
        start,
        method="LSODA",
        t_eval=times,
        rtol=rtol,
        atol=1e-9,
    )
    if not found.success:
        raise AssertionError(found.message)
    return np.asarray(found.y.T)
