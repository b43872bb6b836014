# SPDX-License-Identifier: MIT
"""Make additions of ingredients out of their tables, and judge where and when they go in."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal, cast

from middlecut.errors import InputError, NotFoundError
from middlecut.liquid.alcoholometry import WATER_DENSITY_20
from middlecut.plan.positions import Path
from middlecut.steps.parameters import Addition, Distil, Ferment, Steep, StepParameters

if TYPE_CHECKING:
    from middlecut.liquid.ingredients import Ingredient
    from middlecut.liquid.own_names import OwnCompound
    from middlecut.plan import schema
    from middlecut.plan.flow import Flow
    from middlecut.plan.problems import Problems
    from middlecut.steps.still import Still

__all__ = [
    "Pantry",
    "build_additions",
    "check_fit",
    "check_names",
    "of_library",
    "read_compounds",
    "read_own",
]

_ENTRIES: Mapping[str, tuple[str, ...]] = {
    "ferment": ("wash-early", "wash-late"),
    "distil": ("charge", "basket"),
    "steep": ("steep",),
}
"""Where an ingredient can go in, by kind of step."""

_WHEN = ("after", "on", "attenuation")

EntryPoint = Literal["wash-early", "wash-late", "charge", "basket", "steep"]


@dataclass(frozen=True, slots=True)
class Pantry:
    """What additions are built from beside their tables.

    Parameters
    ----------
    own : tuple of Ingredient
        The user's own, from their library file and from the plan; the plan's come last and win.
    start : datetime or None
        When the batch begins.
    """

    own: tuple[Ingredient, ...] = ()
    start: dt.datetime | None = None


def read_own(
    name: str,
    raw: Mapping[str, object],
    problems: Problems,
    compounds: Iterable[OwnCompound] = (),
) -> Ingredient:
    """Return an ingredient of the plan's own, noting all that is wrong with its section."""
    from middlecut.liquid.own_ingredients import own_ingredient  # noqa: PLC0415 - only with one

    def note(keys: tuple[str, ...], error: InputError) -> None:
        problems.add(("ingredient", name, *keys), error.allowed, error.remedy)

    return own_ingredient(name, raw, note, compounds)


def of_library(
    library: Iterable[Ingredient], compounds: tuple[OwnCompound, ...]
) -> dict[str, Ingredient]:
    """Return the library's ingredients; their markers mean the compounds that the plan knows."""
    found = {item.name: item for item in library}
    if not found or not compounds:
        return found
    from middlecut.liquid.own_ingredients import with_compounds  # noqa: PLC0415 - only then

    return {name: with_compounds(item, compounds) for name, item in found.items()}


def read_compounds(
    sections: Iterable[tuple[str, Mapping[str, object]]],
    library: Iterable[OwnCompound],
    problems: Problems,
) -> tuple[OwnCompound, ...]:
    """Return the compounds of the plan's own, and those of the library that it does not replace."""
    told = dict(sections)
    if not told:
        return tuple(library)
    from middlecut.liquid.own_compounds import clashes, own_compound  # noqa: PLC0415 - only then

    found = []
    for name, raw in told.items():

        def note(keys: tuple[str, ...], error: InputError, name: str = name) -> None:
            problems.add(("compound", name, *keys), error.allowed, error.remedy)

        found.append(own_compound(name, raw, note))
    for later, first in clashes(found).items():
        message = f"compound.{first} has the same name, synonym or CAS number"
        problems.add(("compound", later), message, "Keep one of the two.")
    replaced = clashes((*found, *library))
    kept = (one for one in library if one.name not in told and one.name not in replaced)
    return (*found, *kept)


def build_additions(
    table: schema.StepBase, kind: str, path: Path, pantry: Pantry, problems: Problems
) -> tuple[Addition, ...]:
    """Return the additions of a step; those that cannot be used are noted and left out.

    Parameters
    ----------
    table : StepBase
        The step.
    kind : str
        Of the step.
    path : tuple of str or int
        Where the step stands.
    pantry : Pantry
        Own ingredients and the start of the batch.
    problems : Problems
        Takes what is wrong.

    Returns
    -------
    tuple of Addition
        In the order of the plan.
    """
    found = (
        _addition(item, kind, table, path=(*path, "add", index), pantry=pantry, problems=problems)
        for index, item in enumerate(table.add)
    )
    return tuple(addition for addition in found if addition is not None)


def _addition(
    item: schema.AddTable,
    kind: str,
    step: schema.StepBase,
    *,
    path: Path,
    pantry: Pantry,
    problems: Problems,
) -> Addition | None:
    ingredient = _ingredient(item, path, pantry, problems)
    entry = _entry(item, kind, path, problems)
    if ingredient is None or entry is None or not _keys_fit(item, kind, path, problems):
        return None
    return Addition(
        ingredient=ingredient,
        amount=item.amount,
        entry_point=entry,
        form=item.form,
        time=_time(item, step, path, pantry, problems),
        attenuation=item.attenuation,
        contact=item.contact,
    )


