# SPDX-License-Identifier: MIT
"""What is uncertain of ingredients in a fermenting wash: when, and what the gas takes."""

from __future__ import annotations

import math
from collections.abc import Iterator

from middlecut.insight.uncertain_input import UncertainInput, process_input
from middlecut.liquid import partition
from middlecut.steps.gravity_course import gravity_course
from middlecut.steps.parameters import Ferment
from middlecut.steps.scenario import AIR
from middlecut.steps.wash_release import air_spread

__all__ = ["wash_inputs"]

_LEAST = 1e-5
"""Partition below which the gas takes nothing: it fills the wash some 40 times at most."""


def wash_inputs(step: Ferment) -> Iterator[UncertainInput]:
    """Give what is uncertain of the ingredients of a fermentation.

    Parameters
    ----------
    step : Ferment

    Yields
    ------
    UncertainInput
        Midpoint and slope of the fall in gravity, and the partition of each compound into the gas.
    """
    if not step.additions:
        return
    course = gravity_course(step.temperature)
    for quantity, (low, high), label in (
        ("midpoint", course.midpoint, "time of half the fall in gravity of {step}"),
        ("slope", course.slope, "speed of the fall in gravity of {step}"),
    ):
        yield process_input(
            step.id,
            quantity,
            label.format(step=step.id),
            found=(math.sqrt(low * high), low, high),
            basis=course.basis,
            advice="follow the gravity of the wash",
        )
    for compound in sorted(
        {marker.compound for one in step.additions for marker in one.ingredient.tracked}
    ):
        spread = air_spread(compound)
        if spread is not None and _leaves(compound, step.temperature):
            yield process_input(
                AIR,
                compound,
                f"partition of {compound} between wash and gas",
                found=(1.0, 1.0 / spread, spread),
                basis="estimate",
                advice="",
            )


def _leaves(compound: str, temperature: float) -> bool:
    return float(partition.air_water_partition(compound, temperature)) > _LEAST
