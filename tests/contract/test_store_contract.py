# SPDX-License-Identifier: MIT
"""What every store promises (app/ports.py), on memory, SQLite and PostgreSQL alike."""

from __future__ import annotations

import threading
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from middlecut.app.batch_events import BatchOpened, NoteWritten
from middlecut.app.events import Draft, Event, Who
from middlecut.app.ports import Document, Store
from middlecut.errors import ConflictError, StoreError

T0 = datetime(2027, 3, 1, 9, 30, 0, 123456, tzinfo=UTC)


def draft(number: int, text: str = "") -> Draft:
    """Return a note whose id and words follow from a number."""
    return Draft(
        f"id-{number}", NoteWritten(text or f"note {number}"), T0, T0 + timedelta(seconds=1),
        Who("A person", "a phone"),
    )  # fmt: skip


def append(store: Store, number: int, *, version: int, stream: str = "batch/a") -> Event:
    """Append one note."""
    return store.append(stream, version, [draft(number)], f"key-{number}", synced_utc=T0)[0]


def test_what_went_in_comes_out(store: Store) -> None:
    synced = T0 + timedelta(hours=2)
    made = store.append("batch/a", 0, [draft(1), draft(2)], "key", synced_utc=synced)
    again = store.read_stream("batch/a")
    assert again == made
    first = again[0]
    assert (first.sequence, first.version, first.stream) == (1, 1, "batch/a")
    assert (first.utc, first.entered_utc, first.synced_utc) == (T0, T0 + timedelta(0, 1), synced)
    assert (first.type, first.schema, first.who) == (
        "note.written",
        1,
        Who("A person", "a phone"),
    )
    assert first.body == NoteWritten("note 1")


def test_an_empty_record(store: Store) -> None:
    assert store.read_all() == ()
    assert store.read_stream("batch/a") == ()
    assert store.find_key("key") == ()
    assert store.last_sequence() == 0
    assert store.streams("batch") == ()
    assert dict(store.documents("shed")) == {}
    assert list(store.rows()) == []


def test_versions_count_by_stream_and_sequences_over_all(store: Store) -> None:
    append(store, 1, version=0)
    append(store, 2, version=0, stream="batch/b")
    append(store, 3, version=1)
    found = [(event.sequence, event.stream, event.version) for event in store.read_all()]
    assert found == [(1, "batch/a", 1), (2, "batch/b", 1), (3, "batch/a", 2)]
    assert [event.version for event in store.read_stream("batch/a", 1)] == [2]
    assert [event.sequence for event in store.read_all(1)] == [2, 3]
    assert [event.sequence for event in store.read_all(0, 2)] == [1, 2]
    assert [row.sequence for row in store.rows(2)] == [3]
    assert store.last_sequence() == 3


@pytest.mark.parametrize("version", [0, 2, 99])
def test_a_stale_or_foreseen_version_is_refused(store: Store, version: int) -> None:
    append(store, 1, version=0)
    with pytest.raises(ConflictError, match="Somebody else was first"):
        append(store, 2, version=version)
    assert store.last_sequence() == 1


def test_the_same_key_gives_back_the_first_result(store: Store) -> None:
    first = append(store, 1, version=0)
    again = replace(draft(1), id="another id", utc=T0 + timedelta(days=1))
    assert store.append("batch/a", 7, [again], "key-1", synced_utc=T0) == (first,)
    assert store.find_key("key-1") == (first,)
    assert store.last_sequence() == 1


def test_a_key_is_not_used_for_something_else(store: Store) -> None:
    append(store, 1, version=0)
    with pytest.raises(ConflictError, match="already used"):
        store.append("batch/a", 1, [draft(2)], "key-1", synced_utc=T0)
    with pytest.raises(ConflictError, match="already used"):
        store.append("batch/b", 0, [draft(1)], "key-1", synced_utc=T0)
    assert store.last_sequence() == 1


def test_all_or_nothing(store: Store) -> None:
    append(store, 1, version=0)
    twin = draft(1)  # its id is taken: the second of the two cannot be kept
    with pytest.raises(StoreError):
        store.append("batch/a", 1, [draft(2), twin], "key-2", synced_utc=T0,
                     documents=[Document("shed", "a", "{}")])  # fmt: skip
    assert store.last_sequence() == 1
    assert dict(store.documents("shed")) == {}
    assert append(store, 3, version=1).version == 2


def test_nothing_to_keep_is_refused(store: Store) -> None:
    with pytest.raises(StoreError):
        store.append("batch/a", 0, [], "key", synced_utc=T0)


def test_documents_go_with_their_events(store: Store) -> None:
    one, two = Document("shed", "a", '{"n":1}'), Document("shed", "a", '{"n":2}')
    two_of_b = [Document("shed", "b", "{}"), Document("alcohol", "b", "[]")]
    store.append("batch/a", 0, [draft(1)], "k1", synced_utc=T0, documents=[one])
    store.append("batch/b", 0, [draft(2)], "k2", synced_utc=T0,
                 documents=two_of_b)  # fmt: skip
    store.append("batch/a", 1, [draft(3)], "k3", synced_utc=T0, documents=[two])
    assert dict(store.documents("shed")) == {"a": '{"n":2}', "b": "{}"}
    assert dict(store.documents("alcohol")) == {"b": "[]"}


