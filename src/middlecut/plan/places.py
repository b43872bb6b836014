# SPDX-License-Identifier: MIT
"""Where in a plan a key stands that somebody named without its section."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from middlecut.plan.model import Plan
from middlecut.plan.problems import nearest

if TYPE_CHECKING:
    from pydantic import BaseModel

__all__ = ["places_for"]


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
    wanted = word if word in keys else nearest(word, keys)
    return tuple(place for place, key in zip(places, keys, strict=True) if key == wanted)


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
