# SPDX-License-Identifier: MIT
"""Make every amount of a plan larger or smaller, and split charges that overfill a boiler."""

from __future__ import annotations

import math
from collections.abc import Set
from dataclasses import replace

from middlecut.errors import InputError
from middlecut.plan.model import Plan
from middlecut.plan.pool import Pool
from middlecut.plan.predict import carry_out
from middlecut.plan.refusals import charge_id, refusal, whole_id
from middlecut.steps.lot import Lot
from middlecut.steps.mixing import mixed, water_lot
from middlecut.steps.parameters import (
    Addition,
    Blend,
    Bottle,
    Cut,
    Dilute,
    Distil,
    Draw,
    Ferment,
    PowerChange,
    Steep,
    StepParameters,
    Take,
    Until,
    Wood,
)
from middlecut.steps.still import Still

__all__ = ["MOST_CHARGES", "enlarge", "outputs_of", "part_name", "split_charges"]

MOST_CHARGES = 40
"""Charges one distil step may be split into before the boiler is called too small."""


def part_name(name: str, number: int, count: int) -> str:
    """Return the name of one part of a lot that is made in several charges.

    Parameters
    ----------
    name : str
        Of the lot.
    number, count : int
        Which part of how many, counted from 1.

    Returns
    -------
    str
        A lot name.

    Examples
    --------
    >>> part_name("low wines", 1, 2)
    'low wines (1 of 2)'
    """
    return f"{name} ({number} of {count})"


def outputs_of(step: StepParameters) -> tuple[str, ...]:
    """Return the names of the lots a step makes, without what is left of a bottling."""
    match step:
        case Ferment():
            return (step.into, *(name for name, _ in step.reserve))
        case Distil():
            return (*(cut.into for cut in step.cuts), step.residue)
        case _:
            return (step.into,)


def _from_wash(plan: Plan, lot: str) -> bool:
    """Say whether anything in a lot was fermented in this plan."""
    washed: set[str] = set()
    for step in plan.steps:
        match step:
            case Ferment():
                washed.update(outputs_of(step))
                continue
            case Distil() | Blend():
                takes = step.takes
            case _:
                takes = (step.take,)
        if any(take.lot in washed for take in takes):
            washed.update(outputs_of(step))
        else:
            washed.difference_update(outputs_of(step))
    return lot in washed


def enlarge(plan: Plan, factor: float, lot: str = "") -> Plan:
    """Return the plan with every amount of liquid times a factor.

    Parameters
    ----------
    plan : Plan
        What to enlarge.
    factor : float
        Above 0.
    lot : str
        The lot that is wanted; "" for any.

    Returns
    -------
    Plan
        Volumes fermented, drawn, added and cut by volume, ingredients, times by which a cut ends,
        and boiler levels are scaled; strengths, temperatures, power and bottle sizes stay. Lots of
        earlier batches stay as they are when the wanted lot comes from a wash that the plan
        ferments, be it in part; else they are scaled too.
    """
    ferments = any(step.kind == "ferment" for step in plan.steps)
    if lot:
        ferments = _from_wash(plan, lot)
    fixed = frozenset(lot.name for lot in plan.given) if ferments else frozenset()
    given = plan.given if ferments else tuple(lot.part(factor) for lot in plan.given)
    steps = tuple(_enlarged(step, factor, fixed) for step in plan.steps)
    return replace(plan, steps=steps, given=given)


def split_charges(plan: Plan) -> tuple[Plan, dict[str, int], dict[str, Lot]]:
    """Return the plan with every charge above the safe fill split into equal charges.

    Parameters
    ----------
    plan : Plan
        What to split.

    Returns
    -------
    plan : Plan
        Each distil step that would overfill its boiler is repeated, and the parts of every lot it
        makes are put together again under the old name.
    charges : dict of str to int
        Number of charges by step id, for every distil step.
    lots : dict of str to Lot
        Every lot as made.

    Raises
    ------
    PlanError
        If a step cannot be done, or would take more than 40 charges.
    """
    pool = Pool(plan.given)
    steps: list[StepParameters] = []
    charges: dict[str, int] = {}
    for step in plan.steps:
        parts: tuple[StepParameters, ...] = (step,)
        if isinstance(step, Distil) and step.still in plan.stills:
            count = _count(step, plan, pool)
            charges[step.id] = count
            parts = _repeated(step, count)
        for part in parts:
            carry_out(part, plan, pool)
        steps += parts
    lines = {part.id: plan.lines.get(whole_id(part.id), 0) for part in steps}
    known = {key: line for key, line in lines.items() if line}
    return replace(plan, steps=tuple(steps), lines=known), charges, dict(pool.made)


