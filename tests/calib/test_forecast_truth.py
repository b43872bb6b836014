# SPDX-License-Identifier: MIT
"""A forecast holds the truth as often as it says (truth invented, see watched_run.py)."""

from __future__ import annotations

import re
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))
import measured_run
from watched_run import PLAN, watch

from middlecut.insight.forecast import forecast_run
from middlecut.insight.run_forecast import RunForecast
from middlecut.insight.uncertainty import NINETY
from middlecut.plan.model import Batch, Plan
from middlecut.steps.band import Band
from middlecut.steps.parameters import Until

STILLS = 60
FEW_DRAWS = 96


def held(band: Band, truth: float) -> bool:
    return band.low <= truth <= band.high


def error(band: Band, truth: float) -> float:
    """Return the distance from the median in the deviations the band claims."""
    return (truth - band.median) / (band.high - band.low) * 2.0 * NINETY


def test_the_band_of_the_next_cut_covers_as_often_as_it_says() -> None:
    random = np.random.default_rng(42)
    inside: list[list[bool]] = []
    errors: list[list[float]] = []
    contradictions = 0
    for number in range(STILLS):
        run = watch(random)
        # Every still at another point of its hearts, from their start to shortly before their end.
        share = 0.1 + 0.8 * number / STILLS
        now = run.when(0) + share * (run.when(1) - run.when(0))
        found = forecast_run(PLAN, "run", run.readings(random, now), now=now, draws=FEW_DRAWS)
        hearts, mark = found.cuts[1], run.curve.cuts[1]
        assert (found.cut, hearts.state) == ("hearts", "running")
        pairs = (
            (hearts.end, run.when(1)),
            (hearts.volume, mark.volume),
            (hearts.pure_alcohol, mark.volume * mark.strength),
        )
        inside.append([held(*pair) for pair in pairs])
        errors.append([error(*pair) for pair in pairs])
        contradictions += len(found.contradictions)
    # 90 % of 60 is 54 ± 2.3 (binomial): 83 % is two below. Bands half as wide would hold 59 %.
    assert np.min(np.mean(inside, axis=0)) >= 0.83
    # Errors over what is claimed: 1 with honest bands, known to 9 % from 60. Twice as wide: 0.5.
    assert np.min(np.std(errors, axis=0)) >= 0.6
    assert np.max(np.std(errors, axis=0)) <= 1.25
    # 60 runs of some 30 readings each, one in a thousand beyond the limit by chance: 2, seldom 6.
    assert contradictions <= 6


def widths(found: RunForecast) -> tuple[float, float]:
    hearts = found.cuts[1]
    return hearts.end.high - hearts.end.low, hearts.pure_alcohol.high - hearts.pure_alcohol.low


def test_bands_narrow_as_readings_come() -> None:
    random = np.random.default_rng(3)
    run = watch(random)
    start, end = run.when(0), run.when(1)
    rows = run.readings(random, end - 60.0)
    at = [run.start + 60.0, start + 0.35 * (end - start), start + 0.9 * (end - start)]
    found = [
        forecast_run(PLAN, "run", [row for row in rows if row.time <= now], now=now) for now in at
    ]
    times, amounts = zip(*(widths(one) for one in found), strict=True)
    assert times[0] > 2.0 * times[1] > 2.0 * times[2]
    assert amounts[0] > amounts[1] > amounts[2]


def small_run(*, by: str, until: float | None) -> RunForecast:
    whole = measured_run.run()
    last = max(one.time for one in whole.readings)
    now = last if until is None else until
    rows = [one for one in whole.readings if one.time <= now]
    cut = whole.step.cuts[0]
    step = replace(whole.step, cuts=(replace(cut, until=Until(time=last)),))
    plan = Plan("small.toml", Batch("small", whole.pressure), (step,),
                {"small column": measured_run.still(by=by)}, (whole.charge,))  # fmt: skip
    return forecast_run(plan, step.id, rows, now=now, charge=whole.charge)


@pytest.mark.parametrize("by", ["duty", "ratio"])
def test_the_measured_small_run_is_foretold_from_its_first_third(by: str) -> None:
    # batch_cases.json, kathmandu_run2: at the end 593 mL at 84 % vol were collected; its authors
    # reckon that their model without a loss gives 719.7 mL, for liquid was lost from the first
    # tray.
    found = small_run(by=by, until=480.0)
    assert len(found.readings) == 6
    # A strength read to 1 % vol, 0.8 % vol standard uncertainty: its own 90 % beside the band's. By
    # the duty 84 lies inside the band alone, by the ratio 0.4 below its lower end of 84.4.
    strength, own = found.cuts[0].strength, NINETY * measured_run.STRENGTH_SPREAD
    assert strength.low - own < 0.84 < strength.high + own
    assert strength.high - strength.low < 0.05
    # By the duty inside the band of 659 to 735 mL, by the ratio 0.4 % above its upper end.
    assert found.volume.low < 719.7e-6 < 1.01 * found.volume.high
    assert found.volume.high / found.volume.low < 1.15
    assert not found.contradictions


@pytest.mark.parametrize("by", ["duty", "coil", "ratio"])
def test_the_loss_of_the_measured_small_run_is_found(by: str) -> None:
    found = small_run(by=by, until=None)
    (only,) = found.contradictions
    assert only.kind == "leak"
    assert "leak" in only.meanings[0]
    # It names the readings it means, and the last is the one the authors found short by 18 %; the
    # band of the volume is that of the still, so it lies above what was caught of it.
    assert [one.quantity for one in only.readings].count("collected_volume") >= 1
    assert only.readings[-1].value == pytest.approx(593e-6)
    assert "593 mL" in only.text
    assert found.volume.low > 593e-6
    missing = re.search(r"about (\d+)% of the distillate", only.text)
    assert missing is not None
    # 127 mL of 720 are missing: a fifth of all, a third of what came after 11 minutes.
    assert 15 <= int(missing.group(1)) <= 35
