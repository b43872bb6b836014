# SPDX-License-Identifier: MIT
"""The prior of the fall in gravity against the rows it is made of, and common practice."""

from __future__ import annotations

import math

import pytest

from middlecut.errors import OutOfRangeError
from middlecut.steps.gravity_course import FINISHED_FRACTION, gravity_course


def test_at_20_degrees_it_has_the_parameters_of_the_table_and_is_unsure_of_them() -> None:
    # Midpoint 18 to 30 h, slope 0.08 to 0.15 per h at 18 to 22 °C (memory, estimate), for a wash
    # well pitched; a further factor of 1.5 either way for yeast, pitch and nutrients (estimate).
    course = gravity_course(293.15)
    assert [time / 3600 for time in course.midpoint] == pytest.approx([12, 45], rel=1e-12)
    slopes = [slope * 3600 for slope in course.slope]
    assert slopes == pytest.approx([0.08 / 1.5, 0.15 * 1.5], rel=1e-12)


def test_yeast_and_pitch_widen_the_range_and_leave_the_middle() -> None:
    # Geometric means 23.24 h and 0.1095 per h of the table: 90 % after 23.24 + ln 9 / 0.1095 h.
    window = gravity_course(293.15).time_at_attenuation(0.90)
    assert window.typical / 3600 == pytest.approx(43.30, abs=0.01)
    assert window.high / window.low > 1.5 * 1.5


def test_ten_kelvin_more_is_2_38_times_as_fast() -> None:
    # Q10 from 20 to 30 °C computed from 64.3 kJ/mol: 2.38 (three digits).
    ratio = gravity_course(303.15).slope[0] / gravity_course(293.15).slope[0]
    assert ratio == pytest.approx(2.38, abs=0.01)


def test_warm_it_agrees_with_the_whisky_wash_row() -> None:
    # Common to both: midpoint 10 to 20 h, slope 0.12 to 0.25 per h for starts of 20 to 33 °C
    # (memory, estimate); the scaled window must overlap it at the middle, 26.5 °C.
    course = gravity_course(299.65)
    assert course.midpoint[0] / 3600 < 20
    assert course.midpoint[1] / 3600 > 10
    assert course.slope[0] * 3600 < 0.25
    assert course.slope[1] * 3600 > 0.12


def test_five_to_six_days_are_enough_at_room_temperature() -> None:
    # Common practice: five to six days of fermentation.
    assert gravity_course(293.15).time_at_attenuation(FINISHED_FRACTION).high < 5 * 86400


def test_window_is_ordered_and_consistent_with_the_curve() -> None:
    course = gravity_course(295.15)
    window = course.time_at_attenuation(0.9)
    assert window.low < window.typical < window.high
    assert course.fraction_done(window.typical) == pytest.approx(0.9, rel=1e-12)
    assert course.time_at_attenuation(0.98).typical > window.typical


def test_the_fall_begins_at_pitching() -> None:
    # The logistic curve itself has 7 % of the fall done at time 0, which no wash has.
    course = gravity_course(293.15)
    assert course.fraction_done(0.0) > 0.05
    assert course.fall_done(0.0) == 0.0
    assert course.fall_done(14 * 86400.0) == pytest.approx(1.0, abs=1e-9)
    moments = [3600.0 * hour for hour in range(200)]
    done = [course.fall_done(time) for time in moments]
    assert done == sorted(done)
    # Late in the fermentation both say the same to a few tenths of a per cent.
    late = course.time_at_attenuation(0.98).typical
    assert course.fall_done(late) == pytest.approx(0.98, abs=0.002)


@pytest.mark.parametrize("fraction", [0.0, 0.49, 0.9995, 1.0, math.nan])
def test_the_ends_of_the_curve_are_refused(fraction: float) -> None:
    with pytest.raises(OutOfRangeError):
        gravity_course(293.15).time_at_attenuation(fraction)


@pytest.mark.parametrize("temperature", [277.0, 314.0, 20.0, math.nan])
def test_temperatures_no_yeast_works_at_are_refused(temperature: float) -> None:
    with pytest.raises(OutOfRangeError):
        gravity_course(temperature)
