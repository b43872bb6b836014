# SPDX-License-Identifier: MIT
"""What a form sent whose fields depend on what is in the record."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from fastapi import Depends
from starlette.requests import Request

__all__ = ["Sent", "SentForm"]


@dataclass(frozen=True, slots=True)
class Sent:
    """The fields of a form, files left out.

    Parameters
    ----------
    values : mapping of str to str
        Each field as it was typed; of several with one name the last.
    many : mapping of str to tuple of str
        Every value of each field, in order.
    """

    values: Mapping[str, str]
    many: Mapping[str, tuple[str, ...]]

    def get(self, name: str) -> str:
        """Return a field, "" if it was not sent."""
        return self.values.get(name, "")

    def all(self, name: str) -> tuple[str, ...]:
        """Return every value of a field."""
        return self.many.get(name, ())

    def whole(self, name: str) -> int | None:
        """Return a field that is a whole number, or None."""
        text = self.get(name)
        return int(text) if text.isascii() and text.isdigit() and len(text) < 12 else None


async def _sent(request: Request) -> Sent:
    form = await request.form()
    pairs = [
        (name, value.replace("\r\n", "\n"))
        for name, value in form.multi_items()
        if isinstance(value, str)
    ]
    many: dict[str, tuple[str, ...]] = {}
    for name, value in pairs:
        many[name] = (*many.get(name, ()), value)
    return Sent(dict(pairs), many)


SentForm = Annotated[Sent, Depends(_sent)]
"""Type of a page function's argument that is the whole form."""
