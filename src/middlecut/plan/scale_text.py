# SPDX-License-Identifier: MIT
"""Write a scaled plan as a file: values in place, split charges as steps of their own."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import replace

from middlecut import units
from middlecut.errors import InputError, NotFoundError
from middlecut.plan.model import Plan
from middlecut.plan.quantities import read_water, strength_from
from middlecut.plan.refusals import charge_id
from middlecut.plan.scale_units import as_written
from middlecut.plan.scale_values import Change, plan_quantity
from middlecut.plan.write import set_value, value_at
from middlecut.steps.parameters import Addition, Blend, Cut, Distil, StepParameters, Take, Until

__all__ = ["as_in_file", "scaled_text_of"]

_HEADER = re.compile(r"\s*\[\[?\s*[A-Za-z\"']")
_SUB_TABLE = re.compile(r"\s*\[\[?\s*step\s*\.")
_POURED = frozenset({"volume", "mass", "duration"})
"""Kinds of quantity that are rounded in the parts of a split step."""

_REMARK = re.compile(r"\s*(#.*)?$")


def scaled_text_of(
    plan: Plan,
    changes: Iterable[Change],
    scaled: Plan,
    charges: Mapping[str, int],
    digits: int | None = None,
) -> str:
    """Return the scaled plan as a file.

    Parameters
    ----------
    plan : Plan
        The old plan with its text.
    changes : iterable of Change
        Values to set.
    scaled : Plan
        The new plan, charges split.
    charges : mapping of str to int
        Number of charges by distil step of the old plan.
    digits : int or None
        Significant digits of amounts in steps that are split; None for as many as ever needed.

    Returns
    -------
    str
        Comments and order of the old file are kept; a step that is split is replaced by its
        parts. Empty when the plan has no text.

    Raises
    ------
    InputError
        If a value cannot be set without touching more of the file.
    """
    if not plan.text:
        return ""
    split = [step_id for step_id, count in charges.items() if count > 1]
    skipped = tuple(f'step."{step_id}".' for step_id in split)
    text = plan.text
    for change in changes:
        if not change.key.startswith(skipped):
            text = _set(text, change)
    lines = text.split("\n")
    for step_id in sorted(split, key=lambda name: -plan.lines.get(name, 0)):
        parts = [step for step in scaled.steps if step.id.startswith(charge_id(step_id, ""))]
        lines = _replaced(lines, plan.lines[step_id], parts, digits)
    return "\n".join(lines)


def as_in_file(plan: Plan, changes: Iterable[Change], digits: int | None) -> tuple[Change, ...]:
    """Return changes in the units the file uses, rounded, with the values that are then read.

    Parameters
    ----------
    plan : Plan
        With its text.
    changes : iterable of Change
        Exact.
    digits : int or None
        Significant digits; None for as many as a plan ever needs.

    Returns
    -------
    tuple of Change
        Their ``after`` is what ``text`` says.
    """
    return tuple(_as_in_file(plan.text, change, digits) for change in changes)


def _as_in_file(text: str, change: Change, digits: int | None) -> Change:
    standing = (value_at(text, key) for key in _keys(change))
    raw = next((one for one in standing if isinstance(one, str | int | float)), None)
    written = as_written(raw, change.after, change.dimension, digits)
    return replace(change, text=written, after=_read(written, change.dimension))


def _read(written: str, dimension: str) -> float:
    if dimension == "strength":
        return strength_from(units.parse_strength(written))
    if dimension == "mass":
        return read_water(written)
    return units.parse_quantity(written, dimension)


def _keys(change: Change) -> tuple[str, ...]:
    """Return the forms of the key that a file may use."""
    return (
        change.key,
        change.key.replace("[0]", ""),
        f"{change.key}.{change.dimension}",
        change.key.replace(".until", ".until.time"),
    )


def _set(text: str, change: Change) -> str:
    """Set a value at the first form of its key that the file uses."""
    for key in _keys(change):
        try:
            return set_value(text, key, change.text)
        except (InputError, NotFoundError):
            continue
    raise InputError(
        change.key, change.text, "it cannot be set in place", "Change it by hand to that value."
    )


def _replaced(
    lines: list[str], header: int, parts: list[StepParameters], digits: int | None
) -> list[str]:
    """Return the lines with one step, whose header stands at a line counted from 1, replaced."""
    start = header - 1
    end = start + 1
    while end < len(lines) and (not _HEADER.match(lines[end]) or _SUB_TABLE.match(lines[end])):
        end += 1
    while end > start + 1 and _REMARK.match(lines[end - 1]):
        end -= 1
    blocks: list[str] = []
    for part in parts:
        if blocks:
            blocks.append("")
        blocks += _distil(part, digits) if isinstance(part, Distil) else _blend(part, digits)
    return [*lines[:start], *blocks, *lines[end:]]


def _blend(step: StepParameters, digits: int | None) -> list[str]:
    if not isinstance(step, Blend):
        raise InputError("step", step.id, "only distil steps are split")
    return [
        "[[step]]",
        f"id = {_quoted(step.id)}",
        'kind = "blend"',
        f"from = [{', '.join(_take(take, digits) for take in step.takes)}]",
        f"into = {_quoted(step.into)}",
    ]


def _distil(step: Distil, digits: int | None) -> list[str]:
    lines = [
        "[[step]]",
        f"id = {_quoted(step.id)}",
        'kind = "distil"',
        f"purpose = {_quoted(step.purpose)}",
        f"still = {_quoted(step.still)}",
        f"from = [{', '.join(_take(take, digits) for take in step.takes)}]",
        f"power = {_quantity(step.power, 'fraction', digits)}",
        f"heat_up_power = {_quantity(step.heat_up_power, 'fraction', digits)}",
    ]
    if step.water > 0.0:
        lines.append(f"water = {_quantity(step.water, 'mass', digits)}")
    if step.total_reflux > 0.0:
        lines.append(f"total_reflux = {_quantity(step.total_reflux, 'duration', digits)}")
    if step.charge_temperature is not None:
        warmth = _quantity(step.charge_temperature, "temperature", digits)
        lines.append(f"charge_temperature = {warmth}")
    if step.power_changes:
        changes = [
            f"{{ at = {_until(change.at, digits)}, "
            f"power = {_quantity(change.power, 'fraction', digits)} }}"
            for change in step.power_changes
        ]
        lines.append(f"power_changes = [{', '.join(changes)}]")
    if step.additions:
        lines.append("add = [")
        lines += [f"    {_addition(addition, digits)}," for addition in step.additions]
        lines.append("]")
    lines.append("cuts = [")
    lines += [f"    {_cut(cut, digits)}," for cut in step.cuts]
    return [*lines, "]", f"residue = {_quoted(step.residue)}"]


def _addition(addition: Addition, digits: int | None) -> str:
    parts = [
        f"ingredient = {_quoted(addition.ingredient.name)}",
        f"amount = {_quantity(addition.amount, 'mass', digits)}",
        f"entry = {_quoted(addition.entry_point)}",
    ]
    if addition.form is not None:
        parts.append(f"form = {_quoted(addition.form)}")
    return f"{{ {', '.join(parts)} }}"


def _cut(cut: Cut, digits: int | None) -> str:
    parts = [f"into = {_quoted(cut.into)}", f"until = {_until(cut.until, digits)}"]
    if cut.power is not None:
        parts.append(f"power = {_quantity(cut.power, 'fraction', digits)}")
    if cut.coolant_duty is not None:
        parts.append(f"coolant_duty = {_quantity(cut.coolant_duty, 'power', digits)}")
    if cut.reflux_ratio is not None:
        parts.append(f"reflux_ratio = {cut.reflux_ratio!r}")
    if cut.jar_volume is not None:
        parts.append(f"jars = {_quantity(cut.jar_volume, 'volume', digits)}")
    return f"{{ {', '.join(parts)} }}"


def _until(until: Until, digits: int | None) -> str:
    if until.volume is not None:
        return _quantity(until.volume, "volume", digits)
    if until.strength is not None:
        return _quantity(until.strength, "strength", digits)
    if until.head_temperature is not None:
        return _quantity(until.head_temperature, "temperature", digits)
    if until.time is not None:
        return _quantity(until.time, "duration", digits)
    return f"{{ boiler_volume = {_quantity(until.boiler_volume or 0.0, 'volume', digits)} }}"


def _take(take: Take, digits: int | None) -> str:
    if take.volume is not None:
        volume = _quantity(take.volume, "volume", digits)
        return f"{{ lot = {_quoted(take.lot)}, volume = {volume} }}"
    if take.fraction is not None:
        share = _quantity(take.fraction, "fraction", digits)
        return f"{{ lot = {_quoted(take.lot)}, fraction = {share} }}"
    return _quoted(take.lot)


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


def _quantity(value: float, dimension: str, digits: int | None) -> str:
    if digits is None or dimension not in _POURED:
        return _quoted(plan_quantity(value, dimension))
    return _quoted(as_written(None, value, dimension, digits))
