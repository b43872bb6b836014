# SPDX-License-Identifier: MIT
"""A calibrated still: what was fitted, how well, and its file."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields, replace
from pathlib import Path
from typing import Any, Literal

import numpy as np

from middlecut.errors import InputError, NotFoundError
from middlecut.steps.still import Still

__all__ = [
    "CalibratedStill",
    "FittedParameter",
    "Residual",
    "load_still",
    "parse_still",
    "save_still",
]

FORMAT = "middlecut calibrated still"
VERSION = 2
_WHOLE_STAGES = "It was fitted before parts of stages counted: fit it again."
LARGEST = 1_000_000
"""Bytes a file of a calibrated still may have."""


@dataclass(frozen=True, slots=True)
class FittedParameter:
    """One fitted parameter beside what was assumed.

    Parameters
    ----------
    name : str
    value, standard_error : float
        In SI.
    low, high : float
        Interval of 90 %.
    prior_mean, prior_deviation : float
        What the description said; the deviation of the logarithm where the scale is "log".
    scale : {"linear", "log"}
        Scale on which the parameter is normal.
    """

    name: str
    value: float
    standard_error: float
    low: float
    high: float
    prior_mean: float
    prior_deviation: float
    scale: Literal["linear", "log"]


@dataclass(frozen=True, slots=True)
class Residual:
    """One reading beside what the fitted still makes of it.

    Parameters
    ----------
    time : float
        [s]
    quantity : str
    observed, expected, uncertainty : float
        In SI, corrected for the temperature of a glass instrument.
    """

    time: float
    quantity: str
    observed: float
    expected: float
    uncertainty: float


@dataclass(frozen=True, slots=True)
class CalibratedStill:
    """A still as its readings say it is.

    Parameters
    ----------
    name : str
    still : Still
        With the fitted values: what a plan should run.
    described : Still
        As it was described before.
    parameters : tuple of FittedParameter
        Of the still, of the charges and of the instruments.
    inner_covariance, correlation : tuple of tuple of float
        In the order of the parameters, on their scales.
    residuals : tuple of Residual
    degrees_of_freedom : int
    residual_deviation : float
        About 1 when the uncertainties of the readings are right.
    undetermined : tuple of str
    inseparable : tuple of (str, str, float)
    trustworthy : bool
    reasons, advice : tuple of str
        Why not to trust it, and what to read next time.
    provenance : mapping of str to str
    """

    name: str
    still: Still
    described: Still
    parameters: tuple[FittedParameter, ...]
    inner_covariance: tuple[tuple[float, ...], ...]
    correlation: tuple[tuple[float, ...], ...]
    residuals: tuple[Residual, ...]
    degrees_of_freedom: int
    residual_deviation: float
    undetermined: tuple[str, ...]
    inseparable: tuple[tuple[str, str, float], ...]
    trustworthy: bool
    reasons: tuple[str, ...]
    advice: tuple[str, ...]
    provenance: Mapping[str, str]

    def parameter(self, name: str) -> FittedParameter:
        """Return one fitted parameter, or raise NotFoundError."""
        for one in self.parameters:
            if one.name == name:
                return one
        raise NotFoundError("parameter", name, tuple(one.name for one in self.parameters)[:3])

    def origin(self) -> str:
        """Return what it was fitted to, when, and how far to trust it, as a sentence."""
        told = self.provenance
        day = f" on {told['date']}" if told.get("date") else ""
        runs, version = told.get("runs") or "an unknown run", told.get("middlecut", "unknown")
        digest = told.get("readings_sha256", "unknown")[:12]
        text = (
            f"Still {self.name}: as fitted{day} to {told.get('readings', 'unknown')} readings of "
            f"{runs} (middlecut {version}, readings {digest}), "
            "in place of the plan's description."
        )
        if self.trustworthy:
            return text
        return " ".join((text, "Take it with care.", *self.reasons))

    def draw(self, draws: int, seed: int = 0) -> list[dict[str, float]]:
        """Return random sets of parameters that the readings allow.

        Parameters
        ----------
        draws : int
            How many.
        seed : int
            Of the random numbers.

        Returns
        -------
        list of dict
            Values by the name of the parameter; :func:`still_with` turns one into a still.
        """
        inner = [
            math.log(one.value) if one.scale == "log" else one.value for one in self.parameters
        ]
        covariance = np.array(self.inner_covariance)
        random = np.random.default_rng(seed)
        sets = random.multivariate_normal(np.array(inner), covariance, draws, method="eigh")
        return [
            {
                one.name: math.exp(value) if one.scale == "log" else value
                for one, value in zip(self.parameters, row.tolist(), strict=True)
            }
            for row in sets
        ]

    def still_with(self, values: Mapping[str, float]) -> Still:
        """Return the still with some parameters put in; losses and stages stay 0 or more.

        Parameters
        ----------
        values : mapping of str to float
            As :meth:`draw` returns them; names that are none of a still's are left out.

        Returns
        -------
        Still
            The still.
        """
        known = {field.name for field in fields(Still)}
        chosen: dict[str, Any] = {
            name: max(at, 0.0) for name, at in values.items() if name in known
        }
        return replace(self.still, **chosen)

    def to_dict(self) -> dict[str, Any]:
        """Return all of it as plain JSON types."""
        return {
            "format": FORMAT,
            "version": VERSION,
            **{key: value for key, value in asdict(self).items() if key != "provenance"},
            "provenance": dict(self.provenance),
        }


def save_still(calibrated: CalibratedStill, path: str | Path) -> None:
    """Write a calibrated still to a file, for later plans.

    Parameters
    ----------
    calibrated : CalibratedStill
        What to keep.
    path : str or Path
        The file, JSON; replaced as a whole.
    """
    place = Path(path)
    text = json.dumps(calibrated.to_dict(), indent=1, ensure_ascii=False, allow_nan=False)
    new = place.with_name(place.name + ".new")
    new.write_text(text + "\n", encoding="utf-8")
    new.replace(place)


def load_still(path: str | Path) -> CalibratedStill:
    """Read a calibrated still from its file.

    Parameters
    ----------
    path : str or Path
        As :func:`save_still` wrote it.

    Returns
    -------
    CalibratedStill
        The same as was saved.

    Raises
    ------
    NotFoundError
        If there is no such file.
    InputError
        If it is no such file or of a later version.
    """
    place = Path(path)
    if not place.is_file():
        raise NotFoundError("file", str(path))
    if place.stat().st_size > LARGEST:
        raise InputError(str(path), "text", f"a calibrated still has at most {LARGEST} bytes")
    try:
        text = place.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise InputError(str(path), "text", "this is no calibrated still") from error
    return parse_still(text, str(path))


def parse_still(text: str, name: str = "calibrated still") -> CalibratedStill:
    """Return the calibrated still that a text holds.

    Parameters
    ----------
    text : str
        JSON, as :func:`save_still` writes it to a file.
    name : str
        Of the text, for messages.

    Returns
    -------
    CalibratedStill
        The same as was written.

    Raises
    ------
    InputError
        If it is no such text or of a later version.
    """
    try:
        data = json.loads(text)
    except (json.JSONDecodeError, RecursionError) as error:
        raise InputError(name, "text", "this is no calibrated still") from error
    if not isinstance(data, dict) or data.pop("format", None) != FORMAT:
        raise InputError(name, "text", "this is no calibrated still")
    version = data.pop("version", None)
    if version not in (1, VERSION):
        raise InputError(
            name,
            version,
            f"versions 1 to {VERSION} are read here",
            "A later middlecut wrote it; use that one."
            if type(version) is int and version > VERSION
            else "The file is damaged; write it again with middlecut calibrate.",
        )
    try:
        found = _built(data)
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise InputError(name, str(error)[:60], "the file is damaged") from error
    if version == 1 and any(one.name == "stages" for one in found.parameters):
        return replace(found, trustworthy=False, reasons=(*found.reasons, _WHOLE_STAGES))
    return found


def _built(data: dict[str, Any]) -> CalibratedStill:
    data.pop("whole_still", None)  # version 1: fitted again with a whole number of stages
    for key in ("still", "described"):
        data[key] = Still(**data[key])
    data["parameters"] = tuple(FittedParameter(**row) for row in data["parameters"])
    data["residuals"] = tuple(Residual(**row) for row in data["residuals"])
    for key in ("inner_covariance", "correlation", "inseparable"):
        data[key] = tuple(tuple(row) for row in data[key])
    for key in ("undetermined", "reasons", "advice"):
        data[key] = tuple(data[key])
    return CalibratedStill(**data)
