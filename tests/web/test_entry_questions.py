# SPDX-License-Identifier: MIT
"""What is asked about before it is kept: what can be true and probably is a slip."""

from __future__ import annotations

import html
import re
from datetime import datetime, timedelta

import httpx
import pytest
from bench_plan import NOW, begin
from visitor import StandingClock, Visitor, check_page

from middlecut.app.batch_events import EntryWithdrawn, NoteWritten, StepStarted
from middlecut.app.doubts import LATE, digits_slip
from middlecut.app.record import Record
from middlecut.app.spirit_events import (
    BottlesFilled,
    CutCalled,
    JarFilled,
    PowerSet,
    WaterAdded,
    WoodSampled,
)

ASKED = "Is this right?"


@pytest.fixture
def batch(record: Record) -> str:
    return begin(record)  # 200 mL of hearts, read 235 s ago; the first drop came 700 s ago


def answer_of(answer: httpx.Response) -> str:
    """Return what ticking "it is so" sends."""
    found = re.search(r'name="anyway" value="([^"]*)"', answer.text)
    assert found, "there is nothing to tick"
    return html.unescape(found[1])


def here(minutes: float) -> str:
    """Return the time of day some minutes ago, on the clock of this computer."""
    return f"{(NOW - timedelta(minutes=minutes)).astimezone():%H:%M}"


def asks(answer: httpx.Response, *words: str) -> None:
    assert answer.status_code == 422
    check_page(answer)
    assert ASKED in answer.text
    for one in words:
        assert one in html.unescape(answer.text)


def late(visitor: Visitor, clock: StandingClock, path: str, sent: dict[str, str]) -> None:
    """Send what was typed two minutes ago on a device that had no line."""
    typed = clock.now() - timedelta(minutes=2)
    headers = {
        "x-outbox": "1",
        "x-entered": f"{typed:%Y-%m-%dT%H:%M:%SZ}",
        "x-sent": f"{clock.now():%Y-%m-%dT%H:%M:%SZ}",
    }
    assert visitor.post(path, sent, headers=headers).status_code == 200


def read(record: Record, batch: str, quantity: str) -> list[float]:
    return [
        one.taken.value
        for one in record.batch(batch).readings("run")
        if one.taken.quantity == quantity
    ]


