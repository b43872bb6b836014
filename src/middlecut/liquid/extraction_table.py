# SPDX-License-Identifier: MIT
"""The tables behind extraction: rates by tissue and form, what tissue holds back, yeast."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from middlecut.errors import NotFoundError
from middlecut.liquid.ingredient_rows import compound_name, table_rows
from middlecut.liquid.ingredients import Form

__all__ = ["Conversion", "Range", "TissueRate", "bound_share", "classes", "conversion", "tissue"]


@dataclass(frozen=True, slots=True)
class Range:
    """A number with its range.

    Parameters
    ----------
    low, typical, high : float
        In that order of size.
    """

    low: float
    typical: float
    high: float


@dataclass(frozen=True, slots=True)
class TissueRate:
    """How fast one kind of tissue gives up what it holds.

    Parameters
    ----------
    kinetics : str
        Kind of tissue.
    form : {"whole", "coarse", "fine"}
        How far it is broken up.
    rate : Range
        First-order, at the reference temperature and strength. [s⁻¹]
    reference_temperature : float
        [K]
    reference_strength : float
        Fraction by volume at 20 °C.
    strength_slope : float
        Change of the logarithm of the rate per unit of strength.
    stirring_gain : float
        Factor on the rate when stirred all the time.
    activation : Range
        Activation energy. [J mol⁻¹]
    accessible : Range
        Share of the content that the liquid can reach, 0 to 1.
    basis, source : str
        Where the numbers come from.
    """

    kinetics: str
    form: str
    rate: Range
    reference_temperature: float
    reference_strength: float
    strength_slope: float
    stirring_gain: float
    activation: Range
    accessible: Range
    basis: str
    source: str


@dataclass(frozen=True, slots=True)
class Conversion:
    """What yeast does to a compound over a whole fermentation.

    Parameters
    ----------
    compound : str
        What goes.
    product : str
        What comes, or "" where it is not tracked.
    gone : Range
        Share that goes, 0 to 1.
    product_share : float
        Moles of the product per mole gone.
    basis, source, note : str
        Where the numbers come from.
    """

    compound: str
    product: str
    gone: Range
    product_share: float
    basis: str
    source: str
    note: str


def _range(row: dict[str, str], prefix: str, factor: float = 1.0) -> Range:
    low, typical, high = (
        float(row[f"{prefix}{end}"]) * factor for end in ("low", "typical", "high")
    )
    return Range(low, typical, high)


@lru_cache(maxsize=1)
def _tissues() -> dict[tuple[str, str], TissueRate]:
    return {
        (row["kinetics"], row["form"]): TissueRate(
            kinetics=row["kinetics"],
            form=row["form"],
            rate=_range(row, "rate_", 1.0 / 3600.0),
            reference_temperature=float(row["reference_temperature"]) + 273.15,
            reference_strength=float(row["reference_strength"]),
            strength_slope=float(row["strength_slope"]),
            stirring_gain=float(row["stirring_gain"]),
            activation=_range(row, "activation_", 1e3),
            accessible=_range(row, "accessible_"),
            basis=row["basis"],
            source=row["source"],
        )
        for row in table_rows("extraction_kinetics")
    }


def classes() -> tuple[str, ...]:
    """Return the kinds of tissue that have rates.

    Returns
    -------
    classes : tuple of str
        In the order of the table.
    """
    return tuple(dict.fromkeys(kinetics for kinetics, _ in _tissues()))


def tissue(kinetics: str, form: Form) -> TissueRate:
    """Return the rates of one kind of tissue in one form.

    Parameters
    ----------
    kinetics : str
        One of :func:`classes`.
    form : {"whole", "coarse", "fine"}
        How far it is broken up.

    Returns
    -------
    rates : TissueRate
        The row of the table.

    Raises
    ------
    NotFoundError
        If there is no such kind or form.
    """
    try:
        return _tissues()[kinetics, form]
    except KeyError:
        near = tuple(f"{kind}, {form}" for kind, form in _tissues() if kind == kinetics)
        raise NotFoundError("kind of tissue", f"{kinetics}, {form}", near or classes()) from None


@lru_cache(maxsize=1)
def _bound() -> dict[tuple[str, str], tuple[Range, str]]:
    return {
        (row["kinetics"], compound_name(row["compound"])): (
            _range(row, "accessible_"),
            row["basis"],
        )
        for row in table_rows("bound_compounds")
    }


def bound_share(kinetics: str, compound: str) -> tuple[Range, str] | None:
    """Return the share that a tissue lets go of a compound it binds, with its basis.

    Parameters
    ----------
    kinetics : str
        Kind of tissue.
    compound : str
        Name as in the table of compounds.

    Returns
    -------
    share : tuple of Range and str, or None
        None where nothing is known to bind it.
    """
    return _bound().get((kinetics, compound))


@lru_cache(maxsize=1)
def _conversions() -> dict[str, Conversion]:
    found = {}
    for row in table_rows("yeast_conversion"):
        compound = compound_name(row["compound"])
        found[compound] = Conversion(
            compound=compound,
            product=compound_name(row["product"]) if row["product"] else "",
            gone=_range(row, ""),
            product_share=float(row["product_share"]),
            basis=row["basis"],
            source=row["source"],
            note=row["note"],
        )
    return found


def conversion(compound: str) -> Conversion | None:
    """Return what active yeast does to a compound.

    Parameters
    ----------
    compound : str
        Name as in the table of compounds.

    Returns
    -------
    conversion : Conversion or None
        None where nothing is known, which does not mean that nothing happens.
    """
    return _conversions().get(compound)
