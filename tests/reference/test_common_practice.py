# SPDX-License-Identifier: MIT
"""The example plans agree with common practice (no published source; so marked in the issue)."""

from __future__ import annotations

import pytest

import middlecut as mc
from middlecut.plan.examples import example_names
from middlecut.plan.predict import Prediction
from middlecut.steps.parameters import Distil, Ferment


@pytest.fixture(scope="module")
def predictions() -> dict[str, Prediction]:
    return {name: mc.predict(mc.load_plan(mc.example_path(name))) for name in example_names()}


@pytest.mark.parametrize("name", example_names())
def test_a_wash_has_seven_to_nine_per_cent(name: str, predictions: dict[str, Prediction]) -> None:
    prediction = predictions[name]
    for step in prediction.plan.steps:
        if isinstance(step, Ferment):
            assert 0.07 <= prediction.lots[step.into].strength <= 0.09


@pytest.mark.parametrize("name", example_names())
def test_stripping_at_full_power_gives_low_wines_of_21_to_35(
    name: str, predictions: dict[str, Prediction]
) -> None:
    prediction = predictions[name]
    strips = [
        step
        for step in prediction.plan.steps
        if isinstance(step, Distil) and step.purpose == "strip"
    ]
    assert strips
    for step in strips:
        assert step.power == 1.0
        (cut,) = step.cuts
        assert 0.21 <= prediction.lots[cut.into].strength <= 0.35


@pytest.mark.parametrize("name", example_names())
def test_a_spirit_run_is_driven_at_half_to_three_quarters(
    name: str, predictions: dict[str, Prediction]
) -> None:
    runs = [
        step
        for step in predictions[name].plan.steps
        if isinstance(step, Distil) and step.purpose == "spirit"
    ]
    assert runs
    assert all(0.5 <= step.power <= 0.75 for step in runs)


def test_the_demo_calls_tails_at_45_and_dilutes_hearts_to_just_under(
    predictions: dict[str, Prediction],
) -> None:
    demo = predictions["demo"]
    curve = demo.steps["spirit"].curve
    assert curve is not None
    hearts = next(cut for cut in curve.cuts if cut.into == "hearts")
    assert hearts.strength_end == pytest.approx(0.45, abs=1e-3)
    assert 0.43 < demo.lots["flavour charge"].strength < 0.45


def test_fermentation_takes_five_to_six_days_and_two_to_clear(
    predictions: dict[str, Prediction],
) -> None:
    for step in predictions["demo"].plan.steps:
        if isinstance(step, Ferment):
            assert 5 * 86400 <= step.duration <= 6 * 86400
            assert step.settling == 2 * 86400


def test_spirit_goes_to_wood_at_55_to_63(predictions: dict[str, Prediction]) -> None:
    cask = predictions["double-pot-1300m"].lots["spirit for the cask"]
    assert 0.55 <= cask.strength <= 0.63


def test_the_air_is_thin_at_1300_m(predictions: dict[str, Prediction]) -> None:
    # The standard atmosphere has 86.66 kPa at 1,300 m (ISO 2533).
    high = predictions["double-pot-1300m"]
    assert high.plan.batch.pressure == pytest.approx(86660.0, rel=2e-4)
    curve = high.steps["strip-1"].curve
    assert curve is not None
    # Water boils at 95.7 °C there; the spent boiler comes close to it.
    assert curve.facts.boiling_temperature_end == pytest.approx(273.15 + 95.7, abs=1.0)


def test_a_strong_charge_raises_a_caution(predictions: dict[str, Prediction]) -> None:
    text = mc.example_path().read_text(encoding="utf-8")
    strong = text.replace('strength = "44.5 %vol"', 'strength = "48 %vol"')
    before = {caution.code for caution in predictions["demo"].steps["flavour"].cautions}
    after = mc.predict(mc.read_plan_text(strong)).steps["flavour"].cautions
    raised = [caution for caution in after if caution.code not in before]
    assert any("48" in caution.text for caution in raised)


@pytest.mark.parametrize("name", example_names())
def test_no_example_runs_into_danger(name: str, predictions: dict[str, Prediction]) -> None:
    severities = {caution.severity for caution in predictions[name].cautions}
    severities |= {c.severity for step in predictions[name].steps.values() for c in step.cautions}
    assert "danger" not in severities


def test_the_neutral_hearts_are_near_the_azeotrope(predictions: dict[str, Prediction]) -> None:
    hearts = predictions["neutral"].lots["hearts"]
    assert 0.93 < hearts.strength < 0.972
