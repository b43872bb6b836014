# SPDX-License-Identifier: MIT
"""Whether a batch can take one more fact about the spirit: power, cuts, jars, doses, bottles."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from datetime import datetime
from difflib import get_close_matches
from types import MappingProxyType
from typing import Any

from middlecut.app.batch import Batch
from middlecut.app.quantities import check_value
from middlecut.app.spirit_events import (
    AdditionMade,
    BottlesFilled,
    CutCalled,
    DoseChosen,
    DoseTried,
    HeartsChosen,
    JarFilled,
    JarNoted,
    PowerSet,
    TastingMade,
    WaterAdded,
    WoodSampled,
)
from middlecut.app.words import check_name, check_text, check_words
from middlecut.errors import InputError, NotFoundError, OutOfRangeError

__all__ = ["SPIRIT_CHECKS"]

ENTRY_POINTS = ("wash-early", "wash-late", "charge", "basket", "steep", "dose")
KEEP = ("", "yes", "perhaps", "no")
Check = Callable[[Batch, Any, datetime], None]


def _within(field: str, value: float, low: float, high: float, unit: str = "") -> None:
    if not (math.isfinite(value) and low <= value <= high):
        raise OutOfRangeError(
            field, value, low, high, unit=unit, remedy="Look at the number and its unit again."
        )


def _within_or_none(field: str, value: float | None, low: float, high: float, unit: str) -> None:
    if value is not None:
        _within(field, value, low, high, unit)


def _need_distil(state: Batch, step: str) -> None:
    kinds = {one.outline.step: one.outline.kind for one in state.steps()}
    if kinds[step] != "distil":
        runs = [name for name, kind in kinds.items() if kind == "distil"]
        raise InputError(
            "step",
            step,
            f"that is a {kinds[step]} step; this belongs to a run of the still",
            f"The runs are {', '.join(runs)}." if runs else "",
        )


def _power(state: Batch, body: PowerSet, _utc: datetime) -> None:
    _need_distil(state, body.step)
    if (body.share is None) == (body.power is None):
        raise InputError("power", None, "give either a share of full power or watts", "")
    _within_or_none("power", body.share, 0.0, 1.0, "of full power")
    _within_or_none("power", body.power, 0.0, 2.0e5, "W")


def _cut(state: Batch, body: CutCalled, _utc: datetime) -> None:
    _need_distil(state, body.step)
    check_name("into", body.into)
    check_text("reason", body.reason)


def _jar(state: Batch, body: JarFilled, _utc: datetime) -> None:
    _need_distil(state, body.step)
    check_name("jar", body.jar)
    if body.lot is not None:
        check_name("lot", body.lot)
    _within("volume", body.volume, 1.0e-7, 1.0, "m³")
    if body.strength is not None:
        quantity = "true_strength" if body.temperature is None else "strength"
        check_value(quantity, body.strength, body.temperature, body.reference)
    check_text("as_entered", body.as_entered, 200)
    if body.jar in {jar.jar for jar in state.jars(body.step)}:
        raise InputError(
            "jar",
            body.jar,
            "a jar of that name was already filled in this step",
            "Give the next number, or withdraw the earlier one.",
        )


def _find_jar(state: Batch, step: str, jar: str) -> None:
    known = [one.jar for one in state.jars(step)]
    if jar not in known:
        raise NotFoundError("jar", jar, tuple(get_close_matches(jar, known, 3, 0.0)))


def _jar_note(state: Batch, body: JarNoted, _utc: datetime) -> None:
    _find_jar(state, body.step, body.jar)
    check_words("descriptors", body.descriptors)
    check_text("note", body.text)
    if body.keep not in KEEP:
        raise InputError("keep", body.keep, "it is yes, perhaps or no", "Leave it out if unsure.")


def _hearts(state: Batch, body: HeartsChosen, _utc: datetime) -> None:
    check_name("lot", body.lot)
    check_text("reason", body.reason)
    if not body.jars or len(set(body.jars)) != len(body.jars):
        raise InputError("jars", body.jars, "name at least one jar, each once", "")
    for jar in body.jars:
        _find_jar(state, body.step, jar)


def _addition(_state: Batch, body: AdditionMade, _utc: datetime) -> None:
    check_name("ingredient", body.ingredient)
    _within("amount", body.amount, 1.0e-7, 1.0e3, "kg")
    if body.entry_point not in ENTRY_POINTS:
        raise InputError(
            "entry_point", body.entry_point, f"it is one of {', '.join(ENTRY_POINTS)}", ""
        )
    for field in ("form", "supply", "as_entered"):
        check_text(field, getattr(body, field), 200)


def _dose(_state: Batch, body: DoseTried, _utc: datetime) -> None:
    check_name("glass", body.glass)
    _within("rate", body.rate, 0.0, 1.0)
    if body.rank is not None:
        _within("rank", body.rank, 1, 100)
    check_words("descriptors", body.descriptors)
    check_text("note", body.text)


def _dose_chosen(_state: Batch, body: DoseChosen, _utc: datetime) -> None:
    _within("rate", body.rate, 0.0, 1.0)
    check_text("reason", body.reason)


def _water(_state: Batch, body: WaterAdded, _utc: datetime) -> None:
    _within("mass", body.mass, 1.0e-6, 5.0e3, "kg")
    _within_or_none("temperature", body.temperature, 273.15, 373.15, "K")
    if body.lot is not None:
        check_name("lot", body.lot)
    check_text("as_entered", body.as_entered, 200)


def _wood(_state: Batch, body: WoodSampled, _utc: datetime) -> None:
    check_name("sample", body.sample)
    _within_or_none("volume", body.volume, 1.0e-6, 1.0, "m³")
    _within_or_none("wood_mass", body.wood_mass, 1.0e-6, 1.0e3, "kg")
    _within_or_none("wood_area", body.wood_area, 1.0e-6, 1.0e3, "m²")
    _within_or_none("age", body.age, 0.0, 3.2e9, "s")
    if body.strength is not None:
        check_value("true_strength", body.strength, None)
    check_words("descriptors", body.descriptors)
    check_text("colour", body.colour, 200)
    check_text("note", body.text)


def _bottles(_state: Batch, body: BottlesFilled, _utc: datetime) -> None:
    _within("count", body.count, 1, 1_000_000)
    _within("bottle volume", body.bottle_volume, 1.0e-5, 0.1, "m³")
    check_value("true_strength", body.strength, None)
    check_text("lot_number", body.lot_number, 200)


def _tasting(_state: Batch, body: TastingMade, _utc: datetime) -> None:
    check_name("subject", body.subject)
    check_text("note", body.text)
    check_text("code", body.code, 200)
    check_text("taster", body.taster, 200)
    _within_or_none("score", body.score, 0.0, 100.0, "")
    if len(body.phases) > 20:
        raise InputError("phases", len(body.phases), "there are at most 20 of them", "")
    for phase in body.phases:
        check_name("phase", phase.phase)
        check_words("descriptors", phase.descriptors)
        check_text("note", phase.text)
        if phase.strength is not None:
            _within("strength of the impression", phase.strength, 1, 5)
        if phase.intensities and len(phase.intensities) != len(phase.descriptors):
            raise InputError(
                "intensities", len(phase.intensities), "give one to each descriptor, or none", ""
            )
        for value in phase.intensities:
            _within("intensity", value, 0.0, 10.0)


SPIRIT_CHECKS: Mapping[type, Check] = MappingProxyType(
    {
        PowerSet: _power,
        CutCalled: _cut,
        JarFilled: _jar,
        JarNoted: _jar_note,
        HeartsChosen: _hearts,
        AdditionMade: _addition,
        DoseTried: _dose,
        DoseChosen: _dose_chosen,
        WaterAdded: _water,
        WoodSampled: _wood,
        BottlesFilled: _bottles,
        TastingMade: _tasting,
    }
)
"""What is asked of each kind of fact."""
