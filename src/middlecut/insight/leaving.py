# SPDX-License-Identifier: MIT
"""When a compound leaves a run: how much of it, in which cut, and early or late."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from middlecut.steps.result import StepResult

    Array = NDArray[np.float64]

__all__ = ["LITTLE", "Leaving", "leaving"]

LITTLE = 0.02
"""Share of what a run was given below which a compound counts as not distilling; our choice."""
EARLY, LATE = 0.8, 1.2
"""Volume centre over that of the alcohol: below the first a compound comes early, above the second
late; our choice."""
KEEPS = 0.8
"""Share of what distils that has to be in one cut for a compound to keep to it; our choice."""


@dataclass(frozen=True, slots=True)
class Leaving:
    """When a compound leaves a run.

    Parameters
    ----------
    step : str
        Id of the run.
    purpose : {"strip", "spirit", "flavour"}
    distilled : float
        Share of what the run was given that comes over, 0 to 1.
    centre : float or None
        Where the middle of what comes over lies, as a share of the volume collected by the end of
        the run: the mean volume, weighted by mass. None when nothing comes over.
    alcohol_centre : float
        The same of the alcohol.
    cuts : mapping of str to float
        Share of what comes over in each cut, by name, in order; they add up to 1.
    given : float
        What the run was given of it. [kg]
    """

    step: str
    purpose: str
    distilled: float
    centre: float | None
    alcohol_centre: float
    cuts: Mapping[str, float]
    given: float = 0.0

    @property
    def timing(self) -> str:
        """Return "early", "with the alcohol", "late" or "not at all"."""
        if self.centre is None:
            return "not at all"
        ratio = self.centre / self.alcohol_centre
        return "early" if ratio < EARLY else "late" if ratio > LATE else "with the alcohol"

    @property
    def main_cut(self) -> str:
        """Return the cut that holds most of it; "" when nothing comes over."""
        return max(self.cuts, key=lambda name: self.cuts[name], default="")

    @property
    def smears(self) -> bool:
        """Whether no cut holds four fifths of what comes over."""
        return bool(self.cuts) and max(self.cuts.values()) < KEEPS

    def to_dict(self) -> dict[str, Any]:
        """Return the numbers and the words as plain JSON types."""
        words = {"timing": self.timing, "main_cut": self.main_cut, "smears": self.smears}
        return {**asdict(self), "cuts": dict(self.cuts), **words}


def leaving(run: StepResult, compound: str, purpose: str) -> Leaving | None:
    r"""Return when a compound leaves a run.

    The centre is :math:`\int V\,dm / (m V_{end})`, with V the volume collected and m the mass
    that has come over.

    Parameters
    ----------
    run : StepResult
        Of a distil step.
    compound : str
        Its name.
    purpose : str
        Of the run.

    Returns
    -------
    Leaving or None
        None when the run has none of the compound.
    """
    curve, entry = run.curve, run.account.entries.get(compound)
    given = 0.0 if entry is None else sum(entry.came.values())
    if curve is None or given <= 0.0:
        return None
    alcohol = _centre(curve.volume, curve.ethanol)
    if compound not in curve.compounds:
        return Leaving(run.step_id, purpose, 0.0, None, alcohol or 0.5, {}, given)
    mass = curve.amounts[:, curve.compounds.index(compound)]
    over = float(mass[-1])
    parts = {cut.into: run.made[cut.into].amounts.get(compound) for cut in curve.cuts}
    held = {name: 0.0 if part is None else part.typical for name, part in parts.items()}
    whole = sum(held.values())
    return Leaving(
        step=run.step_id,
        purpose=purpose,
        distilled=over / given,
        centre=_centre(curve.volume, mass),
        alcohol_centre=alcohol or 0.5,
        cuts={name: part / whole for name, part in held.items()} if whole > 0.0 else {},
        given=given,
    )


def _centre(volume: Array, mass: Array) -> float | None:
    """Return the mean volume of what has come over, as a share of the whole volume."""
    over = float(mass[-1] - mass[0])
    if over <= 0.0:
        return None
    middle = 0.5 * (volume[1:] + volume[:-1])
    return float(np.sum(middle * np.diff(mass)) / over / volume[-1])
