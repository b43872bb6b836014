# SPDX-License-Identifier: MIT
"""Why something cannot be worked out, as a page says it: without keys and names of our own."""

from __future__ import annotations

import re

from middlecut.errors import InputError, MiddlecutError, OutOfRangeError, PlanError
from middlecut.units.worded import worded

__all__ = ["reason_of"]

_KEY = re.compile(r"[\[\]_.]")


def reason_of(error: MiddlecutError) -> str:
    """Return an error as one or more sentences for a page.

    Parameters
    ----------
    error : MiddlecutError

    Returns
    -------
    reason : str
        A key of a plan or a name of our own code is left out; what is wrong and what to do stays.

    Examples
    --------
    >>> reason_of(InputError("cuts[0].until", "9 L", "that point never comes", "End it before."))
    'That point never comes. End it before.'
    """
    if isinstance(error, PlanError):
        return " ".join(f"{one.message} {one.remedy}".strip() for one in error.problems)
    if not isinstance(error, InputError):
        return str(error)
    keyed = _KEY.search(error.field) is not None
    if isinstance(error, OutOfRangeError):
        value, allowed = worded(error)
        name = error.field.replace("_", " ")
        return f"{name[:1].upper()}{name[1:]} {value}: {allowed}. {error.remedy}".rstrip()
    if keyed:
        return f"{error.allowed[:1].upper()}{error.allowed[1:]}. {error.remedy}".rstrip()
    return str(error)
