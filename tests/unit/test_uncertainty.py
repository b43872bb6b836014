# SPDX-License-Identifier: MIT
"""Which inputs are uncertain, how far, and what one draw makes of them."""

from __future__ import annotations

import csv
import hashlib
import tomllib
from dataclasses import replace
from importlib.resources import files

import numpy as np
import pytest

from middlecut.errors import InputError, NotFoundError
from middlecut.insight.draws import Beliefs, KnownStill, deviates, vary
from middlecut.insight.uncertainty import (
    NINETY,
    UncertainInput,
    uncertain_inputs,
    with_spreads,
)
from middlecut.liquid import congeners, volatility
from middlecut.plan.model import Batch, Plan
from middlecut.plan.predict import predict
from middlecut.steps.lot import Amount, Lot
from middlecut.steps.parameters import Blend, Cut, Dilute, Distil, Ferment, Take, Until
from middlecut.steps.scenario import Scenario
from middlecut.steps.still import Still

COLUMN = Still(
    "column", 0.03, 2400.0, stages=3, stage_holdup=2e-5, head_loss=150.0, boiler_loss=100.0
)
PLAN = Plan(
    "shed.toml",
    Batch("Trial", pressure=98000.0),
    (
        Ferment("ferment", "wash", 0.020, 1.060, 1.008, 295.15, 5e5, lees=0.002,
                compounds={"methanol": Amount(0.02, 0.01, 0.05, "read")}),
        Distil("run", (Take("wash", volume=0.015),), "column", "spirit",
               (Cut("heads", Until(volume=1e-4), power=0.5), Cut("hearts", Until(strength=0.4)),
                Cut("tails", Until(head_temperature=371.0))), "rest"),
        Blend("marry", (Take("hearts"), Take("feints", fraction=0.5)), "both"),
        Dilute("reduce", Take("both"), 0.43, "ready"),
    ),
    {"column": COLUMN},
    (Lot("feints", 0.9, 0.6, 0.0, {"ethyl acetate": Amount(1e-4, 5e-5, 2e-4, "estimate")}),),
)  # fmt: skip
INPUTS = uncertain_inputs(PLAN, ("methanol", "ethyl acetate", "caffeine"))
BY_KEY = {one.key: one for one in INPUTS}


def drawn(**z: float) -> tuple[Plan, dict[str, float], dict[tuple[str, str], float]]:
    """Return the plan of the draw in which only these inputs, by part of their key, deviate."""
    row = np.array(
        [next((v for k, v in z.items() if k.replace("__", ".") in one.key), 0.0) for one in INPUTS]
    )
    plan, scenario = vary(PLAN, Beliefs(INPUTS), row)
    return plan, dict(scenario.volatility), dict(scenario.content)


def test_range_points_are_the_5_and_95_percent_points() -> None:
    one = UncertainInput("k", "k", "factor", up=3.0, down=2.0, basis="read", source="s")
    assert one.apply(10.0, NINETY) == pytest.approx(30.0)
    assert one.apply(10.0, 0.0) == 10.0
    assert one.apply(10.0, -NINETY) == pytest.approx(5.0)
    offset = replace(one, form="offset", up=0.5)
    assert offset.apply(350.0, -2.0 * NINETY) == pytest.approx(349.0)
    rest = replace(one, form="remainder", up=2.0, down=2.0)
    assert rest.apply(0.97, NINETY) == pytest.approx(0.94)
    assert rest.apply(0.97, 10.0) < 1.0


def test_contents_keep_the_range_of_their_table() -> None:
    row = next(r for r in congeners.congener_levels("grain") if r.compound == "3-methyl-1-butanol")
    one = BY_KEY["content.grain.3-methyl-1-butanol"]
    assert row.typical * one.factor(NINETY) == pytest.approx(row.high)
    assert row.typical * one.factor(-NINETY) == pytest.approx(row.low)
    assert one.basis == row.basis


def test_volatilities_keep_the_one_sigma_factor_of_their_grade() -> None:
    one = BY_KEY["volatility.methanol"]
    assert one.factor(1.0) == pytest.approx(volatility.grade("methanol").factor)
    assert one.factor(-1.0) == pytest.approx(1.0 / volatility.grade("methanol").factor)
    assert not any("caffeine" in key for key in BY_KEY if key.startswith("volatility"))


def test_each_kind_of_input_is_there_once() -> None:
    assert len(BY_KEY) == len(INPUTS)
    assert {
        "still.column.stages", "still.column.head_loss", "batch.pressure",
        "instrument.alcoholometer", "instrument.thermometer", "step.ferment.gravity",
        "step.ferment.lees", "step.run.power", "step.run.volume", "step.run.take",
        "step.reduce.strength", "given.feints.volume", "given.feints.strength",
        "given.feints.content.ethyl acetate", "content.step:ferment.methanol",
    } <= set(BY_KEY)  # fmt: skip
    # What the still does not have cannot be uncertain.
    assert not {"still.column.coolant_duty", "still.column.reflux_ratio"} & set(BY_KEY)


def test_a_draw_moves_what_it_says_and_nothing_else() -> None:
    plan, _, _ = drawn()
    assert plan.steps == PLAN.steps
    assert plan.stills == dict(PLAN.stills)
    plan, _, _ = drawn(head_loss=NINETY, alcoholometer=-NINETY, run__take=NINETY)
    assert plan.stills["column"].head_loss == pytest.approx(150.0 * 1.25)
    assert plan.stills["column"].boiler_loss == 100.0
    run = plan.step("run")
    assert isinstance(run, Distil)
    assert run.cuts[1].until.strength == pytest.approx(0.395)
    assert run.cuts[0].until.volume == pytest.approx(1e-4)
    assert run.takes[0].volume == pytest.approx(0.015 * 1.01)


