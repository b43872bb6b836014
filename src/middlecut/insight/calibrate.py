# SPDX-License-Identifier: MIT
"""Fit the description of a still to the readings of its runs."""

from __future__ import annotations

import contextlib
import hashlib
import math
from dataclasses import replace
from importlib import metadata
from typing import TYPE_CHECKING, Any

import numpy as np

from middlecut.errors import ConvergenceError, InputError, NotFoundError
from middlecut.insight.calibrated import CalibratedStill, FittedParameter, Residual
from middlecut.insight.fit import Fit, fit_parameters
from middlecut.insight.fit_problem import Parameter, Prior
from middlecut.insight.fit_profile import profile_interval
from middlecut.insight.fit_quality import BENT
from middlecut.insight.readings import QUANTITIES, Reading, true_value
from middlecut.insight.still_model import LoggedRun, expected_readings, instrument_of, log_run

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from numpy.typing import NDArray

    from middlecut.plan.model import Plan
    from middlecut.steps.lot import Lot
    from middlecut.steps.still import Still

    Array = NDArray[np.float64]

__all__ = ["calibrate_still", "fit_still", "still_parameters"]

OFFSET = "offset of "
CHARGE_STRENGTH = "strength of charge "
# How far a person's description of a still usually is from the truth; all are our estimates.
STAGES_SHARE, STAGES_LEAST = 0.25, 0.5
LOSS_SPREAD = math.log(1.5)
COOLANT_SPREAD = 0.10
EFFICIENCY_SPREAD = 0.04
HOLDUP_SPREAD = math.log(1.8)
CHARGE_SPREAD = 0.004
NO_LOSS_SPREAD = 0.04
"""Share of the heater's power that a head said to lose nothing may lose."""
OFFSETS = {"strength": 0.004, "temperature": 0.4}
LEAST_READINGS = 3
FAILED = 30.0
"""Uncertainties a reading is taken to be off where a trial still does not run, at the least."""
WORSE = 3.0
"""Times the distance of the description that it is off at the least: a still that does not run must
not look better than one that runs, however wild a reading is."""
STEP = 0.08
"""Step of the differences in deviations of the prior; above the noise of the integration."""
SEARCH = 1e-5
OFFSET_LIMIT = 0.1
"""Relative offset taken as arrived: a tenth of a standard error, about the noise of a run."""

_WANTED = {
    "stages": "the strength of the distillate",
    "head_loss": "strength together with collected volume and time",
    "coolant_duty": "strength together with collected volume and time, or the cooling water",
    "heater_efficiency": "collected volume or mass with the time",
    "stage_holdup": "the strength of the first jars",
}


def still_parameters(still: Still, runs: Sequence[LoggedRun]) -> tuple[Parameter, ...]:
    """Return what can be fitted of a still, with what its description says beforehand.

    Parameters
    ----------
    still : Still
        The description.
    runs : sequence of LoggedRun
        For the instruments and charges that bring unknowns of their own.

    Returns
    -------
    tuple of Parameter
        Each with its prior: stages, head loss or coolant duty, heater efficiency, hold-up of a
        stage, the strength of each charge (as a shift) and an offset of each instrument.

    Notes
    -----
    The heat the boiler loses is left out: with one power it cannot be told from the efficiency. A
    head loss of nothing beside a coolant is left at that: both return liquid alike.
    """
    found = [
        _linear("heater_efficiency", still.heater_efficiency, EFFICIENCY_SPREAD, low=0.2, high=1.2)
    ]
    if still.head_loss > 0.0 or still.coolant_duty == 0.0:
        found.append(_loss(still))
    if still.stages > 0.0:
        spread = max(STAGES_SHARE * still.stages, STAGES_LEAST)
        high = still.stages + 6.0 * spread
        found.append(_linear("stages", still.stages, spread, low=0.0, high=high))
    if still.coolant_duty > 0.0:
        spread = COOLANT_SPREAD * still.coolant_duty
        found.append(_linear("coolant_duty", still.coolant_duty, spread, low=0.0))
    if still.stages > 0.0 and still.stage_holdup > 0.0:
        found.append(_log("stage_holdup", still.stage_holdup, HOLDUP_SPREAD))
    for index, run in enumerate(runs, 1):
        at = run.charge.strength
        found.append(
            _linear(f"{CHARGE_STRENGTH}{index}", 0.0, CHARGE_SPREAD, low=-0.5 * at, high=0.9 - at)
        )
    for instrument, spread in _instruments(runs).items():
        found.append(_linear(OFFSET + instrument, 0.0, spread))
    return tuple(found)


def _linear(
    name: str, mean: float, deviation: float, *, low: float = -math.inf, high: float = math.inf
) -> Parameter:
    return Parameter(
        name, mean, low=low, high=high, prior=Prior(mean, deviation), step=STEP * deviation
    )


def _log(name: str, mean: float, deviation: float) -> Parameter:
    prior = Prior(mean, deviation)
    return Parameter(name, mean, prior=prior, transform="log", step=STEP * deviation)


