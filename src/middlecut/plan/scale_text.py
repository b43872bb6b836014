# SPDX-License-Identifier: MIT
"""Write a scaled plan as a file: values in place, split charges as steps of their own."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping

from middlecut.errors import InputError, NotFoundError
from middlecut.plan.model import Plan
from middlecut.plan.refusals import charge_id
from middlecut.plan.scale_values import Change, plan_quantity
from middlecut.plan.write import set_value
from middlecut.steps.parameters import Addition, Blend, Cut, Distil, StepParameters, Take, Until

__all__ = ["scaled_text_of"]

_HEADER = re.compile(r"\s*\[\[?\s*[A-Za-z\"']")
_SUB_TABLE = re.compile(r"\s*\[\[?\s*step\s*\.")
_REMARK = re.compile(r"\s*(#.*)?$")


def scaled_text_of(
    plan: Plan, changes: Iterable[Change], scaled: Plan, charges: Mapping[str, int]
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
        lines = _replaced(lines, plan.lines[step_id], parts)
    return "\n".join(lines)


def _set(text: str, change: Change) -> str:
    """Set a value at the first form of its key that the file uses."""
    keys = (change.key, change.key.replace("[0]", ""), f"{change.key}.{change.dimension}",
            change.key.replace(".until", ".until.time"))  # fmt: skip
    for key in keys:
        try:
            return set_value(text, key, change.text)
        except (InputError, NotFoundError):
            continue
    raise InputError(
        change.key, change.text, "it cannot be set in place", "Change it by hand to that value."
    )


def _replaced(lines: list[str], header: int, parts: list[StepParameters]) -> list[str]:
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
        blocks += _distil(part) if isinstance(part, Distil) else _blend(part)
    return [*lines[:start], *blocks, *lines[end:]]


def _blend(step: StepParameters) -> list[str]:
    if not isinstance(step, Blend):
        raise InputError("step", step.id, "only distil steps are split")
    return [
        "[[step]]",
        f"id = {_quoted(step.id)}",
        'kind = "blend"',
        f"from = [{', '.join(_take(take) for take in step.takes)}]",
        f"into = {_quoted(step.into)}",
    ]


def _distil(step: Distil) -> list[str]:
    lines = [
        "[[step]]",
        f"id = {_quoted(step.id)}",
        'kind = "distil"',
        f"purpose = {_quoted(step.purpose)}",
        f"still = {_quoted(step.still)}",
        f"from = [{', '.join(_take(take) for take in step.takes)}]",
        f"power = {_quantity(step.power, 'fraction')}",
        f"heat_up_power = {_quantity(step.heat_up_power, 'fraction')}",
    ]
    if step.water > 0.0:
        lines.append(f"water = {_quantity(step.water, 'mass')}")
    if step.total_reflux > 0.0:
        lines.append(f"total_reflux = {_quantity(step.total_reflux, 'duration')}")
    if step.charge_temperature is not None:
        lines.append(f"charge_temperature = {_quantity(step.charge_temperature, 'temperature')}")
    if step.power_changes:
        changes = [
            f"{{ at = {_until(change.at)}, power = {_quantity(change.power, 'fraction')} }}"
            for change in step.power_changes
        ]
        lines.append(f"power_changes = [{', '.join(changes)}]")
    if step.additions:
        lines.append("add = [")
        lines += [f"    {_addition(addition)}," for addition in step.additions]
        lines.append("]")
    lines.append("cuts = [")
    lines += [f"    {_cut(cut)}," for cut in step.cuts]
    return [*lines, "]", f"residue = {_quoted(step.residue)}"]


def _addition(addition: Addition) -> str:
    parts = [
        f"ingredient = {_quoted(addition.ingredient.name)}",
        f"amount = {_quantity(addition.amount, 'mass')}",
        f"entry = {_quoted(addition.entry_point)}",
    ]
    if addition.form is not None:
        parts.append(f"form = {_quoted(addition.form)}")
    return f"{{ {', '.join(parts)} }}"


def _cut(cut: Cut) -> str:
    parts = [f"into = {_quoted(cut.into)}", f"until = {_until(cut.until)}"]
    if cut.power is not None:
        parts.append(f"power = {_quantity(cut.power, 'fraction')}")
    if cut.coolant_duty is not None:
        parts.append(f"coolant_duty = {_quantity(cut.coolant_duty, 'power')}")
    if cut.reflux_ratio is not None:
        parts.append(f"reflux_ratio = {cut.reflux_ratio!r}")
    if cut.jar_volume is not None:
        parts.append(f"jars = {_quantity(cut.jar_volume, 'volume')}")
    return f"{{ {', '.join(parts)} }}"


def _until(until: Until) -> str:
    if until.volume is not None:
        return _quantity(until.volume, "volume")
    if until.strength is not None:
        return _quantity(until.strength, "strength")
    if until.head_temperature is not None:
        return _quantity(until.head_temperature, "temperature")
    if until.time is not None:
        return _quantity(until.time, "duration")
    return f"{{ boiler_volume = {_quantity(until.boiler_volume or 0.0, 'volume')} }}"


def _take(take: Take) -> str:
    if take.volume is not None:
        return f"{{ lot = {_quoted(take.lot)}, volume = {_quantity(take.volume, 'volume')} }}"
    if take.fraction is not None:
        share = _quantity(take.fraction, "fraction")
        return f"{{ lot = {_quoted(take.lot)}, fraction = {share} }}"
    return _quoted(take.lot)


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


def _quantity(value: float, dimension: str) -> str:
    return _quoted(plan_quantity(value, dimension))
