# SPDX-License-Identifier: MIT
"""What boils in a run, origin by origin: compounds in the charge and in botanicals beside it."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

import numpy as np

from middlecut.errors import NotFoundError
from middlecut.liquid import volatility
from middlecut.steps.lot import Amount, Lot
from middlecut.steps.mixing import weakest

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["Columns", "StillSource", "gather_columns"]


@dataclass(frozen=True, slots=True)
class StillSource:
    """One compound of a botanical in the boiler or in the vapour basket.

    Parameters
    ----------
    ingredient : str
        Name of the ingredient, for the account.
    compound : str
        Name of the compound.
    amount : Amount
        All of it that the ingredient holds. [kg]
    accessible : float
        Share of it that can be released at all, 0 to 1.
    release : float
        First-order rate of release at the boil. [s⁻¹]
    entry_point : {"charge", "basket"}
    """

    ingredient: str
    compound: str
    amount: Amount
    accessible: float
    release: float
    entry_point: Literal["charge", "basket"]


@dataclass(frozen=True, slots=True, eq=False)
class Columns:
    """The linear problems of a run: one column per compound of the charge and per source.

    Parameters
    ----------
    compounds : tuple of str
        Compound of each column; a name may come more than once.
    amounts : tuple of Amount
        What the shares of a column are shares of. [kg]
    origins : tuple of (str or None)
        Ingredient a column comes from; None for the charge.
    accessible, release : tuple of float
        Of the sources; 0 for the charge.
    entry_points : tuple of str
        "charge" or "basket".
    staying : tuple of str
        Compounds of the charge without a volatility: they stay in the boiler.
    staying_sources : tuple of StillSource
        The same of the sources.
    """

    compounds: tuple[str, ...]
    amounts: tuple[Amount, ...]
    origins: tuple[str | None, ...]
    accessible: tuple[float, ...]
    release: tuple[float, ...]
    entry_points: tuple[str, ...]
    staying: tuple[str, ...]
    staying_sources: tuple[StillSource, ...]

    names: tuple[str, ...] = field(init=False)
    """Each boiling compound once, in the order of the columns."""
    _masses: Array = field(init=False)
    _order: NDArray[np.intp] | None = field(init=False)
    _firsts: NDArray[np.intp] = field(init=False)
    _bases: tuple[str, ...] = field(init=False)

    def __post_init__(self) -> None:
        masses = np.array([(one.typical, one.low, one.high) for one in self.amounts])
        order, firsts, names = _grouping(self.compounds)
        found: dict[str, list[str]] = {}
        for compound, amount in zip(self.compounds, self.amounts, strict=True):
            found.setdefault(compound, []).append(amount.basis)
        bases = tuple(one[0] if len(one) == 1 else weakest(*one) for one in found.values())
        for name, value in (
            ("names", names),
            ("_masses", np.ascontiguousarray(masses.reshape(-1, 3).T)),
            ("_order", order),
            ("_firsts", firsts),
            ("_bases", bases),
        ):
            object.__setattr__(self, name, value)

    def weigh(self, shares: Array) -> Array:
        """Return the typical mass of each name that these shares of the columns make up. [kg].

        Parameters
        ----------
        shares : ndarray, shape (..., columns)

        Returns
        -------
        ndarray, shape (..., names)
            In the order of ``names``.
        """
        # No matrix product: this is too small for several threads of a linear-algebra library.
        return self._sum(np.asarray(shares * self._masses[0]))

    def collect(self, shares: Array) -> dict[str, Amount]:
        """Return the amounts that these shares of the columns make up, by compound.

        Parameters
        ----------
        shares : ndarray, shape (columns,)

        Returns
        -------
        dict of str to Amount
        """
        rows = self._sum(self._masses * shares).tolist()
        return {
            name: Amount(typical, low, high, basis)
            for name, typical, low, high, basis in zip(self.names, *rows, self._bases, strict=True)
        }

    def _sum(self, masses: Array) -> Array:
        """Add up the columns of one name."""
        if self._order is None:
            return masses
        return np.add.reduceat(masses[..., self._order], self._firsts, axis=-1)


@lru_cache(maxsize=64)
def _grouping(
    compounds: tuple[str, ...],
) -> tuple[NDArray[np.intp] | None, NDArray[np.intp], tuple[str, ...]]:
    """Return the order that brings columns of a name together, where each name starts, names.

    The order is None when no name comes twice.
    """
    names = tuple(dict.fromkeys(compounds))
    places = {name: place for place, name in enumerate(names)}
    where = np.array([places[name] for name in compounds], dtype=np.intp)
    if len(names) == len(compounds):
        return None, where, names
    order = np.argsort(where, kind="stable")
    return order, np.searchsorted(where[order], np.arange(len(names))), names


def gather_columns(charge: Lot, sources: tuple[StillSource, ...]) -> Columns:
    """Sort what the charge and the sources hold into columns and into what cannot boil.

    Parameters
    ----------
    charge : Lot
        What is in the boiler.
    sources : tuple of StillSource
        Botanicals in the boiler or the basket.

    Returns
    -------
    Columns
        Compounds of the charge first, then the sources.
    """
    known = {name: _boils(name) for name in charge.amounts}
    known.update({source.compound: _boils(source.compound) for source in sources})
    boiling = tuple(name for name in charge.amounts if known[name])
    live = tuple(source for source in sources if known[source.compound])
    count = len(boiling)
    return Columns(
        compounds=(*boiling, *(source.compound for source in live)),
        amounts=(
            *(charge.amounts[name] for name in boiling),
            *(source.amount for source in live),
        ),
        origins=(*(None,) * count, *(source.ingredient for source in live)),
        accessible=(*(0.0,) * count, *(source.accessible for source in live)),
        release=(*(0.0,) * count, *(source.release for source in live)),
        entry_points=(*("charge",) * count, *(source.entry_point for source in live)),
        staying=tuple(name for name in charge.amounts if not known[name]),
        staying_sources=tuple(source for source in sources if not known[source.compound]),
    )


@lru_cache(maxsize=1024)
def _boils(name: str) -> bool:
    try:
        volatility.grade(name)
    except NotFoundError:
        return False
    return True