def _loss(still: Still) -> Parameter:
    if still.head_loss > 0.0:
        return _log("head_loss", still.head_loss, LOSS_SPREAD)
    spread = NO_LOSS_SPREAD * still.heater_power
    return replace(_linear("head_loss", 0.0, spread, low=0.0), value=0.1 * spread)


def _instruments(runs: Sequence[LoggedRun]) -> dict[str, float]:
    found: dict[str, float] = {}
    for run in runs:
        for reading in run.readings:
            spread = OFFSETS.get(QUANTITIES[reading.quantity].dimension)
            if spread is not None:
                found.setdefault(instrument_of(reading), spread)
    return found


def calibrate_still(
    plan: Plan,
    step_id: str,
    readings: Iterable[Reading],
    *,
    charge: Lot | None = None,
    power_changes: tuple[tuple[float, float], ...] | None = None,
    cut_ends: tuple[float, ...] | None = None,
    earlier: Sequence[LoggedRun] = (),
    note: str = "",
) -> CalibratedStill:
    """Fit a still of a plan to the readings of one run of it.

    Parameters
    ----------
    plan : Plan
        With the still's description, which is the prior.
    step_id : str
        Of the distil step that was carried out.
    readings : iterable of Reading
        Checked readings, times since the first drop.
    charge : Lot or None
        What was really loaded; None: what the plan predicts.
    power_changes : tuple of (float, float) or None
        Time since the first drop [s] and setting (fraction of full power) of each change.
    cut_ends : tuple of float or None
        Times at which the cuts really ended. [s]
    earlier : sequence of LoggedRun
        Further runs of the same still.
    note : str
        Kept with the provenance.

    Returns
    -------
    CalibratedStill
        Fitted still with covariance, residuals, what the readings cannot tell, and provenance.

    Raises
    ------
    InputError
        If there are not enough readings; says what is missing.
    NotFoundError
        If the plan has no such step or still.
    ConvergenceError
        If no still fits at all.
    """
    run = log_run(
        plan,
        step_id,
        readings,
        charge=charge,
        power_changes=power_changes,
        cut_ends=cut_ends,
    )
    if run.step.still not in plan.stills:
        raise NotFoundError("still", run.step.still, tuple(plan.stills)[:3])
    return fit_still(plan.stills[run.step.still], (*earlier, run), note=note)


def fit_still(
    still: Still, runs: Sequence[LoggedRun], *, note: str = "", profile: bool = False
) -> CalibratedStill:
    """Fit the description of a still to one or more logged runs.

    Parameters
    ----------
    still : Still
        The description, which is the prior.
    runs : sequence of LoggedRun
        At least one, with readings.
    note : str
        Kept with the provenance.
    profile : bool
        Whether to find the intervals of the still's own parameters by profile likelihood, which
        asks for no symmetry and takes some ten seconds each.

    Returns
    -------
    CalibratedStill
        See there.

    Raises
    ------
    InputError
        If there are not enough readings; says what is missing.
    ConvergenceError
        If no still fits at all.
    """
    _check_enough(runs)
    parameters = still_parameters(still, runs)
    found = _fit(still, runs, parameters)
    fitted = _result(still, runs, found, note)
    return _profiled(fitted, found) if profile else fitted


def _profiled(fitted: CalibratedStill, found: Fit) -> CalibratedStill:
    """Return the same with intervals by profile, which no want of symmetry speaks against."""
    rows = []
    for one in fitted.parameters:
        if one.name in _WANTED:
            low, high = profile_interval(found, one.name)
            one = replace(one, low=low, high=high)  # noqa: PLW2901 - the same row, better known
        rows.append(one)
    reasons = tuple(one for one in fitted.reasons if BENT not in one or _others(one))
    return replace(fitted, parameters=tuple(rows), reasons=reasons, trustworthy=not reasons)


def _others(reason: str) -> bool:
    """Say whether a reason about intervals names any that was not profiled."""
    named = reason.partition(" is ")[0].removeprefix("The interval of ")
    return any(one not in _WANTED for one in named.split(", "))


def _fit(still: Still, runs: Sequence[LoggedRun], parameters: tuple[Parameter, ...]) -> Fit:
    observed = np.array([true_value(reading) for run in runs for reading in run.readings])
    spread = np.array([reading.spread for run in runs for reading in run.readings])
    names = [one.name for one in parameters]

    memory: dict[tuple[int, float], dict[Still, Array]] = {}
    off = FAILED * spread
    with contextlib.suppress(InputError, ConvergenceError):
        start = expected(still, runs, {}, memory=memory) - observed
        off = np.maximum(off, WORSE * np.abs(start))

    def model(values: Array) -> Array:
        given = dict(zip(names, values.tolist(), strict=True))
        try:
            return expected(still_of(still, given), runs, given, memory=memory)
        except (InputError, ConvergenceError):
            return np.asarray(observed + off)

    return fit_parameters(
        model,
        observed,
        parameters,
        uncertainty=spread,
        tolerance=SEARCH,
        offset_limit=OFFSET_LIMIT,
    )


