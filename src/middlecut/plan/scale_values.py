# SPDX-License-Identifier: MIT
"""Which values of a plan file change when a plan is scaled."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from middlecut.plan.model import Plan
from middlecut.steps.parameters import (
    Addition,
    Blend,
    Bottle,
    Dilute,
    Distil,
    Draw,
    Ferment,
    Steep,
    StepParameters,
    Take,
    Until,
    Wood,
)

__all__ = ["Change", "changes_between", "plan_quantity"]

_DECIMALS = 5


@dataclass(frozen=True, slots=True)
class Change:
    """One value of a plan file that changes.

    Parameters
    ----------
    key : str
        Its dotted place in the file.
    dimension : str
        Kind of quantity.
    before, after : float
        In SI; after as ``text`` says it.
    text : str
        What to write in the file.
    """

    key: str
    dimension: str
    before: float
    after: float
    text: str


def plan_quantity(value: float, dimension: str) -> str:
    """Return an SI value as it stands in a plan file.

    Parameters
    ----------
    value : float
        In SI.
    dimension : str
        "volume", "mass", "duration", "strength", "temperature", "power", "fraction", "ratio" or
        "area".

    Returns
    -------
    str
        With a unit and a decimal point; volumes to a hundredth of a millilitre, all else to
        five decimals.

    Examples
    --------
    >>> plan_quantity(0.0205, "volume"), plan_quantity(0.46, "strength")
    ('20.5 L', '46 %vol')
    """
    small = dimension == "volume" and abs(value) < 1e-3
    unit, factor, offset = ("mL", 1e6, 0.0) if small else _UNITS[dimension]
    number = f"{(value - offset) * factor:.{_DECIMALS - 3 * small}f}".rstrip("0").rstrip(".")
    return f"{number or '0'} {unit}".rstrip()


_UNITS = {
    "volume": ("L", 1e3, 0.0),
    "mass": ("kg", 1.0, 0.0),
    "duration": ("min", 1.0 / 60.0, 0.0),
    "strength": ("%vol", 1e2, 0.0),
    "temperature": ("°C", 1.0, 273.15),
    "power": ("W", 1.0, 0.0),
    "fraction": ("%", 1e2, 0.0),
    "ratio": ("", 1.0, 0.0),
    "area": ("cm2", 1e4, 0.0),
}

_Value = tuple[str, str, float]


def changes_between(old: Plan, new: Plan) -> tuple[Change, ...]:
    """Return the values that differ between two plans of the same steps.

    Parameters
    ----------
    old, new : Plan
        Same steps in the same order, other amounts.

    Returns
    -------
    tuple of Change
        In the order of the file.
    """
    before = dict(_plan_values(old))
    after = dict(_plan_values(new))
    return tuple(
        Change(key, dimension, value, after[key][1], plan_quantity(after[key][1], dimension))
        for key, (dimension, value) in before.items()
        if key in after and abs(after[key][1] - value) > 1e-12 * abs(value)
    )


def _plan_values(plan: Plan) -> Iterator[tuple[str, tuple[str, float]]]:
    for lot in plan.given:
        yield f'lot."{lot.name}".volume', ("volume", lot.volume)
    for step in plan.steps:
        for key, dimension, value in _step_values(step):
            yield f'step."{step.id}".{key}', (dimension, value)


def _step_values(step: StepParameters) -> Iterator[_Value]:
    match step:
        case Ferment():
            yield "volume", "volume", step.volume
            yield "lees", "volume", step.lees
            for index, (_, volume) in enumerate(step.reserve):
                yield f"reserve[{index}].volume", "volume", volume
            yield from _additions(step.additions)
        case Steep():
            yield from _takes((step.take,))
            yield from _additions(step.additions)
        case Draw():
            yield from _takes((step.take,))
        case Blend():
            yield from _takes(step.takes)
        case Dilute():
            yield from _takes((step.take,))
            yield "strength", "strength", step.strength
        case Bottle():
            yield from _takes((step.take,))
            yield "strength", "strength", step.label_strength
        case Wood():
            yield from _wood_values(step)
        case Distil():
            yield from _distil_values(step)


def _distil_values(step: Distil) -> Iterator[_Value]:
    yield from _takes(step.takes)
    yield "water", "mass", step.water
    for index, cut in enumerate(step.cuts):
        yield from _until(f"cuts[{index}].until", cut.until)
    for index, change in enumerate(step.power_changes):
        yield from _until(f"power_changes[{index}].at", change.at)
    yield from _additions(step.additions)


def _additions(additions: tuple[Addition, ...]) -> Iterator[_Value]:
    for index, addition in enumerate(additions):
        yield f"add[{index}].amount", "mass", addition.amount


def _wood_values(step: Wood) -> Iterator[_Value]:
    yield from _takes((step.take,))
    if step.cask_volume is not None:
        yield "cask_volume", "volume", step.cask_volume
    if step.area is not None:
        yield "area", "area", step.area


def _takes(takes: tuple[Take, ...]) -> Iterator[_Value]:
    for index, take in enumerate(takes):
        if take.volume is not None:
            yield f"from[{index}].volume", "volume", take.volume


def _until(key: str, until: Until) -> Iterator[_Value]:
    if until.volume is not None:
        yield key, "volume", until.volume
    elif until.time is not None:
        yield key, "duration", until.time
    elif until.boiler_volume is not None:
        yield f"{key}.boiler_volume", "volume", until.boiler_volume
