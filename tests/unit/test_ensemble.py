# SPDX-License-Identifier: MIT
"""Bands: the same under a seed, as wide as what goes in, and honest about draws that fail."""

from __future__ import annotations

import json
import math
import threading
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest
from scipy import stats

import middlecut as mc
from middlecut.errors import CancelledError, InputError, NotFoundError
from middlecut.insight.ensemble import predict, predict_bands
from middlecut.insight.influence import rank_correlations
from middlecut.insight.narrow import Factor, NarrowedCompound
from middlecut.insight.numbers import quantiles
from middlecut.insight.workers import in_chunks
from middlecut.plan.model import Batch, Plan
from middlecut.plan.predict import walk
from middlecut.plan.prediction import Influence, Prediction
from middlecut.steps.lot import Amount, Lot
from middlecut.steps.parameters import Cut, Dilute, Distil, Take, Until
from middlecut.steps.scenario import Scenario
from middlecut.steps.still import Still

LEVELS = {
    "methanol": Amount(3e-5, 1e-5, 9e-5, "estimate"),
    "ethyl acetate": Amount(4e-5, 2e-5, 8e-5, "estimate"),
}
POT = Still("pot", 0.03, 2400.0, boiler_loss=150.0, head_loss=80.0)
PLAN = Plan(
    "shed.toml",
    Batch("Trial", pressure=98000.0),
    (
        Distil("run", (Take("wine"),), "pot", "spirit",
               (Cut("heads", Until(volume=1e-4)),
                Cut("hearts", Until(strength=0.55), jar_volume=4e-4),
                Cut("tails", Until(strength=0.2))), "rest", power=0.6),
        Dilute("reduce", Take("hearts"), 0.43, "ready"),
    ),
    {"pot": POT},
    (Lot("wine", 7.0, 2.0, 0.0, LEVELS),),
)  # fmt: skip
DRAWS = 40


@cache
def found() -> Prediction:
    return predict_bands(PLAN, DRAWS, 5, workers=1)


def values(prediction: Prediction) -> np.ndarray[Any, np.dtype[np.float64]]:
    assert prediction.ensemble is not None
    return prediction.ensemble.values


def test_same_numbers_whatever_works_on_them() -> None:
    expected = values(found())
    np.testing.assert_array_equal(values(predict_bands(PLAN, DRAWS, 5, workers=2)), expected)
    np.testing.assert_array_equal(values(predict(PLAN, DRAWS, 5)), expected)
    stop = threading.Event()
    other = threading.Thread(target=stop.wait)
    other.start()
    try:  # with a second thread about, threads do the work instead of processes
        again = predict_bands(PLAN, DRAWS, 5, workers=2)
    finally:
        stop.set()
        other.join()
    np.testing.assert_array_equal(values(again), expected)
    assert not np.array_equal(values(predict_bands(PLAN, DRAWS, 6, workers=1)), expected)


def test_everything_has_a_band_around_the_plan_as_it_stands() -> None:
    prediction = found()
    for lot in prediction.lots.values():
        assert lot.band is not None
        for name in ("volume", "strength", "pure_alcohol"):
            band = getattr(lot.band, name)
            assert band.low <= band.median <= band.high
            slack = 1e-9 * abs(band.high)
            assert band.low - slack <= getattr(lot, name) <= band.high + slack, (lot.name, name)
        for compound, amount in lot.amounts.items():
            level = lot.band.compounds[compound]
            assert amount.low * 1e3 / lot.volume == pytest.approx(level.low)
            assert level.low <= lot.compounds[compound] <= level.high
    curve = prediction.steps["run"].curve
    assert curve is not None
    assert all(cut.band is not None for cut in curve.cuts)
    assert len(curve.jars) > 2
    assert all(jar.band is not None and jar.band.volume.share > 0.0 for jar in curve.jars)
    assert curve.band is not None
    at = len(curve.band.volume) // 2
    here = np.interp(curve.band.volume[at], curve.volume, curve.strength)
    assert curve.band.strength[0, at] < here < curve.band.strength[2, at]
    assert curve.band.rates.shape == (3, len(curve.band.volume), len(LEVELS))
    figures = {row.key: row for row in prediction.steps["run"].figures}
    run_time = figures["run_time"]
    assert run_time.low is not None
    assert run_time.high is not None
    assert run_time.low < run_time.value < run_time.high
    assert prediction.totals.bands["energy"].low < prediction.totals.energy


def test_the_plan_as_it_stands_is_predicted_as_without_draws() -> None:
    plain = predict(PLAN)
    assert plain.ensemble is None
    for name, lot in found().lots.items():
        assert lot.volume == plain.lots[name].volume
        assert lot.compounds == plain.lots[name].compounds
    assert plain.lots["hearts"].band is None


def test_a_measured_strength_has_the_band_of_its_instrument() -> None:
    # 5 and 95 % points of a normal distribution whose 5–95 % half-width is 0.3 % vol; linear
    # interpolation between 40 strata leaves 2 % of that.
    band = found().lots["ready"].band
    assert band is not None
    assert band.strength.low == pytest.approx(0.427, abs=2.5e-4)
    assert band.strength.high == pytest.approx(0.433, abs=2.5e-4)
    assert band.strength.median == pytest.approx(0.43, abs=1e-4)


