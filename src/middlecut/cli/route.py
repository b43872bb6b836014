# SPDX-License-Identifier: MIT
"""``middlecut route``: one ingredient through every entry point of a plan, side by side."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from middlecut.cli.completion import ingredient_names
from middlecut.cli.options import Force, Json

if TYPE_CHECKING:
    from middlecut.insight.fate import Fate
    from middlecut.insight.route_model import Routes

__all__ = ["route"]

_FIRST = 6
_FORMS = (".svg", ".png", ".csv", ".json")


def route(
    ingredient: Annotated[
        str,
        typer.Argument(
            metavar="INGREDIENT",
            help="Name of the ingredient; see middlecut pantry list.",
            autocompletion=ingredient_names,
        ),
    ],
    *,
    plan: Annotated[
        Path,
        typer.Option("--plan", metavar="PLAN", help="The plan file (TOML).", show_default=False),
    ],
    amount: Annotated[
        str | None,
        typer.Option(
            "--amount",
            help='How much: "120 g"; without it as much as the plan has, else 5 g/L.',
            show_default=False,
        ),
    ] = None,
    figure: Annotated[
        Path | None,
        typer.Option(
            "--svg",
            metavar="FILE",
            help="Write the heat map; .svg, .png, .csv and .json choose the form.",
            show_default=False,
        ),
    ] = None,
    compound: Annotated[
        str | None,
        typer.Option(
            "--compound",
            metavar="NAME",
            help="Follow this compound through the whole batch.",
            show_default=False,
        ),
    ] = None,
    entry: Annotated[
        str | None,
        typer.Option(
            "--entry",
            metavar="POINT",
            help="Entry point to follow it from; without it the one that brings most.",
            show_default=False,
        ),
    ] = None,
    flow: Annotated[
        Path | None,
        typer.Option(
            "--flow",
            metavar="FILE",
            help="Write the picture of that flow; same forms as --svg.",
            show_default=False,
        ),
    ] = None,
    every: Annotated[
        bool, typer.Option("--all", help=f"Show every compound of a route, not the first {_FIRST}.")
    ] = False,
    json: Json = False,
    force: Force = False,
) -> None:
    """Compare the entry points of a plan for an ingredient: what arrives, what is lost where."""
    from middlecut.cli.library import own_ingredients  # noqa: PLC0415 - fast --help
    from middlecut.cli.output import columns, say, say_json, working  # noqa: PLC0415 - the same
    from middlecut.cli.route_text import fate_text, routes_text  # noqa: PLC0415 - the same
    from middlecut.errors import InputError  # noqa: PLC0415 - the same
    from middlecut.units import parse_quantity  # noqa: PLC0415 - the same

    _check(compound, entry, flow, figure)
    mass = None if amount is None else parse_quantity(amount, "mass", field="--amount")
    if amount is not None and mass is not None and mass <= 0.0:
        raise InputError("--amount", amount, "an amount is more than 0 kg", 'Such as "40 g".')
    with working(f"Following {ingredient} through {plan.name} ..."):
        from middlecut.insight.routes import routes  # noqa: PLC0415 - numerics
        from middlecut.plan.read import load_plan  # noqa: PLC0415 - the same

        found = routes(load_plan(plan, own_ingredients()), ingredient, amount=mass)
        way = None if compound is None else _followed(found, compound, entry)
        pictures = _pictures(found, way, figure, flow)
    _write_all(pictures, plan, force=force)
    if json:
        answer = found.to_dict()
        say_json(answer if way is None else {**answer, "fate": way.to_dict()})
        return
    parts = [routes_text(found, columns(), None if every else _FIRST)]
    if way is not None:
        parts.append(fate_text(way, columns()))
    parts += [f"Written to {path}." for path, _, _ in pictures]
    say("\n\n".join(parts))


def _check(compound: str | None, entry: str | None, flow: Path | None, figure: Path | None) -> None:
    """Refuse options that do not go together, before anything is computed."""
    from middlecut.errors import InputError  # noqa: PLC0415 - fast --help

    for option, value in (("--flow", flow), ("--entry", entry)):
        if value is not None and compound is None:
            raise InputError(
                option, str(value), "it needs a compound", "Add --compound with its name."
            )
    for option, path in (("--svg", figure), ("--flow", flow)):
        if path is not None and path.suffix.lower() not in _FORMS:
            raise InputError(
                option,
                str(path),
                "the ending of the name chooses the form",
                f"Use one of {', '.join(_FORMS)}.",
            )


def _followed(found: Routes, compound: str, entry: str | None) -> Fate:
    """Return the fate of a compound on one route: the one named, or the one that brings most."""
    import difflib  # noqa: PLC0415 - fast --help

    from middlecut.errors import NotFoundError  # noqa: PLC0415 - the same
    from middlecut.insight.fate import fate  # noqa: PLC0415 - numerics
    from middlecut.liquid import compounds  # noqa: PLC0415 - the same

    try:
        name = compounds.find(compound, found.routes[0].plan.compounds.values()).name
    except NotFoundError:
        name = compound
    rows = [(row.share, route) for route in found.routes for row in route.rows
            if row.compound == name]  # fmt: skip
    if entry is not None:
        return fate(found.route(entry).plan, compound)
    if not rows:
        known = list(dict.fromkeys(row.compound for one in found.routes for row in one.rows))
        near = difflib.get_close_matches(compound, known, n=3) or known[:3]
        raise NotFoundError(f"marker of {found.ingredient}", compound, tuple(near))
    return fate(max(rows, key=lambda row: row[0])[1].plan, name)


def _pictures(
    found: Routes, way: Fate | None, figure: Path | None, flow: Path | None
) -> list[tuple[Path, str | bytes, str]]:
    """Return what is to be written: path, content, option."""
    from middlecut.insight import figures  # noqa: PLC0415 - fast --help

    made: list[tuple[Path, str | bytes, str]] = []
    if figure is not None:
        made.append((figure, _content(figure, found, figures.draw_routes, figures.routes_csv),
                     "--svg"))  # fmt: skip
    if flow is not None and way is not None:
        made.append((flow, _content(flow, way, figures.draw_fate, figures.fate_csv), "--flow"))
    return made


def _content(path: Path, thing: Any, draw: Any, as_csv: Any) -> str | bytes:
    from middlecut.cli.output import to_json  # noqa: PLC0415 - fast --help

    match path.suffix.lower():
        case ".csv":
            return str(as_csv(thing))
        case ".json":
            return to_json(thing.to_dict())
        case ".png":
            return bytes(draw(thing).to_png())
        case _:
            return str(draw(thing).to_svg())


def _write_all(pictures: list[tuple[Path, str | bytes, str]], plan: Path, *, force: bool) -> None:
    """Write all files or, when one of them exists already or is the plan, none."""
    from middlecut.cli.output import check_new, write_new  # noqa: PLC0415 - fast --help

    for path, _, option in pictures:
        check_new(path, force=force, option=option, source=plan)
    for path, content, option in pictures:
        write_new(path, content, force=force, option=option, source=plan)
