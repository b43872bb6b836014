# SPDX-License-Identifier: MIT
"""What is still to come of a run: time and volume to the next cut, from the plan's prediction.

The predicted curve is moved along in time until it passes through the last volume that was read.
Nothing is fitted: a forecast that learns from the readings takes its place where there is one.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from middlecut.app.views.run import RunView
from middlecut.plan.sheet_parts import Phrase
from middlecut.steps.parameters import Until

__all__ = ["Outlook", "outlook", "until_words"]


@dataclass(frozen=True, slots=True)
class Outlook:
    """What is to come.

    Parameters
    ----------
    moment : float
        Where the run is on the predicted curve, since its first drop. [s]
    strength, head_temperature, take_off : float
        Expected now.
    volume : float
        Collected by now, as expected after the last reading. [m³ at 20 °C]
    time_left, volume_left : float or None
        To the end of the running cut; 0 when it is due. [s, m³] None: no cut runs.
    ends_at : datetime or None
    low, high : float or None
        Range of the time left. [s] None where nothing is known of it.
    volume_low, volume_high : float or None
        Range of the volume left. [m³]
    basis : str
        What it rests on, in words.
    """

    moment: float
    strength: float
    head_temperature: float
    take_off: float
    volume: float
    time_left: float | None
    volume_left: float | None
    ends_at: datetime | None
    low: float | None = None
    high: float | None = None
    volume_low: float | None = None
    volume_high: float | None = None
    basis: str = ""


def until_words(until: Until) -> Phrase:
    """Return in words when a cut ends."""
    if until.volume is not None:
        return Phrase("when it holds {}", ((until.volume, "volume"),))
    if until.strength is not None:
        return Phrase("when the strength falls to {}", ((until.strength, "strength"),))
    if until.head_temperature is not None:
        return Phrase("when the head reaches {}", ((until.head_temperature, "temperature"),))
    if until.time is not None:
        return Phrase("{} after the first drop", ((until.time, "duration"),))
    return Phrase("when the boiler is down to {}", ((until.boiler_volume or 0.0, "volume"),))


def outlook(view: RunView, now: datetime) -> Outlook | None:
    """Return what is to come of a run.

    Parameters
    ----------
    view : RunView
    now : datetime

    Returns
    -------
    outlook : Outlook or None
        None before the first drop and after the end.
    """
    if view.first_drop is None or view.phase != "during":
        return None
    curve = view.curve
    elapsed = max((now - view.first_drop).total_seconds(), 0.0)
    shift, basis = _shift(view)
    last = float(curve.time[-1])
    moment = min(max(elapsed + shift, 0.0), last)

    def at(values: np.ndarray) -> float:
        return float(np.interp(moment, curve.time, values))

    volume = at(curve.volume)
    time_left = volume_left = None
    if view.running is not None:
        end, end_volume = _end(view, shift)
        time_left = max(end - moment, 0.0)
        volume_left = max(end_volume - volume, 0.0)
    return Outlook(
        moment=moment,
        strength=at(curve.strength),
        head_temperature=at(curve.head_temperature),
        take_off=at(curve.take_off),
        volume=volume,
        time_left=time_left,
        volume_left=volume_left,
        ends_at=None if time_left is None else now + timedelta(seconds=time_left),
        basis=basis,
    )


def _shift(view: RunView) -> tuple[float, str]:
    """Return how far the prediction lags behind the clock, by the last volume read. [s]."""
    read = view.last.get("volume")
    if read is None or view.first_drop is None or read.at < view.first_drop:
        return 0.0, "by the plan’s prediction; a volume read will set it right"
    curve = view.curve
    expected = float(np.interp(read.value, curve.volume, curve.time))
    return (
        expected - (read.at - view.first_drop).total_seconds(),
        "by the plan’s prediction, moved along to the last volume read",
    )


def _end(view: RunView, shift: float) -> tuple[float, float]:
    """Return when the running cut ends on the predicted curve, and the volume by then."""
    running, curve = view.running, view.curve
    if running is None or running.called is None or view.first_drop is None:
        return float(curve.time[-1]), float(curve.volume[-1])
    wanted = running.cut.until.volume
    if wanted is None:
        return running.mark.end, running.mark.collected_end
    begun = max((running.called - view.first_drop).total_seconds() + shift, 0.0)
    volume = float(np.interp(begun, curve.time, curve.volume)) + wanted
    return float(np.interp(volume, curve.volume, curve.time)), volume