class TestTotals:
    @pytest.mark.parametrize(
        ("typed", "words"),
        [("9 L", "that went into the still"), ("0.9 L", "the whole run is expected to give")],
    )
    def test_more_than_there_can_be_is_asked_about(
        self, visitor: Visitor, record: Record, batch: str, typed: str, words: str
    ) -> None:
        path = f"/batch/{batch}/step/run/read"
        asked = visitor.post(path, {"volume": typed})
        asks(asked, words)
        assert read(record, batch, "volume") == [pytest.approx(2e-4)]
        other = visitor.post(path, {"volume": "4 L", "anyway": answer_of(asked)})
        asks(other)  # the answer was about another value
        sure = visitor.post(path, {"volume": typed, "anyway": answer_of(asked)})
        assert sure.status_code == 303

    def test_the_slip_is_taken_back_and_the_true_one_kept(
        self, visitor: Visitor, record: Record, batch: str
    ) -> None:
        path = f"/batch/{batch}/step/run/read"
        asked = visitor.post(path, {"volume": "2 L", "at": here(2)})
        visitor.post(path, {"volume": "2 L", "at": here(2), "anyway": answer_of(asked)})
        sent = {"volume": "260", "strength": "69", "temperature": "20", "entry_key": "k"}
        answer = visitor.post(path, sent)
        asks(answer, "260 mL is less than the 2 L of", "take it back", "Correct the 2 L")
        assert 'name="anyway" value' not in answer.text  # saying so does not help here
        assert read(record, batch, "strength")[-1] == pytest.approx(0.69)
        assert 'value="69"' not in answer.text
        assert "Saved: strength." in answer.text
        found = re.search(r'name="take_back" value="(\w+)"', answer.text)
        assert found
        again = visitor.post(path, {"volume": "260", "take_back": found[1], "entry_key": "k2"})
        assert again.status_code == 303
        assert [round(1e6 * one) for one in read(record, batch, "volume")] == [200, 260]

    def test_what_was_good_is_kept_once_and_leaves_the_key_to_what_was_asked(
        self, visitor: Visitor, record: Record, clock: StandingClock, batch: str
    ) -> None:
        path = f"/batch/{batch}/step/run/read"
        sent = {"volume": "2 L", "strength": "69", "temperature": "20", "entry_key": "k"}
        before = len(read(record, batch, "strength"))
        for _ in range(2):  # the first answer was lost
            asks(visitor.post(path, sent))
        assert len(read(record, batch, "strength")) == before + 1
        # An outbox that hears of the key takes the whole entry for kept: it must not, with the
        # total still asked about.
        assert record.store.find_key("k") == ()
        assert not any(event.key == "k" for event in record.store.read_all())
        # Sent once more after a long wait, the total is kept with its note, the strength not again.
        late(visitor, clock, path, sent)
        assert read(record, batch, "volume")[-1] == pytest.approx(2e-3)
        assert len(read(record, batch, "strength")) == before + 1

    def test_litres_typed_without_their_unit(self, visitor: Visitor, batch: str) -> None:
        answer = visitor.post(f"/batch/{batch}/step/run/read", {"volume": "0,26"})
        asks(answer, "Did you mean 0.26 L?")

    def test_a_late_one_is_kept_with_a_note(
        self, visitor: Visitor, record: Record, clock: StandingClock, batch: str
    ) -> None:
        path = f"/batch/{batch}/step/run/read"
        for _ in range(2):  # sent twice is kept once
            late(visitor, clock, path, {"volume": "9 L", "entry_key": "late"})
        assert read(record, batch, "volume")[-1] == pytest.approx(9e-3)
        notes = [one.text for _, one in record.batch(batch).of(NoteWritten)]
        assert [one for one in notes if one.startswith(LATE) and "went into the still" in one]
        assert len(notes) == 1
        page = visitor.get(f"/batch/{batch}/step/run").text
        assert re.search(r'9 L was read at [^<]*<a href="[^"]*/entry/\w+">Correct it</a>', page)

    def test_a_jar_larger_than_all_there_is(
        self, visitor: Visitor, record: Record, batch: str
    ) -> None:
        path = f"/batch/{batch}/step/run/jar"
        sent = {"jar": "4", "volume": "0.8 L", "lot": "hearts"}
        asked = visitor.post(path, sent)
        asks(asked, "the jars hold 950 mL", "the last total read is 200 mL")
        assert len(record.batch(batch).of(JarFilled)) == 3
        assert visitor.post(path, {**sent, "anyway": answer_of(asked)}).status_code == 303


class TestTimes:
    def test_before_the_step_began(self, visitor: Visitor, record: Record, batch: str) -> None:
        path = f"/batch/{batch}/step/run/read"
        later = here(-120)  # two hours ahead is yesterday's
        asked = visitor.post(path, {"head": "80", "at": later})
        asks(asked, "is before this step was started")
        sent = {"head": "80", "at": later, "anyway": answer_of(asked)}
        assert visitor.post(path, sent).status_code == 303

    @pytest.mark.parametrize(
        ("action", "sent"),
        [
            ("read", {"strength": "75", "temperature": "20"}),
            ("jar", {"jar": "9", "volume": "50"}),
        ],
    )
    def test_before_the_first_drop(
        self, visitor: Visitor, batch: str, action: str, sent: dict[str, str]
    ) -> None:
        answer = visitor.post(f"/batch/{batch}/step/run/{action}", {**sent, "at": here(15)})
        asks(answer, "is before the first drop")

    def test_the_head_is_read_while_it_heats(self, visitor: Visitor, batch: str) -> None:
        sent = {"head": "40", "at": here(15)}
        assert visitor.post(f"/batch/{batch}/step/run/read", sent).status_code == 303


