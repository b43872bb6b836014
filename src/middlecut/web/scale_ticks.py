# SPDX-License-Identifier: MIT
"""Round numbers along an axis."""

from __future__ import annotations

import math
from collections.abc import Sequence

__all__ = ["nice_ticks", "show_tick"]

_STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)


def nice_ticks(values: Sequence[float], count: int) -> list[float]:
    """Return about ``count`` round numbers that enclose the values; 0 and 1 when there are none.

    Examples
    --------
    >>> nice_ticks([3.0, 41.0], 5)
    [0.0, 10.0, 20.0, 30.0, 40.0, 50.0]
    """
    low, high = (min(values), max(values)) if values else (0.0, 1.0)
    if high - low <= 1e-12 * max(1.0, abs(high)):
        spread = max(abs(high) * 0.05, 0.5)
        low, high = low - spread, high + spread
    rough = (high - low) / count
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(one * power for one in _STEPS if one * power >= rough * 0.999)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return [round(number * step, 10) for number in range(first, last + 1)]


def show_tick(value: float, ticks: Sequence[float]) -> str:
    """Return a tick with as many decimals as the whole axis needs.

    Examples
    --------
    >>> show_tick(1.0, [0.99, 1.0, 1.01])
    '1.00'
    """
    for decimals in range(5):
        if all(abs(round(tick, decimals) - tick) < 1e-9 for tick in ticks):
            return f"{value:.{decimals}f}"
    return f"{value:g}"
