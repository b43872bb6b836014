# SPDX-License-Identifier: MIT
"""Cautions that hold for every plan and are said once: law, fire, closed ways, materials."""

from __future__ import annotations

from middlecut.steps.result import Caution

__all__ = ["LAW", "usual_cautions"]

LAW = (
    "Making spirit is regulated nearly everywhere: in many places it is forbidden without a "
    "licence, at home or at all, and owning a still may have to be declared. middlecut cannot "
    "tell what holds where you are. Ask the authority there before you start, also about fire "
    "safety, premises, food rules and duty."
)
"""What is said about the law, whatever the plan: it defers to the place."""


def _note(code: str, text: str, source: str) -> Caution:
    return Caution(code, "note", text, source=source)


_ALWAYS: tuple[Caution, ...] = (
    _note("law", LAW, "general; the law of the place decides"),
    _note(
        "materials",
        "Use only copper or stainless steel with lead-free joints and seals rated for hot "
        "alcohol. Lead solder and old radiators have poisoned people: lead above 0.3 mg/L was "
        "found in 29 % of 115 seized samples.",
        "21 CFR 189.240; Morgan et al. 2004; CDC MMWR 00016616",
    ),
)
_DISTILLING: tuple[Caution, ...] = (
    _note(
        "unattended",
        "Never leave a still that is hot. Have a cut-out on temperature where you can, and an "
        "extinguisher for alcohol fires within reach.",
        "laboratory safety texts on distillation",
    ),
    _note(
        "ignition",
        "No flame, spark or hot surface near the still, the receiver or spilt spirit. The "
        "vapour burns between 3.3 and 19 % in air, is 1.6 times as heavy as air, and creeps "
        "along floors and into drains: take air out low as well as high.",
        "NIOSH Pocket Guide, ethyl alcohol",
    ),
    _note(
        "closed-path",
        "The way from boiler through head and condenser to the receiver must stay open to the "
        "air at all times. Never heat a closed vessel, and let air in before it cools.",
        "laboratory safety texts on distillation",
    ),
    _note(
        "foreshots",
        "Do not drink the foreshots. Throwing them away does not make a spirit safe from "
        "methanol: from a dilute charge methanol comes over much like ethanol, through hearts "
        "and tails.",
        "common practice; the K values of methanol used here",
    ),
    _note(
        "bumping",
        "Put boiling aids in while the charge is cold, never into liquid near its boiling point.",
        "laboratory safety texts on distillation",
    ),
)
_FERMENTING: tuple[Caution, ...] = (
    _note(
        "fermenter-gas",
        "Carbon dioxide is heavier than air and gathers in cellars and pits: air the room "
        "before you go in, and never seal a fermenter.",
        "common practice",
    ),
)


def usual_cautions(*, distils: bool = True, ferments: bool = True) -> tuple[Caution, ...]:
    """Return what holds for every plan and is said once.

    Parameters
    ----------
    distils, ferments : bool
        Whether the plan does so.

    Returns
    -------
    tuple of Caution
        All of severity "note".

    Examples
    --------
    >>> [caution.code for caution in usual_cautions(distils=False, ferments=False)]
    ['law', 'materials']
    """
    found = _ALWAYS
    if distils:
        found += _DISTILLING
    if ferments:
        found += _FERMENTING
    return found
