# SPDX-License-Identifier: MIT
"""The pantry: ingredients and compounds, what is known of them, how well, and where from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from middlecut.app.expectation import StillFit, fitted_plan, read_plan
from middlecut.app.giving_way import WAY
from middlecut.app.own_library import OwnLibrary
from middlecut.app.record import Record
from middlecut.app.views.fits import fits_of
from middlecut.errors import NotFoundError, PlanError
from middlecut.insight.off_flavours import Fault, faults
from middlecut.insight.routes import Routes, routes
from middlecut.liquid import alcoholometry, aroma, compounds, congeners, ingredients, volatility
from middlecut.liquid.aroma import Threshold
from middlecut.liquid.compounds import Compound
from middlecut.liquid.food_safety import FoodSafety
from middlecut.liquid.grades import Grade
from middlecut.liquid.ingredients import Ingredient, Marker
from middlecut.liquid.own_ingredients import Library
from middlecut.liquid.own_names import OwnCompound
from middlecut.liquid.sources import FlavourSource, flavour_sources
from middlecut.plan.read import read_plan_text

__all__ = [
    "GRADES",
    "CompoundView",
    "IngredientView",
    "Lead",
    "MadeByYeast",
    "Shelf",
    "compound_view",
    "find_routes",
    "grade_words",
    "ingredient_view",
    "own_ingredients",
    "shelf",
]

_PRESSURE = 101325.0
_STRENGTHS = (0.05, 0.2, 0.45, 0.8)
_LEVEL = 0.05
"""How near to 1 a relative volatility is called the same as ethanol's; our choice."""
_GRAMS_PER_MOLE = (46.06844, 18.01528)

GRADES: Mapping[str, str] = {
    "A": "three or more measurements at 60 °C or hotter",
    "B": "measured, once or twice hot or several times cold",
    "B-": "one cold measurement",
    "C+": "two independent sources, hot or at 25 °C, that agree within a factor of 3",
    "C": "one published constant, or recalled ones that agree within a factor of 3",
    "C-": "a solubility, recalled",
    "C?": "sources that disagree by more than a factor of 3",
    "D": "a prediction or an analogy",
}
"""What each grade of a volatility means, in words."""
ACID = (
    "Of an acid that is over the pressure of its single molecules: over the pure acid most of the "
    "vapour is pairs, over a wash hardly any is. How many pair up is a recalled constant. What the "
    "acid loses by splitting up in the liquid, above pH 4, is left out."
)
"""What a grade of a carboxylic acid refers to."""


@dataclass(frozen=True, slots=True)
class Shelf:
    """What the pantry has, or what a search finds in it.

    Parameters
    ----------
    ingredients : tuple of Ingredient
    compounds : tuple of Compound
    """

    ingredients: tuple[Ingredient, ...]
    compounds: tuple[Compound, ...]


@dataclass(frozen=True, slots=True)
class Lead:
    """How a compound runs beside ethanol in a boiling liquid.

    Parameters
    ----------
    strength : float
        Of the boiling liquid, 0 to 1.
    ratio : float
        Volatility over that of ethanol.
    word : str
        "ahead of ethanol", "with ethanol" or "behind ethanol".
    """

    strength: float
    ratio: float
    word: str


@dataclass(frozen=True, slots=True)
class MadeByYeast:
    """How much of a compound a wash has of itself.

    Parameters
    ----------
    wash : str
        grain, sugar or fruit.
    low, typical, high : float
        Per volume of pure alcohol. [kg m⁻³]
    basis, source : str
    """

    wash: str
    low: float
    typical: float
    high: float
    basis: str
    source: str


@dataclass(frozen=True, slots=True)
class CompoundView:
    """All there is about a compound.

    Parameters
    ----------
    compound : Compound
    grade : Grade or None
        None for what never distils.
    leads : tuple of Lead
    thresholds : tuple of Threshold
    threshold_sources : mapping of str to tuple of FlavourSource
        By medium.
    stability, note : str
    found_in : tuple of (str, Marker)
        Ingredients that hold it, the richest first.
    made : tuple of MadeByYeast
    faults : tuple of Fault
        That it is responsible for.
    """

    compound: Compound
    grade: Grade | None
    leads: tuple[Lead, ...]
    thresholds: tuple[Threshold, ...]
    threshold_sources: Mapping[str, tuple[FlavourSource, ...]]
    stability: str
    note: str
    found_in: tuple[tuple[str, Marker], ...]
    made: tuple[MadeByYeast, ...]
    faults: tuple[Fault, ...]


