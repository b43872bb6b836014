# SPDX-License-Identifier: MIT
"""What a batch takes and what it refuses, in sentences that name the field."""

from __future__ import annotations

import itertools
from datetime import UTC, datetime, timedelta

import pytest

from middlecut.app.batch import Batch, evolve, fresh
from middlecut.app.batch_events import (
    BatchClosed,
    BatchOpened,
    EntryWithdrawn,
    NoteWritten,
    PlanAdopted,
    ReadingCorrected,
    ReadingTaken,
    StepFinished,
    StepOutline,
    StepStarted,
)
from middlecut.app.decide import Command, decide, foreseen
from middlecut.app.events import Body
from middlecut.app.shop_events import SettingsChanged
from middlecut.app.spirit_events import (
    AdditionMade,
    BottlesFilled,
    CutCalled,
    DoseChosen,
    DoseTried,
    HeartsChosen,
    JarFilled,
    JarNoted,
    Phase,
    PowerSet,
    TastingMade,
    WaterAdded,
    WoodSampled,
)
from middlecut.errors import ConflictError, InputError, NotFoundError, OutOfRangeError

T0 = datetime(2027, 3, 1, 12, tzinfo=UTC)
STEPS = (
    StepOutline("wash", "ferment"),
    StepOutline("run", "distil"),
    StepOutline("fill", "bottle"),
)


def then(state: Batch, *bodies: Body, utc: datetime | None = None) -> Batch:
    """Return the state after facts that are taken; entries are called e1, e2 …."""
    numbers = itertools.count(len(state.entries) + 1)
    command = Command(bodies, utc)
    drafts = decide(state, command, now=T0, ids=lambda: f"e{next(numbers)}")
    for draft in drafts:
        state = evolve(state, foreseen(draft, state, T0))
    return state


@pytest.fixture
def batch() -> Batch:
    """Give a batch whose run is under way and has two jars (e5, e6)."""
    begun = (
        BatchOpened("Rye"),
        PlanAdopted("text", STEPS),
        StepStarted("wash"),
        StepStarted("run"),
    )
    jars = (JarFilled("run", "1", 2.5e-4, 0.74), JarFilled("run", "2", 2.5e-4))
    state = fresh("b")
    for body in (*begun, *jars):
        state = then(state, body)
    return state


GOOD: tuple[Body, ...] = (
    StepFinished("wash"),
    ReadingTaken("wash", "gravity", 1.022, 294.0),
    ReadingTaken("run", "strength", 0.62, 301.0, "20C"),
    ReadingTaken("run", "head_temperature", 353.0, uncertainty=0.2, instrument="probe 2"),
    ReadingTaken("fill", "volume", 6.1e-3, lot="finished"),
    PowerSet("run", share=0.6),
    PowerSet("run", power=1450.0),
    CutCalled("run", "tails", "smells of wet card"),
    JarFilled("run", "3", 2.5e-4, 0.61, 299.0, "20C", "hearts"),
    JarNoted("run", "1", ("pear", "glue"), "sharp", "no"),
    HeartsChosen("run", ("2", "1"), "hearts"),
    AdditionMade("wash", "cacao nibs", 0.06, "wash-late", "coarse"),
    DoseTried("fill", "B", 0.012, 1, ("orange",), "bright"),
    DoseChosen("fill", 0.012),
    WaterAdded("fill", 1.2, 288.0),
    WoodSampled("fill", "jar A", 2e-4, wood_mass=0.003, age=864000.0),
    BottlesFilled("fill", 12, 5e-4, 0.46, "2027-1"),
    TastingMade("bottle 3", (Phase("nose", ("cocoa",), 4),), "warm", "K7", 82.0),
    NoteWritten("the hose leaked"),
    BatchClosed("good"),
)


@pytest.mark.parametrize("body", GOOD, ids=lambda body: body.NAME)
def test_a_batch_takes(batch: Batch, body: Body) -> None:
    after = then(batch, body)
    assert after.version == batch.version + 1
    assert list(after.holding())[-1].body == body


