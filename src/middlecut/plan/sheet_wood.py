# SPDX-License-Identifier: MIT
"""What the sheet says of a wood step."""

from __future__ import annotations

from middlecut.plan.sheet_parts import Phrase
from middlecut.steps.parameters import Wood
from middlecut.steps.result import StepResult

__all__ = ["wood_phrases"]


def wood_phrases(step: Wood, result: StepResult) -> tuple[Phrase, ...]:
    """Return what to do, what comes of it, and the colour in words.

    Parameters
    ----------
    step : Wood
        What was planned.
    result : StepResult
        What was predicted.

    Returns
    -------
    tuple of Phrase
        Three, or four when the wood was used before.
    """
    from middlecut.liquid.oak_colour import COLOURS  # noqa: PLC0415 - only for plans with wood

    figures = {figure.key: figure for figure in result.figures}
    taken, lot = next(iter(result.used.values())), result.made[step.into]
    start = ((taken.volume, "volume"), (taken.strength, "strength"))
    if step.form == "cask":
        words = f"into a cask of {{}} ({step.species}, {step.treatment}), {step.climate} store"
        amount = (step.cask_volume or 0.0, "volume")
    else:
        words = f"on {{}} of {step.species} {step.form} ({step.treatment}) in a closed vessel"
        amount = (figures["wood_mass"].value, "mass")
    phrases = [
        Phrase(
            f"Put {{}} of {_plain(taken.name)} at {{}} {words}, at {{}}, for {{}}.",
            (
                *start,
                amount,
                (figures["temperature"].value, "temperature"),
                (step.duration, "duration"),
            ),
        ),
        Phrase(
            f"Expect {{}} of {_plain(step.into)} at {{}}. Taste from half the time on: almost "
            "every number about wood here is memory or an estimate.",
            ((lot.volume, "volume"), (lot.strength, "strength")),
        ),
    ]
    colour = figures["colour"]
    low, high = (COLOURS[int(end or 0.0)] for end in (colour.low, colour.high))
    phrases.append(
        Phrase(f"Colour: about {COLOURS[int(colour.value)]}, between {low} and {high}.", ())
    )
    if step.earlier_fills:
        phrases.append(
            Phrase("This is fill {} of the wood.", ((step.earlier_fills + 1.0, "count"),))
        )
    return tuple(phrases)


def _plain(name: str) -> str:
    return name.replace("{", "(").replace("}", ")")
