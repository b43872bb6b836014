# SPDX-License-Identifier: MIT
"""The course of a fermentation is found from its gravity readings."""

from __future__ import annotations

import math

import numpy as np
import pytest

import middlecut as mc
from middlecut.errors import InputError, NotFoundError, OutOfRangeError
from middlecut.insight.fermentation import (
    FermentationCourse,
    calibrate_fermentation,
    fit_fermentation,
)
from middlecut.insight.readings import Reading
from middlecut.liquid import extract
from middlecut.steps.parameters import Ferment

HOUR = 3600.0
STEP = Ferment(
    id="ferment",
    into="wash",
    volume=0.02,
    gravity=1.062,
    final_gravity=1.008,
    temperature=295.15,
    duration=6 * 86400.0,
)


def share(hour: float, midpoint: float, slope: float) -> float:
    """Return the share of the fall done: a logistic curve pinned to 0 at pitching."""
    start = 1.0 / (1.0 + math.exp(slope * midpoint))
    return (1.0 / (1.0 + math.exp(-slope * (hour - midpoint))) - start) / (1.0 - start)


def gravity(
    hour: float, final: float = 1.010, midpoint: float = 23.0, slope: float = 0.11
) -> float:
    return 1.0605 - (1.0605 - final) * share(hour, midpoint, slope)


def hour_of(fraction: float, midpoint: float, slope: float) -> float:
    """Return when that share is done, by halving."""
    low, high = 0.0, 400.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if share(middle, midpoint, slope) < fraction else (low, middle)
    return low


def readings(hours: list[float], seed: int | None = None, **truth: float) -> list[Reading]:
    random = np.random.default_rng(seed)
    rows = []
    for hour in hours:
        value = gravity(hour, **truth) + (0.001 * random.normal() if seed is not None else 0.0)
        rows.append(Reading(hour * HOUR, "gravity", value, temperature=293.15))
    return rows


def test_readings_without_error_lead_to_the_truth() -> None:
    found = fit_fermentation(STEP, readings([0, 12, 20, 26, 32, 40, 50, 70, 90, 110]))
    truth = hour_of(0.9, 23.0, 0.11)
    reached = found.time_of(0.9)
    assert reached.low / HOUR < truth < reached.high / HOUR
    assert reached.typical / HOUR == pytest.approx(truth, abs=1.0)
    assert found.final_gravity.typical == pytest.approx(1.010, abs=0.0007)
    assert found.trustworthy, found.reasons
    assert found.warnings == ()
    now = extract.apparent_attenuation(1.0605, gravity(110))
    assert found.attenuation.low < now < found.attenuation.high


def test_bands_cover_as_often_as_they_say() -> None:
    truths = {"final": 1.009, "midpoint": 24.0, "slope": 0.11}
    target = hour_of(0.9, 24.0, 0.11)
    held = []
    for seed in range(60):
        found = fit_fermentation(STEP, readings([0, 15, 24, 34, 48, 72], seed, **truths))
        band = found.time_of(0.9)
        held.append(band.low / HOUR <= target <= band.high / HOUR)
    # 90 % of 60 is 54, binomial deviation 2.3; the prior sits near this truth, so more is right.
    assert sum(held) >= 48


def test_the_band_narrows_as_readings_come_in() -> None:
    def width(course: FermentationCourse) -> float:
        window = course.time_of(0.9)
        return window.high - window.low

    few = fit_fermentation(STEP, readings([0, 12]))
    more = fit_fermentation(STEP, readings([0, 12, 24, 36]))
    assert width(more) < 0.5 * width(few)
    assert "final_gravity" in few.undetermined


def test_gravity_between_readings() -> None:
    found = fit_fermentation(STEP, readings([0, 12, 20, 26, 32, 40, 50, 70, 90]))
    band = found.gravity_at(36.0 * HOUR)
    assert band.low < gravity(36.0) < band.high
    assert band.high - band.low < 0.003
    with pytest.raises(OutOfRangeError):
        found.gravity_at(-1.0)
    with pytest.raises(OutOfRangeError):
        found.time_of(1.0)
    assert found.finished.typical > found.time_of(0.9).typical


def test_a_hydrometer_at_temperature_is_corrected() -> None:
    hours: list[float] = [0, 12, 24, 36, 60, 90]
    cold = fit_fermentation(STEP, readings(hours))
    warm = [
        Reading(
            row.time,
            "gravity",
            float(extract.gravity_reading(row.value, 303.15)),
            temperature=303.15,
        )
        for row in readings(hours)
    ]
    found = fit_fermentation(STEP, warm)
    assert found.final_gravity.typical == pytest.approx(cold.final_gravity.typical, abs=1e-5)
    assert warm[0].value < readings(hours)[0].value - 0.002


def test_a_refractometer_counts_only_before_fermenting() -> None:
    rows = [
        Reading(0.0, "refraction", 14.83),
        *readings([24, 48]),
        Reading(24 * HOUR, "refraction", 9.0),
        Reading(24 * HOUR, "head_temperature", 351.0),
    ]
    found = fit_fermentation(STEP, rows)
    assert "hydrometer" in found.refused[0].reason
    assert "no reading of a fermentation" in found.refused[1].reason
    # 14.83 °P is 1.0605 (ASBC cubic).
    assert found.gravity.typical == pytest.approx(1.0605, abs=3e-4)


def test_stuck_is_said() -> None:
    hours: list[float] = [0, 12, 24, 36, 60, 96, 110, 124]
    found = fit_fermentation(STEP, readings(hours, final=1.024))
    assert [one.code for one in found.warnings] == ["fermentation-stuck"]
    assert "1.024" in found.warnings[0].text


def test_slow_is_said() -> None:
    hours: list[float] = [0, 24, 48, 72, 96, 110]
    found = fit_fermentation(STEP, readings(hours, midpoint=90.0, slope=0.06))
    assert [one.code for one in found.warnings] == ["fermentation-slow"]


def test_too_few_readings_say_what_is_missing() -> None:
    with pytest.raises(InputError, match="after the first"):
        fit_fermentation(STEP, readings([0, 0.5]))
    with pytest.raises(InputError, match="at least 2"):
        fit_fermentation(STEP, [])


def test_a_plan_is_calibrated() -> None:
    plan = mc.load_plan(mc.example_path("demo"))
    found = calibrate_fermentation(plan, "ferment-1", readings([1, 20, 40, 70]))
    assert found.last == 70 * HOUR
    with pytest.raises(NotFoundError):
        calibrate_fermentation(plan, "spirit", readings([1, 20]))
