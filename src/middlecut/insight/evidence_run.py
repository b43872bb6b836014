# SPDX-License-Identifier: MIT
"""Tests on the runs and the bottle: cuts, power, reflux, solids, clouding."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

import numpy as np

from middlecut.insight.diagnosis import Evidence
from middlecut.insight.wording import percent, written
from middlecut.steps.cautions import FOAMING_FILL, SCORCHING_SOLIDS
from middlecut.units import format_quantity, parse_quantity

if TYPE_CHECKING:
    from middlecut.insight.case import Case, Run
    from middlecut.insight.off_flavours import Fault

__all__ = ["TESTS", "share_of_kept"]

_SPAN = 0.2
_WEAKER = 0.03  # how far below the prediction a strength reading has to lie to count; our choice
_SHORT_REFLUX = 600.0
_HIGH_REFLUX = 5.0
_DENSE_HEAT = 150e3  # W into each m³ of charge, about what a quick heat-up takes; our choice
_SOLIDS_CLEAR = 20.0


def share_of_kept(run: Run, compound: str, *, late: bool) -> float | None:
    """Return the share of a compound in the first or last fifth of what a run keeps.

    Parameters
    ----------
    run : Run
    compound : str
    late : bool
        The last fifth by volume, else the first.

    Returns
    -------
    float or None
        0 to 1; 0.2 if it comes evenly. None where the run does not carry it.
    """
    curve = run.curve
    if compound not in curve.compounds:
        return None
    amounts = curve.amounts[:, curve.compounds.index(compound)]
    end = run.last_kept.collected_end
    start = run.first_kept.collected_end - run.first_kept.volume
    at = end - _SPAN * (end - start) if late else start + _SPAN * (end - start)
    first, middle, last = (float(np.interp(v, curve.volume, amounts)) for v in (start, at, end))
    if last <= first:
        return None
    return (last - middle if late else middle - first) / (last - first)


def _comes(case: Case, fault: Fault, *, late: bool) -> list[Evidence]:
    test, part = ("comes-late", "last") if late else ("comes-early", "first")
    found = []
    for run in case.spirit_runs():
        known = sorted(fault.compounds, key=lambda name: -_oav(case, name))
        shares = [(name, share_of_kept(run, name, late=late)) for name in known]
        name, share = next(((n, s) for n, s in shares if s is not None), ("", None))
        if share is None:
            continue
        text = (
            f"{percent(share)} of the {name} in {run.last_kept.into} comes over in the {part} "
            "fifth of it; 20 % would be even."
        )
        weight = 0.8 * (share - _SPAN) / (1.0 - _SPAN) if share > _SPAN else 2.0 * (share - _SPAN)
        found.append(Evidence(test, weight, text))
    return found


def _oav(case: Case, compound: str) -> float:
    row = case.odours.get(compound)
    return 0.0 if row is None else row.oav


def _comes_late(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    del limit
    return _comes(case, fault, late=True)


def _comes_early(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    del limit
    return _comes(case, fault, late=False)


def _not_cut(case: Case, test: str) -> list[Evidence]:
    """Say that a stripping run keeps heads and tails on purpose."""
    return [
        Evidence(
            test,
            0.0,
            f"Whether the cuts are to blame: {run.last_kept.into} come from {run.step.id}, a "
            "stripping run, which keeps heads and tails on purpose. Taste again after the spirit "
            "run.",
        )
        for run in case.stripped()
    ]


def _late_tails(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    del fault
    least = parse_quantity(limit, "strength")
    found = []
    for run in case.spirit_runs():
        end = run.last_kept.strength_end
        text = (
            f"{run.last_kept.into} of {run.step.id} run down to {format_quantity(end, 'strength')}"
        )
        if end < least:
            weight = 0.6 * min((least - end) / 0.15, 1.0)
            found.append(Evidence("late-tails", weight, f"{text}, below {limit}."))
        else:
            found.append(Evidence("late-tails", -0.4, f"{text} and stop above {limit}."))
        found += _weaker_than_planned(case, run)
    return found or _not_cut(case, "late-tails")


def _weaker_than_planned(case: Case, run: Run) -> list[Evidence]:
    """Compare strength readings within the kept cut with the prediction of their time."""
    from middlecut.insight.readings import true_value  # noqa: PLC0415 - only with readings

    curve = run.curve
    gaps = [
        (
            true_value(one) - float(np.interp(one.time, curve.time, curve.strength)),
            one.time,
        )
        for one in case.readings.get(run.step.id, ())
        if one.quantity == "distillate_strength"
        and run.first_kept.start <= one.time <= run.last_kept.end
    ]
    if not gaps:
        return []
    gap, time = min(gaps)
    text = (
        f"{written(time, 'duration')} into {run.step.id} the distillate read "
        f"{abs(gap) * 100.0:.1f} %vol {'below' if gap < 0.0 else 'above'} the prediction"
    )
    if gap < -_WEAKER:
        weight = min(0.2 + 3.0 * (-gap - _WEAKER), 0.6)
        return [Evidence("late-tails", weight, f"{text}: the tails came sooner than planned.")]
    return [Evidence("late-tails", -0.1, f"{text}.")]


def _small_heads(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    del fault
    least = parse_quantity(limit, "fraction")
    found = []
    for run in case.spirit_runs():
        whole = sum(lot.ethanol for lot in run.result.used.values())
        cuts = run.curve.cuts[: run.kept[0]]
        made = run.result.made
        heads = sum(made[cut.into].ethanol for cut in cuts if cut.into in made)
        share = heads / whole if whole > 0.0 else 0.0
        volume = format_quantity(sum(cut.volume for cut in cuts), "volume")
        text = (
            f"{run.step.id} sets {volume} aside before {run.first_kept.into}, "
            f"{percent(share, 1)} of the alcohol; {limit} is a small cut"
        )
        weight = 0.5 * (1.0 - share / least) if share < least else -0.3 * (1.0 - least / share)
        found.append(Evidence("small-heads", weight, f"{text}."))
    return found or _not_cut(case, "small-heads")


def _short_reflux(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    del fault, limit
    found = []
    for run in case.spirit_runs():
        time = run.step.total_reflux
        if run.still.stages <= 0.0:
            continue
        text = f"{run.step.id} stands {written(time, 'duration')} at total reflux first"
        weight = 0.3 if time < _SHORT_REFLUX else -0.2
        found.append(Evidence("short-reflux", weight, f"{text}; 20 to 60 min is usual."))
    return found


def _strong_hearts(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    del fault
    most = parse_quantity(limit, "strength")
    found = []
    for run in case.spirit_runs():
        strength = run.result.made[run.last_kept.into].strength
        text = f"{run.last_kept.into} come to {format_quantity(strength, 'strength')}"
        weight = 0.6 if strength > most else -0.4
        found.append(Evidence("strong-hearts", weight, f"{text}; the limit is {limit}."))
    return found


def _high_reflux(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    del fault, limit
    return [
        Evidence(
            "high-reflux",
            0.4 if run.curve.facts.reflux_ratio_start > _HIGH_REFLUX else -0.3,
            f"{run.step.id} returns {run.curve.facts.reflux_ratio_start:.2g} parts for each part "
            "taken.",
        )
        for run in case.spirit_runs()
    ]


def _high_power(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    del fault
    most = parse_quantity(limit, "fraction")
    found = []
    for run in case.spirit_runs():
        power = max(share for _, share, _ in run.settings)
        text = f"{run.step.id} runs at {percent(power)} of full power"
        weight = 0.4 if power > most else -0.3
        found.append(Evidence("high-power", weight, f"{text}; {limit} is much."))
        facts = run.curve.facts
        planned = facts.heat_up_time + facts.fill_time
        for one in case.readings.get(run.step.id, ()):
            if one.quantity == "first_drop_time" and one.value < 0.8 * planned:
                text = (
                    f"The first drop of {run.step.id} came after "
                    f"{written(one.value, 'duration')}, predicted was "
                    f"{written(planned, 'duration')}: more heat than planned."
                )
                found.append(Evidence("high-power", 0.4, text))
    return found


def _full_boiler(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    del fault, limit
    found = []
    for run in case.runs:
        fill = run.charge_volume / run.still.boiler_volume
        text = f"{run.step.id} fills the boiler to {percent(fill)}; "
        text += f"from {percent(FOAMING_FILL)} it may foam."
        weight = min(2.0 * (fill - FOAMING_FILL), 0.6) if fill > FOAMING_FILL else -0.4
        found.append(Evidence("full-boiler", weight, text))
    return found


def _scorching(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    del fault, limit
    found = []
    worst = 0.0
    for run in case.runs:
        solids = sum(lot.solids for lot in run.result.used.values())
        left = max(run.curve.facts.boiler_volume_end, 1e-9)
        end = solids / left
        worst = max(worst, end)
        if end > 0.4 * SCORCHING_SOLIDS:
            text = (
                f"Dissolved solids of {run.step.id} rise to {end:.0f} g/L in the boiler; "
                f"{SCORCHING_SOLIDS:.0f} can scorch."
            )
            found.append(Evidence("scorching", min(0.6 * end / SCORCHING_SOLIDS, 0.7), text))
        floor = sum(a.amount for a in run.step.additions if a.entry_point == "charge")
        if floor > 0.0:
            text = f"{format_quantity(floor, 'mass')} of solids lie in the boiler of {run.step.id}"
            settings = (share for _, share, _ in run.settings)
            hard = max(run.step.power, run.step.heat_up_power, *settings)
            heat = run.curve.facts.boiler_heat_peak / run.charge_volume
            weight = 0.3 + 0.2 * hard + (0.1 if heat > _DENSE_HEAT else 0.0)
            text += f" at up to {percent(hard)} power, {heat / 1e3:.0f} W for each litre of charge."
            found.append(Evidence("scorching", weight, text))
    if not found and case.runs:
        text = f"No solids lie in a boiler; dissolved ones reach {worst:.0f} g/L at most."
        found.append(Evidence("scorching", -0.5 if worst < _SOLIDS_CLEAR else -0.3, text))
    return found


def _clouding(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    from middlecut.insight.clouding import louche  # noqa: PLC0415 - only here

    del fault, limit
    found = louche(case.lot)
    weight = {"will cloud": 0.7, "may cloud": 0.4, "clear": -0.5}[found.risk]
    text = (
        f"At {format_quantity(found.strength, 'strength')} oils and esters reach "
        f"{found.saturation:.2g} of what dissolves, within a factor {found.factor:g}: {found.risk}."
    )
    return [Evidence("clouding", weight, text)]


def _weak_bottle(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    del fault
    weak = case.lot.strength < parse_quantity(limit, "strength") - 1e-6
    text = f"{case.lot.name} stands at {format_quantity(case.lot.strength, 'strength')}"
    side = "below" if weak else "not below"
    return [Evidence("weak-bottle", 0.3 if weak else -0.2, f"{text}, {side} {limit}.")]


def _strong_bottle(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    del fault
    strong = case.lot.strength > parse_quantity(limit, "strength")
    text = f"{case.lot.name} stands at {format_quantity(case.lot.strength, 'strength')}"
    side = "above" if strong else "not above"
    return [Evidence("strong-bottle", 0.3 if strong else -0.2, f"{text}, {side} {limit}.")]


TESTS: Mapping[str, Callable[[Case, Fault, str], list[Evidence]]] = {
    "late-tails": _late_tails,
    "comes-late": _comes_late,
    "comes-early": _comes_early,
    "small-heads": _small_heads,
    "short-reflux": _short_reflux,
    "strong-hearts": _strong_hearts,
    "high-reflux": _high_reflux,
    "high-power": _high_power,
    "full-boiler": _full_boiler,
    "scorching": _scorching,
    "clouding": _clouding,
    "weak-bottle": _weak_bottle,
    "strong-bottle": _strong_bottle,
}
"""Tests on runs and bottle, by name."""
