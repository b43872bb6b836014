# SPDX-License-Identifier: MIT
"""A lot on wood: samples with their dates, when the next is due, what the plan expects."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from middlecut.app.outline import FIRST_TASTE_SHARE
from middlecut.app.spirit_events import WoodSampled
from middlecut.app.views.frame import StepFrame
from middlecut.app.views.lots import KnownLot, taken_lots
from middlecut.errors import NotFoundError
from middlecut.steps.parameters import Wood

__all__ = ["SampleLine", "WoodView", "wood_view"]


@dataclass(frozen=True, slots=True)
class SampleLine:
    """A sample that was looked at.

    Parameters
    ----------
    at : datetime
    entry : str
        Id of its event.
    sample : WoodSampled
    age : float or None
        Time on wood: as entered, else since the step was started. [s] None before that.
    """

    at: datetime
    entry: str
    sample: WoodSampled
    age: float | None


@dataclass(frozen=True, slots=True)
class WoodView:
    """A lot on wood.

    Parameters
    ----------
    step : Wood
    lot : KnownLot
        What goes on the wood.
    samples : tuple of SampleLine
        Newest first.
    elapsed : float or None
        Since the start. [s]
    taste_from, ends : datetime or None
        Half of the planned time, and the end of it.
    """

    step: Wood
    lot: KnownLot
    samples: tuple[SampleLine, ...]
    elapsed: float | None
    taste_from: datetime | None
    ends: datetime | None


def wood_view(frame: StepFrame, now: datetime) -> WoodView:
    """Return a lot on wood as it stands.

    Parameters
    ----------
    frame : StepFrame
        Of a wood step.
    now : datetime

    Returns
    -------
    view : WoodView

    Raises
    ------
    NotFoundError
        If it is no wood step.
    """
    step = frame.parameters
    if not isinstance(step, Wood):
        raise NotFoundError("wood step", frame.id)
    start = frame.step.started
    lines = [
        SampleLine(
            event.utc,
            event.id,
            body,
            body.age
            if body.age is not None or start is None or event.utc < start
            else (event.utc - start).total_seconds(),
        )
        for event, body in frame.state.of(WoodSampled)
        if body.step == frame.id
    ]
    lines.sort(key=lambda line: line.at, reverse=True)
    return WoodView(
        step=step,
        lot=taken_lots(frame)[0],
        samples=tuple(lines),
        elapsed=None if start is None else (now - start).total_seconds(),
        taste_from=None
        if start is None
        else start + timedelta(seconds=FIRST_TASTE_SHARE * step.duration),
        ends=None if start is None else start + timedelta(seconds=step.duration),
    )
