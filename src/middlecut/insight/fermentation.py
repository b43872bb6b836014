# SPDX-License-Identifier: MIT
"""Fit the course of a fermentation to its gravity readings."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from middlecut.errors import InputError, NotFoundError, OutOfRangeError
from middlecut.insight.fit import Fit, fit_parameters
from middlecut.insight.fit_problem import Parameter, Prior
from middlecut.insight.fit_quality import PROFILE
from middlecut.insight.readings import Reading, Refusal, true_value
from middlecut.liquid import extract
from middlecut.steps.gravity_course import FINISHED_FRACTION, Window, gravity_course
from middlecut.steps.parameters import Ferment
from middlecut.steps.result import Caution

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from middlecut.plan.model import Plan

    Array = NDArray[np.float64]

__all__ = ["FermentationCourse", "calibrate_fermentation", "fit_fermentation"]

# How far a plan usually is from the truth; all are our estimates.
GRAVITY_SPREAD = 0.0015
FINAL_SPREAD = 0.0035
LEAST_READINGS = 2
FIVE_TO_95 = 2.0 * 1.6448536
"""Standard deviations between the 5 % and the 95 % point of a normal distribution."""
STUCK_GAP = 0.003
STUCK_SPAN = 86400.0
"""A gravity that rests for a day this far above the expected end is called stuck; common practice
asks for two equal readings a day or more apart."""
FRESH = 3600.0
"""How long after pitching a refractometer still reads wort and not ethanol. [s]"""


@dataclass(frozen=True, slots=True, eq=False)
class FermentationCourse:
    """How gravity falls in one fermentation, as its readings say.

    Parameters
    ----------
    gravity, final_gravity : Window
        Before and after fermenting, SG 20/20, with their bands.
    attenuation : Window
        Apparent attenuation at the last reading, 0 to 1.
    last : float
        Time of the last reading. [s]
    warnings : tuple of Caution
        Slow or stuck, if it is.
    refused : tuple of Refusal
        Readings that were not used.
    trustworthy : bool
    reasons : tuple of str
    undetermined : tuple of str
        What the readings do not tell yet.
    fit : Fit
        Behind it all: "gravity", "final_gravity", "midpoint" [s], "slope" [s⁻¹].
    """

    gravity: Window
    final_gravity: Window
    attenuation: Window
    last: float
    warnings: tuple[Caution, ...]
    refused: tuple[Refusal, ...]
    trustworthy: bool
    reasons: tuple[str, ...]
    undetermined: tuple[str, ...]
    fit: Fit = field(repr=False)

    def gravity_at(self, time: float) -> Window:
        """Return the gravity at a time with its band of 90 %.

        Parameters
        ----------
        time : float
            Since pitching. [s]

        Returns
        -------
        Window
            SG 20/20.

        Raises
        ------
        OutOfRangeError
            If the time is before pitching or not finite.
        """
        if not 0.0 <= time < math.inf:
            raise OutOfRangeError("time", time, 0.0, math.inf, unit="s")
        return _band(self.fit, lambda inner: float(_course(_values(inner), np.array([time]))[0]))

    def time_of(self, fraction: float) -> Window:
        """Return when a share of the fall in gravity is done, with its band of 90 %.

        Parameters
        ----------
        fraction : float
            Share of the whole fall, 0.02 to 0.999.

        Returns
        -------
        Window
            Since pitching. [s]

        Raises
        ------
        OutOfRangeError
            Outside that range.
        """
        if not 0.02 <= fraction <= 0.999:
            raise OutOfRangeError("fraction", fraction, 0.02, 0.999)
        found = _band(self.fit, lambda inner: _time_of(_values(inner), fraction))
        return Window(*(max(value, 0.0) for value in (found.typical, found.low, found.high)))

    @property
    def finished(self) -> Window:
        """Return when the fermentation is all but done. [s]."""
        return self.time_of(FINISHED_FRACTION)


def _said(reason: str) -> str:
    """Return why not to trust a fit in the words of a wash, for which there is no profile."""
    words = reason.replace(PROFILE, "take it as rough until more gravities are in")
    return words.replace("midpoint", "half the fall").replace("slope", "the pace of the fall")


def _values(inner: Array) -> Array:
    return np.array([inner[0], inner[1], math.exp(inner[2]), math.exp(inner[3])])


def _logistic(values: Array, time: Array) -> Array:
    # The exponent is held where the share is 0 or 1 to machine precision, lest it overflow.
    return np.asarray(1.0 / (1.0 + np.exp(np.clip(-values[3] * (time - values[2]), -700.0, 700.0))))


def _course(values: Array, time: Array) -> Array:
    """Return the fall from gravity to final gravity: a logistic curve pinned to 0 at pitching."""
    start = _logistic(values, np.zeros(1))
    share = (_logistic(values, time) - start) / (1.0 - start)
    return np.asarray(values[0] - (values[0] - values[1]) * share)


def _time_of(values: Array, fraction: float) -> float:
    start = float(_logistic(values, np.zeros(1))[0])
    share = start + fraction * (1.0 - start)
    return float(values[2] + math.log(share / (1.0 - share)) / values[3])


def _band(fit: Fit, function: Any) -> Window:
    """Return a function of the parameters with its band, by its slope at the estimates."""
    at = fit.inner_values
    middle = float(function(at))
    slopes = np.empty(len(at))
    for index, spread in enumerate(np.sqrt(np.diag(fit.inner_covariance))):
        step = np.zeros(len(at))
        step[index] = 0.05 * spread
        slopes[index] = (function(at + step) - function(at - step)) / (0.1 * spread)
    half = 0.5 * FIVE_TO_95 * math.sqrt(float(slopes @ fit.inner_covariance @ slopes))
    return Window(middle, middle - half, middle + half)


def calibrate_fermentation(
    plan: Plan, step_id: str, readings: Iterable[Reading]
) -> FermentationCourse:
    """Fit the course of a fermentation of a plan to its gravity readings.

    Parameters
    ----------
    plan : Plan
        With the gravities and the temperature intended, which are the prior.
    step_id : str
        Of the ferment step.
    readings : iterable of Reading
        Checked readings of gravity or refraction, times since pitching.

    Returns
    -------
    FermentationCourse
        Curve, attenuation, times with bands, final gravity, warnings.

    Raises
    ------
    NotFoundError
        If the plan has no such ferment step.
    InputError
        If there are not enough readings; says what is missing.
    """
    step = plan.step(step_id)
    if not isinstance(step, Ferment):
        ids = tuple(one.id for one in plan.steps if isinstance(one, Ferment))
        raise NotFoundError("ferment step", step_id, ids[:3])
    return fit_fermentation(step, readings)


def fit_fermentation(step: Ferment, readings: Iterable[Reading]) -> FermentationCourse:
    """Fit the course of one fermentation to its gravity readings.

    Parameters
    ----------
    step : Ferment
        What was intended; the prior.
    readings : iterable of Reading
        Checked readings of gravity or refraction, times since pitching.

    Returns
    -------
    FermentationCourse
        See there.

    Raises
    ------
    InputError
        If there are not enough readings; says what is missing.

    Notes
    -----
    One falling logistic curve, pinned to the gravity at pitching; leaves out a second wind after
    rousing, feeding or a change of temperature. A refractometer reads wort alone: its readings
    count until the first hour; later they are refused, for no published equation covers a
    fermenting wash of this kind.

    References
    ----------
    .. [1] :cite:t:`armstrong2021`, the logistic form.
    """
    used, refused = _usable(readings)
    if len(used) < LEAST_READINGS or not any(time > FRESH for time, _, _ in used):
        raise InputError(
            "readings",
            len(used),
            f"at least {LEAST_READINGS} gravity readings are needed, one of them after the first "
            "hour",
            "Read the hydrometer, with the temperature of the sample, and fit again.",
        )
    time, observed, spread = (np.array(column) for column in zip(*used, strict=True))
    found = fit_parameters(
        lambda values: _course(values, time),
        observed,
        _parameters(step),
        uncertainty=spread,
        tolerance=1e-12,
    )
    return _result(step, found, used, refused)


def _usable(
    readings: Iterable[Reading],
) -> tuple[list[tuple[float, float, float]], tuple[Refusal, ...]]:
    """Return time, gravity and uncertainty of each usable reading, and those refused."""
    used: list[tuple[float, float, float]] = []
    refused: list[Refusal] = []
    for reading in readings:
        if reading.quantity == "gravity":
            used.append((reading.time, true_value(reading), reading.spread))
        elif reading.quantity == "refraction" and reading.time <= FRESH:
            # Before yeast has worked, refraction is extract: °Brix is °P (common practice).
            used.append(
                (reading.time, float(extract.gravity_from_plato(reading.value)),
                 4e-3 * reading.spread)
            )  # fmt: skip
        elif reading.quantity == "refraction":
            refused.append(
                Refusal(
                    reading,
                    "Ethanol bends light too, and no published equation covers a fermenting wash: "
                    "use a hydrometer.",
                )
            )
        else:
            refused.append(Refusal(reading, "It is no reading of a fermentation."))
    used.sort()
    return used, tuple(refused)


def _parameters(step: Ferment) -> tuple[Parameter, ...]:
    prior = gravity_course(step.temperature)
    logs = []
    for name, (low, high) in (("midpoint", prior.midpoint), ("slope", prior.slope)):
        middle, spread = math.sqrt(low * high), math.log(high / low) / FIVE_TO_95
        # The range allows for yeast, pitch and nutrients, which the plan does not know.
        logs.append(Parameter(name, middle, prior=Prior(middle, spread), transform="log"))
    original = Prior(step.gravity, GRAVITY_SPREAD)
    final = Prior(step.final_gravity, FINAL_SPREAD)
    return (
        Parameter("gravity", step.gravity, prior=original),
        Parameter("final_gravity", step.final_gravity, prior=final),
        *logs,
    )


def _result(
    step: Ferment,
    found: Fit,
    used: list[tuple[float, float, float]],
    refused: tuple[Refusal, ...],
) -> FermentationCourse:
    last = used[-1][0]

    def attenuation(inner: Array) -> float:
        values = _values(inner)
        now = float(_course(values, np.array([last]))[0])
        return float(extract.apparent_attenuation(values[0], min(now, values[0])))

    course = FermentationCourse(
        gravity=_band(found, lambda inner: inner[0]),
        final_gravity=_band(found, lambda inner: inner[1]),
        attenuation=_band(found, attenuation),
        last=last,
        warnings=(),
        refused=refused,
        trustworthy=found.trustworthy,
        reasons=tuple(map(_said, found.reasons)),
        undetermined=found.undetermined,
        fit=found,
    )
    return replace(course, warnings=_warnings(step, course, used))


def _warnings(
    step: Ferment, course: FermentationCourse, used: list[tuple[float, float, float]]
) -> tuple[Caution, ...]:
    found = []
    late = [(time, gravity, spread) for time, gravity, spread in used
            if time >= course.last - 2.0 * STUCK_SPAN]  # fmt: skip
    (start, first, before), (end, now, after) = late[0], late[-1]
    rests = end - start >= STUCK_SPAN and first - now < 2.0 * math.hypot(before, after)
    gap = now - step.final_gravity
    if rests and gap > max(STUCK_GAP, math.hypot(after, FINAL_SPREAD)):
        found.append(
            Caution(
                code="fermentation-stuck",
                severity="watch",
                text=(
                    f"Gravity has rested at {now:.3f} for {(end - start) / 3600.0:.0f} h, "
                    f"{gap:.3f} above the {step.final_gravity:.3f} of the plan: it is stuck or "
                    "done. Check temperature and yeast before distilling."
                ),
                value=now,
                limit=step.final_gravity,
                unit="SG 20/20",
            )
        )
    usual = gravity_course(step.temperature).time_at_attenuation(0.9).high
    reached = course.time_of(0.9)
    if not found and reached.typical > usual:
        found.append(
            Caution(
                code="fermentation-slow",
                severity="watch",
                text=(
                    f"At this pace 90 % is done after {reached.typical / 3600.0:.0f} h, later than "
                    f"the {usual / 3600.0:.0f} h expected at the latest at this temperature."
                ),
                value=reached.typical,
                limit=usual,
                unit="s",
                source="range of the prior, see the gravity course",
            )
        )
    return tuple(found)
