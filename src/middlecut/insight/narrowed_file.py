# SPDX-License-Identifier: MIT
"""Keep what laboratory results say of compounds in a file, for later predictions."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from middlecut.errors import InputError, NotFoundError
from middlecut.insight.narrow import Factor, NarrowedCompound

__all__ = ["load_narrowed", "narrowed_text"]

FORMAT = "middlecut narrowed factors"
VERSION = 1
LARGEST = 1_000_000
"""Bytes such a file may have."""
_FACTORS = ("volatility", "content", "volatility_before", "content_before")


def narrowed_text(compounds: Sequence[NarrowedCompound], note: str = "") -> str:
    """Return narrowed compounds as the text of a file.

    Parameters
    ----------
    compounds : sequence of NarrowedCompound
        As :func:`middlecut.narrow_volatility` returns them.
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
        "compounds": [asdict(one) for one in compounds],
    }
    return json.dumps(page, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def load_narrowed(path: str | Path) -> tuple[NarrowedCompound, ...]:
    """Read narrowed compounds from their file.

    Parameters
    ----------
    path : str or Path
        As :func:`narrowed_text` wrote it.

    Returns
    -------
    tuple of NarrowedCompound

    Raises
    ------
    NotFoundError
        If there is no such file.
    InputError
        If it is no such file, of a later version, or a factor in it is none.
    """
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
    if page.get("version") != VERSION:
        raise InputError(
            str(path), page.get("version"), f"this middlecut reads version {VERSION}",
            "Use the middlecut that wrote it, or a later one.",
        )  # fmt: skip
    try:
        return tuple(_compound(row) for row in page["compounds"])
    except (KeyError, TypeError, ValueError) as error:
        raise InputError(
            str(path), str(error)[:60], "a compound in it has factors above 0 of a median within "
            "low and high", "Write it again with middlecut calibrate --laboratory.",
        ) from error  # fmt: skip


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


def _factor(row: dict[str, float]) -> Factor:
    found = Factor(*(float(row[name]) for name in ("median", "low", "high", "spread")))
    if not (0.0 < found.low <= found.median <= found.high < math.inf and found.spread >= 1.0):
        raise ValueError(f"median {found.median}, {found.low} to {found.high}")
    return found