class TestCorrections:
    def entry(self, record: Record, batch: str) -> str:
        found = record.batch(batch).readings("run")
        return next(one.id for one in found if one.taken.quantity == "volume")

    def at(self, record: Record, batch: str) -> datetime:
        found = record.batch(batch).readings("run")
        return next(one.utc for one in found if one.taken.quantity == "volume")

    def test_the_time_is_corrected(self, visitor: Visitor, record: Record, batch: str) -> None:
        entry = self.entry(record, batch)
        page = visitor.get(f"/batch/{batch}/entry/{entry}").text
        stands = re.search(r'name="at"[^>]* value="([^"]+)"', page)
        assert stands
        path = f"/batch/{batch}/entry/{entry}/correct"
        sent = {"value": "200", "at": here(2)}
        assert visitor.post(path, sent).status_code == 303
        assert self.at(record, batch) == NOW - timedelta(minutes=2)
        rows = visitor.get(f"/batch/{batch}/step/run").text
        assert "later" in rows
        for at in ("", visitor_at(visitor, path)):  # left alone, it stays where it was put
            assert visitor.post(path, {"value": "210", "at": at}).status_code == 303
            assert self.at(record, batch) == NOW - timedelta(minutes=2)

    def test_seconds_are_not_lost(self, visitor: Visitor, record: Record, batch: str) -> None:
        path = f"/batch/{batch}/entry/{self.entry(record, batch)}/correct"
        before = self.at(record, batch)
        sent = {"value": "190", "at": visitor_at(visitor, path)}
        assert visitor.post(path, sent).status_code == 303
        assert self.at(record, batch) == before

    def test_before_the_run_is_asked_about(
        self, visitor: Visitor, record: Record, batch: str
    ) -> None:
        path = f"/batch/{batch}/entry/{self.entry(record, batch)}/correct"
        asks(visitor.post(path, {"value": "200", "at": here(30)}), "before this step was started")
        asks(visitor.post(path, {"value": "9 L"}), "that went into the still")
        ahead = f"{(NOW + timedelta(days=2)).astimezone():%Y-%m-%d %H:%M}"
        future = visitor.post(path, {"value": "200", "at": ahead})
        assert future.status_code == 422
        assert "of the past" in future.text

    def test_a_total_moved_behind_a_larger_one_is_refused(
        self, visitor: Visitor, record: Record, batch: str
    ) -> None:
        visitor.post(f"/batch/{batch}/step/run/read", {"volume": "240", "at": here(2)})
        path = f"/batch/{batch}/entry/{self.entry(record, batch)}/correct"
        answer = visitor.post(path, {"value": "200", "at": here(1)})
        assert answer.status_code == 422
        assert "200 is less than 240" in html.unescape(answer.text).replace(" mL", "")


def visitor_at(visitor: Visitor, path: str) -> str:
    """Return the time that stands in the form of a correction."""
    page = visitor.get(path.rpartition("/")[0]).text
    found = re.search(r'name="at"[^>]* value="([^"]+)"', page)
    assert found
    return found[1]


class TestWood:
    def test_a_sample_from_before_the_wood(
        self, visitor: Visitor, record: Record, batch: str
    ) -> None:
        visitor.post(f"/batch/{batch}/step/chips/start", {"anyway": "yes"})
        path = f"/batch/{batch}/step/chips/sample"
        sent = {"sample": "batch", "at": here(60), "strength": "48", "temperature": "30"}
        asked = visitor.post(path, sent)
        asks(asked, "is before this step was started")
        assert visitor.post(path, {**sent, "anyway": answer_of(asked)}).status_code == 303
        # 48 % vol read at 30 °C: about 44 at 20 °C (international tables).
        body = record.batch(batch).of(WoodSampled)[-1][1]
        assert body.strength == pytest.approx(0.44, abs=0.003)
        page = visitor.get(f"/batch/{batch}/step/chips").text
        assert ">0 s<" not in page
        assert "0 h" not in page[page.index("Samples") : page.index("Look at a sample")]

    def test_a_strength_needs_its_temperature(self, visitor: Visitor, batch: str) -> None:
        visitor.post(f"/batch/{batch}/step/chips/start", {"anyway": "yes"})
        sent = {"sample": "batch", "strength": "48"}
        answer = visitor.post(f"/batch/{batch}/step/chips/sample", sent)
        assert answer.status_code == 422
        assert "needs the temperature" in answer.text


