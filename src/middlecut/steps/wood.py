# SPDX-License-Identifier: MIT
"""Leave spirit on oak: what it takes up, what the air takes away, what the wood keeps."""

from __future__ import annotations

from dataclasses import replace

from middlecut.errors import InputError
from middlecut.steps.accounts import checked_account
from middlecut.steps.lot import Lot
from middlecut.steps.mixing import mixed
from middlecut.steps.parameters import Wood
from middlecut.steps.result import StepResult
from middlecut.steps.scenario import NOMINAL, Scenario
from middlecut.steps.wood_cautions import wood_cautions
from middlecut.steps.wood_contact import (
    ABSORBED,
    EVAPORATED,
    FROM_WOOD,
    absorbed_share,
    contact_of,
    gained_from,
    vapour_of,
    without,
)
from middlecut.steps.wood_figures import wood_figures

__all__ = ["wood"]


def wood(parameters: Wood, taken: Lot, *, scenario: Scenario = NOMINAL) -> StepResult:
    """Leave a lot on oak for a time.

    The wood gives off what two pools of first order yield by then; a cask lets water and ethanol
    go, each in proportion to what is there; the wood soaks up some of the liquid.

    Parameters
    ----------
    parameters : Wood
        The step, as checked.
    taken : Lot
        What goes on the wood, under the name of the lot it came from.
    scenario : Scenario
        What is assumed beyond the plan; the origin of what oak gives is "wood:" and the id of
        the step.

    Returns
    -------
    StepResult
        One lot; evaporated and absorbed spirit are losses of the account, and what oak gave is a
        source, "from the wood".

    Raises
    ------
    InputError
        If wood and vessel do not go together, or the wood would drink most of the lot.
    OutOfRangeError
        If temperature, time or cask are outside what the tables cover.
    NotFoundError
        If there is no such species, treatment or climate.

    Notes
    -----
    Nearly all numbers are memory or estimates; the bands are wide for that reason. Left out:
    oxidation, ester formation, what the char takes away, congeners lost with the vapour, and
    whatever was done to force it.

    Examples
    --------
    No time, no change:

    >>> from middlecut.steps.parameters import Take
    >>> step = Wood("w", Take("a"), "b", 0.0, "chips", "american oak", "medium toast", dose=4.0)
    >>> result = wood(step, Lot("a", water=0.4, ethanol=0.5))
    >>> result.made["b"].ethanol, result.made["b"].solids
    (0.5, 0.0)
    """
    volume = taken.volume
    if volume <= 0.0:
        raise InputError("from", taken.name, "there is nothing in the lot")
    contact = contact_of(parameters, volume)
    gained = gained_from(parameters, contact, taken.strength, scenario)
    vapour = vapour_of(parameters, contact, taken, "typical", scenario)
    before = mixed([without(taken, vapour), gained], parameters.into)
    share = absorbed_share(parameters, contact, before.volume, scenario)
    made = replace(before.part(1.0 - share, parameters.into), temperature=contact.temperature)
    absorbed = before.part(share, ABSORBED)
    came = {taken.name: taken, FROM_WOOD: gained}
    went = {parameters.into: made, EVAPORATED: vapour, ABSORBED: absorbed}
    return StepResult(
        step_id=parameters.id,
        kind=parameters.kind,
        made={parameters.into: made},
        used={taken.name: taken},
        account=checked_account(came, went, where=f"step {parameters.id}", scenario=scenario),
        cautions=()
        if scenario.lean
        else wood_cautions(
            parameters,
            strength=taken.strength,
            area_per_volume=contact.area_per_volume,
            evaporated_ethanol=vapour.ethanol,
            lost_share=1.0 - made.volume / volume,
        ),
        figures=wood_figures(
            parameters,
            contact,
            taken=taken,
            made=made,
            gained=gained,
            vapour=vapour,
            absorbed=absorbed,
        ),
        duration=parameters.duration,
        citations=("kadim1999", "delgado2022", "prida2006", "cadahia2003", "belitz2009")
        + (("kirk_whisky",) if parameters.form == "cask" else ()),
    )
