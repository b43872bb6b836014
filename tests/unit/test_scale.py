# SPDX-License-Identifier: MIT
"""Scaling a plan: the wanted volume comes out, boilers are not overfilled, the file says so."""

from __future__ import annotations

import json

import pytest

import middlecut as mc
from middlecut.errors import (
    InputError,
    NotFoundError,
    OutOfRangeError,
    PlanError,
)
from middlecut.liquid.alcoholometry import strength_from_proof
from middlecut.plan.model import Plan
from middlecut.plan.predict import predict
from middlecut.plan.read import read_plan_text
from middlecut.plan.scale import ScaledPlan, scale
from middlecut.plan.scale_units import as_written
from middlecut.plan.scale_values import plan_quantity
from middlecut.plan.scaling import MOST_CHARGES

STRENGTH_OF_80_PROOF = float(strength_from_proof(80.0))
"""From the table of the scale; what is tested is the way back into the user's unit."""

TEXT = """\
# A small batch.
[batch]
name = "Small"

[still.pot]
boiler_volume = "30 L"
heater_power = "2.4 kW"
safe_fill = "60 %"
condenser_duty = "4 kW"

[[step]]
id = "ferment"
kind = "ferment"
volume = "16 L"   # what the bucket holds
gravity = "1.060 SG"
final_gravity = "1.008 SG"
temperature = "22 °C"
duration = "6 d"
lees = "1 L"
reserve = [{ into = "late", volume = "500 mL" }]
into = "wash"

# Full power.
[[step]]
id = "strip"
kind = "distil"
purpose = "strip"
still = "pot"
from = ["wash"]
cuts = [{ into = "low wines", until = "8 %vol" }]
residue = "stillage"

[[step]]
id = "spirit"
kind = "distil"
purpose = "spirit"
still = "pot"
from = ["low wines", { lot = "late", volume = "400 mL" }]
water = "1 L"
power = "60 %"
cuts = [
    { into = "heads", until = "80 mL" },
    { into = "hearts", until = "55 %vol", jars = "250 mL" },
]
residue = "rest"

[[step]]
id = "reduce"
kind = "dilute"
from = "hearts"
strength = "43 %vol"
into = "ready"

[[step]]
id = "fill"
kind = "bottle"
from = "ready"
into = "bottles"
bottle_volume = "250 mL"
strength = "43 %vol"
"""


@pytest.fixture(scope="module")
def plan() -> Plan:
    return read_plan_text(TEXT, "small.toml")


@pytest.fixture(scope="module")
def twelve(plan: Plan) -> ScaledPlan:
    return scale(plan, bottles=12)


def count(scaled: ScaledPlan) -> float:
    figures = scaled.prediction.steps["fill"].figures
    return next(row.value for row in figures if row.key == "bottles")


def test_twelve_bottles_come_out(twelve: ScaledPlan) -> None:
    assert count(twelve) == 12
    rest = twelve.prediction.lots["bottles remainder"]
    # 1 % is to spare, of which rounding to three digits may take half or add half a per cent.
    assert 0.5 * 0.01 * 3e-3 <= rest.volume <= (0.01 + 0.005) * 3e-3 * 1.02


def test_the_written_plan_gives_the_same(twelve: ScaledPlan) -> None:
    again = predict(read_plan_text(twelve.text, "new.toml"))
    for name, lot in twelve.prediction.lots.items():
        if "remainder" not in name:
            assert again.lots[name].volume == pytest.approx(lot.volume, rel=1e-12), name


def test_comments_stay(twelve: ScaledPlan) -> None:
    assert "# A small batch." in twelve.text
    assert "# what the bucket holds" in twelve.text
    assert "# Full power." in twelve.text


def test_boilers_are_not_overfilled(twelve: ScaledPlan) -> None:
    assert twelve.charges["strip"] >= 2
    for result in twelve.prediction.steps.values():
        assert "fill-high" not in {caution.code for caution in result.cautions}
    runs = [key for key in twelve.prediction.steps if key.startswith("strip-charge-")]
    assert sum("join" not in key for key in runs) == twelve.charges["strip"]


def test_split_charges_are_alike(twelve: ScaledPlan) -> None:
    n = twelve.charges["strip"]
    volumes = [
        twelve.prediction.lots[f"low wines ({number} of {n})"].volume for number in range(1, n + 1)
    ]
    assert volumes == pytest.approx([volumes[0]] * n, rel=1e-9)


def test_no_fewer_charges_would_do(twelve: ScaledPlan) -> None:
    n = twelve.charges["strip"]
    wash = twelve.prediction.lots["wash"].volume
    assert (n - 1) * 0.6 * 0.030 < wash <= n * 0.6 * 0.030 * (1 + 1e-6)


