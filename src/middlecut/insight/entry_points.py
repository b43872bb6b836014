# SPDX-License-Identifier: MIT
"""Put an ingredient into a plan at every entry point the plan can serve; say why at the others."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from middlecut.plan.reshape import inline_table
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
)
from middlecut.units import format_quantity

if TYPE_CHECKING:
    from middlecut.liquid.ingredients import Ingredient
    from middlecut.plan.model import Plan
    from middlecut.steps.lot import Lot

__all__ = ["ENTRY_POINTS", "STEEP_TIME", "Closed", "Opened", "entry_points", "without_ingredient"]

EntryPoint = Literal["wash-early", "wash-late", "charge", "basket", "steep", "dose"]

ENTRY_POINTS: tuple[EntryPoint, ...] = (
    "wash-early", "wash-late", "charge", "basket", "steep", "dose",
)  # fmt: skip
LATE = 0.90
"""Share of the fall in gravity that is done at a late addition. Common practice."""
STEEP_TIME = 7.0 * 86400.0
"""How long a steep lasts where the plan names none. [s] Common practice for botanicals."""
DOSE_LIQUID = 6e-3
"""Spirit that a flavour spirit for dosing is steeped in, per mass of ingredient. [m³ kg⁻¹] Our
choice: enough to cover what soaks up its own weight twice."""
MOST_DOSE = 0.5
"""Largest share of a lot that may be drawn to steep the dose in; our choice."""

_PURPOSES = ("flavour", "spirit", "strip")
_ID_ROOM = 28  # characters of a lot's name that go into the id of a step


@dataclass(frozen=True, slots=True)
class Opened:
    """A plan with the ingredient put in at one entry point.

    Parameters
    ----------
    entry_point : str
    plan : Plan
        The edited plan.
    step : str
        Id of the step the ingredient goes into.
    how : str
        What is done, in words.
    edit : str
        What to write into the plan file.
    apart : float
        Spirit set apart for it. [m³ at 20 °C]
    """

    entry_point: str
    plan: Plan
    step: str
    how: str
    edit: str
    apart: float = 0.0


@dataclass(frozen=True, slots=True)
class Closed:
    """An entry point that a plan cannot serve.

    Parameters
    ----------
    entry_point : str
    reason : str
        Why not.
    remedy : str
        What would open it; "" when nothing would.
    """

    entry_point: str
    reason: str
    remedy: str = ""


def without_ingredient(plan: Plan, ingredient: Ingredient) -> tuple[Plan, float | None]:
    """Return the plan with none of an ingredient, and how much of it there was.

    Parameters
    ----------
    plan : Plan
        The plan.
    ingredient : Ingredient
        What to take out, by its name.

    Returns
    -------
    plan : Plan
        A steep that would have nothing left keeps the ingredient without its compounds.
    amount : float or None
        [kg] None when the plan has none.
    """
    amounts = [
        item.amount
        for step in plan.steps
        for item in _additions(step)
        if item.ingredient.name == ingredient.name
    ]
    if not amounts:
        return plan, None
    steps = tuple(_freed(step, ingredient.name) for step in plan.steps)
    return replace(plan, steps=steps), sum(amounts)


def _additions(step: StepParameters) -> tuple[Addition, ...]:
    return step.additions if isinstance(step, Ferment | Distil | Steep) else ()


def _freed(step: StepParameters, name: str) -> StepParameters:
    if not isinstance(step, Ferment | Distil | Steep):
        return step
    kept = tuple(item for item in step.additions if item.ingredient.name != name)
    if not kept and isinstance(step, Steep):
        kept = tuple(
            replace(item, ingredient=replace(item.ingredient, markers=()))
            for item in step.additions
        )
    return replace(step, additions=kept)


def entry_points(
    plan: Plan, ingredient: Ingredient, *, amount: float, final: str, lots: Mapping[str, Lot]
) -> Iterator[Opened | Closed]:
    """Put an ingredient into a plan at every entry point in turn.

    Of several steps that could take it, the one nearest to the bottle is chosen; of runs, a
    flavour run before a spirit run before a stripping run.

    Parameters
    ----------
    plan : Plan
        Without the ingredient.
    ingredient : Ingredient
        What goes in.
    amount : float
        [kg]
    final : str
        The lot that counts.
    lots : mapping of str to Lot
        Every lot of the plan as it was made.

    Yields
    ------
    Opened or Closed
        One for each of :data:`ENTRY_POINTS`, in that order.
    """
    editor = _Editor(plan, ingredient, amount, final, lots)
    for point in ENTRY_POINTS:
        yield editor.open(point)


class _Editor:
    """Knows the plan, the ingredient and which steps lead to the final lot."""

    def __init__(
        self, plan: Plan, ingredient: Ingredient, amount: float, final: str, lots: Mapping[str, Lot]
    ) -> None:
        self.plan, self.ingredient, self.amount = plan, ingredient, amount
        self.final, self.lots = final, lots
        self.ancestors = _ancestors(plan, final)
        self.item = {"ingredient": ingredient.name, "amount": format_quantity(amount, "mass")}

    def open(self, point: EntryPoint) -> Opened | Closed:
        """Return the plan with the ingredient at one entry point, or why not."""
        ways: Mapping[EntryPoint, Callable[[], Opened | Closed]] = {
            "wash-early": lambda: self._wash("wash-early"),
            "wash-late": lambda: self._wash("wash-late"),
            "charge": lambda: self._run("charge"),
            "basket": lambda: self._run("basket"),
            "steep": self._steep,
            "dose": self._dose,
        }
        return ways[point]()

    def _added(self, step: Ferment | Distil | Steep, addition: Addition) -> Plan:
        changed = replace(step, additions=(*step.additions, addition))
        steps = tuple(changed if one is step else one for one in self.plan.steps)
        return replace(self.plan, steps=steps)

    def _wash(self, point: Literal["wash-early", "wash-late"]) -> Opened | Closed:
        washes = [step for step in self.ancestors if isinstance(step, Ferment)]
        if not washes:
            return Closed(point, "no fermentation of this plan leads to the bottle")
        step, early = washes[-1], point == "wash-early"
        addition = Addition(
            self.ingredient,
            self.amount,
            point,
            time=0.0 if early else None,
            attenuation=None if early else LATE,
        )
        when = "at pitching" if early else f"when {LATE * 100:.0f} % of the fall in gravity is done"
        key = {"after": "0 h"} if early else {"attenuation": f"{LATE * 100:.0f} %"}
        return Opened(
            point,
            self._added(step, addition),
            step.id,
            f"into the wash of {step.id} {when}, left in to the racking",
            self._item_of(step, {"entry": point, **key}),
        )

    def _run(self, point: Literal["charge", "basket"]) -> Opened | Closed:
        runs = [step for step in self.ancestors if isinstance(step, Distil)]
        if not runs:
            return Closed(point, "no run of this plan leads to the bottle")
        if point == "basket":
            runs = [step for step in runs if self.plan.stills[step.still].basket_volume > 0.0]
            if not runs:
                return Closed(
                    point,
                    "no still of these runs has a vapour basket",
                    'Give the still a basket_volume = "0.6 L".',
                )
        step = min(reversed(runs), key=lambda run: _PURPOSES.index(run.purpose))
        where = "boiler" if point == "charge" else "vapour basket"
        return Opened(
            point,
            self._added(step, Addition(self.ingredient, self.amount, point)),
            step.id,
            f"into the {where} of the {step.purpose} run {step.id}",
            self._item_of(step, {"entry": point}),
        )

    def _steep(self) -> Opened | Closed:
        addition = Addition(self.ingredient, self.amount, "steep")
        steeps = [step for step in self.ancestors if isinstance(step, Steep)]
        if steeps:
            step = steeps[-1]
            return Opened(
                "steep",
                self._added(step, addition),
                step.id,
                f"into the steep {step.id}",
                self._item_of(step, {}),
            )
        lot, take, at = self._finish()
        name, made = self._step_id("steep", lot), self._new(f"{lot}, steeped")
        steep = Steep(name, take, made, (addition,), STEEP_TIME)
        days = format_quantity(STEEP_TIME, "duration")
        return Opened(
            "steep",
            self._inserted(at, (steep,), made),
            name,
            f"a steep of {days} in all of {lot}, before it is let down",
            _lines(
                _before(lot, made),
                {"id": name, "kind": "steep", "from": _taken(take), "duration": days, "into": made},
                item=self.item,
            ),
        )

    def _dose(self) -> Opened | Closed:
        lot, take, at = self._finish()
        absorbed = 2e-3 * self.ingredient.water_absorption
        volume = self.amount * max(DOSE_LIQUID, absorbed)
        there = self.lots[lot].volume
        if volume > MOST_DOSE * there:
            return Closed(
                "dose",
                f"to steep so much apart takes {format_quantity(volume, 'volume')} of spirit, more "
                f"than half of the {format_quantity(there, 'volume')} of {lot}",
                f"Take at most {format_quantity(self.amount * MOST_DOSE * there / volume, 'mass')}"
                ", or steep it in all of the spirit.",
            )
        taken, apart = self._new(f"{lot}, to dose"), self._new(f"{lot}, set apart")
        flavour = self._new(f"{self.ingredient.name} spirit")
        made = self._new(f"{lot}, dosed")
        name = self._step_id("steep", f"{lot} apart")
        addition = Addition(self.ingredient, self.amount, "steep")
        steps = (
            Draw(self._step_id("take", lot), take, taken),
            Draw(self._step_id("draw", lot), Take(taken, volume=volume), apart),
            Steep(name, Take(apart), flavour, (addition,), STEEP_TIME),
            Blend(self._step_id("dose", lot), (Take(taken), Take(flavour)), made),
        )
        part, days = format_quantity(volume, "volume"), format_quantity(STEEP_TIME, "duration")
        return Opened(
            "dose",
            self._inserted(at, steps, made),
            name,
            f"a flavour spirit of its own: {days} in {part} of {lot}, strained, all of it dosed "
            "back",
            _lines(
                _before(lot, made),
                *(
                    ()
                    if take == Take(lot)
                    else (
                        {"id": steps[0].id, "kind": "draw", "from": [_taken(take)], "into": taken},
                    )
                ),
                {
                    "id": steps[1].id,
                    "kind": "draw",
                    "from": [{"lot": lot if take == Take(lot) else taken, "volume": part}],
                    "into": apart,
                },
                {"id": name, "kind": "steep", "from": apart, "duration": days, "into": flavour},
                {
                    "id": steps[3].id,
                    "kind": "blend",
                    "from": [lot if take == Take(lot) else taken, flavour],
                    "into": made,
                },
                item=self.item,
            ),
            volume,
        )

    def _item_of(self, step: Ferment | Distil | Steep, more: Mapping[str, str]) -> str:
        """Return the line of an addition; where the step has some already, that is one more."""
        item = inline_table({**self.item, **more})
        if step.additions:
            return f"in step {step.id}, as one more item of its add:\n    {item},"
        return f"in step {step.id}:\nadd = [\n    {item},\n]"

    def _finish(self) -> tuple[str, Take, int]:
        """Return the lot before it is let down and filled, how it is taken, and by which step."""
        lot, take, at = self.final, Take(self.final), len(self.plan.steps)
        makers = {name: step for step in self.plan.steps for name in _makes(step)}
        step = makers.get(lot)
        while isinstance(step, Bottle | Dilute):
            lot, take, at = step.take.lot, step.take, self.plan.steps.index(step)
            step = makers.get(lot)
        return lot, take, at

    def _inserted(self, at: int, steps: tuple[StepParameters, ...], made: str) -> Plan:
        """Return the plan with steps put in; the step after them takes what they make."""
        after = list(self.plan.steps[at:])
        if after and isinstance(after[0], Bottle | Dilute):
            after[0] = replace(after[0], take=Take(made))
        return replace(self.plan, steps=(*self.plan.steps[:at], *steps, *after))

    def _step_id(self, verb: str, lot: str) -> str:
        """Return an id as a plan file takes it: no blanks, no commas, not long."""
        short = re.sub(r"\W+", "-", lot)[:_ID_ROOM].strip("-")
        return self._new(f"{verb}-{short}").replace(" ", "-")

    def _new(self, name: str) -> str:
        """Return the name, made different from every lot and step of the plan."""
        taken = {*self.lots, *(step.id for step in self.plan.steps), self.ingredient.name}
        while name in taken:
            name += " again"
        return name


def _before(lot: str, made: str) -> str:
    return f'before the step that takes "{lot}", which then takes "{made}":'


def _taken(take: Take) -> object:
    if take.volume is not None:
        return {"lot": take.lot, "volume": format_quantity(take.volume, "volume")}
    if take.fraction is not None:
        return {"lot": take.lot, "fraction": f"{take.fraction * 100.0:g} %"}
    return take.lot


def _lines(where: str, *steps: Mapping[str, object], item: Mapping[str, str]) -> str:
    """Return steps as they are written into a plan file; the steep among them takes the item."""
    lines = [where]
    for step in steps:
        lines.append("[[step]]")
        lines += [inline_table({key: value})[2:-2] for key, value in step.items()]
        if step["kind"] == "steep":
            lines += ["add = [", f"    {inline_table(item)},", "]"]
        lines.append("")
    return "\n".join(lines).rstrip()


def _makes(step: StepParameters) -> tuple[str, ...]:
    if isinstance(step, Distil):
        return (*(cut.into for cut in step.cuts), step.residue)
    if isinstance(step, Ferment):
        return (step.into, *(name for name, _ in step.reserve))
    return (step.into,)


def _takes(step: StepParameters) -> tuple[str, ...]:
    if isinstance(step, Ferment):
        return ()
    if isinstance(step, Distil | Blend):
        return tuple(take.lot for take in step.takes)
    return (step.take.lot,)


def _ancestors(plan: Plan, final: str) -> list[StepParameters]:
    """Return the steps that something of the final lot has gone through, in order."""
    wanted, found = {final}, []
    for step in reversed(plan.steps):
        if wanted.intersection(_makes(step)):
            found.append(step)
            wanted.update(_takes(step))
    return found[::-1]
