# SPDX-License-Identifier: MIT
"""From what was tasted to likely causes, and from a remedy to a new plan."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from functools import lru_cache
from itertools import combinations, product

from middlecut.app.batch import Batch
from middlecut.app.expectation import StillFit, expect, find_problems
from middlecut.app.giving_way import WAY
from middlecut.app.views.readings import first_drop, gravity_readings, run_readings
from middlecut.app.views.tastings import glasses
from middlecut.errors import InputError, NotFoundError, PlanError
from middlecut.insight.diagnose import diagnose
from middlecut.insight.diagnosis import Diagnosis, Edit, Remedy
from middlecut.insight.off_flavours import faults
from middlecut.insight.readings import Reading
from middlecut.plan.reshape import PlanEdit, apply_edits

__all__ = ["causes_of", "lot_of_subject", "mended_plan", "plan_mark", "unwanted_first"]

_AWAY = ("unset", "remove")
_Readings = tuple[tuple[str, tuple[Reading, ...]], ...]


def lot_of_subject(state: Batch, subject: str) -> str | None:
    """Return the lot of the plan that a glass was of; None when it is of none.

    Parameters
    ----------
    state : Batch
    subject : str
        As the record names it.

    Returns
    -------
    lot : str or None
    """
    return next((one.lot for one in glasses(state) if one.subject == subject and one.lot), None)


def unwanted_first(found: Mapping[str, float]) -> tuple[tuple[str, float, bool], ...]:
    """Return what was found, each word with whether it belongs to a known fault.

    Parameters
    ----------
    found : mapping of str to float
        Word to intensity.

    Returns
    -------
    rows : tuple of (str, float, bool)
        Words of known faults first, then by intensity.
    """
    faulty = {word for fault in faults() for word in fault.descriptors[:2]}
    rows = [(word, value, word in faulty) for word, value in found.items()]
    return tuple(sorted(rows, key=lambda row: (not row[2], -row[1], row[0])))


def plan_mark(text: str) -> str:
    """Return a short mark of a plan's text, to see whether it is still the same."""
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def causes_of(
    state: Batch, found: Mapping[str, float], subject: str, fits: tuple[StillFit, ...] = ()
) -> Diagnosis:
    """Return the likely causes of what was tasted, with remedies and their predicted effect.

    Parameters
    ----------
    state : Batch
        Its plan and its readings are looked at.
    found : mapping of str to float
        Word to intensity, only what should be otherwise.
    subject : str
        What was tasted.
    fits : tuple of StillFit
        Stills that run as measured, here and in the remedies.

    Returns
    -------
    diagnosis : Diagnosis

    Raises
    ------
    InputError
        If nothing was found.
    NotFoundError
        If the batch has no plan, or a word is not known.
    PlanError
        If the plan cannot be carried out.
    """
    if state.plan is None:
        raise NotFoundError("plan of the batch", state.id)
    lot = lot_of_subject(state, subject)
    return _diagnosed(state.plan.text, tuple(found.items()), lot, _readings(state), fits)


@lru_cache(maxsize=16)
def _diagnosed(
    text: str,
    found: tuple[tuple[str, float], ...],
    lot: str | None,
    readings: _Readings,
    fits: tuple[StillFit, ...],
) -> Diagnosis:
    prediction = expect(text, fits)
    known = lot if lot in prediction.lots else None
    with WAY.awaited():
        return diagnose(
            prediction.plan, dict(found), readings=dict(readings), prediction=prediction, lot=known
        )


def _readings(state: Batch) -> _Readings:
    """Return the readings of each step that began, in the form that evidence is gathered from."""
    rows: list[tuple[str, tuple[Reading, ...]]] = []
    for step in state.steps():
        name = step.outline.step
        if step.outline.kind == "ferment" and step.started is not None:
            rows.append((name, gravity_readings(state, name, step.started)))
        elif step.outline.kind == "distil" and (start := first_drop(state, name)) is not None:
            rows.append((name, run_readings(state, name, start)))
    return tuple((name, readings) for name, readings in rows if readings)


def mended_plan(text: str, remedies: Iterable[Remedy], name: str) -> str:
    """Return a plan with remedies written into it.

    Parameters
    ----------
    text : str
        The plan as it was.
    remedies : iterable of Remedy
        Of a diagnosis of that plan.
    name : str
        Of the new batch.

    Returns
    -------
    text : str
        Everything else, comments too, is as before.

    Raises
    ------
    InputError
        If there is no remedy, or two of them set the same thing differently.
    PlanError
        If the plan cannot be carried out with all of them together.
    """
    edits = _together(remedies)
    if not edits:
        raise InputError("remedy", "none", "at least one change is needed", "Choose one.")
    text = apply_edits(text, [PlanEdit("set", "batch.name", name), *edits])
    if problems := find_problems(text):
        raise PlanError("new plan", problems)
    return text


def _together(remedies: Iterable[Remedy]) -> tuple[PlanEdit, ...]:
    """Return the edits of remedies, each once; two that do not go together are refused."""
    chosen = tuple(remedies)
    for one, other in combinations(chosen, 2):
        if clash := _clash(one.edits, other.edits):
            raise InputError("remedy", other.title, clash, "Choose one of the two.")
    return tuple(dict.fromkeys(edit.of_plan for one in chosen for edit in one.edits))


def _clash(one: tuple[Edit, ...], other: tuple[Edit, ...]) -> str:
    """Say what two remedies do to the same place differently, "" for nothing."""
    for edit, also in product(one, other):
        if edit == also:
            if edit.action in _AWAY and one != other:
                return f"two of the changes take {edit.key} away and then part ways"
        elif edit.action == also.action == "set" and edit.key == also.key:
            return f"two of the changes set {edit.key} differently"
        elif _takes(edit, also) or _takes(also, edit):
            key = edit.key if edit.action in _AWAY else also.key
            return f"one of the changes takes {key} away and another changes it"
    return ""


def _takes(edit: Edit, also: Edit) -> bool:
    """Say whether an edit takes away what another one is about."""
    about = also.key == edit.key or also.key.startswith(f"{edit.key}.")
    return edit.action in _AWAY and about and also.action != "insert"
