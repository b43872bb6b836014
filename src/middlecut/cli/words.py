# SPDX-License-Identifier: MIT
"""A command whose quantities may begin with a minus sign or come as two words: 62 %vol."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from typer.core import TyperCommand, TyperOption

if TYPE_CHECKING:
    from typer._click.core import Context

__all__ = ["QuantityCommand"]

_NEGATIVE = re.compile(r"-\s*[.,]?\d")
_BARE = re.compile(r"(?:[^\s=]+=)?[+\-−]?[0-9]+(?:[.,][0-9]+)?")
_QUOTE = 'What has several words goes in quotes, such as "62 %vol".'
_LONGEST = 12
"""Letters a unit has at most."""
_REFUSED = frozenset({"gal", "gallon", "gallons", "qt", "pt", "floz"})
"""Units of several sizes, which are refused with the choice."""
_MINUS = "\N{MINUS SIGN}"


class QuantityCommand(TyperCommand):
    """Takes "-3 %vol" as a value, which is then refused in words, and not as an option.

    A number and a unit given as two words, unquoted, are taken as one quantity.
    """

    def parse_args(self, ctx: Context, args: list[str]) -> list[str]:
        """Read the words of the command, negative values under a minus sign of their own."""
        valued = {
            name
            for option in self.params
            if isinstance(option, TyperOption) and not option.is_flag
            for name in option.opts
        }
        words: list[str] = []
        for word in _joined(args):
            free = not words or ("--" not in words and words[-1] not in valued)
            negative = free and _NEGATIVE.match(word)
            words.append(_MINUS + word[1:] if negative else word)
        try:
            return super().parse_args(ctx, words)
        except Exception as error:  # of a kind that typer keeps to itself
            said = getattr(error, "message", "")
            if "extra argument" in said:
                setattr(error, "message", f"{said}\n{_QUOTE}")  # noqa: B010 - it has no public type
            raise


def _joined(args: Sequence[str]) -> list[str]:
    """Return the words as the shell split them, each unit behind the number before it."""
    words: list[str] = []
    unit = ""
    for word in args:
        number = bool(words) and (bool(unit) or _BARE.fullmatch(words[-1]) is not None)
        if number and _is_unit(f"{unit}{word}"):
            words[-1] = f"{words[-1]} {word}"
            unit += word
            continue
        words.append(word)
        unit = ""
    return words


def _is_unit(word: str) -> bool:
    if word.startswith("-") or len(word) > _LONGEST or word[0].isdigit():
        return False
    from middlecut.units import dimension_of  # noqa: PLC0415 - only after a number that stands alone

    return bool(dimension_of(word)) or word.casefold() in _REFUSED
