# SPDX-License-Identifier: MIT
"""The person's library file in the app: what a plan uses of it is put into the plan.

A batch must be rebuilt from its plan alone, whatever becomes of the library later. So what a plan
takes from the library is written below the plan as sections of its own, when it is adopted.
"""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from middlecut.errors import InputError, NotFoundError, PlanError, Problem
from middlecut.liquid import ingredients
from middlecut.liquid.own_ingredients import Library, read_library

__all__ = ["OwnLibrary"]

TAKEN = "# From your library file, as it was when this plan was kept."
_BARE = re.compile(r"[A-Za-z0-9_-]+")


@dataclass(frozen=True, slots=True)
class OwnLibrary:
    """A person's file of ingredients and compounds.

    Parameters
    ----------
    path : Path or None
        Where it is, or would be; None: there is none.
    """

    path: Path | None = None

    def read(self) -> Library:
        """Return what the file holds; nothing where there is no file.

        Returns
        -------
        library : Library

        Raises
        ------
        InputError
            If the file cannot be read or holds something that cannot be used.
        """
        if self.path is None or not self.path.is_file():
            return Library()
        return read_library(self.path)

    @property
    def trouble(self) -> str:
        """Why the file cannot be used; "" where it can, or there is none."""
        try:
            self.read()
        except InputError as error:
            return str(error)
        return ""

    def completed(self, text: str) -> str:
        """Return the text of a plan with the sections of the library that it uses.

        Parameters
        ----------
        text : str
            A plan file; one that is no TOML comes back as it is.

        Returns
        -------
        text : str
            The same where it uses nothing of the library, or describes it itself.

        Raises
        ------
        PlanError
            If there is a library file and it cannot be used.
        """
        try:
            library = self.read()
        except InputError as error:
            raise PlanError("your library file", (self._problem(error),)) from None
        if not (library or library.compounds):
            return text
        try:
            document = tomllib.loads(text)
        except (tomllib.TOMLDecodeError, RecursionError):
            return text
        wanted = self._sections_for(document, text, library)
        if not wanted:
            return text
        return "\n".join((text.rstrip("\n"), "", TAKEN, *wanted)) + "\n"

    def _problem(self, error: InputError) -> Problem:
        return Problem(
            "your library file",
            str(self.path or ""),
            f"it cannot be used: {error}",
            "Mend that file, or move it away; no plan is kept meanwhile, lest it means another "
            "thing than you think.",
        )

    def _sections_for(
        self, document: Mapping[str, object], text: str, library: Library
    ) -> list[str]:
        raw = tomllib.loads(self.path.read_text("utf-8-sig")) if self.path else {}
        known = {one.name for one in library} - set(_table(document, "ingredient"))
        names = [name for name in _used(document, library) if name in known]
        taken = [_section("ingredient", name, _table(raw, "ingredient")[name]) for name in names]
        everywhere = "\n".join((text, *taken)).casefold()
        told = _table(document, "compound")
        compounds = [
            _section("compound", one.name, _table(raw, "compound")[one.name])
            for one in library.compounds
            if one.name not in told
            and any(word.casefold() in everywhere for word in (one.name, *one.synonyms))
        ]
        return compounds + taken


def _table(document: Mapping[str, object], section: str) -> Mapping[str, object]:
    found = document.get(section)
    return found if isinstance(found, Mapping) else {}


def _used(document: Mapping[str, object], library: Library) -> list[str]:
    """Return the library's names of what the steps of a plan add, each once."""
    found: dict[str, None] = {}
    for step in _listed(document.get("step")):
        for one in _listed(step.get("add")):
            try:
                item = ingredients.find(str(one.get("ingredient", "")), library)
            except NotFoundError:
                continue
            found[item.name] = None
    return list(found)


def _listed(value: object) -> Iterable[Mapping[str, object]]:
    items = value if isinstance(value, list) else []
    return [one for one in items if isinstance(one, Mapping)]


def _section(kind: str, name: str, values: object) -> str:
    rows = values.items() if isinstance(values, Mapping) else ()
    lines = [f"{_key(key)} = {_literal(value)}" for key, value in rows]
    return "\n".join((f"[{kind}.{_key(name)}]", *lines))


def _key(name: str) -> str:
    return name if _BARE.fullmatch(name) else json.dumps(name, ensure_ascii=False)


def _literal(value: object) -> str:
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{_key(k)} = {_literal(v)}" for k, v in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(_literal, value)) + "]"
    if isinstance(value, str | bool):
        return json.dumps(value, ensure_ascii=False)
    return str(value)
