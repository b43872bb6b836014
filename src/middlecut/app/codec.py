# SPDX-License-Identifier: MIT
"""Events to rows and back: strict both ways, with a chain of digests over the whole record."""

from __future__ import annotations

import hashlib
import json
import math
import types
from collections.abc import Callable, Mapping
from dataclasses import MISSING, Field, fields, is_dataclass
from datetime import UTC, datetime
from functools import cache
from typing import Any, Union, get_args, get_origin, get_type_hints

from middlecut.app.events import BODIES, Body, Draft, Event, Row, Who
from middlecut.app.upcasting import UPCASTERS, Upcaster, upcast
from middlecut.errors import StoreError

__all__ = [
    "ROOT_DIGEST",
    "canonical",
    "decode_body",
    "digest_of",
    "encode_body",
    "parse_utc",
    "render_utc",
    "row_from_mapping",
    "row_to_mapping",
    "to_event",
    "to_row",
]

ROOT_DIGEST = "0" * 64
"""What stands for the digest before the first row."""


def canonical(value: object) -> str:
    """Return a value as JSON that is the same for the same value; a number must be finite."""
    return json.dumps(
        value, ensure_ascii=False, allow_nan=False, sort_keys=True, separators=(",", ":")
    )


def render_utc(moment: datetime) -> str:
    """Return a moment as ISO 8601 with microseconds; texts sort as the moments do."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def parse_utc(text: str) -> datetime:
    """Read what :func:`render_utc` wrote.

    Raises
    ------
    StoreError
        If it is no time with a zone.
    """
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise StoreError(f"The record holds {text!r} where a time belongs.") from None
    if moment.tzinfo is None:
        raise StoreError(f"The record holds the time {text!r} without its zone.")
    return moment.astimezone(UTC)


def encode_body(body: object) -> dict[str, object]:
    """Return a body as plain JSON values."""
    if not is_dataclass(body):
        raise TypeError(type(body).__name__)
    return {field.name: _plain(getattr(body, field.name)) for field in fields(body)}


def _plain(value: object) -> object:
    if is_dataclass(value):
        return encode_body(value)
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    return value


def decode_body(
    name: str,
    schema: int,
    payload: Mapping[str, object],
    upcasters: Mapping[tuple[str, int], Upcaster] = UPCASTERS,
) -> Body:
    """Build a body from what was kept, from whatever release.

    Parameters
    ----------
    name : str
        Stable name of the event.
    schema : int
        Version it was written in.
    payload : mapping
        As it was kept.
    upcasters : mapping
        How old shapes become newer.

    Returns
    -------
    body : Body
        Of the newest shape.

    Raises
    ------
    StoreError
        If the name or shape is unknown or the payload does not fit it.
    """
    kind = BODIES.get(name)
    if kind is None:
        raise StoreError(
            f"The record holds an event {name!r} that this middlecut does not know. It was written "
            "by a newer release: use that one or a newer."
        )
    if not isinstance(payload, Mapping):
        raise StoreError(f"An event {name!r} of the record is damaged: it is no table.")
    newest = upcast(name, schema, payload, kind.SCHEMA, upcasters)
    try:
        body: Body = _build(kind, newest, name)
    except (TypeError, ValueError) as error:
        raise StoreError(f"An event {name!r} of the record is damaged: {error}.") from None
    return body


@cache
def _shape(kind: type) -> tuple[dict[str, Any], tuple[Field[Any], ...]]:
    return get_type_hints(kind), fields(kind)


def _build(kind: type, value: object, place: str) -> Any:
    if not isinstance(value, Mapping):
        raise TypeError(f"{place} is no table")
    hints, known = _shape(kind)
    names = {field.name for field in known}
    if strange := set(value) - names:
        raise ValueError(f"{place} has an unknown part {min(map(str, strange))}")
    given: dict[str, Any] = {}
    for field in known:
        if field.name in value:
            given[field.name] = _value(hints[field.name], value[field.name], field.name)
        elif field.default is MISSING:
            raise ValueError(f"{place} lacks {field.name}")
    return kind(**given)


def _value(hint: Any, value: object, place: str) -> object:
    origin = get_origin(hint)
    if origin in {Union, types.UnionType}:
        inner = [one for one in get_args(hint) if one is not type(None)]
        return None if value is None else _value(inner[0], value, place)
    if origin is tuple:
        if not isinstance(value, list):
            raise TypeError(f"{place} is no list")
        return tuple(_value(get_args(hint)[0], item, place) for item in value)
    if isinstance(hint, type) and is_dataclass(hint):
        return _build(hint, value, place)
    return _SCALARS[hint](value, place)


def _text(value: object, place: str) -> str:
    if not isinstance(value, str):
        raise TypeError(f"{place} is no text")
    return value


def _flag(value: object, place: str) -> bool:
    if not isinstance(value, bool):
        raise TypeError(f"{place} is neither true nor false")
    return value


def _whole(value: object, place: str) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise TypeError(f"{place} is no whole number")
    return value


def _number(value: object, place: str) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
        raise TypeError(f"{place} is no number")
    return float(value)


_SCALARS: Mapping[type, Callable[[object, str], object]] = {
    str: _text,
    bool: _flag,
    int: _whole,
    float: _number,
}


def to_row(
    draft: Draft,
    *,
    sequence: int,
    stream: str,
    version: int,
    synced_utc: datetime,
    key: str,
    part: int,
    digest_before: str,
) -> Row:
    """Return a draft as the row that is kept.

    Parameters
    ----------
    draft : Draft
    sequence, version : int
        The places it takes in the record and in its stream.
    stream : str
    synced_utc : datetime
        When the record takes it.
    key : str
        Idempotency key.
    part : int
        Place among the events of the key.
    digest_before : str
        Digest of the row before it in the record.

    Returns
    -------
    row : Row
        With its own digest.
    """
    values: dict[str, Any] = {
        "sequence": sequence,
        "stream": stream,
        "version": version,
        "id": draft.id,
        "type": draft.body.NAME,
        "schema": draft.body.SCHEMA,
        "utc": render_utc(draft.utc),
        "entered_utc": render_utc(draft.entered_utc),
        "synced_utc": render_utc(synced_utc),
        "actor": draft.who.actor,
        "device": draft.who.device,
        "key": key,
        "part": part,
        "payload": canonical(encode_body(draft.body)),
    }
    return Row(**values, digest=digest_of(values, digest_before))


def digest_of(values: Mapping[str, object], digest_before: str) -> str:
    """Return the digest that belongs to a row's values after the row before it."""
    kept = {name: value for name, value in values.items() if name != "digest"}
    return hashlib.sha256(f"{digest_before}\n{canonical(kept)}".encode()).hexdigest()


