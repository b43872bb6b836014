# SPDX-License-Identifier: MIT
"""Food-safety cautions of what goes into a step."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from middlecut.liquid import ingredients
from middlecut.steps.result import Caution

if TYPE_CHECKING:
    from middlecut.liquid.ingredients import FoodSafety
    from middlecut.steps.lot import Lot
    from middlecut.steps.parameters import Addition

__all__ = ["food_cautions", "level_words"]


def level_words(level: float) -> str:
    """Return a level to three figures without an exponent.

    Parameters
    ----------
    level : float
        In whatever unit.

    Returns
    -------
    str

    Examples
    --------
    >>> level_words(1592.0), level_words(0.0123)
    ('1,590', '0.0123')
    """
    return f"{float(f'{level:.3g}'):,.0f}" if level >= 1000.0 else f"{level:.3g}"


def food_cautions(additions: Iterable[Addition], lot: Lot | None = None) -> tuple[Caution, ...]:
    """Return what to know about the ingredients of a step before drinking what it makes.

    Parameters
    ----------
    additions : iterable of Addition
        What was put in.
    lot : Lot or None
        What came out; its levels are set against the figures where both are known.

    Returns
    -------
    tuple of Caution
        One a subject, with the ingredients that brought it.
    """
    brought: dict[FoodSafety, list[str]] = {}
    for addition in additions:
        for fact in ingredients.food_safety(addition.ingredient):
            names = brought.setdefault(fact, [])
            if addition.ingredient.name not in names:
                names.append(addition.ingredient.name)
    return tuple(_caution(fact, names, lot) for fact, names in brought.items())


def _caution(fact: FoodSafety, names: list[str], lot: Lot | None) -> Caution:
    code = f"food-{fact.code.replace(' ', '-')}"
    level = lot.compounds.get(fact.compound) if lot is not None and fact.compound else None
    source = f"{fact.source} ({fact.basis})"
    text = f"{'; '.join(names)}: {fact.text}" if fact.code != "anyone" else fact.text
    if lot is None or level is None or fact.unit != "mg/L" or fact.limit is None:
        return Caution(code, "note", text, source=source)
    over = level > fact.limit
    text += (
        f" Expected in {lot.name}: {level_words(level)} mg/L, the figure is {fact.limit:g} mg/L."
    )
    return Caution(
        code, "watch" if over else "note", text, level * 1e-3, fact.limit * 1e-3, "kg/m³", source
    )
