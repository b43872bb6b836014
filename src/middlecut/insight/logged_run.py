# SPDX-License-Identifier: MIT
"""Turn what was written down beside a still into the run that a still is fitted to."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from middlecut.errors import InputError
from middlecut.insight.readings import Flag, Reading, Refusal
from middlecut.insight.run_entries import Entries, sort_entries
from middlecut.insight.run_marks import Mark, RefusedMark, carried_out
from middlecut.insight.run_setup import charge_of, distil_step
from middlecut.insight.still_model import CHARGE, LoggedRun, as_timed
from middlecut.plan.predict import predict
from middlecut.steps.parameters import Until
from middlecut.units import format_quantity

if TYPE_CHECKING:
    from middlecut.plan.model import Plan
    from middlecut.steps.lot import Lot
    from middlecut.steps.parameters import Distil

__all__ = ["ReadRun", "read_run"]

_MARGIN = 60.0
"""How far beyond the last reading a run is followed. [s]"""
_LONGEST = 4.0
"""Times the planned run after which a reading is no longer believed to be of it; our choice."""
_EARLY = "A fit takes readings from the first drop on; this one was taken while it heated up."


@dataclass(frozen=True, slots=True)
class ReadRun:
    """A run as it was written down, and what of it cannot be used.

    Parameters
    ----------
    run : LoggedRun
        What a still is fitted to; times since the first drop.
    refused : tuple of Refusal
    refused_marks : tuple of RefusedMark
    flagged : tuple of Flag
        Used, but look at them.
    """

    run: LoggedRun
    refused: tuple[Refusal, ...]
    refused_marks: tuple[RefusedMark, ...]
    flagged: tuple[Flag, ...]


def read_run(
    plan: Plan,
    step_id: str,
    entries: Iterable[Reading | Mark],
    *,
    charge: Lot | None = None,
    name: str = "",
) -> ReadRun:
    """Return the run that readings and marks describe, for :func:`fit_still`.

    Parameters
    ----------
    plan : Plan
        What was intended.
    step_id : str
        Of the distil step.
    entries : iterable of (Reading or Mark)
        In the order they were written down, on one clock; without marks since the first drop.
    charge : Lot or None
        What was really loaded; None: what the plan predicts.
    name : str
        Of the run, kept with the provenance; the id of the step where it is empty.

    Returns
    -------
    ReadRun
        Cuts end where they are marked, else after the span the plan foresees for them; power and
        coolant are those that were set.

    Raises
    ------
    NotFoundError
        If the plan has no such distil step or still.
    InputError
        If no reading can be used.
    """
    step = distil_step(plan, step_id)
    load = charge_of(plan, step_id) if charge is None else charge
    found = sort_entries(step, entries, now=math.inf, charge=load)
    drop = found.clock.first_drop or 0.0
    planned = predict(plan).steps[step_id].curve
    used, away = _of_the_run(found, math.inf if planned is None else float(planned.time[-1]))
    if not used:
        raise InputError(
            "readings",
            len(found.observed),
            "a run is fitted to at least one reading taken after the first drop",
            _first_reason(found) or "Mark the first drop and write down what was read after it.",
        )
    spans = [] if planned is None else [mark.end - mark.start for mark in planned.cuts]
    done = carried_out(_in_spans(step, spans, found.marks, drop), found.marks, CHARGE)
    ends = tuple(math.inf if cut.until.time is None else cut.until.time for cut in done.cuts)
    last = max(one.time for one in used) + _MARGIN
    bare = replace(load, name=CHARGE, amounts={}, band=None)
    timed = replace(as_timed(done, ends, last, None), water=0.0)
    run = LoggedRun(name or step_id, timed, bare, plan.batch.pressure, tuple(used))
    return ReadRun(run, (*found.refused, *away), found.refused_marks, found.flagged)


def _of_the_run(found: Entries, planned: float) -> tuple[list[Reading], list[Refusal]]:
    """Return readings since the first drop, and those of another time with the reason."""
    used, away = [], []
    for one in found.observed:
        if one.heating is not None:
            away.append(Refusal(one.reading, _EARLY))
        elif one.time > _LONGEST * planned:
            late, span = (format_quantity(value, "duration") for value in (one.time, planned))
            reason = (
                f"It lies {late} after the first drop, and the run of the plan lasts {span}; "
                "check the time and its unit."
            )
            away.append(Refusal(one.reading, reason))
        else:
            since = None if one.reading.since is None else one.since
            used.append(replace(one.reading, time=max(one.time, 0.0), since=since))
    return used, away


def _in_spans(step: Distil, spans: list[float], marks: tuple[Mark, ...], drop: float) -> Distil:
    """Return the step with each cut ending at a time: as marked, else after its planned span."""
    marked = {one.cut: one.time - drop for one in marks if one.kind == "cut"}
    cuts, at = [], 0.0
    for index, cut in enumerate(step.cuts):
        span = spans[index] if index < len(spans) else _MARGIN
        at = marked.get(cut.into, at + max(span, 1.0))
        cuts.append(replace(cut, until=Until(time=max(at, 1e-2))))
    return replace(step, cuts=tuple(cuts))


def _first_reason(found: Entries) -> str:
    reasons = [one.reason for one in found.refused]
    reasons += [one.reason for one in found.refused_marks]
    return f"The first that was refused: {reasons[0]}" if reasons else ""
