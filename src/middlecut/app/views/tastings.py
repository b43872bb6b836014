# SPDX-License-Identifier: MIT
"""What can be tasted of a batch, under which blind code, and what people found so far."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from middlecut.app.batch import Batch
from middlecut.app.events import Event
from middlecut.app.spirit_events import BottlesFilled, JarFilled, Phase, TastingMade
from middlecut.errors import InputError, NotFoundError
from middlecut.insight.odour import odour_profile
from middlecut.insight.tasting import PHASES, Panel, Tasting, combine_tastings
from middlecut.insight.vocabulary import descriptors, find_descriptor
from middlecut.plan.prediction import Prediction

__all__ = [
    "Glass",
    "PanelView",
    "Taste",
    "blind_codes",
    "body_of",
    "glass_of_code",
    "glasses",
    "panels",
    "poured",
    "suggested_words",
    "tastes",
]

_LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
_CODES = len(_LETTERS) * 90
_OLD_PHASES = {"palate": "middle", "mouth": "middle"}
"""Names of phases in tastings of the first shape."""

FAULT_WORDS = ("solvent", "fusel", "soapy", "cabbage", "burnt", "cardboard", "musty", "vinegar")
"""Smells that are offered whatever is predicted, because a fault is easily not predicted."""
_FORESHOTS = re.compile(r"\bfore", re.IGNORECASE)
_HEADS = re.compile(r"\bheads?\b", re.IGNORECASE)
_MOST_SMELLS = 10
_SHORT = 6


@dataclass(frozen=True, slots=True)
class Glass:
    """Something that can be tasted.

    Parameters
    ----------
    subject : str
        As the record names it.
    lot : str
        Lot of the plan it belongs to; "" for none.
    made : bool
        Whether it is there already, as far as the record knows.
    step : str
        The step that makes it.
    taken : {"tasted", "smelled", "neither"}
        What may be done with it: foreshots and what stays in the boiler are neither tasted nor
        smelled, heads are only smelled.
    """

    subject: str
    lot: str
    made: bool
    step: str = ""
    taken: Literal["tasted", "smelled", "neither"] = "tasted"


@dataclass(frozen=True, slots=True)
class Taste:
    """One tasting of the record.

    Parameters
    ----------
    id : str
        Of its event.
    at : datetime
    body : TastingMade
    tasting : Tasting
        In words of the vocabulary.
    strange : tuple of str
        Words the vocabulary does not have; they are shown and not counted.
    """

    id: str
    at: datetime
    body: TastingMade
    tasting: Tasting
    strange: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PanelView:
    """All tastings of one glass.

    Parameters
    ----------
    subject, code : str
    panel : Panel
    tastes : tuple of Taste
        Oldest first.
    """

    subject: str
    code: str
    panel: Panel
    tastes: tuple[Taste, ...]

    @property
    def found(self) -> dict[str, float]:
        """Each word with its highest median over the phases."""
        return self.panel.strongest


def glasses(state: Batch) -> tuple[Glass, ...]:
    """Return what can be tasted of a batch: what is there already comes first.

    Parameters
    ----------
    state : Batch

    Returns
    -------
    glasses : tuple of Glass
        Lots of the plan, jars and bottles.
    """
    made: list[Glass] = []
    later: list[Glass] = []
    filled = {body.step for _, body in state.of(BottlesFilled)}
    taken = _taken(state)
    for step in state.steps():
        there = step.started is not None or step.outline.step in filled
        makes, maker = step.outline.makes, step.outline.step
        lots = [Glass(lot, lot, there, maker, taken[lot]) for lot in makes if lot]
        (made if there else later).extend(lots)
    jars = [
        Glass(_jar_name(jar), jar.lot or "", True, jar.step, taken.get(jar.lot or "", "tasted"))
        for jar in state.jars()
    ]
    # A lot of which a part is set aside is made twice; it is there as soon as it was made once.
    found: dict[str, Glass] = {}
    for one in (*reversed(made), *jars, *later):
        found.setdefault(one.subject, one)
    return tuple(found.values())


def _taken(state: Batch) -> dict[str, Literal["tasted", "smelled", "neither"]]:
    """Return what may be done with each lot of the plan; cuts go by the trade's names."""
    found: dict[str, Literal["tasted", "smelled", "neither"]] = {}
    for step in state.steps():
        makes, distilled = step.outline.makes, step.outline.kind == "distil"
        for place, lot in enumerate(makes):
            residue = distilled and place == len(makes) - 1
            if residue or (distilled and _FORESHOTS.search(lot)):
                found[lot] = "neither"
            else:
                found[lot] = "smelled" if distilled and _HEADS.search(lot) else "tasted"
    return found


