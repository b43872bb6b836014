# SPDX-License-Identifier: MIT
"""The shed: batches, what is due, and where a batch begins."""

from __future__ import annotations

from datetime import timedelta

import icalendar
import pytest
from bench_plan import PLAN, begin
from visitor import StandingClock, Visitor, check_page

from middlecut.app.batch_events import ReadingTaken, StepStarted
from middlecut.app.record import Entry, Record
from middlecut.app.spirit_events import AdditionMade, WoodSampled
from middlecut.app.use_cases import note, open_batch
from middlecut.app.views import due
from middlecut.app.views.due import shed_rows
from middlecut.app.views.ferment import ferment_view
from middlecut.app.views.frame import step_frame
from middlecut.errors import ConvergenceError
from middlecut.plan.examples import example_names, example_path
from middlecut.steps.gravity_course import FINISHED_FRACTION, gravity_course

DEMO = example_path("demo").read_text(encoding="utf-8")


def opened(visitor: Visitor) -> str:
    answer = visitor.post("/new", {"example": "demo", "entry_key": "k"})
    assert answer.status_code == 303
    return answer.headers["location"].removeprefix("/batch/").partition("?")[0]


def test_an_empty_shed_says_how_to_begin(visitor: Visitor) -> None:
    answer = visitor.get("/")
    assert answer.status_code == 200
    check_page(answer)
    assert "Begin a batch" in answer.text


def test_a_first_view_is_light(visitor: Visitor) -> None:
    # DESIGN section 10: first view at most 250 kB. Uncompressed here, so it is less on the way.
    page = visitor.get("/")
    parts = ["look.css", "parts.css", "print.css", "start.js", "chart.js", "events.js", "mark.svg"]
    parts += ["vendor/htmx.js"]
    size = len(page.content) + sum(len(visitor.get(f"/static/{one}").content) for one in parts)
    assert 10_000 < size < 250_000


@pytest.mark.parametrize("name", example_names())
def test_every_example_opens(visitor: Visitor, name: str) -> None:
    answer = visitor.post("/new", {"example": name})
    assert answer.status_code == 303
    page = visitor.get(answer.headers["location"])
    assert page.status_code == 200
    check_page(page)
    assert "The batch is open." in page.text


def test_sending_the_form_twice_opens_one_batch(visitor: Visitor) -> None:
    assert opened(visitor) == opened(visitor)
    assert visitor.get("/").text.count("<h3>") == 1


def test_a_pasted_text_opens(visitor: Visitor, record: Record) -> None:
    answer = visitor.post("/new", {"plan_text": DEMO.replace("\n", "\r\n")})
    assert answer.status_code == 303
    batch = answer.headers["location"].removeprefix("/batch/").partition("?")[0]
    plan = record.batch(batch).plan
    assert plan is not None
    assert plan.text == DEMO


def test_an_upload_opens(visitor: Visitor) -> None:
    files = {"plan_file": ("my.toml", b"\xef\xbb\xbf" + DEMO.encode())}
    assert visitor.post("/new", files=files).status_code == 303


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"\xff\xfe\x00plan", "UTF-8"),
        (b"", "put right"),
        (b"[batch]\nname = 3\n", "put right"),
        (b"\x00\x01\x02", "no text"),
        (b"a" * 100_000, "put right"),
    ],
)
def test_a_broken_upload_opens_nothing(
    visitor: Visitor, record: Record, content: bytes, said: str
) -> None:
    answer = visitor.post("/new", files={"plan_file": ("../../evil<b>.toml", content)})
    assert answer.status_code == 422
    check_page(answer)
    assert said in answer.text
    assert record.store.last_sequence() == 0


def test_nothing_given_is_said(visitor: Visitor) -> None:
    answer = visitor.post("/new", {"plan_text": "  "})
    assert answer.status_code == 422
    check_page(answer)
    assert "a plan is needed" in answer.text


def test_an_unknown_example_is_said(visitor: Visitor) -> None:
    answer = visitor.post("/new", {"example": "../demo"})
    assert answer.status_code == 422
    check_page(answer)


def test_a_broken_text_comes_back_with_lines(visitor: Visitor, record: Record) -> None:
    text = DEMO.replace('power = "60 %"', 'power = "<script>"')
    answer = visitor.post("/new", {"plan_text": text})
    assert answer.status_code == 422
    check_page(answer)
    line = text[: text.index("<script>")].count("\n") + 1
    assert f"Line {line}" in answer.text
    assert "<script>&#34;" not in answer.text
    assert "&lt;script&gt;" in answer.text
    assert record.store.last_sequence() == 0


