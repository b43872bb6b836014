# SPDX-License-Identifier: MIT
"""What is uncertain of ingredients in a steep or a wash: what the solid holds back."""

from __future__ import annotations

from collections.abc import Iterator

from middlecut.insight.uncertain_input import UncertainInput
from middlecut.liquid import extraction
from middlecut.steps.additions import PARTITION_FACTOR
from middlecut.steps.parameters import Ferment, Steep
from middlecut.steps.scenario import SOLID

__all__ = ["partition_key", "solid_inputs"]


def partition_key(ingredient: str, compound: str) -> str:
    """Return the key of the input: the partition of a compound between an ingredient and liquid."""
    return f"partition.{ingredient}.{compound}"


def solid_inputs(step: Steep | Ferment) -> Iterator[UncertainInput]:
    """Give what the ingredients of a steep or a wash may hold back.

    Parameters
    ----------
    step : Steep or Ferment

    Yields
    ------
    UncertainInput
        The partition of each compound between solid and liquid, where the solid holds any back;
        one for an ingredient and compound, whatever the step.
    """
    stirred = isinstance(step, Steep) and step.stirred
    for addition in step.additions:
        ingredient = addition.ingredient
        for marker in ingredient.tracked:
            release = extraction.extraction(
                marker.compound, ingredient, form=addition.form, temperature=step.temperature,
                strength=0.0, stirred=stirred,
            )  # fmt: skip
            if not release.partition > 0.0:
                continue
            yield UncertainInput(
                key=partition_key(ingredient.name, marker.compound),
                label=f"what spent {ingredient.name} holds back of {marker.compound}",
                form="factor",
                up=PARTITION_FACTOR,
                down=PARTITION_FACTOR,
                basis="estimate",
                source="the estimate of the partition between solid and liquid, within a factor 3",
                advice=f"have {marker.compound} measured in a steep of {ingredient.name}",
                target=("process", SOLID + ingredient.name, marker.compound),
            )
