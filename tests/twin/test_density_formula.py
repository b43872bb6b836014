# SPDX-License-Identifier: MIT
"""The density formula against a slow literal transcription of the directive in 40 digits."""

from __future__ import annotations

import csv
from importlib import resources

import mpmath
import numpy as np
import pytest

from middlecut.liquid import alcoholometry as al

mpmath.mp.dps = 40
LENGTHS = {1: 11, 2: 10, 3: 9, 4: 4, 5: 2}


def coefficients() -> dict[tuple[str, int, int], mpmath.mpf]:
    table = resources.files("middlecut.liquid") / "tables" / "oiml_r22.csv"
    lines = csv.DictReader(table.read_text(encoding="utf-8").splitlines())
    return {
        (
            line["series"],
            int(line["temperature_power"]),
            int(line["mass_fraction_power"]),
        ): mpmath.mpf(line["value"])
        for line in lines
    }


TERMS = coefficients()


def literal(p: float, t: float) -> mpmath.mpf:
    """A1 + sum A_k p^(k-1) + sum B_k (t-20)^k + sum sum C_ik p^k (t-20)^i, as printed."""
    p_, dt = mpmath.mpf(p), mpmath.mpf(t) - 20
    rho = TERMS["A", 0, 0]
    for k in range(2, 13):
        rho += TERMS["A", 0, k - 1] * p_ ** (k - 1)
    for k in range(1, 7):
        rho += TERMS["B", k, 0] * dt**k
    for i, length in LENGTHS.items():
        for k in range(1, length + 1):
            rho += TERMS["C", i, k] * p_**k * dt**i
    return rho


def test_table_has_the_terms_of_the_directive() -> None:
    assert len(TERMS) == 12 + 6 + sum(LENGTHS.values())


@pytest.mark.parametrize("celsius", [-20.0, -7.5, 0.0, 12.5, 20.0, 31.25, 40.0])
def test_density_is_the_printed_sum(celsius: float) -> None:
    # Rounding only: 1e-9 is the goal of 0.001 kg/m3 a million times over.
    for w in (0.0, 0.0123, 0.25, 0.5, 0.75, 0.9375, 1.0):
        expected = float(literal(w, celsius))
        assert al.density(w, celsius + 273.15) == pytest.approx(expected, abs=1e-9, rel=0.0)


def test_array_and_scalar_are_the_same_to_the_last_bit() -> None:
    w, temperature = np.linspace(0.0, 1.0, 41), np.linspace(253.15, 313.15, 25)[:, None]
    surface = al.density(w, temperature)
    for i, kelvin in enumerate(temperature[:, 0]):
        for j, one in enumerate(w):
            assert surface[i, j] == al.density(float(one), float(kelvin))
    assert [al.density_20(float(one)) for one in w] == list(al.density_20(w))


@pytest.mark.parametrize("strength", [0.001, 0.08, 0.40, 0.4995, 0.72, 0.96, 0.9999])
def test_strength_inverts_in_40_digits(strength: float) -> None:
    ethanol = literal(1.0, 20.0)
    root = mpmath.findroot(
        lambda w: w * literal(w, 20.0) / ethanol - mpmath.mpf(strength), (0.5, 0.6), solver="secant"
    )
    assert al.mass_fraction_from_strength(strength) == pytest.approx(float(root), abs=1e-12)


def test_alcoholometer_inverts_in_40_digits() -> None:
    """Floating equilibrium written out: the mark 40 % in a liquid of 30 °C, glass 25e-6 per K."""
    ethanol = literal(1.0, 20.0)
    mark = mpmath.findroot(
        lambda w: w * literal(w, 20.0) / ethanol - mpmath.mpf("0.4"), (0.3, 0.35)
    )
    shown = literal(mark, 20.0) / (1 + mpmath.mpf("25e-6") * 10)
    root = mpmath.findroot(lambda w: literal(w, 30.0) - shown, (0.25, 0.3), solver="secant")
    expected = float(root * literal(root, 20.0) / ethanol)
    assert al.true_strength(0.4, 303.15) == pytest.approx(expected, abs=1e-10)
