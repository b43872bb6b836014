# SPDX-License-Identifier: MIT
"""Turn a sheet into text, Markdown or CSV, in metric or US units."""

from __future__ import annotations

import csv
import io
import textwrap
from collections.abc import Iterable, Sequence

from middlecut.errors import InputError
from middlecut.plan.render_units import (
    said,
    shown,
    shown_figure,
    units_note,
    warned,
)
from middlecut.plan.sheet_parts import Cell, Column, Section, Sheet, Table
from middlecut.plan.table_units import one_unit_each
from middlecut.plan.text_table import fits, lay_out
from middlecut.steps.result import Caution, Figure
from middlecut.units import System, from_si, unit_of

__all__ = ["render_csv", "render_markdown", "render_text"]

_NARROWEST = 60
_WIDEST = 100
_JOINED = "\u00a0"  # holds a number and its unit on one line while wrapping
_SEVERITY = {"danger": "DANGER", "watch": "WATCH", "note": "note"}


def render_text(sheet: Sheet, width: int = 88, system: System = "metric") -> str:
    """Render a sheet as plain text for a terminal or a printer.

    Parameters
    ----------
    sheet : Sheet
        What to render.
    width : int
        Columns, at least 60; lines are never longer than 100.
    system : {"metric", "us"}
        System of units.

    Returns
    -------
    str
        Ends with a line break.

    Raises
    ------
    InputError
        If the width is below 60.
    """
    if width < _NARROWEST:
        raise InputError("width", width, "a sheet needs at least 60 columns", "Widen the window.")
    columns = min(width, _WIDEST)
    lines = [sheet.title, "=" * min(len(sheet.title), columns), ""]
    lines += _paragraph(" ".join(said(phrase, system) for phrase in sheet.summary), columns)
    lines += _paragraph(units_note(system), columns)
    for text in sheet.rests_on:
        lines += _paragraph(text, columns)
    for section in sheet.sections:
        lines += ["", "", section.heading, "-" * min(len(section.heading), columns)]
        lines += _section_text(section, columns, system)
    lines += ["", "", "The whole batch", "---------------"]
    lines += _figures_text(sheet.totals, columns, system)
    for table in (sheet.lots, *sheet.accounts):
        lines += ["", *_table_text(table, columns, system)]
    lines += _ranges_text(sheet, columns, system)
    lines += ["", "", "Always", "------"]
    for caution in sheet.cautions:
        lines += _bullet(warned(caution.text, system), columns)
    lines += ["", "Not in these numbers", "--------------------"]
    for text in sheet.not_modelled:
        lines += _bullet(text, columns)
    lines += ["", "Where numbers come from", "-----------------------"]
    for basis, meaning in sheet.legend:
        lines += _bullet(f"{basis}: {meaning}.", columns)
    lines += _paragraph(_sources(sheet), columns)
    return "\n".join(lines).replace(_JOINED, " ").rstrip() + "\n"


def render_markdown(sheet: Sheet, system: System = "metric") -> str:
    """Render a sheet as Markdown.

    Parameters
    ----------
    sheet : Sheet
        What to render.
    system : {"metric", "us"}
        System of units.

    Returns
    -------
    str
        Ends with a line break.
    """
    lines = [f"# {_escape(sheet.title)}", ""]
    lines += [_escape(" ".join(said(phrase, system) for phrase in sheet.summary)), ""]
    lines += [units_note(system), ""] if units_note(system) else []
    for text in sheet.rests_on:
        lines += [_escape(text), ""]
    for section in sheet.sections:
        lines += [f"## {_escape(section.heading)}", ""]
        lines += [_escape(" ".join(said(phrase, system) for phrase in section.phrases)), ""]
        lines += [_caution_markdown(caution, system) for caution in section.cautions]
        if section.cautions:
            lines.append("")
        lines += _figures_markdown(section.figures, system)
        for table in section.tables:
            lines += _table_markdown(table, system)
    lines += ["## The whole batch", "", *_figures_markdown(sheet.totals, system)]
    for table in (sheet.lots, *sheet.accounts):
        lines += _table_markdown(table, system)
    if sheet.ranges:
        lines += ["## How sure this is", "", *(f"- {_escape(text)}" for text in sheet.ranges), ""]
    if sheet.measure_next is not None:
        lines += _table_markdown(sheet.measure_next, system)
    lines += [
        "## Always",
        "",
        *(f"- {_escape(warned(caution.text, system))}" for caution in sheet.cautions),
        "",
    ]
    lines += ["## Not in these numbers", "", *(f"- {_escape(t)}" for t in sheet.not_modelled), ""]
    lines += ["## Where numbers come from", ""]
    lines += [f"- {basis}: {meaning}." for basis, meaning in sheet.legend]
    lines += ["", _escape(_sources(sheet))]
    text = "\n".join(lines)
    return text.replace(_JOINED, " ").rstrip() + "\n"


