# SPDX-License-Identifier: MIT
"""What people found in a glass: phases, descriptors with intensities, blind codes, a panel."""

from __future__ import annotations

import datetime as dt
import json
import math
import re
import statistics
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

from middlecut.errors import InputError, NotFoundError
from middlecut.insight.vocabulary import find_descriptor

__all__ = [
    "PHASES",
    "Panel",
    "PanelRow",
    "Tasting",
    "combine_tastings",
    "how_read",
    "read_found",
    "read_tasting",
]

PHASES = ("nose", "entry", "middle", "finish", "empty glass")
"""What is tasted one after another; the empty glass is smelled the next morning."""
HIGHEST = 10.0
UNSAID = 5.0
"""Intensity of a word given without a number: the middle of the scale."""
FAINT = 1.0
"""Intensity of a word that is called weak or faint without a number; our choice."""
_ABSENT = re.compile(
    r"^(?:no|missing|lost|vanished) | (?:is |has )?(?:missing|lost|gone|vanished)$"
)
_FAINT = re.compile(r"^(?:weak|faint|mild|too little) | (?:is )?(?:weak|faint|flat|turns flat)$")
_KEYS = ("code", "taster", "date", "text", "texts")


def _intensity(word: str, value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise InputError(f"intensity of {word}", value, "a number from 0 to 10 is wanted")
    number = float(value)
    if not math.isfinite(number) or not 0.0 <= number <= HIGHEST:
        remedy = "0 is absent, 10 the strongest you know."
        raise InputError(f"intensity of {word}", number, "intensities go from 0 to 10", remedy)
    return number


def _found(raw: Mapping[str, object]) -> Mapping[str, float]:
    found: dict[str, float] = {}
    for word, value in raw.items():
        name = find_descriptor(word).name
        if name in found:
            raise InputError("descriptor", word, f"it says the same as {name!r}, named before")
        found[name] = _intensity(word, value)
    return MappingProxyType(found)


def read_found(found: str | Mapping[str, float]) -> Mapping[str, float]:
    """Return what was found, in words of the vocabulary.

    Parameters
    ----------
    found : str or mapping of str to float
        ``"green bell pepper:3, bitter:2"``, or descriptor to intensity, 0 to 10. A word without a
        number counts 5, one called weak or faint 1, and one called missing, lost or gone, or with
        "no" before it, 0.

    Returns
    -------
    mapping of str to float
        Descriptor to intensity, 0 to 10.

    Raises
    ------
    NotFoundError
        If the vocabulary has no such word; it carries the nearest ones.
    InputError
        If an intensity is no number from 0 to 10, a word stands twice, or nothing is there.

    References
    ----------
    .. [1] :cite:t:`iso5492`.

    Examples
    --------
    >>> dict(read_found("capsicum: 3, bitter"))
    {'green bell pepper': 3.0, 'bitter': 5.0}
    >>> dict(read_found("hot:2,5, bitter: 1"))
    {'hot': 2.5, 'bitter': 1.0}
    """
    if isinstance(found, str):
        raw = _raw(found)
        result = _found(
            {_plain(word): _assumed(word) if one is None else one for word, one in raw.items()}
        )
    else:
        result = _found(found)
    if not result:
        remedy = 'Write what was found, like "green bell pepper:3, bitter:2".'
        raise InputError("descriptors", "nothing", "at least one word is needed", remedy)
    return result


def how_read(found: str | Mapping[str, float]) -> tuple[str, ...]:
    """Say which words were read as another, and where no intensity was given.

    Parameters
    ----------
    found : str or mapping of str to float
        As :func:`read_found` takes it.

    Returns
    -------
    tuple of str
        Sentences; none when every word stood there as the vocabulary has it, with its number.

    Raises
    ------
    NotFoundError
        If the vocabulary has no such word.
    InputError
        If a word stands twice or its number is none.

    References
    ----------
    .. [1] :cite:t:`iso5492`.

    Examples
    --------
    >>> how_read("wet dog, bitter:2")
    ("'wet dog' was read as grainy.", 'No number stood with wet dog: 5 of 10 was assumed.')
    """
    words: Mapping[str, float | None] = _raw(found) if isinstance(found, str) else dict(found)
    other = [
        f"{word!r} was read as {name}{_how_much(word) if number is None else ''}."
        for word, number in words.items()
        if (name := find_descriptor(_plain(word)).name) != " ".join(word.casefold().split())
    ]
    unsaid = [word for word, one in words.items() if one is None and _assumed(word) == UNSAID]
    if unsaid:
        other.append(f"No number stood with {', '.join(unsaid)}: {UNSAID:g} of 10 was assumed.")
    return tuple(other)


def _plain(word: str) -> str:
    """Return a word without what says that it is missing or weak, where it is one by itself."""
    text = " ".join(word.casefold().split())
    bare = _ABSENT.sub("", _FAINT.sub("", text)).strip()
    if bare and bare != text:
        try:
            return find_descriptor(bare).name
        except NotFoundError:
            pass
    return word


def _assumed(word: str) -> float:
    """Return the intensity of a word that was given without one."""
    text = " ".join(word.casefold().split())
    if _plain(word) == word:
        return UNSAID
    return 0.0 if _ABSENT.search(text) else FAINT if _FAINT.search(text) else UNSAID


def _how_much(word: str) -> str:
    return "" if (value := _assumed(word)) == UNSAID else f" at {value:g} of 10"


def _raw(found: str) -> dict[str, float | None]:
    """Return the words as they were written, each with its number if it has one."""
    raw: dict[str, float | None] = {}
    # A comma between the digits of a number is a decimal comma: "hot:2,5, bitter:2".
    for part in re.sub(r"(:\s*\d+),(\d+)(?=\s*(?:,|$))", r"\1.\2", found).split(","):
        word, colon, number = (piece.strip() for piece in part.partition(":"))
        if not word and not number:
            continue
        if word in raw:
            raise InputError("descriptor", word, "it stands there twice", "Keep one.")
        raw[word] = _number(word, number) if colon else None
    return raw


def _number(word: str, text: str) -> float:
    try:
        return float(text)
    except ValueError:
        allowed = "a number from 0 to 10 is wanted"
        raise InputError(f"intensity of {word}", text, allowed, 'Write "bitter:2".') from None


@dataclass(frozen=True, slots=True)
class Tasting:
    """What one person found in one glass.

    Parameters
    ----------
    code : str
        Blind code of the glass.
    phases : mapping of str to mapping of str to float
        Phase (one of :data:`PHASES`) to descriptor to intensity, 0 to 10.
    taster : str
        Who; initials will do.
    date : datetime.date or None
        When, as the caller has it.
    texts : mapping of str to str
        Free text by phase.
    text : str
        Free text on the whole.
    """

    code: str
    phases: Mapping[str, Mapping[str, float]]
    taster: str = ""
    date: dt.date | None = None
    texts: Mapping[str, str] = field(default_factory=dict)
    text: str = ""

    def __post_init__(self) -> None:
        if not self.code.strip():
            raise InputError("code", self.code, "a glass needs a code", 'Write code = "K7".')
        for phase in (*self.phases, *self.texts):
            if phase not in PHASES:
                allowed = f"the phases are {', '.join(PHASES)}"
                raise InputError("phase", phase, allowed)
        phases = {phase: _found(self.phases[phase]) for phase in PHASES if phase in self.phases}
        object.__setattr__(self, "phases", MappingProxyType(phases))
        object.__setattr__(self, "texts", MappingProxyType(dict(self.texts)))

    def to_dict(self) -> dict[str, Any]:
        """Return the tasting as plain JSON types."""
        return {
            "code": self.code,
            "taster": self.taster,
            "date": None if self.date is None else self.date.isoformat(),
            "text": self.text,
            "texts": dict(self.texts),
            "phases": {phase: dict(found) for phase, found in self.phases.items()},
        }

    def to_toml(self) -> str:
        """Return the tasting as a TOML document that :func:`read_tasting` reads."""
        lines = ["[tasting]", f"code = {_quoted(self.code)}"]
        if self.taster:
            lines.append(f"taster = {_quoted(self.taster)}")
        if self.date is not None:
            lines.append(f"date = {self.date.isoformat()}")
        if self.text:
            lines.append(f"text = {_quoted(self.text)}")
        if self.texts:
            lines += ["", "[tasting.texts]"]
            lines += [f"{_quoted(phase)} = {_quoted(text)}" for phase, text in self.texts.items()]
        for phase, found in self.phases.items():
            lines += ["", f"[tasting.phases.{_quoted(phase)}]"]
            lines += [f"{_quoted(word)} = {value:g}" for word, value in found.items()]
        return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def read_tasting(source: str | Mapping[str, Any]) -> Tasting:
    """Return a tasting from its TOML text or from a mapping such as its JSON form.

    Parameters
    ----------
    source : str or mapping
        With ``code``, and as far as wanted ``taster``, ``date``, ``text``, ``texts``, ``phases``.

    Returns
    -------
    Tasting

    Raises
    ------
    NotFoundError
        If a descriptor is unknown; it carries the nearest ones.
    InputError
        If the text is no TOML, a key is unknown or a value cannot be used.

    References
    ----------
    .. [1] :cite:t:`iso5492`.

    Examples
    --------
    >>> tasting = read_tasting({"code": "K7", "phases": {"nose": {"capsicum": 3}}})
    >>> dict(tasting.phases["nose"]), read_tasting(tasting.to_toml()) == tasting
    ({'green bell pepper': 3.0}, True)
    """
    raw: Any = source
    if isinstance(source, str):
        try:
            raw = tomllib.loads(source)
        except (ValueError, RecursionError) as error:
            raise InputError("tasting", source[:40], f"it is not TOML: {error}") from None
        raw = raw.get("tasting", raw)
    for key in raw:
        if key not in {*_KEYS, "phases"}:
            raise InputError("tasting", key, f"the keys are {', '.join((*_KEYS, 'phases'))}")
    phases, texts = raw.get("phases", {}), raw.get("texts", {})
    if not all(isinstance(one, Mapping) for one in (phases, texts, *phases.values())):
        remedy = '[tasting.phases.nose] and below it "bitter" = 2.'
        raise InputError("phases", "a single value", "a table for each phase is wanted", remedy)
    return Tasting(
        code=str(raw.get("code", "")),
        phases=phases,
        taster=str(raw.get("taster", "")),
        date=_date(raw.get("date")),
        texts={phase: str(text) for phase, text in texts.items()},
        text=str(raw.get("text", "")),
    )


def _date(raw: object) -> dt.date | None:
    if raw is None or isinstance(raw, dt.date):
        return raw
    try:
        return dt.date.fromisoformat(str(raw))
    except ValueError:
        pass
    try:
        return dt.datetime.fromisoformat(str(raw))
    except ValueError:
        raise InputError("date", raw, "a date is wanted", 'Write "2026-03-02".') from None


@dataclass(frozen=True, slots=True)
class PanelRow:
    """What several tasters make of one descriptor in one phase.

    Parameters
    ----------
    phase, descriptor : str
    median, low, high : float
        Intensity, 0 to 10; who tasted the phase and did not name it counts 0.
    named : int
        How many named it.
    """

    phase: str
    descriptor: str
    median: float
    low: float
    high: float
    named: int

    @property
    def spread(self) -> float:
        """Highest less lowest."""
        return self.high - self.low


@dataclass(frozen=True, slots=True)
class Panel:
    """Several tastings of one glass taken together.

    Parameters
    ----------
    code : str
        Of the glass.
    tasters : int
        How many tastings.
    rows : tuple of PanelRow
        By phase, the strongest first.
    """

    code: str
    tasters: int
    rows: tuple[PanelRow, ...]

    @property
    def strongest(self) -> dict[str, float]:
        """Each descriptor with its highest median over the phases, for a diagnosis."""
        found: dict[str, float] = {}
        for row in self.rows:
            if row.median > 0.0:
                found[row.descriptor] = max(found.get(row.descriptor, 0.0), row.median)
        return found


def combine_tastings(tastings: Iterable[Tasting]) -> Panel:
    """Take several tastings of one glass together.

    Parameters
    ----------
    tastings : iterable of Tasting
        All of one code.

    Returns
    -------
    Panel
        Medians and spreads.

    Raises
    ------
    InputError
        If there is none, or the codes differ.

    Notes
    -----
    The median of a few people is a summary, not a panel result: they are not trained alike.

    References
    ----------
    .. [1] :cite:t:`iso5492`.

    Examples
    --------
    >>> panel = combine_tastings(
    ...     Tasting("K7", {"nose": {"bitter": value}}) for value in (1.0, 2.0, 6.0)
    ... )
    >>> panel.rows[0].median, panel.rows[0].spread
    (2.0, 5.0)
    """
    given = list(tastings)
    codes = {one.code for one in given}
    if len(codes) != 1:
        allowed = "tastings of one glass go together"
        raise InputError("tastings", ", ".join(sorted(codes)) or "none", allowed)
    rows: list[PanelRow] = []
    for phase in PHASES:
        tasted = [one.phases[phase] for one in given if phase in one.phases]
        words = dict.fromkeys(word for found in tasted for word in found)
        part = []
        for word in words:
            values = [found.get(word, 0.0) for found in tasted]
            named = sum(word in found for found in tasted)
            middle = float(statistics.median(values))
            part.append(PanelRow(phase, word, middle, min(values), max(values), named))
        rows += sorted(part, key=lambda row: (-row.median, row.descriptor))
    return Panel(codes.pop(), len(given), tuple(rows))