def test_changes_name_every_value(twelve: ScaledPlan) -> None:
    keys = {change.key for change in twelve.changes}
    assert keys == {
        'step."ferment".volume',
        'step."ferment".lees',
        'step."ferment".reserve[0].volume',
        'step."spirit".from[1].volume',
        'step."spirit".water',
        'step."spirit".cuts[0].until',
    }
    for change in twelve.changes:
        # Three significant digits: half a unit of the last one is at most 0.5 %.
        assert change.after / change.before == pytest.approx(twelve.factor, rel=5e-3)


def test_it_goes_down_too(plan: Plan) -> None:
    small = scale(plan, volume=0.5e-3)
    assert small.factor < 0.5
    assert set(small.charges.values()) == {1}
    whole = small.prediction.lots["bottles"].volume
    rest = small.prediction.lots.get("bottles remainder")
    reached = whole + (rest.volume if rest else 0.0)
    assert 0.5e-3 <= reached <= 0.5e-3 * 1.005


def test_a_reserve_is_what_was_asked_for(plan: Plan) -> None:
    scaled = scale(plan, bottles=12, margin=0.04)
    assert scaled.reserve == pytest.approx(0.04 * 3e-3)
    assert count(scaled) == 12
    assert scaled.prediction.lots["bottles remainder"].volume > 0.02 * 3e-3


def test_a_reserve_never_fills_one_more_bottle(plan: Plan) -> None:
    scaled = scale(plan, bottles=12, margin=0.5)
    assert count(scaled) == 12
    assert scaled.reserve < 0.25e-3


@pytest.mark.parametrize("margin", [-0.01, 0.6, float("nan")])
def test_a_reserve_out_of_range_is_refused(plan: Plan, margin: float) -> None:
    with pytest.raises(OutOfRangeError, match="margin"):
        scale(plan, bottles=12, margin=margin)


def test_amounts_keep_their_unit_and_few_digits() -> None:
    text = TEXT.replace('"16 L"', '"4.2 gal_us"').replace('"400 mL"', '"40 cL"')
    scaled = scale(read_plan_text(text, "us.toml"), bottles=5)
    written = {change.key: change.text for change in scaled.changes}
    number, unit = written['step."ferment".volume'].split(" ")
    assert unit == "gal_us"
    assert len(number.replace(".", "").lstrip("0")) <= 5
    assert written['step."spirit".from[1].volume'].endswith(" cL")
    assert written['step."ferment".lees'].endswith(" L")
    assert f'volume = "{number} gal_us"' in scaled.text
    assert count(scaled) == 5


@pytest.mark.parametrize(
    ("raw", "value", "dimension", "text"),
    [
        ("80 mL", 9.1234e-5, "volume", "91.2 mL"),
        ("2 gal_us", 2.0 * 3.785411784e-3, "volume", "2 gal_us"),
        ("1 L", 0.9982, "mass", "1 L"),  # water by volume: 998.2 kg/m³ at 20 °C, OIML R 22
        ("40 %vol", 0.4625, "strength", "46.25 %vol"),  # a strength is a wish, not an amount
        ("90 proof", STRENGTH_OF_80_PROOF, "strength", "80 proof"),
        ("1 h 25 min", 5100.0, "duration", "85 min"),
        (None, 0.0183749, "volume", "18.4 L"),
        ("12345 mL", 0.0123456, "volume", "12300 mL"),
    ],
)
def test_a_value_in_the_unit_that_stood_there(
    raw: str | None, value: float, dimension: str, text: str
) -> None:
    assert as_written(raw, value, dimension, 3) == text


def test_another_strength_sets_dilution_and_label(plan: Plan) -> None:
    scaled = scale(plan, bottles=6, strength=0.50)
    assert count(scaled) == 6
    assert scaled.prediction.lots["bottles"].strength == pytest.approx(0.5, rel=1e-9)
    assert scaled.text.count('strength = "50 %vol"') == 2
    codes = {caution.code for caution in scaled.prediction.cautions}
    assert "label-strength" not in codes


def test_another_lot_can_be_the_goal(plan: Plan) -> None:
    scaled = scale(plan, volume=2e-3, lot="hearts")
    assert 2e-3 <= scaled.prediction.lots["hearts"].volume <= 2e-3 * 1.005
    assert scaled.lot == "hearts"


def test_a_strength_the_run_does_not_give(plan: Plan) -> None:
    with pytest.raises(PlanError, match="water can only lower"):
        scale(plan, bottles=6, strength=0.90)


def test_a_strength_nothing_sets(plan: Plan) -> None:
    with pytest.raises(InputError, match="no dilute step"):
        scale(plan, volume=2e-3, lot="hearts", strength=0.6)


@pytest.mark.parametrize(
    "wanted", [{}, {"bottles": 3, "volume": 1e-3}, {"bottles": 0}, {"volume": 0.0},
               {"volume": float("nan")}, {"bottles": 3, "lot": "hearts"}],
)  # fmt: skip
def test_unclear_wishes_are_refused(plan: Plan, wanted: dict[str, float]) -> None:
    with pytest.raises(InputError):
        scale(plan, **wanted)  # type: ignore[arg-type]


def test_an_unknown_lot(plan: Plan) -> None:
    with pytest.raises(NotFoundError, match="hartes"):
        scale(plan, volume=1e-3, lot="hartes")


