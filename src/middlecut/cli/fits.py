# SPDX-License-Identifier: MIT
"""What ``middlecut calibrate`` found: a still, a fermentation or factors, to be shown and kept."""

from __future__ import annotations

import time
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

from middlecut.cli.calibrate_text import Unused, course_lines, still_lines
from middlecut.cli.factors_text import extraction_lines, factor_lines
from middlecut.cli.library import own_ingredients
from middlecut.cli.options import System
from middlecut.cli.output import to_json
from middlecut.errors import InputError
from middlecut.insight.calibrated_plan import with_course, with_section
from middlecut.insight.fit_report import QuantityFit, scatter
from middlecut.insight.narrowed_file import narrowed_text
from middlecut.plan.read import read_plan_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from middlecut.insight.calibrated import CalibratedStill
    from middlecut.insight.fermentation import FermentationCourse
    from middlecut.insight.narrow import NarrowedCompound
    from middlecut.insight.narrow_extraction import NarrowedExtraction
    from middlecut.insight.still_model import LoggedRun

__all__ = ["CourseFound", "ExtractionFound", "FactorsFound", "Found", "StillFound"]


def _checked(text: str, path: Path) -> str:
    """Return the text of a plan that can be read, or raise what is wrong with it."""
    read_plan_text(text, str(path), own_ingredients())
    return text


class Found(Protocol):
    """What calibrate found, whatever it was asked."""

    def lines(self, units: System, width: int) -> list[str]:
        """Return it as text."""

    def to_dict(self) -> dict[str, Any]:
        """Return it as plain JSON types, in SI units."""

    def kept(self, path: Path) -> str:
        """Return what a file of that name keeps of it; the ending says in which form."""

    def next(self, path: Path) -> str:
        """Say what to do with that file."""


@dataclass(frozen=True, slots=True)
class StillFound:
    """A fitted still."""

    text: str
    calibrated: CalibratedStill
    runs: tuple[LoggedRun, ...]
    quantities: tuple[QuantityFit, ...]
    unused: Unused

    def lines(self, units: System, width: int) -> list[str]:
        """Return it as text."""
        return still_lines(
            self.calibrated,
            self.runs,
            self.quantities,
            self.unused,
            system=units.value,
            width=width,
        )

    def to_dict(self) -> dict[str, Any]:
        """Return it as plain JSON types."""
        before, after = scatter(self.quantities)
        return {
            **self.calibrated.to_dict(),
            "quantities": [asdict(one) for one in self.quantities],
            "scatter": {"before": before, "after": after},
            **self.unused.to_dict(),
        }

    def kept(self, path: Path) -> str:
        """Return the still's own file, or the plan with its section replaced."""
        if path.suffix.lower() == ".json":
            return to_json(self._dated().to_dict()) + "\n"
        return _checked(with_section(self.text, self._dated()), path)

    def _dated(self) -> CalibratedStill:
        """Return the still with the day on which it is kept."""
        told = {**self.calibrated.provenance, "date": _today()}
        return replace(self.calibrated, provenance=told)

    def next(self, path: Path) -> str:
        """Say what to do with that file."""
        if path.suffix.lower() == ".json":
            return f"Next: middlecut predict PLAN --still {path}, or follow with --still."
        return f"Next: middlecut predict {path}"


