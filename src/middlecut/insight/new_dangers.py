# SPDX-License-Identifier: MIT
"""What a change of a plan makes dangerous that was not, or not as much."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from middlecut.plan.prediction import Prediction
    from middlecut.steps.result import Caution

__all__ = ["new_dangers"]

CLEARLY = 0.05
"""Share of its limit by which the number of a danger has to grow to be told; our choice."""
_LESS_IS_WORSE = frozenset({"boil-dry", "element-uncovered"})
"""Dangers of too little of something; of every other one more is worse."""


def new_dangers(before: Prediction, after: Prediction) -> tuple[str, ...]:
    """Return the dangers that a changed plan has and the plan had not, or had clearly less.

    Parameters
    ----------
    before, after : Prediction
        Of the plan and of the changed plan.

    Returns
    -------
    tuple of str
        Sentences. A danger that the plan had at another step says at which it is now; one that
        gets worse says so.
    """
    known = _dangers(before)
    codes = {code for _, code in known}
    found = []
    for (step, code), cautions in _dangers(after).items():
        old = known.get((step, code), [])
        for caution in cautions:
            if old and _worse(caution, old):
                found.append(f"Worse than in the plan: {caution.text}")
            elif not old:
                found.append(f"Now at {step}: {caution.text}" if code in codes else caution.text)
    return tuple(dict.fromkeys(found))


def _dangers(prediction: Prediction) -> dict[tuple[str, str], list[Caution]]:
    """Return the dangers by the step they are met at and their code."""
    found: dict[tuple[str, str], list[Caution]] = {}
    for step, result in prediction.steps.items():
        for caution in result.cautions:
            if caution.severity == "danger":
                found.setdefault((step, caution.code), []).append(caution)
    return found


def _worse(caution: Caution, old: Iterable[Caution]) -> bool:
    """Return whether a danger is clearly worse than the worst of the same kind before."""
    values = [one.value for one in old if one.value is not None]
    if caution.value is None or not values:
        return False
    less = caution.code in _LESS_IS_WORSE
    worst = min(values) if less else max(values)
    grown = worst - caution.value if less else caution.value - worst
    return grown > CLEARLY * abs(caution.limit or worst)
