# SPDX-License-Identifier: MIT
"""Which jars go together: against sets tried by hand, and its refusals."""

from __future__ import annotations

from itertools import combinations

import pytest

from middlecut.errors import InputError, OutOfRangeError
from middlecut.insight.jars import EXACT_UP_TO, Aim, JarOffer, suggest_jars
from middlecut.insight.odour import odour_profile
from middlecut.liquid import alcoholometry
from middlecut.steps.lot import Amount, Lot
from middlecut.steps.mixing import mixed

ACETATE = "ethyl acetate"


def jar(
    name: str, strength: float, volume: float = 0.25e-3, acetate: float = 0.0, **more: str
) -> JarOffer:
    fraction = alcoholometry.mass_fraction_from_strength(strength)
    mass = volume * alcoholometry.density_20(fraction)
    level = acetate * volume
    amounts = {ACETATE: Amount(level, level, level)}
    lot = Lot(name, mass * (1.0 - fraction), mass * fraction, amounts=amounts)
    words = tuple(word for word in more.get("words", "").split(",") if word)
    return JarOffer(name, lot, words, more.get("keep", ""))


RUN = tuple(
    jar(str(number), strength, acetate=acetate)
    for number, strength, acetate in (
        (1, 0.84, 2.0),
        (2, 0.83, 0.6),
        (3, 0.81, 0.2),
        (4, 0.78, 0.1),
        (5, 0.72, 0.05),
        (6, 0.6, 0.02),
    )
)


def test_finds_what_trying_every_set_by_hand_finds() -> None:
    limit = 40.0
    aim = Aim(0.76, 0.80, limits={ACETATE: limit})
    found = suggest_jars(RUN, aim)
    best = 0.0
    for count in range(1, len(RUN) + 1):
        for chosen in combinations(RUN, count):
            lot = mixed([one.lot for one in chosen], "mix")
            row = next(row for row in odour_profile(lot).rows if row.compound == ACETATE)
            if 0.76 <= lot.strength <= 0.80 and row.oav <= limit:
                best = max(best, lot.volume)
    assert found.met
    assert found.lot is not None
    assert found.lot.volume == pytest.approx(best, rel=1e-9)  # the same sum, another order
    assert found.activity[ACETATE] <= limit * (1.0 + 1e-9)
    assert 0.76 <= found.lot.strength <= 0.80


def test_activity_is_that_of_the_odour_profile() -> None:
    found = suggest_jars(RUN, Aim(limits={ACETATE: 100.0}))
    assert found.lot is not None
    row = next(row for row in odour_profile(found.lot).rows if row.compound == ACETATE)
    assert found.activity[ACETATE] == pytest.approx(row.oav, rel=1e-12)


def test_a_tighter_limit_never_gives_more() -> None:
    volumes = []
    for limit in (200.0, 60.0, 30.0, 12.0, 4.0):
        lot = suggest_jars(RUN, Aim(limits={ACETATE: limit})).lot
        volumes.append(0.0 if lot is None else lot.volume)
    assert volumes == sorted(volumes, reverse=True)
    assert volumes[0] > volumes[-1]


def test_words_and_verdicts_bar_a_jar_and_say_why() -> None:
    jars = (
        jar("1", 0.8, words="Solvent"), jar("2", 0.8, keep="no"), jar("3", 0.8),
        jar("4", 0.8, words="solvent", keep="yes"),
    )  # fmt: skip
    found = suggest_jars(jars, Aim(without=("solvent",)))
    assert found.jars == ("3", "4")  # yes of the person goes before the word
    assert dict(found.left_out) == {"1": "it smells of Solvent", "2": "you said no to it"}


def test_says_which_part_of_the_aim_cannot_be_met() -> None:
    high = suggest_jars(RUN, Aim(0.9, 0.95))
    assert not high.met
    assert "60.0 to 84.0 %vol" in high.reason
    smell = suggest_jars(RUN[:1], Aim(limits={ACETATE: 0.1}))
    assert not smell.met
    assert "limits of smell" in smell.reason
    none = suggest_jars((jar("1", 0.8, keep="no"),), Aim())
    assert none.jars == ()
    assert "barred" in none.reason


def test_says_what_keeps_one_jar_more_out() -> None:
    found = suggest_jars(RUN, Aim(0.79, 0.86))
    assert "fall below 79.0 %vol" in found.reason


def test_many_jars_are_searched_step_by_step() -> None:
    many = tuple(
        jar(str(number), 0.85 - 0.012 * number, volume=0.1e-3) for number in range(EXACT_UP_TO + 8)
    )
    found = suggest_jars(many, Aim(0.74, 0.76))
    assert not found.every_set_tried
    assert found.met
    assert found.lot is not None
    # All but a few of the weakest fit: 24 jars average 71 %, without the last six 75 %.
    assert len(found.jars) >= 16
    assert 0.74 <= found.lot.strength <= 0.76


@pytest.mark.parametrize(
    ("jars", "aim"),
    [
        ((), Aim()),
        ((RUN[0], RUN[0]), Aim()),
        (RUN, Aim(0.8, 0.7)),
        (RUN, Aim(limits={"water-like nothing": 1.0})),
    ],
)
def test_refuses_what_makes_no_sense(jars: tuple[JarOffer, ...], aim: Aim) -> None:
    with pytest.raises((InputError, LookupError)):
        suggest_jars(jars, aim)


@pytest.mark.parametrize("aim", [Aim(-0.1), Aim(0.1, 1.2), Aim(limits={ACETATE: 0.0})])
def test_refuses_what_is_out_of_range(aim: Aim) -> None:
    with pytest.raises(OutOfRangeError):
        suggest_jars(RUN, aim)
