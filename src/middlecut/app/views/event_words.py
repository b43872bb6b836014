# SPDX-License-Identifier: MIT
"""Every event of the record as a sentence; the page shows its quantities in its own units."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any

from middlecut.app.batch_events import (
    BatchClosed,
    BatchOpened,
    EntryWithdrawn,
    NoteWritten,
    PlanAdopted,
    ReadingCorrected,
    ReadingTaken,
    StepFinished,
    StepStarted,
)
from middlecut.app.events import Body
from middlecut.app.quantities import QUANTITIES
from middlecut.app.shop_events import (
    DevicePaired,
    DeviceRevoked,
    SettingsChanged,
    StillCalibrated,
    StillDescribed,
)
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

__all__ = ["event_phrase"]

_Quantities = tuple[tuple[float, str], ...]


def event_phrase(body: Body, before: Body | None = None) -> Phrase:
    """Return an event as a sentence.

    Parameters
    ----------
    body : Body
    before : Body or None
        What a correction or withdrawal points at.

    Returns
    -------
    phrase : Phrase
        Words somebody typed stand in it as they are; they are escaped where they are shown.
    """
    if isinstance(body, ReadingCorrected):
        return _corrected(body, before)
    if isinstance(body, EntryWithdrawn):
        told = "an entry" if before is None else f"“{before.NAME}”"
        again = "Brought back" if isinstance(before, EntryWithdrawn) else "Withdrawn"
        return _say(f"{again}: {told}", body.reason)
    return _WORDS[type(body)](body)


def _say(words: str, *parts: str, of: _Quantities = ()) -> Phrase:
    """Join parts that are not empty; braces of what people typed are no gaps."""
    tail = " · ".join(_plain(part) for part in parts if part)
    return Phrase(f"{words} · {tail}" if tail else words, of)


def _plain(text: str) -> str:
    return text.replace("{", "{{").replace("}", "}}")


def _measured(
    quantity: str, value: float, temperature: float | None, what: str, *parts: str
) -> Phrase:
    kind = QUANTITIES[quantity]
    gaps: _Quantities = ((value, kind.dimension),)
    words = f"{_plain(what)}: {{}}" if what else f"{kind.label[:1].upper()}{kind.label[1:]}: {{}}"
    if temperature is not None:
        words += " at {}"
        gaps += ((temperature, "temperature"),)
    return _say(words, *parts, of=gaps)


def _reading(body: ReadingTaken) -> Phrase:
    label = QUANTITIES[body.quantity].label
    what = f"{label[:1].upper()}{label[1:]}"
    if body.lot or body.jar:
        what += f" of {body.lot or f'jar {body.jar}'}"
    typed = f"typed “{body.as_entered}”" if body.as_entered else ""
    scale = "scale of 60 °F" if body.reference == "60F" else ""
    return _measured(
        body.quantity, body.value, body.temperature, what, scale, body.instrument, typed
    )


def _corrected(body: ReadingCorrected, before: Body | None) -> Phrase:
    if not isinstance(before, ReadingTaken):
        return _say("A reading corrected", body.as_entered, body.reason)
    kind = QUANTITIES[before.quantity]
    gaps: _Quantities = ((before.value, kind.dimension), (body.value, kind.dimension))
    words = f"Corrected, {kind.label}: {{}} becomes {{}}"
    if body.temperature is not None:
        words += " at {}"
        gaps += ((body.temperature, "temperature"),)
    if body.later:
        words += f", read {{}} {'later' if body.later > 0.0 else 'earlier'}"
        gaps += ((abs(body.later), "duration"),)
    return _say(words, body.reason, of=gaps)


def _jar(body: JarFilled) -> Phrase:
    words = f"Jar {_plain(body.jar)} filled: {{}}"
    gaps: _Quantities = ((body.volume, "volume"),)
    if body.strength is not None:
        words += ", {}" + (" as read" if body.temperature is not None else "")
        gaps += ((body.strength, "strength"),)
    if body.temperature is not None:
        words += " at {}"
        gaps += ((body.temperature, "temperature"),)
    return _say(words, body.lot or "", of=gaps)


def _power(body: PowerSet) -> Phrase:
    if body.power is not None:
        return _say("Heating set to {}", of=((body.power, "power"),))
    return _say("Heating set to {} of full power", of=((body.share or 0.0, "fraction"),))


def _water(body: WaterAdded) -> Phrase:
    words, gaps = "Water added: {}", ((body.mass, "mass"),)
    if body.temperature is None:
        return _say(words, body.lot or "", of=gaps)
    both = (*gaps, (body.temperature, "temperature"))
    return _say(f"{words} at {{}}", body.lot or "", of=both)


def _wood(body: WoodSampled) -> Phrase:
    words = f"Wood sample {_plain(body.sample)}"
    gaps: _Quantities = ()
    for value, dimension, gap in (
        (body.age, "duration", " after {}"),
        (body.volume, "volume", ", {}"),
        (body.wood_mass, "mass", " on {} of wood"),
        (body.wood_area, "area", " on {} of wood"),
        (body.strength, "strength", ", at {}"),
    ):
        if value is not None:
            words += gap
            gaps += ((value, dimension),)
    return _say(words, body.colour, ", ".join(body.descriptors), body.text, of=gaps)


def _bottles(body: BottlesFilled) -> Phrase:
    return _say(
        f"{body.count} bottles of {{}} filled at {{}}",
        f"lot {body.lot_number}" if body.lot_number else "",
        of=((body.bottle_volume, "volume"), (body.strength, "strength")),
    )


def _tasting(body: TastingMade) -> Phrase:
    words = [
        f"{phase.phase}: {', '.join(phase.descriptors)}"
        for phase in body.phases
        if phase.descriptors
    ]
    code = f"code {body.code}" if body.code else ""
    score = f"{body.score:g} points" if body.score is not None else ""
    head = f"Tasted: {_plain(body.subject)}"
    return _say(head, code, body.taster, "; ".join(words), body.text, score)


def _calibrated(body: StillCalibrated) -> Phrase:
    trust = "trustworthy" if body.trustworthy else "not to be trusted yet"
    return _say(f"Still calibrated on a run, {trust}", body.step, "; ".join(body.reasons))


def _dose(body: DoseTried) -> Phrase:
    rank = f"rank {body.rank}" if body.rank is not None else ""
    words = f"Dose tried in glass {_plain(body.glass)}: {{}}"
    return _say(words, rank, ", ".join(body.descriptors), body.text, of=((body.rate, "fraction"),))


def _addition(body: AdditionMade) -> Phrase:
    words = f"{_plain(body.ingredient)} added ({body.entry_point}): {{}}"
    return _say(words, body.form, body.supply, of=((body.amount, "mass"),))


_WORDS: Mapping[type, Callable[[Any], Phrase]] = MappingProxyType(
    {
        BatchOpened: lambda body: _say("Batch opened", body.name, body.origin),
        PlanAdopted: lambda body: _say(
            f"A plan of {len(body.steps)} steps holds from here on", body.reason
        ),
        StepStarted: lambda body: _say("Step begun", body.note),
        StepFinished: lambda body: _say("Step done", body.note),
        ReadingTaken: _reading,
        PowerSet: _power,
        CutCalled: lambda body: _say(f"Cut called: now {_plain(body.into)}", body.reason),
        JarFilled: _jar,
        JarNoted: lambda body: _say(
            f"Jar {_plain(body.jar)} smelled",
            ", ".join(body.descriptors),
            body.text,
            f"keep: {body.keep}" if body.keep else "",
        ),
        HeartsChosen: lambda body: _say(
            f"Jars {_plain(', '.join(body.jars))} go together as {_plain(body.lot)}", body.reason
        ),
        AdditionMade: _addition,
        DoseTried: _dose,
        DoseChosen: lambda body: _say(
            "Dose chosen: {}", body.reason, of=((body.rate, "fraction"),)
        ),
        WaterAdded: _water,
        WoodSampled: _wood,
        BottlesFilled: _bottles,
        TastingMade: _tasting,
        NoteWritten: lambda body: _say("Note", body.text),
        BatchClosed: lambda body: _say("Batch closed", body.outcome),
        StillDescribed: lambda body: _say(
            f"Still {_plain(body.name)} stands as described from here on", body.reason
        ),
        StillCalibrated: _calibrated,
        SettingsChanged: lambda body: _say(
            f"Setting {body.setting}: {_plain(body.value) or 'back to its default'}"
        ),
        DevicePaired: lambda body: _say(f"Device let in: {_plain(body.name)}"),
        DeviceRevoked: lambda body: _say("Device shut out", body.reason),
    }
)
"""How each kind of event is told."""
