# SPDX-License-Identifier: MIT
"""Changes that move an ingredient to another step, or leave it out."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from typing import TYPE_CHECKING, Any, Literal

from middlecut.insight.changes import Change
from middlecut.insight.entry_points import DOSE_LIQUID, MOST_DOSE, STEEP_TIME
from middlecut.insight.wording import written
from middlecut.plan.reshape import PlanEdit, inline_table
from middlecut.steps.parameters import Bottle, Dilute, Ferment, Steep
from middlecut.units import format_quantity

if TYPE_CHECKING:
    from middlecut.insight.case import Case, Placed, Run
    from middlecut.insight.off_flavours import Fault
    from middlecut.steps.parameters import StepParameters

__all__ = ["KINDS"]

_KEPT = ("ingredient", "amount", "form")
"""What an addition keeps wherever it goes; when and how long belongs to its step."""
_STONELESS = {"cherries, crushed with stones": "cherries, stones removed"}
_PURPOSES = ("flavour", "spirit", "strip")
_ID_ROOM = 28  # characters of a lot's name that go into the id of a step


def _item(case: Case, placed: Placed, **more: str) -> dict[str, Any]:
    """Return an addition as it is written in the plan, without what belongs to its step."""
    raw = case.raw_step(placed.step.id)["add"][placed.index]
    return {**{key: raw[key] for key in _KEPT if key in raw}, **more}


def _amount(placed: Placed) -> str:
    return f"{format_quantity(placed.addition.amount, 'mass')} of {placed.name}"


def _taken_out(case: Case, placed: Placed) -> tuple[PlanEdit, ...]:
    """Return the edits that take an addition out of its step; () where that leaves a gap.

    A steep with nothing else in it goes as a whole: what took its lot takes what it took.
    """
    step = placed.step
    if not isinstance(step, Steep) or len(step.additions) > 1:
        return (PlanEdit("remove", placed.key),)
    source = _only_lot(case.raw_step(step.id).get("from"))
    takers = [one for one in case.document["step"] if step.into in _lots(one.get("from"))]
    if not source or any(_only_lot(one["from"]) != step.into for one in takers):
        return ()
    edits = (PlanEdit("set", f"step.{one['id']}.from", source) for one in takers)
    return (*edits, PlanEdit("remove", f"step.{step.id}"))


def _lots(raw: object) -> tuple[str, ...]:
    """Return the lots that a step takes from, as its ``from`` is written."""
    items = raw if isinstance(raw, list) else [raw]
    return tuple(str(one.get("lot")) if isinstance(one, Mapping) else str(one) for one in items)


def _only_lot(raw: object) -> str:
    """Return the lot that is taken whole and alone, else ""."""
    if isinstance(raw, list) and len(raw) == 1:
        raw = raw[0]
    return raw if isinstance(raw, str) else ""


def _order(case: Case, step: StepParameters) -> int:
    return case.plan.steps.index(step)


def _runs_for(case: Case, placed: Placed, *, basket: bool) -> Iterator[Run]:
    """Yield the runs an addition could go into instead, the one nearest to the flavour first."""
    here, steeped = _order(case, placed.step), isinstance(placed.step, Steep)
    for purpose in _PURPOSES:
        for run in reversed(case.runs):
            there = _order(case, run.step)
            on_the_way = there < here if steeped else there > here
            has_room = not basket or run.still.basket_volume > 0.0
            if run.step.purpose == purpose and on_the_way and has_room:
                yield run


def _into_run(case: Case, placed: Placed, point: Literal["charge", "basket"]) -> Iterator[Change]:
    run = next(_runs_for(case, placed, basket=point == "basket"), None)
    out = _taken_out(case, placed)
    if run is None or not out:
        return
    where = "vapour basket" if point == "basket" else "charge"
    put = "hang it in" if point == "basket" else "put it into"
    added = PlanEdit(
        "insert",
        f"step.{run.step.id}.add[{len(run.step.additions)}]",
        inline_table(_item(case, placed, entry=point)),
    )
    text = f"Take {_amount(placed)} out of {placed.step.id} and {put} the {where} of {run.step.id}."
    yield Change(text, shape=(*out, added))


def _basket_instead(case: Case, fault: Fault, limit: str) -> Iterator[Change]:
    """Out of the charge, the wash or the steep, into a basket."""
    del limit
    for placed in case.relevant(fault):
        if placed.addition.entry_point == "basket":
            continue
        own = next((run for run in case.runs if run.step.id == placed.step.id), None)
        if own is not None and own.still.basket_volume > 0.0:
            still = own.still.name
            text = f"Hang {placed.name} in the vapour basket of {still} instead of the charge."
            yield Change(text, ((f"{placed.key}.entry", "basket"),))
        else:
            yield from _into_run(case, placed, "basket")


def _charge_instead(case: Case, fault: Fault, limit: str) -> Iterator[Change]:
    """Out of the wash or the steep, into the boiler of a run."""
    del limit
    for placed in case.relevant(fault):
        if isinstance(placed.step, Ferment | Steep):
            yield from _into_run(case, placed, "charge")


def _finish(case: Case) -> tuple[str, StepParameters, str] | None:
    """Return the lot before it is let down and filled, which step takes it, and how that says it.

    None where the tasted lot is neither let down nor filled.
    """
    makers = {getattr(step, "into", ""): step for step in case.plan.steps}
    step, found = makers.get(case.lot.name), None
    while isinstance(step, Bottle | Dilute):
        lot = _only_lot(case.raw_step(step.id).get("from"))
        if not lot:
            return found
        found = (lot, step, step.id)
        step = makers.get(lot)
    return found


def _id(case: Case, verb: str, lot: str) -> str:
    short = re.sub(r"\W+", "-", lot[:_ID_ROOM]).strip("-")
    return case.new_name(f"{verb}-{short}")


def _steep_instead(case: Case, fault: Fault, limit: str) -> Iterator[Change]:
    """Out of wash or still, into a steep in the finished spirit."""
    days = limit or written(STEEP_TIME, "duration")
    end = _finish(case)
    for placed in case.relevant(fault):
        if isinstance(placed.step, Steep) or end is None:
            continue
        lot, step, step_id = end
        there = next(
            (
                one
                for one in reversed(case.plan.steps)
                if isinstance(one, Steep) and one.into in case.undistilled
            ),
            None,
        )
        if there is not None:
            put = PlanEdit(
                "insert",
                f"step.{there.id}.add[{len(there.additions)}]",
                inline_table(_item(case, placed)),
            )
            text = f"Put {_amount(placed)} into {there.id} instead of {placed.step.id}."
            yield Change(text, shape=(*_taken_out(case, placed), put))
            continue
        name, made = _id(case, "steep", lot), case.new_name(f"{lot}, steeped")
        table = {
            "id": name,
            "kind": "steep",
            "from": lot,
            "duration": days,
            "into": made,
            "add": [_item(case, placed)],
        }
        text = f"Steep {_amount(placed)} in {lot} for {days}, before {step.id}, instead of adding "
        text += f"it in {placed.step.id}."
        yield Change(
            text,
            ((f"step.{step_id}.from", made),),
            (*_taken_out(case, placed), PlanEdit("insert", f"step.{step_id}", inline_table(table))),
        )


def _dose_instead(case: Case, fault: Fault, limit: str) -> Iterator[Change]:
    """Into a flavour spirit of its own, steeped apart and dosed back."""
    days = limit or written(STEEP_TIME, "duration")
    end = _finish(case)
    for placed in case.relevant(fault):
        if end is None or (isinstance(placed.step, Steep) and placed.step.into == end[0]):
            continue
        lot, _, step_id = end
        item = placed.addition.ingredient
        volume = placed.addition.amount * max(DOSE_LIQUID, 2e-3 * item.water_absorption)
        out = _taken_out(case, placed)
        if volume > MOST_DOSE * case.prediction.lots[lot].volume or not out:
            continue
        part = written(volume, "volume")
        apart = case.new_name(f"{lot}, set apart")
        flavour = case.new_name(f"{placed.name} spirit"[:60])
        made = case.new_name(f"{lot}, dosed")
        steps: tuple[dict[str, Any], ...] = (
            {
                "id": _id(case, "draw", lot),
                "kind": "draw",
                "from": [{"lot": lot, "volume": part}],
                "into": apart,
            },
            {
                "id": _id(case, "steep", f"{lot}-apart"),
                "kind": "steep",
                "from": apart,
                "duration": days,
                "into": flavour,
                "add": [_item(case, placed)],
            },
            {
                "id": _id(case, "dose", lot),
                "kind": "blend",
                "from": [lot, flavour],
                "into": made,
            },
        )
        text = f"Steep {_amount(placed)} apart in {part} of {lot} for {days} and dose all of it "
        text += f"back, instead of adding it in {placed.step.id}; taste while dosing."
        yield Change(
            text,
            ((f"step.{step_id}.from", made),),
            (*out, *(PlanEdit("insert", f"step.{step_id}", inline_table(one)) for one in steps)),
        )


def _leave_out(case: Case, fault: Fault, limit: str) -> Iterator[Change]:
    del limit
    for placed in case.relevant(fault):
        if out := _taken_out(case, placed):
            text = f"Leave {_amount(placed)} out of {placed.step.id} altogether."
            yield Change(text, shape=out)


def _without_stones(case: Case, fault: Fault, limit: str) -> Iterator[Change]:
    """Put whole fruit in without its stones, where the table has it."""
    del fault, limit
    for placed in case.additions:
        stoneless = _STONELESS.get(placed.name)
        if stoneless is not None:
            text = f"Put in the same amount of {stoneless}, instead of {placed.name}."
            yield Change(text, ((f"{placed.key}.ingredient", stoneless),))


KINDS: Mapping[str, Callable[[Case, Fault, str], Iterator[Change]]] = {
    "without-stones": _without_stones,
    "basket-instead": _basket_instead,
    "charge-instead": _charge_instead,
    "steep-instead": _steep_instead,
    "dose-instead": _dose_instead,
    "leave-out": _leave_out,
}
"""Changes of where an ingredient meets the liquid, by name."""
