# SPDX-License-Identifier: MIT
"""Set part of a lot aside under a new name."""

from __future__ import annotations

from dataclasses import replace

from middlecut.steps.accounts import checked_account
from middlecut.steps.lot import Lot
from middlecut.steps.mixing import state_figures
from middlecut.steps.parameters import Draw
from middlecut.steps.result import StepResult
from middlecut.steps.scenario import NOMINAL, Scenario

__all__ = ["draw"]


def draw(parameters: Draw, taken: Lot, *, scenario: Scenario = NOMINAL) -> StepResult:
    """Set part of a lot aside; what was drawn is like the rest in every respect.

    Parameters
    ----------
    parameters : Draw
        The step, as checked.
    taken : Lot
        The part drawn, under the name of the lot it came from.
    scenario : Scenario
        What is assumed beyond the plan; the tables as they are when left out.

    Returns
    -------
    StepResult
        One lot; the account only renames it.

    Examples
    --------
    >>> from middlecut.steps.parameters import Take
    >>> result = draw(Draw("keep", Take("wash"), "reserve"), Lot("wash", water=9.2, ethanol=0.6))
    >>> list(result.made)
    ['reserve']
    """
    made = {parameters.into: replace(taken, name=parameters.into)}
    return StepResult(
        step_id=parameters.id,
        kind=parameters.kind,
        made=made,
        used={taken.name: taken},
        account=checked_account(
            {taken.name: taken}, made, where=f"step {parameters.id}", scenario=scenario
        ),
        figures=state_figures(taken),
    )
