# SPDX-License-Identifier: MIT
"""Which keys of a table exclude each other, and which need each other.

This looks at the keys alone, so it holds even while some values cannot be read.
"""

from __future__ import annotations

from collections.abc import Mapping

from middlecut.plan.positions import Path
from middlecut.plan.problems import Problems

__all__ = ["check_presence"]

_ONLY_ONE: Mapping[str, tuple[tuple[str, ...], ...]] = {
    "batch": (("altitude", "pressure"),),
    "still": (("stages", "plates", "packing_height"), ("stage_holdup", "column_holdup")),
    "ferment": (("final_gravity", "attenuation"),),
    "take": (("volume", "fraction", "dose"),),
    "wood": (("dose", "area"),),
}
"""Keys that say the same thing in different ways, by kind of table."""

_AT_LEAST_ONE: Mapping[str, tuple[tuple[tuple[str, ...], str], ...]] = {
    "ferment": (
        (
            ("final_gravity", "attenuation"),
            'Add final_gravity = "1.010 SG", or attenuation = "80 %".',
        ),
    ),
}

_PAIRS: Mapping[str, tuple[tuple[str, str, str, str], ...]] = {
    "still": (
        ("plates", "6", "plate_efficiency", '"60 %"'),
        ("packing_height", '"40 cm"', "hetp", '"12 cm"'),
    ),
}
"""Keys that are of no use without each other, with a good value for each."""


def check_presence(kind: str, raw: Mapping[str, object], path: Path, problems: Problems) -> None:
    """Note keys given twice over and keys that miss their partner."""
    for keys in _ONLY_ONE.get(kind, ()):
        given = [key for key in keys if key in raw]
        if len(given) > 1:
            problems.add(
                (*path, given[1]),
                f"{' and '.join(given)} say the same thing in different ways",
                "Keep one of them.",
            )
    for keys, remedy in _AT_LEAST_ONE.get(kind, ()):
        if not any(key in raw for key in keys):
            problems.add((*path, keys[0]), f"{' or '.join(keys)} is needed", remedy)
    for first, first_example, second, second_example in _PAIRS.get(kind, ()):
        if first in raw and second not in raw:
            remedy = f"Add for example {second} = {second_example}."
            problems.add((*path, second), f"{first} needs {second} beside it", remedy)
        elif second in raw and first not in raw:
            remedy = f"Add for example {first} = {first_example}."
            problems.add((*path, first), f"{second} needs {first} beside it", remedy)
