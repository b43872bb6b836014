# SPDX-License-Identifier: MIT
"""Lots: made once, made before they are used, and not used beyond what can be known."""

from __future__ import annotations

import pytest

from middlecut.errors import PlanError, Problem
from middlecut.plan.read import read_plan_text

HEAD = '[batch]\nname = "Rye"\n[still.pot]\nboiler_volume = "30 L"\nheater_power = "2 kW"\n'


def ferment(name: str, into: str, extra: str = "") -> str:
    return (
        f'[[step]]\nid = "{name}"\nkind = "ferment"\ninto = "{into}"\nvolume = "20 L"\n'
        'gravity = "1.062 SG"\nfinal_gravity = "1.010 SG"\ntemperature = "28 °C"\n'
        f'duration = "6 d"\n{extra}\n'
    )


def blend(name: str, takes: str, into: str) -> str:
    return f'[[step]]\nid = "{name}"\nkind = "blend"\nfrom = {takes}\ninto = "{into}"\n'


def draw(name: str, take: str, into: str) -> str:
    return f'[[step]]\nid = "{name}"\nkind = "draw"\nfrom = {take}\ninto = "{into}"\n'


def run(name: str, takes: str, *cuts: tuple[str, str]) -> str:
    rows = ", ".join(f'{{ into = "{into}", until = "{until}" }}' for into, until in cuts)
    return (
        f'[[step]]\nid = "{name}"\nkind = "distil"\nfrom = {takes}\nstill = "pot"\n'
        f'purpose = "strip"\ncuts = [{rows}]\n'
    )


def problems(*parts: str) -> tuple[Problem, ...]:
    try:
        read_plan_text(HEAD + "".join(parts))
    except PlanError as error:
        return error.problems
    return ()


def only(*parts: str) -> Problem:
    found = problems(*parts)
    assert len(found) == 1, found
    return found[0]


def test_lots_may_be_drawn_from_combined_and_recycled() -> None:
    assert (
        problems(
            '[lot.feints]\nvolume = "2 L"\nstrength = "30 %vol"\n',
            ferment("one", "wash", 'lees = "1 L"\nreserve = [{ into = "kept", volume = "3 L" }]'),
            draw("sample", '{ lot = "wash", volume = "1 L" }', "taste"),
            run("strip", '["wash", "feints"]', ("low wines", "10 %vol")),
            blend("all", '["low wines", { lot = "kept", volume = "3 L" }]', "charge"),
            run("again", '["strip stillage"]', ("rest", "1 %vol")),
        )
        == ()
    )


def test_used_before_made_names_the_later_step_and_its_line() -> None:
    problem = only(
        run("strip", '"wash"', ("low wines", "10 %vol")),
        ferment("one", "wash"),
    )
    assert problem.key == "step.strip.from"
    assert problem.value == '"wash"'
    assert 'made later, in step "one" (line 13)' in problem.message
    assert problem.remedy == 'Move step "one" before this one.'


def test_never_made_offers_the_nearest_name() -> None:
    problem = only(ferment("one", "wash"), blend("b", '["wahs"]', "x"))
    assert 'no step makes a lot called "wahs"' in problem.message.casefold()
    assert problem.remedy == 'Did you mean "wash"?'
    far = only(ferment("one", "wash"), blend("b", '["quite another"]', "x"))
    assert "[lot.quite another]" in far.remedy


def test_circles_are_called_circles() -> None:
    found = problems(
        ferment("one", "wash"),
        blend("b", '["wash", "feints"]', "charge"),
        run("r", '"charge"', ("hearts", "60 %vol"), ("feints", "10 %vol")),
    )
    assert len(found) == 1
    assert "the lots go in a circle" in found[0].message.casefold()
    assert "[lot.feints]" in found[0].remedy
    itself = only(ferment("one", "wash"), blend("b", '["wash", "x"]', "x"))
    assert "cannot take from it" in itself.message


@pytest.mark.parametrize(
    "second",
    [
        ferment("two", "wash"),
        ferment("two", "other", 'reserve = [{ into = "wash", volume = "1 L" }]'),
        draw("two", '{ lot = "wash", volume = "1 L" }', "wash"),
        run("two", '"wash"', ("low wines", "10 %vol"), ("wash", "5 %vol")),
    ],
)
def test_a_name_is_given_once(second: str) -> None:
    problem = only(ferment("one", "wash"), second)
    assert 'there is already a lot called "wash"; step "one" makes it' in problem.message.casefold()
    assert problem.value == '"wash"'


