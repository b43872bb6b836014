# SPDX-License-Identifier: MIT
"""Lay out a table in plain text: aligned columns, or one block a row where they do not fit."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from middlecut.plan.sheet_parts import Column

__all__ = ["fits", "lay_out"]

_INDENT = "  "
_GAP = 2
_NARROWEST = 24  # columns worth wrapping words into
_JOINED = "\u00a0"  # holds a head and its cell on one line while wrapping


def fits(columns: Sequence[Column], body: Sequence[Sequence[str]], width: int) -> bool:
    """Say whether rows can stand beside each other within a width, with broken heads if need be.

    Parameters
    ----------
    columns : sequence of Column
    body : sequence of sequence of str
        Cells as they are to be shown.
    width : int
        Longest line.

    Returns
    -------
    bool
    """
    widest = [max((len(row[i]) for row in body), default=0) for i in range(len(columns))]
    sizes = [
        max(size, *map(len, _broken(column.label, size)))
        for column, size in zip(columns, widest, strict=True)
    ]
    return _total(sizes) <= width


def lay_out(columns: Sequence[Column], body: Sequence[Sequence[str]], *, width: int) -> list[str]:
    """Return a table as lines no longer than a width.

    Parameters
    ----------
    columns : sequence of Column
        Heads; those of numbers are set flush right.
    body : sequence of sequence of str
        Cells as they are to be shown.
    width : int
        Longest line.

    Returns
    -------
    list of str
        Heads are broken into several lines first, then words in the last column; if the numbers
        still do not fit, each row becomes a block of heads and cells. Nothing is cut off.
    """
    widest = [max((len(row[i]) for row in body), default=0) for i in range(len(columns))]
    heads = [[column.label] for column in columns]
    sizes = [max(len(column.label), size) for column, size in zip(columns, widest, strict=True)]
    if _total(sizes) > width:
        heads = [_broken(column.label, size) for column, size in zip(columns, widest, strict=True)]
        sizes = [max(size, *map(len, head)) for head, size in zip(heads, widest, strict=True)]
    room = width - _total(sizes[:-1]) - _GAP
    if _total(sizes) > width and not columns[-1].dimension and room >= _NARROWEST:
        sizes[-1] = room
        body = [line for row in body for line in _wrapped(row, room)]
    if _total(sizes) > width:
        return [line for row in body for line in _block(columns, row, width)]
    height = max(map(len, heads))
    padded = [[*[""] * (height - len(head)), *head] for head in heads]
    rows = [*zip(*padded, strict=True), ["-" * size for size in sizes], *body]
    return [_line(row, sizes, columns) for row in rows]


def _wrapped(row: Sequence[str], room: int) -> list[list[str]]:
    """Return a row as several, its last cell broken to the room there is."""
    parts = textwrap.wrap(row[-1], room) or [""]
    empty = [""] * (len(row) - 1)
    return [[*(empty if number else row[:-1]), part] for number, part in enumerate(parts)]


def _total(sizes: Sequence[int]) -> int:
    return len(_INDENT) + sum(sizes) + _GAP * (len(sizes) - 1)


def _broken(label: str, size: int) -> list[str]:
    longest = max((len(word) for word in label.split()), default=1)
    return textwrap.wrap(label, max(size, longest), break_long_words=False) or [""]


def _line(row: Sequence[str], sizes: Sequence[int], columns: Sequence[Column]) -> str:
    parts = [
        f"{text:>{size}}" if column.dimension else f"{text:<{size}}"
        for text, size, column in zip(row, sizes, columns, strict=True)
    ]
    return f"{_INDENT}{(' ' * _GAP).join(parts)}".rstrip()


def _together(column: Column, cell: str) -> str:
    """Return head and cell; a number stays on one line with its head."""
    text = f"{column.label} {cell}".strip()
    return text.replace(" ", _JOINED) if column.dimension else text


def _block(columns: Sequence[Column], row: Sequence[str], width: int) -> list[str]:
    cells = [
        _together(column, cell) for column, cell in zip(columns[1:], row[1:], strict=True) if cell
    ]
    text = f"{row[0]}: {', '.join(cells)}"
    lines = textwrap.wrap(text, width, initial_indent=_INDENT, subsequent_indent=_INDENT * 3)
    return [line.replace(_JOINED, " ") for line in lines]
