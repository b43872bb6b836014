# SPDX-License-Identifier: MIT
"""Forms of the step pages: numbers in the unit beside the field, times on the workshop's clock."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from functools import partial
from typing import Literal
from urllib.parse import quote

from pydantic import BaseModel

from middlecut.app.batch_events import NoteWritten, ReadingTaken
from middlecut.app.decide_course import check_body
from middlecut.app.doubts import LATE, Doubt, late_note, time_doubts
from middlecut.app.events import Body
from middlecut.app.quantities import QUANTITIES, Typed, check_value, read_typed
from middlecut.app.readiness import check_ready
from middlecut.app.record import Entry
from middlecut.app.running_totals import PRESENT
from middlecut.app.use_cases import note
from middlecut.app.views.frame import StepFrame
from middlecut.units import System, parse_quantity
from middlecut.web.advice import advised, meant_gravity
from middlecut.web.forms import FormState
from middlecut.web.visit import Visit

__all__ = [
    "UNITS",
    "Sending",
    "amount",
    "ask",
    "ask_ready",
    "asked_of",
    "entry_of",
    "form_of",
    "keep",
    "moment_of",
    "reading",
    "seen_of",
    "step_address",
    "typed_in",
    "unit_beside",
    "unit_shown",
    "with_unit",
]

UNITS: Mapping[str, tuple[str, str]] = {
    "strength": ("%vol", "%vol"),
    "temperature": ("°C", "°F"),
    "jar": ("mL", "floz_us"),
    "vessel": ("L", "gal_us"),
    "gravity": ("SG", "SG"),
    "share": ("%", "%"),
    "grams": ("g", "oz"),
    "kilos": ("kg", "lb"),
    "days": ("d", "d"),
    "ratio": ("", ""),
    "count": ("", ""),
}
"""Unit a bare number is taken in, metric and US, by the kind of field."""

_SHOWN = {"floz_us": "US fl oz", "gal_us": "US gal"}
_BARE = re.compile(r"[+-]?\d+(?:[.,]\d+)?")
_CLOCK = re.compile(r"([01]?\d|2[0-3])[:.]([0-5]\d)")
_AHEAD = timedelta(minutes=10)


class Sending(BaseModel):
    """What every form of a step page carries."""

    entry_key: str = ""
    at: str = ""
    seen: str = ""
    units: Literal["", "metric", "us"] = ""
    """Units the form was shown in; "" for those of the settings."""
    anyway: str = ""
    """Anything: go on although a lot that the step takes is not in the record yet. Where something
    typed was asked about: which questions were answered with "it is so", and of which value."""
    take_back: str = ""
    """Id of an entry that was the slip, and not this one."""


def typed_in(visit: Visit, sent: Sending) -> Visit:
    """Return the visit in the units its form was shown in.

    A form may wait in an outbox while the settings change; its numbers mean what stood beside the
    fields, and a form that comes back has the same units beside them as before.
    """
    if not sent.units or sent.units == visit.preferences.units:
        return visit
    preferences = replace(visit.preferences, units=sent.units)
    visit.request.state.preferences = preferences
    return replace(visit, preferences=preferences)


def asked_of(visit: Visit, usual: Mapping[str, str]) -> FormState:
    """Return the form of a question in the address, with what is usual where nothing is asked.

    The address carries the units that stood beside the fields, and the page is shown in them
    whatever the settings say by now.
    """
    query: Mapping[str, str] = visit.request.query_params
    values = {name: query.get(name, value)[:60] for name, value in usual.items()}
    form = FormState(values, system=visit.preferences.units)
    if query.get("units", "metric") not in ("metric", "us"):
        form.fault("units", "metric or us", "Send the form from its page again.", "Units")
    return form


def form_of(sent: BaseModel) -> FormState:
    """Return a form as it was typed; choices of several are left out."""
    values = {name: value for name, value in sent if isinstance(value, str)}
    return FormState(values, system="us" if values.get("units") == "us" else "metric")


def unit_beside(kind: str, system: System) -> str:
    """Return the unit a bare number is taken in."""
    metric, us = UNITS[kind]
    return us if system == "us" else metric


def unit_shown(kind: str, system: System) -> str:
    """Return the same unit as it stands beside the field."""
    unit = unit_beside(kind, system)
    return _SHOWN.get(unit, unit)


def with_unit(text: str, unit: str) -> str:
    """Return a typed number with the unit beside the field, unless it has one of its own."""
    bare = text.strip()
    return f"{bare} {_SHOWN.get(unit, unit)}" if unit and _BARE.fullmatch(bare) else bare


def amount(
    form: FormState,
    name: str,
    label: str,
    *,
    dimension: str,
    unit: str,
    required: bool = False,
) -> float | None:
    """Return a quantity of a form in SI; a bare number is in the unit beside the field."""
    typed = form.text(name, label, required=required)
    if not typed or name in form.errors:
        return None
    return form.tried(
        name,
        label,
        lambda: advised(
            typed,
            dimension,
            lambda: parse_quantity(with_unit(typed, unit), dimension, field=label),
        ),
    )


def reading(
    form: FormState,
    name: str,
    *,
    step: str,
    quantity: str,
    label: str,
    unit: str,
    temperature: str = "",
    temperature_unit: str = "°C",
    instrument: str = "",
    required: bool = False,
) -> ReadingTaken | None:
    """Return the reading typed into a field, or None if it is empty or cannot be.

    Parameters
    ----------
    form : FormState
    name : str
        Field of the value.
    step, quantity, label, unit : str
    temperature : str
        Field of the liquid's temperature; "" when there is none.
    temperature_unit, instrument : str
    required : bool

    Returns
    -------
    reading : ReadingTaken or None
    """
    typed = form.text(name, label, required=required)
    if not typed or name in form.errors:
        return None
    warmth = with_unit(form.values.get(temperature, ""), temperature_unit) if temperature else ""

    kind = QUANTITIES[quantity].dimension

    def read() -> Typed:
        if kind == "gravity":
            meant_gravity(typed, label)
        found = advised(
            typed,
            kind,
            lambda: read_typed(quantity, with_unit(typed, unit), temperature=warmth),
        )
        check_value(quantity, found.value, found.temperature, found.reference)
        return found

    found = form.tried(name, label, read)
    if found is None:
        return None
    return ReadingTaken(
        step, quantity, found.value, found.temperature, found.reference, found.uncertainty,
        instrument, as_entered=found.as_entered,
    )  # fmt: skip


def entry_of(visit: Visit, form: FormState) -> Entry:
    """Return how a form was entered: its key and when it was so.

    ``at`` is a time on the workshop's clock; "" for the moment it was typed.
    """
    entry = visit.entry(form.values.get("entry_key", "")[:200])
    return replace(entry, utc=_moment(visit, form, entry.entered_utc or visit.now))


def seen_of(form: FormState) -> int | None:
    """Return the version of the batch that the page was made from."""
    text = form.values.get("seen", "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 12 else None


def _moment(visit: Visit, form: FormState, typed_at: datetime) -> datetime | None:
    typed = form.values.get("at", "").strip()
    if not typed:
        return None
    here = visit.preferences.local(typed_at)
    clock = _CLOCK.fullmatch(typed)
    if clock:
        hour, minute = int(clock[1]), int(clock[2])
        found = here.replace(hour=hour, minute=minute, second=0, microsecond=0)
        # A time of day that is still to come was yesterday's.
        return found - timedelta(days=1) if found > here + _AHEAD else found
    try:
        plain = datetime.fromisoformat(typed)
        return plain if plain.tzinfo else plain.replace(tzinfo=here.tzinfo)
    except ValueError:
        form.fault(
            "at",
            "a time of day such as 14:05, or a day and a time such as 2027-03-01 14:05",
            "Leave it empty for now.",
            "When it was",
        )
        return None


def keep(
    visit: Visit,
    batch: str,
    form: FormState,
    *bodies: Body,
    field: str,
    label: str,
    doubts: Iterable[Doubt] = (),
) -> bool:
    """Record facts as a form says; a refusal goes to a field. Return whether they are kept.

    What is doubtful is asked about first. An entry that waited in an outbox is kept, with a note
    of what would have been asked; one that is in the record already is not asked about again.
    """
    entry = entry_of(visit, form)
    if not form.good:
        return False
    known = visit.record.store.find_key(entry.key) if entry.key else ()
    notes = tuple(one.body for one in known if _is_mark(one.body))
    if not known:
        state = visit.record.batch(batch)
        utc = entry.utc or entry.entered_utc or visit.now
        odd = (*time_doubts(state, bodies, utc, shown=moment_of(visit)), *doubts)
        for one in bodies if odd else ():  # what cannot be is refused before it is asked about
            form.tried(field, label, partial(check_body, state, one, utc))
        notes = _asked_or_marked(visit, form, bodies[0], odd)
    act = _kept(visit, batch, (*bodies, *notes), entry)
    return _tried_if_good(form, field, label, act)


def _asked_or_marked(
    visit: Visit, form: FormState, body: Body, odd: tuple[Doubt, ...]
) -> tuple[Body, ...]:
    """Put questions to the form; return the note that takes their place where nobody is there."""
    mark = late_note(body, ask(visit, form, odd)) if form.good else None
    return () if mark is None else (mark,)


def _tried_if_good(form: FormState, field: str, label: str, act: Callable[[], object]) -> bool:
    if form.good:
        form.tried(field, label, act)
    return form.good


def _is_mark(body: Body) -> bool:
    return isinstance(body, NoteWritten) and body.text.startswith(LATE)


def moment_of(visit: Visit) -> Callable[[datetime], str]:
    """Return how a moment is said to whoever is asking, with the day where it is another."""
    here = visit.preferences.local(visit.now).date()

    def shown(at: datetime) -> str:
        local = visit.preferences.local(at)
        return f"{local:%H:%M}" if local.date() == here else f"{local:%H:%M} on {local:%Y-%m-%d}"

    return shown


def ask(visit: Visit, form: FormState, doubts: Iterable[Doubt]) -> tuple[Doubt, ...]:
    """Put questions to a form, those that were answered left out.

    Returns
    -------
    unasked : tuple of Doubt
        Those of an entry that waited: nobody is there to be asked.
    """
    if visit.now - visit.typed > PRESENT:
        return tuple(one for one in doubts if one.answerable)  # totals are marked of themselves
    form.ask(doubts)
    return ()


def _kept(visit: Visit, batch: str, bodies: tuple[Body, ...], entry: Entry) -> Callable[[], object]:
    return lambda: note(visit.record, batch, *bodies, entry=entry)


def ask_ready(visit: Visit, frame: StepFrame, form: FormState) -> None:
    """Put it to the form when what a step takes is not there yet, unless the person knows.

    An entry that waited in an outbox is taken: nobody is there to be asked.
    """
    if not form.values.get("anyway", "").strip() and visit.now - visit.typed <= PRESENT:
        form.tried("anyway", "What the step takes", lambda: check_ready(frame))


def step_address(batch: str, step: str, *more: str) -> str:
    """Return the address of a step's page or of something below it."""
    return "/".join((f"/batch/{quote(batch, safe='')}/step/{quote(step, safe='')}", *more))
