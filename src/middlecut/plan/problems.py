# SPDX-License-Identifier: MIT
"""Turn what is wrong with a plan into sentences with a key, a value, a line and a remedy."""

from __future__ import annotations

import datetime as dt
import json
import typing
from collections.abc import Callable, Iterator, Mapping, Sequence
from difflib import get_close_matches
from typing import TYPE_CHECKING, Any

from middlecut.errors import InputError, Problem
from middlecut.plan.positions import Path, Place, nearest_place
from middlecut.plan.quantities import Quantity

if TYPE_CHECKING:
    from pydantic import BaseModel, ValidationError
    from pydantic.fields import FieldInfo
    from pydantic_core import ErrorDetails

__all__ = ["Problems", "nearest", "quote", "shown"]

_EXAMPLES: Mapping[str, str] = {
    "id": 'id = "spirit"',
    "name": 'name = "Rye and orange"',
    "into": 'into = "hearts"',
    "lot": 'lot = "wash"',
    "from": 'from = "wash"',
    "still": 'still = "copper"',
    "purpose": 'purpose = "spirit"',
    "cuts": 'cuts = [{ into = "hearts", until = "62 %vol" }]',
    "until": 'until = "62 %vol"',
    "at": 'at = "70 %vol"',
    "power": 'power = "60 %"',
}
"""What to write for a missing key that is no plain quantity."""


_PURPOSES = (
    ("strip", ("strip", "wash", "beer", "low")),
    ("flavour", ("flavour", "flavor", "gin", "basket", "botanical")),
)
"""Words in the id of a run that tell what it is for."""


def nearest(word: str, words: Sequence[str]) -> str:
    """Return the word that looks most like the given one, or ""."""
    lowered = {other.casefold(): other for other in words}
    found = get_close_matches(word.casefold(), list(lowered), n=1, cutoff=0.6)
    return lowered[found[0]] if found else ""


def shown(value: object) -> str:
    """Return a value as it would stand in the file, shortened."""
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, (dt.date, dt.time)):
        text = value.isoformat()
    elif isinstance(value, (str, bool)):
        text = json.dumps(value[:80] if isinstance(value, str) else value, ensure_ascii=False)
    else:
        text = repr(value)[:80]
    return text if len(text) <= 60 else f"{text[:59]}…"


def quote(names: Iterator[str] | Sequence[str]) -> str:
    """Return names in a list for a sentence."""
    return ", ".join(f'"{name}"' for name in names)


class Problems:
    """Collects problems of one document; knows where every key stands.

    Parameters
    ----------
    document : mapping
        The parsed TOML.
    places : mapping of path to Place
        From :func:`middlecut.plan.positions.locate`.

    Notes
    -----
    ``context`` is handed to the checks of every table: the user's own compounds.
    """

    def __init__(self, document: Mapping[str, object], places: Mapping[Path, Place]) -> None:
        self.document = document
        self.places = places
        self.context: object = None
        self._found: dict[tuple[str, str], Problem] = {}

    def add(self, path: Path, message: str, remedy: str = "", *, value: object = None) -> None:
        """Add one problem at a path, which may reach deeper than the document does."""
        known, place = nearest_place(self.places, path)
        missing = path[len(known) :] if path and isinstance(path[-1], str) else ()
        key = self.key((*known, *missing[-1:]))
        if value is None and known == path:
            value = _look_up(self.document, path)
        text = "" if value is None else shown(value)
        problem = Problem(key, text, _sentence(message), remedy, place.line if place else None)
        self._found.setdefault((key, problem.message), problem)

    def all(self) -> tuple[Problem, ...]:
        """Return the problems in the order of the file."""
        return tuple(sorted(self._found.values(), key=lambda problem: problem.line or 0))

    def line(self, path: Path) -> int | None:
        """Return the line of the nearest key that stands in the file."""
        place = nearest_place(self.places, path)[1]
        return place.line if place else None

    def key(self, path: Path) -> str:
        """Return a path as a person reads it: steps by their id, other list items by number."""
        text = ""
        for depth, part in enumerate(path):
            if isinstance(part, str):
                word = (
                    part if part.isidentifier() or part.replace("-", "").isalnum() else f'"{part}"'
                )
                text += f".{word}" if text else word
            else:
                step_id = self._step_id(part) if path[0] == "step" and depth == 1 else ""
                text += f".{step_id}" if step_id else f"[{part}]"
        return text

    def _step_id(self, index: int) -> str:
        steps = self.document.get("step")
        if isinstance(steps, list) and index < len(steps) and isinstance(steps[index], Mapping):
            step_id = steps[index].get("id")
            if isinstance(step_id, str) and 0 < len(step_id) <= 40:
                return step_id
        return ""

    def read(self, model: type[BaseModel], raw: Mapping[str, object], path: Path) -> Any:
        """Return the table read by its model, or None after noting everything wrong with it."""
        from pydantic import ValidationError  # noqa: PLC0415 - keeps pydantic off the cold path

        try:
            return model.model_validate(raw, context=self.context)
        except ValidationError as error:
            self._note(error, model, path, str(raw.get("id", "")))
            return None

    def _note(self, error: ValidationError, model: type[BaseModel], path: Path, name: str) -> None:
        details = error.errors(include_url=False)
        misspelt = {
            (*item["loc"][:-1], nearest(str(item["loc"][-1]), _keys_at(model, item["loc"])))
            for item in details
            if item["type"] == "extra_forbidden"
        }
        for item in details:
            loc = tuple(part for part in item["loc"] if part != "[key]")
            if item["type"] == "missing" and loc in misspelt:
                continue
            if item["type"] == "too_short" and any(
                other["loc"][: len(loc)] == loc and len(other["loc"]) > len(loc)
                for other in details
            ):
                continue  # entries are there, but none of them can be read
            message, remedy = _explain(item, model)
            if item["type"] == "missing" and loc == ("purpose",):
                remedy = f"Add {_purpose(name)}."
            at = (*path, *loc)
            value = None if item["type"] == "missing" else item.get("input")
            known = nearest_place(self.places, at)[0]
            self.add(at if item["type"] == "missing" else known or at, message, remedy, value=value)