def test_documents_can_be_computed_again(store: Store) -> None:
    stale = [Document("shed", "a", "1"), Document("old", "x", "2")]
    store.append("batch/a", 0, [draft(1)], "k1", synced_utc=T0, documents=stale)
    store.replace_documents([Document("shed", "a", "3")], 1)
    assert (dict(store.documents("shed")), dict(store.documents("old"))) == ({"a": "3"}, {})
    with pytest.raises(ConflictError, match="grown on"):
        store.replace_documents([], 0)
    assert dict(store.documents("shed")) == {"a": "3"}


def test_streams_of_a_kind(store: Store) -> None:
    for number, stream in enumerate(("batch/b", "workshop", "batch/a", "batchless/x", "batch/b")):
        append(store, number, version=number // 4, stream=stream)
    assert store.streams("batch") == ("batch/b", "batch/a")
    assert store.streams("workshop") == ("workshop",)
    assert store.streams("still") == ()


def test_listeners_hear_of_what_is_in_the_record(store: Store) -> None:
    heard: list[int] = []

    def listen(events: tuple[Event, ...]) -> None:
        # Told after the commit: the record already has it.
        heard.extend(event.sequence for event in events if store.read_all(event.sequence - 1))

    leave = store.subscribe(listen)
    append(store, 1, version=0)
    with pytest.raises(ConflictError):
        append(store, 2, version=0)
    append(store, 1, version=1)  # the same key: nothing new to tell
    leave()
    leave()
    append(store, 3, version=1)
    assert heard == [1]


@pytest.mark.parametrize(
    "text",
    [
        "ökologisch 酒 🍊",
        "a 'quote' \"and\" \\ %s :x ; --",
        "<script>alert(1)</script>",
        "\n\t",
        "x" * 20_000,
    ],
)
def test_words_are_kept_as_they_are(store: Store, text: str) -> None:
    store.append("batch/ü 'x'", 0, [draft(1, text)], "key;'", synced_utc=T0)
    assert store.read_stream("batch/ü 'x'")[0].body == NoteWritten(text)
    assert store.find_key("key;'")[0].body == NoteWritten(text)


def test_rows_fill_an_empty_record_and_only_that(store: Store) -> None:
    from middlecut.adapters.store_memory import MemoryStore

    source = MemoryStore()
    for number in range(5):
        append(source, number, version=number)
    assert store.load_rows(source.rows()) == 5
    assert store.read_all() == source.read_all()
    with pytest.raises(ConflictError, match="empty"):
        store.load_rows(source.rows())
    assert append(store, 9, version=5).sequence == 6
    assert [row.digest for row in source.rows()] == [row.digest for row in store.rows()][:5]


@pytest.mark.parametrize("change", ["payload", "gap", "utc"])
def test_damaged_rows_are_refused_whole(store: Store, change: str) -> None:
    from middlecut.adapters.store_memory import MemoryStore

    source = MemoryStore()
    for number in range(4):
        append(source, number, version=number)
    rows = list(source.rows())
    if change == "gap":
        del rows[1]
    elif change == "payload":
        rows[2] = replace(rows[2], payload='{"step":null,"text":"forged"}')
    else:
        rows[2] = replace(rows[2], utc="2020-01-01T00:00:00.000000Z")
    with pytest.raises(StoreError, match=r"gap before|damaged or changed"):
        store.load_rows(rows)
    assert store.last_sequence() == 0


def test_six_threads_of_forty_read_modify_writes_lose_nothing(store: Store) -> None:
    # Each write depends on what was read: 240 must come out, each version once.
    store.append("batch/a", 0, [Draft("0", BatchOpened("0"), T0, T0)], "k", synced_utc=T0)
    faults: list[Exception] = []

    def work(worker: int) -> None:
        try:
            for turn in range(40):
                while True:
                    version = len(store.read_stream("batch/a"))
                    one = Draft(f"{worker}-{turn}", NoteWritten(str(version)), T0, T0)
                    try:
                        store.append("batch/a", version, [one], one.id, synced_utc=T0)
                    except ConflictError:
                        continue
                    break
        except (StoreError, ConflictError) as fault:
            faults.append(fault)

    threads = [threading.Thread(target=work, args=(worker,)) for worker in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert faults == []
    events = store.read_stream("batch/a")
    assert [event.version for event in events] == list(range(1, 242))
    assert [event.sequence for event in events] == list(range(1, 242))
    # What each wrote is what it had read: nothing came between.
    assert [event.body for event in events[1:]] == [NoteWritten(str(n)) for n in range(1, 241)]