def test_a_boiler_far_too_small(plan: Plan) -> None:
    with pytest.raises(InputError, match="charges of that boiler"):
        scale(plan, volume=0.1 * MOST_CHARGES)


def test_a_volume_no_factor_gives(plan: Plan) -> None:
    text = TEXT.replace('from = "ready"', 'from = [{ lot = "ready", volume = "250 mL" }]')
    fixed = read_plan_text(text, "fixed.toml")
    # A bottle step that takes a fixed volume is scaled with the rest: it still works.
    assert count(scale(fixed, bottles=3)) == 3
    with pytest.raises(InputError, match="the least this plan gives"):
        scale(plan, volume=1e-9)


def test_the_result_is_plain_json(twelve: ScaledPlan) -> None:
    data = json.loads(json.dumps(twelve.to_dict(), allow_nan=False))
    assert data["charges"]["strip"] == twelve.charges["strip"]


@pytest.mark.parametrize(
    ("value", "dimension", "text"),
    [
        (0.0205, "volume", "20.5 L"),
        (8.5e-5, "volume", "85 mL"),
        (0.46, "strength", "46 %vol"),
        (351.65, "temperature", "78.5 °C"),
        (1800.0, "duration", "30 min"),
        (0.6, "fraction", "60 %"),
        (0.0, "mass", "0 kg"),
    ],
)
def test_values_as_a_plan_writes_them(value: float, dimension: str, text: str) -> None:
    assert plan_quantity(value, dimension) == text


@pytest.mark.parametrize(
    ("goal", "told", "option"),
    [
        # 40 charges of a boiler, two thirds full, are the most one step is split into.
        ({"bottles": 100_000}, "would take 41 charges", "--bottles "),
        ({"volume": 20.0}, "would take 41 charges", '--volume "'),
        # Less than one bottle cannot be bottled.
        ({"volume": 1e-5}, "less than one bottle", '--volume "'),
    ],
)
def test_a_limit_is_told_with_what_can_be_had(
    plan: Plan, goal: dict[str, float], told: str, option: str
) -> None:
    with pytest.raises(InputError) as caught:
        scale(plan, **goal)  # type: ignore[arg-type]
    assert told in caught.value.allowed
    assert option in caught.value.remedy
    if "bottles" in goal:  # and that much can be had
        most = int(caught.value.remedy.partition(option)[2].partition(")")[0])
        assert count(scale(plan, bottles=most)) == most


def test_a_volume_at_the_edge_of_what_can_be_had(plan: Plan) -> None:
    made = scale(plan, volume=0.25e-3)  # one bottle, and no smaller fill is possible
    assert count(made) == 1


def test_the_factor_itself_has_an_end() -> None:
    plan = mc.read_plan_text(
        '[batch]\nname = "Cut"\n[lot.hearts]\nvolume = "1 L"\nstrength = "60 %vol"\n'
        '[[step]]\nid = "reduce"\nkind = "dilute"\nfrom = "hearts"\ninto = "low"\n'
        'strength = "40 %vol"\n'
    )
    for wanted, part in ((100.0, "more than 10,000 times"), (1e-8, "less than 1/10,000 of")):
        with pytest.raises(InputError, match=part):
            mc.scale(plan, volume=wanted)


EARLIER = """\
[batch]
name = "Earlier"
[lot.hearts]
volume = "1 L"
strength = "60 %vol"
[[step]]
id = "ferment"
kind = "ferment"
volume = "16 L"
gravity = "1.060 SG"
final_gravity = "1.008 SG"
temperature = "22 °C"
duration = "6 d"
into = "wash"
[[step]]
id = "reduce"
kind = "dilute"
from = "hearts"
strength = "40 %vol"
into = "ready"
"""


def test_a_lot_of_an_earlier_batch_is_scaled_although_a_wash_stands_by() -> None:
    # One litre at 60 %vol makes about 1.5 L at 40 %vol: for twice that it takes twice the lot.
    once = predict(read_plan_text(EARLIER)).lots["ready"].volume
    scaled = scale(read_plan_text(EARLIER), volume=2.0 * once)
    assert scaled.factor == pytest.approx(2.0, rel=1e-3)
    changed = {change.key: change.after for change in scaled.changes}
    assert changed['lot."hearts".volume'] == pytest.approx(2e-3, rel=5e-3)
    assert scaled.prediction.lots["ready"].volume >= 2.0 * once


def test_a_lot_that_goes_into_the_wash_of_the_plan_stays_as_it_is(plan: Plan) -> None:
    feints = '[lot.feints]\nvolume = "1 L"\nstrength = "40 %vol"\n\n[[step]]\nid = "strip"'
    text = TEXT.replace('[[step]]\nid = "strip"', feints).replace('["wash"]', '["wash", "feints"]')
    scaled = scale(read_plan_text(text), bottles=20)
    assert not [change.key for change in scaled.changes if change.key.startswith("lot.")]
