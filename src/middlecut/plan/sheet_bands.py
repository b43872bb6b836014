# SPDX-License-Identifier: MIT
"""What the sheet says of the bands: ranges of lots, cuts and jars, and what to measure next."""

from __future__ import annotations

from typing import TYPE_CHECKING

from middlecut.plan.sheet_parts import Cell, Column, Table
from middlecut.steps.result import Figure

if TYPE_CHECKING:
    from middlecut.plan.prediction import Ensemble
    from middlecut.steps.band import Band
    from middlecut.steps.curve import Curve
    from middlecut.steps.lot import Lot
    from middlecut.steps.result import StepResult

__all__ = ["band_figures", "jar_bands", "measure_next", "range_notes", "table_bands"]

_SEEN = (
    ("end", "ends after", "duration"),
    ("strength_end", "running at, at its end", "strength"),
    ("head_temperature_end", "head at its end", "temperature"),
)
_ADVISED = 8


def band_figures(result: StepResult) -> tuple[Figure, ...]:
    """Return the ranges of what a step makes and of what is seen when its cuts end.

    Parameters
    ----------
    result : StepResult
        Of a prediction with draws.

    Returns
    -------
    tuple of Figure
        None without draws; numbers that no input moves are left out.
    """
    rows: list[Figure] = []
    for cut in () if result.curve is None else result.curve.cuts:
        if cut.band is None:
            continue
        for name, words, dimension in _SEEN:
            value, band = getattr(cut, name), getattr(cut.band, name)
            key, label = f"cut.{cut.into}.{name}", f"{cut.into}: {words}"
            rows += _ranged(key, label, value, dimension, band)
    if len(result.made) > 1 or result.curve is not None:
        for lot in result.made.values():
            rows += _lot(lot)
    return tuple(rows)


def _lot(lot: Lot) -> list[Figure]:
    if lot.band is None:
        return []
    return [
        *_ranged(
            f"made.{lot.name}.volume", f"{lot.name}: volume", lot.volume, "volume", lot.band.volume
        ),
        *_ranged(
            f"made.{lot.name}.strength",
            f"{lot.name}: strength",
            lot.strength,
            "strength",
            lot.band.strength,
        ),
    ]


def _ranged(key: str, label: str, value: float, dimension: str, band: Band) -> list[Figure]:
    if band.high - band.low <= 1e-9 * abs(band.median):
        return []
    return [Figure(key, label, value, dimension, band.low, band.high)]


def jar_bands(curve: Curve) -> tuple[Table, ...]:
    """Return the ranges of the jars of a run, if it has draws.

    Parameters
    ----------
    curve : Curve
        The run.

    Returns
    -------
    tuple of Table
        One or none.
    """
    rows: list[tuple[Cell, ...]] = [
        (
            float(jar.number),
            jar.cut,
            jar.band.end.low,
            jar.band.end.high,
            jar.band.strength.low,
            jar.band.strength.high,
            jar.band.volume.share,
        )
        for jar in curve.jars
        if jar.band is not None
    ]
    if not rows:
        return ()
    columns = (
        Column("jar", "count"),
        Column("cut"),
        Column("full from", "duration"),
        Column("full to", "duration"),
        Column("strength from", "strength"),
        Column("strength to", "strength"),
        Column("filled in", "fraction"),
    )
    note = "The last column is the share of the draws that fill the jar at all."
    return (Table("Ranges of the jars", columns, tuple(rows), note),)


def table_bands(result: StepResult) -> dict[str, dict[str, dict[str, Band]]]:
    """Return the ranges of the numbers in the tables of a step, if it has draws.

    Parameters
    ----------
    result : StepResult
        The step.

    Returns
    -------
    dict of str to dict
        By title of the table, first cell of the row and label of the column.
    """
    found: dict[str, dict[str, dict[str, Band]]] = {}
    for lot in result.made.values():
        if lot.band is not None:
            found.setdefault("What you have then", {})[lot.name] = {
                "volume": lot.band.volume,
                "strength": lot.band.strength,
                "pure alcohol": lot.band.pure_alcohol,
            }
    for cut in () if result.curve is None else result.curve.cuts:
        if cut.band is not None:
            found.setdefault("What to look for", {})[f"{cut.into} ends"] = {
                "time": cut.band.end,
                "collected": cut.band.collected_end,
                "running at": cut.band.strength_end,
                "head": cut.band.head_temperature_end,
                "cut holds": cut.band.volume,
                "cut has": cut.band.strength,
            }
    return found


def range_notes(ensemble: Ensemble | None) -> tuple[str, ...]:
    """Return how the ranges were made and what went wrong in making them.

    Parameters
    ----------
    ensemble : Ensemble or None
        Behind the bands.

    Returns
    -------
    tuple of str
        Sentences; none without draws.
    """
    if ensemble is None:
        return ()
    how = (
        f"Ranges in brackets are where nine in ten of {ensemble.used} draws lie (seed "
        f"{ensemble.seed}): every draw takes other losses, stages, measures, contents and "
        "volatilities, as far as each is uncertain. They do not cover a model that is wrong in "
        "kind."
    )
    notes = [how]
    failed = ensemble.draws - ensemble.used
    if failed:
        notes.append(f"{failed} of {ensemble.draws} draws did not reach the end and are left out.")
    notes += [
        f"{row.key}: {row.count} of {ensemble.draws} draws fail there. {row.example}"
        for row in ensemble.failures
    ]
    notes += [
        f"In {row.count} of {ensemble.draws} draws {row.lot} held less than is asked for, by "
        f"{row.missing * 100:.1f} % in the middle case; the draw went on with what there was."
        for row in ensemble.shortfalls
    ]
    return tuple(notes)


def measure_next(ensemble: Ensemble | None) -> Table | None:
    """Return what to measure to narrow the ranges most.

    Parameters
    ----------
    ensemble : Ensemble or None
        Behind the bands.

    Returns
    -------
    Table or None
        The inputs that the most numbers depend on first; None without draws.
    """
    if ensemble is None or not ensemble.influences:
        return None
    weight: dict[str, float] = {}
    for row in ensemble.influences:
        weight[row.input] = weight.get(row.input, 0.0) + row.correlation**2
    rows: list[tuple[Cell, ...]] = []
    for key in sorted(weight, key=lambda name: (-weight[name], name))[:_ADVISED]:
        moved = [row for row in ensemble.influences if row.input == key]
        moved.sort(key=lambda row: -abs(row.correlation))
        first = moved[0]
        words = ", ".join(f"{row.output_label} ({row.correlation:+.1f})" for row in moved[:2])
        rows.append((first.input_label, words, first.advice))
    columns = (Column("uncertain"), Column("moves"), Column("to know it better"))
    note = (
        "In brackets: rank correlation over the draws, +1 when both always rise together, -1 when "
        "one rises as the other falls."
    )
    return Table("What to measure next", columns, tuple(rows), note)
