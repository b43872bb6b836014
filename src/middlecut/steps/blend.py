# SPDX-License-Identifier: MIT
"""Put lots together into one."""

from __future__ import annotations

from middlecut.steps.accounts import checked_account
from middlecut.steps.lot import Lot
from middlecut.steps.mixing import by_name, contraction, mixed, state_figures
from middlecut.steps.parameters import Blend
from middlecut.steps.result import Figure, StepResult
from middlecut.steps.scenario import NOMINAL, Scenario

__all__ = ["blend"]


def blend(parameters: Blend, taken: tuple[Lot, ...], *, scenario: Scenario = NOMINAL) -> StepResult:
    """Put lots together by mass, so that the contraction is exact.

    Parameters
    ----------
    parameters : Blend
        The step, as checked.
    taken : tuple of Lot
        The parts, each under the name of the lot it came from.
    scenario : Scenario
        What is assumed beyond the plan; the tables as they are when left out.

    Returns
    -------
    StepResult
        One lot, with the contraction among the figures.

    Raises
    ------
    InputError
        If nothing was taken.

    Notes
    -----
    The density of the mixture follows :cite:t:`oiml_r22`. The temperature is the mean weighted by
    mass and heat capacity; the heat of mixing is left out, so it is not among the figures.

    Examples
    --------
    >>> from middlecut.steps.parameters import Take
    >>> parts = (Lot("a", water=0.5, ethanol=0.5), Lot("b", water=1.0, ethanol=0.0))
    >>> result = blend(Blend("mix", (Take("a"), Take("b")), "c"), parts)
    >>> round(result.made["c"].strength, 3)
    0.305
    """
    used = by_name(taken)
    whole = mixed(taken, parameters.into)
    made = {parameters.into: whole}
    shrinkage = contraction(taken, whole)
    return StepResult(
        step_id=parameters.id,
        kind=parameters.kind,
        made=made,
        used=used,
        account=checked_account(used, made, where=f"step {parameters.id}", scenario=scenario),
        figures=(
            *state_figures(whole),
            Figure("contraction", "contraction on mixing", shrinkage, "volume"),
        ),
        citations=("oiml_r22",),
    )
