# SPDX-License-Identifier: MIT
"""Read one reading or mark written on a line: "20 min, 73 %vol at 26 °C"."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from middlecut.errors import InputError
from middlecut.insight.reading_names import ALSO, known_name, unit_in
from middlecut.insight.run_log_csv import entry_of
from middlecut.units import dimension_of

if TYPE_CHECKING:
    from middlecut.insight.readings import Reading
    from middlecut.insight.run_marks import Mark

__all__ = ["parse_line"]

_FORM = (
    'Write it like "20 min, 73 %vol at 26 °C", "20 min, 1.2 L", "20 min, head 79.3 °C" or '
    '"20 min, first drop".'
)
_BY_UNIT = {
    "strength": "distillate_strength",
    "volume": "collected_volume",
    "mass": "collected_mass",
    "gravity": "gravity",
}


def parse_line(text: str, *, field: str = "--read") -> Reading | Mark:
    """Return the reading or mark of one line of words.

    Parameters
    ----------
    text : str
        The time, a comma and a space, then what was read, with its name where the unit does not
        say it; a strength or gravity with the temperature of its sample after "at".
    field : str
        Name of the option, for messages.

    Returns
    -------
    Reading or Mark
        In SI, not yet checked.

    Raises
    ------
    InputError
        If it cannot be read or leaves open what was read.

    Examples
    --------
    >>> parse_line("20 min, 73 %vol at 26 °C").quantity
    'distillate_strength'
    >>> parse_line("48 min, cut heads")
    Mark(time=2880.0, kind='cut', value=None, cut='heads')
    """
    time, _, rest = (
        part.strip() for part in re.sub(r"[,;]\s+", "\n", text, count=1).partition("\n")
    )
    if not time or not rest:
        raise InputError(field, text, "a time, a comma and what was read or done are wanted", _FORM)
    said, _, temperature = (part.strip() for part in rest.partition(" at "))
    name, value = _named(said, text, field)
    row = {"time": time, "quantity": name, "value": value, "temperature": temperature}
    try:
        return entry_of(row)
    except InputError as error:
        raise InputError(field, text, _clause(error), error.remedy or _FORM) from None


def _clause(error: InputError) -> str:
    """Return the error about a part of the line as a clause about the whole."""
    return f"{error.field} {error.value!r}: {error.allowed}"


def _named(said: str, text: str, field: str) -> tuple[str, str]:
    """Return the name and the value in what was said."""
    lowered = said.casefold()
    for word in sorted((*ALSO, "cut"), key=len, reverse=True):
        if ALSO.get(word, word) == "cut" and lowered.startswith(f"{word} "):
            return "cut", said[len(word) :].strip()
    match = re.search(r"(?:^|\s)[+−-]?[.,]?\d", said)
    at = len(said) if match is None else match.start()
    word, value = said[:at].strip(" :="), said[at:].strip()
    if word:
        try:
            return known_name(word, value), value
        except InputError as error:
            raise InputError(
                field, text, f"{word!r}: {error.allowed}", error.remedy or _FORM
            ) from None
    unit = unit_in(value)
    kinds = dimension_of(unit)
    name = next((_BY_UNIT[kind] for kind in kinds if kind in _BY_UNIT), "")
    if unit == "%":
        name = "distillate_strength"  # refused further on, with both things it could mean
    if unit in {"°Bx", "Bx", "Brix", "°Brix"}:
        name = "refraction"
    if name:
        return name, value
    if "temperature" in kinds:
        choice = f'Write "{_time_of(text)}, head {value}" or "{_time_of(text)}, boiler {value}".'
        raise InputError(field, text, "it does not say which temperature was read", choice)
    raise InputError(field, text, "it does not say what was read", _FORM)


def _time_of(text: str) -> str:
    """Return what stands before the first comma and space."""
    return re.split(r"[,;]\s", text, maxsplit=1)[0].strip()
