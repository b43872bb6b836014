# SPDX-License-Identifier: MIT
"""Put items into the lists of a plan file, or take them out, and leave the rest alone."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from middlecut.errors import InputError, NotFoundError
from middlecut.plan.positions import Path, Place, locate
from middlecut.plan.write import add_key, place_of, set_value

__all__ = ["PlanEdit", "apply_edits", "inline_table", "item_at"]

_NOT_CLEAN = "it cannot be changed without touching more of the file"
_KEY_BEFORE = re.compile(r"""(?:"(?:[^"\\]|\\.)*"|'[^']*'|[A-Za-z0-9_-]+)[ \t]*=[ \t]*$""")
_ORDER = ("set", "unset", "remove", "insert")


@dataclass(frozen=True, slots=True)
class PlanEdit:
    """One change of the text of a plan.

    Parameters
    ----------
    action : {"set", "unset", "insert", "remove"}
        Write a value; take a key away; put an item into a list; take an item out of a list.
    key : str
        Dotted place, as :func:`middlecut.plan.write.set_value` takes it. ``"step.spirit.cuts[1]"``
        is an item of a list, ``"step.spirit"`` a whole step. An item is put in before the one that
        stands there, or at the end.
    value : str
        Of "set" the value, of "insert" an inline TOML table; else "".
    """

    action: Literal["set", "unset", "insert", "remove"]
    key: str
    value: str = ""


def inline_table(values: Mapping[str, Any]) -> str:
    """Return values as an inline TOML table.

    Parameters
    ----------
    values : mapping of str to object
        Text, numbers, dates, lists and mappings.

    Returns
    -------
    str

    Examples
    --------
    >>> inline_table({"into": "heads", "until": "100 mL"})
    '{ into = "heads", until = "100 mL" }'
    """
    return "{ " + ", ".join(f"{_word(key)} = {_toml(one)}" for key, one in values.items()) + " }"


def item_at(document: Mapping[str, Any], key: str) -> object:
    """Return what stands at a dotted place.

    Parameters
    ----------
    document : mapping
        A plan file as TOML.
    key : str
        As :class:`PlanEdit` has it.

    Returns
    -------
    object
        None when nothing stands there.

    Examples
    --------
    >>> item_at({"step": [{"id": "run", "from": "wash"}]}, "step.run.from")
    'wash'
    """
    try:
        return _at(document, place_of(document, key, item=True))
    except (InputError, NotFoundError):
        return None


def apply_edits(text: str, edits: Iterable[PlanEdit]) -> str:
    r"""Return the text of a plan with edits made, all of them counted in the text as it was.

    Parameters
    ----------
    text : str
        A TOML document.
    edits : iterable of PlanEdit
        In any order; the same one twice is made once.

    Returns
    -------
    text : str
        What is not edited, comments and blanks too, is as before. A comment on the line of an item
        goes with the item.

    Raises
    ------
    NotFoundError
        If the plan has no such step, table or item.
    InputError
        If an edit would touch more than its own place.

    Examples
    --------
    >>> text = '[[step]]\nid = "run"\ncuts = [{ into = "hearts", until = "60 %vol" }]  # one\n'
    >>> heads = PlanEdit("insert", "step.run.cuts[0]", '{ into = "heads", until = "100 mL" }')
    >>> print(apply_edits(text, [heads]).splitlines()[2])
    cuts = [{ into = "heads", until = "100 mL" }, { into = "hearts", until = "60 %vol" }]  # one
    """
    unique = tuple(dict.fromkeys(edits))
    # The last items first, so that the numbers of the others still hold.
    for action in _ORDER:
        chosen = [one for one in unique if one.action == action]
        for edit in sorted(chosen, key=_number, reverse=action == "remove"):
            if action == "set":
                text = set_value(text, edit.key, edit.value)
            elif action == "unset":
                text = _unset(text, edit.key)
            elif action == "remove":
                text = _remove(text, edit.key)
        if action == "insert":
            removed = [one.key for one in unique if one.action == "remove"]
            for edit in _backwards(chosen):
                text = _insert(text, _shifted(edit, removed))
    return text


def _number(edit: PlanEdit) -> int:
    match = re.search(r"\[(\d+)\]$", edit.key)
    return int(match.group(1)) if match else 0


def _backwards(edits: list[PlanEdit]) -> list[PlanEdit]:
    """Return edits from the last place to the first; of one place the last given comes first."""
    counted = sorted(enumerate(edits), key=lambda pair: (_number(pair[1]), pair[0]), reverse=True)
    if any(one.key.count(".") == 1 for one in edits):  # whole steps keep the order they come in
        steps = [one for one in edits if one.key.count(".") == 1]
        return [*(one for _, one in counted if one not in steps), *steps]
    return [one for _, one in counted]


def _shifted(edit: PlanEdit, removed: Iterable[str]) -> PlanEdit:
    """Return an insertion with its number as it is once others of its list were taken out."""
    owner = edit.key.rpartition("[")[0]
    number = _number(edit)
    before = [key for key in removed if owner and key.rpartition("[")[0] == owner]
    fewer = sum(int(key.rpartition("[")[2][:-1]) < number for key in before)
    return PlanEdit("insert", f"{owner}[{number - fewer}]" if owner else edit.key, edit.value)


def _word(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else json.dumps(key, ensure_ascii=False)


def _toml(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, Mapping):
        return inline_table(value)
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_toml(one) for one in value) + "]"
    return str(value)


def _at(document: object, path: Path) -> Any:
    for part in path:
        if isinstance(document, Mapping):
            document = document.get(str(part))
        elif isinstance(document, list) and isinstance(part, int) and part < len(document):
            document = document[part]
        else:
            return None
    return document


