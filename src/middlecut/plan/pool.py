# SPDX-License-Identifier: MIT
"""The lots at hand while a plan is walked: what was made, what was taken, what is left."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from difflib import get_close_matches

from middlecut.errors import InputError
from middlecut.steps.lot import Lot
from middlecut.steps.parameters import Take

__all__ = ["RESERVED_NAMES", "Pool"]

RESERVED_NAMES = frozenset(
    {
        "CO2",
        "added water",
        "blown off with CO2",
        "converted by yeast",
        "given off",
        "held in the still",
        "lees",
        "liquid kept in spent solids",
        "lost in filling",
        "made by yeast",
        "spent solids",
        "turned into ethanol",
        "wort",
        "yeast",
    }
)
"""Names of sources and losses in the accounts, which no lot may bear."""

_ALL = 1e-9  # asking for so little more than is left, relative, means all of it


class Pool:
    """Lots by name; taking from one leaves less of it.

    Parameters
    ----------
    lots : iterable of Lot
        What is there at the start.
    lenient : bool
        Whether a step that asks for more than is left gets what there is; how much was missing is
        kept in ``shortfalls``. What a person does when a cut came out smaller than planned.
    """

    def __init__(self, lots: Iterable[Lot], *, lenient: bool = False) -> None:
        self.lenient = lenient
        self.shortfalls: dict[str, float] = {}
        self._left: dict[str, Lot] = {}
        self._made: dict[str, Lot] = {}
        for lot in lots:
            self.add(lot)

    @property
    def made(self) -> Mapping[str, Lot]:
        """Every lot as it was made, by name."""
        return dict(self._made)

    @property
    def left(self) -> Mapping[str, Lot]:
        """What remains of each lot, those used up left out."""
        return {name: lot for name, lot in self._left.items() if lot.mass > 0.0}

    def copy(self) -> Pool:
        """Return a pool of the same lots, to try something on."""
        twin = Pool((), lenient=self.lenient)
        twin.shortfalls = dict(self.shortfalls)
        twin._left, twin._made = dict(self._left), dict(self._made)
        return twin

    def add(self, lot: Lot) -> None:
        """Add a lot just made.

        Parameters
        ----------
        lot : Lot
            Its name must be new.

        Raises
        ------
        InputError
            If a lot of that name exists, or the accounts need the name.
        """
        if lot.name in RESERVED_NAMES:
            raise InputError(
                "into",
                lot.name,
                "the accounts use that name for a source or a loss",
                f"Call it something else, such as {lot.name + ' lot'!r}.",
            )
        if lot.name in self._made:
            raise InputError(
                "into", lot.name, "a lot of that name exists already", "Choose another name."
            )
        self._made[lot.name] = lot
        self._left[lot.name] = lot

    def take(self, take: Take) -> Lot:
        """Take from a lot.

        Parameters
        ----------
        take : Take
            Which lot, and how much of what is left of it.

        Returns
        -------
        Lot
            The part taken, under the lot's name.

        Raises
        ------
        InputError
            If the lot does not exist, is used up, or holds less than is asked for.
        """
        lot = self._find(take.lot)
        fraction = self._fraction(take, lot)
        part = lot.part(fraction) if fraction < 1.0 else lot
        self._left[take.lot] = lot.part(1.0 - fraction) if fraction < 1.0 else _empty(lot)
        return part

    def _find(self, name: str) -> Lot:
        if name not in self._left:
            near = get_close_matches(name, list(self._left), n=2)
            known = " or ".join(repr(word) for word in near or list(self._left)[:3])
            remedy = f"Name a lot that has been made by then, such as {known}." if known else ""
            raise InputError("from", name, "no lot of that name has been made so far", remedy)
        return self._left[name]

    def _fraction(self, take: Take, lot: Lot) -> float:
        volume = lot.volume
        if lot.mass <= 0.0:
            raise InputError(
                "from",
                take.lot,
                "nothing is left of that lot; an earlier step took all of it",
                "Take less of it earlier, or take from another lot.",
            )
        if take.fraction is not None:
            if not 0.0 < take.fraction <= 1.0:
                raise InputError("from", take.fraction, "a share lies between 0 and 100 %")
            return take.fraction
        if take.volume is None:
            return 1.0
        if self.lenient and take.volume > volume * (1.0 + _ALL):
            missing = 1.0 - volume / take.volume
            self.shortfalls[take.lot] = max(missing, self.shortfalls.get(take.lot, 0.0))
            return 1.0
        if not 0.0 < take.volume <= volume * (1.0 + _ALL):
            raise InputError(
                "from",
                f"{take.volume * 1e3:.4g} L of {take.lot}",
                f"only {volume * 1e3:.4g} L of that lot is left by then",
                f"Take at most {volume * 1e3 * (1.0 - 5e-5):.4g} L, or make more of it.",
            )
        return 1.0 if take.volume >= volume * (1.0 - _ALL) else take.volume / volume


def _empty(lot: Lot) -> Lot:
    """Return what is left of a lot that was used up."""
    return Lot(lot.name, water=0.0, ethanol=0.0, temperature=lot.temperature)
