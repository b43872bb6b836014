# SPDX-License-Identifier: MIT
"""Typed words become SI readings, and the account of pure alcohol follows from them."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta, timezone

import pytest

from middlecut.app.alcohol import alcohol_entries, alcohol_sums, true_strength_of
from middlecut.app.batch import Batch, evolve, fresh
from middlecut.app.batch_events import (
    BatchOpened,
    Due,
    PlanAdopted,
    ReadingTaken,
    StepFinished,
    StepOutline,
    StepStarted,
)
from middlecut.app.decide import Command, decide, foreseen
from middlecut.app.events import Body
from middlecut.app.outline import outline_of
from middlecut.app.projections import documents_of, shed
from middlecut.app.quantities import QUANTITIES, read_typed
from middlecut.app.spirit_events import BottlesFilled, JarFilled
from middlecut.errors import InputError, NotFoundError, UnitError
from middlecut.liquid import alcoholometry
from middlecut.plan.examples import example_path
from middlecut.plan.read import load_plan
from middlecut.units import DIMENSIONS

T0 = datetime(2027, 3, 1, 12, tzinfo=UTC)


@pytest.mark.parametrize(
    ("quantity", "text", "temperature", "wanted"),
    [
        ("strength", "62,5 %vol", "27 °C", (0.625, 300.15, "20C")),
        ("strength", "125 proof", "80.33 °F", (0.625, 300.0, "60F")),
        ("true_strength", "62.5 %vol", "", (0.625, None, "")),
        ("gravity", "1,062 SG", "20 °C", (1.062, 293.15, "")),
        ("volume", "250 mL", "", (2.5e-4, None, "")),
        ("volume", "1 gal_us", "", (3.785411784e-3, None, "")),  # NIST SP 811, appendix B.8
        ("head_temperature", "78.4 °C", "", (351.55, None, "")),
        ("power", "1.45 kW", "", (1450.0, None, "")),
        ("acidity", "4,2", "", (4.2, None, "")),
    ],
)
def test_what_is_typed(
    quantity: str, text: str, temperature: str, wanted: tuple[float, float | None, str]
) -> None:
    typed = read_typed(quantity, text, temperature=temperature)
    value, kelvin, reference = wanted
    assert typed.value == pytest.approx(value, rel=1e-12)
    assert typed.temperature == (None if kelvin is None else pytest.approx(kelvin, abs=0.01))
    assert typed.reference == reference
    assert typed.as_entered == (f"{text} at {temperature}" if temperature else text)


def test_plato_and_proof_go_through_their_tables() -> None:
    # 15 °P is 1.0611 SG 20/20 in the usual extract tables.
    assert read_typed("gravity", "15 °P", temperature="20 °C").value == pytest.approx(
        1.0611, abs=2e-4
    )
    typed = read_typed("true_strength", "100 proof")
    assert typed.value == pytest.approx(alcoholometry.strength_from_proof(100.0), rel=1e-12)


def test_an_uncertainty_of_a_temperature_is_a_difference() -> None:
    assert read_typed("head_temperature", "78.4 °C", uncertainty="0,2 °C").uncertainty == 0.2
    with pytest.raises(InputError, match="more than zero"):
        read_typed("volume", "1 L", uncertainty="0 mL")


def test_what_cannot_be_typed() -> None:
    with pytest.raises(UnitError):
        read_typed("strength", "62.5", temperature="27 °C")
    with pytest.raises(UnitError):
        read_typed("volume", "3 kg")
    with pytest.raises(InputError, match="by mass"):
        read_typed("strength", "55 %mass", temperature="27 °C")
    with pytest.raises(NotFoundError, match="head_temperature"):
        read_typed("head_temperatur", "78 °C")


@pytest.mark.parametrize("name", sorted(QUANTITIES))
def test_every_quantity_has_a_unit_and_a_range(name: str) -> None:
    quantity = QUANTITIES[name]
    assert quantity.name == name
    assert quantity.dimension in DIMENSIONS
    assert quantity.low < quantity.high


def made(*facts: tuple[Body, datetime]) -> Batch:
    """Return a batch with a run under way and these facts."""
    steps = (StepOutline("wash", "ferment", (), (Due("done", 6 * 86400.0),)),
             StepOutline("run", "distil"), StepOutline("fill", "bottle"))  # fmt: skip
    state = fresh("b")
    opening = (BatchOpened("Rye"), PlanAdopted("text", steps), StepStarted("run"))
    for number, (body, utc) in enumerate([*((body, T0) for body in opening), *facts]):
        command = Command((body,), utc)
        later = T0 + timedelta(days=400)
        (draft,) = decide(state, command, now=later, ids=lambda n=number: f"e{n}")  # type: ignore[misc]
        state = evolve(state, foreseen(draft, state, later))
    return state


def test_pure_alcohol_of_a_jar_is_that_at_20_degrees() -> None:
    state = made((JarFilled("run", "1", 1.0e-3, 0.70, 303.15, "20C", "hearts"), T0))
    (entry,) = alcohol_entries(state)
    true = alcoholometry.true_strength(0.70, 303.15, "20C")
    # 70 % read at 30 °C is 66.5 % true (OIML R 22 tables: about 0.35 % a degree), and a litre at
    # 30 °C is about 0.99 L at 20 °C.
    assert entry["strength"] == pytest.approx(true, rel=1e-11)
    assert true == pytest.approx(0.665, abs=0.003)
    assert entry["pure_alcohol"] == pytest.approx(true * 0.990e-3, rel=2e-3)
    assert (entry["kind"], entry["what"]) == ("collected", "hearts, jar 1")


def test_a_lot_is_counted_by_jars_or_by_its_readings_never_by_both() -> None:
    volume = ReadingTaken("run", "volume", 6.0e-3, lot="low wines")
    strength = ReadingTaken("run", "true_strength", 0.25, lot="low wines")
    (entry,) = alcohol_entries(made((volume, T0), (strength, T0)))
    assert entry["pure_alcohol"] == pytest.approx(1.5e-3, rel=1e-12)
    with_jar = made(
        (volume, T0), (strength, T0), (JarFilled("run", "1", 1e-3, 0.5, lot="low wines"), T0)
    )
    assert [entry["what"] for entry in alcohol_entries(with_jar)] == ["low wines, jar 1"]
    # A wash is measured too, but nothing was distilled yet.
    wash = ReadingTaken("wash", "volume", 18.0e-3, lot="wash")
    assert alcohol_entries(made((wash, T0))) == []


def test_what_was_not_measured_is_unknown_not_nothing() -> None:
    state = made((JarFilled("run", "1", 1e-3), T0))
    (one,) = alcohol_sums({"b": json.dumps(alcohol_entries(state))})
    assert (one.collected, one.unknown) == (0.0, 1)
    assert true_strength_of(0.7, 372.0, "20C") is None  # beyond -20 to 40 °C nothing is corrected


def test_the_account_by_period() -> None:
    late = datetime(2027, 3, 31, 23, 30, tzinfo=UTC)
    state = made(
        (JarFilled("run", "1", 1e-3, 0.5), T0),
        (JarFilled("run", "2", 2e-3, 0.5), late),
        (BottlesFilled("fill", 3, 5e-4, 0.4, "L1"), datetime(2027, 11, 2, tzinfo=UTC)),
    )
    kept = {"b": json.dumps(alcohol_entries(state))}
    months = [(one.period, one.collected, one.bottled) for one in alcohol_sums(kept)]
    assert months == [
        ("2027-03", pytest.approx(1.5e-3), 0.0),
        ("2027-11", 0.0, pytest.approx(6e-4)),
    ]
    assert [one.period for one in alcohol_sums(kept, "quarter")] == ["2027 Q1", "2027 Q4"]
    assert [one.period for one in alcohol_sums(kept, "year")] == ["2027"]
    # Half an hour before midnight UTC is already April further east.
    east = timezone(timedelta(hours=2))
    assert [one.period for one in alcohol_sums(kept, zone=east)] == [
        "2027-03",
        "2027-04",
        "2027-11",
    ]
    with pytest.raises(InputError):
        alcohol_sums(kept, "week")  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("days", "when"), [(0, "later"), (3.4, "soon"), (5.8, "today"), (6.6, "overdue")]
)
def test_what_is_due(days: float, when: str) -> None:
    state = made((StepStarted("wash"), T0))
    kept = {one.key: one.content for one in documents_of(state) if one.name == "shed"}
    (row,) = shed(kept, now=T0 + timedelta(days=days))
    (due,) = row.due
    assert (due.step, due.what, due.at) == ("wash", "done", T0 + timedelta(days=6))
    assert due.when == when


def test_nothing_is_due_of_what_is_done() -> None:
    state = made((StepStarted("wash"), T0), (StepFinished("wash"), T0 + timedelta(days=6)))
    kept = {one.key: one.content for one in documents_of(state) if one.name == "shed"}
    (row,) = shed(kept, now=T0 + timedelta(days=9))
    assert row.due == ()
    assert row.steps[0] == ("wash", "ferment", "done")


def test_the_outline_of_the_demo_plan() -> None:
    outline = outline_of(load_plan(example_path()))
    by_step = {one.step: one for one in outline}
    first = by_step["ferment-1"]
    assert first.makes == ("wash 1", "reserved wash 1")
    assert [due.after for due in first.due] == [6 * 86400.0, 8 * 86400.0]
    assert {"hearts", "tails", "spent low wines"} <= set(by_step["spirit"].makes)
    assert all(one.makes for one in outline)
