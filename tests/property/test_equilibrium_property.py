# SPDX-License-Identifier: MIT
from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from middlecut.liquid import heat
from middlecut.liquid.equilibrium import bubble_point, dew_point
from middlecut.liquid.ranges import Array

fractions = st.floats(0.0, 1.0)
pressures = st.floats(60e3, 110e3)


@given(fractions, pressures)
@settings(deadline=None)
def test_dew_point_undoes_bubble_point(x: float, pressure: float) -> None:
    temperature, y = bubble_point(x, pressure)
    back_temperature, back = dew_point(y, pressure)
    assert abs(back - x) < 1e-9
    assert abs(back_temperature - temperature) < 1e-8


@given(fractions, pressures)
@settings(deadline=None)
def test_condensing_begins_no_colder_than_boiling(z: float, pressure: float) -> None:
    assert dew_point(z, pressure)[0] >= bubble_point(z, pressure)[0] - 1e-9


@given(fractions, pressures, pressures)
@settings(deadline=None)
def test_higher_pressure_boils_hotter(x: float, first: float, second: float) -> None:
    low, high = sorted((first, second))
    assert bubble_point(x, low)[0] <= bubble_point(x, high)[0] + 1e-9


@given(arrays(np.float64, st.integers(1, 20), elements=fractions), pressures)
@settings(deadline=None)
def test_an_array_is_the_same_as_its_parts(x: Array, pressure: float) -> None:
    together, _ = bubble_point(x, pressure)
    apart = np.array([bubble_point(float(part), pressure)[0] for part in x])
    assert np.max(np.abs(together - apart)) < 1e-9


@given(fractions, st.floats(273.15, 377.0), st.floats(0.01, 1.0))
def test_heating_always_takes_heat(x: float, temperature: float, rise: float) -> None:
    warmer = heat.liquid_enthalpy(x, temperature + rise)
    per_kelvin = (warmer - heat.liquid_enthalpy(x, temperature)) / rise
    assert 74.0 < per_kelvin < 155.0
