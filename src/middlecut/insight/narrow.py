# SPDX-License-Identifier: MIT
"""Narrow the volatility and the content of a compound by laboratory results."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from middlecut import units
from middlecut.errors import InputError, NotFoundError
from middlecut.insight.readings import Refusal
from middlecut.insight.readings_csv import read_rows
from middlecut.liquid import compounds, volatility
from middlecut.plan.predict import predict
from middlecut.steps.distil import distil
from middlecut.steps.mixing import mixed
from middlecut.steps.parameters import Distil
from middlecut.steps.scenario import Scenario

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from middlecut.liquid.own_names import OwnCompound
    from middlecut.plan.model import Plan
    from middlecut.steps.lot import Amount, Lot
    from middlecut.steps.result import StepResult

    Array = NDArray[np.float64]

__all__ = [
    "Factor",
    "LabResult",
    "NarrowedCompound",
    "narrow_factors",
    "narrow_volatility",
    "read_lab_csv",
    "result_check",
    "usable_results",
]

NUDGE = 0.02
"""Change of ln K by which the sensitivity of a lot is had."""
USUAL_SPREAD = 0.10
"""Relative uncertainty of a laboratory result where none is given; our estimate."""
WIDE_CONTENT = math.log(2.0)
"""Deviation of ln(content) where the charge gives no range; our estimate."""
COLUMNS = ("lot", "compound", "value", "uncertainty")
FIVE_TO_95 = 2.0 * 1.6448536


@dataclass(frozen=True, slots=True)
class LabResult:
    """One measured compound.

    Parameters
    ----------
    lot : str
        Name of the lot the sample was taken from.
    compound : str
        Name as the tables have it.
    value : float
        [mg L⁻¹ of lot]
    uncertainty : float
        Relative standard uncertainty, as a fraction.
    line : int or None
        Where it stands in its file.
    """

    lot: str
    compound: str
    value: float
    uncertainty: float = USUAL_SPREAD
    line: int | None = field(default=None, compare=False)


@dataclass(frozen=True, slots=True)
class Factor:
    """A log-normal factor: 1 means as predicted.

    Parameters
    ----------
    median, low, high : float
        Low and high bound 90 %, as a ratio to the prediction.
    spread : float
        One-sigma factor, as a ratio.
    """

    median: float
    low: float
    high: float
    spread: float

    @classmethod
    def of(cls, mean: float, deviation: float) -> Factor:
        """Return the factor whose logarithm has this mean and deviation.

        Parameters
        ----------
        mean, deviation : float
            Of the natural logarithm; pure numbers, as a ratio.

        Returns
        -------
        Factor
            Median, ends and one-sigma factor.
        """
        half = 0.5 * FIVE_TO_95 * deviation
        return cls(
            math.exp(mean), math.exp(mean - half), math.exp(mean + half), math.exp(deviation)
        )


@dataclass(frozen=True, slots=True)
class NarrowedCompound:
    """What laboratory results say about one compound.

    Parameters
    ----------
    compound : str
    volatility, content : Factor
        On K, and on the amount in the charge.
    volatility_before, content_before : Factor
        As they were.
    correlation : float
        Between the two, on the scale of logarithms.
    results : int
        How many were used.
    surprise : float
        Largest distance of a result from the prior prediction, in standard deviations.
    """

    compound: str
    volatility: Factor
    content: Factor
    volatility_before: Factor
    content_before: Factor
    correlation: float
    results: int
    surprise: float


def narrow_factors(
    *,
    logs: Array,
    slopes: Array,
    uncertainty: Array,
    deviations: Array,
) -> tuple[Array, Array]:
    """Return mean and covariance of log factors after measurements, in closed form.

    ln(measured/predicted) = slopes · factors + error, all normal on the scale of logarithms, so
    that precisions add.

    Parameters
    ----------
    logs : ndarray, shape (n,)
        ln(measured over predicted).
    slopes : ndarray, shape (n, k)
        d ln(predicted) by d ln(factor).
    uncertainty : ndarray, shape (n,)
        Relative standard uncertainty of each measurement.
    deviations : ndarray, shape (k,)
        Standard deviation of ln(factor) beforehand; means are 0.

    Returns
    -------
    tuple of ndarray
        Mean and covariance.

    Notes
    -----
    Exact for factors that act as powers; a strongly curved dependence on K is taken as straight.

    References
    ----------
    .. [1] :cite:t:`gelman2013`, section 14.8 (linear regression with a normal prior).

    Examples
    --------
    One result as uncertain as the prior halves the distance and the variance:

    >>> mean, covariance = narrow_factors(
    ...     logs=np.array([0.4]), slopes=np.array([[1.0]]), uncertainty=np.array([0.3]),
    ...     deviations=np.array([0.3]))
    >>> round(float(mean[0]), 3), round(float(covariance[0, 0]), 3)
    (0.2, 0.045)
    """
    weighted = slopes / uncertainty[:, np.newaxis]
    precision = np.diag(deviations**-2.0) + weighted.T @ weighted
    covariance = np.asarray(np.linalg.inv(precision), dtype=float)
    return covariance @ weighted.T @ (logs / uncertainty), covariance


def narrow_volatility(
    plan: Plan, step_id: str, results: Iterable[LabResult]
) -> tuple[NarrowedCompound, ...]:
    """Narrow K and content of compounds by laboratory results of the lots of one run.

    Parameters
    ----------
    plan : Plan
        What was run.
    step_id : str
        Of the distil step the samples come from: cuts or residue.
    results : iterable of LabResult
        What was measured.

    Returns
    -------
    tuple of NarrowedCompound
        One per compound measured, in alphabetical order.

    Raises
    ------
    NotFoundError
        If the plan has no such step, or the run no such lot or compound.
    InputError
        If a result is not above 0.

    Notes
    -----
    Several lots of one run tell K from content; one lot alone mostly cannot, which shows as a
    correlation near -1 or 1. Leaves out errors of the run itself: calibrate the still first.
    Compounds that the charge does not hold, or that do not boil, are refused.
    """
    step = plan.step(step_id)
    if not isinstance(step, Distil):
        ids = tuple(one.id for one in plan.steps if isinstance(one, Distil))
        raise NotFoundError("distil step", step_id, ids[:3])
    run = predict(plan).steps[step_id]
    charge = mixed(tuple(run.used.values()), "charge")
    rows = tuple(results)
    for row in rows:
        _check(row, run, charge)
    found = []
    for compound in sorted({row.compound for row in rows}):
        nudged = distil(
            step,
            tuple(run.used.values()),
            still=plan.stills[step.still],
            pressure=plan.batch.pressure,
            scenario=Scenario(volatility={compound: math.exp(NUDGE)}),
        )
        mine = [row for row in rows if row.compound == compound]
        found.append(_narrowed(mine, charge.amounts[compound], run, nudged))
    return tuple(found)


def usable_results(
    results: Iterable[LabResult], check: Callable[[LabResult], None]
) -> tuple[tuple[LabResult, ...], tuple[Refusal, ...]]:
    """Sort laboratory results into those that can narrow something and those that cannot.

    Parameters
    ----------
    results : iterable of LabResult
    check : callable
        Raises what is wrong with a result; see :func:`result_check`.

    Returns
    -------
    used : tuple of LabResult
    refused : tuple of Refusal
        With the line of the file and the reason.
    """
    used: list[LabResult] = []
    refused: list[Refusal] = []
    for row in results:
        try:
            check(row)
        except (InputError, NotFoundError) as error:
            refused.append(Refusal(None, str(error), row.line))
        else:
            used.append(row)
    return tuple(used), tuple(refused)


def result_check(plan: Plan, step_id: str) -> Callable[[LabResult], None]:
    """Return what raises the fault of a result of the lots of a run, if it has one.

    Parameters
    ----------
    plan : Plan
        What was run.
    step_id : str
        Of the distil step.

    Returns
    -------
    callable
    """
    run = predict(plan).steps[step_id]
    charge = mixed(tuple(run.used.values()), "charge")
    return lambda row: _check(row, run, charge)


def _check(row: LabResult, run: StepResult, charge: Lot) -> None:
    if row.lot not in run.made:
        near = tuple(get_close_matches(row.lot, run.made, 3, 0.0))
        raise NotFoundError("lot of this run", row.lot, near)
    if row.compound not in charge.amounts:
        raise NotFoundError("compound in the charge", row.compound, tuple(charge.amounts)[:3])
    if not (0.0 < row.value < math.inf and 0.0 < row.uncertainty < math.inf):
        raise InputError(row.compound, row.value, "a result and its uncertainty lie above 0")
    if not run.made[row.lot].compounds[row.compound] > 0.0:
        raise InputError(
            row.compound,
            row.value,
            f"none of it is predicted in {row.lot}, so that no factor can explain the result",
            "Give its content in the charge in the plan.",
        )


def _narrowed(
    rows: list[LabResult], content: Amount, run: StepResult, nudged: StepResult
) -> NarrowedCompound:
    compound = rows[0].compound
    predicted = np.array([run.made[row.lot].compounds[compound] for row in rows])
    moved = np.array([nudged.made[row.lot].compounds[compound] for row in rows])
    slopes = np.stack([np.log(moved / predicted) / NUDGE, np.ones(len(rows))], axis=1)
    uncertainty = np.array([row.uncertainty for row in rows])
    logs = np.log(np.array([row.value for row in rows]) / predicted)
    deviations = np.array([math.log(volatility.grade(compound).factor), _content_spread(content)])
    mean, covariance = narrow_factors(
        logs=logs, slopes=slopes, uncertainty=uncertainty, deviations=deviations
    )
    after = np.sqrt(np.diag(covariance))
    beforehand = np.sqrt((slopes**2) @ (deviations**2) + uncertainty**2)
    return NarrowedCompound(
        compound=compound,
        volatility=Factor.of(float(mean[0]), float(after[0])),
        content=Factor.of(float(mean[1]), float(after[1])),
        volatility_before=Factor.of(0.0, float(deviations[0])),
        content_before=Factor.of(0.0, float(deviations[1])),
        correlation=float(covariance[0, 1] / (after[0] * after[1])),
        results=len(rows),
        surprise=float(np.max(np.abs(logs) / beforehand)),
    )


def _content_spread(content: Amount) -> float:
    """Return the deviation of ln(content): its range taken as 5 to 95 %, at least 5 % wide."""
    if not 0.0 < content.low < content.high:
        return WIDE_CONTENT
    return max(math.log(content.high / content.low) / FIVE_TO_95, 0.05)


def read_lab_csv(
    path: str | Path, own: Iterable[OwnCompound] = ()
) -> tuple[tuple[LabResult, ...], tuple[Refusal, ...]]:
    """Read laboratory results: ``lot``, ``compound``, ``value``, and maybe ``uncertainty``.

    Parameters
    ----------
    path : str or Path
        The file, UTF-8; values with their unit, such as ``120 mg/L``, uncertainty as ``12 %``.
    own : iterable of OwnCompound
        The user's own compounds, such as those of the plan.

    Returns
    -------
    tuple
        The results, and the rows that were refused with the reason.

    Raises
    ------
    NotFoundError
        If there is no such file.
    InputError
        If it is no table with the needed columns.
    """
    known = tuple(own)
    results: list[LabResult] = []
    refused: list[Refusal] = []
    seen: set[tuple[str, str, float]] = set()
    for line, row in read_rows(path, needed=COLUMNS[:3], known=COLUMNS):
        try:
            one = replace(_lab_result(row, known), line=line)
        except (InputError, NotFoundError) as error:
            refused.append(Refusal(None, str(error), line))
            continue
        key = (one.lot, one.compound, one.value)
        if key in seen:
            reason = "The same result stands there already; it counts once."
            refused.append(Refusal(None, reason, line))
            continue
        seen.add(key)
        results.append(one)
    return tuple(results), tuple(refused)


def _lab_result(row: dict[str, str], own: tuple[OwnCompound, ...]) -> LabResult:
    value = units.parse_quantity(row["value"], "mass_concentration", field="value")
    spread = row.get("uncertainty", "")
    share = units.parse_quantity(spread, "fraction", field="uncertainty") if spread else None
    if not value > 0.0 or (share is not None and not 0.0 < share <= 2.0):
        raise InputError(
            row["compound"], row["value"], "a result lies above 0, its uncertainty below 200 %",
            "Leave out what was below the limit of detection.",
        )  # fmt: skip
    name = compounds.find(row["compound"], own).name
    return LabResult(row["lot"], name, 1e3 * value, USUAL_SPREAD if share is None else share)
