# SPDX-License-Identifier: MIT
"""Read the tables about ingredients, and name their compounds as the table of compounds does."""

from __future__ import annotations

import csv
from importlib.resources import files

from middlecut.errors import NotFoundError
from middlecut.liquid import compounds

__all__ = ["compound_name", "table_rows"]


def table_rows(table: str) -> list[dict[str, str]]:
    """Return the rows of a table.

    Parameters
    ----------
    table : str
        Its name, without an ending.

    Returns
    -------
    rows : list of dict
        By column.
    """
    path = files("middlecut.liquid") / "tables" / f"{table}.csv"
    return list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))


def compound_name(*keys: str) -> str:
    """Return the table name of a compound, or the last key where the table does not hold it.

    Parameters
    ----------
    *keys : str
        CAS number, name; tried in order, empty ones skipped.

    Returns
    -------
    name : str
        Of the first that is found.

    Notes
    -----
    A name that is not in the table is carried along, but never boils.

    References
    ----------
    .. [1] :cite:t:`bell2021chemicals`, identifiers.

    Examples
    --------
    >>> compound_name("121-33-5", "vanilla")
    'vanillin'
    """
    for key in keys:
        if key:
            try:
                return compounds.find(key).name
            except NotFoundError:
                continue
    return keys[-1]
