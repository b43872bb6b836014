# SPDX-License-Identifier: MIT
"""``middlecut vocabulary``: the words for what is smelled, tasted and felt."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from middlecut.cli.options import Json

if TYPE_CHECKING:
    from middlecut.insight.vocabulary import Descriptor

__all__ = ["vocabulary"]


def vocabulary(
    word: Annotated[
        str | None,
        typer.Argument(
            metavar="[WORD]",
            help="A family, or a word and whatever leads to it; all families if left out.",
            show_default=False,
        ),
    ] = None,
    *,
    json: Json = False,
) -> None:
    """List the words that tastings and diagnose understand, by family."""
    from middlecut.cli.output import columns, say, say_json  # noqa: PLC0415 - fast --help

    chosen = _chosen(word)
    if json:
        say_json(
            {
                "words": [
                    {
                        "name": one.name,
                        "family": one.family,
                        "sense": one.sense,
                        "meaning": one.meaning,
                        "synonyms": list(one.synonyms),
                    }
                    for one in chosen
                ]
            }
        )
        return
    families = dict.fromkeys(one.family for one in chosen)
    full = word is not None
    blocks = [
        _block([one for one in chosen if one.family == family], columns(), full=full)
        for family in families
    ]
    closing = (
        'Use them in middlecut diagnose --found "WORD:3, WORD:2", from 0, absent, to 10.'
        if full
        else "With a family or a word it also says what each stands for and what else leads to it."
    )
    say("\n\n".join([*blocks, closing]))


def _chosen(word: str | None) -> tuple[Descriptor, ...]:
    """Return all words, those of a family, or the one that is meant."""
    from middlecut.errors import NotFoundError  # noqa: PLC0415 - fast --help
    from middlecut.insight.vocabulary import (  # noqa: PLC0415 - its table only when needed
        descriptors,
        families,
        find_descriptor,
    )

    if word is None:
        return descriptors()
    asked = " ".join(word.casefold().split())
    if asked in families():
        return tuple(one for one in descriptors() if one.family == asked)
    try:
        return (find_descriptor(word),)
    except NotFoundError as error:
        import difflib  # noqa: PLC0415 - only for a word nobody knows

        near = difflib.get_close_matches(asked[:80], families(), n=2)
        names = tuple(dict.fromkeys((*near, *error.near)))[:3]
        raise NotFoundError("family or word", word[:80], names) from None


def _block(words: list[Descriptor], width: int, *, full: bool) -> str:
    """Return one family."""
    import textwrap  # noqa: PLC0415 - fast --help

    first = words[0]
    sense = "" if first.sense == first.family else f" ({first.sense})"
    head = f"{first.family}{sense}"
    lines = [head, "-" * len(head)]
    if not full:
        listed = ", ".join(one.name for one in words)
        return "\n".join([*lines, *textwrap.wrap(listed, width)])
    for one in words:
        also = f" Also: {', '.join(one.synonyms)}." if one.synonyms else ""
        lines += textwrap.wrap(f"{one.name}: {one.meaning}.{also}", width, subsequent_indent="  ")
    return "\n".join(lines)
