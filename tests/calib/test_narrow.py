# SPDX-License-Identifier: MIT
"""Laboratory results narrow volatility and content."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

import middlecut as mc
from middlecut.errors import InputError, NotFoundError
from middlecut.insight.narrow import (
    LabResult,
    narrow_factors,
    narrow_volatility,
    read_lab_csv,
)
from middlecut.liquid import volatility
from middlecut.plan.model import Plan
from middlecut.steps.distil import distil
from middlecut.steps.parameters import Distil
from middlecut.steps.scenario import Scenario

COMPOUND = "1-propanol"


def demo() -> Plan:
    return mc.load_plan(mc.example_path("demo"))


def measured(plan: Plan, factor: float, content: float = 1.0) -> list[LabResult]:
    """Return what a laboratory would find if K and content were off by these factors."""
    run = mc.predict(plan).steps["spirit"]
    step = plan.step("spirit")
    assert isinstance(step, Distil)
    truth = distil(
        step,
        tuple(run.used.values()),
        still=plan.stills[step.still],
        pressure=plan.batch.pressure,
        scenario=Scenario(volatility={COMPOUND: factor}),
    )
    return [
        LabResult(name, COMPOUND, content * truth.made[name].compounds[COMPOUND], 0.03)
        for name in ("heads", "hearts", "tails")
    ]


def test_precisions_add() -> None:
    mean, covariance = narrow_factors(
        logs=np.array([0.2, 0.4]),
        slopes=np.array([[1.0], [1.0]]),
        uncertainty=np.array([0.1, 0.1]),
        deviations=np.array([0.2]),
    )
    # Conjugate normal by hand: precisions 25 + 100 + 100, mean (20 + 40)/225.
    assert covariance[0, 0] == pytest.approx(1.0 / 225.0)
    assert mean[0] == pytest.approx(60.0 / 225.0)


def test_three_lots_tell_volatility_from_content() -> None:
    plan = demo()
    (found,) = narrow_volatility(plan, "spirit", measured(plan, 1.12, content=1.3))
    assert found.compound == COMPOUND
    assert found.results == 3
    assert found.volatility_before.spread == pytest.approx(volatility.grade(COMPOUND).factor)
    assert found.volatility.low < 1.12 < found.volatility.high
    assert found.content.low < 1.3 < found.content.high
    assert found.volatility.spread < found.volatility_before.spread
    assert math.log(found.content.spread) < 0.3 * math.log(found.content_before.spread)


def test_one_lot_of_a_whole_spirit_hardly_tells_them_apart() -> None:
    plan = demo()
    (found,) = narrow_volatility(plan, "spirit", measured(plan, 1.0)[1:2])
    assert found.volatility.median == pytest.approx(1.0, abs=1e-3)
    assert found.surprise < 0.01
    (three,) = narrow_volatility(plan, "spirit", measured(plan, 1.0))
    assert three.volatility.spread < found.volatility.spread


def test_results_that_fit_nothing_are_refused() -> None:
    plan = demo()
    with pytest.raises(NotFoundError, match="lot"):
        narrow_volatility(plan, "spirit", [LabResult("nowhere", COMPOUND, 1.0)])
    with pytest.raises(NotFoundError, match="compound"):
        narrow_volatility(plan, "spirit", [LabResult("hearts", "unobtainium", 1.0)])
    with pytest.raises(InputError, match="above 0"):
        narrow_volatility(plan, "spirit", [LabResult("hearts", COMPOUND, 0.0)])
    with pytest.raises(NotFoundError, match="distil"):
        narrow_volatility(plan, "bottle", [])


def test_a_laboratory_file_is_read(tmp_path: Path) -> None:
    path = tmp_path / "lab.csv"
    path.write_text(
        "lot,compound,value,uncertainty\n"
        "hearts,1-propanol,170 mg/L,5 %\n"
        "hearts,propan-1-ol,150 mg/L,\n"
        "hearts,1-propanol,170 mg/L,5 %\n"
        "hearts,1-propanol,170,5 %\n"
        "hearts,unobtainium,3 mg/L,\n"
        "hearts,1-propanol,0 mg/L,\n",
        encoding="utf-8",
    )
    results, refused = read_lab_csv(path)
    assert (results[0].lot, results[0].compound) == ("hearts", COMPOUND)
    assert (results[0].value, results[0].uncertainty) == pytest.approx((170.0, 0.05))
    assert results[1].compound == COMPOUND
    assert {row.line for row in refused} >= {4, 5, 6, 7}
