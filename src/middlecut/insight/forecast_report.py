# SPDX-License-Identifier: MIT
"""Turn the cloud of runs behind a forecast into what it says."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import fields, replace
from typing import TYPE_CHECKING

import numpy as np

from middlecut.insight.contradictions import Judgement
from middlecut.insight.forecast_cautions import forecast_cautions
from middlecut.insight.meanings import Suspect, explain_pattern, explain_reading
from middlecut.insight.readings import QUANTITIES
from middlecut.insight.run_forecast import (
    Contradiction,
    CutForecast,
    Learned,
    RunForecast,
    SeenReading,
)
from middlecut.insight.run_outputs import expected_of
from middlecut.insight.uncertainty import NINETY
from middlecut.steps.band import Band

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from middlecut.insight.forecast import Cloud
    from middlecut.insight.run_entries import Entries
    from middlecut.insight.run_forecast import CutState, Phase
    from middlecut.insight.run_outputs import CutPlan
    from middlecut.insight.run_population import Population
    from middlecut.steps.parameters import Distil

    Array = NDArray[np.float64]

__all__ = ["assemble"]

POINTS = (5.0, 50.0, 95.0)
OVERDUE = 0.02
"""Share of the draws in which the first drop is still to come, below which it is overdue."""
RARE = 0.005
"""Share of the draws below which a danger is left unsaid."""


class _Samples:
    """Samples of the cloud by the name of the number, on the clock of the readings."""

    def __init__(self, cloud: Cloud, entries: Entries) -> None:
        self.columns = {name: n for n, name in enumerate(cloud.columns)}
        self.values, self.share = cloud.samples, cloud.share
        self.overdue = False
        clock = entries.clock
        if clock.first_drop is not None:
            self.drop = self.expected_drop = np.full(len(self.values), clock.first_drop)
            return
        start = clock.power_on or 0.0
        drop = self.expected_drop = start + self.number("first_drop")
        ahead = drop > entries.now
        self.overdue = bool(np.mean(ahead) < OVERDUE)
        if self.overdue:
            drop = np.maximum(drop, entries.now)
        else:
            # It has not fallen yet: only draws in which it falls later still count.
            self.values, drop = self.values[ahead], drop[ahead]
            self.expected_drop = drop
        self.drop = drop

    def number(self, name: str) -> Array:
        return self.values[:, self.columns[name]]

    def band(self, name: str, *, least: float = 0.0) -> Band:
        share = float(self.share[self.columns[name]])
        return _band(np.maximum(self.number(name), least), share)


def _band(values: Array, share: float = 1.0) -> Band:
    known = values[np.isfinite(values)]
    if len(known) == 0:
        return Band(math.nan, math.nan, math.nan, 0.0)
    low, median, high = np.percentile(known, POINTS).tolist()
    return Band(low, median, high, share)


def assemble(step: Distil, entries: Entries, cuts: Sequence[CutPlan], cloud: Cloud) -> RunForecast:
    """Put the forecast together.

    Parameters
    ----------
    step : Distil
        As planned.
    entries : Entries
    cuts : sequence of CutPlan
    cloud : Cloud

    Returns
    -------
    RunForecast
    """
    samples = _Samples(cloud, entries)
    forecasts = _cuts(samples, entries, cuts)
    running = next((one.into for one in forecasts if one.state == "running"), "")
    phase = _phase(samples, entries, forecasts)
    found = RunForecast(
        step_id=step.id,
        now=entries.now,
        phase=phase,
        cut=running,
        first_drop=_band(samples.drop),
        cuts=tuple(forecasts),
        collected=samples.band("collected"),
        volume=samples.band("volume"),
        pure_alcohol=samples.band("pure_alcohol"),
        boiler_strength=samples.band("boiler_strength"),
        boiler_volume=samples.band("boiler_volume"),
        uncovered=_uncovered(samples, entries, cuts),
        readings=_readings(entries, cloud),
        contradictions=_contradictions(step, entries, cloud),
        refused=entries.refused,
        refused_marks=entries.refused_marks,
        flagged=entries.flagged,
        learned=_learned(cloud),
        widening=1.0 if cloud.judgement is None else cloud.judgement.posterior.widening,
        draws=cloud.draws,
        cautions=(),
        heat_off=entries.clock.heat_off is not None,
        stopped=entries.stopped,
    )
    # Beyond its last moment a run has nothing left that boils.
    since = entries.now - samples.expected_drop
    dry = float(np.mean(np.median(cloud.population.time[:, -1]) < since))
    said = forecast_cautions(
        found,
        overdue=samples.overdue,
        heard=entries.heard,
        dry=dry,
        element_known=cloud.setup.still.element_known,
    )
    return replace(found, cautions=said)


def _cuts(samples: _Samples, entries: Entries, cuts: Sequence[CutPlan]) -> list[CutForecast]:
    found: list[CutForecast] = []
    before = np.zeros(len(samples.drop))
    open_yet = entries.clock.first_drop is not None and entries.clock.heat_off is None
    for place, cut in enumerate(cuts):
        end = samples.number(f"end.{place}") if cut.ended is None else np.full_like(
            before, cut.ended
        )  # fmt: skip
        end = np.maximum(end, before)
        share = (
            1.0 if cut.ended is not None else float(samples.share[samples.columns[f"end.{place}"]])
        )
        clock_end = samples.drop + end
        left = clock_end - entries.now
        volume = np.maximum(samples.number(f"volume.{place}"), 0.0)
        pure = np.clip(samples.number(f"pure.{place}"), 0.0, volume)
        ended = cut.ended is not None or cut.latest is not None
        state: CutState = "over" if ended else "to come"
        last = place == len(cuts) - 1
        if not ended and open_yet:
            gone = np.nanmedian(left) <= 0.0 if np.isfinite(left).any() else False
            nothing_after = last or all(one.ended is None for one in cuts[place + 1 :])
            late = _band(left).high <= 0.0 and not last
            state = "over" if gone and late and nothing_after else "running"
            open_yet = state == "over"
        held = np.maximum(samples.number(f"held.{place}"), 0.0)
        to_come = np.maximum(volume - (held if state == "running" else 0.0), 0.0)
        if state == "over":
            to_come = np.zeros_like(volume)
        strength = np.divide(pure, volume, out=np.full_like(pure, np.nan), where=volume > 1e-7)
        found.append(
            CutForecast(
                into=cut.into,
                state=state,
                called=cut.ended is not None,
                end=_band(clock_end, share),
                left=_band(left, share),
                volume=_band(volume, share),
                pure_alcohol=_band(pure, share),
                to_come=_band(to_come, share),
                strength=_band(strength, share),
            )
        )
        before = end
    return found


def _phase(samples: _Samples, entries: Entries, cuts: Sequence[CutForecast]) -> Phase:
    clock = entries.clock
    if clock.heat_off is not None or cuts[-1].state == "over":
        return "done"
    if clock.first_drop is not None:
        return "running"
    boils = (clock.power_on or 0.0) + np.median(samples.number("heat_up"))
    return "heating" if entries.now < boils else "filling"


def _uncovered(samples: _Samples, entries: Entries, cuts: Sequence[CutPlan]) -> Band | None:
    """Return when the element comes out of the liquid if the heat is on; None if it does not."""
    if "uncovered" not in samples.columns:
        return None
    time, there = samples.number("uncovered"), float(samples.share[samples.columns["uncovered"]])
    # A first drop nobody marked may have fallen when it was due: the element waits for no mark.
    moment = samples.expected_drop + time
    if entries.clock.heat_off is not None:
        moment = moment[moment < entries.clock.heat_off]
    if there < RARE or not np.isfinite(moment).any():
        return None
    last = cuts[-1].ended
    end = samples.number(f"end.{len(cuts) - 1}") if last is None else np.full_like(time, last)
    # A sign that never comes ends nothing.
    return _band(moment, float(np.mean(~(time >= end))) * there)


def _readings(entries: Entries, cloud: Cloud) -> tuple[SeenReading, ...]:
    if cloud.judgement is None or cloud.evidence is None:
        return ()
    posterior, evidence = cloud.judgement.posterior, cloud.evidence
    known = np.einsum("ij,jk,ik->i", posterior.slopes, posterior.covariance, posterior.slopes)
    own = (posterior.widening * evidence.spread) ** 2
    # What is expected already knows the readings that count: their share of it is taken off.
    spread = np.sqrt(np.where(posterior.used, np.maximum(own - known, 0.05 * own), own + known))
    return tuple(
        SeenReading(one.reading, one.value, float(at), float(width), bool(used))
        for one, at, width, used in zip(
            entries.observed, posterior.expected, spread, posterior.used, strict=True
        )
    )


def _contradictions(step: Distil, entries: Entries, cloud: Cloud) -> tuple[Contradiction, ...]:
    judgement = cloud.judgement
    if judgement is None or cloud.evidence is None:
        return ()
    found: list[Contradiction] = []
    if judgement.pattern is not None:
        chosen = [entries.observed[n].reading for n in judgement.pattern.places]
        dimension = QUANTITIES[chosen[0].quantity].dimension
        found.append(explain_pattern(judgement.pattern, tuple(chosen), dimension))
    jar = max((cut.jar_volume or 0.0 for cut in step.cuts), default=0.0)
    found += [
        explain_reading(_suspect(place, jar, entries, cloud, judgement))
        for place in sorted(judgement.single, key=lambda n: entries.observed[n].time)
    ]
    return tuple(found)


def _suspect(
    place: int, jar: float, entries: Entries, cloud: Cloud, judgement: Judgement
) -> Suspect:
    posterior, evidence = judgement.posterior, cloud.evidence
    if evidence is None:
        raise RuntimeError("a contradiction needs evidence")
    slope = posterior.slopes[place]
    spread = math.hypot(
        posterior.widening * float(evidence.spread[place]),
        math.sqrt(float(slope @ posterior.covariance @ slope)),
    )
    one = entries.observed[place]
    return Suspect(
        one=one,
        expected=float(posterior.expected[place]),
        uncertainty=spread,
        elsewhere=_elsewhere(place, entries, cloud, judgement),
        until=entries.run_time,
        jar=jar,
    )


def _elsewhere(
    place: int, entries: Entries, cloud: Cloud, judgement: Judgement
) -> Callable[[Array], Array]:
    """Return what a reading would be at other times, along the run nearest to the best fit."""
    size = len(cloud.setup.beliefs)
    gap = cloud.population.q - judgement.posterior.q[:size]
    inverse = np.linalg.inv(judgement.posterior.covariance[:size, :size] + 1e-9 * np.eye(size))
    nearest = int(np.argmin(np.einsum("ij,jk,ik->i", gap, inverse, gap)))
    run = _one(cloud.population, nearest)
    one = entries.observed[place]

    def at(times: Array) -> Array:
        moved = [
            replace(one, time=time, since=max(one.since + time - one.time, 0.0))
            for time in times.tolist()
        ]
        return np.asarray(expected_of(cloud.setup, run, moved, entries.caller)[0])

    return at


def _one(population: Population, row: int) -> Population:
    """Return one run of a cloud as a cloud of its own."""
    changed = {
        one.name: getattr(population, one.name)[row : row + 1]
        for one in fields(population)
        if one.name != "failed"
    }
    return replace(population, **changed)


def _learned(cloud: Cloud) -> tuple[Learned, ...]:
    found = []
    posterior = None if cloud.judgement is None else cloud.judgement.posterior
    for n, belief in enumerate(cloud.setup.beliefs):
        q = 0.0 if posterior is None else float(posterior.q[n])
        half = 1.0 if posterior is None else math.sqrt(float(posterior.covariance[n, n]))
        found.append(
            Learned(
                belief.name,
                belief.value(q),
                belief.value(q - NINETY * half),
                belief.value(q + NINETY * half),
                half,
            )
        )
    return tuple(found)
