# SPDX-License-Identifier: MIT
"""Concrete changes of a plan for each kind of remedy, as edits of its file."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import TYPE_CHECKING

from middlecut.insight import remedies_cuts, remedies_ingredients, remedies_moves, remedies_run
from middlecut.insight.changes import Change

if TYPE_CHECKING:
    from middlecut.insight.case import Case
    from middlecut.insight.off_flavours import Fault
    from middlecut.plan.reshape import PlanEdit

__all__ = ["KINDS", "changes"]

KINDS: Mapping[str, Callable[[Case, Fault, str], Iterator[Change]]] = {
    **remedies_ingredients.KINDS,
    **remedies_moves.KINDS,
    **remedies_cuts.KINDS,
    **remedies_run.KINDS,
}
"""Every kind of remedy, by name."""


def changes(case: Case, fault: Fault) -> tuple[Change, ...]:
    """Return the changes of this plan that may mend a fault.

    Parameters
    ----------
    case : Case
        The batch; without the text of its plan there is nothing to edit.
    fault : Fault
        One row of the table.

    Returns
    -------
    tuple of Change
        In the order of the table, each once.
    """
    if not case.document:
        return ()
    found: dict[tuple[PlanEdit, ...], Change] = {}
    for call in fault.remedies:
        for change in KINDS[call.name](case, fault, call.limit):
            found.setdefault(change.edits, change)
    return tuple(found.values())
