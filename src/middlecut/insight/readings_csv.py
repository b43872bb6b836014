# SPDX-License-Identifier: MIT
"""Read readings from a CSV file: a row each, every value with its unit."""

from __future__ import annotations

import csv
import io
from pathlib import Path

from middlecut import units
from middlecut.errors import InputError, NotFoundError, UnitError
from middlecut.insight.readings import (
    PROOF_SCALE,
    QUANTITIES,
    CheckedReadings,
    Reading,
    Refusal,
    check_readings,
)
from middlecut.liquid import alcoholometry, extract

__all__ = ["COLUMNS", "parse_reading", "read_readings_csv", "read_rows"]

COLUMNS = ("time", "quantity", "value", "uncertainty", "temperature", "instrument", "since")
"""Columns of a file of readings; the first three are needed."""
LARGEST = 5_000_000
"""Bytes a file of readings may have."""
BRIX = ("°Bx", "°Brix", "Bx", "Brix", "brix")


def read_readings_csv(path: str | Path, *, now: float | None = None) -> CheckedReadings:
    """Read and check a file of readings.

    Columns ``time``, ``quantity``, ``value`` and, where there is something to say,
    ``uncertainty``, ``temperature``, ``instrument``, ``since``; every number with its unit, such as
    ``12 min``, ``86 %vol``, ``236 mL``, ``21 °C``. Comma, semicolon or tab between the columns.

    Parameters
    ----------
    path : str or Path
        The file, UTF-8.
    now : float or None
        The present moment on the clock of the readings. [s]

    Returns
    -------
    CheckedReadings
        With the line of every refusal and flag.

    Raises
    ------
    NotFoundError
        If there is no such file.
    InputError
        If it is no table with the needed columns.
    """
    rows = read_rows(path, needed=COLUMNS[:3], known=COLUMNS)
    readings: list[Reading] = []
    lines: list[int] = []
    refused: list[Refusal] = []
    for line, row in rows:
        try:
            readings.append(parse_reading(row))
            lines.append(line)
        except InputError as error:
            refused.append(Refusal(None, str(error), line))
    checked = check_readings(readings, now=now, lines=lines)
    return CheckedReadings(checked.used, (*refused, *checked.refused), checked.flagged)


def read_rows(
    path: str | Path, *, needed: tuple[str, ...], known: tuple[str, ...]
) -> list[tuple[int, dict[str, str]]]:
    """Read a small table as rows of text with their line numbers.

    Parameters
    ----------
    path : str or Path
        The file, UTF-8.
    needed, known : tuple of str
        Columns it must have and may have.

    Returns
    -------
    list of (int, dict)
        Line number and cells by column, empty rows left out.

    Raises
    ------
    NotFoundError
        If there is no such file.
    InputError
        If it is no table with the needed columns, or too large.
    """
    place = Path(path)
    if not place.is_file():
        raise NotFoundError("file", str(path))
    if place.stat().st_size > LARGEST:
        raise InputError(
            str(path), f"{place.stat().st_size} bytes", f"at most {LARGEST} bytes are read"
        )
    try:
        text = place.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(str(path), "bytes", "the file is not UTF-8 text") from error
    head = text.partition("\n")[0]
    delimiter = next((mark for mark in ";\t" if mark in head), ",")
    try:
        table = csv.DictReader(io.StringIO(text), delimiter=delimiter, strict=True)
        names = [name.strip() for name in table.fieldnames or ()]
        table.fieldnames = names
        _check_columns(str(path), names, needed, known)
        found = []
        for row in table:
            if None in row:
                raise InputError(str(path), table.line_num, "this row has more cells than columns")
            cells = {name: (row[name] or "").strip() for name in names}
            if any(cells.values()):
                found.append((table.line_num, cells))
    except csv.Error as error:
        raise InputError(str(path), "text", f"this is no table: {error}") from error
    return found


def _check_columns(
    path: str, names: list[str], needed: tuple[str, ...], known: tuple[str, ...]
) -> None:
    missing = [name for name in needed if name not in names]
    strange = [name for name in names if name not in known]
    if missing or strange or len(set(names)) != len(names):
        raise InputError(
            path,
            ", ".join(names)[:60],
            f"the first line names the columns {', '.join(needed)} and may name "
            f"{', '.join(name for name in known if name not in needed)}",
            f"Missing: {', '.join(missing) or 'none'}; unknown: {', '.join(strange) or 'none'}.",
        )


def parse_reading(row: dict[str, str]) -> Reading:
    """Return the reading of one row of text.

    Parameters
    ----------
    row : dict of str to str
        Cells by column; see :data:`COLUMNS`.

    Returns
    -------
    Reading
        In SI, not yet checked.

    Raises
    ------
    InputError
        If a cell cannot be read.
    """
    name = row["quantity"]
    kind = QUANTITIES.get(name)
    if kind is None:
        raise InputError("quantity", name, f"known are {', '.join(QUANTITIES)}")
    value, scale = _value(row["value"], kind.dimension)
    instrument = row.get("instrument", "")
    if scale == "proof_60F":
        instrument = PROOF_SCALE
    spread = row.get("uncertainty", "")
    temperature, since = row.get("temperature", ""), row.get("since", "")
    return Reading(
        time=units.parse_quantity(row["time"], "duration", field="time", example="20 min"),
        quantity=name,
        value=value,
        uncertainty=_spread(spread, kind.dimension) if spread else None,
        temperature=units.parse_quantity(temperature, "temperature") if temperature else None,
        instrument=instrument,
        since=units.parse_quantity(since, "duration", field="since") if since else None,
    )


def _value(text: str, dimension: str) -> tuple[float, str]:
    """Return a value in SI and the scale it was written on."""
    if dimension == "brix":
        return _brix(text), ""
    if dimension == "gravity":
        gravity = units.parse_gravity(text)
        plato = gravity.kind == "plato"
        return float(extract.gravity_from_plato(gravity.value)) if plato else gravity.value, ""
    if dimension == "strength":
        strength = units.parse_strength(text)
        value = strength.value / (200.0 if strength.kind == "proof_60F" else 1.0)
        if strength.kind == "mass":
            value = float(alcoholometry.strength_from_mass_fraction(value))
        return value, strength.kind
    return units.parse_quantity(text, dimension), ""


def _spread(text: str, dimension: str) -> float:
    if dimension == "brix":
        return _brix(text)
    if dimension == "temperature":
        return units.parse_quantity(text, "temperature_difference", field="uncertainty")
    if dimension == "strength" and units.parse_strength(text).kind == "proof_60F":
        return units.parse_strength(text).value / 200.0
    return units.parse_quantity(text, dimension, field="uncertainty")


def _brix(text: str) -> float:
    for mark in BRIX:
        if text.endswith(mark):
            try:
                return float(text[: -len(mark)].strip().replace(",", "."))
            except ValueError:
                break
    raise UnitError("value", text, "a refractometer reading is wanted", 'Write "12.4 °Bx".')
