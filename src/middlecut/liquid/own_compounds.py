# SPDX-License-Identifier: MIT
"""Read compounds of the user's own, from a plan or from a library file of theirs."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Mapping

from middlecut import units
from middlecut.errors import InputError, NotFoundError
from middlecut.liquid import compounds
from middlecut.liquid.constants import GAS_CONSTANT
from middlecut.liquid.own_names import OwnAnchor, OwnCompound, OwnThreshold
from middlecut.liquid.own_volatility import own_volatility

__all__ = ["COMPOUND_KEYS", "clashes", "own_compound"]

COMPOUND_KEYS = (
    "synonyms", "cas", "formula", "molar_mass", "log_p", "boiling_point", "henry", "air_water",
    "henry_slope", "k", "relative_volatility", "stays_in_boiler", "threshold", "solubility",
    "descriptor", "source", "note",
)  # fmt: skip
"""What a section about a compound may hold."""

Note = Callable[[tuple[str, ...], InputError], None]

_MEDIA = {"water": "water", "wash": "10 % vol", "spirit": "40 % vol"}
_VOLATILITY = ("boiling_point", "henry", "air_water", "k", "relative_volatility")
_HIGHEST = 1e7
"""Of K; the highest of the tables is 2.4e5, in water."""
_THRESHOLD = 'Write for example { water = "20 µg/L", spirit = "60 µg/L" }.'
_ANCHOR = 'Write for example { "10 %vol" = 12, "60 %vol" = 0.8 }.'
_WEIGHTS = {
    "H": 1.008, "B": 10.81, "C": 12.011, "N": 14.007, "O": 15.999, "F": 18.998, "Si": 28.085,
    "P": 30.974, "S": 32.06, "Cl": 35.45, "Br": 79.904, "I": 126.904,
}  # fmt: skip
"""Standard atomic weights of what odorants are made of. [g mol⁻¹]"""


def own_compound(name: str, values: Mapping[str, object], note: Note | None = None) -> OwnCompound:
    """Return a compound of the user's own from its section.

    Parameters
    ----------
    name : str
        The user's name for it.
    values : mapping of str to object
        As they stand in the file.
    note : callable or None
        Takes the keys and the error of each value that cannot be used, so that all can be said at
        once; None raises the first.

    Returns
    -------
    compound : OwnCompound
        What is told of it, in SI.

    Raises
    ------
    InputError
        If a value cannot be used and ``note`` is None.

    Notes
    -----
    Needed are a molar mass or a formula, log P, and something that tells how it boils. A name, a
    synonym or a CAS number of a compound of the table is refused.

    References
    ----------
    .. [1] :cite:t:`sander2015`, definitions of the Henry constant.

    Examples
    --------
    >>> told = {"formula": "C8H14O2", "log_p": "2.1", "boiling_point": "215 °C"}
    >>> own_compound("meadow lactone", told).formula
    'C8H14O2'
    """
    section = _Section(name, values, note or _raise)
    section.check_keys()
    section.check_names()
    stays = section.stays()
    if not stays:
        section.check_volatility()
    found = OwnCompound(
        name=name,
        molar_mass=section.molar_mass(),
        log_p=section.log_p(needed=not stays),
        cas=section.text("cas"),
        formula=section.text("formula"),
        descriptor=section.text("descriptor"),
        source=section.text("source"),
        note=section.text("note"),
        synonyms=section.words("synonyms"),
        boiling_point=section.quantity(
            "boiling_point",
            "temperature",
            (233.15, 663.15),
            '-40 °C to 390 °C (what boils higher hardly distils: stays_in_boiler = true); "215 °C"',
        ),
        henry=section.henry(),
        henry_slope=section.quantity(
            "henry_slope", "ratio", (500.0, 15000.0), "500 to 15000, in K; 5500"
        ),
        anchors=(*section.anchors("k"), *section.anchors("relative_volatility")),
        nonvolatile=stays,
        thresholds=section.thresholds(),
        water_solubility=section.quantity(
            "solubility", "mass_concentration", (1e-6, 1e3), '0.001 mg/L to 1000 g/L; "0.2 g/L"'
        ),
    )
    section.check_sense(found)
    return found


def clashes(found: Iterable[OwnCompound]) -> dict[str, str]:
    """Return the compounds that share a name, synonym or CAS number with one before them.

    Parameters
    ----------
    found : iterable of OwnCompound
        In the order of the file.

    Returns
    -------
    clashes : dict
        Name of the later one, and of the one before it.

    Examples
    --------
    >>> clashes([OwnCompound("a", 0.1), OwnCompound("b", 0.1, synonyms=("A",))])
    {'b': 'a'}
    """
    seen: dict[str, str] = {}
    doubles: dict[str, str] = {}
    for one in found:
        for key in compounds.keys_of(one):
            first = seen.setdefault(key, one.name)
            if first != one.name:
                doubles.setdefault(one.name, first)
    return doubles


def _raise(_: tuple[str, ...], error: InputError) -> None:
    raise error


class _Section:
    """Reads the values of one section and notes what cannot be used."""

    def __init__(self, name: str, values: Mapping[str, object], note: Note) -> None:
        self.name = name
        self.values = values
        self.note = note

    def refuse(self, key: str, allowed: str, remedy: str = "", *under: str) -> None:
        value = self.values.get(key, self.name)
        self.note((key, *under), InputError(key, value, allowed, remedy))

    def check_keys(self) -> None:
        for key in self.values:
            if key not in COMPOUND_KEYS:
                known = ", ".join(COMPOUND_KEYS)
                self.refuse(
                    key, f"there is no key of that name here; the keys are {known}", "Take it out."
                )

    def check_names(self) -> None:
        if not self.name.strip():
            self.note((), InputError("name", self.name, "a compound needs a name", "Give it one."))
            return
        taken = {"water", "ethanol", "alcohol", "64-17-5", "7732-18-5", *compounds.bulk_markers()}
        for key, word in (
            ("name", self.name),
            ("cas", self.text("cas")),
            *(("synonyms", word) for word in self.words("synonyms")),
        ):
            known = word if word.casefold() in taken else _in_table(word)
            if known:
                error = InputError(
                    key, word, f"middlecut has a compound {known!r} that goes by that",
                    "Give yours another one; what the pantry says of a compound cannot be changed.",
                )  # fmt: skip
                self.note(() if key == "name" else (key,), error)

    def check_sense(self, found: OwnCompound) -> None:
        """Refuse numbers that together make what no compound is, and no still could follow."""
        if found.boiling_point is None and found.henry is None and not found.anchors:
            return
        highest = own_volatility(found).highest
        if not highest <= _HIGHEST:
            key = next(key for key in _VOLATILITY if key in self.values)
            self.refuse(
                key,
                f"with the other numbers it makes a vapour {highest:.0e} times as rich in it as "
                f"the boiling liquid; {_HIGHEST:.0e} times is the most that is followed",
                "Look at log_p and at the units of what tells how it boils.",
            )

    def check_volatility(self) -> None:
        if not any(key in self.values for key in _VOLATILITY):
            self.note(
                ("boiling_point",),
                InputError(
                    "boiling_point", self.name,
                    f"one of {', '.join(_VOLATILITY)} is needed to follow it through a still",
                    'Write for example boiling_point = "215 °C"; of what never distils write '
                    "stays_in_boiler = true.",
                ),
            )  # fmt: skip
        if "henry" in self.values and "air_water" in self.values:
            self.refuse("air_water", "henry says the same in another way", "Keep one of the two.")

    def text(self, key: str) -> str:
        raw = self.values.get(key, "")
        if isinstance(raw, str) and len(raw) <= 2000:
            return raw.strip()
        self.refuse(key, "a short text is wanted")
        return ""

    def words(self, key: str) -> tuple[str, ...]:
        raw = self.values.get(key, [])
        items = [raw] if isinstance(raw, str) else raw
        if isinstance(items, list) and all(isinstance(item, str) for item in items):
            return tuple(items)
        self.refuse(key, "a list of words is wanted")
        return ()

    def stays(self) -> str:
        raw = self.values.get("stays_in_boiler", False)
        if isinstance(raw, str) and raw.strip():
            return raw.strip()
        if not isinstance(raw, bool):
            self.refuse("stays_in_boiler", "true, false or the reason is wanted")
        given = [key for key in _VOLATILITY if key in self.values]
        if raw and given:
            self.refuse("stays_in_boiler", f"{given[0]} says that it distils", "Keep one of them.")
        return "said by the user" if raw else ""

    def quantity(
        self, key: str, dimension: str, span: tuple[float, float], words: str
    ) -> float | None:
        raw = self.values.get(key)
        return None if raw is None else self._number(key, raw, dimension, span, words)

    def _number(
        self, key: str, raw: object, dimension: str, span: tuple[float, float], words: str
    ) -> float | None:
        """Return a number within its range, which the words tell with an example after it."""
        try:
            value = units.parse_quantity(raw, dimension, field=key)
        except InputError as error:
            self.note((key,), error)
            return None
        if span[0] <= value <= span[1]:
            return value
        allowed, _, example = words.partition("; ")
        self.refuse(key, f"allowed is {allowed}", f"Write for example {key} = {example}.")
        return None

    def molar_mass(self) -> float:
        told = self._told_molar_mass()
        formula = self.text("formula")
        if not formula:
            if told is None and "molar_mass" not in self.values:
                self.refuse("molar_mass", "a molar_mass or a formula is needed",
                            'Write for example molar_mass = "142.2 g/mol".')  # fmt: skip
            return told or 0.1
        counted = _formula_mass(formula)
        if counted is None:
            self.refuse("formula", f"a formula of {', '.join(_WEIGHTS)} is wanted",
                        'Write for example "C8H14O2".')  # fmt: skip
        elif told is not None and abs(told / counted - 1.0) > 0.005:
            self.refuse("molar_mass", f"the formula makes {counted * 1e3:.2f} g/mol",
                        "Mend one of the two.")  # fmt: skip
        return told or counted or 0.1

    def _told_molar_mass(self) -> float | None:
        raw = self.values.get("molar_mass")
        if raw is None:
            return None
        text = raw.replace(" ", "") if isinstance(raw, str) else ""
        example = 'Write for example molar_mass = "142.2 g/mol".'
        if not text.endswith("/mol"):
            self.refuse("molar_mass", "a mass per mol is wanted", example)
            return None
        return self._number(
            "molar_mass",
            text.removesuffix("/mol"),
            "mass",
            (0.01, 2.0),
            '10 to 2000 g/mol; "142.2 g/mol"',
        )

    def log_p(self, *, needed: bool) -> float | None:
        if needed and "log_p" not in self.values:
            allowed = (
                "the octanol-water log P is needed: it tells how ethanol holds the compound back"
            )
            self.refuse("log_p", allowed, "Write for example log_p = 2.1.")
        return self.quantity("log_p", "ratio", (-6.0, 15.0), "-6 to 15; 2.1")

    def henry(self) -> float | None:
        share = self.quantity("air_water", "ratio", (1e-12, 1e3), "above 0, up to 1000; 0.0007")
        if share is not None:
            return 1.0 / (share * GAS_CONSTANT * 298.15)
        raw = self.values.get("henry")
        if raw is None:
            return None
        text = re.sub(r"[\s·*()]", "", raw).replace("³", "3") if isinstance(raw, str) else ""
        if not text.endswith("mol/m3Pa"):
            self.refuse("henry", "an amount per volume of water and pressure at 25 °C is wanted",
                        'Write for example henry = "0.6 mol/(m3 Pa)".')  # fmt: skip
            return None
        return self._number(
            "henry",
            text.removesuffix("mol/m3Pa"),
            "ratio",
            (1e-6, 1e8),
            '0.000001 to 1e8 mol/(m3 Pa); "0.6 mol/(m3 Pa)"',
        )

    def anchors(self, key: str) -> tuple[OwnAnchor, ...]:
        raw = self.values.get(key, {})
        if not isinstance(raw, Mapping) or (key in self.values and not raw):
            self.refuse(key, "a table of strengths of the boiling liquid is wanted", _ANCHOR)
            return ()
        found = []
        for at, value in raw.items():
            try:
                found.append(_anchor(at, value, relative=key == "relative_volatility"))
            except InputError as error:
                self.note((key, at), error)
        return tuple(found)

    def thresholds(self) -> tuple[OwnThreshold, ...]:
        raw = self.values.get("threshold", {})
        if not isinstance(raw, Mapping):
            self.refuse("threshold", "a table by medium is wanted", _THRESHOLD)
            return ()
        found = []
        for medium, value in raw.items():
            try:
                found.append(_threshold(medium, value))
            except InputError as error:
                self.note(("threshold", medium), error)
        return tuple(found)


def _in_table(word: str) -> str:
    try:
        return compounds.find(word).name
    except NotFoundError:
        return ""


def _formula_mass(formula: str) -> float | None:
    parts = re.findall(r"([A-Z][a-z]?)(\d{0,3})", formula)
    if "".join(symbol + count for symbol, count in parts) != formula.replace(" ", ""):
        return None
    if not parts or any(symbol not in _WEIGHTS or count == "0" for symbol, count in parts):
        return None
    return math.fsum(_WEIGHTS[symbol] * int(count or 1) for symbol, count in parts) * 1e-3


def _anchor(at: str, raw: object, *, relative: bool) -> OwnAnchor:
    name = "relative_volatility" if relative else "k"
    found = units.parse_strength(at, field=name)
    low, high = (0.001 if relative else 0.0), 0.96
    if found.kind != "vol_20C" or not low <= found.value <= high:
        allowed = f"a strength of the boiling liquid from {100 * low:g} to 96 %vol is wanted"
        raise InputError(name, at, allowed, _ANCHOR)
    value = units.parse_quantity(raw, "ratio", field=name)
    if not 1e-6 <= value <= 1e5:
        raise InputError(name, raw, "allowed is 0.000001 to 100000", _ANCHOR)
    return OwnAnchor(found.value, value, relative)


def _threshold(medium: str, raw: object) -> OwnThreshold:
    if medium not in _MEDIA:
        allowed = "the media are water, wash (10 % vol) and spirit (40 % vol)"
        raise InputError("threshold", medium, allowed, _THRESHOLD)
    if not isinstance(raw, Mapping):
        one = _level(raw)
        return OwnThreshold(_MEDIA[medium], one, one, one, printed=False)
    if set(raw) != {"low", "typical", "high"}:
        raise InputError("threshold", "a table", "its keys are low, typical and high", _THRESHOLD)
    low, typical, high = (_level(raw[key]) for key in ("low", "typical", "high"))
    if not low <= typical <= high:
        raise InputError("threshold", "a table", "low, typical and high have to rise", _THRESHOLD)
    return OwnThreshold(_MEDIA[medium], low, typical, high, printed=True)


def _level(raw: object) -> float:
    value = units.parse_quantity(raw, "mass_concentration", field="threshold")
    if 1e-13 <= value <= 100.0:
        return value
    raise InputError("threshold", raw, "allowed is 0.0000001 µg/L to 100 g/L", _THRESHOLD)
