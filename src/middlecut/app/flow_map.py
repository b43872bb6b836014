# SPDX-License-Identifier: MIT
"""A batch as a map: which lot goes from which step to which, how much, predicted and measured."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from middlecut.app.batch import Batch
from middlecut.app.expectation import StillFit, expect
from middlecut.app.lots_now import known_measures
from middlecut.app.measured import Measured
from middlecut.errors import NotFoundError
from middlecut.plan.prediction import Prediction
from middlecut.steps.lot import Lot

__all__ = ["FlowMap", "LotRow", "MapStep", "Stream", "flow_map", "measures_of"]

_NOTHING = 1e-9


@dataclass(frozen=True, slots=True)
class MapStep:
    """A step on the map.

    Parameters
    ----------
    id, kind : str
    word : str
        planned, under way or done.
    rank : int
        How many steps lie before it at least; its column.
    dangers : int
        Cautions that can hurt or kill.
    """

    id: str
    kind: str
    word: str
    rank: int
    dangers: int


@dataclass(frozen=True, slots=True)
class Stream:
    """A lot, or part of one, on its way.

    Parameters
    ----------
    lot : str
    source, target : str
        Ids of steps; "" for a lot from before the batch, and for what is left at the end.
    value : float
        In the chosen measure. [SI]
    """

    lot: str
    source: str
    target: str
    value: float


@dataclass(frozen=True, slots=True)
class LotRow:
    """A lot, predicted and measured.

    Parameters
    ----------
    lot, source : str
    targets : tuple of str
        Steps it goes into.
    volume, strength, pure_alcohol : float
        Predicted, as made. [m³, 1, m³]
    value : float
        Predicted, in the chosen measure.
    measured : Measured
        What was measured of it, or worked out from what was.
    measured_value : float or None
        In the chosen measure, where that can be measured.
    """

    lot: str
    source: str
    targets: tuple[str, ...]
    volume: float
    strength: float
    pure_alcohol: float
    value: float
    measured: Measured
    measured_value: float | None


@dataclass(frozen=True, slots=True)
class FlowMap:
    """The map of a batch in one measure.

    Parameters
    ----------
    measure : str
        "volume", "alcohol" or the name of a compound.
    dimension : str
        Kind of quantity of all values.
    steps : tuple of MapStep
        In the plan's order.
    streams : tuple of Stream
    lots : tuple of LotRow
        In the order they are made.
    """

    measure: str
    dimension: str
    steps: tuple[MapStep, ...]
    streams: tuple[Stream, ...]
    lots: tuple[LotRow, ...]


def measures_of(prediction: Prediction) -> tuple[str, ...]:
    """Return what the map can be drawn by: volume, alcohol, then every compound by name."""
    names = {name for lot in prediction.lots.values() for name in lot.amounts}
    return ("volume", "alcohol", *sorted(names))


def flow_map(state: Batch, measure: str = "volume", fits: tuple[StillFit, ...] = ()) -> FlowMap:
    """Return the map of a batch.

    Parameters
    ----------
    state : Batch
        With a plan.
    measure : str
        One of :func:`measures_of`.
    fits : tuple of StillFit
        Stills that run as measured.

    Returns
    -------
    chart : FlowMap

    Raises
    ------
    NotFoundError
        If the batch has no plan, or the plan no such compound.
    PlanError
        If the plan cannot be carried out as it is.
    """
    plan = state.plan
    if plan is None:
        raise NotFoundError("plan of the batch", state.id)
    prediction = expect(plan.text, fits)
    measures = measures_of(prediction)
    if measure not in measures:
        raise NotFoundError("compound", measure, measures[:3])
    read = _reader(measure)
    sources = {lot: step for step, result in prediction.steps.items() for lot in result.made}
    words = {one.outline.step: one.word for one in state.steps()}
    ranks = _ranks(prediction, sources)
    return FlowMap(
        measure=measure,
        dimension={"volume": "volume", "alcohol": "pure_alcohol"}.get(measure, "mass"),
        steps=tuple(
            MapStep(
                step,
                result.kind,
                words.get(step, "planned"),
                ranks[step],
                sum(caution.severity == "danger" for caution in result.cautions),
            )
            for step, result in prediction.steps.items()
        ),
        streams=_streams(prediction, sources, read),
        lots=_lots(prediction, sources, known_measures(state, fits), read, measure),
    )


def _reader(measure: str) -> Callable[[Lot], float]:
    if measure == "volume":
        return lambda lot: lot.volume
    if measure == "alcohol":
        return lambda lot: lot.pure_alcohol
    return lambda lot: lot.amounts[measure].typical if measure in lot.amounts else 0.0


def _ranks(prediction: Prediction, sources: Mapping[str, str]) -> dict[str, int]:
    ranks: dict[str, int] = {}
    for step, result in prediction.steps.items():
        before = [ranks[sources[lot]] for lot in result.used if lot in sources]
        ranks[step] = 1 + max(before, default=-1)
    return ranks


def _streams(
    prediction: Prediction, sources: Mapping[str, str], read: Callable[[Lot], float]
) -> tuple[Stream, ...]:
    found = [
        Stream(name, sources.get(name, ""), step, read(lot))
        for step, result in prediction.steps.items()
        for name, lot in result.used.items()
    ]
    found += [
        Stream(name, sources.get(name, ""), "", read(lot))
        for name, lot in prediction.left.items()
        if read(lot) > _NOTHING
    ]
    return tuple(found)


def _lots(
    prediction: Prediction,
    sources: Mapping[str, str],
    measured: Mapping[str, Measured],
    read: Callable[[Lot], float],
    measure: str,
) -> tuple[LotRow, ...]:
    rows = []
    for name, lot in prediction.lots.items():
        known = measured.get(name, Measured())
        by_measure = {"volume": known.volume, "alcohol": known.pure_alcohol}
        rows.append(
            LotRow(
                lot=name,
                source=sources.get(name, ""),
                targets=tuple(
                    step for step, result in prediction.steps.items() if name in result.used
                ),
                volume=lot.volume,
                strength=lot.strength,
                pure_alcohol=lot.pure_alcohol,
                value=read(lot),
                measured=known,
                measured_value=by_measure.get(measure),
            )
        )
    return tuple(rows)
