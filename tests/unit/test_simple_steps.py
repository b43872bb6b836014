# SPDX-License-Identifier: MIT
"""Draw, blend, dilute and bottle, against published mixing figures and by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from middlecut.errors import InputError
from middlecut.liquid import alcoholometry
from middlecut.steps.blend import blend
from middlecut.steps.bottle import METHANOL_LIMITS, bottle, remainder_name
from middlecut.steps.dilute import dilute, water_to_strength
from middlecut.steps.draw import draw
from middlecut.steps.lot import Amount, Lot
from middlecut.steps.mixing import by_name, contraction, mixed, share_of, water_lot, weakest
from middlecut.steps.parameters import Blend, Bottle, Dilute, Draw, Take
from middlecut.steps.result import StepResult


def spirit(volume: float, strength: float, name: str = "hearts", **traces: Amount) -> Lot:
    fraction = alcoholometry.mass_fraction_from_strength(strength)
    mass = volume * alcoholometry.density_20(fraction)
    return Lot(name, mass * (1 - fraction), mass * fraction, 0.0, traces)


def figure(result: StepResult, key: str) -> float:
    return next(row.value for row in result.figures if row.key == key)


METHANOL = Amount(1.0e-4, 0.5e-4, 2.0e-4, "memory")


def test_equal_volumes_of_water_and_ethanol_contract() -> None:
    # 50 + 50 mL give 96.46 mL (published figure, four digits).
    parts = [spirit(50e-6, 1.0), spirit(50e-6, 0.0)]
    whole = mixed(parts, "half")
    assert whole.volume == pytest.approx(96.46e-6, abs=0.005e-6)
    assert contraction(parts, whole) == pytest.approx(3.54e-6, abs=0.005e-6)


def test_mixing_adds_ranges_and_keeps_the_weakest_basis() -> None:
    both = mixed(
        [
            Lot("a", 1.0, 0.0, 0.0, {"x": Amount(1.0, 0.5, 2.0, "read")}),
            Lot("b", 1.0, 0.0, 0.0, {"x": Amount(3.0, 2.0, 4.0, "memory")}),
        ],
        "c",
    )
    assert both.amounts["x"] == Amount(4.0, 2.5, 6.0, "memory")


def test_basis_order() -> None:
    assert weakest("read", "computed") == "computed"
    assert weakest("estimate", "memory") == "estimate"
    assert weakest("measured by a friend", "read") == "estimate"


def test_hot_and_cold_water_meet_by_mass() -> None:
    warm = mixed([water_lot(1.0, 353.15), water_lot(3.0, 293.15)], "tub")
    assert warm.temperature == pytest.approx(308.15, abs=1e-9)


def test_ethanol_carries_less_heat_than_water() -> None:
    # 1 kg each: by 2440 and 4184 J/kg/K, (2440·60 + 4184·20)/6624 = 34.73 °C.
    warm = mixed([Lot("e", 0.0, 1.0, temperature=333.15), water_lot(1.0)], "mix")
    assert warm.temperature - 273.15 == pytest.approx(34.73, abs=0.01)


def test_lots_of_one_name_become_one() -> None:
    assert by_name([water_lot(1.0), water_lot(2.0)])["added water"].water == 3.0


def test_share_of_refuses_more_than_there_is() -> None:
    lot = spirit(1e-3, 0.4)
    assert share_of(lot, 0.25e-3, field="x") == pytest.approx(0.25, rel=1e-9)
    with pytest.raises(InputError, match="holds 1 L"):
        share_of(lot, 1.1e-3, field="x")
    with pytest.raises(InputError):
        share_of(lot, float("nan"), field="x")


def test_draw_only_renames() -> None:
    lot = spirit(1e-3, 0.7, methanol=METHANOL)
    made = draw(Draw("d", Take("hearts"), "kept"), lot).made["kept"]
    assert (made.water, made.ethanol, dict(made.amounts)) == (
        lot.water,
        lot.ethanol,
        dict(lot.amounts),
    )


def test_blend_reports_its_contraction() -> None:
    parts = (spirit(1e-3, 0.8, "a"), spirit(1e-3, 0.1, "b"))
    result = blend(Blend("m", (Take("a"), Take("b")), "c"), parts)
    assert figure(result, "contraction") == pytest.approx(2e-3 - result.made["c"].volume, rel=1e-9)
    assert figure(result, "contraction") > 0


def test_blend_of_nothing_is_refused() -> None:
    with pytest.raises(InputError):
        blend(Blend("m", (), "c"), ())


def test_dilute_reaches_the_strength_exactly() -> None:
    result = dilute(Dilute("d", Take("hearts"), 0.43, "ready"), spirit(2e-3, 0.72))
    assert result.made["ready"].strength == pytest.approx(0.43, rel=1e-12)
    assert figure(result, "water") == pytest.approx(result.account.entries["water"].came[
        "added water"
    ], rel=1e-12)  # fmt: skip


def test_dilute_agrees_with_the_alcoholometry() -> None:
    mass, volume = alcoholometry.dilution_water(2e-3, 0.72, 0.43)
    result = dilute(Dilute("d", Take("hearts"), 0.43, "ready"), spirit(2e-3, 0.72))
    assert figure(result, "water") == pytest.approx(mass, rel=1e-9)
    assert figure(result, "water_volume") == pytest.approx(volume, rel=1e-9)


def test_dissolved_solids_count_as_volume() -> None:
    lot = replace(spirit(1e-3, 0.5), solids=0.1)
    added = water_to_strength(lot, 0.3)
    assert mixed([lot, water_lot(added)], "liqueur").strength == pytest.approx(0.3, rel=1e-12)


def test_staged_water_adds_up_and_falls_by_equal_strength() -> None:
    step = Dilute("d", Take("hearts"), 0.40, "ready", additions=4, water_temperature=285.15)
    result = dilute(step, spirit(1e-3, 0.80))
    stages = [figure(result, f"addition_{n}_water") for n in range(1, 5)]
    assert sum(stages) == pytest.approx(figure(result, "water"), rel=1e-12)
    strengths = [figure(result, f"addition_{n}_strength") for n in range(1, 5)]
    assert strengths == pytest.approx([0.7, 0.6, 0.5, 0.4], abs=1e-9)
    # Cold water is denser: the volume to pour is the mass over the density at 12 °C.
    assert figure(result, "water_volume") * alcoholometry.density(0.0, 285.15) == pytest.approx(
        figure(result, "water"), rel=1e-12
    )


def test_water_cannot_raise_a_strength() -> None:
    with pytest.raises(InputError, match="water can only lower"):
        dilute(Dilute("d", Take("hearts"), 0.75, "ready"), spirit(1e-3, 0.7))


def test_no_addition_at_all_is_refused() -> None:
    with pytest.raises(InputError, match="additions"):
        dilute(Dilute("d", Take("hearts"), 0.4, "ready", additions=0), spirit(1e-3, 0.7))


FILL = Bottle("b", Take("ready"), "bottles", bottle_volume=0.5e-3, label_strength=0.46, loss=2e-5)


def test_bottle_counts_whole_bottles() -> None:
    result = bottle(FILL, spirit(3.4e-3, 0.46, "ready"))
    assert figure(result, "bottles") == 6
    assert result.made["bottles"].volume == pytest.approx(3e-3, rel=1e-9)
    assert result.made[remainder_name("bottles")].volume == pytest.approx(0.38e-3, rel=1e-9)
    lost = result.account.entries["ethanol"].went["lost in filling"]
    assert lost / spirit(2e-5, 0.46).ethanol == pytest.approx(1.0, rel=1e-9)


def test_exactly_full_bottles_leave_no_remainder() -> None:
    result = bottle(replace(FILL, loss=0.0), spirit(3e-3, 0.46, "ready"))
    assert figure(result, "bottles") == 6
    assert list(result.made) == ["bottles"]


def test_less_than_a_bottle_is_refused() -> None:
    with pytest.raises(InputError, match="less than one bottle"):
        bottle(FILL, spirit(0.4e-3, 0.46, "ready"))
    with pytest.raises(InputError, match="loss"):
        bottle(replace(FILL, loss=1e-3), spirit(0.9e-3, 0.46, "ready"))


@pytest.mark.parametrize(("strength", "wrong"), [(0.4631, True), (0.4629, False), (0.4569, True)])
def test_label_is_held_against_its_tolerance(strength: float, *, wrong: bool) -> None:
    # Tolerance 0.3 %vol: Regulation (EU) 1169/2011, Annex XII (read).
    found = bottle(FILL, spirit(1e-3, strength, "ready")).cautions
    assert ("label-strength" in {caution.code for caution in found}) is wrong


@pytest.mark.parametrize(
    ("strength", "severity"), [(0.4649, "watch"), (0.4749, "watch"), (0.4751, "danger")]
)
def test_a_label_no_drink_may_carry_is_a_danger(strength: float, severity: str) -> None:
    # The widest tolerance of any drink is 1.5 %vol: Regulation (EU) 1169/2011, Annex XII (read).
    found = bottle(FILL, spirit(1e-3, strength, "ready")).cautions
    caution = next(one for one in found if one.code == "label-strength")
    assert caution.severity == severity
    assert ("unlawful" in caution.text) is (severity == "danger")
    wide = replace(FILL, tolerance=0.03)
    assert "label-strength" not in {
        one.code for one in bottle(wide, spirit(1e-3, strength, "ready")).cautions
    }


def test_low_label_is_noted() -> None:
    # 37.5 %vol: lowest bottling strength of many categories, Regulation (EU) 2019/787 (read).
    step = replace(FILL, label_strength=0.37)
    found = {caution.code for caution in bottle(step, spirit(1e-3, 0.37, "ready")).cautions}
    assert "label-low" in found


def test_methanol_is_given_per_pure_alcohol() -> None:
    # 8 g per hL of pure alcohol is 80 mg per L of it.
    lot = spirit(1e-3, 0.46, "ready")
    per_alcohol = 0.08 * lot.pure_alcohol
    amounts = {"methanol": Amount(per_alcohol, per_alcohol / 2, per_alcohol * 2, "memory")}
    result = bottle(FILL, replace(lot, amounts=amounts))
    caution = next(one for one in result.cautions if one.code == "methanol")
    assert "8 g per hL" in caution.text
    assert caution.severity == "note"
    assert figure(result, "methanol") == pytest.approx(0.08, rel=1e-9)


def test_methanol_above_every_category_is_a_danger() -> None:
    # The highest limit is 1500 g/hL for fruit-marc spirit (read).
    assert METHANOL_LIMITS[-1][1] == 1500
    lot = spirit(1e-3, 0.46, "ready")
    high = 15.1 * lot.pure_alcohol
    amounts = {"methanol": Amount(high / 2, high / 4, high, "estimate")}
    caution = next(
        one
        for one in bottle(FILL, replace(lot, amounts=amounts)).cautions
        if one.code == "methanol"
    )
    assert caution.severity == "danger"
    assert "laboratory" in caution.text
