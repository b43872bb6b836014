# SPDX-License-Identifier: MIT
"""What a plan does not say of a still, although the numbers hang on it."""

from __future__ import annotations

from middlecut.plan.model import Plan
from middlecut.steps.parameters import Distil
from middlecut.steps.result import Caution

__all__ = ["unstated_losses"]

_LONGER = "Heating up and the run will take longer and more electricity than predicted."
_STRONGER = "What runs off will be stronger and come more slowly than predicted."
_MEASURE = (
    "To measure it, boil water and lower the power until hardly anything runs: boiler and head "
    "together lose about that much."
)


def unstated_losses(step: Distil, plan: Plan) -> tuple[Caution, ...]:
    """Return what is to be said of heat losses that the plan leaves out.

    Parameters
    ----------
    step : Distil
        A run of a still; only the first run of each still in a plan says it.
    plan : Plan
        With its stills.

    Returns
    -------
    tuple of Caution
        A watch when the plan gives no heat loss at all, a note when it gives that of the boiler or
        that of the head only; else nothing.

    Notes
    -----
    No still is without loss, so a stated loss of 0 W is told like one left out.
    """
    runs = (one for one in plan.steps if isinstance(one, Distil) and one.still == step.still)
    if next(runs, step).id != step.id:
        return ()
    still = plan.stills[step.still]
    above = still.head_loss + still.column_loss + still.coolant_duty
    if still.boiler_loss > 0.0 and above > 0.0:
        return ()
    if still.boiler_loss > 0.0:
        of, then, key = " of its head", _STRONGER, "head_loss"
    elif above > 0.0:
        of, then, key = " of its boiler", _LONGER, "boiler_loss"
    else:
        of, then, key = "", f"{_LONGER} {_STRONGER}", "boiler_loss and head_loss"
    text = (
        f"{step.still}: no heat loss{of} is stated, so none is counted. {then} {_MEASURE} Write "
        f"{key} in [still.{step.still}]."
    )
    code = "heat-loss-unstated"
    return (Caution(code, "note" if of else "watch", text, source="balance of heat"),)
