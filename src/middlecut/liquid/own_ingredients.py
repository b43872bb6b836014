# SPDX-License-Identifier: MIT
"""Read ingredients of the user's own, from a plan or from a library file of theirs."""

from __future__ import annotations

import os
import tomllib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TypeVar, cast

from middlecut import units
from middlecut.errors import InputError, NotFoundError
from middlecut.liquid import compounds as compound_table
from middlecut.liquid import extraction_table, ingredients
from middlecut.liquid.ingredients import FORMS, Form, Ingredient, Marker
from middlecut.liquid.own_compounds import clashes, own_compound
from middlecut.liquid.own_names import OwnCompound, unknown_name

__all__ = ["KEYS", "Library", "own_ingredient", "read_library", "with_compounds"]

KEYS = (
    "like", "synonyms", "kinetics", "form", "bulk_density", "water_absorption", "moisture",
    "lipid_share", "soluble_share", "markers", "safety", "source", "note",
)  # fmt: skip
"""What a section about an ingredient may hold."""

LARGEST = 1_000_000

_SHARES = {"moisture": 0.98, "lipid_share": 0.95, "soluble_share": 0.95}
_EXAMPLE = 'Write for example { linalool = "12 mg/kg" }, or a table with low, typical and high.'

T = TypeVar("T")
Note = Callable[[tuple[str, ...], InputError], None]


class Library(tuple[Ingredient, ...]):  # noqa: SLOT001 - a tuple may have none that hold
    """The ingredients of a library file, and the compounds that it describes beside them.

    Parameters
    ----------
    ingredients : iterable of Ingredient
        What it holds as a tuple.
    compounds : iterable of OwnCompound
        Of the user's own.
    """

    compounds: tuple[OwnCompound, ...]

    def __new__(  # noqa: D102 - the class says it
        cls, ingredients: Iterable[Ingredient] = (), compounds: Iterable[OwnCompound] = ()
    ) -> Library:
        found = super().__new__(cls, ingredients)
        found.compounds = tuple(compounds)
        return found

    def __eq__(self, other: object) -> bool:
        if isinstance(other, Library) and self.compounds != other.compounds:
            return False
        return tuple.__eq__(self, other)

    def __ne__(self, other: object) -> bool:
        return not self == other

    def __hash__(self) -> int:
        return tuple.__hash__(self)


def own_ingredient(
    name: str,
    values: Mapping[str, object],
    note: Note | None = None,
    compounds: Iterable[OwnCompound] = (),
) -> Ingredient:
    """Return an ingredient of the user's own from its section.

    ``like`` names an ingredient of the table whose properties and markers are taken where the
    section gives none. Markers that are given replace that of the same compound.

    Parameters
    ----------
    name : str
        The user's name for it.
    values : mapping of str to object
        As they stand in the file.
    note : callable or None
        Takes the keys and the error of each value that cannot be used, so that all can be said at
        once; None raises the first.
    compounds : iterable of OwnCompound
        The user's own, which markers may name.

    Returns
    -------
    ingredient : Ingredient
        With basis "estimate": nobody has said how the numbers were measured.

    Raises
    ------
    InputError
        If a value cannot be used and ``note`` is None.

    Notes
    -----
    A marker that is no compound of the table nor of the user's own stays in the boiler: its
    volatility is unknown.

    Examples
    --------
    >>> markers = {"linalool": "2 mg/kg"}
    >>> quince = own_ingredient("quince", {"like": "raspberries", "markers": markers})
    >>> [m.typical for m in quince.markers if m.compound == "linalool"]
    [2e-06]
    """
    section = _Section(values, note or _raise)
    section.check_keys()
    base = section.base(name)
    if base is None and "markers" not in values:
        section.note(
            ("markers",),
            InputError("markers", name, "an ingredient needs markers, or like", _EXAMPLE),
        )
    markers = {marker.compound: marker for marker in (base.markers if base else ())}
    markers |= {marker.compound: marker for marker in section.markers(tuple(compounds))}
    start = base or _PLAIN
    return replace(
        start,
        name=name,
        synonyms=section.words("synonyms"),
        group="own",
        kinetics=section.one_of("kinetics", extraction_table.classes(), start.kinetics),
        usual_form=cast("Form", section.one_of("form", FORMS, start.usual_form)),
        bulk_density=section.density(start.bulk_density),
        water_absorption=section.absorption(start.water_absorption),
        moisture=section.share("moisture", start.moisture),
        lipid_share=section.share("lipid_share", start.lipid_share),
        soluble_share=section.share("soluble_share", start.soluble_share),
        markers=tuple(markers.values()),
        safety=section.words("safety") or start.safety,
        basis="estimate",
        note=str(values.get("note", "")),
        own=True,
    )


