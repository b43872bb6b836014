# SPDX-License-Identifier: MIT
"""What a run's readings ask for now: slips to correct, contradictions, and those answered since."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from middlecut.app.run_doubts import WHOLE_RUN, meant_strength
from middlecut.app.running_totals import shown_reading
from middlecut.app.views.forecast import Said
from middlecut.app.views.frame import StepFrame
from middlecut.app.views.run import RunView

if TYPE_CHECKING:
    from middlecut.insight.run_forecast import Contradiction

__all__ = ["Alarm", "SlipLine", "alarms", "slips"]

_SOON = timedelta(seconds=1)
_STRENGTHS = frozenset({"distillate_strength", "jar_strength"})
_LAST = {"head_temperature": "head_temperature", "collected_volume": "volume"}


@dataclass(frozen=True, slots=True)
class SlipLine:
    """A reading in the record that is probably a slip of the finger.

    Parameters
    ----------
    entry : str
        Id of its event.
    at : datetime
    typed, meant : str
        As it was typed, and as it may have been meant; "" for a total that no run gives.
    """

    entry: str
    at: datetime
    typed: str
    meant: str


@dataclass(frozen=True, slots=True)
class Alarm:
    """Readings that do not go with the rest.

    Parameters
    ----------
    about : Contradiction
    answered : datetime or None
        When a later reading of the same kind was taken that goes with the rest.
    """

    about: Contradiction
    answered: datetime | None


def slips(frame: StepFrame, view: RunView) -> tuple[SlipLine, ...]:
    """Return strengths that a slip of the finger explains, and totals that the run cannot give.

    Parameters
    ----------
    frame : StepFrame
        Of a distil step.
    view : RunView
        The same run.

    Returns
    -------
    lines : tuple of SlipLine
        In order of time.
    """
    found = []
    unused = {one.reading.id for one in view.aside}
    whole = WHOLE_RUN * float(view.curve.volume[-1])
    for one in frame.state.readings(frame.id):
        taken = one.taken
        if taken.lot or taken.jar or one.id in unused:
            continue
        if taken.quantity == "volume" and taken.value > whole:
            found.append(SlipLine(one.id, one.utc, shown_reading(taken), ""))
        if taken.quantity not in {"strength", "true_strength"}:
            continue
        others = tuple(value for at, value in view.measured if at != one.utc)
        typed = taken.as_entered.partition(" at ")[0] or f"{100.0 * taken.value:g} %vol"
        meant = meant_strength(view, taken, typed, one.utc, others)
        if meant is not None:
            found.append(SlipLine(one.id, one.utc, typed, meant))
    return tuple(found)


def alarms(
    view: RunView, said: Said | None, mistakes: tuple[SlipLine, ...] = ()
) -> tuple[Alarm, ...]:
    """Return the contradictions of a forecast, those that were answered last.

    Parameters
    ----------
    view : RunView
    said : Said or None
    mistakes : tuple of SlipLine
        Readings that are probably slips: what is made of them is left out.

    Returns
    -------
    alarms : tuple of Alarm
    """
    if said is None or said.forecast is None or view.started is None:
        return ()
    wrong = {one.at for one in mistakes}
    every = said.forecast.contradictions
    contrary = {_moments(view, one): one for one in every}
    odd = {at for moments in contrary for at in moments}
    found = []
    for moments, one in contrary.items():
        if any(abs(at - slip) < _SOON for at in moments for slip in wrong):
            continue
        kinds = {reading.quantity for reading in one.readings}
        found.append(Alarm(one, _answered(view, kinds, max(moments), odd)))
    return tuple(sorted(found, key=lambda alarm: alarm.answered is not None))


def _moments(view: RunView, about: Contradiction) -> tuple[datetime, ...]:
    start = view.started
    if start is None:
        return ()
    return tuple(start + timedelta(seconds=one.time) for one in about.readings)


def _answered(
    view: RunView, kinds: set[str], since: datetime, odd: set[datetime]
) -> datetime | None:
    """Return the first later reading of one of the kinds that goes with the rest."""
    later = [at for at, _ in view.measured] if kinds & _STRENGTHS else []
    later += [
        view.last[name].at for kind, name in _LAST.items() if kind in kinds and name in view.last
    ]
    good = [
        at for at in later if at > since + _SOON and all(abs(at - other) > _SOON for other in odd)
    ]
    return min(good, default=None)
