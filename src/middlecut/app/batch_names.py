# SPDX-License-Identifier: MIT
"""Names that tell batches apart: the same plan begun twice makes two names."""

from __future__ import annotations

import re

from middlecut.app.batch import Batch
from middlecut.app.record import Record
from middlecut.app.states import batch_stream

__all__ = ["free_name", "names_in_use"]

_NUMBERED = re.compile(r"(?P<bare>.*\S)\s+\((?P<number>[2-9]|[1-9][0-9]{1,3})\)", re.DOTALL)
"""A name that was numbered before."""


def names_in_use(record: Record) -> frozenset[str]:
    """Return the name of every batch, as people tell names apart."""
    prefix = batch_stream("")
    found = (record.batch(one.removeprefix(prefix)) for one in record.store.streams("batch"))
    return frozenset(_key(state) for state in found)


def free_name(record: Record, wanted: str) -> str:
    """Return a name that no batch bears: the wanted one, else with the first free number.

    Parameters
    ----------
    record : Record
    wanted : str

    Returns
    -------
    name : str
        Such as "Rye, batch 1 (2)".
    """
    wanted = wanted.strip()
    taken = names_in_use(record)
    if wanted.casefold() not in taken:
        return wanted
    numbered = _NUMBERED.fullmatch(wanted)
    bare = numbered["bare"] if numbered else wanted
    number = 2
    while f"{bare} ({number})".casefold() in taken:
        number += 1
    return f"{bare} ({number})"


def _key(state: Batch) -> str:
    return state.name.strip().casefold()
