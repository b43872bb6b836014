# SPDX-License-Identifier: MIT
"""``middlecut pantry``: what is known of each ingredient and compound, and how well."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from middlecut.cli.completion import ingredient_names
from middlecut.cli.options import Json

if TYPE_CHECKING:
    from collections.abc import Iterable

    from middlecut.errors import NotFoundError
    from middlecut.liquid.compounds import Compound
    from middlecut.liquid.ingredients import Ingredient, Marker
    from middlecut.liquid.own_ingredients import Library as OwnLibrary
    from middlecut.plan.sheet_parts import Column

__all__ = ["pantry"]

_LEAST_ROOM = 24
"""Columns of a table worth wrapping words into; our choice."""

pantry = typer.Typer(
    name="pantry",
    no_args_is_help=True,
    rich_markup_mode=None,
    help="List, search and show ingredients: markers, contents, where from, what to beware of; "
    "show compounds too.",
)

Library = Annotated[
    Path | None,
    typer.Option(
        "--library",
        metavar="FILE",
        help="Your own ingredients and compounds (TOML) instead of your usual file.",
        show_default=False,
    ),
]


@pantry.command("list")
def list_all(*, library: Library = None, json: Json = False) -> None:
    """List every ingredient, and your own compounds."""
    from middlecut.cli.library import own_ingredients  # noqa: PLC0415 - fast --help
    from middlecut.liquid import compounds, ingredients  # noqa: PLC0415 - the same

    own = own_ingredients(library)
    mine = [compounds.find(one.label) for one in own.compounds]
    _say_table([ingredients.find(name, own) for name in ingredients.names(own)], mine, json=json)


@pantry.command("search")
def search(
    text: Annotated[
        str,
        typer.Argument(
            metavar="TEXT",
            help="Looked for in names, marker compounds, descriptors and cautions.",
            show_default=False,
        ),
    ],
    *,
    library: Library = None,
    json: Json = False,
) -> None:
    """Find ingredients by a word: a name, a compound, a smell, a danger."""
    from middlecut.cli.library import own_ingredients  # noqa: PLC0415 - fast --help
    from middlecut.errors import NotFoundError  # noqa: PLC0415 - the same
    from middlecut.liquid import compounds, ingredients  # noqa: PLC0415 - the same

    own = own_ingredients(library)
    found = ingredients.search(text, own)
    mine = [compounds.find(one.label) for one in own.compounds]
    if mine:
        from middlecut.cli.pantry_compound import fitting  # noqa: PLC0415 - only with some

        mine = fitting(mine, text)
    if not found and not mine:
        import difflib  # noqa: PLC0415 - the same

        near = difflib.get_close_matches(text.casefold(), ingredients.names(own), n=3, cutoff=0.4)
        raise NotFoundError("ingredient or marker", text, tuple(near))
    _say_table(found, mine, json=json)


@pantry.command("show")
def show(
    name: Annotated[
        str,
        typer.Argument(
            metavar="NAME",
            help="Name or synonym of an ingredient or a compound, or a CAS number.",
            autocompletion=ingredient_names,
            show_default=False,
        ),
    ],
    *,
    library: Library = None,
    json: Json = False,
) -> None:
    """Show one ingredient, or one compound."""
    from middlecut.cli.library import own_ingredients  # noqa: PLC0415 - fast --help
    from middlecut.cli.output import columns, say, say_json  # noqa: PLC0415 - the same
    from middlecut.errors import NotFoundError  # noqa: PLC0415 - the same
    from middlecut.liquid import ingredients  # noqa: PLC0415 - the same

    own = own_ingredients(library)
    try:
        ingredient = ingredients.find(name, own)
    except NotFoundError as error:
        _show_compound(name, own, error, json=json)
        return
    if json:
        say_json(_as_json(ingredient))
    else:
        say(_page(ingredient, columns()))


def _show_compound(name: str, own: OwnLibrary, missing: NotFoundError, *, json: bool) -> None:
    """Show the compound of that name; if there is none either, say so with the nearest of both."""
    from middlecut.cli.output import columns, say, say_json  # noqa: PLC0415 - fast --help
    from middlecut.cli.pantry_compound import (  # noqa: PLC0415 - the same
        compound_as_json,
        compound_page,
    )
    from middlecut.errors import NotFoundError  # noqa: PLC0415 - the same
    from middlecut.liquid import compounds  # noqa: PLC0415 - the same

    try:
        found = compounds.find(name, own.compounds)
    except NotFoundError as error:
        near = (*missing.near, *error.near)[:4]
        raise NotFoundError("ingredient or compound", name, near) from None
    if json:
        say_json({"compound": compound_as_json(found)})
    else:
        say(compound_page(found, columns()))


def _say_table(found: Iterable[Ingredient], mine: list[Compound], *, json: bool) -> None:
    from middlecut.cli.output import columns, say, say_json  # noqa: PLC0415 - fast --help
    from middlecut.plan.sheet_parts import Column  # noqa: PLC0415 - the same
    from middlecut.plan.text_table import lay_out  # noqa: PLC0415 - the same

    rows = list(found)
    if json:
        page: dict[str, Any] = {"ingredients": [_as_json(one) for one in rows]}
        if mine:
            from middlecut.cli.pantry_compound import compound_as_json  # noqa: PLC0415 - some

            page["compounds"] = [compound_as_json(one) for one in mine]
        say_json(page)
        return
    head = [Column("ingredient"), Column("kind"), Column("markers")]
    body = [
        [one.name, one.group, ", ".join(marker.compound for marker in one.markers[:4])]
        for one in rows
    ]
    lines = lay_out(head, body, width=columns())
    count = f"{len(rows)} ingredient{'s' if len(rows) != 1 else ''}; middlecut pantry show NAME"
    if mine:
        from middlecut.cli.pantry_compound import compound_table  # noqa: PLC0415 - only with some

        lines += ["", *compound_table(mine, columns())]
    say("\n".join([*lines, "", f"{count} says what is known of one."]))


def _as_json(ingredient: Ingredient) -> dict[str, Any]:
    from dataclasses import asdict  # noqa: PLC0415 - fast --help

    from middlecut.liquid import ingredients  # noqa: PLC0415 - the same

    page: dict[str, Any] = ingredient.to_dict()
    page["markers"] = [
        {**asdict(marker), "works": list(ingredients.sources_of(marker))}
        for marker in ingredient.markers
    ]
    page["food_safety"] = [asdict(fact) for fact in ingredients.food_safety(ingredient)]
    return page


def _page(ingredient: Ingredient, width: int) -> str:
    from middlecut.liquid import ingredients  # noqa: PLC0415 - fast --help
    from middlecut.plan.sheet_parts import Column  # noqa: PLC0415 - the same

    parts = [ingredient.name, "=" * len(ingredient.name), "", *_handling(ingredient, width), ""]
    head = [
        Column("marker"),
        Column("mg/kg", "number"),
        Column("from", "number"),
        Column("to", "number"),
        Column("basis"),
        Column("what it is like"),
    ]
    body = [
        [
            marker.compound if marker.tracked else f"{marker.compound} *",
            _short(marker.typical),
            _short(marker.low),
            _short(marker.high),
            marker.basis,
            marker.descriptor,
        ]
        for marker in ingredient.markers
    ]
    parts += [*_markers(head, body, width), ""]
    used = dict.fromkeys(marker.basis for marker in ingredient.markers)
    for basis in used:
        parts += _wrapped(f"{basis:<13} {ingredients.BASES[basis]}", width)
    if any(not marker.tracked for marker in ingredient.markers):
        parts.append("  * said for information; not followed through wash and still")
    parts += ["", "Sources", *_sources(ingredient.markers, width), "", "Beware"]
    for fact in ingredients.food_safety(ingredient):
        parts += _wrapped(f"{fact.text} [{fact.source}; {fact.basis}]", width)
    return "\n".join(parts)


def _markers(head: list[Column], body: list[list[str]], width: int) -> list[str]:
    """Return the markers as a table; where it is too wide, what they are like stands below it."""
    from middlecut.plan.text_table import fits, lay_out  # noqa: PLC0415 - fast --help

    least = [[*row[:-1], row[-1][:_LEAST_ROOM].ljust(_LEAST_ROOM)] for row in body]
    if fits(head, least, width):
        return lay_out(head, body, width=width)
    short = [[*row[:-2], row[-2].removeprefix("read-")] for row in body]
    like = "; ".join(f"{row[0].removesuffix(' *')}: {row[-1]}" for row in body if row[-1])
    lines = [*lay_out(head[:-1], short, width=width), ""]
    return [*lines, *_wrapped(f"What they are like: {like}.", width)]


def _handling(ingredient: Ingredient, width: int) -> list[str]:
    names = f"Also: {', '.join(ingredient.synonyms)}. " if ingredient.synonyms else ""
    text = (
        f"{names}{ingredient.group.capitalize()}; usual form: {ingredient.usual_form}. "
        f"Loose it weighs {ingredient.bulk_density:.3g} g/L; it brings "
        f"{ingredient.moisture * 100:.2g} % water and keeps {ingredient.water_absorption:.2g} g of "
        f"liquid per gram when strained off (basis of these: {ingredient.basis})."
    )
    lines = _wrapped(text, width, indent="")
    note = f"Note: {ingredient.note}."
    return lines if not ingredient.note else [*lines, *_wrapped(note, width, indent="")]


def _sources(markers: Iterable[Marker], width: int) -> list[str]:
    from middlecut.liquid import ingredients  # noqa: PLC0415 - fast --help

    lines: list[str] = []
    for marker in markers:
        text = f"{marker.compound}: {'; '.join(ingredients.sources_of(marker))}"
        note = f" ({marker.note})" if marker.note else ""
        lines += _wrapped(text + note, width)
    return lines


def _wrapped(text: str, width: int, indent: str = "  ") -> list[str]:
    import textwrap  # noqa: PLC0415 - fast --help

    return textwrap.wrap(text, width, initial_indent=indent, subsequent_indent=indent * 2)


def _short(share: float) -> str:
    value = share * 1e6
    if value >= 1000.0:
        return f"{value:,.0f}"
    if value >= 1e-3 or value <= 0.0:
        return f"{value:.3g}"
    return f"{value:.{1 - math.floor(math.log10(value))}f}".rstrip("0")