class TestCuts:
    @pytest.mark.parametrize(
        ("then", "words"),
        [("heads", "heads was called at"), ("hearts", "a cut is called once")],
    )
    def test_going_back_is_asked_about(
        self, visitor: Visitor, record: Record, batch: str, *, then: str, words: str
    ) -> None:
        path = f"/batch/{batch}/step/run/cut"
        asked = visitor.post(path, {"into": then})
        asks(asked, words)
        assert len(record.batch(batch).of(CutCalled)) == 2
        sure = visitor.post(path, {"into": then, "anyway": answer_of(asked)})
        assert sure.status_code == 303

    def test_one_that_was_left_out_lies_behind(self, visitor: Visitor, batch: str) -> None:
        path = f"/batch/{batch}/step/run/cut"
        heads = re.findall(rf"/batch/{batch}/entry/(\w+)", visitor.get(path[:-4]).text)
        for entry in dict.fromkeys(heads):
            page = visitor.get(f"/batch/{batch}/entry/{entry}").text
            if "cut to heads" in page:
                visitor.post(f"/batch/{batch}/entry/{entry}/withdraw", {})
        asks(visitor.post(path, {"into": "heads"}), "heads comes before hearts", "cuts go forward")


class TestPower:
    def test_a_cut_without_a_power_gets_that_of_the_plan(
        self, visitor: Visitor, record: Record, batch: str
    ) -> None:
        visitor.post(f"/batch/{batch}/step/run/read", {"power": "30"})
        assert visitor.post(f"/batch/{batch}/step/run/cut", {"into": "tails"}).status_code == 303
        assert record.batch(batch).of(PowerSet)[-1][1].share == pytest.approx(0.6)

    @pytest.mark.parametrize(
        ("power", "of", "share"),
        # What the page put in for another cut is no choice; what somebody typed is.
        [("30 %", "hearts", 0.6), ("30 %", "tails", 0.3), ("45", "hearts", 0.45)],
    )
    def test_the_power_is_that_of_the_cut_chosen(
        self, visitor: Visitor, record: Record, batch: str, *, power: str, of: str, share: float
    ) -> None:
        sent = {"into": "tails", "power": power, "power_of": of, "power_given": "30 %"}
        assert visitor.post(f"/batch/{batch}/step/run/cut", sent).status_code == 303
        assert record.batch(batch).of(PowerSet)[-1][1].share == pytest.approx(share)

    def test_the_page_knows_the_power_of_each_cut(self, visitor: Visitor, batch: str) -> None:
        page = html.unescape(visitor.get(f"/batch/{batch}/step/run").text)
        assert '"hearts": "60 %"' in page
        assert 'name="power_of" value="tails"' in page

    def test_a_cut_and_its_power_go_back_together(
        self, visitor: Visitor, record: Record, batch: str
    ) -> None:
        visitor.post(f"/batch/{batch}/step/run/cut", {"into": "tails", "power": "20"})
        entry = record.batch(batch).of(CutCalled)[-1][0].id
        for _ in range(2):  # sent twice is undone once
            gone = visitor.post(f"/batch/{batch}/entry/{entry}/withdraw", {"entry_key": "u"})
            assert gone.status_code == 303
        state = record.batch(batch)
        assert state.of(CutCalled)[-1][1].into == "hearts"
        assert state.of(PowerSet)[-1][1].share == pytest.approx(0.6)
        undone = next(one.id for one, body in state.of(EntryWithdrawn) if body.target == entry)
        assert visitor.post(f"/batch/{batch}/entry/{undone}/withdraw", {}).status_code == 303
        assert record.batch(batch).of(PowerSet)[-1][1].share == pytest.approx(0.2)

    def test_a_start_and_its_heat_go_back_together(
        self, visitor: Visitor, record: Record, batch: str
    ) -> None:
        visitor.post(f"/batch/{batch}/step/strip/start", {"anyway": "yes"})
        entry = record.batch(batch).of(StepStarted)[-1][0].id
        assert visitor.post(f"/batch/{batch}/entry/{entry}/withdraw", {}).status_code == 303
        assert not [one for _, one in record.batch(batch).of(PowerSet) if one.step == "strip"]