def test_a_wider_input_widens_the_band() -> None:
    widths = []
    for spread in (0.05, 0.5):
        prediction = predict_bands(
            PLAN, DRAWS, 5, workers=1, spreads={"still.pot.head_loss": spread}
        )
        band = prediction.lots["hearts"].band
        assert band is not None
        widths.append(band.strength.high - band.strength.low)
    assert widths[1] > 1.5 * widths[0]


def test_exact_inputs_leave_no_band() -> None:
    exact = dict.fromkeys(mc_inputs(PLAN), 0.0)
    prediction = predict_bands(PLAN, 3, 0, workers=1, spreads=exact)
    band = prediction.lots["hearts"].band
    assert band is not None
    # Draws run at a looser tolerance than the plan as it stands.
    assert band.volume.high == band.volume.low
    assert band.volume.median == pytest.approx(prediction.lots["hearts"].volume, rel=1e-3)


def mc_inputs(plan: Plan) -> list[str]:
    from middlecut.insight.uncertainty import uncertain_inputs

    return [one.key for one in uncertain_inputs(plan, LEVELS)]


def test_failing_draws_are_counted_and_told() -> None:
    wine = Lot("wine", 7.0, 2.0)
    brim = replace(POT, boiler_volume=wine.volume * (1.0 + 1.0 / 300.0), safe_fill=1.0)
    plan = replace(PLAN, stills={"pot": brim}, given=(wine,))
    prediction = predict_bands(plan, 100, 0, workers=1)
    ensemble = prediction.ensemble
    assert ensemble is not None
    # The volume has a 5–95 % half-width of 1 %, on a logarithmic scale, so it passes 1/3 % with
    # the probability that a normal deviate passes 1.645 · ln(1 + 1/300) / ln(1.01).
    share = float(stats.norm.sf(1.6449 * np.log1p(1.0 / 300.0) / np.log(1.01)))
    failed = ensemble.draws - ensemble.used
    assert failed == pytest.approx(100 * share, abs=1.5)
    assert ensemble.failures[0].key == "step.run.from"
    assert ensemble.failures[0].count == failed
    assert "boiler" in ensemble.failures[0].example
    assert np.isnan(ensemble.sample("lot.hearts.volume")).sum() == failed
    caution = next(one for one in prediction.cautions if one.code == "draws-fail")
    assert caution.value == failed / 100
    assert str(failed) in caution.text
    assert "did not reach the end" in mc.render_text(mc.make_sheet(prediction))


def test_too_few_draws_that_can_be_done_are_an_error() -> None:
    # Full to the brim, one of two draws boils over; one draw alone makes no band.
    brim = replace(POT, boiler_volume=PLAN.given[0].volume * (1.0 + 1e-6), safe_fill=1.0)
    with pytest.raises(InputError, match="reached the end"):
        predict_bands(replace(PLAN, stills={"pot": brim}), 2, 0, workers=1)


def test_a_lot_that_comes_out_short_is_taken_as_it_is() -> None:
    given = PLAN.given[0]
    run = replace(PLAN.steps[0], takes=(Take("wine", volume=given.volume),))  # type: ignore[arg-type]
    prediction = predict_bands(
        replace(PLAN, steps=(run, PLAN.steps[1])), DRAWS, 0, workers=1,
        spreads={"step.run.take": 0.0},
    )  # fmt: skip
    ensemble = prediction.ensemble
    assert ensemble is not None
    assert ensemble.used == DRAWS
    (short,) = ensemble.shortfalls
    assert short.lot == "wine"
    assert short.count == DRAWS // 2  # the strata below the middle
    assert 0.0 < short.missing < 0.02
    assert "held less than is asked for" in " ".join(mc.make_sheet(prediction).ranges)


@pytest.mark.parametrize("workers", [1, 2])
def test_work_can_be_cancelled(workers: int) -> None:
    seen: list[int] = []
    with pytest.raises(CancelledError, match="stopped"):
        predict_bands(
            PLAN, 40, 0, workers=workers,
            progress=lambda done, _: seen.append(done), cancelled=lambda: bool(seen),
        )  # fmt: skip
    assert seen
    assert seen[0] < 40


def test_progress_ends_with_all_draws() -> None:
    seen: list[tuple[int, int]] = []
    predict_bands(PLAN, 21, 0, workers=2, progress=lambda done, of: seen.append((done, of)))
    assert seen[-1] == (21, 21)
    assert [done for done, _ in seen] == sorted({done for done, _ in seen})


def test_a_fault_in_a_worker_comes_out() -> None:
    def work(first: int, last: int) -> int:
        if first >= 4:
            raise ZeroDivisionError("a fault")
        return last - first

    with pytest.raises(ZeroDivisionError, match="a fault"):
        list(in_chunks(work, 8, workers=2))
    assert sum(in_chunks(lambda first, last: last - first, 7, workers=3)) == 7


