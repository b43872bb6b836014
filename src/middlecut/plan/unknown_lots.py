# SPDX-License-Identifier: MIT
"""What to say of lots of earlier batches whose compounds nobody has given."""

from __future__ import annotations

from collections.abc import Iterable

from middlecut.plan.model import Plan
from middlecut.steps.result import Caution

__all__ = ["unknown_lots"]


def unknown_lots(plan: Plan, used: Iterable[str]) -> tuple[Caution, ...]:
    """Return what is to be said where a step takes a lot that is described without compounds.

    Parameters
    ----------
    plan : Plan
        With the lots of earlier batches.
    used : iterable of str
        Names of the lots a step takes.

    Returns
    -------
    tuple of Caution
        One for each such lot that holds alcohol.
    """
    unknown = {lot.name for lot in plan.given if lot.ethanol > 0.0 and not lot.amounts}
    return tuple(
        Caution(
            "lot-compounds-unknown",
            "watch",
            f"What {name} of an earlier batch holds besides water and alcohol is unknown and "
            "counts as nothing: methanol and every other compound are too low from here on. Give "
            "its compounds in its [lot] section, or add the steps that made it to this plan.",
            source="the plan",
        )
        for name in used
        if name in unknown
    )
