# SPDX-License-Identifier: MIT
"""What the source keys of the flavour tables stand for, and how each source was read."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

__all__ = ["FlavourSource", "flavour_sources"]


@dataclass(frozen=True, slots=True)
class FlavourSource:
    """One source of the flavour tables.

    Parameters
    ----------
    key : str
        As in the columns of the tables.
    status : str
        How it was read: ``read``, ``read-abstract``, ``read-part``, ``computed``, ``memory``
        (recalled, not opened) or ``common practice``.
    citation : str
        Which work it is.
    """

    key: str
    status: str
    citation: str


@lru_cache(maxsize=1)
def _table() -> dict[str, FlavourSource]:
    path = files("middlecut.liquid") / "tables" / "flavour_sources.csv"
    rows = csv.DictReader(path.read_text(encoding="utf-8").splitlines())
    return {row["key"]: FlavourSource(row["key"], row["status"], row["citation"]) for row in rows}


def flavour_sources(keys: str = "") -> tuple[FlavourSource, ...]:
    """Return the sources that a cell of a flavour table names.

    Parameters
    ----------
    keys : str
        Keys separated by semicolons, as they stand in a column ``source``; "" for all sources.

    Returns
    -------
    sources : tuple of FlavourSource
        In the order named. Words that are no key (``estimate``, the name of a table) are left out.

    Notes
    -----
    A key that begins with ``M_`` is always memory, however good the work it names.

    References
    ----------
    .. [1] :cite:t:`belitz2009`, for instance, is BG386.

    Examples
    --------
    >>> [(source.key, source.status) for source in flavour_sources("BG386;M_LEFF")]
    [('BG386', 'read'), ('M_LEFF', 'memory')]
    """
    if not keys:
        return tuple(_table().values())
    words = (part.split(" ")[0] for part in re.split(r";\s*", keys.strip()))
    return tuple(_table()[word] for word in words if word in _table())
