# SPDX-License-Identifier: MIT
"""What a person does beside a running still, and the run as it was really carried out."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from middlecut.steps.parameters import Cut, PowerChange, Take, Until
from middlecut.units import format_quantity

if TYPE_CHECKING:
    from middlecut.steps.parameters import Distil

__all__ = ["MARKS", "Clock", "Mark", "RefusedMark", "carried_out", "check_marks", "clock_of"]

MarkKind = Literal["power-on", "first-drop", "power", "coolant", "cut", "heat-off"]
MARKS: dict[str, str] = {
    "power-on": "the heat was switched on",
    "first-drop": "the first drop fell",
    "power": "the power was set anew",
    "coolant": "the reflux coolant was set anew",
    "cut": "a cut ended and the next began",
    "heat-off": "the heat was switched off",
}
"""Every kind of mark and what it says."""


@dataclass(frozen=True, slots=True)
class Mark:
    """Something that was done or seen at a moment.

    Parameters
    ----------
    time : float
        On the clock of the readings. [s]
    kind : {"power-on", "first-drop", "power", "coolant", "cut", "heat-off"}
    value : float or None
        Of "power" the setting as a fraction of full power, of "coolant" the duty. [W]
    cut : str
        Of "cut" the name of the cut that ended.
    """

    time: float
    kind: MarkKind
    value: float | None = None
    cut: str = ""


@dataclass(frozen=True, slots=True)
class RefusedMark:
    """A mark that was not used.

    Parameters
    ----------
    mark : Mark
    reason : str
        A sentence.
    """

    mark: Mark
    reason: str


@dataclass(frozen=True, slots=True)
class Clock:
    """Where the marks lie on the clock of the readings.

    Parameters
    ----------
    power_on, first_drop, heat_off : float or None
        [s] None: not marked. Without any mark the clock counts from the first drop.
    """

    power_on: float | None = None
    first_drop: float | None = 0.0
    heat_off: float | None = None


def check_marks(
    marks: Iterable[Mark], step: Distil, *, now: float
) -> tuple[tuple[Mark, ...], tuple[RefusedMark, ...]]:
    """Sort marks into those to use, in order of time, and those to refuse.

    A later entry of the same kind replaces an earlier one of the same moment, and for moments that
    happen once (power on, first drop, the end of a cut) any earlier one.

    Parameters
    ----------
    marks : iterable of Mark
        In the order they were written down.
    step : Distil
        For the names of its cuts.
    now : float
        The present moment. [s]

    Returns
    -------
    used : tuple of Mark
    refused : tuple of RefusedMark
    """
    kept: dict[tuple[object, ...], Mark] = {}
    refused: list[RefusedMark] = []
    names = [cut.into for cut in step.cuts]
    for mark in marks:
        reason = _unusable(mark, names, now)
        if reason:
            refused.append(RefusedMark(mark, reason))
            continue
        key = (mark.kind, mark.time if mark.kind in {"power", "coolant"} else mark.cut)
        before = kept.get(key)
        if before is not None:
            refused.append(RefusedMark(before, "A later entry took its place."))
        kept[key] = mark
    return _in_order(sorted(kept.values(), key=_order), names, refused)


def _order(mark: Mark) -> tuple[float, int]:
    return mark.time, list(MARKS).index(mark.kind)


def _unusable(mark: Mark, names: list[str], now: float) -> str:
    if mark.kind not in MARKS:
        return f"There is no mark {mark.kind!r}; known are {', '.join(MARKS)}."
    if not math.isfinite(mark.time):
        return "The time is missing or not finite."
    if mark.time > now:
        return f"The time lies {format_quantity(mark.time - now, 'duration')} in the future."
    if mark.kind == "cut" and mark.cut not in names:
        return f"The step has no cut {mark.cut!r}; it has {', '.join(names)}."
    top = {"power": 1.0, "coolant": 1e5}.get(mark.kind)
    if top is not None and (mark.value is None or not 0.0 <= mark.value <= top):
        kind = "fraction" if mark.kind == "power" else "power"
        said = "nothing" if mark.value is None else format_quantity(mark.value, kind)
        most = format_quantity(top, kind)
        return f"{said} is no setting between 0 and {most}; check the unit."
    return ""


def _in_order(
    marks: list[Mark], names: list[str], refused: list[RefusedMark]
) -> tuple[tuple[Mark, ...], tuple[RefusedMark, ...]]:
    """Refuse the end of a cut that lies before the end of the cut before it or the first drop."""
    clock = clock_of(marks)
    used, last = [], -1
    for mark in marks:
        if mark.kind == "cut":
            place = names.index(mark.cut)
            if clock.first_drop is None or mark.time < clock.first_drop:
                refused.append(RefusedMark(mark, "No cut can end before the first drop."))
                continue
            if place <= last:
                reason = f"{names[last]!r} comes later in the plan and ended before it."
                refused.append(RefusedMark(mark, reason))
                continue
            last = place
        used.append(mark)
    return tuple(used), tuple(refused)


def clock_of(marks: Iterable[Mark]) -> Clock:
    """Return where power on, the first drop and heat off lie.

    Parameters
    ----------
    marks : iterable of Mark
        Usable ones.

    Returns
    -------
    Clock
        The first drop at 0 if neither it nor power on is marked.
    """
    found = {mark.kind: mark.time for mark in marks}
    power_on, heat_off = found.get("power-on"), found.get("heat-off")
    first_drop = found.get("first-drop", 0.0 if power_on is None else None)
    return Clock(power_on, first_drop, heat_off)


def carried_out(step: Distil, marks: Iterable[Mark], charge: str) -> Distil:
    """Return the step as it was carried out so far and is planned from here on.

    Parameters
    ----------
    step : Distil
        What was intended.
    marks : iterable of Mark
        Usable ones, in order of time.
    charge : str
        Name of the charge.

    Returns
    -------
    Distil
        Cuts that have ended end at their times; power and coolant set by hand replace what the
        plan says for the rest of the cut at hand.

    Notes
    -----
    A cut that was not called is taken to end where the plan says. A change of the plan's power
    (``power_changes``) is dropped as soon as a power was set by hand, as if the person had taken
    over.
    """
    used = tuple(marks)
    drop = clock_of(used).first_drop or 0.0
    cuts = list(step.cuts)
    names = [cut.into for cut in cuts]
    first = 0
    for mark in used:
        if mark.kind == "cut":
            place = names.index(mark.cut)
            # Cuts passed over without a call end a moment before, so that each has an end.
            for index in range(first, place + 1):
                at = max(mark.time - drop, 1e-2) - 1e-3 * (place - index)
                cuts[index] = replace(cuts[index], until=Until(time=max(at, 1e-3)))
            first = place + 1
    cuts = [replace(cut, jar_volume=None) for cut in cuts]
    by_hand = [mark for mark in used if mark.kind == "power" and mark.value is not None]
    before = [mark for mark in by_hand if mark.time <= drop]
    after = tuple(
        PowerChange(Until(time=mark.time - drop), mark.value or 0.0)
        for mark in by_hand
        if mark.time > drop
    )
    changes = after if by_hand else step.power_changes
    power = step.power
    if before:
        power = before[-1].value or 0.0
        cuts[0] = replace(cuts[0], power=None)
    cuts = _with_coolant(cuts, used, drop)
    return replace(
        step,
        takes=(Take(charge),),
        water=0.0,
        cuts=tuple(cuts),
        power=power,
        power_changes=changes,
        additions=(),
        purpose="spirit",
    )


def _with_coolant(cuts: list[Cut], marks: tuple[Mark, ...], drop: float) -> list[Cut]:
    """Split cuts where the coolant was set by hand."""
    found = list(cuts)
    for mark in marks:
        if mark.kind != "coolant" or mark.value is None:
            continue
        at = max(mark.time - drop, 1e-3)
        place = next(
            (n for n, cut in enumerate(found) if cut.until.time is None or cut.until.time > at),
            None,
        )
        if place is None:
            continue
        cut = found[place]
        tail = replace(cut, coolant_duty=mark.value, power=None, reflux_ratio=None)
        found[place : place + 1] = [replace(cut, until=Until(time=at)), tail]
    return found
