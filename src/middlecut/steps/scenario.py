# SPDX-License-Identifier: MIT
"""One way things may truly be: what a single draw assumes beyond the plan itself."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

__all__ = ["AIR", "DRAW_TOLERANCE", "NOMINAL", "RUN_TOLERANCE", "SOLID", "Scenario"]

RUN_TOLERANCE = 2e-4
"""Largest local error of a step of a run, as a share of the charge or of 1.

Against 1e-7 this moves no cut of the ten-stage bench run by more than 3e-4 of its volume and no
compound by more than 2e-4 of what was loaded; the oracle's curves agree to 1e-3.
"""
DRAW_TOLERANCE = 5e-4
"""The same in the draws of an ensemble. Against ``RUN_TOLERANCE`` it moves no lot of the demo plan
by more than 0.1 % in volume, and no compound by more than 0.1 % where a lot holds at least 1 % of
it; the bands are a hundred times as wide."""


AIR = "air:"
"""In place of the id of a step: what holds of a compound in every wash."""
SOLID = "solid:"
"""Before the name of an ingredient, in place of the id of a step: what holds in every steep."""


@dataclass(frozen=True, slots=True, eq=False)
class Scenario:
    """What one draw assumes, where it differs from the tables. Two are the same only if one object.

    Parameters
    ----------
    volatility : mapping of str to float
        Factor on K by compound, the same in every run of the plan; compounds left out have 1.
    content : mapping of (str, str) to float
        Factor on the typical content by origin and compound. The origin is the profile of a
        fermentation ("grain"), "step:" and the id of a fermentation with levels of the user's own,
        "wood:" and the id of a step on oak, or the name of an ingredient.
    process : mapping of (str, str) to float
        By the id of a step and what happens in it: a factor, or for "drift" a sum added. By
        ``AIR`` and a compound: the factor on its partition into the air; by ``SOLID`` with the
        name of an ingredient and a compound: the factor on its partition into the solid.
    lean : bool
        Leave out accounts and cautions; used for the draws, which only need the numbers.
    tolerance : float
        Largest local error of a step of a run.
    """

    volatility: Mapping[str, float] = field(default_factory=dict)
    content: Mapping[tuple[str, str], float] = field(default_factory=dict)
    process: Mapping[tuple[str, str], float] = field(default_factory=dict)
    lean: bool = False
    tolerance: float = RUN_TOLERANCE

    def content_factor(self, origin: str, compound: str) -> float:
        """Return the factor on the typical content of a compound of one origin; 1 if not drawn."""
        return self.content.get((origin, compound), 1.0)

    def process_factor(self, step: str, quantity: str) -> float:
        """Return the factor on what happens in a step; 1 if not drawn."""
        return self.process.get((step, quantity), 1.0)

    def process_change(self, step: str, quantity: str) -> float:
        """Return what is added to what happens in a step; 0 if not drawn."""
        return self.process.get((step, quantity), 0.0)


NOMINAL = Scenario()
"""Everything as the plan and the tables say."""