def test_a_given_lot_holds_its_name() -> None:
    problem = only('[lot.wash]\nvolume = "2 L"\nstrength = "8 %vol"\n', ferment("one", "wash"))
    assert "the section [lot.wash] describes it" in problem.message


def test_all_of_a_lot_can_be_taken_once() -> None:
    problem = only(ferment("one", "wash"), blend("a", '"wash"', "x"), blend("b", '"wash"', "y"))
    assert 'step "a" takes all of it' in problem.message
    assert 'fraction = "50 %"' in problem.remedy
    whole = '{ lot = "wash", fraction = "100 %" }'
    assert (
        "takes all"
        in only(ferment("one", "wash"), blend("a", whole, "x"), blend("b", whole, "y")).message
    )


def test_a_step_names_a_lot_once() -> None:
    half = '{ lot = "wash", fraction = "60 %" }'
    problem = only(ferment("one", "wash"), blend("a", f"[{half}, {half}]", "x"))
    assert "already takes from" in problem.message
    assert problem.key == "step.a.from[1]"


def test_fractions_are_of_what_is_left_so_they_never_sum_up_too_far() -> None:
    half = '{ lot = "wash", fraction = "60 %" }'
    assert problems(ferment("one", "wash"), draw("a", half, "x"), draw("b", half, "y")) == ()
    over = only(ferment("one", "wash"), draw("a", half.replace("60", "101"), "x"))
    assert "0.01 % to 100 %" in over.message or "to 100 %" in over.message


@pytest.mark.parametrize(
    ("extra", "asked", "left"),
    [
        ("", "21 L", "20.0 L"),
        ('lees = "2 L"', "19 L", "18.0 L"),
        ('reserve = [{ into = "r", volume = "5 L" }]', "16 L", "15.0 L"),
        ('lees = "2 L"\nreserve = [{ into = "r", volume = "5 L" }]', "14 L", "13.0 L"),
    ],
)
def test_more_than_a_fermentation_can_hold(extra: str, asked: str, left: str) -> None:
    take = f'{{ lot = "wash", volume = "{asked}" }}'
    problem = only(ferment("one", "wash", extra), draw("d", take, "x"))
    assert f"at most {left} of" in problem.message
    fits = take.replace(asked, left.replace(".0", ""))
    assert problems(ferment("one", "wash", extra), draw("d", fits, "x")) == ()


def test_volumes_taken_one_after_another_add_up() -> None:
    take = '{ lot = "wash", volume = "12 L" }'
    problem = only(ferment("one", "wash"), draw("a", take, "x"), draw("b", take, "y"))
    assert problem.key == "step.b.from"
    assert "at most 8.00 L" in problem.message
    some = '{ lot = "wash", fraction = "50 %" }'
    problem = only(ferment("one", "wash"), draw("a", some, "x"), draw("b", take, "y"))
    assert "at most 10.0 L" in problem.message


def test_a_cut_and_a_draw_hold_no_more_than_their_volume() -> None:
    cut = run("r", '"wash"', ("head", "100 mL"), ("rest", "10 %vol"))
    big = '{ lot = "head", volume = "200 mL" }'
    assert "at most 100 mL" in only(ferment("one", "wash"), cut, draw("d", big, "x")).message
    drawn = draw("d", '{ lot = "wash", volume = "1 L" }', "head")
    assert "at most 1.00 L" in only(
        ferment("one", "wash"), drawn, draw("e", big.replace("200 mL", "2 L"), "x")
    ).message  # fmt: skip


def test_nothing_left_of_a_wash() -> None:
    problem = only(ferment("one", "wash", 'lees = "20 L"'))
    assert "take all of the wash" in problem.message


def test_a_broken_step_still_makes_its_lots() -> None:
    found = problems(
        ferment("one", "wash").replace('"28 °C"', '"28"'),
        run("strip", '"wash"', ("low wines", "10 %vol")).replace('"pot"', '"pt"'),
        blend("b", '"low wines"', "x"),
    )
    assert [problem.key for problem in found] == ["step.one.temperature", "step.strip.still"]


def test_volume_and_fraction_of_one_take() -> None:
    take = '{ lot = "wash", volume = "1 L", fraction = "10 %" }'
    problem = only(ferment("one", "wash"), draw("d", take, "x"))
    assert "volume and fraction say the same thing" in problem.message.casefold()


def test_draw_dilute_and_bottle_work_on_one_lot() -> None:
    problem = only(ferment("a", "w1"), ferment("b", "w2"), draw("d", '["w1", "w2"]', "x"))
    assert "works on one lot" in problem.message
    assert "blend" in problem.remedy
