# SPDX-License-Identifier: MIT
"""Turn an error of a step into a problem of the plan: its key, its line, its unit."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from middlecut.errors import InputError, NotFoundError, OutOfRangeError, PlanError, Problem
from middlecut.plan.model import Plan
from middlecut.plan.positions import Path, Place, locate, nearest_place
from middlecut.steps.parameters import StepParameters
from middlecut.units.worded import worded

__all__ = ["charge_id", "refusal", "whole_id"]

_CHARGE = "-charge-"

_KEYS: Mapping[str, str] = {
    "area_per_volume": "cask_volume",
    "from_temperature": "charge_temperature",
    "lees and reserve": "lees",
    "plato": "final_gravity",
    "time": "duration",
}
"""The plan's key for what the steps call otherwise."""


def charge_id(step_id: str, part: object) -> str:
    """Return the id of one part of a step that is carried out in several charges."""
    return f"{step_id}{_CHARGE}{part}"


def whole_id(step_id: str) -> str:
    """Return the id of the step that a charge is part of; any other id as it is."""
    return step_id.partition(_CHARGE)[0]


def refusal(plan: Plan, step: StepParameters, error: InputError | NotFoundError) -> PlanError:
    """Return an error of a step as an error of the plan, with its place.

    Parameters
    ----------
    plan : Plan
        For path and line.
    step : StepParameters
        Which step.
    error : InputError or NotFoundError
        What is wrong.

    Returns
    -------
    PlanError
        With one problem: under the key that caused it, on that key's line where the file has it,
        and in the units a person uses.
    """
    if not isinstance(error, InputError):
        line = _line(plan, step, (error.kind,))
        return PlanError(plan.path, (Problem(f"step.{step.id}", "", str(error), "", line),))
    value, allowed = _words(error)
    key = _KEYS.get(error.field, error.field)
    problem = Problem(
        key=f"step.{step.id}.{key}",
        value=value,
        message=f"{allowed}.",
        remedy=error.remedy,
        line=_line(plan, step, _path(key, step, value)),
    )
    return PlanError(plan.path, (problem,))


def _words(error: InputError) -> tuple[str, str]:
    if isinstance(error, OutOfRangeError):
        return worded(error)
    value = error.value
    return f"{value:.6g}" if isinstance(value, float) else str(value), error.allowed


def _path(key: str, step: StepParameters, value: str) -> Path:
    """Return the place of a key below its step, such as ("cuts", 0, "until")."""
    parts = re.findall(r"[^.\[\]]+", key)
    path: Path = tuple(int(part) if part.isdigit() else part for part in parts)
    if path == ("add",):
        additions: tuple[Any, ...] = getattr(step, "additions", ())
        for index, addition in enumerate(additions):
            if addition.ingredient.name in value:
                return ("add", index)
    return path


def _line(plan: Plan, step: StepParameters, path: Path) -> int | None:
    """Return the line of a key, or of its step's header."""
    step_id = whole_id(step.id)
    document, places = _read(plan.text)
    steps = document.get("step")
    for index, item in enumerate(steps if isinstance(steps, list) else ()):
        if isinstance(item, Mapping) and item.get("id") == step_id:
            place = nearest_place(places, ("step", index, *path))[1]
            return place.line if place else None
    return plan.lines.get(step.id)


@lru_cache(maxsize=8)
def _read(text: str) -> tuple[Mapping[str, object], Mapping[Path, Place]]:
    """Return document and places of a plan's text; nothing of one that was made by hand."""
    try:
        return tomllib.loads(text), locate(text)
    except ValueError:
        return {}, {}
