# SPDX-License-Identifier: MIT
"""Whether the jars of a cut hold what ran off while it ran, by the totals that were read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

__all__ = ["JarGap", "jar_gap"]

_SHARE, _LEAST = 0.10, 3.0e-5
"""What jars and totals may differ by: totals are read between the cuts; our estimate. [m³]"""
_LATE = timedelta(minutes=15)
"""So long after the last total that was read it may still be taken for the total."""


@dataclass(frozen=True, slots=True)
class JarGap:
    """Jars of a cut that do not go with the totals.

    Parameters
    ----------
    cut : str
    jars : float
        What they hold together. [m³]
    before, after : float
        Total when the cut was called and when it ended. [m³]
    """

    cut: str
    jars: float
    before: float
    after: float

    @property
    def ran(self) -> float:
        """What ran off while the cut ran, by the totals. [m³]."""
        return self.after - self.before


def jar_gap(
    cut: str,
    jars: float,
    *,
    totals: Sequence[tuple[datetime, float]],
    called: datetime,
    ended: datetime,
) -> JarGap | None:
    """Hold the jars of a cut against the totals read before and after it.

    Parameters
    ----------
    cut : str
    jars : float
        What they hold together. [m³]
    totals : sequence of (datetime, float)
        Distillate so far, in the order of time, from the first drop on. [m³]
    called, ended : datetime
        Of the cut.

    Returns
    -------
    gap : JarGap or None
        None when both agree, or when no total was read near enough to say.
    """
    before, after = _total_at(totals, called), _total_at(totals, ended)
    if before is None or after is None:
        return None
    gap = JarGap(cut, jars, before, after)
    within = abs(gap.ran - jars) <= max(_SHARE * max(gap.ran, jars), _LEAST)
    return None if within else gap


def _total_at(totals: Sequence[tuple[datetime, float]], moment: datetime) -> float | None:
    """Return the total at a moment, straight between two that were read."""
    earlier = [one for one in totals if one[0] <= moment]
    later = [one for one in totals if one[0] >= moment]
    if not earlier:
        return None
    if not later:
        return earlier[-1][1] if moment - earlier[-1][0] <= _LATE else None
    (start, low), (end, high) = earlier[-1], later[0]
    span = (end - start).total_seconds()
    share = (moment - start).total_seconds() / span if span else 0.0
    return low + share * (high - low)
