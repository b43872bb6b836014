# SPDX-License-Identifier: MIT
"""Checks of range and shape that the physical functions of this layer share."""

from __future__ import annotations

from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from middlecut.errors import OutOfRangeError

__all__ = ["Array", "Number", "as_given", "within"]

Array = NDArray[np.float64]
Number = TypeVar("Number", float, Array)
"""One float or one array of floats; a function that takes one kind returns the same kind."""


def within(
    quantity: str,
    value: object,
    low: float,
    high: float,
    *,
    unit: str = "",
    source: str = "",
    remedy: str = "",
) -> Array:
    """Return a value as an array of floats, or raise when any part is outside the range.

    Parameters
    ----------
    quantity : str
        Name of the quantity, for the message.
    value : float or array_like
        What was given.
    low, high : float
        The range, both ends included. Not-a-number and infinity are outside every range.
    unit, source, remedy : str
        For the message.

    Returns
    -------
    ndarray
        At least zero-dimensional, of float64.

    Raises
    ------
    OutOfRangeError
        Naming the first part that is outside.
    """
    array = np.asarray(value, dtype=np.float64)
    inside = (array >= low) & (array <= high)
    if not inside.all():
        first = float(array[~inside].flat[0]) if array.ndim else float(array)
        raise OutOfRangeError(quantity, first, low, high, unit=unit, source=source, remedy=remedy)
    return array


def as_given(result: Array) -> Any:
    """Return a float when the result has no axes, so that scalars give scalars.

    Parameters
    ----------
    result : ndarray
        What was computed from the inputs.

    Returns
    -------
    float or ndarray
        A plain float for scalar inputs, else the array itself.
    """
    return float(result) if np.ndim(result) == 0 else result
