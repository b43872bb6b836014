# SPDX-License-Identifier: MIT
"""What the Tab key offers: names of examples and of ingredients, without loading the numerics."""

from __future__ import annotations

import contextlib
import os
import re
from collections.abc import Iterable

__all__ = ["examples", "ingredient_names"]

_SPECIAL = re.compile(r"([\s()'\"&;,<>|$`\\])")


def examples(incomplete: str) -> list[str]:
    """Return the example plans whose names begin so.

    Parameters
    ----------
    incomplete : str
        What was typed so far.

    Returns
    -------
    list of str
    """
    from middlecut.plan.examples import example_names  # noqa: PLC0415 - only at a Tab

    return _beginning(example_names(), incomplete)


def ingredient_names(incomplete: str) -> list[str]:
    """Return the ingredients, also the user's own, whose names begin so.

    Parameters
    ----------
    incomplete : str
        What was typed so far.

    Returns
    -------
    list of str
    """
    from middlecut.cli.library import own_ingredients, usual_file  # noqa: PLC0415 - only at a Tab
    from middlecut.errors import MiddlecutError  # noqa: PLC0415 - the same
    from middlecut.liquid import ingredients  # noqa: PLC0415 - the same

    names = ingredients.names()
    if usual_file().is_file():
        # A faulty file of one's own is told of by the command, not by a Tab.
        with contextlib.suppress(MiddlecutError):
            names = ingredients.names(own_ingredients())
    return _beginning(names, incomplete)


def _beginning(names: Iterable[str], incomplete: str) -> list[str]:
    found = [name for name in names if name.casefold().startswith(incomplete.casefold())]
    if os.environ.get("_MIDDLECUT_COMPLETE", "").endswith("_bash"):
        # This shell takes what is offered as it stands, so spaces have to be escaped.
        return [_SPECIAL.sub(r"\\\1", name) for name in found]
    return found
