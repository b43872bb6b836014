# SPDX-License-Identifier: MIT
"""Batches side by side: yield, curves, flavour, notes, what the plans differ in."""

from __future__ import annotations

import itertools
import re

import pytest
from visitor import Visitor, check_page

from middlecut.app.batch_events import NoteWritten, PlanAdopted
from middlecut.app.demo import seed_demo
from middlecut.app.outline import outline_of
from middlecut.app.record import Record
from middlecut.app.states import batch_stream
from middlecut.app.use_cases import note, open_batch
from middlecut.app.views.comparison import families, plan_differences, side_of, yields
from middlecut.plan.examples import example_path
from middlecut.plan.read import read_plan_text
from middlecut.steps.parameters import Ferment
from middlecut.web.profile_figure import draw_profile

DEMO = example_path("demo").read_text(encoding="utf-8")


@pytest.fixture
def pair(record: Record) -> tuple[str, str]:
    """The demo part-way, and the same plan with the hearts ended earlier, only planned."""
    made = seed_demo(record)
    text = DEMO.replace('until = "45 %vol"', 'until = "55 %vol"').replace(
        "orange, batch 1", "orange, batch 3"
    )
    return made, open_batch(record, text)


def test_asks_which(visitor: Visitor, pair: tuple[str, str]) -> None:
    answer = visitor.get("/compare")
    assert answer.status_code == 200
    check_page(answer)
    assert answer.text.count('name="batch"') == 3


def test_one_batch_is_not_enough(visitor: Visitor, record: Record) -> None:
    check_page(visitor.get("/compare"))
    open_batch(record, DEMO)
    answer = visitor.get("/compare")
    check_page(answer)
    assert "it takes two to compare" in answer.text


def test_shows_two_side_by_side(visitor: Visitor, pair: tuple[str, str]) -> None:
    answer = visitor.get(f"/compare?batch={pair[0]}&batch={pair[1]}")
    assert answer.status_code == 200
    check_page(answer)
    for words in ("Yield", "Strength along the spirit run", "Gravity of the first", "citrus"):
        assert words in answer.text
    assert "1. Quarry Lane, rye with cacao and orange, batch 1, measured" in answer.text
    assert "batch 3, measured" not in answer.text  # nothing was measured of what is only planned
    assert "step.spirit.cuts[2].until" in answer.text
    # Points wear the ink of their line.
    chart = answer.text.split('id="compare-strength-name"')[1]
    assert re.search(r'<polyline class="line ink-0 solid".*?<circle class="dot ink-0"', chart)
    assert 'class="line ink-1 dash"' in chart


def test_hearts_that_end_earlier_are_less_and_stronger(
    record: Record, pair: tuple[str, str]
) -> None:
    sides = [side_of(record.batch(one)) for one in pair]
    rows = {row.label: row for row in yields(sides)}
    (made, _), (planned, _) = rows["Pure alcohol"].values
    assert made is not None
    assert planned is not None
    # Both are bottled at 46 %, so the earlier end shows in the pure alcohol.
    assert 0.80 * made < planned < 0.999 * made
    shares = [one for one, _ in rows["Of the alcohol of the washes"].values]
    assert shares[0] is not None
    assert shares[0] == pytest.approx(
        sides[0].final.pure_alcohol
        / sum(
            sides[0].prediction.lots[name].pure_alcohol
            for name in ("wash 1", "wash 2", "reserved wash 1", "reserved wash 2")
        )
    )
    assert sides[0].strength is not None
    assert len(sides[0].strength.measured) >= 5
    # The invented hand reads within 0.6 % of the prediction it was made from.
    predicted = dict(sides[0].strength.predicted)
    volumes = sorted(predicted)
    for volume, strength in sides[0].strength.measured:
        nearest = min(volumes, key=lambda one: abs(one - volume))
        assert strength == pytest.approx(predicted[nearest], abs=0.03)
    assert sides[1].strength is not None
    assert sides[1].strength.measured == ()
    assert sides[1].word == "planned"


