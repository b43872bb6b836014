# SPDX-License-Identifier: MIT
"""A change of a plan file before it is predicted."""

from __future__ import annotations

from dataclasses import dataclass

from middlecut.plan.reshape import PlanEdit

__all__ = ["Change"]


@dataclass(frozen=True, slots=True)
class Change:
    """What to write into a plan file, and what to put into its lists or take out of them.

    Parameters
    ----------
    title : str
        What to do, in words.
    values : tuple of (str, str)
        Dotted place and what shall stand there.
    shape : tuple of PlanEdit
        Keys, items and steps that come or go.
    """

    title: str
    values: tuple[tuple[str, str], ...] = ()
    shape: tuple[PlanEdit, ...] = ()

    @property
    def edits(self) -> tuple[PlanEdit, ...]:
        """Everything to be done to the text of the plan."""
        return (*(PlanEdit("set", key, value) for key, value in self.values), *self.shape)