class TestAfterTheRun:
    def test_water_in_the_unit_of_the_table(
        self, visitor: Visitor, record: Record, batch: str
    ) -> None:
        visitor.post(f"/batch/{batch}/step/reduce/start", {"anyway": "yes"})
        page = visitor.get(f"/batch/{batch}/step/reduce").text
        assert re.search(r'Water, <span class="unit">g</span>', page)
        path = f"/batch/{batch}/step/reduce/water"
        sent = {"water": "100", "water_unit": "grams"}
        assert visitor.post(path, sent).status_code == 303
        assert record.batch(batch).of(WaterAdded)[-1][1].mass == pytest.approx(0.1)

    def test_far_more_water_than_the_step_takes(
        self, visitor: Visitor, record: Record, batch: str
    ) -> None:
        visitor.post(f"/batch/{batch}/step/reduce/start", {"anyway": "yes"})
        path = f"/batch/{batch}/step/reduce/water"
        asked = visitor.post(path, {"water": "150", "water_unit": "kilos"})
        asks(asked, "150 kg of water is far more than", "that are still to go in")
        assert not record.batch(batch).of(WaterAdded)
        sent = {"water": "150", "water_unit": "kilos", "anyway": answer_of(asked)}
        assert visitor.post(path, sent).status_code == 303

    def test_more_bottles_than_there_is_spirit(
        self, visitor: Visitor, record: Record, batch: str
    ) -> None:
        visitor.post(f"/batch/{batch}/step/fill/start", {"anyway": "yes"})
        path = f"/batch/{batch}/step/fill/bottles"
        sent = {"count": "30", "bottle_volume": "0.5 L", "strength": "48", "temperature": "20"}
        asked = visitor.post(path, {**sent, "anyway": "yes"})
        asks(asked, "30 bottles of 500 mL are 15.0 L; there is", "but the label says 46.0 %vol")
        assert not record.batch(batch).of(BottlesFilled)
        assert visitor.post(path, {**sent, "anyway": answer_of(asked)}).status_code == 303

    def test_a_second_result_of_a_glass_is_asked_about_and_both_are_kept(
        self, visitor: Visitor, batch: str
    ) -> None:
        path = f"/batch/{batch}/step/marry/glass"
        first = {"glass": "B", "rate": "2", "text": "thin"}
        second = {"glass": "b", "rate": "4", "text": "too much"}
        assert visitor.post(path, first).status_code == 303
        asked = visitor.post(path, second)
        asks(asked, "glass B was tasted at", "both results are kept")
        assert visitor.post(path, {**second, "anyway": answer_of(asked)}).status_code == 303
        page = visitor.get(path[:-6]).text
        ladder = page[page.index("Glasses tasted") : page.index("Save the glass")]
        assert "thin" in ladder
        assert "too much" in ladder

    def test_a_dose_that_cannot_be_is_refused_at_its_field(
        self, visitor: Visitor, batch: str
    ) -> None:
        path = f"/batch/{batch}/step/marry/glass"
        answer = visitor.post(path, {"glass": "B", "rate": "400"})
        assert answer.status_code == 422
        assert '<a href="#f-try-rate">Dose</a>' in answer.text

    def test_a_bottle_of_half_a_millilitre_is_refused_at_its_field(
        self, visitor: Visitor, batch: str
    ) -> None:
        visitor.post(f"/batch/{batch}/step/fill/start", {"anyway": "yes"})
        sent = {"count": "3", "bottle_volume": "0,5", "strength": "46", "temperature": "20"}
        path = f"/batch/{batch}/step/fill/bottles"
        answer = visitor.post(path, {**sent, "anyway": "yes"})
        assert answer.status_code == 422
        assert '<a href="#f-bottles-bottle_volume">Size of a bottle</a>' in answer.text
        assert 'id="e-bottles-count"' not in answer.text


