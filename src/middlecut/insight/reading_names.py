# SPDX-License-Identifier: MIT
"""Names of what is read and marked as people write them, and the names used here."""

from __future__ import annotations

import difflib
import re

from middlecut.errors import InputError
from middlecut.insight.readings import QUANTITIES
from middlecut.insight.run_marks import MARKS
from middlecut.units import dimension_of

__all__ = ["ALSO", "NO_NAME", "every_name", "known_name", "unit_in"]

NO_NAME = "no reading and no mark has that name"
"""How the refusal of an unknown name says so."""
ALSO: dict[str, str] = {
    "abv": "distillate_strength",
    "strength": "distillate_strength",
    "spout strength": "distillate_strength",
    "collected": "collected_volume",
    "volume": "collected_volume",
    "total": "collected_volume",
    "head": "head_temperature",
    "head temp": "head_temperature",
    "vapour temperature": "head_temperature",
    "boiler": "boiler_temperature",
    "boiler temp": "boiler_temperature",
    "pot": "boiler_temperature",
    "pot temperature": "boiler_temperature",
    "kettle": "boiler_temperature",
    "time to first drop": "first_drop_time",
    "sg": "gravity",
    "specific gravity": "gravity",
    "brix": "refraction",
    "first drops": "first-drop",
    "drop": "first-drop",
    "heat on": "power-on",
    "on": "power-on",
    "power off": "heat-off",
    "off": "heat-off",
    "end of": "cut",
    "end of cut": "cut",
}
"""Further names that are understood, and what each is taken as."""
_NAMES_AT = "The names are those of middlecut follow --help."
_BY_WEIGHT = {"collected_volume": "collected_mass"}


def _key(word: str) -> str:
    return re.sub(r"[\s_-]+", " ", word).strip().casefold()


_EVERY = {_key(name): name for name in (*QUANTITIES, *MARKS)}


def known_name(word: str, value: str = "") -> str:
    """Return the name of a quantity or a mark that a word stands for.

    Parameters
    ----------
    word : str
        As it was written.
    value : str
        What stands beside it; a mass makes "collected" a mass.

    Returns
    -------
    str
        A name in :data:`middlecut.insight.readings.QUANTITIES` or a kind of mark.

    Raises
    ------
    InputError
        If nothing has that name; the remedy is the nearest one.

    Examples
    --------
    >>> known_name("first drops")
    'first-drop'
    >>> known_name("collected", "1.2 kg")
    'collected_mass'
    """
    key = _key(word)
    name = _EVERY.get(key) or ALSO.get(key)
    if name is not None and name != word and "mass" in dimension_of(unit_in(value)):
        return _BY_WEIGHT.get(name, name)
    if name is not None:
        return name
    near = difflib.get_close_matches(key, [*_EVERY, *ALSO], n=1, cutoff=0.6)
    remedy = f"Did you mean {_EVERY.get(near[0]) or ALSO[near[0]]}?" if near else _NAMES_AT
    raise InputError("quantity", word, NO_NAME, remedy)


def unit_in(value: str) -> str:
    """Return the unit of a written value.

    Parameters
    ----------
    value : str
        Such as "1.2 kg".

    Returns
    -------
    str
        Empty if there is none.
    """
    return re.sub(r"^[\s+\-−]*[\d.,]*", "", value).strip()


def every_name() -> str:
    """Return the sentence that lists what can be read and marked.

    Returns
    -------
    str
    """
    return f"What can be read: {', '.join(QUANTITIES)}. What can be marked: {', '.join(MARKS)}."
