# SPDX-License-Identifier: MIT
"""Where in a plan a key stands that somebody named without its section, or by other words."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from difflib import SequenceMatcher, get_close_matches
from typing import TYPE_CHECKING, Any

from middlecut.plan.model import Plan

if TYPE_CHECKING:
    from pydantic import BaseModel

__all__ = ["full_place", "near_places", "places_for"]

_TABLES = ("batch", "still", "ingredient", "lot", "step")
_LIKE = 0.75
"""How much alike a key has to be to be taken for a slip of the pen."""
_SHOWN = 2


def places_for(plan: Plan, word: str) -> tuple[str, ...]:
    """Return the full places of a plan that end in a key, or in the key nearest to it.

    Parameters
    ----------
    plan : Plan
        Whose sections, stills and steps count.
    word : str
        A key without its section, such as "altitude".

    Returns
    -------
    tuple of str
        In the order of the file; empty when nothing looks like it.
    """
    places = tuple(_places(plan))
    keys = [place.rsplit(".", 1)[1] for place in places]
    near = get_close_matches(word.casefold(), keys, n=1, cutoff=_LIKE)
    wanted = word if word in keys else next(iter(near), "")
    return tuple(place for place, key in zip(places, keys, strict=True) if key == wanted)


def full_place(plan: Plan, key: str) -> str:
    """Return the place with its section, and a cut by its number where its lot was named.

    Parameters
    ----------
    plan : Plan
        Made from text.
    key : str
        Such as "spirit.power", "shed.head_loss" for a still, or "spirit.hearts.until".

    Returns
    -------
    str
        As :func:`middlecut.plan.write.set_value` takes it; what fits nothing stays as it is.
    """
    document = tomllib.loads(plan.text)
    first = _first(key)
    if first not in _TABLES:
        sections = [name for name in _TABLES if first in _names(document, name)]
        if len(sections) != 1:
            return key
        key = f"{sections[0]}.{key}"
    for place, spoken in _cuts(document):
        if key.startswith(f"{spoken}."):
            return f"{place}{key[len(spoken) :]}"
    return key


def near_places(plan: Plan, key: str) -> tuple[str, ...]:
    """Return the places of a plan that look most like one that is not there.

    Parameters
    ----------
    plan : Plan
        Made from text.
    key : str

    Returns
    -------
    tuple of str
        At most two, nearest first, as they can be set; empty when nothing looks like it.
    """
    found: list[tuple[float, str]] = []
    wanted = key.removeprefix("step.")
    last = wanted.rsplit(".", 1)[-1]
    for place, spoken in _spoken(plan):
        if not get_close_matches(last, [spoken.rsplit(".", 1)[-1]], cutoff=_LIKE):
            continue
        alike = max(
            SequenceMatcher(None, wanted, one.removeprefix("step.")).ratio()
            for one in (place, spoken)
        )
        found.append((-alike, place.removeprefix("step.")))
    return tuple(place for alike, place in sorted(found)[:_SHOWN] if alike <= -0.6)


def _spoken(plan: Plan) -> Iterator[tuple[str, str]]:
    """Give every place of a plan, with the words a person may have for it."""
    yield from ((place, place) for place in _places(plan))
    from middlecut.plan.schema import CutTable  # noqa: PLC0415 - only for a misplaced key

    for place, spoken in _cuts(tomllib.loads(plan.text)):
        for name, field in CutTable.model_fields.items():
            word = field.alias or name
            yield f"{place}.{word}", f"{spoken}.{word}"


def _cuts(document: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Give the place of each cut by its number and by the lot it fills."""
    steps = document.get("step", ())
    for step in steps if isinstance(steps, list) else ():
        for number, cut in enumerate(step.get("cuts", ())):
            place = f"step.{step.get('id')}"
            lot = str(cut.get("into", "")) if isinstance(cut, Mapping) else ""
            for word in (lot, f'"{lot}"') if lot else ():
                yield f"{place}.cuts[{number}]", f"{place}.{word}"
                yield f"{place}.cuts[{number}]", f"{place}.cuts.{word}"


def _first(key: str) -> str:
    return key[1:].partition('"')[0] if key.startswith('"') else key.partition(".")[0]


def _names(document: Mapping[str, Any], section: str) -> set[str]:
    """Return the names in a section; the ids of the steps."""
    table = document.get(section, ())
    if isinstance(table, list):
        return {str(row.get("id")) for row in table if isinstance(row, Mapping)}
    return set(table) if section in {"still", "ingredient", "lot"} else set()


def _places(plan: Plan) -> Iterator[str]:
    from middlecut.plan.schema import (  # noqa: PLC0415 - pydantic, only for a misplaced key
        KINDS,
        BatchTable,
        LotTable,
        StillTable,
    )

    tables: list[tuple[str, type[BaseModel]]] = [("batch", BatchTable)]
    tables += [(f"still.{_word(name)}", StillTable) for name in plan.stills]
    tables += [(f"lot.{_word(lot.name)}", LotTable) for lot in plan.given]
    tables += [(f"step.{step.id}", KINDS[step.kind]) for step in plan.steps]
    for place, table in tables:
        for name, field in table.model_fields.items():
            yield f"{place}.{field.alias or name}"


def _word(name: str) -> str:
    return name if name.replace("-", "").replace("_", "").isalnum() else f'"{name}"'
