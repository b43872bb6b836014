# SPDX-License-Identifier: MIT
"""Change one value of a plan and leave every other character of the file alone."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Mapping

from middlecut.errors import InputError, NotFoundError
from middlecut.plan.positions import Path, Place, locate
from middlecut.plan.problems import nearest

__all__ = ["add_key", "place_of", "set_value", "value_at"]

Value = str | int | float | bool

_PART = re.compile(r'"((?:[^"\\]|\\.)*)"|([^.\[\]"]+)|\[([0-9]{1,4})\]')
_BARE = re.compile(r"[A-Za-z0-9_-]+")
_FORM = 'Write it like "step.spirit.power" or "step.spirit.cuts[1].until".'


def set_value(text: str, key: str, value: Value) -> str:
    r"""Return the text of a plan with one value set.

    Parameters
    ----------
    text : str
        A TOML document.
    key : str
        Dotted place of the value; steps by their id, other list items by number, names with
        points in quotes.
    value : str, int, float or bool
        What shall stand there, in the units of a plan file.

    Returns
    -------
    text : str
        Everything else, comments and blanks too, is as before; a key that was not there is added
        at the end of its table.

    Raises
    ------
    NotFoundError
        If the plan has no such step or table.
    InputError
        If the key is no place of a value, or the text is no TOML.

    Examples
    --------
    >>> print(set_value('[batch]\nname = "Rye"  # ours\n', "batch.name", "Corn"), end="")
    [batch]
    name = "Corn"  # ours
    """
    try:
        document = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise InputError("text", text[:20], f"it is not TOML: {error}") from None
    path = place_of(document, key)
    places = locate(text)
    place = places.get(path)
    literal = _literal(value)
    if place is not None and place.is_value:
        changed = text[: place.start] + literal + text[place.end :]
    elif place is not None:
        raise InputError("key", key, "a section stands there, not a value", _FORM)
    else:
        changed = add_key(text, places, path, literal, key)
    _verify(document, changed, path, value, key)
    return changed


def value_at(text: str, key: str) -> object:
    r"""Return what stands at a place of a plan.

    Parameters
    ----------
    text : str
        A TOML document.
    key : str
        Dotted place, as :func:`set_value` takes it.

    Returns
    -------
    object
        The value as TOML gives it; None when nothing stands there.

    Examples
    --------
    >>> value_at('[batch]\nname = "Rye"', "batch.name")
    'Rye'
    """
    node: object = tomllib.loads(text)
    try:
        path = place_of(node if isinstance(node, Mapping) else {}, key)
    except (InputError, NotFoundError):
        return None
    for part in path:
        if isinstance(node, Mapping):
            node = node.get(str(part))
        elif isinstance(node, list) and isinstance(part, int) and part < len(node):
            node = node[part]
        else:
            return None
    return node


def _literal(value: Value) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return json.dumps(value, ensure_ascii=False) if isinstance(value, str) else repr(value)


def place_of(document: Mapping[str, object], key: str, *, item: bool = False) -> Path:
    """Return the path of a dotted place.

    Parameters
    ----------
    document : mapping
        The plan file as TOML.
    key : str
        Dotted place, as :func:`set_value` takes it.
    item : bool
        Whether it may be an item of a list, ``"step.spirit.cuts[1]"``, or a whole step.

    Returns
    -------
    path : tuple of str or int

    Raises
    ------
    NotFoundError
        If the plan has no such step.
    InputError
        If the key is no place in a plan.

    Examples
    --------
    >>> place_of({"step": [{"id": "spirit"}]}, "step.spirit.cuts[1]", item=True)
    ('step', 0, 'cuts', 1)
    """
    path: list[str | int] = []
    at = 0
    while at < len(key):
        match = _PART.match(key, at)
        if match is None:
            raise InputError("key", key, "it is no place in a plan", _FORM)
        quoted, bare, index = match.groups()
        path.append(int(index) if index is not None else bare if quoted is None else quoted)
        at = match.end()
        if key[at : at + 1] == "." and at + 1 < len(key):
            at += 1
        elif at < len(key) and key[at] != "[":
            raise InputError("key", key, "it is no place in a plan", _FORM)
    if len(path) > 2 - item and path[:1] == ["step"] and isinstance(path[1], str):
        path[1] = _step_index(document, path[1])
    if len(path) < 2 or not (item or isinstance(path[-1], str)):
        raise InputError("key", key, "it is no place of a value in a plan", _FORM)
    return tuple(path)


def _step_index(document: Mapping[str, object], step_id: str) -> int:
    steps = document.get("step")
    ids = [
        str(step.get("id")) if isinstance(step, Mapping) else ""
        for step in (steps if isinstance(steps, list) else [])
    ]
    if step_id not in ids:
        near = nearest(step_id, ids)
        raise NotFoundError("step", step_id, (near,) if near else ())
    return ids.index(step_id)


def add_key(text: str, places: Mapping[Path, Place], path: Path, literal: str, key: str) -> str:
    r"""Return the text with a new key at the end of its table.

    Parameters
    ----------
    text : str
        A TOML document.
    places : mapping of path to Place
        Of that text.
    path : tuple of str or int
        Of the new key.
    literal : str
        Its value as TOML.
    key : str
        The same place as it was asked for, for the error.

    Returns
    -------
    text : str

    Raises
    ------
    NotFoundError
        If there is no such table.
    InputError
        If a single value stands above it.

    Examples
    --------
    >>> text = '[batch]\n'
    >>> add_key(text, locate(text), ("batch", "name"), '"Rye"', "batch.name")
    '[batch]\nname = "Rye"\n'
    """
    parent, name = path[:-1], str(path[-1])
    table = places.get(parent)
    if table is None:
        raise NotFoundError("place in the plan", key)
    word = name if _BARE.fullmatch(name) else json.dumps(name, ensure_ascii=False)
    if table.is_value:
        if text[table.start] != "{":
            raise InputError("key", key, "a single value stands above it", _FORM)
        inside = text[table.start + 1 : table.end - 1].rstrip()
        comma = ", " if inside.strip() else " "
        at = table.start + 1 + len(inside)
        return f"{text[:at]}{comma}{word} = {literal} {text[table.end - 1 :]}"
    ends = [place.end for other, place in places.items() if other[:-1] == parent and place.is_value]
    line_end = text.find("\n", max(ends, default=table.end))
    at = len(text) if line_end < 0 else line_end
    return f"{text[:at]}\n{word} = {literal}{text[at:]}"


def _verify(before: Mapping[str, object], changed: str, path: Path, value: Value, key: str) -> None:
    """Read the changed text again; only the one value may differ."""
    try:
        after = tomllib.loads(changed)
    except (ValueError, RecursionError):
        after = {}
    if after != _with(before, path, value):
        raise InputError(
            "key", key, "it cannot be set without touching more of the file", "Edit it by hand."
        )


def _with(node: object, path: Path, value: Value) -> object:
    if not path:
        return value
    if isinstance(node, Mapping):
        return {**node, path[0]: _with(node.get(str(path[0]), {}), path[1:], value)}
    if isinstance(node, list) and isinstance(path[0], int):
        return [
            _with(item, path[1:], value) if index == path[0] else item
            for index, item in enumerate(node)
        ]
    return node
