# SPDX-License-Identifier: MIT
"""A command whose arguments may begin with a minus sign, so that they are judged and not lost."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from typer.core import TyperCommand, TyperOption

if TYPE_CHECKING:
    from typer._click.core import Context

__all__ = ["QuantityCommand"]

_NEGATIVE = re.compile(r"-\s*[.,]?\d")
_MINUS = "\N{MINUS SIGN}"


class QuantityCommand(TyperCommand):
    """Takes "-3 %vol" as a value, which is then refused in words, and not as an option."""

    def parse_args(self, ctx: Context, args: list[str]) -> list[str]:
        """Read the words of the command, negative values under a minus sign of their own."""
        valued = {
            name
            for option in self.params
            if isinstance(option, TyperOption) and not option.is_flag
            for name in option.opts
        }
        words: list[str] = []
        for word in args:
            free = not words or ("--" not in words and words[-1] not in valued)
            negative = free and _NEGATIVE.match(word)
            words.append(_MINUS + word[1:] if negative else word)
        return super().parse_args(ctx, words)
