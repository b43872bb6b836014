# SPDX-License-Identifier: MIT
"""A run of the still as it stands: what was read last, which cut runs, which is next."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from middlecut.app.batch import Reading
from middlecut.app.running_totals import SetAside, set_aside
from middlecut.app.spirit_events import CutCalled, JarFilled, PowerSet
from middlecut.app.views.charge import expected_run
from middlecut.app.views.frame import StepFrame
from middlecut.app.views.jar_totals import JarGap, jar_gap
from middlecut.app.views.lots import true_strength
from middlecut.app.views.readings import first_drop
from middlecut.errors import NotFoundError
from middlecut.steps.curve import Curve, CutMark
from middlecut.steps.parameters import Cut, Distil
from middlecut.steps.still import Still

__all__ = ["CalledCut", "JarLine", "LastReading", "RunView", "distil_parts", "run_view"]


@dataclass(frozen=True, slots=True)
class LastReading:
    """The last reading of one quantity.

    Parameters
    ----------
    value : float
        Corrected for temperature. [SI]
    shown, temperature : float or None
        As the instrument showed it, and the liquid it stood in. [SI]
    at : datetime
    text : str
        As it was typed.
    """

    value: float
    shown: float
    temperature: float | None
    at: datetime
    text: str


@dataclass(frozen=True, slots=True)
class CalledCut:
    """A cut of the plan and what became of it.

    Parameters
    ----------
    cut : Cut
        As planned.
    mark : CutMark
        As expected.
    called, ended : datetime or None
        When it was called, and when the next one was.
    """

    cut: Cut
    mark: CutMark
    called: datetime | None
    ended: datetime | None


@dataclass(frozen=True, slots=True)
class JarLine:
    """A filled jar.

    Parameters
    ----------
    jar : JarFilled
    at : datetime
    entry : str
        Id of its event.
    strength : float or None
        At 20 °C, 0 to 1.
    """

    jar: JarFilled
    at: datetime
    entry: str
    strength: float | None


@dataclass(frozen=True, slots=True)
class RunView:
    """A run as it stands.

    Parameters
    ----------
    phase : {"before", "during", "after"}
    step : Distil
    still : Still
    curve : Curve
        As expected.
    started, first_drop, finished : datetime or None
    cuts : tuple of CalledCut
        Those of the plan, in order.
    running, upcoming : CalledCut or None
        The cut that runs, and the one to call after it.
    off_plan : tuple of (datetime, str)
        Cuts that were called and are not in the plan.
    last : dict of str to LastReading
        By quantity: "strength", "volume", "head_temperature", "boiler_temperature".
    collected : float or None
        Distillate so far: the last volume read, or the jars since if they make more. [m³]
    power : PowerSet or None
        The last setting.
    jars : tuple of JarLine
    measured : tuple of (datetime, float)
        Every strength of the distillate, corrected.
    aside : tuple of SetAside
        Volumes and masses that contradict others; they are in no figure.
    totals : tuple of (datetime, float)
        Distillate so far, as it was read. [m³]
    """

    phase: Literal["before", "during", "after"]
    step: Distil
    still: Still
    curve: Curve
    started: datetime | None
    first_drop: datetime | None
    finished: datetime | None
    cuts: tuple[CalledCut, ...]
    running: CalledCut | None
    upcoming: CalledCut | None
    off_plan: tuple[tuple[datetime, str], ...]
    last: dict[str, LastReading]
    collected: float | None
    power: PowerSet | None
    jars: tuple[JarLine, ...]
    measured: tuple[tuple[datetime, float], ...]
    aside: tuple[SetAside, ...] = ()
    totals: tuple[tuple[datetime, float], ...] = ()

    @property
    def gaps(self) -> tuple[JarGap, ...]:
        """Cuts that are over and whose jars do not hold what ran off by the totals."""
        start = () if self.first_drop is None else ((self.first_drop, 0.0),)
        found = []
        for one in self.cuts:
            jars = [line.jar.volume for line in self.jars if line.jar.lot == one.cut.into]
            if jars and one.called is not None and one.ended is not None:
                totals = sorted((*start, *self.totals))
                found.append(
                    jar_gap(
                        one.cut.into, sum(jars), totals=totals, called=one.called, ended=one.ended
                    )
                )
        return tuple(gap for gap in found if gap is not None)

    @property
    def first_drop_expected(self) -> datetime | None:
        """When the first drop is to come; None before the start and after it came."""
        if self.started is None or self.first_drop is not None:
            return None
        facts = self.curve.facts
        return self.started + timedelta(seconds=facts.heat_up_time + facts.fill_time)

    @property
    def next_jar(self) -> str:
        """A name for the next jar: one more than the highest number so far."""
        numbers = [int(line.jar.jar) for line in self.jars if line.jar.jar.isdecimal()]
        return str(max(numbers, default=0) + 1)


def distil_parts(frame: StepFrame) -> tuple[Distil, Still, Curve]:
    """Return plan, still and expected curve of a run, or raise NotFoundError."""
    step = frame.parameters
    curve = expected_run(frame).curve if isinstance(step, Distil) else None
    if not isinstance(step, Distil) or curve is None:
        raise NotFoundError("run of a still", frame.id)
    return step, frame.prediction.plan.stills[step.still], curve


def run_view(frame: StepFrame) -> RunView:
    """Return a run as it stands.

    Parameters
    ----------
    frame : StepFrame
        Of a distil step.

    Returns
    -------
    view : RunView

    Raises
    ------
    NotFoundError
        If it is no distil step.
    """
    step, still, curve = distil_parts(frame)
    where = frame.step
    finished = where.finished
    phase: Literal["before", "during", "after"] = "before"
    if where.started is not None:
        phase = "during" if finished is None else "after"
    cuts, running, off_plan = _cuts(frame, step, curve)
    aside = set_aside(frame.state, frame.id)
    unused = {one.reading.id for one in aside}
    readings = [
        one for one in frame.state.readings(frame.id) if _of_the_run(one) and one.id not in unused
    ]
    jars = _jars(frame)
    return RunView(
        phase=phase,
        step=step,
        still=still,
        curve=curve,
        started=where.started,
        first_drop=first_drop(frame.state, frame.id),
        finished=finished,
        cuts=cuts,
        running=running,
        upcoming=_upcoming(cuts, running),
        off_plan=off_plan,
        last=_last(readings),
        collected=_collected(readings, jars),
        power=next(
            (body for _, body in reversed(frame.state.of(PowerSet)) if body.step == frame.id), None
        ),
        jars=jars,
        measured=tuple(
            (one.utc, value)
            for one in readings
            if one.taken.quantity in {"strength", "true_strength"}
            and (value := _value(one)) is not None
        ),
        aside=aside,
        totals=tuple(
            (one.utc, one.taken.value) for one in readings if one.taken.quantity == "volume"
        ),
    )


def _of_the_run(one: Reading) -> bool:
    return one.taken.lot is None and one.taken.jar is None


def _value(one: Reading) -> float | None:
    taken = one.taken
    if taken.quantity != "strength":
        return taken.value
    try:
        return true_strength(taken.value, taken.temperature, proof_scale=taken.reference == "60F")
    except ValueError:  # out of what the tables can correct
        return None


def _last(readings: list[Reading]) -> dict[str, LastReading]:
    found: dict[str, LastReading] = {}
    for one in readings:
        value = _value(one)
        if value is not None:
            taken = one.taken
            name = "strength" if taken.quantity == "true_strength" else taken.quantity
            found[name] = LastReading(
                value, taken.value, taken.temperature, one.utc, taken.as_entered
            )
    return found


def _collected(readings: list[Reading], jars: tuple[JarLine, ...]) -> float | None:
    volumes = [one for one in readings if one.taken.quantity == "volume"]
    if not volumes:
        return sum(line.jar.volume for line in jars) or None
    since = sum(line.jar.volume for line in jars)
    return max(volumes[-1].taken.value, since)


def _cuts(
    frame: StepFrame, step: Distil, curve: Curve
) -> tuple[tuple[CalledCut, ...], CalledCut | None, tuple[tuple[datetime, str], ...]]:
    """Return the cuts, the one that runs, and calls the plan does not know.

    Calls typed for the same minute follow one another as they were entered. A cut that was
    called again after another one runs again; it began with its first call all the same.
    """
    called = [
        (event.utc, body.into) for event, body in frame.state.of(CutCalled) if body.step == frame.id
    ]
    called.sort(key=lambda call: call[0])  # stable
    ends = [*(at for at, _ in called[1:]), frame.step.finished]
    found: dict[str, CalledCut] = {}
    for cut, mark in zip(step.cuts, curve.cuts, strict=True):
        places = [place for place, (_, into) in enumerate(called) if into == cut.into]
        begun, ended = (called[places[0]][0], ends[places[-1]]) if places else (None, None)
        found[cut.into] = CalledCut(cut, mark, begun, ended)
    running = next((found[into] for _, into in reversed(called) if into in found), None)
    off_plan = tuple(pair for pair in called if pair[1] not in found)
    return tuple(found.values()), running, off_plan


def _upcoming(cuts: tuple[CalledCut, ...], running: CalledCut | None) -> CalledCut | None:
    place = -1 if running is None else cuts.index(running)
    return next((one for one in cuts[place + 1 :] if one.called is None), None)


def _jars(frame: StepFrame) -> tuple[JarLine, ...]:
    found = []
    for event, body in frame.state.of(JarFilled):
        if body.step != frame.id:
            continue
        strength = body.strength
        if strength is not None:
            try:
                strength = true_strength(
                    strength, body.temperature, proof_scale=body.reference == "60F"
                )
            except ValueError:
                strength = None
        found.append(JarLine(body, event.utc, event.id, strength))
    return tuple(found)