class TestSlips:
    def test_a_strength_with_its_mark_in_the_wrong_place(
        self, visitor: Visitor, record: Record, batch: str
    ) -> None:
        path = f"/batch/{batch}/step/run/read"
        sent = {"strength": "6,9", "temperature": "20"}
        asked = visitor.post(path, sent)
        asks(asked, "Did you mean 69 %vol?")
        assert visitor.post(path, {**sent, "anyway": answer_of(asked)}).status_code == 303

    @pytest.mark.parametrize(
        ("text", "meant"),
        [("8,2", "82"), ("28", "82"), ("820", "82"), ("0.82", "82"), ("45", None), ("70", None)],
    )
    def test_what_was_meant(self, text: str, meant: str | None) -> None:
        slip = digits_slip(text, expected=80.0, far=20.0, near=5.0)
        assert (None if slip is None else slip.meant) == meant

    def test_one_in_the_record_is_no_figure_and_has_its_way_out(
        self, visitor: Visitor, clock: StandingClock, record: Record, batch: str
    ) -> None:
        sent = {"strength": "6,9", "temperature": "20"}
        late(visitor, clock, f"/batch/{batch}/step/run/read", sent)
        for query in ("", "?forecast=yes"):
            answer = visitor.get(f"/batch/{batch}/step/run{query}")
            check_page(answer)
            assert "the last reading is probably a slip" in answer.text
            assert "strength, last read" not in answer.text
            assert re.search(r'/entry/\w+">69 %vol\? Correct it</a>', answer.text)
            assert "foams" not in answer.text

    def test_an_alarm_is_folded_and_goes_when_it_is_answered(
        self, visitor: Visitor, clock: StandingClock, batch: str
    ) -> None:
        path = f"/batch/{batch}/step/run"
        visitor.post(f"{path}/read", {"strength": "45", "temperature": "20"})
        page = visitor.get(f"{path}?forecast=yes").text
        assert '<details class="alarm" id="alarm-1"><summary>Does not go with the rest' in page
        clock.pass_by(minutes=2)
        visitor.post(f"{path}/read", {"strength": "57", "temperature": "20"})
        page = visitor.get(f"{path}?forecast=yes").text
        assert "Does not go with the rest" not in page
        assert "Answered by the reading of" in page


class TestAdvice:
    @pytest.mark.parametrize(
        ("path", "sent", "said"),
        [
            ("run/read", {"volume": "0.3 kg"}, 'Did you mean "0.3 L"?'),
            ("run/jar", {"jar": "4", "volume": "50 g"}, 'Did you mean "50 mL"?'),
            ("marry/glass", {"glass": "A", "rate": "2 mL/L"}, 'Write "0.2 %"'),
            ("reduce/water", {"water": "0,15 L", "anyway": "yes"}, 'Did you mean "0.15 kg"?'),
            ("wash/gravity", {"gravity": "1040", "temperature": "20"}, 'Did you mean "1.040"?'),
            (
                "fill/bottles",
                {"count": "3", "bottle_volume": "0,5", "strength": "46", "temperature": "20",
                 "anyway": "yes"},
                'Did you mean "0.5 L"?',
            ),
        ],
    )  # fmt: skip
    def test_the_remedy_is_made_of_what_was_typed(
        self, visitor: Visitor, batch: str, *, path: str, sent: dict[str, str], said: str
    ) -> None:
        answer = visitor.post(f"/batch/{batch}/step/{path}", sent)
        assert answer.status_code == 422
        assert said in html.unescape(answer.text)
