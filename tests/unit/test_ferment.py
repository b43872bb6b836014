# SPDX-License-Identifier: MIT
"""The ferment step against Balling's balance and the congener table."""

from __future__ import annotations

from dataclasses import replace

import pytest

from middlecut.errors import InputError, OutOfRangeError
from middlecut.liquid import congeners, extract
from middlecut.steps.ferment import ferment
from middlecut.steps.lot import Amount
from middlecut.steps.parameters import Ferment
from middlecut.steps.result import StepResult

STEP = Ferment(
    id="f",
    into="wash",
    volume=0.025,
    gravity=1.062,
    final_gravity=1.008,
    temperature=295.15,
    duration=6 * 86400.0,
    settling=2 * 86400.0,
    lees=0.002,
    reserve=(("late", 0.003),),
)


def figure(result: StepResult, key: str) -> float:
    return next(row.value for row in result.figures if row.key == key)


def codes(result: StepResult) -> dict[str, str]:
    return {caution.code: caution.severity for caution in result.cautions}


def test_the_wash_is_split_into_what_the_plan_names() -> None:
    result = ferment(STEP)
    assert list(result.made) == ["wash", "late"]
    assert result.made["late"].volume == pytest.approx(0.003, rel=1e-12)
    assert result.made["wash"].strength == pytest.approx(result.made["late"].strength, rel=1e-12)
    assert result.made["wash"].temperature == 295.15
    assert result.duration == 8 * 86400.0


def test_common_practice_strength_of_such_a_wash() -> None:
    # Common practice: a grain wash has 7 to 9 %vol.
    assert 0.065 < ferment(STEP).made["wash"].strength < 0.09


def test_balling_holds_over_wash_lees_gas_and_yeast() -> None:
    # 2.0665 kg of extract give 1 kg of ethanol, 0.9565 kg of CO2 and 0.11 kg of yeast (Balling).
    entries = ferment(STEP).account.entries
    ethanol = entries["ethanol"].came["made by yeast"]
    assert entries["solids"].went["CO2"] / ethanol == pytest.approx(0.9565, rel=1e-9)
    assert entries["solids"].went["yeast"] / ethanol == pytest.approx(0.11, rel=1e-9)
    spent = entries["solids"].came["wort"] - sum(
        mass for name, mass in entries["solids"].went.items() if name in {"wash", "late", "lees"}
    )
    assert spent / ethanol == pytest.approx(2.0665, rel=1e-9)


def test_all_extract_comes_from_the_wort() -> None:
    balance = extract.ferment_balance(volume=0.025, gravity=1.062, final_gravity=1.008)
    came = ferment(STEP).account.entries["solids"].came["wort"]
    assert came == pytest.approx(balance.extract, rel=1e-9)


def test_lees_keep_their_share() -> None:
    result = ferment(STEP)
    went = result.account.entries["ethanol"].went
    whole = sum(went.values())
    balance = extract.ferment_balance(volume=0.025, gravity=1.062, final_gravity=1.008)
    assert went["lees"] / whole == pytest.approx(0.002 / balance.volume, rel=1e-9)


def test_gas_heat_and_gravity_figures() -> None:
    result = ferment(STEP)
    ethanol = result.account.entries["ethanol"].came["made by yeast"]
    # About 0.41 m³ of CO2 per litre of ethanol (computed from Balling), two digits.
    assert figure(result, "gas") / (ethanol / 789.24) * 1e-3 == pytest.approx(0.41, abs=0.005)
    heat = next(row for row in result.figures if row.key == "heat")
    assert heat.low is not None
    assert heat.high is not None
    # 560 to 600 kJ per kg of sugar (memory).
    assert heat.low / (2.0665 * ethanol) == pytest.approx(560e3, rel=1e-9)
    assert heat.high / (2.0665 * ethanol) == pytest.approx(600e3, rel=1e-9)
    # By extract, not by points of gravity: 1.062 is 15.2 °P and 1.008 is 2.06 °P (ASBC table).
    assert figure(result, "attenuation") == pytest.approx(1 - 2.06 / 15.2, abs=1e-3)
    assert figure(result, "gravity_by_parts") == pytest.approx(1.008, abs=0.0015)


def test_congeners_follow_the_pure_alcohol_with_their_range() -> None:
    result = ferment(STEP)
    wash = result.made["wash"]
    row = next(
        row for row in congeners.congener_levels("grain") if row.compound == "3-methyl-1-butanol"
    )
    amount = wash.amounts["3-methyl-1-butanol"]
    assert amount.typical / wash.pure_alcohol == pytest.approx(row.typical, rel=1e-9)
    assert amount.low / wash.pure_alcohol == pytest.approx(row.low, rel=1e-9)
    assert amount.high / wash.pure_alcohol == pytest.approx(row.high, rel=1e-9)
    assert amount.basis == row.basis
    came = result.account.entries["3-methyl-1-butanol"].came
    assert came["made by yeast"] > amount.typical  # part of it stays with lees and reserve


def test_the_users_own_level_wins() -> None:
    own = replace(STEP, compounds={"ethyl acetate": Amount(0.040, 0.030, 0.050, "read")})
    wash = ferment(own).made["wash"]
    assert wash.compounds["ethyl acetate"] == pytest.approx(40.0, rel=1e-9)  # mg/L
    assert wash.amounts["ethyl acetate"].basis == "read"


def test_a_sound_plan_has_notes_only() -> None:
    assert codes(ferment(STEP)) == {"co2": "note", "ferment-time-prior": "note"}


def test_what_the_times_rest_on_is_said() -> None:
    (told,) = [one.text for one in ferment(STEP).cautions if one.code == "ferment-time-prior"]
    for word in ("first guess", "whisky", "memory, estimate", "yeast", "pitch", "nutrients"):
        assert word in told
    times = {figure.key: figure for figure in ferment(STEP).figures}
    for key in ("late_addition", "finished"):
        assert "guess" in times[key].label
        assert times[key].basis == "estimate"


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"temperature": 308.15}, "ferment-hot"),  # 34 to 36 °C sustained, common practice
        ({"gravity": 1.125, "final_gravity": 0.995}, "yeast-strength"),  # above 14 %vol
        ({"final_gravity": 1.030}, "attenuation-low"),
        ({"duration": 86400.0}, "ferment-short"),
        ({"gravity": 1.040, "final_gravity": 0.997}, "attenuation-high"),
    ],
)
def test_cautions(change: dict[str, float], code: str) -> None:
    found = ferment(replace(STEP, **change)).cautions  # type: ignore[arg-type]
    caution = next(one for one in found if one.code == code)
    assert caution.severity == "watch"
    assert caution.value is not None
    assert caution.limit is not None


def test_the_gas_note_names_its_volume() -> None:
    result = ferment(STEP)
    caution = next(one for one in result.cautions if one.code == "co2")
    assert f"{figure(result, 'gas'):.2f} m³" in caution.text


def test_lees_larger_than_the_wash_are_refused() -> None:
    with pytest.raises(InputError, match="lees and reserve"):
        ferment(replace(STEP, lees=0.023))


def test_impossible_gravities_are_refused() -> None:
    with pytest.raises(InputError):
        ferment(replace(STEP, final_gravity=1.070))
    with pytest.raises(OutOfRangeError):
        ferment(replace(STEP, gravity=1.5))