def with_compounds(ingredient: Ingredient, compounds: Iterable[OwnCompound]) -> Ingredient:
    """Return an ingredient whose markers mean these compounds wherever they bear their names.

    Parameters
    ----------
    ingredient : Ingredient
        Of a library, say.
    compounds : iterable of OwnCompound
        Of the plan that it is used in.

    Returns
    -------
    ingredient : Ingredient
        The same where nothing changes.
    """
    known = tuple(compounds)
    markers = tuple(
        replace(marker, compound=marker_name(str(marker.compound), known))
        for marker in ingredient.markers
        if known
    )
    return replace(ingredient, markers=markers) if known else ingredient


def marker_name(name: str, compounds: Iterable[OwnCompound]) -> str:
    """Return the name of a marker's compound; one that nobody describes is marked as unknown."""
    try:
        return compound_table.find(name, compounds).name
    except NotFoundError:
        return unknown_name(name)


def read_library(path: str | os.PathLike[str]) -> Library:
    """Read a file of the user's own ingredients and compounds.

    Parameters
    ----------
    path : str or path
        A TOML file of ``[ingredient.NAME]`` and ``[compound.NAME]`` sections, as in a plan.

    Returns
    -------
    library : Library
        The ingredients in the order of the file, with ``.compounds``.

    Raises
    ------
    InputError
        If the file cannot be read or a value cannot be used; names file, section and key.
    """
    name = os.fspath(path)
    try:
        raw = Path(path).read_bytes()
        if len(raw) > LARGEST:
            raise InputError(name, f"{len(raw)} bytes", "a library has at most 1 MB")
        document = tomllib.loads(raw.decode("utf-8-sig"))
    except OSError as error:
        reason = error.strerror or "unknown reason"
        raise InputError(name, "the file", f"it cannot be read: {reason}") from None
    except (UnicodeDecodeError, tomllib.TOMLDecodeError, RecursionError) as error:
        raise InputError(name, "the file", f"it is not TOML in UTF-8: {error}") from None
    if set(document) - {"ingredient", "compound"}:
        allowed = "a library holds [ingredient.NAME] and [compound.NAME] sections only"
        raise InputError(name, ", ".join(document), allowed)
    known = tuple(
        _library_section(name, "compound", key, values, own_compound)
        for key, values in _sections(name, document, "compound")
    )
    for later, first in clashes(known).items():
        where = f"{name}: compound.{later}"
        allowed = f"compound.{first} has the same name, synonym or CAS number"
        raise InputError(where, later, allowed, "Keep one of the two.")
    read = partial(own_ingredient, compounds=known)
    return Library(
        (
            _library_section(name, "ingredient", key, values, read)
            for key, values in _sections(name, document, "ingredient")
        ),
        known,
    )


def _sections(path: str, document: Mapping[str, object], kind: str) -> Iterable[tuple[str, object]]:
    sections = document.get(kind, {})
    if not isinstance(sections, Mapping):
        raise InputError(f"{path}: {kind}", sections, "a section is wanted", f"[{kind}.NAME]")
    return sections.items()


def _library_section(
    path: str, kind: str, name: str, values: object, read: Callable[[str, Mapping[str, object]], T]
) -> T:
    where = f"{path}: {kind}.{name}"
    if not isinstance(values, Mapping):
        raise InputError(where, values, f"each {kind} is a table", f"Write [{kind}.{name}].")
    try:
        return read(name, values)
    except InputError as error:
        raise InputError(
            f"{where}.{error.field}", error.value, error.allowed, error.remedy
        ) from None


_PLAIN = Ingredient(
    name="", synonyms=(), group="own", kinetics="berry", usual_form="coarse", bulk_density=400.0,
    water_absorption=1.5, moisture=0.1, lipid_share=0.05, soluble_share=0.1, markers=(),
)  # fmt: skip


def _raise(_: tuple[str, ...], error: InputError) -> None:
    raise error


