# SPDX-License-Identifier: MIT
"""What was entered for a step, as sentences; withdrawn and corrected entries stay visible."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from types import MappingProxyType
from typing import Any

from middlecut.app.batch import Batch
from middlecut.app.batch_events import (
    EntryWithdrawn,
    NoteWritten,
    ReadingCorrected,
    ReadingTaken,
    StepFinished,
    StepStarted,
)
from middlecut.app.events import Body
from middlecut.app.quantities import QUANTITIES
from middlecut.app.spirit_events import (
    AdditionMade,
    BottlesFilled,
    CutCalled,
    DoseChosen,
    DoseTried,
    HeartsChosen,
    JarFilled,
    JarNoted,
    PowerSet,
    TastingMade,
    WaterAdded,
    WoodSampled,
)
from middlecut.plan.sheet_parts import Phrase

_APART = timedelta(minutes=1)

__all__ = ["EntryRow", "entry_row", "entry_rows", "tell"]


@dataclass(frozen=True, slots=True)
class EntryRow:
    """One entry.

    Parameters
    ----------
    id : str
        Of its event.
    at, entered, synced : datetime
        When it was so, typed, and taken into the record.
    phrase : Phrase
        What it says.
    holds : bool
        False when it was withdrawn.
    corrected_by : str
        Id of the correction that holds; "" if none.
    correctable, withdrawable : bool
    device : str
        Id of the device it was typed on; "" for this computer.
    key : str
        Of the form it came from, by which a device knows that an entry of its own is in the record.
    """

    id: str
    at: datetime
    entered: datetime
    synced: datetime
    phrase: Phrase
    holds: bool
    corrected_by: str
    correctable: bool
    withdrawable: bool
    device: str
    key: str = ""

    @property
    def entered_apart(self) -> bool:
        """Whether it was typed at another time than it is of, as a clock without seconds shows."""
        return abs(self.entered - self.at) >= _APART


def entry_rows(state: Batch, step: str | None, most: int = 400) -> tuple[EntryRow, ...]:
    """Return what was entered for a step, newest first.

    Parameters
    ----------
    state : Batch
    step : str or None
        Its id; None: what belongs to no single step as well as to every step.
    most : int
        How many at most.

    Returns
    -------
    rows : tuple of EntryRow
    """
    found = [
        entry_row(state, entry.event.id)
        for entry in state.entries.values()
        if type(entry.event.body) in _WORDS and step in (None, _step_of(state, entry.event.body))
    ]
    found.reverse()  # of one moment the later entry comes first, too
    found.sort(key=lambda row: row.at, reverse=True)
    return tuple(found[:most])


def entry_row(state: Batch, entry_id: str) -> EntryRow:
    """Return one entry of a batch by its id; KeyError if there is none."""
    entry = state.entries[entry_id]
    event = entry.event
    body = event.body
    corrected = [later.id for later, one in state.of(ReadingCorrected) if one.target == event.id]
    is_reading = isinstance(body, ReadingTaken)
    return EntryRow(
        id=event.id,
        at=event.utc,
        entered=event.entered_utc,
        synced=event.synced_utc,
        phrase=tell(body, state),
        holds=entry.holds,
        corrected_by=corrected[-1] if corrected else "",
        correctable=entry.holds and is_reading,
        withdrawable=entry.holds and type(body) in _WORDS,
        device=event.who.device,
        key=event.key,
    )


def tell(body: Body, state: Batch) -> Phrase:
    """Return what an entry says, with its quantities.

    Parameters
    ----------
    body : Body
        Of a batch.
    state : Batch
        For entries that point at others.

    Returns
    -------
    phrase : Phrase
    """
    words = _WORDS.get(type(body))
    return Phrase(_plain(body.NAME)) if words is None else words(body, state)


def _step_of(state: Batch, body: Body) -> str | None:
    target = getattr(body, "target", None)
    if isinstance(target, str) and target in state.entries:
        return _step_of(state, state.entries[target].event.body)
    step = getattr(body, "step", None)
    return step if isinstance(step, str) else None


def _plain(text: str) -> str:
    return text.replace("{", "(").replace("}", ")")


def _with(text: str, *more: str) -> str:
    """Return a sentence with further words after it, where there are any."""
    tail = ". ".join(_plain(part) for part in more if part)
    return f"{text}. {tail}" if tail else text


def _started(body: StepStarted, _state: Batch) -> Phrase:
    return Phrase(_with("started", body.note))


def _finished(body: StepFinished, _state: Batch) -> Phrase:
    return Phrase(_with("finished", body.note))


def _reading(body: ReadingTaken, _state: Batch) -> Phrase:
    kind = QUANTITIES[body.quantity]
    of = (
        f" of {_plain(body.lot)}" if body.lot else f" of jar {_plain(body.jar)}" if body.jar else ""
    )
    return _measured(f"{kind.label}{of}", body, kind.dimension, body.instrument)


def _measured(
    label: str, body: ReadingTaken | ReadingCorrected, dimension: str, instrument: str = ""
) -> Phrase:
    value, shown = body.value, dimension
    if body.reference == "60F":
        value, shown = 200.0 * body.value, "proof"
    template, quantities = f"{label} {{}}", [(value, shown)]
    if body.temperature is not None:
        template += " at {}"
        quantities.append((body.temperature, "temperature"))
    if instrument:
        template += f", {_plain(instrument)}"
    return Phrase(template, tuple(quantities))


def _correction(body: ReadingCorrected, state: Batch) -> Phrase:
    target = state.entries[body.target].event.body
    kind = QUANTITIES[target.quantity] if isinstance(target, ReadingTaken) else None
    label = "corrected" if kind is None else f"corrected: {kind.label}"
    phrase = _measured(label, body, "ratio" if kind is None else kind.dimension)
    if body.later:
        words = f"{phrase.template}, read {{}} {'later' if body.later > 0.0 else 'earlier'}"
        phrase = Phrase(words, (*phrase.quantities, (abs(body.later), "duration")))
    return Phrase(_with(phrase.template, body.reason), phrase.quantities)


def _withdrawal(body: EntryWithdrawn, state: Batch) -> Phrase:
    target = tell(state.entries[body.target].event.body, state)
    return Phrase(_with(f"withdrew the entry: {target.template}", body.reason), target.quantities)


def _power(body: PowerSet, _state: Batch) -> Phrase:
    if body.share is not None:
        return Phrase("heat set to {} of full power", ((body.share, "fraction"),))
    return Phrase("heat set to {}", ((body.power or 0.0, "power"),))


def _cut(body: CutCalled, _state: Batch) -> Phrase:
    return Phrase(_with(f"cut to {_plain(body.into)}", body.reason))


def _jar(body: JarFilled, _state: Batch) -> Phrase:
    template, quantities = f"jar {_plain(body.jar)} filled: {{}}", [(body.volume, "volume")]
    if body.strength is not None:
        proof = body.reference == "60F"
        template += " at {}"
        quantities.append((200.0 * body.strength if proof else body.strength,
                           "proof" if proof else "strength"))  # fmt: skip
    if body.temperature is not None:
        template += ", read at {}"
        quantities.append((body.temperature, "temperature"))
    return Phrase(template + (f", {_plain(body.lot)}" if body.lot else ""), tuple(quantities))


def _jar_note(body: JarNoted, _state: Batch) -> Phrase:
    words = ", ".join(body.descriptors)
    keep = {"yes": "in", "no": "out", "perhaps": "perhaps"}.get(body.keep, "")
    return Phrase(_with(f"jar {_plain(body.jar)} smelled", words, body.text, keep))


def _hearts(body: HeartsChosen, _state: Batch) -> Phrase:
    return Phrase(
        _with(f"jars {_plain(', '.join(body.jars))} go into {_plain(body.lot)}", body.reason)
    )


def _addition(body: AdditionMade, _state: Batch) -> Phrase:
    words = f"{{}} of {_plain(body.ingredient)} into the {body.entry_point}"
    more = ", ".join(part for part in (body.form, body.supply) if part)
    return Phrase(_with(words, more), ((body.amount, "mass"),))


def _tried(body: DoseTried, _state: Batch) -> Phrase:
    rank = f"rank {body.rank}" if body.rank is not None else ""
    words = f"glass {_plain(body.glass)} at {{}}"
    return Phrase(_with(words, rank, ", ".join(body.descriptors), body.text),
                  ((body.rate, "fraction"),))  # fmt: skip


def _chosen(body: DoseChosen, _state: Batch) -> Phrase:
    return Phrase(_with("dose chosen: {} of the base", body.reason), ((body.rate, "fraction"),))


def _water(body: WaterAdded, _state: Batch) -> Phrase:
    if body.temperature is None:
        return Phrase("{} of water added", ((body.mass, "mass"),))
    return Phrase(
        "{} of water added, at {}", ((body.mass, "mass"), (body.temperature, "temperature"))
    )


def _wood(body: WoodSampled, _state: Batch) -> Phrase:
    template, quantities = f"sample {_plain(body.sample)}", []
    for words, value, dimension in (
        (" of {}", body.volume, "volume"),
        (" on {}", body.wood_mass, "mass"),
        (" on {}", body.wood_area, "area"),
        (" after {}", body.age, "duration"),
        (" at {}", body.strength, "strength"),
    ):
        if value is not None:
            template += words
            quantities.append((value, dimension))
    more = (", ".join(body.descriptors), body.colour, body.text)
    return Phrase(_with(template, *more), tuple(quantities))


def _bottles(body: BottlesFilled, _state: Batch) -> Phrase:
    lot = f"lot {_plain(body.lot_number)}" if body.lot_number else ""
    return Phrase(
        _with("{} bottles of {} at {}", lot),
        ((float(body.count), "count"), (body.bottle_volume, "volume"), (body.strength, "strength")),
    )


def _tasting(body: TastingMade, _state: Batch) -> Phrase:
    phases = "; ".join(f"{one.phase}: {', '.join(one.descriptors)}" for one in body.phases)
    return Phrase(_with(f"tasted {_plain(body.subject)}", phases, body.text))


def _note(body: NoteWritten, _state: Batch) -> Phrase:
    return Phrase(_plain(body.text))


_WORDS: Mapping[type, Callable[[Any, Batch], Phrase]] = MappingProxyType(
    {
        StepStarted: _started,
        StepFinished: _finished,
        ReadingTaken: _reading,
        ReadingCorrected: _correction,
        EntryWithdrawn: _withdrawal,
        PowerSet: _power,
        CutCalled: _cut,
        JarFilled: _jar,
        JarNoted: _jar_note,
        HeartsChosen: _hearts,
        AdditionMade: _addition,
        DoseTried: _tried,
        DoseChosen: _chosen,
        WaterAdded: _water,
        WoodSampled: _wood,
        BottlesFilled: _bottles,
        TastingMade: _tasting,
        NoteWritten: _note,
    }
)