def events_of(visitor: Visitor) -> list[icalendar.Event]:
    answer = visitor.get("/due.ics")
    assert answer.headers["content-type"].startswith("text/calendar")
    calendar = icalendar.Calendar.from_ical(answer.content)
    return [part for part in calendar.walk() if isinstance(part, icalendar.Event)]


def test_what_is_due_is_shown_and_goes_into_a_calendar(
    visitor: Visitor, record: Record, clock: StandingClock
) -> None:
    batch = opened(visitor)
    note(record, batch, StepStarted("ferment-1"), entry=Entry(utc=clock.moment))
    page = visitor.get("/")
    check_page(page)
    assert "The fermentation should be done" in page.text
    assert 'class="badge soon"' in page.text
    # By the usual course, and not only at the end of the 6 d the plan waits.
    due = gravity_course(295.15).time_at_attenuation(FINISHED_FRACTION).typical
    events = events_of(visitor)
    assert events[0].decoded("dtstart") == (clock.moment + timedelta(seconds=due)).replace(
        microsecond=0
    )
    assert "expected between" in str(events[0]["description"])
    assert len({str(event["uid"]) for event in events}) == len(events) == 2
    clock.pass_by(days=3)
    assert 'class="badge overdue"' in visitor.get("/").text


def gravity(record: Record, batch: str, clock: StandingClock, hours: float, value: float) -> None:
    body = ReadingTaken("ferment-1", "gravity", value, 293.15, instrument="hydrometer")
    note(record, batch, body, entry=Entry(utc=clock.moment + timedelta(hours=hours)))


def test_the_shed_and_the_page_of_the_step_say_the_same_date(
    visitor: Visitor, record: Record, clock: StandingClock
) -> None:
    batch = opened(visitor)
    note(record, batch, StepStarted("ferment-1"), entry=Entry(utc=clock.moment - timedelta(days=2)))
    for hours, value in ((-47.8, 1.062), (-24.0, 1.052), (-2.0, 1.034)):  # slower than usual
        gravity(record, batch, clock, hours, value)
    state = record.batch(batch)
    view = ferment_view(step_frame(state, "ferment-1"), clock.moment)
    done = view.milestones[1].at
    (item,) = (
        item
        for row in shed_rows(record, now=clock.moment)
        for item in row.due
        if item.key == "done"
    )
    assert item.at == done
    assert (item.low, item.high) == (view.milestones[1].low, view.milestones[1].high)
    usual = gravity_course(295.15).time_at_attenuation(FINISHED_FRACTION).typical
    assert done is not None
    assert done > clock.moment - timedelta(days=2) + timedelta(seconds=1.3 * usual)
    assert events_of(visitor)[0].decoded("dtstart") == done.replace(microsecond=0)


def test_days_without_a_reading_are_told(
    visitor: Visitor, record: Record, clock: StandingClock
) -> None:
    batch = opened(visitor)
    note(record, batch, StepStarted("ferment-1"), entry=Entry(utc=clock.moment - timedelta(days=4)))
    assert "4 days without a reading: read the gravity" in visitor.get("/").text
    gravity(record, batch, clock, -1.0, 1.020)
    assert "without a reading" not in visitor.get("/").text


def test_when_it_was_seen_to_be_done_no_more_is_asked(
    visitor: Visitor, record: Record, clock: StandingClock
) -> None:
    batch = opened(visitor)
    note(record, batch, StepStarted("ferment-1"), entry=Entry(utc=clock.moment - timedelta(days=9)))
    for days, value in ((9.0, 1.062), (8.0, 1.038), (6.5, 1.011), (5.0, 1.008), (4.0, 1.008)):
        gravity(record, batch, clock, 0.2 - 24.0 * days, value)
    page = visitor.get("/").text
    assert "without a reading" not in page
    assert "should be done: read" not in page
    assert "The wash should be clear: draw it off" in page


def test_a_late_addition_is_due_until_it_went_in(
    visitor: Visitor, record: Record, clock: StandingClock
) -> None:
    batch = begin(record)
    fresh = open_batch(record, PLAN)
    note(record, fresh, StepStarted("wash"), entry=Entry(utc=clock.moment))
    words = "Cacao nibs, roasted goes in: 90 % of the fall in gravity should be done"
    page = visitor.get("/").text
    assert page.count(words) == 1  # of the other batch the wash is over
    assert batch not in page[page.index(words) - 200 : page.index(words)]
    outline = next(one.outline for one in record.batch(fresh).steps() if one.outline.step == "wash")
    assert outline.due[0].what == words.replace("Cacao", "cacao")
    made = AdditionMade("wash", "cacao nibs, roasted", 0.04, "wash-late")
    note(record, fresh, made, entry=Entry(utc=clock.moment))
    assert words not in visitor.get("/").text


