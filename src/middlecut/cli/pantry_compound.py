# SPDX-License-Identifier: MIT
"""What ``middlecut pantry`` says of a compound, of the tables or of the user's own."""

from __future__ import annotations

import math
import textwrap
from typing import TYPE_CHECKING, Any

from middlecut.errors import NotFoundError
from middlecut.insight.vocabulary import find_descriptor
from middlecut.liquid import alcoholometry, aroma, volatility
from middlecut.plan.sheet_parts import Column
from middlecut.plan.text_table import lay_out
from middlecut.units import format_quantity

if TYPE_CHECKING:
    from collections.abc import Iterable

    from middlecut.liquid.compounds import Compound

__all__ = ["compound_as_json", "compound_page", "compound_table", "fitting"]

_PRESSURE = 101325.0
_UNKNOWN_SAFETY = "Whether it is safe to drink is not known here."
_STRENGTHS = (0.05, 0.2, 0.45, 0.8)


def fitting(found: Iterable[Compound], text: str) -> list[Compound]:
    """Return the compounds that have to do with every word of a text."""
    words = text.casefold().split()
    return [
        one
        for one in found
        if words
        and all(
            word in " ".join((one.name, one.cas, one.descriptor, *one.synonyms)).casefold()
            for word in words
        )
    ]


def compound_table(found: Iterable[Compound], width: int) -> list[str]:
    """Return a table of compounds with how well their volatility is known."""
    head = [Column("your own compound"), Column("grade"), Column("smells of")]
    body = [[one.name, _known(one), one.descriptor or "not said"] for one in found]
    return lay_out(head, body, width=width)


def _known(one: Compound) -> str:
    if one.nonvolatile:
        return "never distils"
    grade = volatility.grade(one.name)
    return f"{grade.grade}, factor {grade.factor:.2g}"


def _leads(one: Compound) -> list[tuple[float, float]]:
    if one.nonvolatile:
        return []
    places = [float(alcoholometry.mole_fraction_from_strength(value)) for value in _STRENGTHS]
    ratios = (volatility.relative_volatility(one.name, place, _PRESSURE) for place in places)
    return list(zip(_STRENGTHS, map(float, ratios), strict=True))


def compound_as_json(one: Compound) -> dict[str, Any]:
    """Return what is known of a compound in SI units as plain JSON types."""
    from dataclasses import asdict  # noqa: PLC0415 - only with JSON

    page: dict[str, Any] = asdict(one)
    page["own"] = one.own is not None
    page["log_p"] = None if math.isnan(one.log_p) else one.log_p
    known = aroma.thresholds(one.name)
    page["thresholds"] = [
        asdict(limit) for limit in (known.water, known.ethanol_10, known.ethanol_40) if limit
    ]
    page["volatility"] = None if one.nonvolatile else asdict(volatility.grade(one.name))
    page["relative_volatility"] = [
        {"strength": strength, "value": value} for strength, value in _leads(one)
    ]
    return page


def compound_page(one: Compound, width: int) -> str:
    """Return what is known of a compound as text."""
    whose = "Your own compound" if one.own else "A compound of the tables"
    facts = [f"CAS {one.cas}" if one.cas else "", one.formula]
    facts.append(f"log P {one.log_p:.3g}" if one.log_p_basis else "")
    if one.boiling_point is not None:
        facts.append(f"boils at {format_quantity(one.boiling_point, 'temperature')}")
    also = f" Also: {', '.join(one.synonyms)}." if one.synonyms else ""
    parts = [one.name, "=" * len(one.name), ""]
    parts += textwrap.wrap(f"{whose}: {', '.join(filter(None, facts))}.{also}", width)
    parts += ["", *textwrap.wrap(_smell(one), width), "", *_running(one, width), ""]
    parts += _limits(one, width)
    return "\n".join((*parts, "", _UNKNOWN_SAFETY) if one.own else parts)


def _smell(one: Compound) -> str:
    if not one.descriptor:
        return "What it smells of is not said."
    unknown = [word for word in one.descriptor.split(", ") if not _in_vocabulary(word)]
    text = f"Smells of {one.descriptor}."
    if one.own and unknown:
        text += (
            f" The vocabulary has no {' nor '.join(map(repr, unknown))}: a diagnosis does not "
            "match it; middlecut diagnose offers the nearest words."
        )
    return text


def _in_vocabulary(word: str) -> bool:
    try:
        find_descriptor(word)
    except NotFoundError:
        return False
    return True


def _running(one: Compound, width: int) -> list[str]:
    if one.nonvolatile:
        return textwrap.wrap(f"It never distils: {one.nonvolatile}. Steep or dose it.", width)
    grade = volatility.grade(one.name)
    head = [Column("boiling liquid"), Column("volatility over ethanol's", "number")]
    body = [[format_quantity(at, "strength"), f"{value:.3g}"] for at, value in _leads(one)]
    note = f" Note: {grade.note}." if grade.note else ""
    text = (
        f"Grade {grade.grade}, {grade.basis}, from {grade.anchor}: two of three true values lie "
        f"within a factor of {grade.water_factor:.2g} near water, {grade.middle_factor:.2g} in "
        f"spirit. Vapour pressure: {grade.vapour_pressure_basis}.{note}"
    )
    return [*lay_out(head, body, width=width), "", *textwrap.wrap(text, width)]


def _limits(one: Compound, width: int) -> list[str]:
    known = aroma.thresholds(one.name)
    media = [limit for limit in (known.water, known.ethanol_10, known.ethanol_40) if limit]
    if not media:
        return ["No odour threshold is known."]
    head = [Column("odour threshold in"), Column("µg/L", "number"), Column("range"),
            Column("basis")]  # fmt: skip
    body = [
        [
            limit.medium,
            f"{limit.typical * 1e6:.3g}",
            f"{limit.low * 1e6:.3g} to {limit.high * 1e6:.3g}"
            + ("" if limit.spread == "sources" else " (assumed)"),
            "yours" if one.own else limit.basis,
        ]
        for limit in media
    ]
    return lay_out(head, body, width=width)
