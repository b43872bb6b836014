# SPDX-License-Identifier: MIT
"""The plain cause of a wanted note that was found too strong: too much of what brings it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from middlecut.insight.off_flavours import Call, Fault, faults
from middlecut.steps.parameters import Distil, Ferment

if TYPE_CHECKING:
    from middlecut.insight.case import Case

__all__ = ["STRONG", "too_much"]

STRONG = 4.0
"""Intensity from which a wanted note can be too much, of 10; our choice."""
_HIGH = 1.0
"""Odour activity value from which a compound can be what is too strong."""
_SHARE = 0.1
"""Share of what the lot holds that has to come from one source to be blamed on it; our choice."""
_LESS = (Call("less-ingredient", ""), Call("shorter-steep", ""), Call("shorter-contact", "2 d"))


def too_much(case: Case, found: Mapping[str, float]) -> Iterator[Fault]:
    """Make a fault of each ingredient or wood that brings much of a note found strong.

    Parameters
    ----------
    case : Case
        The batch.
    found : mapping of str to float
        Descriptor to intensity, 0 to 10.

    Yields
    ------
    Fault
        One a source, with the words and compounds it is blamed for. Where the table of faults has
        a row of its own for the word and what brings it, none.
    """
    blamed: dict[str, list[str]] = {}
    for word, value in found.items():
        for row in case.odours.values():
            strong = value >= STRONG and row.oav >= _HIGH and word in row.descriptors[:2]
            if strong and not _in_table(word, row.compound):
                blamed.setdefault(row.compound, []).append(word)
    if not blamed:
        return
    yield from _of_ingredients(case, blamed)
    yield from _of_wood(case, blamed)


def _in_table(word: str, compound: str) -> bool:
    return any(
        word in one.descriptors
        and compound in one.compounds
        and {"less-ingredient", "leave-out", "less-wood"} & {call.name for call in one.remedies}
        for one in faults()
    )


def _of_ingredients(case: Case, blamed: Mapping[str, list[str]]) -> Iterator[Fault]:
    by_name: dict[str, dict[str, float]] = {}
    stages: dict[str, str] = {}
    for placed in case.additions:
        for marker in placed.addition.ingredient.tracked:
            if marker.compound in blamed:
                brought = by_name.setdefault(placed.name, {})
                mass = marker.typical * placed.addition.amount
                brought[marker.compound] = brought.get(marker.compound, 0.0) + mass
                step = placed.step
                other = "still" if isinstance(step, Distil) else "steep"
                stages[placed.name] = "fermenter" if isinstance(step, Ferment) else other
    for name, brought in by_name.items():
        held = case.lot.compounds
        mine = [one for one, mass in brought.items() if mass >= _SHARE * _mass(case, one)]
        mine = [one for one in mine if held.get(one, 0.0) > 0.0]
        if mine:
            yield _fault(name, mine, blamed, stage=stages[name], ingredient=name)


def _mass(case: Case, compound: str) -> float:
    amount = case.lot.amounts.get(compound)
    return 0.0 if amount is None else amount.typical


def _of_wood(case: Case, blamed: Mapping[str, list[str]]) -> Iterator[Fault]:
    gained: set[str] = set()
    for wood in case.woods:
        result = case.prediction.steps[wood.id]
        for compound in blamed:
            before = sum(_held(lot.amounts, compound) for lot in result.used.values())
            after = sum(_held(lot.amounts, compound) for lot in result.made.values())
            if after > 0.0 and after - before >= _SHARE * after:
                gained.add(compound)
    if gained:
        yield _fault("the wood", sorted(gained), blamed, stage="wood", ingredient="")


def _held(amounts: Mapping[str, object], compound: str) -> float:
    return float(getattr(amounts.get(compound), "typical", 0.0))


def _fault(
    name: str, brought: list[str], blamed: Mapping[str, list[str]], *, stage: str, ingredient: str
) -> Fault:
    words = tuple(dict.fromkeys(word for one in brought for word in blamed[one]))
    wood = not ingredient
    return Fault(
        name=f"too-much-{name}",
        words=f"too much {', '.join(words)}",
        descriptors=words,
        compounds=tuple(brought),
        other_compounds="",
        cause=f"too much of {name}, or too long on it",
        stage=stage,
        followed=True,
        sign="a smaller amount, or a part of the batch let down, smells of it as it should",
        tests=(Call("wood", ""),) if wood else (Call("brings", ""),),
        remedies=(Call("less-wood", ""), Call("shorter-wood", "")) if wood else _LESS,
        advice=(
            f"less of {name}, or a shorter time on it; this batch can be blended with spirit "
            "without it"
        ),
        source="own",
        basis="estimate",
        wanted=True,
        brought_by=ingredient,
    )