def test_a_name_with_script_is_escaped(visitor: Visitor) -> None:
    text = DEMO.replace("Quarry Lane, rye", "<script>alert(1)</script>")
    batch = visitor.post("/new", {"plan_text": text}).headers["location"].partition("?")[0]
    for path in ("/", batch, f"{batch}/plan", f"{batch}/plan/form"):
        page = visitor.get(path)
        check_page(page)
        assert "<script>alert" not in page.text
        assert "&lt;script&gt;alert" in page.text


def test_an_example_takes_height_and_currency_of_the_workshop(
    visitor: Visitor, record: Record
) -> None:
    visitor.post("/settings", {"altitude": "700 m", "currency": "usd"})
    plan = record.batch(opened(visitor)).plan
    assert plan is not None
    note, _, text = plan.text.partition("\n")
    assert "put in your own" in note
    wanted = DEMO.replace('"140 m"', '"700 m"').replace('"EUR"', '"USD"').replace(" EUR/", " USD/")
    assert text == wanted
    assert "USD" in visitor.get(f"/batch/{record.batch(opened(visitor)).id}/plan").text


def test_batches_of_one_example_can_be_told_apart(visitor: Visitor, record: Record) -> None:
    names = []
    for key in ("a", "b", "c", "c"):
        answer = visitor.post("/new", {"example": "demo", "entry_key": key})
        batch = answer.headers["location"].removeprefix("/batch/").partition("?")[0]
        names.append(record.batch(batch).name)
    plain = "Quarry Lane, rye with cacao and orange, batch 1"
    assert names == [plain, f"{plain} (2)", f"{plain} (3)", f"{plain} (3)"]
    check_page(visitor.get("/new"))
    for key, wanted in (("d", "Winter rye"), ("e", "Winter rye (2)")):
        sent = {"example": "demo", "name": "Winter rye", "entry_key": key}
        assert visitor.post("/new", sent).status_code == 303
        assert f">{wanted}</a>" in visitor.get("/").text


def test_a_batch_that_cannot_be_forecast_keeps_the_shed_open(
    visitor: Visitor, record: Record, monkeypatch: pytest.MonkeyPatch
) -> None:
    batch = open_batch(record, PLAN)
    note(record, batch, StepStarted("wash"))

    def fails(*_: object) -> None:
        raise ConvergenceError("course of the fermentation", 50, 1.0)

    monkeypatch.setattr(due, "fermentation_now", fails)
    answer = visitor.get("/")
    assert answer.status_code == 200
    assert "Bench" in answer.text
    (row,) = shed_rows(record, now=record.clock.now())
    # By the plan's own dates: cacao goes in, and six days after pitching it should be done.
    done = next(one for one in row.due if "should be done: read" in one.what)
    assert done.at - record.clock.now() == timedelta(days=6)


def test_what_lies_on_wood_or_steeps_falls_due(record: Record) -> None:
    batch = begin(record)
    now = record.clock.now()
    start = now - timedelta(days=6)
    note(record, batch, StepStarted("peel"), StepStarted("chips"), entry=Entry(utc=start))

    def expected(**spans: float) -> dict[str, list[tuple[str, str]]]:
        (row,) = shed_rows(record, now=start + timedelta(**spans))
        found: dict[str, list[tuple[str, str]]] = {}
        for one in row.due:
            found.setdefault(one.step, []).append((one.what.partition(":")[0], one.when))
        return found

    # The plan steeps for 7 days and leaves it on chips for 14.
    assert expected()["peel"] == [("its time is over", "later")]
    assert expected()["chips"] == [
        ("half its time is over", "later"),
        ("its time is over", "later"),
    ]
    assert expected(days=7, hours=1)["peel"] == [("its time is over", "today")]
    assert expected(days=7, hours=1)["chips"][0] == ("half its time is over", "today")
    (row,) = shed_rows(record, now=now)
    at = {(one.step, one.what.partition(":")[0]): one.at - start for one in row.due}
    assert at["peel", "its time is over"] == timedelta(days=7)
    assert at["chips", "half its time is over"] == timedelta(days=7)
    assert at["chips", "its time is over"] == timedelta(days=14)
    sample = WoodSampled("chips", "straw, a little vanilla")
    note(record, batch, sample, entry=Entry(utc=now))
    assert [what for what, _ in expected(days=7)["chips"]] == ["its time is over"]
