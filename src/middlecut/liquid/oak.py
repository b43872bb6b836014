# SPDX-License-Identifier: MIT
"""What oak gives to spirit: content by species and treatment, and how much of it arrives when.

Nearly every number here is memory or an estimate, and every result says so.
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

import numpy as np

from middlecut.errors import NotFoundError
from middlecut.liquid.oak_pieces import wood_form
from middlecut.liquid.oak_rates import extracted_share
from middlecut.liquid.ranges import Number, as_given, within

__all__ = [
    "OTHER_EXTRACT",
    "SPECIES",
    "TREATMENTS",
    "OakYield",
    "oak_content",
    "oak_yields",
    "remaining_after_fills",
    "strength_factor",
]

SPECIES = ("american oak", "european oak", "sessile oak", "pedunculate oak")
"""White American oak (Quercus alba), sessile and pedunculate oak (Q. petraea, Q. robur) and a
European mixture of the two."""

TREATMENTS = (
    "untoasted",
    "light toast",
    "medium toast",
    "heavy toast",
    "light char",
    "heavy char",
)
"""How the wood met fire, mildest first; toasted below flaming, charred by flame."""

OTHER_EXTRACT = "other extract"
"""The row for everything that dissolves and is not tracked by name."""


@dataclass(frozen=True, slots=True)
class OakYield:
    """How much of one compound comes for each kilogram of wood that takes part.

    Parameters
    ----------
    compound : str
        Name of the table of compounds, or ``OTHER_EXTRACT``.
    low, typical, high : float
        [kg kg⁻¹]
    basis : str
        "memory" or "estimate".
    """

    compound: str
    low: float
    typical: float
    high: float
    basis: str


def _rows(name: str) -> list[dict[str, str]]:
    path = files("middlecut.liquid") / "tables" / f"{name}.csv"
    return list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))


@lru_cache(maxsize=1)
def _content() -> dict[str, tuple[OakYield, ...]]:
    found: dict[str, list[OakYield]] = {}
    for row in _rows("oak_content"):
        low, typical, high = (float(row[key]) * 1e-6 for key in ("low", "typical", "high"))
        found.setdefault(row["treatment"], []).append(
            OakYield(row["compound"], low, typical, high, row["basis"])
        )
    return {treatment: tuple(rows) for treatment, rows in found.items()}


@lru_cache(maxsize=1)
def _species() -> dict[tuple[str, str], float]:
    return {(row["species"], row["compound"]): float(row["factor"]) for row in _rows("oak_species")}


@lru_cache(maxsize=1)
def _strengths() -> dict[str, tuple[float, float]]:
    return {
        row["compound"]: (float(row["best_strength"]), float(row["width"]))
        for row in _rows("oak_strength")
    }


@lru_cache(maxsize=1)
def _fills() -> tuple[tuple[float, float, float], ...]:
    return tuple(
        (float(row["low"]), float(row["typical"]), float(row["high"])) for row in _rows("oak_fills")
    )


def oak_content(species: str, treatment: str) -> tuple[OakYield, ...]:
    """Return all that a first fill can take out of oak.

    Parameters
    ----------
    species : str
        ``american oak``, ``european oak``, ``sessile oak`` or ``pedunculate oak``.
    treatment : str
        ``untoasted``, ``light toast``, ``medium toast``, ``heavy toast``, ``light char`` or
        ``heavy char``.

    Returns
    -------
    content : tuple of OakYield
        One a compound, and one for other extract.

    Raises
    ------
    NotFoundError
        If there is no such species or treatment; it carries the names there are.

    Notes
    -----
    Contents are memory (medium toast, heavy char) or estimates; the factors between species are
    estimates whose direction was read in an abstract. Seasoning, grain and forest move them as
    much as the species. Oils, sugars and wood of other trees are left out.

    References
    ----------
    .. [1] :cite:t:`prida2006`, species and origin, abstract.
    .. [2] :cite:t:`cadahia2003`, toasting, abstract.

    Examples
    --------
    Pedunculate oak holds several times the tannin of American oak, as is told from memory:

    >>> def tannin(species):
    ...     rows = oak_content(species, "medium toast")
    ...     return next(row.typical for row in rows if row.compound == "vescalagin")
    >>> round(tannin("pedunculate oak") / tannin("american oak"), 1)
    5.0
    """
    if species not in SPECIES:
        raise NotFoundError("species of wood", species, SPECIES)
    if treatment not in TREATMENTS:
        raise NotFoundError("treatment of wood", treatment, TREATMENTS)
    found = []
    for row in _content()[treatment]:
        factor = _species().get((species, row.compound))
        found.append(
            row
            if factor is None
            else OakYield(
                row.compound, row.low * factor, row.typical * factor, row.high * factor, "estimate"
            )
        )
    return tuple(found)


def strength_factor(compound: str, strength: Number) -> Number:
    """Return how much of a compound comes at a strength, over that at its best strength.

    Parameters
    ----------
    compound : str
        A compound that oak gives, or ``OTHER_EXTRACT``.
    strength : float or ndarray
        Fraction by volume at 20 °C. Valid 0 to 1.

    Returns
    -------
    factor : float or ndarray
        A ratio, 0 to 1.

    Raises
    ------
    OutOfRangeError
        If the strength is outside 0 to 1.
    NotFoundError
        If oak gives no such compound.

    Notes
    -----
    A bell curve of our own; that vanillin comes best at 55 to 60 % vol is memory, all else an
    estimate.

    References
    ----------
    .. [1] :cite:t:`kadim1999`, for the mechanism only.

    Examples
    --------
    >>> strength_factor("vanillin", 0.575)
    1.0
    """
    value = within("strength", strength, 0.0, 1.0, source="a fraction by volume")
    try:
        best, width = _strengths()[compound]
    except KeyError:
        raise NotFoundError("compound of oak", compound, tuple(_strengths())) from None
    return as_given(np.exp(-0.5 * ((value - best) / width) ** 2))  # type: ignore[no-any-return]


def remaining_after_fills(earlier_fills: int) -> tuple[float, float, float]:
    """Return what wood still gives after it has been filled before.

    Parameters
    ----------
    earlier_fills : int
        Number of fills before this one; 3 stands for 3 and more. Valid 0 to 20.

    Returns
    -------
    share : tuple of float
        Low, typical and high, as a share of the first fill.

    Raises
    ------
    OutOfRangeError
        If the number is negative or beyond 20.

    Notes
    -----
    Memory for one and two earlier fills, an estimate beyond. How long they lasted is left out;
    wine, whose third fill was found to give at a steady rate, behaves differently.

    References
    ----------
    .. [1] :cite:t:`rous1983`, repeated fills with wine, abstract.

    Examples
    --------
    >>> remaining_after_fills(1)
    (0.4, 0.45, 0.5)
    """
    within("earlier_fills", earlier_fills, 0, 20, source="fills of one vessel")
    rows = _fills()
    return rows[min(int(earlier_fills), len(rows) - 1)]


def oak_yields(
    species: str,
    treatment: str,
    *,
    form: str,
    duration: float,
    temperature: float,
    strength: float,
    earlier_fills: int = 0,
) -> tuple[OakYield, ...]:
    """Return what spirit takes out of each kilogram of wood that takes part.

    Content by species and treatment, times what earlier fills left, times the share that has come
    out by then, times the factor for strength.

    Parameters
    ----------
    species, treatment : str
        As for :func:`oak_content`.
    form : str
        As for :func:`middlecut.liquid.oak_rates.extracted_share`.
    duration : float
        Time on the wood. [s]
    temperature : float
        [K] Valid 263.15 to 313.15.
    strength : float
        Of the spirit on the wood, as a fraction by volume at 20 °C.
    earlier_fills : int
        Number of fills before this one.

    Returns
    -------
    yields : tuple of OakYield
        One a compound, and one for other extract.

    Notes
    -----
    The three ranges are taken as independent: their logarithms add as squares. A limit by
    solubility or by a balance between wood and spirit is left out, so twice the wood gives twice
    the extract.

    References
    ----------
    .. [1] :cite:t:`prida2006`; :cite:t:`cadahia2003`; :cite:t:`kadim1999`, abstracts.

    Examples
    --------
    Four years in a new charred cask of 200 L (90.5 cm²/L) leave about as much vanillin as the
    2.1 mg/L read for a bourbon:

    >>> rows = oak_yields("american oak", "heavy char", form="cask", duration=4 * 3.156e7,
    ...                   temperature=293.15, strength=0.60)
    >>> vanillin = next(row for row in rows if row.compound == "vanillin")
    >>> round(vanillin.typical * 1.95 * 9.05 * 1e3, 1)  # mg/L
    2.4
    """
    content = oak_content(species, treatment)
    fills = remaining_after_fills(earlier_fills)
    shares = tuple(
        extracted_share(form, duration, temperature, rate=rate)
        for rate in ("low", "typical", "high")
    )
    kinetics = wood_form(form).basis
    found = []
    for row in content:
        factor = strength_factor(row.compound, strength)
        middle = row.typical * fills[1] * shares[1] * factor
        down, up = (
            _spread(
                (row.typical, (row.low, row.high)[end]),
                (fills[1], fills[2 * end]),
                (shares[1], shares[2 * end]),
            )
            for end in (0, 1)
        )
        known = kinetics == row.basis == "memory" and row.compound == "vanillin"
        basis = "memory" if known and earlier_fills < 3 else "estimate"
        found.append(OakYield(row.compound, middle / down, middle, middle * up, basis))
    return tuple(found)


def _spread(*pairs: tuple[float, float]) -> float:
    """Return the factor between typical and one end when every part varies on its own."""
    logs = [math.log(end / typical) for typical, end in pairs if typical > 0.0 and end > 0.0]
    return math.exp(math.sqrt(sum(part * part for part in logs)))
