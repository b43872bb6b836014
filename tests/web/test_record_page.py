# SPDX-License-Identifier: MIT
"""The record: every event, corrections in sight, the account, ways out, the check."""

from __future__ import annotations

import csv
import io
import json
import re
from datetime import timedelta

import pytest
from visitor import StandingClock, Visitor, check_page

from middlecut.adapters.store_memory import MemoryStore
from middlecut.app.batch_events import NoteWritten, StepFinished
from middlecut.app.demo import seed_demo
from middlecut.app.exporting import read_json_lines
from middlecut.app.ports import Document
from middlecut.app.record import Entry, Record
from middlecut.app.use_cases import correct_reading, note, pair_device, withdraw
from middlecut.app.verifying import verify
from middlecut.app.views.history import PAGE, batch_history, history


@pytest.fixture
def batch(record: Record) -> str:
    return seed_demo(record)


def test_an_empty_record_is_shown(visitor: Visitor) -> None:
    answer = visitor.get("/record")
    assert answer.status_code == 200
    check_page(answer)
    assert "Nothing was recorded yet." in answer.text
    assert "Nothing was collected or bottled yet." in answer.text


def test_shows_events_and_account(visitor: Visitor, record: Record, batch: str) -> None:
    answer = visitor.get("/record")
    assert answer.status_code == 200
    check_page(answer)
    assert record.batch(batch).name in answer.text
    assert "2027-0" in answer.text
    assert f"of {record.store.last_sequence()}" in answer.text
    for period in ("quarter", "year", "nonsense"):
        assert visitor.get(f"/record?period={period}").status_code == 200
    assert "2027 Q1" in visitor.get("/record?period=quarter").text


def test_a_page_of_events_leads_to_the_next(record: Record, batch: str) -> None:
    for number in range(PAGE + 20):
        note(record, batch, NoteWritten(f"note {number}"))
    last = record.store.last_sequence()
    seen: list[int] = []
    page = history(record)
    assert page.newer == 0
    while True:
        seen += [row.event.sequence for row in page.rows]
        if not page.older:
            break
        older = history(record, before=page.older)
        assert (
            history(record, before=older.newer).rows[-1].event.sequence
            == page.rows[-1].event.sequence
        )
        page = older
    assert seen == list(range(last, 0, -1))


def test_corrections_and_withdrawals_stay_in_sight(
    visitor: Visitor, record: Record, batch: str
) -> None:
    reading = record.batch(batch).readings("ferment-1")[0]
    fixed = correct_reading(
        record, batch, reading.id, "1.070 SG", temperature="20 °C", reason="slip"
    )
    gone = note(record, batch, NoteWritten("never {mind}"))[0]
    undone = withdraw(record, batch, gone.id, reason="wrong batch")
    rows = {row.event.id: row for row in batch_history(record, record.batch(batch))}
    assert (rows[reading.id].state, rows[reading.id].by) == ("corrected", fixed.sequence)
    assert rows[fixed.id].target == rows[reading.id].event.sequence
    assert rows[fixed.id].step == "ferment-1"
    assert (rows[gone.id].state, rows[gone.id].by) == ("withdrawn", undone.sequence)
    answer = visitor.get(f"/batch/{batch}/record")
    check_page(answer)
    assert "never {mind}" in answer.text
    assert f"{reading.taken.value:.3f} SG becomes 1.070 SG" in answer.text
    assert "wrong batch" in answer.text
    withdraw(record, batch, undone.id)
    rows = {row.event.id: row for row in batch_history(record, record.batch(batch))}
    assert rows[gone.id].state == "holds"


def test_late_entries_say_so(
    visitor: Visitor, record: Record, batch: str, clock: StandingClock
) -> None:
    device = pair_device(record, "red phone", "0" * 64)
    from middlecut.app.events import Who

    early = clock.now() - timedelta(hours=1)
    note(
        record,
        batch,
        NoteWritten("from the cellar"),
        entry=Entry(entered_utc=early, who=Who("", device)),
    )
    rows = batch_history(record, record.batch(batch))
    row = next(one for one in rows if one.device)
    assert (row.late, row.device) == (True, "red phone")
    # In the order of typing, also where one came late: this one was typed an hour before.
    typed = [one.event.entered_utc for one in rows]
    assert typed == sorted(typed, reverse=True)
    text = visitor.get(f"/batch/{batch}/record").text
    assert "From red phone." in text
    assert "reached this computer" in text


def test_a_note_is_kept_once(visitor: Visitor, record: Record, batch: str) -> None:
    sent = {"text": "  clear now  ", "step": "spirit", "entry_key": "n1"}
    for _ in range(2):
        answer = visitor.post(f"/batch/{batch}/record/note", sent)
        assert answer.status_code == 303
    kept = record.batch(batch).of(NoteWritten)
    assert [body for _, body in kept].count(NoteWritten("clear now", "spirit")) == 1


@pytest.mark.parametrize(
    "sent", [{"text": " "}, {"text": "x", "step": "gold"}, {"text": "x" * 10_001}]
)
def test_a_note_that_cannot_be_is_refused(
    visitor: Visitor, record: Record, batch: str, sent: dict[str, str]
) -> None:
    before = record.store.last_sequence()
    answer = visitor.post(f"/batch/{batch}/record/note", sent)
    assert answer.status_code == 422
    check_page(answer)
    assert sent["text"] in answer.text
    assert record.store.last_sequence() == before


