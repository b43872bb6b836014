# SPDX-License-Identifier: MIT
"""The dense run of a distil step as CSV, in the units of a person."""

from __future__ import annotations

import csv
from io import StringIO
from typing import TYPE_CHECKING

from middlecut.cli.options import System
from middlecut.errors import NotFoundError
from middlecut.units import from_si, unit_of

if TYPE_CHECKING:
    from middlecut.plan.model import Plan
    from middlecut.plan.predict import Prediction
    from middlecut.steps.curve import Curve

__all__ = ["check_run", "curve_csv"]

_COLUMNS = (
    # heading, attribute of the curve, dimension, unit (None: the main one of the system), decimals
    ("time", "time", "duration", "min", 3),
    ("collected", "volume", "volume", None, 5),
    ("strength", "strength", "strength", None, 3),
    ("head", "head_temperature", "temperature", None, 3),
    ("boiler", "boiler_temperature", "temperature", None, 3),
    ("boiler strength", "boiler_strength", "strength", None, 3),
    ("boiler volume", "boiler_volume", "volume", None, 4),
    ("take-off", "take_off", "volume_flow", "mL/min", 3),
    ("power", "power", "fraction", None, 2),
)


def check_run(plan: Plan, step_id: str) -> None:
    """Refuse a step that is no run of a still, before the work rather than after it."""
    runs = tuple(step.id for step in plan.steps if step.kind == "distil")
    if step_id not in runs:
        raise NotFoundError("distil step", step_id, runs)


def curve_csv(prediction: Prediction, step_id: str, system: System) -> str:
    """Return one row a moment: time, collected, strength, temperatures, every compound in mg/L."""
    runs = {key: step.curve for key, step in prediction.steps.items() if step.curve is not None}
    curve = runs.get(step_id)
    if curve is None:
        raise NotFoundError("distil step", step_id, tuple(runs))
    text = StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(_headings(curve, system))
    writer.writerows(zip(*_columns(curve, system), strict=True))
    return text.getvalue()


def _headings(curve: Curve, system: System) -> list[str]:
    named = [
        f"{heading} [{unit or unit_of(dimension, system.value)}]"
        for heading, _, dimension, unit, _ in _COLUMNS
    ]
    return named + [f"{name} [mg/L]" for name in curve.compounds]


def _columns(curve: Curve, system: System) -> list[list[str]]:
    columns = []
    for _, attribute, dimension, unit, decimals in _COLUMNS:
        shown = unit or unit_of(dimension, system.value)
        values = getattr(curve, attribute)
        columns.append([f"{from_si(float(v), dimension, shown):.{decimals}f}" for v in values])
    traces = range(len(curve.compounds))
    return columns + [[f"{float(v):.5g}" for v in curve.rates[:, k]] for k in traces]