def render_csv(sheet: Sheet, system: System = "metric") -> str:
    """Render a sheet as CSV in long form: step, key, value, unit, low, high, basis.

    Parameters
    ----------
    sheet : Sheet
        What to render.
    system : {"metric", "us"}
        System of units.

    Returns
    -------
    str
        With a header line; numbers with a decimal point, to six significant digits.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(("step", "key", "value", "unit", "low", "high", "basis"))
    for section in sheet.sections:
        writer.writerows(_figure_row(section.step_id, row, system) for row in section.figures)
        for caution in section.cautions:
            words = (section.step_id, f"caution.{caution.code}", caution.text)
            writer.writerow((*words, "", "", "", caution.severity))
        for table in section.tables:
            writer.writerows(_table_rows(section.step_id, table, system))
    writer.writerows(_figure_row("", row, system) for row in sheet.totals)
    writer.writerows(_table_rows("", sheet.lots, system))
    for level in sheet.levels:
        key = f"lot.{level.lot}.{level.compound}"
        numbers = [f"{value * 1e3:.6g}" for value in (level.typical, level.low, level.high)]
        writer.writerow(("", key, numbers[0], "mg/L", numbers[1], numbers[2], level.basis))
    for table in sheet.accounts:
        writer.writerows(_table_rows("", table, system))
    return out.getvalue()


def _ranges_text(sheet: Sheet, width: int, system: System) -> list[str]:
    if not sheet.ranges:
        return []
    lines = ["", "", "How sure this is", "----------------"]
    for text in sheet.ranges:
        lines += _bullet(text, width)
    if sheet.measure_next is not None:
        lines += ["", *_table_text(sheet.measure_next, width, system)]
    return lines


def _section_text(section: Section, width: int, system: System) -> list[str]:
    lines = _paragraph(" ".join(said(phrase, system) for phrase in section.phrases), width)
    notes = [caution for caution in section.cautions if caution.severity == "note"]
    for caution in section.cautions:
        if caution.severity != "note":
            lines += _caution_text(caution, width, system)
    for table in section.tables:
        lines += ["", *_table_text(table, width, system)]
    lines += ["", *_figures_text(section.figures, width, system)]
    if notes:
        lines.append("")
    for caution in notes:
        lines += _caution_text(caution, width, system)
    return lines


def _caution_text(caution: Caution, width: int, system: System) -> list[str]:
    head = f"  {_SEVERITY[caution.severity]:<7} "
    return textwrap.wrap(
        warned(caution.text, system), width, initial_indent=head, subsequent_indent=" " * 10
    )


def _figures_text(figures: Iterable[Figure], width: int, system: System) -> list[str]:
    rows = [
        (figure.label, shown_figure(figure, system), _aside(figure, system)) for figure in figures
    ]
    if not rows:
        return []
    label = max(len(row[0]) for row in rows) + 2
    value = max(len(row[1]) for row in rows)
    if label + value + 2 > width:
        label = width - value - 2
    lines: list[str] = []
    for name, number, aside in rows:
        parts = textwrap.wrap(name, label, initial_indent="  ", subsequent_indent="    ")
        lines += parts[:-1]
        line = f"{parts[-1]:<{label}}  {number:>{value}}"
        fits = len(line) + 2 + len(aside) <= width
        lines.append(f"{line}  {aside}".rstrip() if fits else line)
        if not fits:
            lines += textwrap.wrap(aside, width, initial_indent="    ", subsequent_indent="    ")
    return lines


def _aside(figure: Figure, system: System) -> str:
    parts = []
    if figure.low is not None and figure.high is not None:
        low = shown(figure.low, figure.dimension, system)
        high = shown(figure.high, figure.dimension, system)
        if low != high:
            parts.append(f"{low} to {high}")
    if figure.basis != "computed":
        parts.append(figure.basis)
    return f"({', '.join(parts)})" if parts else ""


def _table_text(table: Table, width: int, system: System) -> list[str]:
    if not table.rows:
        return []
    body = [_cells(row, table.columns, system) for row in table.rows]
    columns: Sequence[Column] = table.columns
    if system == "us" and not fits(columns, body, width):
        columns, body = one_unit_each(columns, table.rows, body, system)
    lines = [f"  {table.title}", *lay_out(columns, body, width=width)]
    if table.note:
        lines += textwrap.wrap(table.note, width, initial_indent="  ", subsequent_indent="  ")
    return lines


def _table_markdown(table: Table, system: System) -> list[str]:
    if not table.rows:
        return []
    marks = ["---:" if column.dimension else "---" for column in table.columns]
    rows = [
        [_escape(column.label) for column in table.columns],
        marks,
        *([_escape(cell) for cell in _cells(row, table.columns, system)] for row in table.rows),
    ]
    lines = [f"**{table.title}**", "", *(f"| {' | '.join(row)} |" for row in rows), ""]
    return [*lines, table.note, ""] if table.note else lines


def _figures_markdown(figures: Sequence[Figure], system: System) -> list[str]:
    if not figures:
        return []
    lines = ["| | value | range | basis |", "| --- | ---: | --- | --- |"]
    for figure in figures:
        value = shown_figure(figure, system)
        span = ""
        if figure.low is not None and figure.high is not None:
            low = shown(figure.low, figure.dimension, system)
            span = f"{low} to {shown(figure.high, figure.dimension, system)}"
        lines.append(f"| {_escape(figure.label)} | {value} | {span} | {figure.basis} |")
    return [*lines, ""]


def _caution_markdown(caution: Caution, system: System) -> str:
    return f"- **{_SEVERITY[caution.severity]}**: {_escape(warned(caution.text, system))}"


def _figure_row(step: str, figure: Figure, system: System) -> tuple[str, ...]:
    unit = unit_of(figure.dimension, system)
    low = "" if figure.low is None else _plain(figure.low, figure.dimension, unit)
    high = "" if figure.high is None else _plain(figure.high, figure.dimension, unit)
    value = _plain(figure.value, figure.dimension, unit)
    return (step, figure.key, value, unit, low, high, figure.basis)


def _table_rows(step: str, table: Table, system: System) -> list[tuple[str, ...]]:
    found: list[tuple[str, ...]] = []
    for row in table.rows:
        name = " ".join(_word(cell) for cell, column in _numberless(row, table.columns))
        for cell, column in zip(row, table.columns, strict=True):
            if isinstance(cell, float) and column.dimension not in {"", "count"}:
                unit = unit_of(column.dimension, system)
                key = f"{table.title}.{name}.{column.label}"
                value = _plain(cell, column.dimension, unit)
                found.append((step, key, value, unit, "", "", "computed"))
    return found


def _numberless(row: Sequence[Cell], columns: Sequence[Column]) -> list[tuple[Cell, Column]]:
    pairs = zip(row, columns, strict=True)
    return [(cell, column) for cell, column in pairs if column.dimension in {"", "count"}]


def _word(cell: Cell) -> str:
    return f"{cell:.0f}" if isinstance(cell, float) else cell or ""


def _plain(value: float, dimension: str, unit: str) -> str:
    return f"{from_si(value, dimension, unit):.6g}"


def _cells(row: Sequence[Cell], columns: Sequence[Column], system: System) -> list[str]:
    return [
        shown(cell, column.dimension, system) if isinstance(cell, float) else cell or ""
        for cell, column in zip(row, columns, strict=True)
    ]


def _paragraph(text: str, width: int) -> list[str]:
    return textwrap.wrap(text, width) if text.strip() else []


def _bullet(text: str, width: int) -> list[str]:
    return textwrap.wrap(text, width, initial_indent="- ", subsequent_indent="  ")


def _sources(sheet: Sheet) -> str:
    parts = [f"{name}: {value}" for name, value in sheet.provenance]
    keys = f" Sources: {', '.join(sheet.citations)}." if sheet.citations else ""
    return f"Made with {'; '.join(parts)}.{keys}"


def _escape(text: str) -> str:
    return text.replace("\\", "\\\\").replace("|", "\\|").replace("*", "\\*").replace("<", "&lt;")
