# SPDX-License-Identifier: MIT
"""What a route costs beside the plan without the ingredient: time, spirit, and risks."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from middlecut.insight.route_model import RouteCost
from middlecut.insight.wording import percent
from middlecut.liquid.alcoholometry.surface import LEGAL_ETHANOL_DENSITY_20
from middlecut.units import format_quantity

if TYPE_CHECKING:
    from middlecut.insight.own_share import Base, Followed
    from middlecut.steps.result import Caution, StepResult

__all__ = ["cost_of", "new_cautions"]

_SPENT = "spent solids"
_NOTICED = 0.01
"""Share by which a number has to get worse before it is told again; our choice."""
_LOWER_IS_WORSE = frozenset(
    {
        "attenuation-low",
        "boil-dry",
        "element-margin",
        "element-uncovered",
        "element-unknown",
        "ferment-short",
        "flash-point",
        "power-low",
        "steep-weak",
    }
)
_KINDS = {"K": "temperature", "W": "power", "m³": "volume", "s": "duration"}


def cost_of(base: Base, nominal: Followed, *, final: str, apart: float) -> RouteCost:
    """Return what a route takes beside the plan without the ingredient.

    Parameters
    ----------
    base : Base
        The plan without it, walked.
    nominal : Followed
        The plan with it, from the first step that differs.
    final : str
        The lot that counts.
    apart : float
        Spirit set apart for it. [m³ at 20 °C]

    Returns
    -------
    RouteCost
    """
    results = nominal.results
    kept = _kept(results.values())
    kept -= _kept(base.results[key] for key in results if key in base.results)
    before = {name: lot for one in base.results.values() for name, lot in one.made.items()}
    after = {name: lot for one in results.values() for name, lot in one.made.items()}
    old, new = before.get(final), after[final]
    return RouteCost(
        alcohol_kept=max(kept, 0.0) / LEGAL_ETHANOL_DENSITY_20,
        volume_without=new.volume if old is None else old.volume,
        volume_with=new.volume,
        set_apart=apart,
    )


def _kept(results: Iterable[StepResult]) -> float:
    """Return the alcohol that goes out with spent solids. [kg]."""
    total = 0.0
    for result in results:
        entry = result.account.entries.get("ethanol")
        if entry is not None:
            total += sum(mass for place, mass in entry.went.items() if _SPENT in place)
    return total


def new_cautions(
    base: Base, results: Mapping[str, StepResult], ingredient: str
) -> tuple[Caution, ...]:
    """Return the cautions that a route brings: new ones, worse ones, and those that now name it.

    Parameters
    ----------
    base : Base
        The plan without the ingredient, walked.
    results : mapping of str to StepResult
        The steps of the plan with it.
    ingredient : str
        Its name.

    Returns
    -------
    tuple of Caution
        Each once. One whose number got worse says what it is without the ingredient.
    """
    found: list[Caution] = []
    for key, result in results.items():
        before = base.results.get(key)
        known = () if before is None else before.cautions
        for one in result.cautions:
            alike = [old for old in known if (old.code, old.severity) == (one.code, one.severity)]
            if not alike or _names(one, alike, ingredient):
                found.append(one)
            elif (old := _worst(alike)) is not None and _worse(one, old):
                found.append(replace(one, text=f"{one.text} Without it: {_shown(old)}."))
    return tuple({(one.code, one.text): one for one in found}.values())


def _names(one: Caution, alike: Iterable[Caution], ingredient: str) -> bool:
    """Say whether a caution is about the ingredient and none of the plan without it was."""
    return ingredient in one.text and not any(ingredient in old.text for old in alike) and (
        one.value is None or one.code.startswith("food-")
    )  # fmt: skip


def _worst(alike: list[Caution]) -> Caution | None:
    numbered = [one for one in alike if one.value is not None]
    if not numbered:
        return None
    choose = min if numbered[0].code in _LOWER_IS_WORSE else max
    return choose(numbered, key=lambda one: one.value or 0.0)


def _worse(one: Caution, old: Caution) -> bool:
    if one.value is None or old.value is None:
        return False
    sign = -1.0 if one.code in _LOWER_IS_WORSE else 1.0
    return sign * (one.value - old.value) > _NOTICED * abs(old.value)


def _shown(one: Caution) -> str:
    value = one.value or 0.0
    if one.unit == "1":
        return percent(value, 1 if abs(value) < 0.1 else 0)
    if one.unit in _KINDS:
        return format_quantity(value, _KINDS[one.unit])
    if one.unit == "kg/m³":
        return f"{value:.3g} g/L"
    return f"{value:.3g} {one.unit}".strip()
