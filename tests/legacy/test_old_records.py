# SPDX-License-Identifier: MIT
"""Records of every release load for ever, and mean the same."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from dataclasses import fields
from pathlib import Path

import pytest

from middlecut.adapters.store_memory import MemoryStore
from middlecut.adapters.store_sql import SqlStore
from middlecut.adapters.system import RandomIds, SystemClock
from middlecut.app.batch_events import NoteWritten
from middlecut.app.codec import decode_body
from middlecut.app.events import BODIES
from middlecut.app.exporting import json_lines, read_json_lines
from middlecut.app.ports import Store
from middlecut.app.projections import PROJECTIONS
from middlecut.app.record import Record
from middlecut.app.upcasting import Payload, upcast
from middlecut.app.verifying import rebuild, verify
from middlecut.errors import StoreError

DATA = Path(__file__).parent / "data"
RELEASES = sorted(path.name for path in DATA.iterdir())


def documents(store: Store) -> object:
    """Return all projections of a record."""
    return {
        name: {key: json.loads(text) for key, text in store.documents(name).items()}
        for name in PROJECTIONS
    }


def assert_agrees(kept: object, now: object) -> None:
    """Compare what a release said with what is said now; later parts may have been added."""
    if isinstance(kept, dict):
        assert isinstance(now, dict)
        for key, value in kept.items():
            assert_agrees(value, now[key])
    elif isinstance(kept, list):
        assert isinstance(now, list)
        assert len(now) == len(kept)
        for old, new in zip(kept, now, strict=True):
            assert_agrees(old, new)
    else:
        # Numbers of alcoholometry agree far within the last digit of any instrument.
        assert now == (pytest.approx(kept, rel=1e-9) if isinstance(kept, float) else kept)


@pytest.mark.parametrize("release", RELEASES)
def test_an_old_file_opens_verifies_and_goes_on(release: str, tmp_path: Path) -> None:
    path = tmp_path / "record.sqlite"
    with closing(sqlite3.connect(path)) as connection:
        connection.executescript((DATA / release / "record.sql").read_text(encoding="utf-8"))
    store = SqlStore(path)
    rebuild(store)  # projections may have changed since; events have not
    assert verify(store).problems == ()
    record = Record(store, SystemClock(), RandomIds())
    (stream,) = store.streams("batch")
    batch = stream.partition("/")[2]
    before = record.batch(batch).version
    record.keep(stream, (NoteWritten("opened again"),))
    assert record.batch(batch).version == before + 1
    assert verify(store).problems == ()
    store.close()


@pytest.mark.parametrize("release", RELEASES)
def test_old_events_mean_the_same(release: str) -> None:
    lines = (DATA / release / "events.jsonl").read_text(encoding="utf-8").splitlines(keepends=True)
    store = MemoryStore()
    assert store.load_rows(read_json_lines(lines)) == len(lines)
    rebuild(store)
    kept = json.loads((DATA / release / "projections.json").read_text(encoding="utf-8"))
    assert_agrees(kept, documents(store))
    assert list(json_lines(store.rows())) == lines


def test_the_fixtures_of_the_newest_release_have_every_event() -> None:
    text = (DATA / RELEASES[-1] / "events.jsonl").read_text(encoding="utf-8")
    assert {json.loads(line)["type"] for line in text.splitlines()} == set(BODIES)


def test_every_name_and_shape_in_use_is_the_newest_fixtures() -> None:
    # Changing a body without raising its schema would strand records: then this fails, because
    # what a release wrote no longer fits the shape that carries the same number.
    for line in (DATA / RELEASES[-1] / "events.jsonl").read_text(encoding="utf-8").splitlines():
        values = json.loads(line)
        kind = BODIES[values["type"]]
        if values["schema"] == kind.SCHEMA:
            assert set(values["payload"]) == {field.name for field in fields(kind)}


def older(payload: Payload) -> Payload:
    """Shape 1 said "remark"; shape 2 says "text"."""
    payload["text"] = payload.pop("remark")
    return payload


def longer(payload: Payload) -> Payload:
    """Shape 3 has a step too."""
    return {**payload, "step": None}


TABLE = {("note.written", 1): older, ("note.written", 2): longer}


def test_old_shapes_go_step_by_step_to_the_newest() -> None:
    kept = {"remark": "hello"}
    assert upcast("note.written", 1, kept, 3, TABLE) == {"text": "hello", "step": None}
    assert upcast("note.written", 2, {"text": "hello"}, 3, TABLE) == {"text": "hello", "step": None}
    assert kept == {"remark": "hello"}
    with pytest.raises(StoreError, match="newer release"):
        upcast("note.written", 4, kept, 3, TABLE)
    with pytest.raises(StoreError, match="from shape 1 on"):
        upcast("note.written", 1, kept, 3, {})


@pytest.mark.parametrize(
    ("name", "payload", "words"),
    [
        ("note.sung", {"text": "x"}, "does not know"),
        ("note.written", {"txet": "x"}, "unknown part txet"),
        ("note.written", {}, "lacks text"),
        ("note.written", {"text": 5}, "text is no text"),
        ("note.written", [1], "no table"),
        (
            "bottles.filled",
            {"step": "s", "count": 1.5, "bottle_volume": 1, "strength": 0.4},
            "whole",
        ),
        (
            "bottles.filled",
            {"step": "s", "count": 1, "bottle_volume": "1", "strength": 0.4},
            "number",
        ),
        ("hearts.chosen", {"step": "s", "jars": "1", "lot": "x"}, "no list"),
        ("still.calibrated", {"values": [], "trustworthy": 1}, "neither true nor false"),
    ],
)
def test_damaged_events_are_told(name: str, payload: Payload, words: str) -> None:
    with pytest.raises(StoreError, match=words):
        decode_body(name, 1, payload)
