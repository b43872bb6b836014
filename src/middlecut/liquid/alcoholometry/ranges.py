# SPDX-License-Identifier: MIT
"""Numbers in: floats stay floats, everything else becomes an array, nothing leaves its range."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from middlecut.errors import OutOfRangeError

__all__ = ["Array", "Floats", "admit", "check_range"]

Array = NDArray[np.float64]
"""An array of floats."""

Floats = float | Array
"""What every function here gives back: a float for scalars, an array for arrays."""


def admit(value: float | ArrayLike) -> Floats:
    """Return a plain float for anything scalar and an array of floats for anything else."""
    if isinstance(value, (float, int)):
        return float(value)
    array = np.asarray(value, dtype=np.float64)
    return float(array) if array.ndim == 0 else array


def check_range(
    quantity: str,
    value: Floats,
    low: float,
    high: float,
    *,
    unit: str = "",
    source: str = "",
    remedy: str = "",
) -> None:
    """Raise :class:`OutOfRangeError` for the first number that is not within low and high."""
    if isinstance(value, float):
        if low <= value <= high:
            return
        worst = value
    else:
        outside = ~((value >= low) & (value <= high))
        if not outside.any():
            return
        worst = float(value[outside][0])
    raise OutOfRangeError(quantity, worst, low, high, unit=unit, source=source, remedy=remedy)
