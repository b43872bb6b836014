# SPDX-License-Identifier: MIT
"""What is uncertain of spirit on oak: what comes out, what leaves to the air, what soaks in."""

from __future__ import annotations

import math
from collections.abc import Iterator

from middlecut.insight.uncertain_input import (
    GIVEN,
    UncertainInput,
    content_input,
    process_input,
)
from middlecut.liquid import oak
from middlecut.liquid.evaporation import climate_of
from middlecut.steps.lot import Amount
from middlecut.steps.parameters import Wood
from middlecut.steps.wood_contact import CASK_UPTAKE, PIECE_UPTAKE, wood_origin

__all__ = ["wood_inputs"]


def wood_inputs(step: Wood) -> Iterator[UncertainInput]:
    """Give what is uncertain of a step on oak.

    Parameters
    ----------
    step : Wood

    Yields
    ------
    UncertainInput
        Contents, what soaks in, and of a cask what leaves to the air.
    """
    rows = oak.oak_yields(
        step.species,
        step.treatment,
        form=step.form,
        duration=step.duration,
        temperature=_wood_temperature(step),
        strength=0.60,  # the spread does not depend on it
        earlier_fills=step.earlier_fills,
    )
    for row in rows:
        amount = Amount(row.typical, row.low, row.high, row.basis)
        label = f"{row.compound} out of the wood in {step.id}"
        target = (wood_origin(step.id), row.compound)
        yield from content_input(f"content.{'.'.join(target)}", target, amount, label)
    yield from _wood_losses(step)


def _wood_temperature(step: Wood) -> float:
    """Return the temperature of the wood; contact_of would want the volume of the lot."""
    if step.form == "cask" and step.temperature is None:
        return climate_of(step.climate).temperature
    return step.temperature or 293.15


def _wood_losses(step: Wood) -> Iterator[UncertainInput]:
    """Give what the air takes and the wood keeps."""
    low, typical, high = CASK_UPTAKE if step.form == "cask" else PIECE_UPTAKE
    yield process_input(
        step.id,
        "absorption",
        f"spirit that the wood soaks up in {step.id}",
        found=(typical, low, high),
        basis="estimate",
        advice="measure what comes off the wood",
    )
    if step.form != "cask":
        return
    climate = climate_of(step.climate)
    if step.yearly_loss is None:
        low, typical, high = (-math.log1p(-share) for share in climate.loss)
        yield process_input(
            step.id,
            "evaporation",
            f"what the air takes out of the cask in {step.id}",
            found=(typical, low, high),
            basis=climate.loss_basis,
            advice="weigh the cask now and then, and give yearly_loss",
        )
    width = 0.5 * (climate.drift[2] - climate.drift[0])
    yield UncertainInput(
        key=f"step.{step.id}.drift",
        label=f"change of strength in the cask in {step.id}",
        form="offset",
        up=width,
        down=width,
        basis=climate.drift_basis,
        source=GIVEN,
        advice="measure the strength now and then",
        target=("process", step.id, "drift"),
    )