@dataclass(frozen=True, slots=True)
class IngredientView:
    """All there is about an ingredient.

    Parameters
    ----------
    ingredient : Ingredient
    works : tuple of tuple of str
        For each marker where its numbers come from.
    linked : frozenset of str
        Markers that have a page of their own.
    safety : tuple of FoodSafety
    bases : tuple of (str, str)
        Each basis that occurs, and what it means.
    """

    ingredient: Ingredient
    works: tuple[tuple[str, ...], ...]
    linked: frozenset[str]
    safety: tuple[FoodSafety, ...]
    bases: tuple[tuple[str, str], ...]


def own_ingredients(record: Record, library: OwnLibrary | None = None) -> Library:
    """Return the ingredients and compounds of the person's own.

    Those of the plans of the record, the latest winning, and those of the library file, which win
    over them; a file that cannot be read is left out.
    """
    own: dict[str, Ingredient] = {}
    told: dict[str, OwnCompound] = {}
    for stream in record.store.streams("batch"):
        plan = record.batch(stream.partition("/")[2]).plan
        try:
            found = read_plan(plan.text).library if plan else Library()
        except PlanError:
            continue  # a plan of an older release that is not taken any more
        own.update((one.name, one) for one in found)
        told.update((one.name, one) for one in found.compounds)
    if library is not None and not library.trouble:
        kept = library.read()
        own.update((one.name, one) for one in kept)
        told.update((one.name, one) for one in kept.compounds)
    return Library(own.values(), told.values())


def _told(own: Iterable[Ingredient]) -> tuple[OwnCompound, ...]:
    return own.compounds if isinstance(own, Library) else ()


def grade_words(grade: Grade) -> str:
    """Return what the grade of a volatility means for its compound, in sentences.

    Parameters
    ----------
    grade : Grade

    Returns
    -------
    str
    """
    words = f"Grade {grade.grade}: {GRADES.get(grade.grade, grade.grade)}."
    return f"{words} {ACID}" if "monomer" in grade.vapour_pressure_basis else words


def shelf(text: str = "", own: Iterable[Ingredient] = ()) -> Shelf:
    """Return what the pantry has to do with some words; with none all of it.

    Parameters
    ----------
    text : str
        Every word has to be found in names, groups, smells, CAS numbers or cautions.
    own : iterable of Ingredient
        The user's own.

    Returns
    -------
    shelf : Shelf
        In alphabetical order.
    """
    known, told = tuple(own), _told(own)
    everyone = [compounds.find(name, told) for name in compounds.names(told)]
    words = text.casefold().split()
    if not words:
        everything = tuple(ingredients.find(name, known) for name in ingredients.names(known))
        return Shelf(everything, tuple(everyone))
    fitting = tuple(one for one in everyone if all(word in _haystack(one) for word in words))
    return Shelf(ingredients.search(text, known), fitting)


def _haystack(one: Compound) -> str:
    return " ".join((one.name, one.cas, one.formula, one.descriptor, *one.synonyms)).casefold()


def ingredient_view(name: str, own: Iterable[Ingredient] = ()) -> IngredientView:
    """Return all there is about an ingredient.

    Parameters
    ----------
    name : str
        Or a synonym.
    own : iterable of Ingredient
        The user's own.

    Returns
    -------
    view : IngredientView

    Raises
    ------
    NotFoundError
        If nothing goes by that name; it carries the nearest.
    """
    item = ingredients.find(name, own)
    known = set(compounds.names(_told(own)))
    used = dict.fromkeys((*(marker.basis for marker in item.markers), item.basis))
    return IngredientView(
        ingredient=item,
        works=tuple(ingredients.sources_of(marker) for marker in item.markers),
        linked=frozenset(one.compound for one in item.markers if one.compound in known),
        safety=tuple(ingredients.food_safety(item)),
        bases=tuple((one, ingredients.BASES[one]) for one in used if one in ingredients.BASES),
    )