def _jar_name(jar: JarFilled) -> str:
    return f"jar {jar.jar} of {jar.step}"


def blind_codes(batch: str, subjects: Iterable[str], day: date) -> dict[str, str]:
    """Return the code of each glass on one day; the same every time it is asked.

    Parameters
    ----------
    batch : str
        Id of the batch.
    subjects : iterable of str
        In the order they came into being; a later one never changes an earlier code.
    day : datetime.date

    Returns
    -------
    codes : dict of str to str
        A letter and two digits by subject; nothing can be guessed from them.
    """
    taken: set[int] = set()
    found: dict[str, str] = {}
    for subject in subjects:
        text = f"{batch}\n{day.isoformat()}\n{subject}"
        place = int.from_bytes(hashlib.sha256(text.encode()).digest()[:8]) % _CODES
        while place in taken:
            place = (place + 1) % _CODES
        taken.add(place)
        letter, number = divmod(place, 90)
        found[subject] = f"{_LETTERS[letter]}{number + 10}"
    return found


def _in_order(state: Batch) -> list[str]:
    planned = [lot for step in state.steps() for lot in step.outline.makes if lot]
    return [*dict.fromkeys((*planned, *(_jar_name(jar) for jar in state.jars())))]


def poured(state: Batch, day: date) -> tuple[tuple[str, str], ...]:
    """Return each glass that is there and may be tasted with its code of a day."""
    codes = blind_codes(state.id, _in_order(state), day)
    there = [one for one in glasses(state) if one.made and one.taken == "tasted"]
    return tuple((one.subject, codes[one.subject]) for one in there)


def glass_of_code(state: Batch, code: str, days: Iterable[date]) -> str:
    """Return the glass behind a blind code.

    Parameters
    ----------
    state : Batch
    code : str
        Upper and lower case are alike.
    days : iterable of datetime.date
        On which it may have been poured; the first that fits counts.

    Returns
    -------
    subject : str

    Raises
    ------
    InputError
        If no glass of these days has that code.
    """
    wanted = code.strip().upper()
    for day in days:
        for subject, one in blind_codes(state.id, _in_order(state), day).items():
            if one == wanted:
                return subject
    raise InputError(
        "code",
        code,
        "no glass has that code today",
        "Look at the glass again, or choose it by name.",
    )


def body_of(tasting: Tasting, subject: str, *, score: float | None = None) -> TastingMade:
    """Return a tasting as it is recorded.

    Parameters
    ----------
    tasting : Tasting
        Its code may be that of the subject itself, for a glass that was not blind.
    subject : str
        As the record names it.
    score : float or None
        0 to 100.

    Returns
    -------
    body : TastingMade
    """
    phases = tuple(
        Phase(
            phase,
            tuple(tasting.phases.get(phase, {})),
            None,
            tuple(tasting.phases.get(phase, {}).values()),
            tasting.texts.get(phase, ""),
        )
        for phase in PHASES
        if phase in tasting.phases or tasting.texts.get(phase)
    )
    code = "" if tasting.code == subject else tasting.code
    return TastingMade(subject, phases, tasting.text, code, score, taster=tasting.taster)