FINE = 2.5e-4
BAD: tuple[tuple[Body, type[Exception], str], ...] = (
    (StepStarted("run"), InputError, "was started at"),
    (StepStarted("rum"), NotFoundError, "'run'"),
    (StepFinished("fill"), InputError, "has not been started"),
    (ReadingTaken("run", "strength", 0.62, None, "20C"), InputError, "needs the temperature"),
    (ReadingTaken("run", "strength", 62.0, 300.0, "20C"), OutOfRangeError, "range is 0 to 1"),
    (ReadingTaken("run", "strength", 0.6, 300.0, ""), InputError, "one of 20C, 60F"),
    (ReadingTaken("run", "strength", 0.6, 27.0, "20C"), OutOfRangeError, "temperature"),
    (ReadingTaken("run", "head_temperature", 78.4), OutOfRangeError, "still-head temperature"),
    (ReadingTaken("run", "volume", float("nan")), OutOfRangeError, "volume"),
    (ReadingTaken("run", "volume", -1e-3), OutOfRangeError, "volume"),
    (ReadingTaken("run", "smell", 1.0), NotFoundError, "quantity"),
    (ReadingTaken("run", "volume", 1e-3, uncertainty=-1.0), OutOfRangeError, "uncertainty"),
    (ReadingTaken("run", "volume", 1e-3, lot=" "), InputError, "a name is one line"),
    (PowerSet("wash", share=0.5), InputError, "belongs to a run of the still"),
    (PowerSet("run"), InputError, "either a share of full power or watts"),
    (PowerSet("run", share=60.0), OutOfRangeError, "power"),
    (CutCalled("wash", "hearts"), InputError, "The runs are run"),
    (CutCalled("run", ""), InputError, "into"),
    (JarFilled("run", "1", FINE), InputError, "already filled"),
    (JarFilled("run", "3", 250.0), OutOfRangeError, "volume"),
    (JarFilled("run", "3", FINE, 0.6, 299.0), InputError, "reference"),
    (JarNoted("run", "9"), NotFoundError, "jar"),
    (JarNoted("run", "1", keep="maybe"), InputError, "yes, perhaps or no"),
    (JarNoted("run", "1", ("pear",) * 61), InputError, "at most 60"),
    (HeartsChosen("run", (), "hearts"), InputError, "at least one jar"),
    (HeartsChosen("run", ("1", "1"), "hearts"), InputError, "each once"),
    (HeartsChosen("run", ("1", "7"), "hearts"), NotFoundError, "'7'"),
    (AdditionMade("wash", "cacao", 60.0e3, "wash-late"), OutOfRangeError, "amount"),
    (AdditionMade("wash", "cacao", 0.06, "bucket"), InputError, "wash-early"),
    (DoseTried("fill", "B", 12.0), OutOfRangeError, "rate"),
    (DoseChosen("fill", -0.1), OutOfRangeError, "rate"),
    (WaterAdded("fill", 0.0), OutOfRangeError, "mass"),
    (WoodSampled("fill", "A", age=-1.0), OutOfRangeError, "age"),
    (BottlesFilled("fill", 0, 5e-4, 0.46), OutOfRangeError, "count"),
    (BottlesFilled("fill", 6, 5e-4, 46.0), OutOfRangeError, "strength"),
    (TastingMade("x", score=101.0), OutOfRangeError, "score"),
    (TastingMade("x", (Phase("nose", strength=9),)), OutOfRangeError, "impression"),
    (NoteWritten("  \n"), InputError, "has words"),
    (NoteWritten("x" * 20_001), InputError, "20000 are allowed"),
    (NoteWritten("a\x00b"), InputError, "no text"),
    (NoteWritten("a\ud800"), InputError, "no text"),
    (NoteWritten("x", "rum"), NotFoundError, "step"),
    (ReadingCorrected("e5", 1.0), NotFoundError, "reading that holds"),
    (EntryWithdrawn("e99"), NotFoundError, "entry that holds"),
    (EntryWithdrawn("e1"), InputError, "not withdrawn"),
    (EntryWithdrawn("e4"), InputError, "jar.filled rests on it"),
    (PlanAdopted("text", STEPS[:1]), InputError, "new plan lacks it"),
    (PlanAdopted("text", ()), InputError, "a plan has steps"),
    (BatchOpened("Rye"), ConflictError, "already open"),
    (SettingsChanged("units", "us"), InputError, "does not belong to a batch"),
)


@pytest.mark.parametrize(("body", "error", "words"), BAD)
def test_a_batch_refuses(batch: Batch, body: Body, error: type[Exception], words: str) -> None:
    with pytest.raises(error) as refusal:
        then(batch, body)
    assert words in str(refusal.value)