def _count(step: Distil, plan: Plan, pool: Pool) -> int:
    still: Still = plan.stills[step.still]
    trial = pool.copy()
    try:
        lots = [trial.take(take) for take in step.takes]
        if step.water > 0.0:
            lots.append(water_lot(step.water))
        volume = mixed(lots, step.id).volume
        count = max(1, math.ceil(volume / (still.safe_fill * still.boiler_volume) - 1e-6))
    except InputError as error:
        raise refusal(plan, step, error) from error
    if count > MOST_CHARGES:
        too_many = InputError(
            "still",
            step.still,
            f"{volume * 1e3:.4g} L would take {count} charges of that boiler",
            "Use a larger still or ask for less.",
        )
        raise refusal(plan, step, too_many)
    return count


def _repeated(step: Distil, count: int) -> tuple[StepParameters, ...]:
    if count == 1:
        return (step,)
    share = 1.0 / count
    runs: list[StepParameters] = []
    for number in range(1, count + 1):
        scaled = _enlarged(step, share, frozenset())
        if not isinstance(scaled, Distil):  # pragma: no cover - a Distil stays a Distil
            raise TypeError(step.kind)
        runs.append(
            replace(
                scaled,
                id=charge_id(step.id, number),
                takes=tuple(_part_take(take, number, count) for take in step.takes),
                cuts=tuple(
                    replace(cut, into=part_name(cut.into, number, count)) for cut in scaled.cuts
                ),
                residue=part_name(step.residue, number, count),
            )
        )
    names = [*(cut.into for cut in step.cuts), step.residue]
    joins = [
        Blend(
            charge_id(step.id, f"join-{index}"),
            tuple(Take(part_name(name, number, count)) for number in range(1, count + 1)),
            name,
        )
        for index, name in enumerate(names, start=1)
    ]
    return (*runs, *joins)


def _part_take(take: Take, number: int, count: int) -> Take:
    if take.volume is not None:
        return replace(take, volume=take.volume / count)
    share = (1.0 if take.fraction is None else take.fraction) / count
    left = 1.0 - (number - 1) * share
    if number == count and take.fraction is None:
        return Take(take.lot)
    return Take(take.lot, fraction=share / left)


def _enlarged(step: StepParameters, factor: float, fixed: Set[str]) -> StepParameters:
    match step:
        case Ferment():
            return replace(
                step,
                volume=step.volume * factor,
                lees=step.lees * factor,
                reserve=tuple((name, volume * factor) for name, volume in step.reserve),
                additions=_additions(step.additions, factor),
            )
        case Steep():
            return replace(
                step,
                take=_take(step.take, factor, fixed),
                additions=_additions(step.additions, factor),
            )
        case Draw() | Dilute() | Bottle():
            return replace(step, take=_take(step.take, factor, fixed))
        case Wood():
            size, area = step.cask_volume, step.area
            return replace(
                step,
                take=_take(step.take, factor, fixed),
                cask_volume=None if size is None else size * factor,
                area=None if area is None else area * factor,
            )
        case Blend():
            return replace(step, takes=tuple(_take(take, factor, fixed) for take in step.takes))
        case Distil():
            return replace(
                step,
                takes=tuple(_take(take, factor, fixed) for take in step.takes),
                water=step.water * factor,
                cuts=tuple(_cut(cut, factor) for cut in step.cuts),
                power_changes=tuple(
                    PowerChange(_until(change.at, factor), change.power)
                    for change in step.power_changes
                ),
                additions=_additions(step.additions, factor),
            )


def _additions(additions: tuple[Addition, ...], factor: float) -> tuple[Addition, ...]:
    return tuple(replace(addition, amount=addition.amount * factor) for addition in additions)


def _take(take: Take, factor: float, fixed: Set[str]) -> Take:
    if take.volume is None or take.lot in fixed:
        return take
    return replace(take, volume=take.volume * factor)


def _cut(cut: Cut, factor: float) -> Cut:
    return replace(cut, until=_until(cut.until, factor))


def _until(until: Until, factor: float) -> Until:
    return replace(
        until,
        volume=None if until.volume is None else until.volume * factor,
        time=None if until.time is None else until.time * factor,
        boiler_volume=None if until.boiler_volume is None else until.boiler_volume * factor,
    )
