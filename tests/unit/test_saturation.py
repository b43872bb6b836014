# SPDX-License-Identifier: MIT
from __future__ import annotations

import math

import numpy as np
import pytest

from middlecut.errors import OutOfRangeError
from middlecut.liquid import heat
from middlecut.liquid.equilibrium import bubble_point
from middlecut.liquid.saturation import saturation_table


def test_nodes_are_the_functions_they_tabulate() -> None:
    table = saturation_table(87e3)
    x = table.ethanol_mole_fraction
    assert np.array_equal(x, np.linspace(0.0, 1.0, 2001))
    for i in (0, 1, 37, 1000, 1999, 2000):
        temperature, y = bubble_point(float(x[i]), 87e3)
        assert table.temperature[i] == pytest.approx(temperature, abs=1e-9)
        assert table.vapour_mole_fraction[i] == pytest.approx(y, abs=1e-12)
        assert table.liquid_enthalpy[i] == pytest.approx(
            heat.liquid_enthalpy(float(x[i]), temperature), rel=1e-9
        )
        assert table.vapour_enthalpy[i] == pytest.approx(
            heat.vapour_enthalpy(y, temperature), rel=1e-9
        )


def test_slope_is_that_of_the_enthalpy_along_the_boiling_line() -> None:
    # Against the exact slope by a much finer grid; the second-order error of 2001 nodes is
    # largest at x = 0, about 1 J/mol of 27 000.
    table = saturation_table(101325.0)
    fine = saturation_table(101325.0, 20001)
    assert np.max(np.abs(table.liquid_enthalpy_slope - fine.liquid_enthalpy_slope[::10])) < 5.0
    rebuilt = table.liquid_enthalpy[0] + np.trapezoid(
        table.liquid_enthalpy_slope, table.ethanol_mole_fraction
    )
    assert rebuilt == pytest.approx(table.liquid_enthalpy[-1], abs=0.5)


def test_linear_interpolation_is_as_good_as_documented() -> None:
    table = saturation_table(101325.0)
    x = np.linspace(0.00025, 0.99975, 2000)
    temperature, y = bubble_point(x, 101325.0)
    grid = table.ethanol_mole_fraction
    assert np.max(np.abs(np.interp(x, grid, table.temperature) - temperature)) < 4e-4
    assert np.max(np.abs(np.interp(x, grid, table.vapour_mole_fraction) - y)) < 2e-5


def test_vapour_always_lies_far_above_the_liquid() -> None:
    table = saturation_table(101325.0)
    gap = table.vapour_enthalpy - table.liquid_enthalpy
    assert np.all((gap > 38e3) & (gap < 42e3))


def test_same_pressure_gives_the_same_table_and_nobody_can_spoil_it() -> None:
    table = saturation_table(95000.2)
    assert table is saturation_table(94999.8)
    assert table.pressure == 95000.0
    with pytest.raises(ValueError, match="read-only"):
        table.temperature[0] = 0.0


def test_other_grids() -> None:
    assert saturation_table(95e3, nodes=11).temperature.shape == (11,)


@pytest.mark.parametrize("bad", [59.9e3, 111e3, math.nan, math.inf])
def test_pressures_outside_the_range_are_refused(bad: float) -> None:
    with pytest.raises(OutOfRangeError, match="pressure"):
        saturation_table(bad)


@pytest.mark.parametrize("bad", [0, 10, -5, 10**6])
def test_grids_that_make_no_sense_are_refused(bad: int) -> None:
    with pytest.raises(OutOfRangeError, match="nodes"):
        saturation_table(95e3, bad)
