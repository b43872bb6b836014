# SPDX-License-Identifier: MIT
"""Changes of fermentation, cuts, power, reflux and strength."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import TYPE_CHECKING

from middlecut.insight.changes import Change
from middlecut.insight.wording import percent, written
from middlecut.steps.parameters import Bottle, Dilute
from middlecut.units import format_quantity, parse_quantity

if TYPE_CHECKING:
    from middlecut.insight.case import Case, Run
    from middlecut.insight.off_flavours import Fault
    from middlecut.steps.parameters import Until

__all__ = ["KINDS"]

_WORDS = {
    "volume": "volume",
    "strength": "strength",
    "head_temperature": "temperature",
    "time": "duration",
    "boiler_volume": "volume",
}
"""Kind of quantity of each way to end a cut."""
_LARGER = 1.5
_HEADS = 0.05  # of the alcohol, by volume; heads of a few per cent are common practice
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


def _ends(until: Until) -> tuple[str, float]:
    return next((key, value) for key in _WORDS if (value := getattr(until, key)) is not None)


def _cut_key(case: Case, run: Run, index: int, condition: str) -> str:
    raw = case.raw_step(run.step.id)["cuts"][index]["until"]
    key = f"step.{run.step.id}.cuts[{index}].until"
    return f"{key}.{condition}" if isinstance(raw, Mapping) else key


def _moved(case: Case, run: Run, index: int, value: float, title: str) -> Change:
    condition, _ = _ends(run.step.cuts[index].until)
    new = written(value, _WORDS[condition])
    key = _cut_key(case, run, index, condition)
    return Change(title.format(new=new), ((key, new),))


def _shown(until: Until) -> str:
    condition, value = _ends(until)
    return format_quantity(value, _WORDS[condition])


def _earlier_tails(case: Case, fault: Fault, limit: str) -> Iterator[Change]:
    del fault
    target = parse_quantity(limit, "strength")
    for run in case.spirit_runs():
        index = run.kept[-1]
        until = run.step.cuts[index].until
        condition, value = _ends(until)
        if condition == "strength":
            begin = run.last_kept.strength_start
            new = target if value < target < begin else value + 0.3 * (begin - value)
        elif condition == "boiler_volume":
            new = value + 0.15 * run.last_kept.volume
        elif condition == "head_temperature":
            now = run.last_kept
            new = value - 0.3 * (now.head_temperature_end - now.head_temperature_start)
        else:
            new = 0.85 * value
        title = f"End {run.last_kept.into} of {run.step.id} at {{new}} instead of {_shown(until)}."
        yield _moved(case, run, index, round(new, 3), title)


def _later_tails(case: Case, fault: Fault, limit: str) -> Iterator[Change]:
    del fault, limit
    for run in case.spirit_runs():
        index = run.kept[-1]
        until = run.step.cuts[index].until
        condition, value = _ends(until)
        if condition != "boiler_volume":
            new = value - 0.08 if condition == "strength" else 1.15 * value
            if condition == "head_temperature":
                new = value + 1.0
            title = f"Let {run.last_kept.into} of {run.step.id} run to {{new}} instead of "
            yield _moved(case, run, index, round(new, 6), f"{title}{_shown(until)}.")


def _larger_heads(case: Case, fault: Fault, limit: str) -> Iterator[Change]:
    del fault, limit
    for run in case.spirit_runs():
        index = run.kept[0] - 1
        if index < 0:
            continue
        until = run.step.cuts[index].until
        condition, value = _ends(until)
        cut = run.curve.cuts[index]
        if condition == "volume":
            pure = sum(lot.pure_alcohol for lot in run.result.used.values())
            before = run.first_kept.collected_end - run.first_kept.volume
            new = max(_LARGER * value, value + _HEADS * pure - before)
        elif condition == "time":
            new = _LARGER * value
        elif condition == "strength":
            new = value - 0.2 * (value - run.last_kept.strength_end)
        elif condition == "head_temperature":
            new = value + 0.2 * (run.last_kept.head_temperature_end - value)
        else:
            new = value - 0.5 * cut.volume
        title = f"Set aside {cut.into} of {run.step.id} to {{new}} instead of {_shown(until)}."
        yield _moved(case, run, index, round(new, 6), title)


def _less_power(case: Case, fault: Fault, limit: str) -> Iterator[Change]:
    del fault, limit
    for run in case.spirit_runs():
        new = round(_POWER * run.step.power, 2)
        text = f"Run {run.step.id} at {percent(new)} of full power instead of "
        text += f"{percent(run.step.power)}."
        yield Change(text, ((f"step.{run.step.id}.power", f"{new * 100.0:g} %"),))


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
    "earlier-tails": _earlier_tails,
    "later-tails": _later_tails,
    "larger-heads": _larger_heads,
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