def _ingredient(
    item: schema.AddTable, path: Path, pantry: Pantry, problems: Problems
) -> Ingredient | None:
    from middlecut.liquid import ingredients  # noqa: PLC0415 - its tables only when needed

    try:
        return ingredients.find(item.ingredient, pantry.own)
    except NotFoundError as error:
        near = " or ".join(f'"{name}"' for name in error.near)
        describe = f"describe it in a section [ingredient.{item.ingredient}]"
        problems.add(
            (*path, "ingredient"),
            "no ingredient of that name is known",
            f"Did you mean {near}? Or {describe}." if near else f"{describe.capitalize()}.",
            value=item.ingredient,
        )
        return None


def _entry(item: schema.AddTable, kind: str, path: Path, problems: Problems) -> EntryPoint | None:
    allowed = _ENTRIES.get(kind, ())
    entry = item.entry or (allowed[0] if len(allowed) == 1 else None)
    if entry in allowed:
        return cast("EntryPoint", entry)
    if item.entry == "dose":
        problems.add(
            (*path, "entry"),
            "a dose is a lot of flavour spirit, not an ingredient",
            "Make the flavour spirit in a step of its own, then in a blend write "
            'from = ["hearts", { lot = "orange spirit", dose = "12 mL/L" }].',
        )
    elif not allowed:
        problems.add(
            path,
            f"a {kind} step takes no ingredients",
            "Add them in a ferment, distil or steep step.",
        )
    else:
        words = " or ".join(f'"{word}"' for word in allowed)
        problems.add(
            (*path, "entry"),
            f"in a {kind} step an ingredient goes in at {words}",
            f'Write entry = "{allowed[-1]}".',
        )
    return None


def _keys_fit(item: schema.AddTable, kind: str, path: Path, problems: Problems) -> bool:
    given = [key for key in _WHEN if getattr(item, key) is not None]
    if len(given) > 1:
        message = f"{' and '.join(given)} say the same thing in different ways"
        problems.add((*path, given[1]), message, "Keep one of them.")
        return False
    if given and kind != "ferment":
        message = f"{given[0]} goes with a ferment step only"
        problems.add(
            (*path, given[0]), message, "Take it out; the ingredient goes in at the start."
        )
        return False
    if item.contact is not None and kind == "distil":
        message = "in a still an ingredient stays in to the end of the run"
        problems.add((*path, "contact"), message, "Take it out.")
        return False
    return True


def _time(
    item: schema.AddTable, step: schema.StepBase, path: Path, pantry: Pantry, problems: Problems
) -> float | None:
    if item.on is None:
        return item.after
    pitched = getattr(step, "pitched", None) or pantry.start
    if pitched is None:
        problems.add(
            (*path, "on"),
            "a date needs to know when the wash was pitched",
            'Add pitched = "2026-03-01" to the step or start = "2026-03-01" to [batch], or give '
            "the time as after.",
        )
        return 0.0
    seconds = (item.on - pitched).total_seconds()
    if seconds < 0.0:
        problems.add(
            (*path, "on"),
            f"that is before the wash is pitched, {pitched:%Y-%m-%d %H:%M}",
            "Correct one of the two dates.",
        )
        return 0.0
    return seconds


def check_fit(
    step: StepParameters, path: Path, still: Still | None, problems: Problems
) -> StepParameters:
    """Note additions that fit neither the time of their step nor its still.

    Parameters
    ----------
    step : StepParameters
        With its additions.
    path : tuple of str or int
        Where it stands.
    still : Still or None
        Of a distil step.
    problems : Problems
        Takes what is wrong.

    Returns
    -------
    StepParameters
        The step, without the additions that do not fit.
    """
    try:
        if isinstance(step, Ferment):
            return _check_times(step, path, problems)
        if isinstance(step, Distil) and step.additions and still is not None:
            from middlecut.steps.basket import check_additions  # noqa: PLC0415 - only with additions

            known = sum(take.volume or 0.0 for take in step.takes) + step.water / WATER_DENSITY_20
            check_additions(step.additions, known, still)
        elif isinstance(step, Steep):
            from middlecut.steps.steep import check_steep  # noqa: PLC0415 - only with a steep

            check_steep(step)
    except InputError as error:
        problems.add((*path, "add"), f"{error.value}: {error.allowed}", error.remedy)
    return step


def check_names(
    steps: Mapping[int, StepParameters], flows: Iterable[Flow], problems: Problems
) -> None:
    """Note lots that bear the name of an ingredient in use; the accounts could not tell them apart.

    Parameters
    ----------
    steps : mapping of int to StepParameters
        By place in the file.
    flows : iterable of Flow
        What each step makes.
    problems : Problems
        Takes what is wrong.
    """
    used = {
        addition.ingredient.name
        for step in steps.values()
        if isinstance(step, Ferment | Distil | Steep)
        for addition in step.additions
    }
    for flow in flows:
        for made in flow.makes:
            if made.lot in used:
                message = "an ingredient of this plan has the same name"
                problems.add(made.path, message, f'Call it "{made.lot} spirit".', value=made.lot)


def _check_times(step: Ferment, path: Path, problems: Problems) -> Ferment:
    if not step.additions:
        return step
    from middlecut.steps.wash_release import addition_start  # noqa: PLC0415 - only with additions

    good = []
    for index, addition in enumerate(step.additions):
        try:
            addition_start(
                addition, temperature=step.temperature, end=step.duration + step.settling
            )
            good.append(addition)
        except InputError as error:
            at = (*path, "add", index)
            problems.add(at, f"{error.value}: {error.allowed}", error.remedy)
    return replace(step, additions=tuple(good))