def test_nothing_happens_to_a_batch_that_is_not_open() -> None:
    with pytest.raises(NotFoundError, match="no batch"):
        then(fresh("b"), NoteWritten("hello"))


@pytest.mark.parametrize(
    ("utc", "words"),
    [
        (T0 + timedelta(minutes=11), "lies in the future"),
        (datetime(1989, 12, 31, tzinfo=UTC), "before 1990"),
        (T0.replace(tzinfo=None), "needs its zone"),
    ],
)
def test_times_that_cannot_be(batch: Batch, utc: datetime, words: str) -> None:
    with pytest.raises(InputError, match=words):
        then(batch, NoteWritten("x"), utc=utc)


def test_a_clock_a_little_ahead_is_no_reason_to_refuse(batch: Batch) -> None:
    ahead = T0 + timedelta(minutes=9)
    assert list(then(batch, NoteWritten("x"), utc=ahead).holding())[-1].utc == ahead


def test_a_step_ends_after_its_start(batch: Batch) -> None:
    with pytest.raises(InputError, match="ends after its start"):
        then(batch, StepFinished("run"), utc=T0 - timedelta(hours=1))


def test_facts_that_belong_together_are_taken_together_or_not_at_all(batch: Batch) -> None:
    both = then(batch, StepFinished("wash"), StepStarted("fill"))
    assert [step.word for step in both.steps()] == ["done", "under way", "under way"]
    with pytest.raises(InputError):
        then(batch, JarFilled("run", "3", FINE), JarFilled("run", "3", FINE))


def test_a_correction_points_at_the_reading_and_both_stay(batch: Batch) -> None:
    wrong = then(batch, ReadingTaken("run", "strength", 0.724, 295.0, "20C"))
    right = then(wrong, ReadingCorrected("e7", 0.742, 295.5, "20C", reason="misread"))
    (reading,) = right.readings("run")
    assert (reading.id, reading.taken.value, reading.taken.temperature) == ("e7", 0.742, 295.5)
    assert reading.corrected_by == "e8"
    again = then(right, ReadingCorrected("e7", 0.741, 295.5, "20C"))
    assert again.readings()[0].taken.value == 0.741
    back = then(again, EntryWithdrawn("e9"))
    assert back.readings() == right.readings()
    first = then(back, EntryWithdrawn("e8"))
    assert first.readings()[0].taken.value == 0.724
    assert len(first.entries) == 11
    assert first.readings()[0].corrected_by is None
    with pytest.raises(OutOfRangeError):  # a correction is judged as the reading was
        then(first, ReadingCorrected("e7", 74.2, 295.0, "20C"))


def test_what_rests_on_an_entry_goes_first(batch: Batch) -> None:
    noted = then(batch, JarNoted("run", "1"), HeartsChosen("run", ("1",), "hearts"))
    with pytest.raises(InputError, match=r"hearts\.chosen rests on it"):
        then(noted, EntryWithdrawn("e5"))
    free = then(then(then(noted, EntryWithdrawn("e8")), EntryWithdrawn("e7")), EntryWithdrawn("e5"))
    assert [jar.jar for jar in free.jars()] == ["2"]
    # The note cannot come back without its jar, the jar can.
    with pytest.raises(NotFoundError, match="jar"):
        then(free, EntryWithdrawn("e10"))
    assert [jar.jar for jar in then(free, EntryWithdrawn("e11")).jars()] == ["1", "2"]


def test_what_was_entered_again_is_not_brought_back(batch: Batch) -> None:
    again = then(then(batch, EntryWithdrawn("e5")), JarFilled("run", "1", 2.4e-4))
    with pytest.raises(InputError, match="entered again since"):
        then(again, EntryWithdrawn("e7"))


def test_a_closed_batch_takes_what_comes_afterwards_only(batch: Batch) -> None:
    closed = then(batch, BatchClosed("done"))
    assert closed.closed
    assert then(closed, TastingMade("bottle 1")).closed
    with pytest.raises(ConflictError, match="is closed"):
        then(closed, StepFinished("run"))
    with pytest.raises(ConflictError, match="already closed"):
        then(closed, BatchClosed())
    reopened = then(closed, EntryWithdrawn("e7"))
    assert not reopened.closed
    assert then(reopened, StepFinished("run")).steps()[1].finished == T0
