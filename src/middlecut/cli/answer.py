# SPDX-License-Identifier: MIT
"""Work out what ``middlecut strength`` is asked: which scale, which correction, which notes."""

from __future__ import annotations

import re
from dataclasses import dataclass

from middlecut.cli.naming import Given, naming
from middlecut.cli.readout import Line
from middlecut.cli.scales import every_scale, read_strength, strength_of
from middlecut.errors import InputError, UnitError
from middlecut.liquid import alcoholometry
from middlecut.units import (
    Strength,
    dimension_of,
    format_quantity,
    parse_quantity,
    parse_strength,
)

__all__ = ["Question", "answer", "strength_read"]

AT = "20 °C"
Answer = tuple[str, list[Line], list[str]]

_READING = "A reading is only as good as its temperature: measure both in the same liquid."
_SOLIDS = (
    "Anything dissolved (sugar, wood, flavour) hides strength from every instrument that floats; "
    "give it with --dissolved."
)


@dataclass(frozen=True, slots=True)
class Question:
    """What was asked, as it was written.

    Parameters
    ----------
    value : str
    reading_at, reference, dissolved, final_gravity : str or None
        The options of the same names.
    at : str
    """

    value: str
    reading_at: str | None = None
    reference: str | None = None
    dissolved: str | None = None
    final_gravity: str | None = None
    at: str = AT


def answer(question: Question) -> Answer:
    """Return title, lines and notes of the readout.

    Raises
    ------
    UnitError
        If the value has a unit that is none of a strength, a density or a gravity.
    InputError
        If an option does not go with the value.
    """
    unit = re.sub(r"^[\s+-]*[\d.,\s]*\d", "", question.value).strip()
    if not unit:
        _ask_for_unit(question.value.strip())
    kinds = dimension_of(unit)
    if "gravity" in kinds:
        from middlecut.cli.gravity import gravity_answer  # noqa: PLC0415 - only for a wash

        _refuse("--dissolved", question.dissolved, "a gravity counts all that is dissolved")
        if question.at != AT:
            _refuse("--at", question.at, "gravities are those of 20 °C")
        return gravity_answer(
            question.value,
            reading_at=question.reading_at,
            reference=question.reference,
            final_gravity=question.final_gravity,
        )
    _refuse("--final-gravity", question.final_gravity, "it goes with a gravity only")
    if "density" in kinds:
        return _from_density(question)
    if kinds and not {"strength", "fraction"} & set(kinds):
        raise UnitError(
            "VALUE",
            question.value,
            "a strength, a density or a gravity is wanted",
            'Write "62.4 %vol", "124.8 proof", "912.3 kg/m3" or "1.062 SG".',
        )
    return _from_strength(question)


def _ask_for_unit(value: str) -> None:
    """Refuse a bare number that looks like a gravity; as a strength it is refused further on."""
    if re.fullmatch(r"(0[.,]9[89]|1[.,][01])\d*", value):
        raise UnitError(
            "VALUE",
            value,
            "the unit is missing",
            f'If it is a gravity, write "{value} SG"; if a strength, "{value} %vol".',
        )


def _from_strength(question: Question) -> Answer:
    tagged = parse_strength(question.value, field="VALUE")
    if question.reading_at is None:
        _refuse("--reference", question.reference, "it goes with --reading-at only")
        _refuse("--dissolved", question.dissolved, "it goes with a reading or a density only")
        true = read_strength(question.value, "VALUE")
        return (question.value, _scales(true, question), [])
    reading_at = _kelvin(question.reading_at, "--reading-at")
    notes = [_READING]
    with naming(_asked(question)):
        true, shown = strength_read(tagged, reading_at, question.reference)
        if question.dissolved is None:
            notes.append(_SOLIDS)
        else:
            true = _with_solids(true, 293.15, question.dissolved)
    lines = [shown, *_scales(true, question)]
    return (f"{question.value} read at {question.reading_at}", lines, notes)


def strength_read(tagged: Strength, reading_at: float, reference: str | None) -> tuple[float, Line]:
    """Return the true strength at 20 °C behind a reading, and the line that repeats it.

    Parameters
    ----------
    tagged : Strength
        By volume or proof, as the instrument shows it.
    reading_at : float
        [K]
    reference : str or None
        "20C" or "60F"; None takes what is usual on that scale.

    Returns
    -------
    true : float
        0 to 1.
    line : Line

    Raises
    ------
    InputError
        If the reading is on no scale of an instrument.
    """
    if tagged.kind == "mass":
        raise InputError(
            "--reading-at",
            f"{reading_at - 273.15:.1f} °C",
            "a strength by mass is not what an instrument shows",
            "Leave it out, or give the reading in %vol or proof.",
        )
    strength_of(tagged, "VALUE")  # refuses what no mixture has
    if tagged.kind == "proof_60F":
        if reference == "20C":
            raise InputError(
                "--reference", reference, "instruments that show proof are made for 60 °F", ""
            )
        true = alcoholometry.true_strength(tagged.value / 200.0, reading_at, "60F")
        line = Line("reading", "the instrument shows", tagged.value, "proof", 1)
        return alcoholometry.strength_from_proof(true * 200.0), line
    line = Line("reading", "the instrument shows", tagged.value, "strength", 2)
    if reference == "60F":
        true = alcoholometry.true_strength(tagged.value, reading_at, "60F")
        return alcoholometry.strength_from_proof(true * 200.0), line
    return alcoholometry.true_strength(tagged.value, reading_at, "20C"), line


def _from_density(question: Question) -> Answer:
    _refuse("--reference", question.reference, "it goes with a strength only")
    density = parse_quantity(question.value, "density", field="VALUE")
    measured_at = _kelvin(question.reading_at or "20 °C", "--reading-at")
    with naming(_asked(question)):
        if question.dissolved is None:
            true, notes = alcoholometry.strength_from_density(density, measured_at), [_SOLIDS]
        else:
            extract = parse_quantity(question.dissolved, "mass_concentration", field="--dissolved")
            true = alcoholometry.strength_with_extract(density, extract, measured_at)
            notes = []
    shown = format_quantity(measured_at, "temperature")
    return (f"{question.value} measured at {shown}", _scales(true, question), notes)


def _asked(question: Question) -> Given:
    """Return what was given, by the names the functions use."""
    value = ("VALUE", question.value)
    return {
        "temperature": ("--reading-at", question.reading_at or ""),
        "extract": ("--dissolved", question.dissolved or ""),
        "VALUE": value,
        "reading": value,
        "strength": value,
        "density": value,
    }


def _scales(true: float, question: Question) -> list[Line]:
    with naming({"temperature": ("--at", question.at), "strength": ("VALUE", question.value)}):
        return every_scale(true, _kelvin(question.at, "--at"))


def _with_solids(apparent: float, temperature: float, dissolved: str) -> float:
    """Return the true strength behind an apparent one."""
    extract = parse_quantity(dissolved, "mass_concentration", field="--dissolved")
    density = alcoholometry.density(
        alcoholometry.mass_fraction_from_strength(apparent), temperature
    )
    return alcoholometry.strength_with_extract(density, extract, temperature)


def _kelvin(text: str, field: str) -> float:
    return parse_quantity(text, "temperature", field=field)


def _refuse(option: str, value: str | None, why: str) -> None:
    if value is not None:
        raise InputError(option, value, why, "Leave it out.")
