# SPDX-License-Identifier: MIT
"""What boils in a run, origin by origin: compounds in the charge and in botanicals beside it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

import numpy as np

from middlecut.errors import NotFoundError
from middlecut.liquid import volatility
from middlecut.steps.lot import Amount, Lot

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


@dataclass(frozen=True, slots=True)
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

    @property
    def names(self) -> tuple[str, ...]:
        """Each boiling compound once, in the order of the columns."""
        return tuple(dict.fromkeys(self.compounds))

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
        masses = np.asarray(shares * np.array([amount.typical for amount in self.amounts]))
        places: dict[str, int] = {}
        for name in self.compounds:
            places.setdefault(name, len(places))
        if len(places) == len(self.compounds):
            return masses
        found = np.zeros((*masses.shape[:-1], len(places)))
        for column, name in enumerate(self.compounds):
            found[..., places[name]] += masses[..., column]
        return found

    def collect(self, shares: Array, *, origin: str | None = "") -> dict[str, Amount]:
        """Return the amounts that these shares of the columns make up, by compound.

        Parameters
        ----------
        shares : ndarray, shape (columns,)
        origin : str or None
            Only the columns of this ingredient (None: of the charge); "" for all.

        Returns
        -------
        dict of str to Amount
        """
        total: dict[str, Amount] = {}
        rows = zip(self.compounds, self.amounts, self.origins, shares.tolist(), strict=True)
        for compound, amount, place, share in rows:
            if origin not in ("", place):
                continue
            part = amount.scaled(share)
            before = total.get(compound)
            total[compound] = part if before is None else before.plus(part)
        return total


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
