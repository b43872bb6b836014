# SPDX-License-Identifier: MIT
"""The use cases on every store: from a plan's text to a batch, and what happens to retries."""

from __future__ import annotations

import threading
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from middlecut.adapters.store_memory import MemoryStore
from middlecut.adapters.system import RandomIds, SystemClock
from middlecut.app import use_cases as do
from middlecut.app.batch import replay
from middlecut.app.batch_events import NoteWritten, StepStarted
from middlecut.app.events import Event, Who
from middlecut.app.ports import Store
from middlecut.app.projections import documents_of
from middlecut.app.record import Entry, Record
from middlecut.app.shop_events import FittedValue, StillCalibrated
from middlecut.app.spirit_events import JarFilled
from middlecut.app.verifying import rebuild, verify
from middlecut.errors import ConflictError, InputError, NotFoundError, PlanError, StoreError
from middlecut.plan.examples import example_path

PLAN = example_path().read_text(encoding="utf-8")
STILL = """
[still.pot]
boiler_volume = "5 L"
heater_power = "1 kW"
"""


class Clock:
    """A clock that goes a second on at every look."""

    def __init__(self) -> None:
        self.moment = datetime(2027, 3, 1, 9, tzinfo=UTC)

    def now(self) -> datetime:
        self.moment += timedelta(seconds=1)
        return self.moment


@pytest.fixture
def record(store: Store) -> Record:
    return Record(store, Clock(), RandomIds())


@pytest.fixture
def batch(record: Record) -> str:
    name = do.open_batch(record, PLAN, origin="example demo")
    do.note(record, name, StepStarted("spirit"))
    return name


def test_a_batch_opens_from_a_plan(record: Record) -> None:
    batch = do.open_batch(record, PLAN, origin="example demo", entry=Entry(who=Who("A", "tablet")))
    state = record.batch(batch)
    assert state.name == "Quarry Lane, rye with cacao and orange, batch 1"
    assert state.plan is not None
    assert state.plan.text == PLAN
    assert [event.type for event in state.holding()] == ["batch.opened", "plan.adopted"]
    assert list(record.store.documents("shed")) == [batch]
    assert record.store.streams("batch") == (f"batch/{batch}",)


def test_a_broken_plan_opens_and_harms_nothing(record: Record, batch: str) -> None:
    before = record.batch(batch)
    broken = PLAN.replace('"18 L"', '"18 kg"')
    with pytest.raises(PlanError):
        do.open_batch(record, broken)
    with pytest.raises(PlanError):
        do.adopt_plan(record, batch, broken)
    assert record.batch(batch) == before
    assert len(record.store.streams("batch")) == 1


def test_another_plan_is_adopted(record: Record, batch: str) -> None:
    changed = PLAN.replace('"45 %vol"', '"43 %vol"')
    do.adopt_plan(record, batch, changed, reason="cleaner tails last time")
    plan = record.batch(batch).plan
    assert plan is not None
    assert (plan.text, plan.reason) == (changed, "cleaner tails last time")


def test_the_same_entry_sent_twice_is_kept_once(record: Record, batch: str) -> None:
    entry = Entry(key="from a phone", entered_utc=datetime(2027, 3, 1, 8, tzinfo=UTC))

    def send() -> Event:
        return do.take_reading(
            record, batch, "spirit", "strength", "72,5 %vol", temperature="22 °C", entry=entry
        )

    first, again = send(), send()
    assert again == first
    assert first.synced_utc > first.entered_utc == first.utc == entry.entered_utc
    # Another process, which has nothing in memory, answers the same.
    other = Record(record.store, Clock(), RandomIds())
    assert (
        do.take_reading(
            other, batch, "spirit", "strength", "72,5 %vol", temperature="22 °C", entry=entry
        )
        == first
    )
    assert len(record.batch(batch).readings()) == 1
    with pytest.raises(ConflictError, match="already used"):
        do.note(record, batch, NoteWritten("other"), entry=entry)


def test_a_retry_is_answered_even_when_the_batch_has_gone_on(record: Record, batch: str) -> None:
    jar = JarFilled("spirit", "1", 2.5e-4)
    first = do.note(record, batch, jar, entry=Entry(key="jar one"))
    # Deciding again would refuse it (the jar is there); the key says it is the same entry.
    assert do.note(record, batch, jar, entry=Entry(key="jar one")) == first
    with pytest.raises(InputError, match="already filled"):
        do.note(record, batch, jar, entry=Entry(key="another"))
    assert do.open_batch(record, PLAN, entry=Entry(key="new")) == do.open_batch(
        record, PLAN, entry=Entry(key="new")
    )


def test_a_stale_edit_is_told_and_keeps_nothing(record: Record, batch: str) -> None:
    seen = record.batch(batch).version
    do.note(record, batch, NoteWritten("by another person"))
    with pytest.raises(ConflictError, match=f"version {seen}"):
        do.adopt_plan(record, batch, PLAN, reason="mine", entry=Entry(seen=seen))
    assert record.batch(batch).version == seen + 1
    do.adopt_plan(record, batch, PLAN, reason="mine", entry=Entry(seen=seen + 1))


def test_readings_are_corrected_and_withdrawn(record: Record, batch: str) -> None:
    taken = do.take_reading(record, batch, "spirit", "volume", "250 mL", lot="hearts")
    do.correct_reading(record, batch, taken.id, "260 mL", reason="meniscus")
    assert record.batch(batch).readings()[0].taken.value == pytest.approx(2.6e-4)
    gone = do.withdraw(record, batch, taken.id)
    assert record.batch(batch).readings() == ()
    with pytest.raises(NotFoundError):
        do.correct_reading(record, batch, taken.id, "1 mL")
    do.withdraw(record, batch, gone.id)
    assert record.batch(batch).readings()[0].taken.value == pytest.approx(2.6e-4)