def to_event(row: Row) -> Event:
    """Return a kept row as the event it holds.

    Raises
    ------
    StoreError
        If the row cannot be understood.
    """
    try:
        payload = json.loads(row.payload)
    except ValueError:
        raise StoreError(f"Event {row.sequence} of the record is damaged: no JSON.") from None
    return Event(
        sequence=row.sequence,
        stream=row.stream,
        version=row.version,
        id=row.id,
        type=row.type,
        schema=row.schema,
        utc=parse_utc(row.utc),
        entered_utc=parse_utc(row.entered_utc),
        synced_utc=parse_utc(row.synced_utc),
        who=Who(row.actor, row.device),
        key=row.key,
        body=decode_body(row.type, row.schema, payload),
    )


def row_to_mapping(row: Row) -> dict[str, object]:
    """Return a row as a plain mapping of its fields."""
    return {field.name: getattr(row, field.name) for field in fields(row)}


def row_from_mapping(values: Mapping[str, object]) -> Row:
    """Return the row of a plain mapping, such as a line of an export.

    Raises
    ------
    StoreError
        If a field is missing, unknown or of the wrong kind.
    """
    try:
        row: Row = _build(Row, values, "the row")
    except (TypeError, ValueError) as error:
        raise StoreError(f"A row of the record is damaged: {error}.") from None
    return row
