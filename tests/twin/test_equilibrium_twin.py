# SPDX-License-Identifier: MIT
"""The shipped equilibrium against a literal transcription, solved by other means."""

from __future__ import annotations

import math
from collections.abc import Callable

import mpmath
import pytest
from scipy.optimize import brentq

from middlecut.liquid.equilibrium import bubble_point, dew_point

# Written out again here on purpose, digit by digit, so that a slip in the table shows.
A = ("1.2154461562493328", "-0.36719509248592275", "0.1482851714469418")
B = ("0.05100077775155816", "0.37948703102841935", "-1.168247698925492")
ETHANOL = ("58.1106512919461", "-6745.269850336414", "-5.9622569077120176", "0.001840292625274742")
WATER = ("75.05257692481925", "-7374.876404854987", "-8.98466778404952", "0.006800374313570501")
CASES = [(x, p) for x in (0.003, 0.03, 0.15, 0.5, 0.9, 0.999) for p in (60e3, 101325.0, 110e3)]


def precise_partials(x: mpmath.mpf, t: mpmath.mpf) -> tuple[mpmath.mpf, mpmath.mpf]:
    """Both partial pressures with 30 digits, the activity coefficients by numeric derivative."""

    def excess(z: mpmath.mpf) -> mpmath.mpf:
        tau = mpmath.mpf("353.15") / t - 1
        terms = ((mpmath.mpf(A[k]) + mpmath.mpf(B[k]) * tau) * (2 * z - 1) ** k for k in range(3))
        return z * (1 - z) * sum(terms)

    def pure(c: tuple[str, ...]) -> mpmath.mpf:
        c0, c1, c2, c3 = (mpmath.mpf(value) for value in c)
        return 1000 * mpmath.exp(c0 + c1 / t + c2 * mpmath.log(t) + c3 * t)

    g, slope = excess(x), mpmath.diff(excess, x)
    ethanol = x * mpmath.exp(g + (1 - x) * slope) * pure(ETHANOL)
    return ethanol, (1 - x) * mpmath.exp(g - x * slope) * pure(WATER)


@pytest.mark.parametrize(("x", "pressure"), CASES)
def test_bubble_point_in_thirty_digits(x: float, pressure: float) -> None:
    with mpmath.workdps(30):
        fraction, total = mpmath.mpf(x), mpmath.mpf(pressure)
        root = mpmath.findroot(
            lambda t: mpmath.log(sum(precise_partials(fraction, t)) / total), (350, 360), tol=1e-20
        )
        vapour = precise_partials(fraction, root)[0] / total
    temperature, y = bubble_point(x, pressure)
    assert temperature == pytest.approx(float(root), abs=1e-10)
    assert y == pytest.approx(float(vapour), abs=1e-12)


def plain_partials(x: float, t: float) -> tuple[float, float]:
    """Both partial pressures in plain floats, formulas expanded term by term."""
    tau = 353.15 / t - 1.0
    c = [float(a) + float(b) * tau for a, b in zip(A, B, strict=True)]
    w = 1.0 - x
    # Expanded three-term Redlich-Kister (Redlich and Kister 1948).
    ethanol = w * w * (c[0] + c[1] * (4 * x - 1) + c[2] * (2 * x - 1) * (6 * x - 1))
    water = x * x * (c[0] + c[1] * (4 * x - 3) + c[2] * (2 * x - 1) * (6 * x - 5))

    def pure(k: tuple[str, ...]) -> float:
        c0, c1, c2, c3 = map(float, k)
        return 1e3 * math.exp(c0 + c1 / t + c2 * math.log(t) + c3 * t)

    return x * math.exp(ethanol) * pure(ETHANOL), w * math.exp(water) * pure(WATER)


@pytest.mark.parametrize(("y", "pressure"), CASES)
def test_dew_point_by_nested_bracketed_roots(y: float, pressure: float) -> None:
    def boiling(x: float) -> float:
        def gap(t: float) -> float:
            return sum(plain_partials(x, t)) / pressure - 1.0

        return root(gap, 320.0, 390.0)

    def root(function: Callable[[float], float], low: float, high: float) -> float:
        return float(brentq(function, low, high, xtol=1e-13, rtol=1e-14))

    liquid = root(lambda x: plain_partials(x, boiling(x))[0] / pressure - y, 1e-12, 1.0 - 1e-12)
    temperature, x = dew_point(y, pressure)
    assert x == pytest.approx(liquid, abs=1e-10)
    assert temperature == pytest.approx(boiling(liquid), abs=1e-8)