def test_a_draw_of_a_given_lot_keeps_volume_and_strength_apart() -> None:
    plan, _, _ = drawn(feints__strength=NINETY)
    assert plan.given[0].strength == pytest.approx(PLAN.given[0].strength + 0.005, abs=1e-9)
    assert plan.given[0].volume == pytest.approx(PLAN.given[0].volume, rel=1e-9)
    plan, _, _ = drawn(feints__volume=NINETY, feints__content=-NINETY)
    assert plan.given[0].volume == pytest.approx(PLAN.given[0].volume * 1.01)
    assert plan.given[0].amounts["ethyl acetate"].typical == pytest.approx(5e-5 * 1.01)


def test_power_settings_never_pass_full_power() -> None:
    plan, _, _ = drawn(run__power=3.0)
    run = plan.step("run")
    assert isinstance(run, Distil)
    assert run.power == 1.0
    assert run.cuts[0].power == pytest.approx(0.5 * 1.03 ** (3.0 / NINETY))


def test_air_pressure_takes_five_values() -> None:
    found = {drawn(batch__pressure=z)[0].batch.pressure for z in np.linspace(-3.0, 3.0, 41)}
    assert len(found) == 5
    assert 98000.0 in found


def test_every_draw_closes_its_accounts() -> None:
    inputs = uncertain_inputs(PLAN, predict(PLAN).account.entries)
    for row in deviates(inputs, 4, 11):
        plan, scenario = vary(PLAN, Beliefs(inputs), row)
        # ``predict`` checks every step and the whole plan to 1e-9.
        done = predict(plan, replace(scenario, lean=False))
        assert max(abs(entry.gap) for entry in done.account.entries.values()) <= 1e-9


def test_factors_of_a_scenario_reach_the_lots() -> None:
    plain = predict(PLAN)
    ahead = predict(PLAN, Scenario(volatility={"ethyl acetate": 1.5}))
    share = [one.lots["heads"].amounts["ethyl acetate"].typical for one in (plain, ahead)]
    assert share[1] > 1.05 * share[0]
    for name in ("methanol", "3-methyl-1-butanol"):
        before = plain.lots["heads"].amounts[name].typical
        assert ahead.lots["heads"].amounts[name].typical == pytest.approx(before, rel=2e-3)
    richer = predict(PLAN, Scenario(content={("grain", "1-propanol"): 2.0}))
    before = plain.lots["wash"].amounts["1-propanol"].typical
    assert richer.lots["wash"].amounts["1-propanol"].typical == pytest.approx(2.0 * before)
    own = predict(PLAN, Scenario(content={("step:ferment", "methanol"): 3.0}))
    before = plain.lots["wash"].amounts["methanol"].typical
    assert own.lots["wash"].amounts["methanol"].typical == pytest.approx(3.0 * before)


def test_deviates_fill_every_stratum_and_keep_to_their_key() -> None:
    found = deviates(INPUTS, 50, 7)
    from scipy.special import ndtr

    for column in (0, len(INPUTS) - 1):
        assert sorted((ndtr(found[:, column]) * 50).astype(int)) == list(range(50))
    np.testing.assert_array_equal(deviates(INPUTS[3:5], 50, 7), found[:, 3:5])
    assert not np.array_equal(deviates(INPUTS[:1], 50, 8), found[:, :1])


def test_known_still_varies_with_its_covariance() -> None:
    covariance = np.array([[0.04, 0.03], [0.03, 0.09]])
    root = np.linalg.cholesky(covariance)
    still = KnownStill(("head_loss", "stages"), (True, False), np.array([5.0, 3.0]), root)
    rows = np.random.default_rng(1).standard_normal((4000, 2))
    found = [still.values(row) for row in rows]
    inner = np.array([[np.log(one["head_loss"]), one["stages"]] for one in found])
    # Sampling error of a variance from 4000 draws is 2.2 %.
    np.testing.assert_allclose(np.cov(inner.T), covariance, rtol=0.1)


def test_spreads_of_the_users_own() -> None:
    changed = {o.key: o for o in with_spreads(INPUTS, {"still.column.head_loss": 0.1})}
    assert changed["still.column.head_loss"].factor(NINETY) == pytest.approx(1.1)
    exact = {o.key: o for o in with_spreads(INPUTS, {"batch.pressure": 0.0})}
    assert exact["batch.pressure"].apply(98000.0, 2.0) == 98000.0
    with pytest.raises(NotFoundError, match="head_loss"):
        with_spreads(INPUTS, {"still.column.headloss": 0.1})
    with pytest.raises(InputError, match="0 or more"):
        with_spreads(INPUTS, {"still.column.head_loss": float("nan")})


def test_table_of_inputs_is_the_one_described() -> None:
    path = files("middlecut.insight") / "tables" / "input_uncertainty.csv"
    sidecar = tomllib.loads(
        (files("middlecut.insight") / "tables" / "input_uncertainty.toml").read_text("utf-8")
    )
    raw = path.read_bytes()
    assert hashlib.sha256(raw).hexdigest() == sidecar["sha256"]
    rows = list(csv.DictReader(raw.decode().splitlines()))
    assert set(rows[0]) == set(sidecar["units"])
    assert {row["basis"] for row in rows} <= {"estimate", "memory"}
    assert all(float(row["spread"]) > 0.0 and row["source"] and row["advice"] for row in rows)
