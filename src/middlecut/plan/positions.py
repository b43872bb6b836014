# SPDX-License-Identifier: MIT
"""Where each key of a TOML document stands, which :mod:`tomllib` does not say.

The text must already have been accepted by :mod:`tomllib`; this scanner trusts its grammar and
only follows it, so it can stay small.
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass

__all__ = ["Path", "Place", "locate", "nearest_place"]

Path = tuple[str | int, ...]

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_BASIC = re.compile(r'"(?:[^"\\]|\\.)*"')
_LITERAL = re.compile(r"'[^']*'")
_LONG_BASIC = re.compile(r'"""(?:[^\\]|\\.)*?"""(?:"{0,2})', re.DOTALL)
_LONG_LITERAL = re.compile(r"'''.*?'''(?:'{0,2})", re.DOTALL)
_PLAIN = re.compile(r"[^,\]}#\n]+")
_BLANK = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*")
_SPACE = re.compile(r"[ \t]*")


@dataclass(frozen=True, slots=True)
class Place:
    """Where one key stands.

    Parameters
    ----------
    line : int
        Line of the key, or of the element of an array, counted from 1.
    start, end : int
        Offsets of the value in the text; for a table or an element of an array of tables, of its
        header.
    is_value : bool
        Whether start and end span a value that can be replaced.
    """

    line: int
    start: int
    end: int
    is_value: bool


class _Scanner:
    """One pass over the text; ``places`` fills as it goes."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.places: dict[Path, Place] = {}
        self._breaks = [index for index, mark in enumerate(text) if mark == "\n"]
        self._counts: dict[Path, int] = {}

    def scan(self) -> dict[Path, Place]:
        """Return the places of every key."""
        prefix: Path = ()
        while True:
            self._skip(_BLANK)
            if self.at >= len(self.text):
                return self.places
            if self.text[self.at] == "[":
                prefix = self._header()
            else:
                self._pair(prefix)

    def _line(self, offset: int) -> int:
        return bisect_right(self._breaks, offset - 1) + 1

    def _skip(self, pattern: re.Pattern[str]) -> None:
        match = pattern.match(self.text, self.at)
        self.at = match.end() if match else self.at

    def _take(self, pattern: re.Pattern[str]) -> str:
        match = pattern.match(self.text, self.at)
        if match is None or match.end() == self.at:
            raise ValueError(f"not TOML at offset {self.at}")
        self.at = match.end()
        return match.group()

    def _key(self) -> tuple[str, ...]:
        names: list[str] = []
        while True:
            self._skip(_SPACE)
            mark = self.text[self.at]
            if mark == '"':
                names.append(tomllib.loads(f"key = {self._take(_BASIC)}")["key"])
            elif mark == "'":
                names.append(self._take(_LITERAL)[1:-1])
            else:
                names.append(self._take(_BARE_KEY))
            self._skip(_SPACE)
            if self.text[self.at : self.at + 1] != ".":
                return tuple(names)
            self.at += 1

    def _resolve(self, names: tuple[str, ...]) -> Path:
        """Return the path of a header, each array of tables at its last element."""
        path: Path = ()
        for name in names:
            path = (*path, name)
            if path in self._counts:
                path = (*path, self._counts[path] - 1)
        return path

    def _header(self) -> Path:
        start = self.at
        double = self.text.startswith("[[", start)
        self.at += 2 if double else 1
        names = self._key()
        self.at += 2 if double else 1
        if double:
            array = (*self._resolve(names[:-1]), names[-1])
            self._note_parents(array, start)
            self._counts[array] = self._counts.get(array, 0) + 1
            path: Path = (*array, self._counts[array] - 1)
        else:
            path = self._resolve(names)
        self._note_parents(path, start)
        self.places[path] = Place(self._line(start), start, self.at, is_value=False)
        return path

    def _note_parents(self, path: Path, start: int) -> None:
        for depth in range(1, len(path) + 1):
            self.places.setdefault(
                path[:depth], Place(self._line(start), start, self.at, is_value=False)
            )

    def _pair(self, prefix: Path) -> None:
        start = self.at
        path: Path = (*prefix, *self._key())
        self.at += 1  # the equals sign
        self._note_parents(path[:-1], start)
        self._skip(_SPACE)
        self._value(path, start)

    def _value(self, path: Path, key_start: int) -> None:
        start = self.at
        mark = self.text[start]
        if mark == "[":
            self._array(path)
        elif mark == "{":
            self._inline_table(path)
        else:
            self._scalar(mark)
        self.places[path] = Place(self._line(key_start), start, self.at, is_value=True)

    def _scalar(self, mark: str) -> None:
        if mark == '"':
            long = self.text.startswith('"""', self.at)
            self._take(_LONG_BASIC if long else _BASIC)
        elif mark == "'":
            long = self.text.startswith("'''", self.at)
            self._take(_LONG_LITERAL if long else _LITERAL)
        else:
            plain = self._take(_PLAIN)
            self.at -= len(plain) - len(plain.rstrip())

    def _array(self, path: Path) -> None:
        self.at += 1
        index = 0
        while True:
            self._skip(_BLANK)
            mark = self.text[self.at]
            if mark == "]":
                self.at += 1
                return
            if mark == ",":
                self.at += 1
                continue
            self._value((*path, index), self.at)
            index += 1

    def _inline_table(self, path: Path) -> None:
        self.at += 1
        while True:
            self._skip(_BLANK)
            mark = self.text[self.at]
            if mark == "}":
                self.at += 1
                return
            if mark == ",":
                self.at += 1
                continue
            self._pair(path)


def locate(text: str) -> Mapping[Path, Place]:
    r"""Return the place of every key, table and array element of a valid TOML document.

    Parameters
    ----------
    text : str
        The document; :mod:`tomllib` must accept it.

    Returns
    -------
    places : mapping of path to Place
        A path holds keys as str and elements of arrays as int.

    Raises
    ------
    ValueError
        If the scanner loses its way, which on valid TOML it does not.

    Examples
    --------
    >>> places = locate('[batch]\nname = "Rye"\n\n[[step]]\nid = "wash"\n')
    >>> places["batch", "name"].line, places["step", 0, "id"].line
    (2, 5)
    """
    try:
        return _Scanner(text).scan()
    except IndexError:
        raise ValueError("not TOML: it ends too early") from None


def nearest_place(places: Mapping[Path, Place], path: Path) -> tuple[Path, Place | None]:
    """Return the longest part of a path that stands in the document, and where.

    Parameters
    ----------
    places : mapping of path to Place
        From :func:`locate`.
    path : tuple of str or int
        The path looked for.

    Returns
    -------
    known : tuple of str or int
        The part that was found.
    place : Place or None
        None when not even the first key is there.

    Examples
    --------
    >>> nearest_place(locate("a = 1"), ("a", 0, "b"))[0]
    ('a',)
    """
    for depth in range(len(path), 0, -1):
        place = places.get(path[:depth])
        if place is not None:
            return path[:depth], place
    return (), None
