# SPDX-License-Identifier: MIT
"""Changes of fermentation, power, reflux and strength."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import TYPE_CHECKING

from middlecut.insight.changes import Change
from middlecut.insight.wording import percent, written
from middlecut.steps.parameters import Bottle, Dilute
from middlecut.units import format_quantity, parse_quantity

if TYPE_CHECKING:
    from middlecut.insight.case import Case
    from middlecut.insight.off_flavours import Fault

__all__ = ["KINDS"]

_LARGER = 1.5
_COOLER = 4.0
_COOLEST = 291.15
_POWER = 0.7
_THIN = 0.28  # strength of a charge before a second run: common practice, 25 to 30 % vol
_DAY = 86400.0


def _merged(changes: Iterable[Change]) -> Iterator[Change]:
    """Make one change of those that go together, one a step."""
    given = list(changes)
    if given:
        values = tuple(value for change in given for value in change.values)
        yield Change(" ".join(change.title for change in given), values)


def _less_power(case: Case, fault: Fault, limit: str) -> Iterator[Change]:
    del fault, limit
    for run in case.spirit_runs():
        values, shown = [], []
        for key, now, names in run.settings:
            new = round(_POWER * now, 2)
            values.append((key, f"{new * 100.0:g} %"))
            shown.append(f"{percent(new)} instead of {percent(now)} ({', '.join(names)})")
        text = f"Run {run.step.id} at less of full power: {'; '.join(shown)}."
        yield Change(text, tuple(values))


def _gentler_heat_up(case: Case, fault: Fault, limit: str) -> Iterator[Change]:
    del fault, limit
    for run in case.runs:
        dirty = any(a.entry_point == "charge" for a in run.step.additions)
        if dirty or not run.final:
            new = round(_POWER * run.step.heat_up_power, 2)
            text = f"Heat {run.step.id} up at {percent(new)} of full power instead of "
            text += f"{percent(run.step.heat_up_power)}."
            key = f"step.{run.step.id}.heat_up_power"
            yield Change(text, ((key, f"{new * 100.0:g} %"),))


def _water_in_charge(case: Case, fault: Fault, limit: str) -> Iterator[Change]:
    """Thin the charge, as far as the safe fill lets it."""
    del fault, limit
    for run in case.runs:
        pure = sum(lot.pure_alcohol for lot in run.result.used.values())
        volume = run.charge_volume
        room = run.still.safe_fill * run.still.boiler_volume - volume
        wanted = pure / _THIN - volume if pure / volume > _THIN else 0.25 * volume
        extra = min(wanted, room)
        if extra >= 0.05 * volume:
            water = written(run.step.water / 998.2 + extra, "volume")
            text = f"Add water to the charge of {run.step.id}, {water} in all."
            yield Change(text, ((f"step.{run.step.id}.water", water),))


def _longer_reflux(case: Case, fault: Fault, limit: str) -> Iterator[Change]:
    del fault, limit
    for run in case.spirit_runs():
        if run.still.stages > 0.0:
            new = written(max(2.0 * run.step.total_reflux, 1800.0), "duration")
            text = f"Hold {run.step.id} at total reflux for {new} before anything is taken."
            yield Change(text, ((f"step.{run.step.id}.total_reflux", new),))


def _less_reflux(case: Case, fault: Fault, limit: str) -> Iterator[Change]:
    del fault, limit
    for run in case.spirit_runs():
        if run.still.reflux_ratio is not None:
            new = f"{0.5 * run.still.reflux_ratio:.3g}"
            key = f"still.{run.still.name}.reflux_ratio"
            yield Change(f"Run {run.still.name} at a reflux ratio of {new}.", ((key, new),))
        elif run.still.coolant_duty > 0.0:
            new = f"{0.5 * run.still.coolant_duty:.0f} W"
            key = f"still.{run.still.name}.coolant_duty"
            text = f"Take {new} of heat in the head of {run.still.name}, half as much."
            yield Change(text, ((key, new),))


def _stronger_bottle(case: Case, fault: Fault, limit: str) -> Iterator[Change]:
    """Bottle at the strength wanted; every dilution and the label after the last run follow."""
    del fault
    target = parse_quantity(limit, "strength")
    if case.lot.strength >= target - 1e-6:
        return
    keys = [
        f"step.{step.id}.strength"
        for step in case.plan.steps
        if isinstance(step, Bottle | Dilute)
        and step.into in case.undistilled
        and (step.label_strength if isinstance(step, Bottle) else step.strength) < target
    ]
    if keys:
        text = f"Bottle at {limit} instead of {format_quantity(case.lot.strength, 'strength')}."
        yield Change(text, tuple((key, limit) for key in keys))


def _cooler_ferment(case: Case, fault: Fault, limit: str) -> Iterator[Change]:
    del fault, limit
    for step in case.ferments:
        new = step.temperature - _COOLER
        if new >= _COOLEST:
            shown = written(new, "temperature")
            text = f"Ferment {step.id} at {shown} instead of "
            text += f"{format_quantity(step.temperature, 'temperature')}."
            yield Change(text, ((f"step.{step.id}.temperature", shown),))


def _longer(case: Case, key: str, words: str) -> Iterator[Change]:
    for step in case.ferments:
        now = getattr(step, key)
        new = written(now + _DAY, "duration")
        text = f"{words} {step.id} for {new} instead of {written(now, 'duration')}."
        yield Change(text, ((f"step.{step.id}.{key}", new),))


def _longer_ferment(case: Case, fault: Fault, limit: str) -> Iterator[Change]:
    del fault, limit
    yield from _merged(_longer(case, "duration", "Leave the yeast in"))


def _longer_settling(case: Case, fault: Fault, limit: str) -> Iterator[Change]:
    del fault, limit
    yield from _merged(_longer(case, "settling", "Settle"))


def _more_lees(case: Case, fault: Fault, limit: str) -> Iterator[Change]:
    del fault, limit
    for step in case.ferments:
        new = written(max(_LARGER * step.lees, 0.06 * step.volume), "volume")
        text = f"Leave {new} behind with the yeast of {step.id} instead of "
        text += f"{format_quantity(step.lees, 'volume')}."
        yield Change(text, ((f"step.{step.id}.lees", new),))


KINDS: Mapping[str, Callable[[Case, Fault, str], Iterator[Change]]] = {
    "less-power": _less_power,
    "gentler-heat-up": lambda *given: _merged(_gentler_heat_up(*given)),
    "water-in-charge": lambda *given: _merged(_water_in_charge(*given)),
    "longer-reflux": _longer_reflux,
    "less-reflux": _less_reflux,
    "stronger-bottle": _stronger_bottle,
    "cooler-ferment": lambda *given: _merged(_cooler_ferment(*given)),
    "longer-ferment": _longer_ferment,
    "longer-settling": _longer_settling,
    "more-lees": lambda *given: _merged(_more_lees(*given)),
}
"""Changes of fermentation, run and bottle, by name."""
