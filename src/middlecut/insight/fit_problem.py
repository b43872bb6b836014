# SPDX-License-Identifier: MIT
"""What is to be fitted: parameters with what is known of them, readings, and the model between."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from middlecut.errors import InputError

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["Parameter", "Prior", "Problem"]


@dataclass(frozen=True, slots=True)
class Prior:
    """What is known of a parameter before any reading: a normal distribution.

    Parameters
    ----------
    mean : float
        In the unit of the parameter.
    deviation : float
        Standard deviation, in the unit of the parameter; of its natural logarithm where the
        parameter is fitted on a logarithmic scale.
    """

    mean: float
    deviation: float


@dataclass(frozen=True, slots=True)
class Parameter:
    """One parameter to fit.

    Parameters
    ----------
    name : str
    value : float
        Where the search starts.
    low, high : float
        Bounds, in the unit of the parameter.
    prior : Prior or None
        What is known beforehand; None: only the readings speak.
    transform : {"linear", "log"}
        Scale the parameter is normal on.
    step : float or None
        Step for differences, on that scale; None: from machine precision. Give one where the model
        has numerical noise.
    """

    name: str
    value: float
    low: float = -math.inf
    high: float = math.inf
    prior: Prior | None = None
    transform: Literal["linear", "log"] = "linear"
    step: float | None = None

    def __post_init__(self) -> None:
        if not (math.isfinite(self.value) and self.low <= self.value <= self.high):
            raise InputError(
                self.name, self.value, f"a start between {self.low:g} and {self.high:g} is needed"
            )
        if self.transform == "log" and not self.value > 0.0:
            raise InputError(self.name, self.value, "a logarithmic parameter lies above 0")
        if self.prior is not None and not self.prior.deviation > 0.0:
            raise InputError(self.name, self.prior.deviation, "a prior is wider than 0")

    def inner(self, value: float) -> float:
        """Return a value on the scale of the fit."""
        if self.transform == "linear":
            return value
        return math.log(value) if value > 0.0 else -math.inf

    def outer(self, value: float) -> float:
        """Return a value in the unit of the parameter."""
        return value if self.transform == "linear" else math.exp(value)

    def slope(self, value: float) -> float:
        """Return the change of the parameter per change on the scale of the fit."""
        return 1.0 if self.transform == "linear" else value


@dataclass(frozen=True, slots=True, eq=False)
class Problem:
    """Model, readings and parameters, ready to be solved.

    Parameters
    ----------
    model : callable
        Takes the values of the parameters, returns what each reading should be.
    observed : ndarray
        The readings.
    uncertainty : ndarray or None
        Standard deviation of each; None: alike and unknown, estimated from the scatter.
    parameters : tuple of Parameter
    jacobian : {"central", "complex"} or callable
        Differences to both sides; the complex step, exact for a model of complex arithmetic; or a
        function that returns the derivatives by the parameters.
    """

    model: Callable[[Any], Any]
    observed: NDArray[np.floating]
    uncertainty: Array | None
    parameters: tuple[Parameter, ...]
    jacobian: Literal["central", "complex"] | Callable[[Array], Array] = "central"

    def values(self, inner: Array) -> Array:
        """Return the values of the parameters."""
        pairs = zip(self.parameters, inner, strict=True)
        return np.array([one.outer(float(at)) for one, at in pairs])

    @property
    def weight(self) -> Array | float:
        """One over the uncertainty of each reading."""
        return 1.0 if self.uncertainty is None else 1.0 / self.uncertainty

    def data_residuals(self, inner: Array) -> Array:
        """Return weighted residuals of the readings alone, model minus reading."""
        difference = (self.model(self.values(inner)) - self.observed) * self.weight
        return np.asarray(difference.real, dtype=float)

    def residuals(self, inner: Array) -> Array:
        """Return weighted residuals of readings and priors."""
        extra = [
            (at - one.inner(one.prior.mean)) / one.prior.deviation
            for one, at in zip(self.parameters, inner, strict=True)
            if one.prior is not None
        ]
        return np.concatenate([self.data_residuals(inner), np.array(extra)])

    def data_slopes(self, inner: Array) -> Array:
        """Return the derivatives of the weighted residuals of the readings."""
        values = self.values(inner)
        if callable(self.jacobian):
            slopes = np.asarray(self.jacobian(values), dtype=float).copy()
        elif self.jacobian == "complex":
            slopes = self._complex_step(values)
        else:
            return self._central(inner)
        scale = np.array(
            [one.slope(float(v)) for one, v in zip(self.parameters, values, strict=True)]
        )
        return np.asarray(slopes * scale * np.reshape(self.weight, (-1, 1)))

    def slopes(self, inner: Array) -> Array:
        """Return the derivatives of all weighted residuals."""
        rows = [
            np.eye(len(inner))[index] / one.prior.deviation
            for index, one in enumerate(self.parameters)
            if one.prior is not None
        ]
        return np.vstack([self.data_slopes(inner), *rows])

    def finite_slopes(self, inner: Array) -> Array:
        """Return the derivatives of all weighted residuals, or raise ValueError.

        Parameters
        ----------
        inner : ndarray
            Parameters on the scales of the fit.

        Returns
        -------
        ndarray
            A row per residual, a column per parameter.

        Raises
        ------
        ValueError
            If one of them is not finite: the search has run away.
        """
        slopes = self.slopes(inner)
        if not np.isfinite(slopes).all():
            raise ValueError("slopes")
        return slopes

    def _complex_step(self, values: Array) -> Array:
        columns = []
        for index, value in enumerate(values):
            step = 1e-30 * max(abs(value), 1e-30)
            moved = values.astype(complex)
            moved[index] += 1j * step
            columns.append(np.asarray(self.model(moved)).imag / step)
        return np.stack(columns, axis=1).astype(float)

    def _central(self, inner: Array) -> Array:
        columns = []
        for index, one in enumerate(self.parameters):
            step = one.step or 6e-6 * max(abs(inner[index]), 1e-8)
            ends = np.array([one.inner(one.low), one.inner(one.high)])
            above, below = inner.copy(), inner.copy()
            above[index] = min(inner[index] + step, ends[1])
            below[index] = max(inner[index] - step, ends[0])
            rise = self.data_residuals(above) - self.data_residuals(below)
            columns.append(rise / (above[index] - below[index]))
        return np.stack(columns, axis=1)
