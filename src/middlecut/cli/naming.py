# SPDX-License-Identifier: MIT
"""Name the option a person gave and repeat what they wrote, where a function has other names."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager

from middlecut.errors import InputError, OutOfRangeError
from middlecut.units.worded import worded

__all__ = ["Given", "naming"]

Given = Mapping[str, tuple[str, str]]
"""Option and the text given for it, by the name of the argument they became."""


@contextmanager
def naming(given: Given) -> Iterator[None]:
    """Raise a range that was left again under the name of its option, in everyday units."""
    try:
        yield
    except OutOfRangeError as error:
        value, allowed = worded(error)
        option, text = given.get(error.field, (error.field, value))
        raise InputError(option, text, allowed, error.remedy) from None