def _checked(changed: str, expected: Mapping[str, Any], key: str) -> str:
    try:
        after = tomllib.loads(changed)
    except (ValueError, RecursionError):
        after = {}
    if after != expected:
        raise InputError("key", key, _NOT_CLEAN, "Edit it by hand.")
    return changed


def _line(text: str, start: int, end: int) -> tuple[int, int]:
    """Return the whole lines that a place lies on, with their last line break."""
    stop = text.find("\n", end)
    return text.rfind("\n", 0, start) + 1, len(text) if stop < 0 else stop + 1


def _alone(text: str, start: int, end: int) -> bool:
    """Say whether nothing but blanks, a comma and a comment shares the lines of a place."""
    first, last = _line(text, start, end)
    rest = text[end:last].strip()
    return not text[first:start].strip() and re.fullmatch(r",?\s*(#.*)?", rest) is not None


def _cut_out(text: str, start: int, end: int) -> str:
    """Take out something between commas."""
    if _alone(text, start, end):
        first, last = _line(text, start, end)
        return text[:first] + text[last:]
    after = re.match(r"\s*,[ \t]*", text[end:])
    if after:
        return text[:start] + text[end + after.end() :]
    before = re.search(r",\s*$", text[:start])
    return text[: before.start() if before else start] + text[end:]


def _section_end(places: Mapping[Path, Place], path: Path) -> int:
    return max(place.end for other, place in places.items() if other[: len(path)] == path)


def _unset(text: str, key: str) -> str:
    document = tomllib.loads(text)
    path = place_of(document, key)
    place = locate(text).get(path)
    if place is None or not place.is_value:
        raise NotFoundError("value of the plan", key)
    del _at(document, path[:-1])[path[-1]]
    match = _KEY_BEFORE.search(text[: place.start])
    start = match.start() if match else place.start
    return _checked(_cut_out(text, start, place.end), document, key)


def _remove(text: str, key: str) -> str:
    document = tomllib.loads(text)
    path = place_of(document, key, item=True)
    items, places = _at(document, path[:-1]), locate(text)
    place = places.get(path)
    if place is None or not isinstance(items, list) or not isinstance(path[-1], int):
        raise NotFoundError("item of the plan", key)
    if len(items) == 1 and place.is_value:
        owner = key.rpartition("[")[0]
        return _unset(text, owner)
    del items[path[-1]]
    if place.is_value:
        return _checked(_cut_out(text, place.start, place.end), document, key)
    if not items:
        del _at(document, path[:-2])[path[-2]]
    first = _line(text, place.start, place.end)[0]
    last = _line(text, place.start, _section_end(places, path))[1]
    changed = text[:first] + text[last:].lstrip("\n")
    return _checked(changed, document, key)


def _insert(text: str, edit: PlanEdit) -> str:
    document = tomllib.loads(text)
    path = place_of(document, edit.key, item=True)
    if not isinstance(path[-1], int):
        raise InputError("key", edit.key, "it is no item of a list", 'Write "step.run.cuts[1]".')
    values = tomllib.loads(f"item = {edit.value}")["item"]
    places, owner = locate(text), path[:-1]
    items = _at(document, owner)
    if items is None:
        _at(document, owner[:-1])[str(owner[-1])] = [values]
        changed = add_key(text, places, owner, f"[{edit.value}]", edit.key)
        return _checked(changed, document, edit.key)
    index = min(path[-1], len(items))
    items.insert(index, values)
    if places[owner].is_value:
        changed = _into_array(text, places, owner, index, edit.value)
    else:
        changed = _into_tables(text, places, owner, index, values)
    return _checked(changed, document, edit.key)


def _into_array(
    text: str, places: Mapping[Path, Place], owner: Path, index: int, literal: str
) -> str:
    count = sum(path[:-1] == owner and isinstance(path[-1], int) for path in places)
    if count == 0:
        start = places[owner].start
        return f"{text[: start + 1]}{literal}{text[start + 1 :]}"
    if index < count:
        at = places[(*owner, index)].start
        first = text.rfind("\n", 0, at) + 1
        blank = text[first:at]
        return f"{text[:at]}{literal},{' ' if blank.strip() else chr(10) + blank}{text[at:]}"
    last = places[(*owner, count - 1)]
    if not _alone(text, last.start, last.end):
        return f"{text[: last.end]}, {literal}{text[last.end :]}"
    first, stop = _line(text, last.start, last.end)
    blank = text[first : last.start]
    rest = text[last.end : stop]
    comma = "" if rest.lstrip().startswith(",") else ","
    return f"{text[: last.end]}{comma}{rest}{blank}{literal},\n{text[stop:]}"


def _into_tables(
    text: str, places: Mapping[Path, Place], owner: Path, index: int, values: Mapping[str, Any]
) -> str:
    """Write a section of its own after the item before it, or before the first."""
    name = ".".join(_word(str(part)) for part in owner if isinstance(part, str))
    lines = [f"[[{name}]]", *(f"{_word(key)} = {_toml(one)}" for key, one in values.items())]
    section = "\n".join(lines) + "\n"
    if index == 0:
        first = _line(text, places[(*owner, 0)].start, places[(*owner, 0)].end)[0]
        return f"{text[:first]}{section}\n{text[first:]}"
    end = _section_end(places, (*owner, index - 1))
    last = _line(text, end, end)[1]
    before = text[:last] if text[:last].endswith("\n") else f"{text[:last]}\n"
    return f"{before}\n{section}{text[last:]}"