@dataclass(frozen=True, slots=True)
class CourseFound:
    """A fitted fermentation."""

    text: str
    step: str
    course: FermentationCourse
    times: tuple[float, ...]
    quantities: tuple[QuantityFit, ...]
    unused: Unused

    def lines(self, units: System, width: int) -> list[str]:
        """Return it as text."""
        return course_lines(
            self.step,
            self.course,
            self.times,
            self.quantities,
            unused=self.unused,
            system=units.value,
            width=width,
        )

    def to_dict(self) -> dict[str, Any]:
        """Return it as plain JSON types."""
        course = self.course
        fit = course.fit
        before, after = scatter(self.quantities)
        return {
            "step": self.step,
            "gravity": asdict(course.gravity),
            "final_gravity": asdict(course.final_gravity),
            "attenuation": asdict(course.attenuation),
            "times": {str(share): asdict(course.time_of(share)) for share in (0.5, 0.9)},
            "finished": asdict(course.finished),
            "parameters": [
                {
                    "name": name,
                    "value": float(fit.values[index]),
                    "standard_error": float(fit.standard_errors[index]),
                    "interval": list(fit.interval(name)),
                }
                for index, name in enumerate(fit.names)
            ],
            "correlation": fit.correlation.tolist(),
            "residuals": [
                {
                    "time": time,
                    "quantity": "gravity",
                    "observed": float(fit.problem.observed[at]),
                    "expected": float(fit.predicted[at]),
                }
                for at, time in enumerate(self.times)
            ],
            "undetermined": list(course.undetermined),
            "inseparable": [list(pair) for pair in fit.inseparable],
            "trustworthy": course.trustworthy,
            "reasons": list(course.reasons),
            "warnings": [asdict(one) for one in course.warnings],
            "quantities": [asdict(one) for one in self.quantities],
            "scatter": {"before": before, "after": after},
            **self.unused.to_dict(),
        }

    def kept(self, path: Path) -> str:
        """Return the plan with the fitted gravities."""
        if path.suffix.lower() != ".toml":
            raise InputError(
                "--write", str(path), "a fermentation is kept in a plan", "Name a .toml file."
            )
        return _checked(with_course(self.text, self.step, self.course), path)

    def next(self, path: Path) -> str:
        """Say what to do with that file."""
        return f"Next: middlecut predict {path}"


@dataclass(frozen=True, slots=True)
class FactorsFound:
    """Narrowed factors of compounds."""

    step: str
    compounds: tuple[NarrowedCompound, ...]
    unused: Unused
    laboratory: str

    def lines(self, units: System, width: int) -> list[str]:
        """Return it as text."""
        del units  # factors have none
        return factor_lines(self.step, self.compounds, self.unused, width)

    def to_dict(self) -> dict[str, Any]:
        """Return it as plain JSON types."""
        rows = [asdict(one) for one in self.compounds]
        return {"step": self.step, "compounds": rows, **self.unused.to_dict()}

    def kept(self, path: Path) -> str:
        """Return the file of factors."""
        return _factors(path, self.compounds, self.step, self.laboratory)

    def next(self, path: Path) -> str:
        """Say what to do with that file."""
        return _next_factors(path)


@dataclass(frozen=True, slots=True)
class ExtractionFound:
    """Narrowed content, extraction and partition of ingredients."""

    found: NarrowedExtraction
    unused: Unused
    laboratory: str

    def lines(self, units: System, width: int) -> list[str]:
        """Return it as text."""
        del units  # factors have none
        return extraction_lines(self.found, self.unused, width)

    def to_dict(self) -> dict[str, Any]:
        """Return it as plain JSON types."""
        return {**asdict(self.found), **self.unused.to_dict()}

    def kept(self, path: Path) -> str:
        """Return the file of factors."""
        return _factors(path, (self.found,), self.found.step, self.laboratory)

    def next(self, path: Path) -> str:
        """Say what to do with that file."""
        return _next_factors(path)


def _factors(
    path: Path,
    narrowed: Sequence[NarrowedCompound | NarrowedExtraction],
    step: str,
    laboratory: str,
) -> str:
    if path.suffix.lower() != ".json":
        allowed = "laboratory results narrow factors, and such a file has no place for these"
        remedy = "Name a .json file; predict takes it with --factors."
        raise InputError("--write", str(path), allowed, remedy)
    note = f"laboratory results of step {step}, {laboratory}, on {_today()}"
    return narrowed_text(narrowed, note)


def _today() -> str:
    """Return the day on which a fit is kept."""
    return datetime.fromtimestamp(time.time(), tz=UTC).date().isoformat()


def _next_factors(path: Path) -> str:
    return f"Next: middlecut predict PLAN --draws 500 --factors {path}"
