# SPDX-License-Identifier: MIT
"""The walk of a plan: what is taken, what is left, and one account over all of it."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from middlecut.errors import InputError, PlanError
from middlecut.plan.model import Batch, Plan
from middlecut.plan.pool import RESERVED_NAMES, Pool
from middlecut.plan.predict import predict
from middlecut.steps.lot import Amount, Lot
from middlecut.steps.parameters import (
    Blend,
    Bottle,
    Cut,
    Dilute,
    Distil,
    Draw,
    Ferment,
    StepParameters,
    Take,
    Until,
)
from middlecut.steps.result import CLOSURE
from middlecut.steps.still import Still

POT = Still(
    "pot", boiler_volume=0.030, heater_power=2400.0, boiler_loss=150.0, head_loss=80.0,
    condenser_duty=4000.0, element_covered_above=0.003,
)  # fmt: skip
FEINTS = Lot("feints", 0.9, 0.3, 0.0, {"ethyl acetate": Amount(1e-4, 5e-5, 2e-4, "estimate")})
STEPS: tuple[StepParameters, ...] = (
    Ferment(
        "ferment", "wash", 0.024, 1.060, 1.008, 295.15, 6 * 86400.0, 2 * 86400.0, 0.002,
        (("late", 0.002),),
    ),
    Distil("strip", (Take("wash", volume=0.018),), "pot", "strip",
           (Cut("low wines", Until(strength=0.08)),), "stillage"),
    Distil("spirit", (Take("low wines"), Take("late", fraction=0.5), Take("feints")), "pot",
           "spirit", (Cut("heads", Until(volume=1e-4)), Cut("hearts", Until(strength=0.55)),
                      Cut("tails", Until(strength=0.2))), "rest", water=0.5, power=0.6),
    Draw("aside", Take("hearts", volume=2e-4), "kept"),
    Blend("marry", (Take("hearts"), Take("kept", fraction=0.5)), "spirit"),
    Dilute("reduce", Take("spirit"), 0.43, "ready", additions=2),
    Bottle("fill", Take("ready"), "bottles", 0.25e-3, 0.43, loss=1e-5),
)  # fmt: skip
PLAN = Plan(
    "shed.toml",
    Batch("Trial", pressure=98000.0, currency="EUR", energy_price=0.3 / 3.6e6, water_price=4.0),
    STEPS,
    {"pot": POT},
    (FEINTS,),
    lines={"strip": 12, "reduce": 40},
)


def with_step(step: StepParameters) -> Plan:
    return replace(PLAN, steps=tuple(step if old.id == step.id else old for old in PLAN.steps))


def refused(plan: Plan) -> PlanError:
    with pytest.raises(PlanError) as caught:
        predict(plan)
    return caught.value


def test_every_step_and_lot_is_there() -> None:
    prediction = predict(PLAN)
    assert list(prediction.steps) == [step.id for step in STEPS]
    assert {"feints", "wash", "late", "low wines", "stillage", "hearts", "bottles"} <= set(
        prediction.lots
    )
    assert prediction.lots["ready"].strength == pytest.approx(0.43, rel=1e-12)


def test_what_is_left_is_what_was_not_taken() -> None:
    prediction = predict(PLAN)
    left = prediction.left
    assert "low wines" not in left
    assert left["late"].volume == pytest.approx(0.001, rel=1e-9)
    assert left["wash"].volume == pytest.approx(prediction.lots["wash"].volume - 0.018, rel=1e-9)
    # The one lot drawn by volume leaves exactly the rest, which the blend then takes.
    assert prediction.steps["marry"].used["hearts"].volume == pytest.approx(
        prediction.lots["hearts"].volume - 2e-4, rel=1e-9
    )


def test_the_whole_account_closes_and_names_both_ends() -> None:
    account = predict(PLAN).account
    assert max(abs(entry.gap) for entry in account.entries.values()) <= CLOSURE
    water = account.entries["water"]
    assert {"wort", "feints", "added water"} <= set(water.came)
    assert {"lees", "stillage", "rest", "bottles", "lost in filling"} <= set(water.went)
    assert not {"low wines", "hearts", "ready"} & {*water.came, *water.went}
    assert {"made by yeast", "feints"} <= set(account.entries["ethyl acetate"].came)


def test_account_equals_what_went_in_by_hand() -> None:
    prediction = predict(PLAN)
    water = prediction.account.entries["water"]
    diluted = next(row.value for row in prediction.steps["reduce"].figures if row.key == "water")
    assert water.came["added water"] == pytest.approx(0.5 + diluted, rel=1e-12)
    assert water.came["feints"] == FEINTS.water


def test_common_practice_of_wash_and_low_wines() -> None:
    # Common practice: a stripping run at full power without cuts from a wash of 7 to 9 %vol gives
    # low wines of about 21 to 35 %vol, by where it is stopped.
    lots = predict(PLAN).lots
    assert 0.065 <= lots["wash"].strength <= 0.09
    assert 0.21 <= lots["low wines"].strength <= 0.35


def test_totals_add_up_and_are_priced() -> None:
    prediction = predict(PLAN)
    totals = prediction.totals
    assert totals.energy == pytest.approx(
        sum(result.energy for result in prediction.steps.values()), rel=1e-12
    )
    assert totals.still_time < totals.duration
    assert totals.cost == pytest.approx(
        totals.energy * 0.3 / 3.6e6 + totals.cooling_water / 998.20123 * 4.0, rel=1e-12
    )
    assert predict(replace(PLAN, batch=Batch("free"))).totals.cost is None


def test_usual_cautions_come_once() -> None:
    codes = [caution.code for caution in predict(PLAN).cautions]
    assert codes.count("law") == 1
    assert codes.count("unattended") == 1


def test_provenance_and_sources_are_named() -> None:
    prediction = predict(PLAN)
    assert "middlecut" in prediction.provenance
    assert {"balling1865", "oiml_r22"} <= set(prediction.citations)


def test_to_dict_is_plain_json_and_to_frame_has_a_row_per_lot() -> None:
    prediction = predict(PLAN)
    read_back = json.loads(json.dumps(prediction.to_dict(), allow_nan=False))
    assert set(read_back["lots"]) == set(prediction.lots)
    assert read_back["steps"]["spirit"]["run"]["cuts"][1]["into"] == "hearts"
    frame = prediction.to_frame()
    assert list(frame.index) == list(prediction.lots)
    assert frame.loc["ready", "strength"] == pytest.approx(0.43, rel=1e-9)


def test_the_same_plan_gives_the_same_numbers() -> None:
    assert predict(PLAN).to_dict() == predict(PLAN).to_dict()


def test_more_than_is_left_names_place_and_remedy() -> None:
    step = replace(STEPS[1], takes=(Take("wash", volume=0.030),))  # type: ignore[arg-type]
    error = refused(with_step(step))
    problem = error.problems[0]
    assert problem.key == "step.strip.from"
    assert problem.line == 12
    assert "30 L of wash" in problem.value
    assert "is left" in problem.message
    assert "Take at most" in problem.remedy
    assert "shed.toml:12" in str(error)


def test_a_lot_used_before_it_exists() -> None:
    step = replace(STEPS[1], takes=(Take("hearts"),))  # type: ignore[arg-type]
    assert "has been made so far" in refused(with_step(step)).problems[0].message


def test_a_lot_used_up() -> None:
    step = replace(STEPS[3], take=Take("low wines"))  # type: ignore[arg-type]
    assert "nothing is left" in refused(with_step(step)).problems[0].message


def test_a_still_nobody_described() -> None:
    step = replace(STEPS[1], still="ptt")  # type: ignore[arg-type]
    assert "no still called 'ptt'" in str(refused(with_step(step)))


def test_a_strength_out_of_reach_names_the_step() -> None:
    step = replace(STEPS[5], strength=0.9)  # type: ignore[arg-type]
    problem = refused(with_step(step)).problems[0]
    assert (problem.key, problem.line) == ("step.reduce.strength", 40)


@pytest.mark.parametrize("name", sorted(RESERVED_NAMES))
def test_names_the_accounts_need_are_refused(name: str) -> None:
    with pytest.raises(InputError, match="accounts use that name"):
        Pool([Lot(name, 1.0, 0.0)])


def test_two_lots_of_one_name_are_refused() -> None:
    step = replace(STEPS[3], into="tails")  # type: ignore[arg-type]
    assert "exists already" in refused(with_step(step)).problems[0].message


@pytest.mark.parametrize("fraction", [0.0, -0.1, 1.2, float("nan")])
def test_a_share_is_a_share(fraction: float) -> None:
    with pytest.raises(InputError, match="share"):
        Pool([FEINTS]).take(Take("feints", fraction=fraction))


@pytest.mark.parametrize("volume", [0.0, -1.0, float("nan"), float("inf")])
def test_a_volume_is_a_volume(volume: float) -> None:
    with pytest.raises(InputError):
        Pool([FEINTS]).take(Take("feints", volume=volume))


def test_taking_all_but_a_hair_takes_all() -> None:
    pool = Pool([FEINTS])
    pool.take(Take("feints", volume=FEINTS.volume * (1 + 5e-10)))
    assert pool.left == {}


def test_a_copied_pool_is_its_own() -> None:
    pool = Pool([FEINTS])
    pool.copy().take(Take("feints"))
    assert set(pool.left) == {"feints"}
