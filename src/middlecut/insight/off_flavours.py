# SPDX-License-Identifier: MIT
"""Known faults of a spirit: what they smell of, what causes them, what tells, what to change."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

from middlecut.errors import NotFoundError

__all__ = ["Call", "Fault", "fault", "faults", "never_wanted"]


@dataclass(frozen=True, slots=True)
class Call:
    """A test or a kind of change that a fault names, with its limit or target.

    Parameters
    ----------
    name : str
        Of the test or change.
    limit : str
        With its unit, as the table has it; "" for none.
    """

    name: str
    limit: str


@dataclass(frozen=True, slots=True)
class Fault:
    """One row of the table of faults.

    Parameters
    ----------
    name : str
        Our short name.
    words : str
        How the fault is described.
    descriptors : tuple of str
        Words of the vocabulary; the first fits best.
    compounds : tuple of str
        What is responsible, by the names middlecut uses.
    other_compounds : str
        What is responsible and not followed by name.
    cause : str
        What brings it about.
    stage : str
        Where: ``ingredient``, ``fermenter``, ``boiler``, ``tails``, ``storage`` and so on.
    followed : bool
        Whether the prediction carries this cause, so that a low level speaks against it.
    sign : str
        What tells; numbers carry their unit.
    tests, remedies : tuple of Call
        What is looked at in plan and prediction, and which changes are tried.
    advice : str
        What to change, in words.
    source : str
        Keys for :func:`middlecut.liquid.sources.flavour_sources`, or ``own``.
    basis : str
        The weakest of the row: ``read`` to ``common practice``.
    lost : tuple of str
        Compounds that are missed: the fault is that there is too little of them.
    wanted : bool
        Whether what is blamed is wanted in its place, so that only too much of it is a fault.
    danger : str
        What a person has to know before drinking it, or "".
    brought_by : str
        The one ingredient that is blamed, or "" for any.
    """

    name: str
    words: str
    descriptors: tuple[str, ...]
    compounds: tuple[str, ...]
    other_compounds: str
    cause: str
    stage: str
    followed: bool
    sign: str
    tests: tuple[Call, ...]
    remedies: tuple[Call, ...]
    advice: str
    source: str
    basis: str
    lost: tuple[str, ...] = ()
    wanted: bool = False
    danger: str = ""
    brought_by: str = ""

    @property
    def clouds(self) -> bool:
        """Whether it is seen as a haze, so that what dissolves counts, not what is smelled."""
        return any(call.name == "clouding" for call in self.tests)

    def limit_of(self, test: str) -> str:
        """Return the limit the row gives for a test, "" where it does not name it."""
        return next((call.limit for call in self.tests if call.name == test), "")


def _parts(text: str) -> tuple[str, ...]:
    return tuple(part for part in text.split("|") if part)


def _calls(text: str) -> tuple[Call, ...]:
    found = (part.partition(":") for part in _parts(text))
    return tuple(Call(name, limit) for name, _, limit in found)


@lru_cache(maxsize=1)
def faults() -> tuple[Fault, ...]:
    """Return every known fault.

    Returns
    -------
    faults : tuple of Fault
        In the order of the table.

    Notes
    -----
    A list of what is usual; a spirit can go wrong in ways it does not name. Most of the advice is
    common practice.

    References
    ----------
    .. [1] :cite:t:`belitz2009`, for many of the responsible compounds.

    Examples
    --------
    >>> len(faults()) >= 56, faults()[0].compounds
    (True, ('2-isobutyl-3-methoxypyrazine',))
    """
    path = files("middlecut.insight") / "tables" / "off_flavours.csv"
    rows = csv.DictReader(path.read_text(encoding="utf-8").splitlines())
    return tuple(
        Fault(
            name=row["fault"],
            words=row["words"],
            descriptors=_parts(row["descriptors"]),
            compounds=_parts(row["compounds"]),
            other_compounds=row["other_compounds"],
            cause=row["cause"],
            stage=row["stage"],
            followed=row["followed"] == "yes",
            sign=row["sign"],
            tests=_calls(row["tests"]),
            remedies=_calls(row["remedies"]),
            advice=row["advice"],
            source=row["source"],
            basis=row["basis"],
            lost=_parts(row["lost"]),
            wanted=row["wanted"] == "yes",
            danger=row["danger"],
        )
        for row in rows
    )


def fault(name: str) -> Fault:
    """Return one fault by its short name.

    Parameters
    ----------
    name : str
        As in the table.

    Returns
    -------
    fault : Fault

    Raises
    ------
    NotFoundError
        If there is none of that name.

    Examples
    --------
    >>> fault("acetic").descriptors
    ('vinegar', 'sour')
    """
    for one in faults():
        if one.name == name:
            return one
    raise NotFoundError("fault", name, tuple(one.name for one in faults() if name in one.name)[:3])


@lru_cache(maxsize=1)
def never_wanted() -> frozenset[str]:
    """Return the compounds that are blamed wherever they are, not only where there is too much.

    Returns
    -------
    frozenset of str
        Names of compounds that no row names which is a fault of too much alone.

    References
    ----------
    .. [1] :cite:t:`belitz2009`, for many of the responsible compounds.

    Examples
    --------
    >>> "2-isobutyl-3-methoxypyrazine" in never_wanted(), "linalool" in never_wanted()
    (True, False)
    """
    in_their_place = {name for one in faults() if one.wanted for name in one.compounds}
    missed = {name for one in faults() for name in one.lost}
    blamed = {name for one in faults() for name in one.compounds}
    return frozenset(blamed - in_their_place - missed)
