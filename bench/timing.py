# SPDX-License-Identifier: MIT
"""Time a thing often enough to trust the number."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable


def milliseconds(work: Callable[[], object], *, rounds: int = 15, warm_up: int = 2) -> float:
    """Return the median time of one call in milliseconds, after warming up."""
    for _ in range(warm_up):
        work()
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        times.append((time.perf_counter() - start) * 1e3)
    return statistics.median(times)
