# SPDX-License-Identifier: MIT
"""Batches side by side, planned or made: curves, flavour, yield, notes, differing plans."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from middlecut.app.batch import Batch
from middlecut.app.batch_events import BatchClosed, NoteWritten
from middlecut.app.expectation import StillFit, expect
from middlecut.app.lots_now import known_measures
from middlecut.app.measured import Measured
from middlecut.app.ranges import KnownRanges
from middlecut.app.views.frame import step_frame
from middlecut.app.views.readings import gravity_readings
from middlecut.app.views.run import run_view
from middlecut.app.views.run_band import Ranged, along_volume
from middlecut.app.views.tastings import PanelView, panels
from middlecut.errors import NotFoundError
from middlecut.insight.fate import final_lot
from middlecut.insight.odour import FamilyOdour, odour_profile
from middlecut.insight.readings import check_readings, true_value
from middlecut.plan.prediction import Prediction
from middlecut.steps.band import Band
from middlecut.steps.gravity_course import gravity_course
from middlecut.steps.lot import Lot
from middlecut.steps.parameters import Distil, Ferment

__all__ = [
    "MOST",
    "FamilyRow",
    "Line",
    "PlanDifference",
    "Side",
    "YieldRow",
    "families",
    "plan_differences",
    "side_of",
    "yields",
]

MOST = 4
"""Batches that can still be told apart in one picture."""
_POINTS = 80
_FAMILIES = 14

_TOTALS = (
    ("Time of all steps", "duration", "duration"),
    ("Time at the still", "duration", "still_time"),
    ("Electrical energy", "energy", "energy"),
    ("Cooling water", "mass", "cooling_water"),
)

Points = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Line:
    """A predicted curve and what was measured along it.

    Parameters
    ----------
    step : str
    predicted, measured : tuple of (float, float)
        [SI]
    ranged : tuple of (float, float, float)
        Place, low and high of the range, where it is known. [SI]
    """

    step: str
    predicted: Points
    measured: Points
    ranged: Ranged = ()


@dataclass(frozen=True, slots=True)
class Side:
    """One batch of a comparison.

    Parameters
    ----------
    id, name : str
    word : str
        "planned", "under way" or "closed".
    prediction : Prediction
    measured : mapping of str to Measured
        What was measured of the lots, or worked out from what was.
    final : Lot
        What the plan makes last.
    odour : tuple of FamilyOdour
        Of that lot.
    gravity : Line or None
        Gravity against time since pitching of the first fermentation.
    strength : Line or None
        Strength against collected volume of the last run that is no stripping run of the plan.
    panels : tuple of PanelView
    notes : tuple of str
    fits : tuple of StillFit
        Stills that it is predicted with as measured.
    ranges : KnownRanges
        Of its plan.
    """

    id: str
    name: str
    word: str
    prediction: Prediction
    measured: Mapping[str, Measured]
    final: Lot
    odour: tuple[FamilyOdour, ...]
    gravity: Line | None
    strength: Line | None
    panels: tuple[PanelView, ...]
    notes: tuple[str, ...]
    fits: tuple[StillFit, ...] = ()
    ranges: KnownRanges = field(default_factory=KnownRanges)


@dataclass(frozen=True, slots=True)
class YieldRow:
    """One number of every batch.

    Parameters
    ----------
    label, dimension : str
    values : tuple of (float or None, float or None)
        Predicted and measured, batch by batch. [SI]
    bands : tuple of Band or None
        Ranges of what is predicted, batch by batch, where they are known.
    """

    label: str
    dimension: str
    values: tuple[tuple[float | None, float | None], ...]
    bands: tuple[Band | None, ...] = ()


@dataclass(frozen=True, slots=True)
class FamilyRow:
    """One family of smells in every batch.

    Parameters
    ----------
    family : str
    values : tuple of FamilyOdour or None
        Batch by batch.
    """

    family: str
    values: tuple[FamilyOdour | None, ...]


@dataclass(frozen=True, slots=True)
class PlanDifference:
    """A value that is not the same in every plan.

    Parameters
    ----------
    key : str
        Dotted place in the plan.
    values : tuple of str
        Batch by batch; "" where it does not stand.
    """

    key: str
    values: tuple[str, ...]


def side_of(
    state: Batch, fits: tuple[StillFit, ...] = (), ranges: KnownRanges | None = None
) -> Side:
    """Return a batch as one side of a comparison.

    Parameters
    ----------
    state : Batch
    fits : tuple of StillFit
        Stills that run as measured.
    ranges : KnownRanges or None
        What is known of the ranges of its plan.

    Returns
    -------
    side : Side

    Raises
    ------
    NotFoundError
        If it has no plan, or its plan makes nothing.
    PlanError
        If its plan cannot be carried out.
    """
    if state.plan is None:
        raise NotFoundError("plan of the batch", state.id)
    prediction = expect(state.plan.text, fits)
    name = final_lot(prediction.steps.values())
    if not name:
        raise NotFoundError("lot made by", state.name)
    known = ranges or KnownRanges()
    final = (known.prediction or prediction).lots[name]
    begun = any(step.started is not None for step in state.steps())
    notes = [body.text for _, body in state.of(NoteWritten)]
    notes += [body.outcome for _, body in state.of(BatchClosed) if body.outcome]
    return Side(
        id=state.id,
        name=state.name,
        word="closed" if state.closed else "under way" if begun else "planned",
        prediction=prediction,
        measured=known_measures(state, fits),
        final=final,
        odour=odour_profile(final).families if final.volume > 0.0 else (),
        gravity=_gravity(state, prediction),
        strength=_strength(state, prediction, known),
        panels=panels(state),
        notes=tuple(notes),
        fits=fits,
        ranges=known,
    )


def _gravity(state: Batch, prediction: Prediction) -> Line | None:
    step = next((one for one in prediction.plan.steps if isinstance(one, Ferment)), None)
    if step is None:
        return None
    course, fall = gravity_course(step.temperature), step.gravity - step.final_gravity
    times = [step.duration * index / (_POINTS - 1) for index in range(_POINTS)]
    line = tuple((time, step.gravity - fall * course.fall_done(time)) for time in times)
    start = next((one.started for one in state.steps() if one.outline.step == step.id), None)
    if start is None:
        return Line(step.id, line, ())
    used = check_readings(gravity_readings(state, step.id, start)).used
    points = tuple((one.time, true_value(one)) for one in used if one.quantity == "gravity")
    return Line(step.id, line, points)


def _strength(state: Batch, prediction: Prediction, ranges: KnownRanges) -> Line | None:
    runs = [one for one in prediction.plan.steps if isinstance(one, Distil)]
    spirit = [one for one in runs if one.purpose == "spirit"] or runs
    curve = prediction.steps[spirit[-1].id].curve if spirit else None
    if curve is None:
        return None
    kept = np.unique(np.linspace(0, len(curve.time) - 1, _POINTS).astype(int))
    line = tuple((float(curve.volume[at]), float(curve.strength[at])) for at in kept)
    step = spirit[-1].id
    return Line(step, line, _measured_run(state, step), along_volume(ranges.curve(step)))


def _measured_run(state: Batch, step: str) -> Points:
    """Return each strength that was read at the volume collected by then."""
    view = run_view(step_frame(state, step))
    volumes = [
        (one.utc, one.taken.value)
        for one in state.readings(step)
        if one.taken.quantity == "volume" and one.taken.lot is None and one.taken.jar is None
    ]
    if view.first_drop is None or not volumes:
        return ()
    first = view.first_drop
    times = [0.0, *((at - first).total_seconds() for at, _ in volumes)]
    amounts = [0.0, *(value for _, value in volumes)]
    moments = [((at - first).total_seconds(), value) for at, value in view.measured]
    return tuple(
        (float(np.interp(moment, times, amounts)), value)
        for moment, value in moments
        # What was read after the last volume has no place on the axis.
        if 0.0 <= moment <= times[-1]
    )


def yields(sides: Sequence[Side]) -> tuple[YieldRow, ...]:
    """Return the yields of batches, number by number.

    Parameters
    ----------
    sides : sequence of Side

    Returns
    -------
    rows : tuple of YieldRow
        Rows that no batch has are left out.
    """
    bands = [side.final.band for side in sides]
    measured = [side.measured.get(side.final.name, Measured()) for side in sides]
    both = list(zip(sides, measured, strict=True))
    rows = (
        YieldRow(
            "Volume",
            "volume",
            tuple((a.final.volume, b.volume) for a, b in both),
            tuple(one.volume if one else None for one in bands),
        ),
        YieldRow(
            "Strength",
            "strength",
            tuple((a.final.strength, b.strength) for a, b in both),
            tuple(one.strength if one else None for one in bands),
        ),
        YieldRow(
            "Pure alcohol",
            "pure_alcohol",
            tuple((a.final.pure_alcohol, b.pure_alcohol) for a, b in both),
            tuple(one.pure_alcohol if one else None for one in bands),
        ),
        YieldRow(
            "Of the alcohol of the washes", "fraction", tuple((_share(a), None) for a in sides)
        ),
        *(
            YieldRow(
                label,
                dimension,
                tuple((getattr(one.prediction.totals, name), None) for one in sides),
                tuple(_total(one, name) for one in sides),
            )
            for label, dimension, name in _TOTALS
        ),
    )
    return tuple(row for row in rows if any(one is not None for one, _ in row.values))


def _total(side: Side, name: str) -> Band | None:
    found = side.ranges.prediction
    return None if found is None else found.totals.bands.get(name)


def _share(side: Side) -> float | None:
    """Return how much of the alcohol of fermentations and given lots reaches the last lot."""
    prediction = side.prediction
    whole = math.fsum(
        lot.pure_alcohol
        for step in prediction.plan.steps
        if isinstance(step, Ferment)
        for lot in prediction.steps[step.id].made.values()
    ) + math.fsum(lot.pure_alcohol for lot in prediction.plan.given)
    return side.final.pure_alcohol / whole if whole > 0.0 else None


def families(sides: Sequence[Side]) -> tuple[FamilyRow, ...]:
    """Return the smells of batches, family by family, the strongest in any of them first.

    Parameters
    ----------
    sides : sequence of Side

    Returns
    -------
    rows : tuple of FamilyRow
        Families that reach a tenth of their threshold in some batch.
    """
    by_side = [{one.family: one for one in side.odour} for side in sides]
    names = {name for one in by_side for name in one}
    rows = [FamilyRow(name, tuple(one.get(name) for one in by_side)) for name in names]
    rows = [row for row in rows if _strongest(row) >= 0.1]
    return tuple(sorted(rows, key=lambda row: (-_strongest(row), row.family))[:_FAMILIES])


def _strongest(row: FamilyRow) -> float:
    return max((one.oav for one in row.values if one is not None), default=0.0)


def plan_differences(texts: Sequence[str]) -> tuple[PlanDifference, ...]:
    """Return every value that is not the same in all of some plans.

    Parameters
    ----------
    texts : sequence of str
        Plan files that can be read.

    Returns
    -------
    rows : tuple of PlanDifference
        In the order of the plans; steps go by their id, not by their place.
    """
    flat = [dict(_flat(tomllib.loads(text), "")) for text in texts]
    keys = dict.fromkeys(key for one in flat for key in one)
    rows = (PlanDifference(key, tuple(one.get(key, "") for one in flat)) for key in keys)
    return tuple(row for row in rows if len(set(row.values)) > 1)


def _flat(node: object, place: str) -> Iterable[tuple[str, str]]:
    if isinstance(node, Mapping):
        for key, value in node.items():
            yield from _flat(value, f"{place}.{key}" if place else str(key))
    elif isinstance(node, list) and any(isinstance(one, Mapping) for one in node):
        for number, one in enumerate(node):
            name = one.get("id") if isinstance(one, Mapping) else None
            yield from _flat(one, f"{place}.{name}" if name else f"{place}[{number}]")
    elif isinstance(node, list):
        yield place, ", ".join(map(str, node))
    else:
        yield place, str(node)
