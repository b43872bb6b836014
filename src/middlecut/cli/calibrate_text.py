# SPDX-License-Identifier: MIT
"""The pages of ``middlecut calibrate``: tables and sentences a person can judge a fit by."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from middlecut.insight.calibrate import CHARGE_STRENGTH, OFFSET
from middlecut.insight.fit_report import scatter
from middlecut.insight.readings import QUANTITIES
from middlecut.insight.still_model import instrument_of
from middlecut.plan.sheet_parts import Column
from middlecut.plan.text_table import lay_out
from middlecut.units import format_quantity

if TYPE_CHECKING:
    from middlecut.insight.calibrated import CalibratedStill, FittedParameter
    from middlecut.insight.fermentation import FermentationCourse
    from middlecut.insight.fit_report import QuantityFit
    from middlecut.insight.readings import Flag, Reading, Refusal
    from middlecut.insight.still_model import LoggedRun
    from middlecut.units import System

__all__ = ["ODD", "TIED", "Unused", "course_lines", "listed", "still_lines"]

_DIMENSIONS = {
    "heater_efficiency": "fraction",
    "head_loss": "power",
    "coolant_duty": "power",
    "stage_holdup": "volume",
    "stages": "ratio",
    "gravity": "gravity",
    "final_gravity": "gravity",
    "midpoint": "duration",
}
TIED = 0.5
"""Correlation from which two fitted values are named as tied to each other; our choice."""
ODD = 2.0
"""Uncertainties from which the distance of a reading is marked; our choice."""


@dataclass(frozen=True, slots=True)
class Unused:
    """Rows that were not used, and those to look at.

    Parameters
    ----------
    unreadable, refused : tuple of Refusal
    marks : tuple of str
        Sentences about marks that were refused.
    flagged : tuple of Flag
    """

    unreadable: tuple[Refusal, ...] = ()
    refused: tuple[Refusal, ...] = ()
    marks: tuple[str, ...] = ()
    flagged: tuple[Flag, ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """Return it as plain JSON types."""
        return {
            "unreadable": [{"line": one.line, "reason": one.reason} for one in self.unreadable],
            "refused": [_row(one.reading, one.reason) for one in self.refused],
            "refused_marks": list(self.marks),
            "flagged": [_row(one.reading, one.reason) for one in self.flagged],
        }

    def lines(self, width: int) -> list[str]:
        """Return it as text."""
        away = [f"line {one.line}: {one.reason}" for one in self.unreadable]
        away += [_named(one.reading, one.reason) for one in self.refused]
        away += self.marks
        odd = [_named(one.reading, one.reason) for one in self.flagged]
        return [*listed("Not used", away, width), *listed("Used, but look at them", odd, width)]


def _row(reading: Reading | None, reason: str) -> dict[str, Any]:
    return {"reason": reason, **({} if reading is None else asdict(reading))}


def _named(reading: Reading | None, reason: str) -> str:
    if reading is None:
        return reason
    return f"{reading.quantity} at {format_quantity(reading.time, 'duration')}: {reason}"


def still_lines(
    found: CalibratedStill,
    runs: Sequence[LoggedRun],
    quantities: Sequence[QuantityFit],
    unused: Unused,
    *,
    system: System,
    width: int,
) -> list[str]:
    """Return what is to be said of a fitted still."""
    count = len(found.residuals)
    named = ", ".join(run.name for run in runs)
    rows = [_parameter_row(one, runs, system) for one in found.parameters]
    heads = (Column("value"), Column("as described", "-"), Column("as fitted", "-"),
             Column("nine of ten within", "-"))  # fmt: skip
    lines = [*_filled([f"{found.name}: fitted to {count} readings of {named}."], width, ""), ""]
    lines += lay_out(heads, rows, width=width)
    lines += _quality(quantities, system, width)
    lines += _verdict(found.trustworthy, found.reasons, width)
    moved = {label: f"{before} to {after}" for label, before, after, _ in rows if before != after}
    moved = {name: moved.get(name.replace("_", " "), "") for name in found.undetermined}
    lines += _untold(moved, found.inseparable, found.advice, width)
    names = [one.name for one in found.parameters]
    lines += listed("Tied to each other", _ties(names, found.correlation), width)
    lines += ["", "Reading by reading", ""]
    body = [
        _residual_row(
            one.time,
            one.quantity,
            seen=one.observed,
            fitted=one.expected,
            spread=one.uncertainty,
            system=system,
        )
        for one in found.residuals
    ]
    lines += lay_out(_RESIDUAL_HEADS, body, width=width)
    return [*lines, *unused.lines(width)]


def course_lines(
    step: str,
    course: FermentationCourse,
    times: Sequence[float],
    quantities: Sequence[QuantityFit],
    *,
    unused: Unused,
    system: System,
    width: int,
) -> list[str]:
    """Return what is to be said of a fitted fermentation."""
    fit = course.fit
    heads = (Column("value"), Column("as fitted", "-"), Column("nine of ten within", "-"))
    show: list[tuple[str, Any, str]] = [
        ("gravity when pitched", course.gravity, "gravity"),
        ("final gravity", course.final_gravity, "gravity"),
        ("apparent attenuation at the last reading", course.attenuation, "fraction"),
        ("half of the fall is done after", course.time_of(0.5), "duration"),
        ("nine tenths are done after", course.time_of(0.9), "duration"),
        ("all but done after", course.finished, "duration"),
    ]
    rows = [
        (label, _text(at.typical, kind, system),
         f"{_text(at.low, kind, system)} to {_text(at.high, kind, system)}")
        for label, at, kind in show
    ]  # fmt: skip
    lines = [f"{step}: fitted to {len(times)} readings.", "", *lay_out(heads, rows, width=width)]
    lines += _quality(quantities, system, width)
    lines += _verdict(course.trustworthy, course.reasons, width)
    lines += _untold(dict.fromkeys(course.undetermined, ""), fit.inseparable, (), width)
    lines += listed("Tied to each other", _ties(fit.names, fit.correlation.tolist()), width)
    lines += listed("Beware", [one.text for one in course.warnings], width)
    lines += ["", "Reading by reading", ""]
    weight = fit.problem.weight
    spreads = [1.0 / float(one) for one in ([weight] if isinstance(weight, float) else weight)]
    body = [
        _residual_row(
            time, "gravity", seen=float(seen), fitted=float(fitted), spread=spread, system=system
        )
        for time, seen, fitted, spread in zip(
            times, fit.problem.observed, fit.predicted, spreads, strict=True
        )
    ]
    lines += lay_out(_RESIDUAL_HEADS, body, width=width)
    return [*lines, *unused.lines(width)]


def _parameter_row(
    one: FittedParameter, runs: Sequence[LoggedRun], system: System
) -> tuple[str, str, str, str]:
    show = _shower(one.name, runs, system)
    before = "none" if one.name.startswith((OFFSET, CHARGE_STRENGTH)) else show(one.prior_mean)
    label = one.name.replace("_", " ")
    if one.name.startswith(CHARGE_STRENGTH):
        label = f"charge {one.name.removeprefix(CHARGE_STRENGTH)} is stronger by"
    elif one.name.startswith(OFFSET):
        label = f"{one.name.removeprefix(OFFSET)} shows too much by"
    return label, before, show(one.value), f"{show(one.low)} to {show(one.high)}"


def _shower(name: str, runs: Sequence[LoggedRun], system: System) -> Callable[[float], str]:
    """Return how values of a parameter are written."""
    if name.startswith(CHARGE_STRENGTH):
        return _points
    if name.startswith(OFFSET):
        instrument = name.removeprefix(OFFSET)
        kinds = {
            QUANTITIES[reading.quantity].dimension
            for run in runs
            for reading in run.readings
            if instrument_of(reading) == instrument
        }
        if "strength" in kinds:
            return _points
        return lambda value: _signed(value, "temperature_difference", system)
    kind = _DIMENSIONS[name]
    return lambda value: _text(value, kind, system)


def _points(value: float) -> str:
    return f"{100.0 * value:+.2f} %vol"


def _signed(value: float, kind: str, system: System) -> str:
    return f"{'+' if value >= 0.0 else '-'}{_text(abs(value), kind, system)}"


def _text(value: float, kind: str, system: System) -> str:
    if kind == "ratio":
        return f"{value:.2f}"
    if kind == "brix":
        return f"{value:.1f} °Bx"
    return format_quantity(value, kind, system=system)


def _distance(value: float, kind: str, system: System) -> str:
    """Return a distance between two values of a kind."""
    if kind == "strength":
        return f"{100.0 * value:.2f} %vol"
    if kind == "gravity":
        return f"{value:.4f} SG"
    return _text(value, "temperature_difference" if kind == "temperature" else kind, system)


def _quality(quantities: Sequence[QuantityFit], system: System, width: int) -> list[str]:
    heads = (Column("root mean square distance"), Column("readings", "-"),
             Column("from the plan", "-"), Column("from the fit", "-"),
             Column("uncertainty", "-"))  # fmt: skip
    body = [
        (one.quantity.replace("_", " "), str(one.readings),
         *(_distance(value, one.dimension, system)
           for value in (one.before, one.after, one.uncertainty)))
        for one in quantities
    ]  # fmt: skip
    before, after = scatter(quantities)
    body.append(("all, in uncertainties", str(sum(one.readings for one in quantities)),
                 f"{before:.1f}", f"{after:.1f}", "1"))  # fmt: skip
    return ["", *lay_out(heads, body, width=width)]


def _verdict(trustworthy: bool, reasons: Iterable[str], width: int) -> list[str]:
    first = "The intervals can be trusted." if trustworthy else "Take the intervals with care."
    told = [re.sub(r"(?<=[a-z])_(?=[a-z])", " ", one) for one in reasons]
    return ["", *_filled([" ".join([first, *told])], width, "")]


def _untold(
    undetermined: Mapping[str, str],
    inseparable: Sequence[tuple[str, str, float]],
    advice: Sequence[str],
    width: int,
) -> list[str]:
    lines = []
    if undetermined:
        words = ", ".join(
            f"{_plain(name)} ({moved})" if moved and not moved.startswith("none") else _plain(name)
            for name, moved in undetermined.items()
        )
        text = (
            "Of these the readings say next to nothing, so they stay near what was described: "
            f"{words}."
        )
        lines += ["", *_filled([text], width, "")]
    pairs = [f"{_plain(one)} and {_plain(other)} ({much:+.2f})" for one, other, much in inseparable]
    lines += listed("Cannot be told apart", pairs, width)
    return [*lines, *listed("Next time", advice, width)]


def _ties(names: Sequence[str], correlation: Sequence[Sequence[float]]) -> list[str]:
    """Return the pairs of values that are tied to each other, closest first."""
    pairs = [
        (correlation[i][j], names[i], names[j])
        for i in range(len(names))
        for j in range(i + 1, len(names))
        if abs(correlation[i][j]) >= TIED
    ]
    pairs.sort(key=lambda pair: -abs(pair[0]))
    return [f"{_plain(one)} and {_plain(other)} ({much:+.2f})" for much, one, other in pairs]


_WORDS = {"midpoint": "time of half the fall", "slope": "pace of the fall"}


def _plain(name: str) -> str:
    return _WORDS.get(name, name.replace("_", " "))


_RESIDUAL_HEADS = (
    Column("time", "-"), Column("quantity"), Column("read", "-"), Column("fitted", "-"),
    Column("off by uncertainties", "-"), Column("remark"),
)  # fmt: skip


def _residual_row(
    time: float, quantity: str, *, seen: float, fitted: float, spread: float, system: System
) -> tuple[str, ...]:
    kind = QUANTITIES[quantity].dimension
    off = (seen - fitted) / spread
    return (
        format_quantity(time, "duration", system=system),
        _plain(quantity),
        _text(seen, kind, system),
        _text(fitted, kind, system),
        f"{off:+.1f}",
        "look at it" if abs(off) > ODD else "",
    )


def listed(title: str, texts: Iterable[str], width: int) -> list[str]:
    """Return a title and its points as lines; nothing without points."""
    found = _filled(texts, width, "  - ")
    return ["", title, *found] if found else []


def _filled(texts: Iterable[str], width: int, first: str) -> list[str]:
    return [
        line
        for text in texts
        for line in textwrap.wrap(
            text, width, initial_indent=first, subsequent_indent=" " * len(first)
        )
    ]