@pytest.mark.parametrize(
    ("draws", "seed"), [(-1, 0), (100_001, 0), (2.5, 0), (True, 0), (10, -1), (10, "a"), (1, 0)]
)
def test_unusable_numbers_are_refused(draws: Any, seed: Any) -> None:
    with pytest.raises(InputError, match=r"whole number|at least 2"):
        predict(PLAN, draws, seed)


def test_unusable_settings_are_refused() -> None:
    with pytest.raises(InputError, match="workers"):
        predict_bands(PLAN, 4, workers=0)
    with pytest.raises(NotFoundError, match="uncertain input"):
        predict_bands(PLAN, 4, spreads={"still.pot.colour": 0.1})
    ensemble = found().ensemble
    assert ensemble is not None
    with pytest.raises(NotFoundError, match="hearts"):
        ensemble.sample("lot.heart.volume")


def test_rank_correlations_are_those_of_a_statistics_library() -> None:
    random = np.random.default_rng(3)
    x = random.standard_normal((60, 3))
    y = x[:, 0] ** 3 + 0.5 * random.standard_normal(60)
    y[::7] = np.round(y[::7])  # some equal values
    expected = [stats.spearmanr(column, y).statistic for column in x.T]
    np.testing.assert_allclose(rank_correlations(x, y), expected, atol=1e-12)
    assert np.all(rank_correlations(x, np.ones(60)) == 0.0)


def test_what_to_measure_next_names_what_matters() -> None:
    ensemble = found().ensemble
    assert ensemble is not None
    strongest: dict[str, Influence] = {}
    for row in ensemble.influences:
        strongest.setdefault(row.output, row)
    assert strongest["lot.ready.strength"].input == "step.reduce.strength"
    assert strongest["lot.ready.strength"].correlation > 0.99
    assert strongest["lot.ready.compound.methanol"].input == "given.wine.content.methanol"
    assert strongest["lot.hearts.strength"].advice


def test_quantiles_are_those_of_numpy() -> None:
    table = np.random.default_rng(0).standard_normal((37, 5))
    table[::3, 1] = np.nan
    table[:, 4] = np.nan
    points, share = quantiles(table)
    expected = np.nanquantile(table[:, :4], [0.05, 0.5, 0.95], axis=0)
    np.testing.assert_allclose(points[:, :4], expected, rtol=1e-12)
    assert np.isnan(points[:, 4]).all()
    np.testing.assert_allclose(share, [1.0, 24 / 37, 1.0, 1.0, 0.0])


def test_ranges_reach_the_sheet_and_the_files() -> None:
    prediction = found()
    sheet = mc.make_sheet(prediction)
    text = mc.render_text(sheet)
    assert "How sure this is" in text
    assert "What to measure next" in text
    assert max(map(len, text.splitlines())) <= 88
    assert "What to measure next" in mc.render_markdown(sheet)
    rows = [line.split(",") for line in mc.render_csv(sheet).splitlines()]
    volume = next(row for row in rows if row[1] == "made.hearts.volume")
    assert float(volume[4]) < float(volume[2]) < float(volume[5])
    data = json.loads(json.dumps(prediction.to_dict(), allow_nan=False))
    assert data["lots"]["hearts"]["band"]["strength"]["share"] == 1.0
    assert data["ensemble"]["used"] == DRAWS
    assert len(data["steps"]["run"]["run"]["band"]["strength"]["low"]) == 41
    assert "How sure" not in mc.render_text(mc.make_sheet(predict(PLAN)))


def test_measured_compounds_move_and_narrow_their_bands() -> None:
    # The median of K becomes what was found, so the plain numbers are those of that K, and the band
    # shrinks; a compound the plan does not hold changes nothing.
    exact = Factor(1.0, 1.0, 1.0, 1.0)
    lower = NarrowedCompound(
        "methanol", Factor.of(-0.2, 0.01), exact, exact, exact, correlation=0.0, results=3,
        surprise=0.0,
    )  # fmt: skip
    sure = dict.fromkeys((f"given.wine.content.{name}" for name in LEVELS), 0.0)
    before = predict_bands(PLAN, DRAWS, 5, spreads=sure, workers=1)
    after = predict_bands(
        PLAN, DRAWS, 5, spreads=sure, narrowed=[lower, replace(lower, compound="furfural")],
        workers=1,
    )  # fmt: skip
    plain = walk(PLAN, Scenario(volatility={"methanol": math.exp(-0.2)})).results["run"].made
    for lot in ("heads", "tails"):
        found = after.lots[lot].compounds
        assert found["methanol"] == pytest.approx(plain[lot].compounds["methanol"], rel=1e-12)
        assert found["ethyl acetate"] == before.lots[lot].compounds["ethyl acetate"]
    assert after.lots["heads"].compounds["methanol"] < before.lots["heads"].compounds["methanol"]
    wide, narrow = (_width(one, "heads") for one in (before, after))
    assert narrow < wide
    with pytest.raises(InputError, match="twice"):
        predict_bands(PLAN, DRAWS, 5, narrowed=[lower, lower])


def _width(prediction: Prediction, lot: str) -> float:
    found = prediction.lots[lot].band
    assert found is not None
    band = found.compounds["methanol"]
    return band.high / band.low
