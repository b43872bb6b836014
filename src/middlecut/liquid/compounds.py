# SPDX-License-Identifier: MIT
"""Who the dilute compounds are: names, CAS numbers, molar mass, boiling point, odour.

Most of them distil and have a row in the volatility tables. Some never do (caffeine, tannins,
sugar compounds); they carry the reason and stay in the boiler.
"""

from __future__ import annotations

import csv
import difflib
import math
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from types import MappingProxyType
from typing import TYPE_CHECKING

from middlecut.errors import NotFoundError
from middlecut.liquid.own_names import OwnCompound, OwnName

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

__all__ = ["Compound", "bulk_markers", "find", "names", "volatile_names"]

_GREEK = str.maketrans({"α": "alpha", "β": "beta", "γ": "gamma", "δ": "delta"})


@dataclass(frozen=True, slots=True)
class Compound:
    """One dilute compound that a run can track.

    Parameters
    ----------
    name : str
        The name that middlecut uses everywhere.
    cas : str
        CAS number.
    formula : str
        Molecular formula.
    molar_mass : float
        [kg mol⁻¹]
    boiling_point : float or None
        At 101.325 kPa. [K] None for what never distils.
    basis : str
        Of the boiling point: ``library`` (a compilation) or ``memory`` (recalled, not looked up);
        "" for what never distils.
    log_p : float
        Decimal logarithm of the octanol-water partition ratio.
    log_p_basis : str
        ``library`` or ``memory``, as for the boiling point.
    descriptor : str
        What it smells of; from memory.
    synonyms : tuple of str
        Other names it is found by.
    other_cas : str
        CAS number of an isomer or mixture that is treated as this compound, or "".
    nonvolatile : str
        Why it never distils, or "" for a compound that does.
    own : OwnCompound or None
        What its user says of it; None for a compound of the table.
    """

    name: str
    cas: str
    formula: str
    molar_mass: float
    boiling_point: float | None
    basis: str
    log_p: float
    log_p_basis: str
    descriptor: str
    synonyms: tuple[str, ...]
    other_cas: str
    nonvolatile: str
    own: OwnCompound | None = None


def _key(text: str) -> str:
    return " ".join(text.translate(_GREEK).casefold().split())


def _read(row: dict[str, str]) -> Compound:
    return Compound(
        name=row["name"],
        cas=row["cas"],
        formula=row["formula"],
        molar_mass=float(row["molar_mass"]),
        boiling_point=float(row["boiling_point"]) if row["boiling_point"] else None,
        basis=row["boiling_point_basis"],
        log_p=float(row["log_p"]),
        log_p_basis=row["log_p_basis"],
        descriptor=row["descriptor"],
        synonyms=tuple(part for part in row["synonyms"].split("|") if part),
        other_cas=row["other_cas"],
        nonvolatile=row["nonvolatile"],
    )


@lru_cache(maxsize=1)
def _table() -> tuple[dict[str, Compound], dict[str, Compound]]:
    """Return the compounds by name in the table's order, and by every key they are found by."""
    path = files("middlecut.liquid") / "tables" / "compounds.csv"
    rows = csv.DictReader(path.read_text(encoding="utf-8").splitlines())
    by_name = {compound.name: compound for compound in map(_read, rows)}
    by_key: dict[str, Compound] = {}
    for compound in by_name.values():
        for text in (compound.name, compound.cas, compound.other_cas, *compound.synonyms):
            if text:
                by_key[_key(text)] = compound
    return by_name, by_key


@lru_cache(maxsize=256)
def _described(own: OwnCompound) -> Compound:
    return Compound(
        name=own.label,
        cas=own.cas,
        formula=own.formula,
        molar_mass=math.nan if own.molar_mass is None else own.molar_mass,
        boiling_point=own.boiling_point,
        basis="" if own.boiling_point is None else "own",
        log_p=math.nan if own.log_p is None else own.log_p,
        log_p_basis="" if own.log_p is None else "own",
        descriptor=own.descriptor,
        synonyms=own.synonyms,
        other_cas="",
        nonvolatile=own.nonvolatile,
        own=own,
    )


def keys_of(own: OwnCompound) -> tuple[str, ...]:
    """Return every key that a compound of the user's own is found by."""
    return tuple(_key(text) for text in (own.name, own.cas, *own.synonyms) if text)


