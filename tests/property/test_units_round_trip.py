# SPDX-License-Identifier: MIT
"""What is written can be read again, and nothing that is read fails but with our own errors."""

from __future__ import annotations

import math
from typing import Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from middlecut.errors import UnitError
from middlecut.units import DIMENSIONS, dimension_of, format_quantity, from_si, parse_quantity

NAMES = sorted(DIMENSIONS)
SYSTEMS = st.sampled_from(["metric", "us"])


@given(
    st.sampled_from([name for name in NAMES if DIMENSIONS[name].decimals is None]),
    st.floats(1e-9, 1e9),
    SYSTEMS,
)
def test_three_digits_come_back(name: str, value: float, system: Literal["metric", "us"]) -> None:
    text = format_quantity(value, name, system=system)
    # Three significant digits round by at most 0.5 %; a duration is rounded to a whole minute
    # from one hour on, which is at most 30 s in 3570 s.
    relative = 0.0085 if name == "duration" else 0.0051
    assert parse_quantity(text, name) == pytest.approx(value, rel=relative)


@given(st.floats(250.0, 400.0), SYSTEMS)
def test_temperatures_come_back(value: float, system: Literal["metric", "us"]) -> None:
    text = format_quantity(value, "temperature", system=system)
    # One decimal in either scale: half of it, 0.05 K or 0.03 K.
    assert parse_quantity(text, "temperature") == pytest.approx(value, abs=0.0501)


@given(st.sampled_from(NAMES), st.floats(-1e6, 1e6, allow_subnormal=False))
def test_from_si_undoes_parse(name: str, number: float) -> None:
    unit = DIMENSIONS[name].units[0].symbol
    if DIMENSIONS[name].units[0].scale not in {"", "vol_20C", "sg"}:
        return
    value = parse_quantity(f"{number:.9f} {unit}", name)
    # The offset of °C costs digits near zero: one part in 1e12 of a few hundred kelvin.
    assert from_si(value, name, unit) == pytest.approx(number, rel=1e-9, abs=2e-9)


@given(st.text(max_size=30), st.sampled_from(NAMES))
def test_any_text_is_read_or_refused(text: str, name: str) -> None:
    try:
        value = parse_quantity(text, name)
    except UnitError:
        return
    assert math.isfinite(value)


@given(st.text(max_size=12))
def test_any_unit_belongs_somewhere_or_nowhere(text: str) -> None:
    assert set(dimension_of(text)) <= set(NAMES)
