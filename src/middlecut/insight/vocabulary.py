# SPDX-License-Identifier: MIT
"""Words for what is smelled, tasted and felt: descriptors in families, and what compounds smell of.

The words and families are our own; smell, taste and mouthfeel are told apart as ISO 5492 does.
"""

from __future__ import annotations

import csv
import difflib
import re
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

from middlecut.errors import NotFoundError
from middlecut.liquid import compounds

__all__ = ["Descriptor", "compound_descriptors", "descriptors", "families", "find_descriptor"]

_SENSES = {"taste": "taste", "mouthfeel": "mouthfeel"}


@dataclass(frozen=True, slots=True)
class Descriptor:
    """One word of the tasting vocabulary.

    Parameters
    ----------
    name : str
        The word.
    family : str
        Its family, e.g. ``citrus``.
    sense : {"smell", "taste", "mouthfeel"}
        What it is perceived by.
    meaning : str
        What it stands for.
    synonyms : tuple of str
        Other words that lead to it.
    """

    name: str
    family: str
    sense: str
    meaning: str
    synonyms: tuple[str, ...]


def _key(text: str) -> str:
    return " ".join(text.casefold().split())


@lru_cache(maxsize=1)
def _table() -> tuple[tuple[Descriptor, ...], dict[str, Descriptor]]:
    path = files("middlecut.insight") / "tables" / "vocabulary.csv"
    rows = csv.DictReader(path.read_text(encoding="utf-8").splitlines())
    found = tuple(
        Descriptor(
            name=row["descriptor"],
            family=row["family"],
            sense=_SENSES.get(row["family"], "smell"),
            meaning=row["meaning"],
            synonyms=tuple(part for part in row["synonyms"].split("|") if part),
        )
        for row in rows
    )
    return found, {_key(word): one for one in found for word in (one.name, *one.synonyms)}


def descriptors() -> tuple[Descriptor, ...]:
    """Return the whole vocabulary, family by family.

    Returns
    -------
    descriptors : tuple of Descriptor
        More than 140 words in 19 families.

    Notes
    -----
    Words a distiller uses at the jar, not a trained panel's scale; they have no reference samples.

    References
    ----------
    .. [1] :cite:t:`iso5492`.

    Examples
    --------
    >>> len(descriptors()) > 60
    True
    """
    return _table()[0]


def families() -> tuple[str, ...]:
    """Return the names of the families, in the order of the vocabulary.

    Returns
    -------
    families : tuple of str
        Seventeen of smell, one of taste, one of mouthfeel.

    References
    ----------
    .. [1] :cite:t:`iso5492`.

    Examples
    --------
    >>> families()[:3]
    ('ripe fruit', 'citrus', 'flowers')
    """
    return tuple(dict.fromkeys(one.family for one in descriptors()))


def find_descriptor(word: str) -> Descriptor:
    """Find a descriptor by its name or a synonym.

    Parameters
    ----------
    word : str
        For instance ``green bell pepper`` or ``capsicum``. Upper and lower case are alike.

    Returns
    -------
    descriptor : Descriptor
        The one that goes by that word.

    Raises
    ------
    NotFoundError
        If the vocabulary has no such word; it carries the nearest ones.

    References
    ----------
    .. [1] :cite:t:`iso5492`.

    Examples
    --------
    >>> find_descriptor("Capsicum").name, find_descriptor("drying").sense
    ('green bell pepper', 'mouthfeel')
    """
    _, by_key = _table()
    key = _key(word)
    if (found := by_key.get(key)) is not None:
        return found
    parts = [part for part in re.split(r"[,/;]\s*", key) if part in by_key]
    if parts and len(key) < 80:
        return by_key[parts[0]]
    near = difflib.get_close_matches(key[:80], by_key, n=6, cutoff=0.6)
    inside = [item for item in by_key if key and (key in item or item in key.split())]
    names = tuple(dict.fromkeys(by_key[item].name for item in [*near, *inside]))[:3]
    raise NotFoundError("descriptor", word[:80], names)


@lru_cache(maxsize=512)
def compound_descriptors(compound: str) -> tuple[Descriptor, ...]:
    """Return what a compound smells or tastes of, in words of the vocabulary.

    Parameters
    ----------
    compound : str
        Name, synonym or CAS number.

    Returns
    -------
    descriptors : tuple of Descriptor
        The first is what it is best known for; empty where no word fits.

    Raises
    ------
    NotFoundError
        If no compound goes by that name.

    Notes
    -----
    From memory. Many compounds smell of something else at another level: a trace of dimethyl
    sulfide reads as fruit, a threshold of it as sweetcorn.

    References
    ----------
    .. [1] :cite:t:`belitz2009`, for many of the odorants.

    Examples
    --------
    >>> [one.name for one in compound_descriptors("isoamyl acetate")]
    ['banana', 'pear drop']
    """
    _, by_key = _table()
    text = compounds.find(compound).descriptor.partition(";")[0]
    plain = re.sub(r"\s*\([^)]*\)?", "", text)
    words = [text, *re.split(r",\s*", plain), *re.split(r"\s+/\s+|,\s*", plain)]
    found = [by_key[key] for word in words if (key := _key(word)) in by_key]
    return tuple({one.name: one for one in found}.values())
