# SPDX-License-Identifier: MIT
"""The stills of the workshop: their descriptions and what runs have taught about them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime

from middlecut.app.decide import Command, draft_of
from middlecut.app.events import Body, Draft, Event
from middlecut.app.shop_events import StillCalibrated, StillDescribed
from middlecut.app.words import check_name, check_text
from middlecut.errors import InputError, NotFoundError

__all__ = ["StillState", "decide_still", "evolve_still"]


@dataclass(frozen=True, slots=True)
class StillState:
    """The state of one still.

    Parameters
    ----------
    id : str
        The part of the stream's id after the slash.
    version : int
    described : StillDescribed or None
        The description that holds.
    calibrated : tuple of StillCalibrated
        Fits since that description, oldest first; a new description ends the old ones.
    """

    id: str
    version: int = 0
    described: StillDescribed | None = None
    calibrated: tuple[StillCalibrated, ...] = ()


def decide_still(
    state: StillState, command: Command, *, now: datetime, ids: Callable[[], str]
) -> tuple[Draft, ...]:
    """Decide whether the still can take what is wanted.

    Parameters
    ----------
    state : StillState
    command : Command
    now : datetime
    ids : callable
        Gives a new id each time.

    Returns
    -------
    drafts : tuple of Draft

    Raises
    ------
    InputError
        If something given cannot be.
    NotFoundError
        If a still that is not described is calibrated.
    """
    for body in command.bodies:
        _check(state, body)
    return tuple(draft_of(body, command, now=now, new_id=ids()) for body in command.bodies)


def _check(state: StillState, body: Body) -> None:
    if isinstance(body, StillDescribed):
        check_name("name", body.name)
        check_text("description", body.text)
        check_text("reason", body.reason)
        if state.described is not None and state.described.name != body.name:
            raise InputError(
                "name", body.name, f"this still is called {state.described.name!r}", "Keep it."
            )
    elif isinstance(body, StillCalibrated):
        if state.described is None:
            raise NotFoundError("still", state.id)
        if not body.values:
            raise InputError("values", body.values, "a calibration has fitted values", "")
        check_text("document", body.document, 1_000_000)
    else:
        raise InputError("event", body.NAME, "it does not belong to a still", "")


def evolve_still(state: StillState, event: Event) -> StillState:
    """Return the still's state after one more event."""
    body = event.body
    if isinstance(body, StillDescribed):
        return replace(state, version=event.version, described=body, calibrated=())
    if isinstance(body, StillCalibrated):
        return replace(state, version=event.version, calibrated=(*state.calibrated, body))
    return replace(state, version=event.version)
