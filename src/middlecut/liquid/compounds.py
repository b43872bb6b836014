# SPDX-License-Identifier: MIT
"""Who the dilute compounds are: names, CAS numbers, molar mass, boiling point, odour."""

from __future__ import annotations

import csv
import difflib
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

from middlecut.errors import NotFoundError

__all__ = ["Compound", "find", "names"]

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
    boiling_point : float
        At 101.325 kPa. [K]
    basis : str
        Of the boiling point: ``library`` (a compilation) or ``memory`` (recalled, not looked up).
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
    """

    name: str
    cas: str
    formula: str
    molar_mass: float
    boiling_point: float
    basis: str
    log_p: float
    log_p_basis: str
    descriptor: str
    synonyms: tuple[str, ...]
    other_cas: str


def _key(text: str) -> str:
    return " ".join(text.translate(_GREEK).casefold().split())


def _read(row: dict[str, str]) -> Compound:
    return Compound(
        name=row["name"],
        cas=row["cas"],
        formula=row["formula"],
        molar_mass=float(row["molar_mass"]),
        boiling_point=float(row["boiling_point"]),
        basis=row["boiling_point_basis"],
        log_p=float(row["log_p"]),
        log_p_basis=row["log_p_basis"],
        descriptor=row["descriptor"],
        synonyms=tuple(part for part in row["synonyms"].split("|") if part),
        other_cas=row["other_cas"],
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
    close = difflib.get_close_matches(key, by_key, n=6, cutoff=0.6)
    near = tuple(dict.fromkeys(by_key[item].name for item in close))[:3]
    raise NotFoundError("compound", name_or_cas, near)


def names() -> tuple[str, ...]:
    """Return the names of all compounds, in alphabetical order.

    Returns
    -------
    names : tuple of str
        Each can be given to :func:`find`.

    Notes
    -----
    Ethanol and water are no dilute compounds and do not stand here; neither do solids that never
    distil.

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