def test_families_and_their_picture(record: Record, pair: tuple[str, str]) -> None:
    sides = [side_of(record.batch(one)) for one in pair]
    rows = families(sides)
    strongest = [max(one.oav for one in row.values if one) for row in rows]
    assert strongest == sorted(strongest, reverse=True)
    svg = draw_profile(rows, ["<b>one</b>", "two"])
    assert svg.count('class="mark-of"') == sum(
        one is not None for row in rows for one in row.values
    )
    assert "<b>one" not in svg
    # No tick stands over its neighbour or over the edge, at half of 14 pixels a letter at most.
    ticks = re.findall(r'class="tick" text-anchor="middle" x="([\d.]+)"[^>]*>([^<]*)<', svg)
    spans = [(float(x) - 3.5 * len(words), float(x) + 3.5 * len(words)) for x, words in ticks]
    assert len(spans) == 6
    assert all(end < begin for (_, end), (begin, _) in itertools.pairwise(spans))
    assert spans[-1][1] < 560.0


def test_plans_differ_by_step_and_not_by_place() -> None:
    first = '[[step]]\nid = "x"\nkind = "k"\n'
    one = f'[batch]\nname = "a"\n{first}[[step]]\nid = "y"\nfrom = ["p", "q"]\n'
    two = f'[batch]\nname = "b"\n[[step]]\nid = "y"\nfrom = ["p"]\n{first}'
    found = {row.key: row.values for row in plan_differences([one, two])}
    assert found == {"batch.name": ("a", "b"), "step.y.from": ("p, q", "p")}
    assert plan_differences([one, one]) == ()


@pytest.mark.parametrize("query", ["batch={0}", "batch={0}&batch={0}", "batch={0}&batch=none"])
def test_refuses_what_cannot_be_compared(
    visitor: Visitor, pair: tuple[str, str], query: str
) -> None:
    answer = visitor.get(f"/compare?{query.format(*pair)}")
    assert answer.status_code == 422
    check_page(answer)
    assert "That cannot be compared" in answer.text


def test_five_are_too_many(visitor: Visitor, record: Record) -> None:
    ids = [open_batch(record, DEMO.replace("batch 1", f"batch {n}")) for n in range(5)]
    answer = visitor.get("/compare?" + "&".join(f"batch={one}" for one in ids))
    assert answer.status_code == 422
    assert "two to 4" in answer.text


def test_a_plan_of_another_time_is_told(
    visitor: Visitor, record: Record, pair: tuple[str, str]
) -> None:
    steps = outline_of(read_plan_text(DEMO, "plan"))
    record.keep(batch_stream(pair[1]), (PlanAdopted("[batch]\nnam = 1\n", steps),))
    answer = visitor.get(f"/compare?batch={pair[0]}&batch={pair[1]}")
    assert answer.status_code == 422
    check_page(answer)


def test_script_in_a_name_or_note_is_escaped(
    visitor: Visitor, record: Record, pair: tuple[str, str]
) -> None:
    text = DEMO.replace("Quarry Lane, rye", "<script>x</script>")
    other = open_batch(record, text)
    note(record, other, NoteWritten("<b>bold</b>"))
    answer = visitor.get(f"/compare?batch={pair[0]}&batch={other}")
    assert answer.status_code == 200
    check_page(answer)
    assert "<script>x" not in answer.text
    assert "<b>bold" not in answer.text


def test_strangers_are_refused(phone: Visitor) -> None:
    assert phone.get("/compare").status_code == 403


def test_a_gravity_is_drawn_from_the_original_gravity_on(
    record: Record, pair: tuple[str, str]
) -> None:
    side = side_of(record.batch(pair[0]))
    step = next(one for one in side.prediction.plan.steps if isinstance(one, Ferment))
    assert side.gravity is not None
    assert side.gravity.predicted[0] == (0.0, step.gravity)