def still_of(still: Still, values: Mapping[str, float]) -> Still:
    """Return a still with fitted values in place of described ones.

    Parameters
    ----------
    still : Still
        The description.
    values : mapping of str to float
        By the name of the parameter; names that are none of a still's are left out.

    Returns
    -------
    Still
        The same still with those values.
    """
    fields: dict[str, Any] = {name: at for name, at in values.items() if name in _WANTED}
    return replace(still, **fields)


def expected(
    still: Still,
    runs: Sequence[LoggedRun],
    values: Mapping[str, float],
    *,
    memory: dict[tuple[int, float], dict[Still, Array]] | None = None,
) -> Array:
    """Return what the readings of all runs should be, offsets and charges included.

    Parameters
    ----------
    still : Still
        The still.
    runs : sequence of LoggedRun
        The runs.
    values : mapping of str to float
        Shifts of the charges and offsets of the instruments, by the name of the parameter.
    memory : dict or None
        What was computed before, by run and shift; filled.

    Returns
    -------
    ndarray
        In SI, run after run.
    """
    offsets = {
        name.removeprefix(OFFSET): value
        for name, value in values.items()
        if name.startswith(OFFSET)
    }
    parts = []
    for index, run in enumerate(runs, 1):
        shift = values.get(f"{CHARGE_STRENGTH}{index}", 0.0)
        known = None if memory is None else memory.setdefault((index, shift), {})
        parts.append(expected_readings(_shifted(run, shift), still, offsets, memory=known))
    return np.concatenate(parts)


def _shifted(run: LoggedRun, shift: float) -> LoggedRun:
    """Return the run with a charge of the same mass whose strength is off by a shift."""
    if shift == 0.0:
        return run
    factor = 1.0 + shift / run.charge.strength
    ethanol = run.charge.ethanol * factor
    water = max(run.charge.water + run.charge.ethanol - ethanol, 0.0)
    return replace(run, charge=replace(run.charge, ethanol=ethanol, water=water))


def _check_enough(runs: Sequence[LoggedRun]) -> None:
    readings = [reading for run in runs for reading in run.readings]
    names = {reading.quantity for reading in readings}
    missing = []
    if len(readings) < LEAST_READINGS:
        missing.append(f"at least {LEAST_READINGS} readings")
    if not any(name.endswith("_strength") or name == "head_temperature" for name in names):
        missing.append("a strength of the distillate or the temperature of the still head")
    if not any(name.startswith(("collected_", "jar_")) for name in names):
        missing.append("a collected volume or mass, or jars, with the time")
    if missing:
        raise InputError(
            "readings",
            len(readings),
            f"this is not enough to fit a still; missing: {'; '.join(missing)}",
            "Read them on the next run and fit again.",
        )


def _result(still: Still, runs: Sequence[LoggedRun], found: Fit, note: str) -> CalibratedStill:
    rows = []
    for index, name in enumerate(found.names):
        one = found.problem.parameters[index]
        low, high = found.interval(name, 0.9)
        prior = one.prior
        rows.append(
            FittedParameter(
                name=name,
                value=float(found.values[index]),
                standard_error=float(found.standard_errors[index]),
                low=low,
                high=high,
                prior_mean=prior.mean if prior is not None else math.nan,
                prior_deviation=prior.deviation if prior is not None else math.nan,
                scale=one.transform,
            )
        )
    readings = [reading for run in runs for reading in run.readings]
    residuals = tuple(
        Residual(reading.time, reading.quantity, true_value(reading), float(value), reading.spread)
        for reading, value in zip(readings, found.predicted, strict=True)
    )
    advice = tuple(
        f"To learn {name.replace('_', ' ')}, read {_WANTED[name]}."
        for name in found.undetermined
        if name in _WANTED
    )
    values = dict(zip(found.names, found.values.tolist(), strict=True))
    return CalibratedStill(
        name=still.name,
        still=still_of(still, values),
        described=still,
        parameters=tuple(rows),
        inner_covariance=tuple(tuple(row) for row in found.inner_covariance.tolist()),
        correlation=tuple(tuple(row) for row in found.correlation.tolist()),
        residuals=residuals,
        degrees_of_freedom=found.degrees_of_freedom,
        residual_deviation=found.residual_deviation,
        undetermined=found.undetermined,
        inseparable=found.inseparable,
        trustworthy=found.trustworthy,
        reasons=found.reasons,
        advice=advice,
        provenance=_provenance(runs, note),
    )


def _provenance(runs: Sequence[LoggedRun], note: str) -> dict[str, str]:
    try:
        version = metadata.version("middlecut")
    except metadata.PackageNotFoundError:
        version = "unknown"
    text = "\n".join(repr(reading) for run in runs for reading in run.readings)
    return {
        "middlecut": version,
        "runs": ", ".join(run.name for run in runs),
        "readings": str(sum(len(run.readings) for run in runs)),
        "readings_sha256": hashlib.sha256(text.encode()).hexdigest(),
        "note": note,
    }
