# SPDX-License-Identifier: MIT
"""Keep what laboratory results say of compounds and ingredients in a file, for predictions."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from middlecut.errors import InputError, NotFoundError
from middlecut.insight.narrow import Factor, NarrowedCompound
from middlecut.insight.narrow_extraction import NarrowedExtraction, NarrowedInput

__all__ = ["load_narrowed", "narrowed_origin", "narrowed_text"]

FORMAT = "middlecut narrowed factors"
VERSION = 2
"""Version 1 held compounds of runs alone."""
LARGEST = 1_000_000
"""Bytes such a file may have."""
_FACTORS = ("volatility", "content", "volatility_before", "content_before")


def narrowed_text(narrowed: Sequence[NarrowedCompound | NarrowedExtraction], note: str = "") -> str:
    """Return what was narrowed as the text of a file.

    Parameters
    ----------
    narrowed : sequence of (NarrowedCompound or NarrowedExtraction)
        As :func:`middlecut.narrow_volatility` and :func:`middlecut.narrow_extraction` return it.
    note : str
        Where they come from.

    Returns
    -------
    str
        JSON.
    """
    page = {
        "format": FORMAT,
        "version": VERSION,
        "note": note,
        "compounds": [asdict(one) for one in narrowed if isinstance(one, NarrowedCompound)],
        "extractions": [asdict(one) for one in narrowed if isinstance(one, NarrowedExtraction)],
    }
    return json.dumps(page, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def load_narrowed(path: str | Path) -> tuple[NarrowedCompound | NarrowedExtraction, ...]:
    """Read what was narrowed from its file.

    Parameters
    ----------
    path : str or Path
        As :func:`narrowed_text` wrote it.

    Returns
    -------
    tuple of (NarrowedCompound or NarrowedExtraction)

    Raises
    ------
    NotFoundError
        If there is no such file.
    InputError
        If it is no such file, of a later version, or a factor in it is none.
    """
    page = _page(path)
    if page.get("version") not in (1, VERSION):
        raise InputError(
            str(path), page.get("version"), f"this middlecut reads versions 1 to {VERSION}",
            "Use the middlecut that wrote it, or a later one.",
        )  # fmt: skip
    try:
        compounds = [_compound(row) for row in page["compounds"]]
        return (*compounds, *(_extraction(row) for row in page.get("extractions", ())))
    except (KeyError, TypeError, ValueError) as error:
        raise InputError(
            str(path), str(error)[:60], "what it holds has factors above 0 of a median within "
            "low and high", "Write it again with middlecut calibrate --laboratory.",
        ) from error  # fmt: skip


def narrowed_origin(path: str | Path) -> str:
    """Return where the factors of a file come from, as a sentence.

    Parameters
    ----------
    path : str or Path
        As :func:`narrowed_text` wrote it.

    Returns
    -------
    str

    Raises
    ------
    NotFoundError
        If there is no such file.
    InputError
        If it is no such file.
    """
    found = load_narrowed(path)
    note = " ".join(str(_page(path).get("note") or "results of an unknown step").split())
    named: dict[str, int] = {}
    for one in found:
        name = one.compound if isinstance(one, NarrowedCompound) else f"step {one.step}"
        named[name] = named.get(name, 0) + one.results
    told = ", ".join(
        f"{name} by {count} result{'' if count == 1 else 's'}" for name, count in named.items()
    )
    return f"Factors: narrowed by {note} ({told}; {Path(path).name}), for the ranges."


def _page(path: str | Path) -> dict[str, Any]:
    """Return the JSON of a file of narrowed factors, of whatever version."""
    place = Path(path)
    if not place.is_file():
        raise NotFoundError("file", str(path))
    if place.stat().st_size > LARGEST:
        raise InputError(str(path), "text", f"such a file has at most {LARGEST} bytes")
    try:
        page = json.loads(place.read_text(encoding="utf-8"))
    except (ValueError, RecursionError) as error:
        raise _foreign(path) from error
    if not isinstance(page, dict) or page.get("format") != FORMAT:
        raise _foreign(path)
    return page


def _foreign(path: str | Path) -> InputError:
    return InputError(
        str(path), "text", "this is no file of narrowed factors",
        "Write one with middlecut calibrate PLAN --step ID --laboratory FILE --write NEW.json.",
    )  # fmt: skip


def _compound(row: dict[str, Any]) -> NarrowedCompound:
    factors = {name: _factor(row[name]) for name in _FACTORS}
    return NarrowedCompound(
        compound=str(row["compound"]),
        correlation=float(row["correlation"]),
        results=int(row["results"]),
        surprise=float(row["surprise"]),
        **factors,
    )


def _extraction(row: dict[str, Any]) -> NarrowedExtraction:
    inputs = tuple(
        NarrowedInput(
            key=str(one["key"]),
            label=str(one["label"]),
            target=tuple(str(part) for part in one["target"]),
            before=_factor(one["before"]),
            after=_factor(one["after"]),
        )
        for one in row["inputs"]
    )
    correlation = tuple(tuple(float(value) for value in line) for line in row["correlation"])
    if {len(correlation), *map(len, correlation)} != {len(inputs)}:
        raise ValueError("as many correlations as inputs")
    return NarrowedExtraction(
        step=str(row["step"]),
        inputs=inputs,
        correlation=correlation,
        results=int(row["results"]),
        surprise=float(row["surprise"]),
        brought=tuple((str(origin), str(compound)) for origin, compound in row["brought"]),
    )


def _factor(row: dict[str, float]) -> Factor:
    found = Factor(*(float(row[name]) for name in ("median", "low", "high", "spread")))
    if not (0.0 < found.low <= found.median <= found.high < math.inf and found.spread >= 1.0):
        raise ValueError(f"median {found.median}, {found.low} to {found.high}")
    return found