def _look_up(document: object, path: Path) -> object:
    """Return what stands at a path of the document, None if it does not reach so far."""
    for part in path:
        if isinstance(document, Mapping) and isinstance(part, str):
            document = document.get(part)
        elif isinstance(document, list) and isinstance(part, int) and part < len(document):
            document = document[part]
        else:
            return None
    return document if not isinstance(document, Mapping) else None


def _sentence(text: str) -> str:
    if "_" not in text.partition(" ")[0]:  # a key stays as it is written
        text = text[:1].upper() + text[1:]
    return text if text.endswith((".", "!", "?")) else f"{text}."


def _explain(item: ErrorDetails, model: type[BaseModel]) -> tuple[str, str]:
    """Return message and remedy of one pydantic error."""
    kind, loc = item["type"], item["loc"]
    context = item.get("ctx", {})
    ours = context.get("error")
    if isinstance(ours, InputError):
        return ours.allowed, ours.remedy
    if kind == "missing":
        return "this key is needed", f"Add {_example(model, loc)}."
    if kind == "extra_forbidden":
        keys = _keys_at(model, loc)
        near = nearest(str(loc[-1]), keys)
        remedy = f"Did you mean {near}?" if near else "Take it out."
        return f"there is no key {loc[-1]!r} here; the keys are {', '.join(keys)}", remedy
    return _EXPLAINED.get(kind, _as_pydantic)(item)


def _as_pydantic(item: ErrorDetails) -> tuple[str, str]:
    return f"this cannot be used: {item['msg']}", ""


def _literal(item: ErrorDetails) -> tuple[str, str]:
    expected = str(item.get("ctx", {}).get("expected", "")).replace("'", '"')
    near = nearest(
        str(item.get("input")), expected.replace('"', "").replace(" or ", ", ").split(", ")
    )
    return f"allowed is {expected}", f'Did you mean "{near}"?' if near else ""


def _pattern(item: ErrorDetails) -> tuple[str, str]:
    if item["loc"][-1] == "id":
        return "an id is made of letters, digits, - and _", 'Write for example "spirit-run".'
    if item["loc"][-1] == "currency":
        return "a currency is one short word", 'Write for example "EUR".'
    return "a name does not start or end with a blank and has no control characters", "Rename it."


_EXPLAINED: Mapping[str, Callable[[ErrorDetails], tuple[str, str]]] = {
    "literal_error": _literal,
    "string_pattern_mismatch": _pattern,
    "string_type": lambda _: ("text in quotes is wanted", 'Write it in quotes: "…".'),
    "string_too_long": lambda _: ("this is too long", "Shorten it."),
    "string_too_short": lambda _: ("this is empty", "Give it a name."),
    "too_short": lambda _: ("at least one entry is needed", "Add one."),
    "too_long": lambda _: ("this step works on one lot", "Blend the lots first, in a blend step."),
    "bool_type": lambda _: ("true or false is wanted", "Write true or false, without quotes."),
    "model_type": lambda _: ("a table is wanted", "Write it in braces: { key = value }."),
    "tuple_type": lambda _: ("a list is wanted", "Write it in brackets: [ … ]."),
    "dict_type": lambda _: ("a table is wanted", "Write it in braces: { key = value }."),
}
"""Message and remedy of each kind of pydantic error that a plan can cause."""


def _example(model: type[BaseModel], loc: tuple[int | str, ...]) -> str:
    name = str(loc[-1])
    holder = _model_at(model, loc)
    info = _field(holder, name) if holder else None
    for part in info.metadata if info else ():
        if isinstance(part, Quantity):
            return f"{name} = {part.sample}"
    return _EXAMPLES.get(name, f"{name} = …")


def _purpose(name: str) -> str:
    """Return the purpose that the name of a run speaks of, else that of a spirit run."""
    lowered = name.casefold()
    for purpose, words in _PURPOSES:
        if any(word in lowered for word in words):
            return f'purpose = "{purpose}"'
    return 'purpose = "spirit" (or "strip", or "flavour")'


def _field(model: type[BaseModel], name: str) -> FieldInfo | None:
    for key, info in model.model_fields.items():
        if name in (info.alias, key):
            return info
    return None


def _keys_at(model: type[BaseModel], loc: tuple[int | str, ...]) -> list[str]:
    holder = _model_at(model, loc)
    if holder is None:
        return []
    return [info.alias or key for key, info in holder.model_fields.items()]


def _model_at(model: type[BaseModel], loc: tuple[int | str, ...]) -> type[BaseModel] | None:
    """Return the table class that holds the last key of a location."""
    current: type[BaseModel] | None = model
    for part in loc[:-1]:
        if isinstance(part, int) or current is None:
            continue
        info = _field(current, part)
        current = _model_in(info.annotation) if info else None
    return current


def _model_in(annotation: object) -> type[BaseModel] | None:
    from pydantic import BaseModel  # noqa: PLC0415 - keeps pydantic off the cold path

    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for part in typing.get_args(annotation):
        found = _model_in(part)
        if found is not None:
            return found
    return None
