# SPDX-License-Identifier: MIT
"""A change of a plan file before it is predicted."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Change"]


@dataclass(frozen=True, slots=True)
class Change:
    """Values to write into a plan file.

    Parameters
    ----------
    title : str
        What to do, in words.
    values : tuple of (str, str)
        Dotted place and what shall stand there.
    """

    title: str
    values: tuple[tuple[str, str], ...]
