# SPDX-License-Identifier: MIT
"""The record of a run as the kernel writes it, row by row."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from middlecut.steps import kernel

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["Rows", "Segment"]


@dataclass(frozen=True, slots=True)
class Segment:
    """The rows of one cut: ``first`` to ``last``, both included."""

    first: int
    last: int


@dataclass(slots=True)
class Rows:
    """The record of a run as the kernel writes it; grown as needed."""

    levels: int
    compounds: int
    capacity: int = 512
    count: int = 0
    time: Array = field(init=False)
    state: Array = field(init=False)
    share: Array = field(init=False)
    slope: Array = field(init=False)
    rate: Array = field(init=False)
    flow: Array = field(init=False)
    vapour: Array = field(init=False)
    setting: Array = field(init=False)

    def __post_init__(self) -> None:
        n, k = self.levels + 5, self.compounds
        self.time = np.empty(self.capacity)
        self.state = np.empty((self.capacity, n))
        self.share = np.empty((self.capacity, k))
        self.slope = np.empty((self.capacity, k))
        self.rate = np.empty((self.capacity, 2))
        self.flow = np.empty((self.capacity, 4))
        self.vapour = np.empty((self.capacity, 2))
        self.setting = np.empty((self.capacity, 3))

    _ARRAYS = ("time", "state", "share", "slope", "rate", "flow", "vapour", "setting")

    def record(self) -> kernel.Record:
        """Return the kernel's view of the buffers."""
        return kernel.Record(
            self.time, self.state, self.share, self.slope, self.rate, self.flow, self.vapour
        )

    def grow(self) -> None:
        """Double the room."""
        for name in Rows._ARRAYS:
            old = getattr(self, name)
            new = np.empty((2 * self.capacity, *old.shape[1:]))
            new[: self.count] = old[: self.count]
            setattr(self, name, new)
        self.capacity *= 2

    def trim(self) -> None:
        """Drop the unused room."""
        for name in Rows._ARRAYS:
            setattr(self, name, np.ascontiguousarray(getattr(self, name)[: self.count]))