class _Section:
    """Reads the values of one section and notes what cannot be used."""

    def __init__(self, values: Mapping[str, object], note: Note) -> None:
        self.values = values
        self.note = note

    def check_keys(self) -> None:
        for key in self.values:
            if key not in KEYS:
                allowed = f"there is no key of that name here; the keys are {', '.join(KEYS)}"
                self.note((key,), InputError(key, self.values[key], allowed, "Take it out."))

    def base(self, name: str) -> Ingredient | None:
        like = self.values.get("like")
        if like is None:
            try:
                return ingredients.find(name)
            except NotFoundError:
                return None
        try:
            return ingredients.find(str(like))
        except NotFoundError as error:
            self.note(("like",), InputError("like", like, "no ingredient goes by that name",
                                            _did_you_mean(error.near)))  # fmt: skip
            return None

    def words(self, key: str) -> tuple[str, ...]:
        raw = self.values.get(key, [])
        items = [raw] if isinstance(raw, str) else raw
        if isinstance(items, list) and all(isinstance(item, str) for item in items):
            if key != "safety" or set(items) <= set(ingredients.safety_codes()):
                return tuple(items)
            allowed = f"the cautions are {', '.join(ingredients.safety_codes())}"
        else:
            allowed = "a list of words is wanted"
        self.note((key,), InputError(key, raw, allowed))
        return ()

    def one_of(self, key: str, allowed: Iterable[str], default: str) -> str:
        value = self.values.get(key, default)
        choices = tuple(allowed)
        if value in choices:
            return str(value)
        self.note((key,), InputError(key, value, f"allowed is {', '.join(choices)}"))
        return default

    def density(self, default: float) -> float:
        return self._number("bulk_density", default, 20.0, 2000.0, '"400 g/L"')

    def absorption(self, default: float) -> float:
        return self._number("water_absorption", default, 0.0, 20.0, "1.5")

    def share(self, key: str, default: float) -> float:
        return self._number(key, default, 0.0, _SHARES[key], '"10 %"')

    def _number(self, key: str, default: float, low: float, high: float, example: str) -> float:
        raw = self.values.get(key)
        if raw is None:
            return default
        dimension = {"bulk_density": "mass_concentration", "water_absorption": "ratio"}
        try:
            value = units.parse_quantity(raw, dimension.get(key, "fraction"), field=key)
        except InputError as error:
            self.note((key,), error)
            return default
        if low <= value <= high:
            return value
        self.note((key,), InputError(key, raw, f"allowed is {low:g} to {high:g} in SI",
                                     f"Write for example {example}."))  # fmt: skip
        return default

    def markers(self, compounds: tuple[OwnCompound, ...]) -> list[Marker]:
        raw = self.values.get("markers", {})
        if not isinstance(raw, Mapping):
            self.note(("markers",), InputError("markers", raw, "a table is wanted", _EXAMPLE))
            return []
        found = []
        for name, value in raw.items():
            try:
                low, typical, high = _content(value)
            except InputError as error:
                self.note(("markers", name), error)
                continue
            source = str(self.values.get("source", "own"))
            found.append(Marker(marker_name(name, compounds), tracked=True, low=low,
                                typical=typical, high=high, source=source))  # fmt: skip
        return found


def _content(value: object) -> tuple[float, float, float]:
    if not isinstance(value, Mapping):
        one = _share_of_mass(value)
        return one, one, one
    if set(value) != {"low", "typical", "high"}:
        raise InputError("markers", "a table", "its keys are low, typical and high", _EXAMPLE)
    low, typical, high = (_share_of_mass(value[key]) for key in ("low", "typical", "high"))
    if not low <= typical <= high:
        raise InputError("markers", "a table", "low, typical and high have to rise", _EXAMPLE)
    return low, typical, high


def _share_of_mass(raw: object) -> float:
    """Return a content such as "12 mg/kg" as mass per mass."""
    text = raw.replace(" ", "") if isinstance(raw, str) else ""
    if text.endswith("/kg"):
        share = units.parse_quantity(text.removesuffix("/kg"), "mass", field="content")
        if 0.0 <= share <= 1.0:
            return share
    raise InputError("content", raw, "a mass per kilogram is wanted, at most 1 kg/kg", _EXAMPLE)


def _did_you_mean(near: tuple[str, ...]) -> str:
    return f"Did you mean {' or '.join(map(repr, near))}?" if near else ""