def test_a_still_is_described_and_calibrated(record: Record) -> None:
    with pytest.raises(NotFoundError):
        record.still("pot")
    do.describe_still(record, "pot", STILL)
    with pytest.raises(PlanError):
        do.describe_still(record, "pot", STILL.replace('"5 L"', '"5 kW"'))
    with pytest.raises(InputError, match="describes pot"):
        do.describe_still(record, "column", STILL)
    fit = StillCalibrated((FittedValue("stages", 2.3, 0.2),), trustworthy=True, batch="b")
    record.keep("still/pot", (fit,))
    assert record.still("pot").calibrated == (fit,)
    do.describe_still(record, "pot", STILL.replace("1 kW", "1.2 kW"), reason="new heater")
    assert record.still("pot").calibrated == ()
    with pytest.raises(NotFoundError):
        record.keep("still/column", (fit,))


def test_settings(record: Record) -> None:
    assert record.workshop().setting("units") == "metric"
    do.change_setting(record, "units", "us")
    do.change_setting(record, "altitude", "1,3 km")
    assert record.workshop().setting("units") == "us"
    for setting, value in (("units", "imperial"), ("altitude", "9 km"), ("currency", "euro")):
        with pytest.raises(InputError):
            do.change_setting(record, setting, value)
    with pytest.raises(NotFoundError):
        do.change_setting(record, "colour", "red")
    do.change_setting(record, "units", "")
    assert record.workshop().setting("units") == "metric"


def test_devices(record: Record) -> None:
    digest = "ab" * 32
    device = do.pair_device(record, "kitchen tablet", digest, entry=Entry(key="pair"))
    assert do.pair_device(record, "kitchen tablet", digest, entry=Entry(key="pair")) == device
    found = record.workshop().device_of(digest)
    assert found is not None
    assert found.paired.name == "kitchen tablet"
    do.revoke_device(record, device, reason="lost")
    assert record.workshop().device_of(digest) is None
    with pytest.raises(NotFoundError):
        do.revoke_device(record, device)
    with pytest.raises(InputError, match="64 hexadecimal"):
        do.pair_device(record, "phone", "the secret itself")


def test_facts_go_where_they_belong(record: Record, batch: str) -> None:
    with pytest.raises(InputError):
        record.keep("workshop", (NoteWritten("x"),))
    with pytest.raises(InputError):
        record.keep("still/pot", (NoteWritten("x"),))
    with pytest.raises(NotFoundError):
        record.keep("elsewhere", (NoteWritten("x"),))
    with pytest.raises(InputError, match="nothing to record"):
        record.keep(f"batch/{batch}", ())


def test_projections_are_what_replay_gives(record: Record, batch: str) -> None:
    do.note(record, batch, JarFilled("spirit", "1", 2.5e-4, 0.7, 296.0, "20C", "hearts"))
    taken = do.take_reading(record, batch, "spirit", "volume", "250 mL", lot="tails")
    do.withdraw(record, batch, taken.id)
    do.open_batch(record, PLAN, name="a second one")
    do.change_setting(record, "units", "us")
    state = replay(batch, record.store.read_stream(f"batch/{batch}"))
    assert state == record.batch(batch)
    for document in documents_of(state):
        assert record.store.documents(document.name)[document.key] == document.content
    verdict = verify(record.store)
    assert (verdict.problems, verdict.damaged, verdict.streams) == ((), False, 3)
    kept = dict(record.store.documents("shed"))
    record.store.replace_documents([], record.store.last_sequence())
    assert len(verify(record.store).problems) == 4  # two projections of two batches
    assert rebuild(record.store) == 4
    assert dict(record.store.documents("shed")) == kept
    assert verify(record.store).problems == ()


def test_several_processes_and_threads_lose_nothing(record: Record, batch: str) -> None:
    # Three records on one store stand for three processes: each has its own memory.
    records = [record, *(Record(record.store, SystemClock(), RandomIds()) for _ in range(2))]
    faults: list[BaseException] = []

    def work(worker: int) -> None:
        try:
            for number in range(15):
                do.note(records[worker % 3], batch, NoteWritten(f"{worker}/{number}"))
        except MiddlecutFault as fault:
            faults.append(fault)

    threads = [threading.Thread(target=work, args=(worker,)) for worker in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert faults == []
    texts = {body.text for _, body in records[1].batch(batch).of(NoteWritten)}
    assert len(texts) == 90
    assert verify(record.store).problems == ()


MiddlecutFault = (ConflictError, StoreError, InputError)


def test_a_store_that_never_gets_a_turn_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("middlecut.app.record.TRIES", 10)
    store = MemoryStore()
    record = Record(store, Clock(), RandomIds())
    batch = do.open_batch(record, PLAN)
    intruder = Record(store, Clock(), RandomIds())
    append = store.append

    def late(stream: str, *rest: Any, **more: Any) -> tuple[Event, ...]:
        monkeypatch.setattr(store, "append", append)
        do.note(intruder, batch, NoteWritten("always first"))
        monkeypatch.setattr(store, "append", late)
        return append(stream, *rest, **more)

    monkeypatch.setattr(store, "append", late)
    with pytest.raises(StoreError, match="too busy"):
        do.note(record, batch, NoteWritten("never"))