def find(name_or_cas: str, own: Iterable[OwnCompound] = ()) -> Compound:
    """Find a compound by its name, a common synonym or its CAS number.

    Upper and lower case are alike, and so are Greek letters and their names.

    Parameters
    ----------
    name_or_cas : str
        For instance ``isoamyl alcohol``, ``3-methyl-1-butanol`` or ``123-51-3``. A name out of a
        plan carries what the plan says of it.
    own : iterable of OwnCompound
        The user's own, for a name in plain text.

    Returns
    -------
    compound : Compound
        The one that goes by that name.

    Raises
    ------
    NotFoundError
        If nothing goes by that name; it carries the nearest names.

    Notes
    -----
    Isomers that are told apart only by their CAS number (d-limonene and limonene, cis and trans
    citral) are one compound here.

    References
    ----------
    .. [1] :cite:t:`bell2021chemicals`, identifiers and boiling points.

    Examples
    --------
    >>> find("Isoamyl alcohol").name
    '3-methyl-1-butanol'
    """
    if isinstance(name_or_cas, OwnName):
        return _described(name_or_cas.definition)
    _, by_key = _table()
    key = _key(name_or_cas)
    if (found := by_key.get(key)) is not None:
        return found
    near: list[str] = []
    for one in own:
        if key in keys_of(one):
            return _described(one)
        near += difflib.get_close_matches(key, keys_of(one), n=1, cutoff=0.6) and [one.name]
    raise NotFoundError("compound", name_or_cas, (*near, *_nearest(key))[:3])


@lru_cache(maxsize=1024)
def _nearest(key: str) -> tuple[str, ...]:
    """Return the names most like a key; kept, because steps ask again and again for some."""
    _, by_key = _table()
    close = difflib.get_close_matches(key, by_key, n=6, cutoff=0.6)
    return tuple(dict.fromkeys(by_key[item].name for item in close))[:3]


def names(own: Iterable[OwnCompound] = ()) -> tuple[str, ...]:
    """Return the names of all compounds, in alphabetical order.

    Parameters
    ----------
    own : iterable of OwnCompound
        The user's own, listed among the others.

    Returns
    -------
    names : tuple of str
        Each can be given to :func:`find`.

    Notes
    -----
    Ethanol and water are no dilute compounds and do not stand here. Compounds that never distil do;
    :func:`volatile_names` leaves them out.

    References
    ----------
    .. [1] :cite:t:`bell2021chemicals`, identifiers.

    Examples
    --------
    >>> "methanol" in names()
    True
    """
    by_name, _ = _table()
    mine = [one.label for one in own]
    return tuple(sorted((*by_name, *mine), key=_key)) if mine else tuple(by_name)


def volatile_names() -> tuple[str, ...]:
    """Return the names of the compounds that distil, in alphabetical order.

    Returns
    -------
    names : tuple of str
        Each has a volatility, however uncertain.

    Notes
    -----
    What is left out stays in the boiler: alkaloids, tannins, sugar compounds, heavy pungents.

    References
    ----------
    .. [1] :cite:t:`bell2021chemicals`, identifiers.

    Examples
    --------
    >>> "caffeine" in names(), "caffeine" in volatile_names()
    (True, False)
    """
    by_name, _ = _table()
    return tuple(name for name, compound in by_name.items() if not compound.nonvolatile)


@lru_cache(maxsize=1)
def bulk_markers() -> Mapping[str, str]:
    """Return the markers of ingredients that are sums of many compounds, and what to do with them.

    Returns
    -------
    markers : mapping of str to str
        By the marker's name: what it is and why it is not followed through the still.

    Notes
    -----
    An essential oil as a whole, fat, sugar and total phenols have no one vapour pressure; the
    compounds in them are followed one by one where they are known.

    References
    ----------
    .. [1] :cite:t:`bell2021chemicals`, identifiers of everything that is one compound.

    Examples
    --------
    >>> "fermentable sugar" in bulk_markers()
    True
    """
    path = files("middlecut.liquid") / "tables" / "bulk_markers.csv"
    rows = csv.DictReader(path.read_text(encoding="utf-8").splitlines())
    return MappingProxyType({row["marker"]: row["what"] for row in rows})
