# SPDX-License-Identifier: MIT
"""Old shapes of events become the newest: one small function for each step, for ever.

The table says how the payload of (name, schema) becomes that of the next schema. Functions take a
copy and return what belongs in the next shape; they never look at the clock or at other events.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from middlecut.errors import StoreError

__all__ = ["UPCASTERS", "Payload", "Upcaster", "upcast"]

Payload = dict[str, object]
Upcaster = Callable[[Payload], Payload]


def _tasting_2(payload: Payload) -> Payload:
    """Shape 2 names the taster and gives each descriptor its intensity; shape 1 has neither."""
    given = payload.get("phases")
    phases = given if isinstance(given, list) else []
    return {
        **payload,
        "taster": "",
        "phases": [
            {**one, "intensities": [], "text": ""} if isinstance(one, dict) else one
            for one in phases
        ],
    }


def _corrected_2(payload: Payload) -> Payload:
    """Shape 2 may move a reading in time; shape 1 left it where it was."""
    return {**payload, "later": 0.0}


def _wood_2(payload: Payload) -> Payload:
    """Shape 2 may have the strength of the sample; shape 1 has none."""
    return {**payload, "strength": None}


UPCASTERS: Mapping[tuple[str, int], Upcaster] = MappingProxyType(
    {
        ("tasting.made", 1): _tasting_2,
        ("reading.corrected", 1): _corrected_2,
        ("wood.sampled", 1): _wood_2,
    }
)
"""Every step there has been."""


def upcast(
    name: str,
    schema: int,
    payload: Mapping[str, object],
    newest: int,
    upcasters: Mapping[tuple[str, int], Upcaster] = UPCASTERS,
) -> Payload:
    """Bring a payload from the shape it was written in to the newest.

    Parameters
    ----------
    name : str
        Stable name of the event.
    schema : int
        Version it was written in.
    payload : mapping
    newest : int
        Version wanted.
    upcasters : mapping
        How (name, schema) becomes the next schema.

    Returns
    -------
    payload : dict
        A new one; the given one is left alone.

    Raises
    ------
    StoreError
        If it was written by a newer release, or a step of the way is missing.
    """
    if not 1 <= schema <= newest:
        raise StoreError(
            f"The record holds an event {name!r} of shape {schema}; this middlecut knows shapes 1 "
            f"to {newest}. It was written by a newer release: use that one or a newer."
        )
    current = dict(payload)
    for version in range(schema, newest):
        step = upcasters.get((name, version))
        if step is None:
            raise StoreError(f"middlecut does not know how {name!r} went from shape {version} on.")
        current = step(current)
    return current
