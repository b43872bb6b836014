# SPDX-License-Identifier: MIT
"""What goes into a flavoured spirit: ingredients, their marker compounds, and what to beware of."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from functools import lru_cache
from typing import Literal, cast

from middlecut.errors import NotFoundError
from middlecut.liquid import compounds
from middlecut.liquid.food_safety import FoodSafety, food_safety, safety_codes
from middlecut.liquid.ingredient_rows import compound_name, table_rows
from middlecut.liquid.sources import flavour_sources

__all__ = [
    "BASES",
    "FORMS",
    "FoodSafety",
    "Form",
    "Ingredient",
    "Marker",
    "compound_name",
    "find",
    "food_safety",
    "names",
    "safety_codes",
    "search",
    "sources_of",
]

Form = Literal["whole", "coarse", "fine"]

FORMS: tuple[Form, ...] = ("whole", "coarse", "fine")
"""How far an ingredient is broken up: as it grows, crushed or cut, ground."""

BASES: Mapping[str, str] = {
    "read": "seen on the page or table named",
    "read-abstract": "seen in the abstract of a paper",
    "computed": "computed from numbers that were read",
    "memory": "recalled from the literature, not looked up; may be off by a factor of 2",
    "estimate": "an order of magnitude; may be off by a factor of 5",
}
"""What each basis of a number means, in words."""


@dataclass(frozen=True, slots=True)
class Marker:
    """How much of one compound an ingredient holds.

    Parameters
    ----------
    compound : str
        Name, as in the table of compounds where it stands there.
    tracked : bool
        False for sums such as "total phenols" and for what is only warned about.
    low, typical, high : float
        Mass per mass of ingredient as used. [kg kg⁻¹]
    descriptor : str
        What it smells or tastes of.
    basis : str
        A key of :data:`BASES`; the weakest part of the number counts.
    source : str
        Where the numbers come from, by key or in words.
    note : str
        What else to know, or "".
    """

    compound: str
    tracked: bool
    low: float
    typical: float
    high: float
    descriptor: str = ""
    basis: str = "estimate"
    source: str = "own"
    note: str = ""


@dataclass(frozen=True, slots=True)
class Ingredient:
    """An ingredient and how it behaves.

    Parameters
    ----------
    name : str
        The name middlecut uses.
    synonyms : tuple of str
        Other names it is found by.
    group : str
        Part of the plant or kind of goods.
    kinetics : str
        Class of tissue in the table of extraction rates.
    usual_form : {"whole", "coarse", "fine"}
        Form taken where a plan names none.
    bulk_density : float
        Loose and dry. [kg m⁻³]
    water_absorption : float
        Liquid kept in the spent solids, mass per mass as used. [kg kg⁻¹]
    moisture : float
        Water it brings, mass per mass as used, a fraction 0 to 1.
    lipid_share : float
        Fat and oil, mass per mass as used, a fraction 0 to 1.
    soluble_share : float
        What dissolves beside the markers, mass per mass as used, a fraction 0 to 1.
    markers : tuple of Marker
        Its compounds.
    safety : tuple of str
        Codes of :func:`food_safety`.
    basis : str
        Of the numbers above that are no markers.
    note : str
        What else to know, or "".
    own : bool
        Whether it is the user's own.
    """

    name: str
    synonyms: tuple[str, ...]
    group: str
    kinetics: str
    usual_form: Form
    bulk_density: float
    water_absorption: float
    moisture: float
    lipid_share: float
    soluble_share: float
    markers: tuple[Marker, ...]
    safety: tuple[str, ...] = ()
    basis: str = "estimate"
    note: str = ""
    own: bool = False

    @property
    def tracked(self) -> tuple[Marker, ...]:
        """The markers that are followed through the still."""
        return tuple(marker for marker in self.markers if marker.tracked)

    def to_dict(self) -> dict[str, object]:
        """Return the ingredient in SI units as plain JSON types."""
        return asdict(self)


def _parts(text: str) -> tuple[str, ...]:
    return tuple(part for part in text.split("|") if part)


def _key(text: str) -> str:
    return " ".join(text.replace(",", " ").casefold().split())


def _marker(row: Mapping[str, str]) -> Marker:
    tracked = row["kind"] == "compound"
    low, typical, high = (float(row[key]) * 1e-6 for key in ("low", "typical", "high"))
    return Marker(
        compound=compound_name(row["cas"], row["marker"]) if tracked else row["marker"],
        tracked=tracked,
        low=low,
        typical=typical,
        high=high,
        descriptor=row["descriptor"],
        basis=row["basis"],
        source=row["source"],
        note=row["note"],
    )


@lru_cache(maxsize=1)
def _table() -> dict[str, Ingredient]:
    markers: dict[str, list[Marker]] = {}
    for row in table_rows("ingredients"):
        markers.setdefault(row["ingredient"], []).append(_marker(row))
    found = {}
    for row in table_rows("ingredient_properties"):
        found[row["name"]] = Ingredient(
            name=row["name"],
            synonyms=_parts(row["synonyms"]),
            group=row["group"],
            kinetics=row["kinetics"],
            usual_form=cast("Form", row["usual_form"]),
            bulk_density=float(row["bulk_density"]),
            water_absorption=float(row["water_absorption"]),
            moisture=float(row["moisture"]),
            lipid_share=float(row["lipid_share"]),
            soluble_share=float(row["soluble_share"]),
            markers=tuple(markers[row["name"]]),
            safety=_parts(row["safety"]),
            basis=row["basis"],
            note=row["note"],
        )
    return dict(sorted(found.items()))


def _index(own: Iterable[Ingredient]) -> dict[str, Ingredient]:
    index: dict[str, Ingredient] = {}
    for ingredient in (*_table().values(), *own):  # the user's own come last and win
        for text in (*ingredient.synonyms, ingredient.name):
            index[_key(text)] = ingredient
    return index


def find(name: str, own: Iterable[Ingredient] = ()) -> Ingredient:
    """Find an ingredient by its name or a common synonym.

    Upper and lower case are alike, and so are commas and blanks.

    Parameters
    ----------
    name : str
        For instance ``orange peel, dried`` or ``coffee``.
    own : iterable of Ingredient
        The user's own, which win over the table's of the same name.

    Returns
    -------
    ingredient : Ingredient
        The one that goes by that name.

    Raises
    ------
    NotFoundError
        If nothing goes by that name; it carries the nearest names.

    Notes
    -----
    Contents differ from lot to lot by a factor of 2 to 10; the low and high of each marker say
    how far. Many typical values are recalled, not measured: each marker says so in its basis.

    References
    ----------
    .. [1] :cite:t:`belitz2009`, tables 22.2 to 22.4 (spices).
    .. [2] :cite:t:`semmelroch1996`, coffee odorants.

    Examples
    --------
    >>> find("Ceylon cinnamon").name
    'cinnamon, Ceylon'
    """
    index = _index(own)
    key = _key(name)
    if (found := index.get(key)) is not None:
        return found
    near = [text for text in index if key and (key in text or text in key)]
    near += difflib.get_close_matches(key, index, n=6, cutoff=0.55)
    raise NotFoundError(
        "ingredient", name, tuple(dict.fromkeys(index[text].name for text in near))[:3]
    )


def names(own: Iterable[Ingredient] = ()) -> tuple[str, ...]:
    """Return the names of all ingredients, in alphabetical order.

    Parameters
    ----------
    own : iterable of Ingredient
        The user's own, listed among the others.

    Returns
    -------
    names : tuple of str
        Each can be given to :func:`find`.

    Notes
    -----
    The list is a beginning: an ingredient of one's own is described in the plan.

    References
    ----------
    .. [1] :cite:t:`belitz2009`, spices.

    Examples
    --------
    >>> "star anise" in names()
    True
    """
    return tuple(sorted({*_table(), *(ingredient.name for ingredient in own)}))


def search(text: str, own: Iterable[Ingredient] = ()) -> tuple[Ingredient, ...]:
    """Find every ingredient that has something to do with a word.

    Parameters
    ----------
    text : str
        Looked for in names, groups, notes, marker compounds and their synonyms, descriptors and
        cautions; every word of it has to be there.
    own : iterable of Ingredient
        The user's own.

    Returns
    -------
    found : tuple of Ingredient
        In alphabetical order; empty when nothing fits.

    Notes
    -----
    Words are matched as parts of words, so "citr" finds citrus, citral and citric acid.

    References
    ----------
    .. [1] :cite:t:`belitz2009`, descriptors of spices.

    Examples
    --------
    >>> [found.name for found in search("coumarin")]
    ['cassia', 'cinnamon, Ceylon']
    """
    words = _key(text).split()
    pool = {**_table(), **{ingredient.name: ingredient for ingredient in own}}
    return tuple(
        ingredient
        for _, ingredient in sorted(pool.items())
        if words and all(word in _haystack(ingredient) for word in words)
    )


def _haystack(ingredient: Ingredient) -> str:
    pieces = [ingredient.name, ingredient.group, *ingredient.synonyms, *ingredient.safety]
    pieces.append(ingredient.note)
    for marker in ingredient.markers:
        pieces += [marker.compound, marker.descriptor, marker.note]
        if marker.tracked:
            pieces += compounds.find(marker.compound).synonyms
    return _key(" ; ".join(pieces))


def sources_of(marker: Marker) -> tuple[str, ...]:
    """Return the works a marker's numbers come from, spelt out.

    Parameters
    ----------
    marker : Marker
        Of an ingredient.

    Returns
    -------
    works : tuple of str
        Each with how it was read; the words of the row itself when it names no work by key.

    Notes
    -----
    "memory" means that the work was recalled and not opened.

    References
    ----------
    .. [1] :cite:t:`belitz2009`, the book behind the keys that begin with BG.

    Examples
    --------
    >>> sources_of(find("caraway").markers[0])[0]
    'Belitz et al. 2009 p.973 Table 22.2 essential oil content of spices (read)'
    """
    found = tuple(
        f"{work.citation} ({work.status})"
        for work in flavour_sources()
        if re.search(rf"(?<!\w){re.escape(work.key)}(?!\w)", marker.source)
    )
    return found or (marker.source,)
