# SPDX-License-Identifier: MIT
"""A plan after it has been read and checked: SI values only, ready for the steps."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TYPE_CHECKING

from middlecut.errors import NotFoundError
from middlecut.liquid.ingredients import Ingredient
from middlecut.liquid.own_names import OwnCompound
from middlecut.steps.lot import Lot
from middlecut.steps.parameters import StepParameters
from middlecut.steps.still import Still

if TYPE_CHECKING:
    from middlecut.liquid.own_ingredients import Library

__all__ = ["Batch", "Plan"]


@dataclass(frozen=True, slots=True)
class Batch:
    """What holds for the whole batch.

    Parameters
    ----------
    name : str
        The user's name for it.
    pressure : float
        Air pressure at the still. [Pa]
    altitude : float or None
        Height the pressure was computed from. [m] None when the pressure was given.
    currency : str
        As the user writes it; "" when no price is given.
    energy_price : float or None
        [currency J⁻¹]
    water_price : float or None
        [currency m⁻³]
    notes : str
        Free text.
    """

    name: str
    pressure: float = 101325.0
    altitude: float | None = None
    currency: str = ""
    energy_price: float | None = None
    water_price: float | None = None
    notes: str = ""


@dataclass(frozen=True, slots=True)
class Plan:
    """What is intended, from wash to bottle.

    Parameters
    ----------
    path : str
        Where it came from, as the person named it.
    batch : Batch
        What holds for the whole batch.
    stills : mapping of str to Still
        By name.
    given : tuple of Lot
        Lots of earlier batches, described in the file.
    steps : tuple of StepParameters
        In the order they are carried out.
    ingredients : mapping of str to Ingredient
        The user's own, from the plan and from their library, by name.
    text : str
        The file itself, for remedies that edit it.
    lines : mapping of str to int
        Line of each step's header by its id.
    compounds : mapping of str to OwnCompound
        The user's own, from the plan and from their library, by name.
    """

    path: str
    batch: Batch
    steps: tuple[StepParameters, ...]
    stills: Mapping[str, Still] = field(default_factory=dict)
    given: tuple[Lot, ...] = ()
    ingredients: Mapping[str, Ingredient] = field(default_factory=dict)
    text: str = ""
    lines: Mapping[str, int] = field(default_factory=dict)
    compounds: Mapping[str, OwnCompound] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for name in ("stills", "ingredients", "lines", "compounds"):
            object.__setattr__(self, name, MappingProxyType(dict(getattr(self, name))))

    @property
    def library(self) -> Library:
        """The user's own ingredients and compounds, for reading an edited text of this plan."""
        from middlecut.liquid.own_ingredients import Library  # noqa: PLC0415 - only then

        return Library(self.ingredients.values(), self.compounds.values())

    def step(self, step_id: str) -> StepParameters:
        """Return the step of that id, or raise NotFoundError."""
        for step in self.steps:
            if step.id == step_id:
                return step
        raise NotFoundError("step", step_id, tuple(step.id for step in self.steps)[:3])
