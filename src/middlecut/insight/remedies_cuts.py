# SPDX-License-Identifier: MIT
"""Changes of cuts: earlier or later, and a cut that is not there yet."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import TYPE_CHECKING

from middlecut.insight.changes import Change
from middlecut.insight.wording import written
from middlecut.plan.reshape import PlanEdit, inline_table
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
_SETTINGS = ("power", "coolant_duty", "reflux_ratio")
"""What a cut may set for itself; a cut put in before it runs the same way."""
_HEADS = 0.05  # of the alcohol, by volume; heads of a few per cent are common practice


def _ends(until: Until) -> tuple[str, float]:
    return next((key, value) for key in _WORDS if (value := getattr(until, key)) is not None)


def _raw_cut(case: Case, run: Run, index: int) -> Mapping[str, object]:
    cut: Mapping[str, object] = case.raw_step(run.step.id)["cuts"][index]
    return cut


def _cut_key(case: Case, run: Run, index: int, condition: str) -> str:
    raw = _raw_cut(case, run, index)["until"]
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
        new = round(new, 3) if condition == "strength" else new
        title = f"End {run.last_kept.into} of {run.step.id} at {{new}} instead of {_shown(until)}"
        if index + 1 < len(run.step.cuts):
            yield _moved(case, run, index, new, f"{title}.")
        else:
            yield _with_tails(case, run, index, new, title)


def _with_tails(case: Case, run: Run, index: int, new: float, title: str) -> Change:
    """End the last cut earlier and collect what still comes as tails, to the end as it was."""
    tails = case.new_name("tails")
    change = _moved(case, run, index, new, f"{title}, and collect the rest as {tails}.")
    rest = {"into": tails, "until": _raw_cut(case, run, index)["until"]}
    condition, value = _ends(run.step.cuts[index].until)
    if condition == "volume":  # it counts from the start of a cut
        rest["until"] = written(value - new, _WORDS[condition])
    cut = PlanEdit("insert", f"step.{run.step.id}.cuts[{index + 1}]", inline_table(rest))
    return Change(change.title, change.values, (cut,))


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


def _pure(run: Run) -> float:
    return sum(lot.pure_alcohol for lot in run.result.used.values())


def _with_heads(case: Case, run: Run) -> Change:
    """Set heads aside where everything is kept from the first drop on."""
    heads, first = case.new_name("heads"), _raw_cut(case, run, 0)
    volume = written(float(f"{_HEADS * _pure(run):.2g}"), "volume")
    cut = {"into": heads, "until": volume, **{key: first[key] for key in _SETTINGS if key in first}}
    text = f"Set the first {volume} of {run.step.id} aside as {heads} before {run.first_kept.into}."
    edit = PlanEdit("insert", f"step.{run.step.id}.cuts[0]", inline_table(cut))
    return Change(text, shape=(edit,))


def _larger_heads(case: Case, fault: Fault, limit: str) -> Iterator[Change]:
    del fault, limit
    for run in case.spirit_runs():
        index = run.kept[0] - 1
        if index < 0:
            yield _with_heads(case, run)
            continue
        until = run.step.cuts[index].until
        condition, value = _ends(until)
        cut = run.curve.cuts[index]
        if condition == "volume":
            before = run.first_kept.collected_end - run.first_kept.volume
            new = max(_LARGER * value, value + _HEADS * _pure(run) - before)
        elif condition == "time":
            new = _LARGER * value
        elif condition == "strength":
            new = value - 0.2 * (value - run.last_kept.strength_end)
        elif condition == "head_temperature":
            new = value + 0.2 * (run.last_kept.head_temperature_end - value)
        else:
            new = value - 0.5 * cut.volume
        title = f"Let {cut.into} of {run.step.id} run to {{new}} instead of {_shown(until)}."
        yield _moved(case, run, index, round(new, 6), title)


KINDS: Mapping[str, Callable[[Case, Fault, str], Iterator[Change]]] = {
    "earlier-tails": _earlier_tails,
    "later-tails": _later_tails,
    "larger-heads": _larger_heads,
}
"""Changes of cuts, by name."""
