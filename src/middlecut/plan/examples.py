# SPDX-License-Identifier: MIT
"""The example plans that come with middlecut."""

from __future__ import annotations

from pathlib import Path

from middlecut.errors import NotFoundError

__all__ = ["example_names", "example_path"]

_FOLDER = Path(__file__).resolve().parent.parent / "examples"


def example_names() -> tuple[str, ...]:
    """Return the names of the example plans, in alphabetical order.

    Returns
    -------
    names : tuple of str
        Each can be given to :func:`example_path`.

    Examples
    --------
    >>> "demo" in example_names()
    True
    """
    return tuple(sorted(path.stem for path in _FOLDER.glob("*.toml")))


def example_path(name: str = "demo") -> Path:
    """Return where an example plan lies.

    Parameters
    ----------
    name : str
        One of :func:`example_names`.

    Returns
    -------
    path : pathlib.Path
        A plan file to read, not to write to.

    Raises
    ------
    NotFoundError
        If there is no such example.

    Examples
    --------
    >>> example_path("demo").name
    'demo.toml'
    """
    names = example_names()
    if name not in names:
        raise NotFoundError("example plan", name, names)
    return _FOLDER / f"{name}.toml"
