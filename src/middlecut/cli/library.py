# SPDX-License-Identifier: MIT
"""The user's own ingredients and compounds, for every command that reads a plan."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from middlecut.liquid.own_ingredients import Library

__all__ = ["own_ingredients", "usual_file"]


def own_ingredients(path: Path | None = None) -> Library:
    """Return the user's own ingredients, with their compounds.

    Parameters
    ----------
    path : Path or None
        A library file named on the command line; None takes the user's own
        where there is one: MIDDLECUT_LIBRARY, or ingredients.toml in their settings folder.

    Returns
    -------
    Library
        Empty without a library.

    Raises
    ------
    InputError
        If the library cannot be read or holds something that cannot be used.
    """
    from middlecut.liquid.own_ingredients import Library, read_library  # noqa: PLC0415 - numerics

    if path is None:
        path = usual_file()
        if not path.is_file():
            return Library()
    return read_library(path)


def usual_file() -> Path:
    """Return where the user's own ingredients are kept, whether or not the file is there."""
    if named := os.environ.get("MIDDLECUT_LIBRARY"):
        return Path(named)
    import platformdirs  # noqa: PLC0415 - only when a plan or the pantry is read

    return Path(platformdirs.user_config_dir("middlecut", appauthor=False)) / "ingredients.toml"
