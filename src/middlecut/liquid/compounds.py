# SPDX-License-Identifier: MIT
"""Who the dilute compounds are: names, CAS numbers, molar mass, boiling point, odour.

Most of them distil and have a row in the volatility tables. Some never do (caffeine, tannins,
sugar compounds); they carry the reason and stay in the boiler.
"""

from __future__ import annotations

import csv
import difflib
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from types import MappingProxyType
from typing import TYPE_CHECKING

from middlecut.errors import NotFoundError

if TYPE_CHECKING:
    from collections.abc import Mapping

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


def find(name_or_cas: str) -> Compound:
    """Find a compound by its name, a common synonym or its CAS number.

    Upper and lower case are alike, and so are Greek letters and their names.

    Parameters
    ----------
    name_or_cas : str
        For instance ``isoamyl alcohol``, ``3-methyl-1-butanol`` or ``123-51-3``.

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
    _, by_key = _table()
    key = _key(name_or_cas)
    if (found := by_key.get(key)) is not None:
        return found
    raise NotFoundError("compound", name_or_cas, _nearest(key))


@lru_cache(maxsize=1024)
def _nearest(key: str) -> tuple[str, ...]:
    """Return the names most like a key; kept, because steps ask again and again for some."""
    _, by_key = _table()
    close = difflib.get_close_matches(key, by_key, n=6, cutoff=0.6)
    return tuple(dict.fromkeys(by_key[item].name for item in close))[:3]


def names() -> tuple[str, ...]:
    """Return the names of all compounds, in alphabetical order.

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
    return tuple(by_name)


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