def tastes(state: Batch) -> tuple[Taste, ...]:
    """Return the tastings of a batch that hold, oldest first, in words of the vocabulary."""
    return tuple(_taste(event, body) for event, body in state.of(TastingMade))


def _taste(event: Event, body: TastingMade) -> Taste:
    phases: dict[str, dict[str, float]] = {}
    texts: dict[str, str] = {}
    strange: list[str] = []
    for phase in body.phases:
        name = _OLD_PHASES.get(phase.phase, phase.phase)
        if name not in PHASES:
            strange += [f"{phase.phase}: {word}" for word in phase.descriptors]
            continue
        found = phases.setdefault(name, {})
        for word, value in _intensities(phase):
            try:
                descriptor = find_descriptor(word).name
            except NotFoundError:
                strange.append(word)
            else:
                found[descriptor] = max(found.get(descriptor, 0.0), value)
        if phase.text:
            texts[name] = phase.text
    tasting = Tasting(
        body.code or body.subject, phases, body.taster, event.utc.date(), texts, body.text
    )
    return Taste(event.id, event.utc, body, tasting, tuple(dict.fromkeys(strange)))


def _intensities(phase: Phase) -> Iterable[tuple[str, float]]:
    """Give each word with its intensity; the whole impression, 1 to 5, where words have none."""
    common = 5.0 if phase.strength is None else 2.0 * phase.strength
    values = phase.intensities or (common,) * len(phase.descriptors)
    return zip(phase.descriptors, values, strict=True)


def panels(state: Batch) -> tuple[PanelView, ...]:
    """Return what was found, glass by glass, the one tasted last first."""
    by_glass: dict[tuple[str, str], list[Taste]] = {}
    for one in tastes(state):
        by_glass.setdefault((one.body.subject, one.body.code), []).append(one)
    views = [
        PanelView(subject, code, combine_tastings(one.tasting for one in theirs), tuple(theirs))
        for (subject, code), theirs in by_glass.items()
    ]
    return tuple(sorted(views, key=lambda view: view.tastes[-1].at, reverse=True))


def suggested_words(
    prediction: Prediction | None, lot: str, used: Iterable[str] = ()
) -> Mapping[str, tuple[str, ...]]:
    """Return the words offered for a tap in each phase.

    Parameters
    ----------
    prediction : Prediction or None
        Of the plan; what can be smelled in the lot is offered first.
    lot : str
        Of the glass; "" when it is not known, as with a blind one.
    used : iterable of str
        Words that were found before.

    Returns
    -------
    words : mapping of str to tuple of str
        By phase. Every other word of the vocabulary can be typed.
    """
    expected: list[str] = []
    if prediction is not None and lot in prediction.lots and prediction.lots[lot].volume > 0.0:
        for row in odour_profile(prediction.lots[lot]).rows:
            if row.oav_high >= 1.0:
                expected += row.descriptors[:1]
    known = {one.name: one.sense for one in descriptors()}
    # What cannot be perceived by itself is no word to tap.
    smells = [word for word in dict.fromkeys((*used, *expected)) if known.get(word) == "smell"]
    smells = [word for word in smells if word != "near odourless"][:_MOST_SMELLS]
    smells = [*dict.fromkeys((*smells, *FAULT_WORDS))]
    taste = [word for word, sense in known.items() if sense == "taste"]
    mouthfeel = [word for word, sense in known.items() if sense == "mouthfeel"]
    few = smells[:_SHORT]
    return {
        "nose": tuple(smells),
        "entry": (*taste, *mouthfeel),
        "middle": (*smells[:_MOST_SMELLS], *taste, "thin", "full"),
        "finish": ("bitter", "astringent", "warming", "hot", "sweet taste", *few),
        "empty glass": tuple(dict.fromkeys((*few, "vanilla", "bready", "fusel"))),
    }