def compound_view(name: str, own: Iterable[Ingredient] = ()) -> CompoundView:
    """Return all there is about a compound.

    Parameters
    ----------
    name : str
        Or a synonym or CAS number.
    own : iterable of Ingredient
        The user's own.

    Returns
    -------
    view : CompoundView

    Raises
    ------
    NotFoundError
        If nothing goes by that name; it carries the nearest.
    """
    compound = compounds.find(name, _told(own))
    known = aroma.thresholds(compound.name)
    media = [one for one in (known.water, known.ethanol_10, known.ethanol_40) if one is not None]
    distils = not compound.nonvolatile
    return CompoundView(
        compound=compound,
        grade=volatility.grade(compound.name) if distils else None,
        leads=tuple(_lead(compound.name, one) for one in _STRENGTHS) if distils else (),
        thresholds=tuple(media),
        threshold_sources={one.medium: flavour_sources(one.source or "-") for one in media},
        stability=known.stability,
        note=known.note,
        found_in=_found_in(compound.name, own),
        made=_made(compound.name),
        faults=tuple(one for one in faults() if compound.name in one.compounds),
    )


def _lead(compound: str, strength: float) -> Lead:
    mass = float(alcoholometry.mass_fraction_from_strength(strength))
    ethanol, water = mass / _GRAMS_PER_MOLE[0], (1.0 - mass) / _GRAMS_PER_MOLE[1]
    x = ethanol / (ethanol + water)
    ratio = float(volatility.relative_volatility(compound, x, _PRESSURE))
    word = "with ethanol" if abs(ratio - 1.0) <= _LEVEL else "ahead of ethanol"
    return Lead(strength, ratio, "behind ethanol" if ratio < 1.0 - _LEVEL else word)


def _found_in(compound: str, own: Iterable[Ingredient]) -> tuple[tuple[str, Marker], ...]:
    known = tuple(own)
    rows = [
        (item.name, marker)
        for item in (ingredients.find(name, known) for name in ingredients.names(known))
        for marker in item.markers
        if str(marker.compound) == str(compound)
    ]
    return tuple(sorted(rows, key=lambda row: -row[1].typical))


def _made(compound: str) -> tuple[MadeByYeast, ...]:
    return tuple(
        MadeByYeast(profile, one.low, one.typical, one.high, one.basis, one.source)
        for profile in congeners.PROFILES
        for one in congeners.congener_levels(profile)
        if one.compound == compound
    )


def find_routes(
    record: Record,
    batch: str,
    ingredient: str,
    amount: float | None = None,
    library: OwnLibrary | None = None,
) -> Routes:
    """Return an ingredient through every entry point of a batch's plan; remembered.

    Parameters
    ----------
    record : Record
    batch : str
        Id.
    ingredient : str
    amount : float or None
        [kg] None: what the plan has, or a usual amount.
    library : OwnLibrary or None
        The person's file, for an ingredient that the plan does not know.

    Returns
    -------
    routes : Routes

    Raises
    ------
    NotFoundError
        If there is no such batch, plan or ingredient.
    InputError
        If the amount fits nowhere.
    PlanError
        If the plan cannot be carried out.
    """
    state = record.batch(batch)
    if state.plan is None:
        raise NotFoundError("plan of the batch", batch)
    known = Library() if library is None or library.trouble else library.read()
    return _routes(state.plan.text, ingredient, amount, known, fits_of(record, state))


@lru_cache(maxsize=16)
def _routes(
    text: str,
    ingredient: str,
    amount: float | None,
    library: Library,
    fits: tuple[StillFit, ...],
) -> Routes:
    plan = replace(read_plan_text(text, "plan", library), stills=fitted_plan(text, fits).stills)
    with WAY.awaited():
        return routes(plan, ingredient, amount=amount)
