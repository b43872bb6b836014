# SPDX-License-Identifier: MIT
"""What the fitter says beside the estimates: priors, bounds, what it cannot tell, profiles."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from middlecut.errors import InputError
from middlecut.insight.fit import Fit, Parameter, Prior, fit_parameters
from middlecut.insight.fit_profile import profile_interval

X = np.linspace(0.0, 1.0, 11)


def line(b: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(b[0] + b[1] * X)


def noisy(seed: int, spread: float) -> NDArray[np.float64]:
    return line(np.array([2.0, 3.0])) + spread * np.random.default_rng(seed).normal(size=len(X))


def straight(prior: Prior | None = None) -> Fit:
    parameters = [Parameter("a", 0.0), Parameter("b", 0.0, prior=prior)]
    return fit_parameters(line, noisy(1, 0.1), parameters, uncertainty=np.full(len(X), 0.1))


def test_a_straight_line_is_the_textbook_one() -> None:
    found = straight()
    design = np.stack([np.ones_like(X), X], axis=1)
    # The closed form of the linear problem: (AᵀA)⁻¹ s² (any textbook).
    exact = np.linalg.inv(design.T @ design) * 0.01
    assert np.allclose(found.covariance, exact, rtol=1e-8)
    assert np.allclose(found.values, np.linalg.lstsq(design, noisy(1, 0.1))[0], rtol=1e-9)
    assert found.trustworthy
    assert found.residuals == pytest.approx(noisy(1, 0.1) - found.predicted)


def test_readings_that_fit_better_than_they_can_are_arrived_at() -> None:
    # A model solved to a tolerance jitters; nothing is left of exact readings to set that against
    # but what their own uncertainty says.
    def jittery(b: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(line(b) + 1e-6 * np.sin(1e7 * (b[0] + 3.0 * b[1]) + 5.0 * X))

    exact = line(np.array([2.0, 3.0]))
    parameters = [Parameter("a", 1.0), Parameter("b", 1.0)]
    found = fit_parameters(jittery, exact, parameters, uncertainty=np.full(len(X), 0.01))
    assert found.trustworthy, found.reasons
    assert found.values == pytest.approx([2.0, 3.0], abs=1e-3)


def test_a_prior_weighs_as_one_more_reading() -> None:
    found = straight(Prior(0.0, 0.1))
    alone = straight()
    # Normal prior on b, a integrated out: precisions add (conjugate normal).
    variance = float(alone.covariance[1, 1])
    precision = 1.0 / variance + 1.0 / 0.01
    assert found.value("b") == pytest.approx(alone.value("b") / variance / precision, rel=1e-8)
    assert found.standard_errors[1] == pytest.approx(precision**-0.5, rel=1e-8)


def test_a_parameter_without_influence_is_named() -> None:
    parameters = [
        Parameter("a", 0.0),
        Parameter("b", 0.0),
        Parameter("idle", 5.0, prior=Prior(5.0, 1.0)),
    ]
    found = fit_parameters(
        lambda b: line(b[:2]), noisy(1, 0.1), parameters, uncertainty=np.full(len(X), 0.1)
    )
    assert found.undetermined == ("idle",)
    assert found.trustworthy  # what was known beforehand still holds
    assert found.value("idle") == pytest.approx(5.0)


def test_a_parameter_of_which_nothing_is_known_is_not_trusted() -> None:
    parameters = [Parameter("a", 0.0), Parameter("b", 0.0), Parameter("idle", 5.0)]
    with np.errstate(all="ignore"):
        found = fit_parameters(
            lambda b: line(b[:2]), noisy(1, 0.1), parameters, uncertainty=np.full(len(X), 0.1)
        )
    assert not found.trustworthy
    assert any("idle" in reason for reason in found.reasons)


def test_a_sum_of_two_cannot_be_told_apart() -> None:
    parameters = [Parameter(name, 1.0, prior=Prior(1.0, 10.0)) for name in ("a", "b")]
    found = fit_parameters(
        lambda b: (b[0] + b[1]) * X, 3.0 * X, parameters, uncertainty=np.full(len(X), 0.1)
    )
    ((first, second, correlation),) = found.inseparable
    assert (first, second) == ("a", "b")
    assert correlation < -0.99


def test_a_bound_is_kept_and_said() -> None:
    parameters = [Parameter("a", 0.0), Parameter("b", 1.0, low=0.0, high=2.5)]
    found = fit_parameters(line, noisy(1, 0.01), parameters, uncertainty=np.full(len(X), 0.01))
    assert found.value("b") == pytest.approx(2.5)
    assert any("bound" in reason for reason in found.reasons)


def test_a_wild_reading_makes_it_untrustworthy() -> None:
    observed = noisy(1, 0.1)
    observed[5] += 2.0
    found = fit_parameters(
        line,
        observed,
        [Parameter("a", 0.0), Parameter("b", 0.0)],
        uncertainty=np.full(len(X), 0.1),
    )
    assert any("scatter" in reason for reason in found.reasons)
    assert int(np.argmax(np.abs(found.residuals))) == 5


def test_a_profile_of_a_straight_line_is_the_normal_interval() -> None:
    found = straight()
    low, high = profile_interval(found, "b", 0.9)
    # 1.6449: the 95 % point of the normal distribution.
    reach = 1.6448536 * float(found.standard_errors[1])
    assert (low, high) == pytest.approx((found.value("b") - reach, found.value("b") + reach))
    assert found.interval("b", 0.9) == pytest.approx((low, high))


def test_a_profile_of_unknown_noise_is_students_interval() -> None:
    found = fit_parameters(line, noisy(3, 0.1), [Parameter("a", 0.0), Parameter("b", 0.0)])
    low, high = profile_interval(found, "b", 0.95)
    # 2.2622: Student's t, 97.5 %, 9 degrees of freedom (any table).
    reach = 2.2621572 * float(found.standard_errors[1])
    assert (low, high) == pytest.approx((found.value("b") - reach, found.value("b") + reach))


def test_a_logarithmic_parameter_stays_positive() -> None:
    observed = np.exp(-3.0 * X)
    found = fit_parameters(
        lambda b: np.exp(-b[0] * X),
        observed,
        [Parameter("rate", 1.0, transform="log", prior=Prior(2.0, 1.0))],
        uncertainty=np.full(len(X), 0.2),
    )
    low, high = found.interval("rate", 0.999)
    assert 0.0 < low < found.value("rate") < high
    assert low * high == pytest.approx(found.value("rate") ** 2)


def test_what_is_missing_is_said() -> None:
    with pytest.raises(InputError, match="at least 3"):
        fit_parameters(line, np.array([1.0, 2.0]), [Parameter("a", 0.0), Parameter("b", 0.0)])
    with pytest.raises(InputError, match="known uncertainty"):
        fit_parameters(line, noisy(1, 0.1), [Parameter("a", 0.0, prior=Prior(0.0, 1.0))])
    with pytest.raises(InputError, match="above 0"):
        fit_parameters(line, noisy(1, 0.1), [Parameter("a", 0.0)], uncertainty=np.zeros(len(X)))
    with pytest.raises(InputError, match="finite"):
        fit_parameters(line, np.full(len(X), math.nan), [Parameter("a", 0.0)])
    with pytest.raises(InputError, match="start between"):
        Parameter("a", 3.0, low=0.0, high=1.0)
