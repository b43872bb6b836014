# SPDX-License-Identifier: MIT
"""Carry stills as measured over into a plan that was read again after a change of its text."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import TYPE_CHECKING

from middlecut.plan.read import read_plan_text

if TYPE_CHECKING:
    from middlecut.plan.model import Plan
    from middlecut.steps.still import Still

__all__ = ["keep_stills"]


def keep_stills(plan: Plan, edited: Plan) -> Plan:
    """Return a changed plan with the stills of the one it was made from.

    A plan whose stills were replaced by fitted ones says something else in its text. Only what the
    change itself did to a still is taken from the text; all else stays as it was fitted.

    Parameters
    ----------
    plan : Plan
        Before the change, perhaps with fitted stills.
    edited : Plan
        Read from the changed text.

    Returns
    -------
    Plan
        ``edited`` itself where no still of the plan was replaced.
    """
    described = read_plan_text(plan.text, plan.path, plan.library).stills if plan.stills else {}
    fitted = {
        name: _changed(described[name], edited.stills[name], still)
        for name, still in plan.stills.items()
        if name in described and name in edited.stills and described[name] != still
    }
    return replace(edited, stills={**edited.stills, **fitted}) if fitted else edited


def _changed(before: Still, after: Still, fitted: Still) -> Still:
    """Return a fitted still with what a change did to its description."""
    names = (one.name for one in fields(before) if one.init)
    done = {
        name: getattr(after, name)
        for name in names
        if getattr(before, name) != getattr(after, name)
    }
    return replace(fitted, **done)