def test_withdraws_after_asking(visitor: Visitor, record: Record, batch: str) -> None:
    event, _ = record.batch(batch).of(NoteWritten)[0]
    asked = visitor.get(f"/batch/{batch}/record?withdraw={event.id}")
    check_page(asked)
    assert f"Withdraw entry {event.sequence}" in asked.text
    answer = visitor.post(
        f"/batch/{batch}/record/withdraw", {"target": event.id, "reason": "wrong"}
    )
    assert answer.status_code == 303
    assert not record.batch(batch).entries[event.id].holds


def test_what_others_rest_on_is_not_withdrawn(visitor: Visitor, record: Record, batch: str) -> None:
    opened = next(iter(record.batch(batch).entries))
    for target in (opened, "nothing", ""):
        answer = visitor.post(f"/batch/{batch}/record/withdraw", {"target": target})
        assert answer.status_code == 422
        check_page(answer)
    assert visitor.get(f"/batch/{batch}/record?withdraw=nothing").status_code == 200
    assert visitor.get("/batch/none/record").status_code == 404
    assert visitor.post("/batch/none/record/note", {"text": "x"}).status_code == 404
    assert visitor.post("/batch/none/record/withdraw", {"target": "x"}).status_code == 404


def test_the_backup_can_be_put_back(visitor: Visitor, record: Record, batch: str) -> None:
    answer = visitor.get("/record/events.jsonl")
    assert answer.status_code == 200
    assert 'filename="middlecut-record-2027-03-01.jsonl"' in answer.headers["content-disposition"]
    store = MemoryStore()
    store.load_rows(read_json_lines(answer.text.splitlines(keepends=True)))
    assert store.last_sequence() == record.store.last_sequence()
    assert [row.digest for row in store.rows()] == [row.digest for row in record.store.rows()]


def test_tables_can_be_taken_away(visitor: Visitor, record: Record, batch: str) -> None:
    note(record, batch, NoteWritten("=1+1"))
    rows = list(csv.DictReader(io.StringIO(visitor.get("/record/events.csv").text)))
    assert len(rows) == record.store.last_sequence()
    assert rows[-1]["text"] == "'=1+1"
    lines = list(csv.DictReader(io.StringIO(visitor.get("/record/alcohol.csv").text)))
    kept = json.loads(record.store.documents("alcohol")[batch])
    assert sum(float(line["pure_alcohol_m3"]) for line in lines) == pytest.approx(
        sum(entry["pure_alcohol"] for entry in kept), rel=1e-12
    )


def test_reads_everything_again(visitor: Visitor, record: Record, batch: str) -> None:
    answer = visitor.post("/record/verify")
    assert answer.status_code == 200
    check_page(answer)
    assert "Every event is whole and in its place" in answer.text
    part = visitor.post("/record/verify", headers={"hx-request": "true"})
    assert "<h1" not in part.text
    last = record.store.last_sequence()
    record.store.replace_documents([Document("shed", batch, "{}")], last)
    wrong = visitor.post("/record/verify")
    assert "Not as it should be" in wrong.text
    assert re.search(r'name="mend" value="yes"', wrong.text)
    assert "Put right" in visitor.post("/record/verify", {"mend": "yes"}).text
    assert verify(record.store).problems == ()


def test_script_in_the_record_is_escaped(visitor: Visitor, record: Record, batch: str) -> None:
    note(record, batch, NoteWritten("<script>x</script> {0.__class__}"))
    note(record, batch, StepFinished("spirit", "<b>done</b>"))
    for path in ("/record", f"/batch/{batch}/record"):
        text = visitor.get(path).text
        assert "<script>x" not in text
        assert "<b>done" not in text
        assert "{0.__class__}" in text


def test_strangers_are_refused(phone: Visitor, batch: str) -> None:
    for path in (
        "/record",
        "/record/events.jsonl",
        "/record/events.csv",
        "/record/alcohol.csv",
        f"/batch/{batch}/record",
    ):
        assert phone.get(path).status_code == 403
    for path in (
        "/record/verify",
        f"/batch/{batch}/record/note",
        f"/batch/{batch}/record/withdraw",
    ):
        assert phone.post(path, {"text": "x"}).status_code == 403
    assert phone.get("/record?before=-1").status_code == 403


def test_pages_that_cannot_be_are_refused(visitor: Visitor) -> None:
    assert visitor.get("/record?before=-1").status_code == 422
    assert visitor.get("/record?before=99999999999999999999").status_code == 200


def test_two_times_are_shown_where_they_differ(
    visitor: Visitor, record: Record, batch: str, clock: StandingClock
) -> None:
    before = clock.now() - timedelta(hours=2)
    (written,) = note(record, batch, NoteWritten("the spout cleared"), entry=Entry(utc=before))
    clock.pass_by(minutes=3)
    withdraw(record, batch, written.id, reason="another day")
    page = visitor.get(f"/batch/{batch}/record").text
    assert "Entered <time" in page
    book = visitor.get(f"/batch/{batch}/book")
    check_page(book)
    rows = [row for row in re.findall(r"<tr>.*?</tr>", book.text, re.DOTALL) if "spout" in row]
    assert len(rows) == 2
    assert "withdrawn since: the spout cleared" in rows[0]
    assert "(entered " in rows[0]
    assert "withdrew the entry: the spout cleared" in rows[1]
    assert "(entered " not in rows[1]


def test_tables_have_no_noise_of_binary_numbers(visitor: Visitor, batch: str) -> None:
    for path in ("/record/alcohol.csv", "/record/events.csv"):
        rows = list(csv.reader(io.StringIO(visitor.get(path).text)))
        cells = [cell for row in rows for cell in row if re.fullmatch(r"[\d.e-]+", cell)]
        long = [cell for cell in cells if len(re.sub(r"^0\.0*|[.-]|e.*", "", cell)) > 9]
        assert [cell for cell in long if "." in cell] == []
