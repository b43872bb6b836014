# SPDX-License-Identifier: MIT
"""Write the reference pages: every key of a plan from its schema, every command from its help.

Words stand in ``data/plan_keys.toml``; units, ranges, choices and defaults are those the program
reads a plan with. A key without words, and words without a key, are refused.
"""

from __future__ import annotations

import dataclasses
import tomllib
import types
import typing
from collections.abc import Collection, Iterator, Mapping
from pathlib import Path
from typing import Any, Literal

import typer
from pydantic import BaseModel, StringConstraints
from pydantic.fields import FieldInfo

from middlecut import units
from middlecut.cli.application import application
from middlecut.liquid.own_compounds import COMPOUND_KEYS
from middlecut.liquid.own_ingredients import KEYS as INGREDIENT_KEYS
from middlecut.plan import quantities, schema
from middlecut.plan.quantities import Quantity
from middlecut.steps.still import Still

ROOT = Path(__file__).resolve().parent.parent
FOLDER = ROOT / "docs" / "reference"
MADE = "<!-- Written by tools/write_reference.py; make docs writes it again. -->"
WIDTH = 88
WORDS = tomllib.loads((ROOT / "tools" / "data" / "plan_keys.toml").read_text(encoding="utf-8"))
PAGE: Mapping[str, str] = WORDS["page"]
DEFAULTS: Mapping[str, Mapping[str, str]] = WORDS["default"]

TABLES: tuple[tuple[str, str, type[BaseModel]], ...] = (
    ("batch", "[batch]", schema.BatchTable),
    ("still", "[still.NAME]", schema.StillTable),
    ("lot", "[lot.NAME]", schema.LotTable),
    ("ferment", '[[step]] kind = "ferment"', schema.FermentTable),
    ("reserve", "reserve", schema.ReserveTable),
    ("distil", '[[step]] kind = "distil"', schema.DistilTable),
    ("cuts", "cuts", schema.CutTable),
    ("power_changes", "power_changes", schema.PowerChangeTable),
    ("draw", '[[step]] kind = "draw"', schema.DrawTable),
    ("blend", '[[step]] kind = "blend"', schema.BlendTable),
    ("steep", '[[step]] kind = "steep"', schema.SteepTable),
    ("wood", '[[step]] kind = "wood"', schema.WoodTable),
    ("dilute", '[[step]] kind = "dilute"', schema.DiluteTable),
    ("bottle", '[[step]] kind = "bottle"', schema.BottleTable),
    ("from", "from", schema.TakeTable),
    ("add", "add", schema.AddTable),
)


def _leaves(annotation: Any, metadata: tuple[Any, ...] = ()) -> Iterator[tuple[Any, list[Any]]]:
    """Give each plain type of an annotation with what is noted beside it."""
    origin = typing.get_origin(annotation)
    if origin is typing.Annotated:
        inner, *noted = typing.get_args(annotation)
        yield from _leaves(inner, (*noted, *metadata))
    elif origin in {typing.Union, types.UnionType}:
        for part in typing.get_args(annotation):
            yield from _leaves(part, metadata)
    elif annotation is not type(None):
        yield annotation, list(metadata)


_READERS: Mapping[str, str] = {
    "read_setting": 'share of full power or power: `"60 %"`, `"1.4 kW"`',
    "read_until": "see *until*",
    "read_water": 'volume or mass: `"2 L"`',
    "read_price": "price for a unit",
    "<lambda>": "price for a unit",
    "read_dose": 'volume for a volume: `"12 mL/L"`',
    "read_date": 'date: `"2026-03-05"`, `"2026-03-05 18:30"`',
    "_as_takes": "see *from*",
    "_one_name_each": "see *compounds*",
}


def _kind_and_range(field: FieldInfo) -> tuple[str, str]:
    """Return how a value is written and what it may be."""
    for plain, noted in _leaves(field.annotation, tuple(field.metadata)):
        for one in noted:
            reader = getattr(getattr(one, "func", None), "__name__", "")
            if reader in _READERS:
                return _READERS[reader], _reader_range(reader)
        for one in noted:
            if isinstance(one, Quantity):
                return _quantity_words(one)
        if typing.get_origin(plain) is Literal:
            return "one of these words", ", ".join(f'`"{word}"`' for word in typing.get_args(plain))
        if typing.get_origin(plain) is tuple:
            return _tuple_words(plain)
        if plain is bool:
            return "`true` or `false`", ""
        limits = [one for one in noted if isinstance(one, StringConstraints)]
        longest = next((one.max_length for one in limits if one.max_length), None)
        return "text", f"up to {longest} characters" if longest else ""
    raise TypeError(field)


def _quantity_words(quantity: Quantity) -> tuple[str, str]:
    kind = units.DIMENSIONS[quantity.dimension]
    low, high = (quantity.bound(value) for value in (quantity.low, quantity.high))
    return f"{kind.label}: `{quantity.sample}`", f"{low} to {high}"


def _reader_range(reader: str) -> str:
    if reader == "read_setting":
        low = quantities.SHARE_OF_POWER
        return f"{low.bound(low.low)} to {low.bound(low.high)}, within the heater"
    return ""


def _tuple_words(plain: Any) -> tuple[str, str]:
    inner = typing.get_args(plain)[0]
    for item, noted in _leaves(inner):
        for one in noted:
            if isinstance(one, Quantity):
                words, allowed = _quantity_words(one)
                return f"list; {words}", allowed
        if isinstance(item, type) and issubclass(item, BaseModel):
            return "list of tables", ""
    return "list", ""


def _default(section: str, key: str, name: str, field: FieldInfo, table: type[BaseModel]) -> str:
    if key in DEFAULTS.get(section, {}):
        return DEFAULTS[section][key]
    if field.is_required():
        return "**needed**"
    value = field.get_default(call_default_factory=True)
    if value is None and table is schema.StillTable:
        value = next((f.default for f in dataclasses.fields(Still) if f.name == name), None)
    return _default_words(value, field)


def _default_words(value: Any, field: FieldInfo) -> str:
    if isinstance(value, bool):
        return f"`{str(value).lower()}`"
    if isinstance(value, quantities.Setting):
        return units.format_quantity(value.fraction or 0.0, "fraction")
    if isinstance(value, str) and value:
        return f'`"{value}"`'
    if isinstance(value, float):
        for _, noted in _leaves(field.annotation, tuple(field.metadata)):
            for one in noted:
                if isinstance(one, Quantity):
                    return units.format_quantity(value, one.dimension)
        return "none" if value == 0.0 else f"{value:g}"
    return "none"


def _meanings(section: str, keys: Collection[str]) -> dict[str, str]:
    """Return the words of every key of a section; a missing or needless one is refused."""
    told = dict(WORDS["meaning"][section])
    if "id" in keys:
        told = {**WORDS["meaning"]["any-step"], **told}
    if set(told) != set(keys):
        raise SystemExit(f"plan_keys.toml, {section}: {sorted(set(told) ^ set(keys))}")
    return told


def _section(section: str, head: str, table: type[BaseModel]) -> Iterator[str]:
    rows = {field.alias or name: (name, field) for name, field in table.model_fields.items()}
    meanings = _meanings(section, rows)
    yield from (f"## {head}", "", WORDS["section"][section], "")
    yield "| key | what it means | written as | allowed | left out |"
    yield "|---|---|---|---|---|"
    for key, (name, field) in rows.items():
        kind, allowed = _kind_and_range(field)
        if key == "kind":
            kind = "this word"
        default = _default(section, key, name, field, table)
        cells = (f"`{key}`", meanings[key], kind, allowed, default)
        yield f"| {' | '.join(cell.replace('|', '/') for cell in cells)} |"
    yield ""


def _until_section() -> Iterator[str]:
    yield from (
        "## until",
        "",
        PAGE["until"],
        "",
        "| what | written as | allowed | when it comes |",
        "|---|---|---|---|",
    )
    words = {
        "strength": "what runs from the still has fallen to that",
        "volume": "this cut has so much in it",
        "head_temperature": "the vapour at the top of the still is that warm",
        "time": "counted from the first drop",
        "boiler_volume": "so much is left in the boiler",
    }
    known = dict(quantities.CONDITIONS)
    if set(words) != set(known):
        raise SystemExit(f"write_reference.py, until: {sorted(set(words) ^ set(known))}")
    for key, meaning in words.items():
        quantity = known[key]
        low, high = (quantity.bound(value) for value in (quantity.low, quantity.high))
        table = f"`{{ {key} = {quantity.sample} }}`"
        plain = "" if key == "boiler_volume" else f"`{quantity.sample}` or "
        yield f"| {key.replace('_', ' ')} | {plain}{table} | {low} to {high} | {meaning} |"
    yield ""


def _compounds_section() -> Iterator[str]:
    yield from (
        "## compounds",
        "",
        PAGE["compounds"],
        "",
        "```toml",
        (
            'compounds = { "ethyl acetate" = "120 mg/L", methanol = { low = "20 mg/L", typical = '
            '"40 mg/L", high = "80 mg/L" } }'
        ),
        "```",
        "",
    )


def _ingredient_section() -> Iterator[str]:
    yield from (
        "## [ingredient.NAME]",
        "",
        (
            "An ingredient of your own, or one of the pantry with values of your own. It may hold "
            f"{', '.join(f'`{key}`' for key in INGREDIENT_KEYS)}; "
            "[how to add ingredients](../how-to/add-ingredients.md) explains them."
        ),
        "",
        "## [compound.NAME]",
        "",
        (
            "A compound that the pantry does not have. It may hold "
            f"{', '.join(f'`{key}`' for key in COMPOUND_KEYS)}; "
            "[how to describe a compound](../how-to/describe-a-compound.md) explains them."
        ),
        "",
    )


def _units_section() -> Iterator[str]:
    yield from (
        "## Units",
        "",
        PAGE["units"],
        "",
        "| kind | units | example |",
        "|---|---|---|",
    )
    for kind in units.DIMENSIONS.values():
        symbols = ", ".join(f"`{unit.symbol}`" for unit in kind.units if unit.symbol)
        example = f"`{kind.example}`" if kind.bare else f'`"{kind.example}"`'
        yield f"| {kind.label} | {symbols or 'a number without unit'} | {example} |"
    yield ""


def plan_keys() -> str:
    """Return the page of every section and key of a plan."""
    lines = [
        "# Keys of a plan",
        "",
        MADE,
        "",
        PAGE["plan"],
        "",
    ]
    for entry in TABLES:
        lines += _section(*entry)
        if entry[0] == "power_changes":
            lines += _until_section()
        if entry[0] == "lot":
            lines += [*_compounds_section(), *_ingredient_section()]
    lines += _units_section()
    return "\n".join(lines)


def _commands(command: Any, words: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    context = command.context_class(
        command, info_name=" ".join(words), terminal_width=WIDTH, max_content_width=WIDTH
    )
    yield " ".join(words), command.get_help(context)
    if hasattr(command, "list_commands"):
        for name in command.list_commands(context):
            inner = command.get_command(context, name)
            if inner is not None and not inner.hidden:
                yield from _commands(inner, (*words, name))


def commands() -> str:
    """Return the page of every command's help."""
    lines = [
        "# Commands",
        "",
        MADE,
        "",
        PAGE["commands"],
        "",
    ]
    for name, text in _commands(typer.main.get_command(application), ("middlecut",)):
        body = "\n".join(line.rstrip() for line in text.strip().splitlines())
        lines += [f"## {name}", "", "```", body, "```", ""]
    return "\n".join(lines)


PAGES = {"plan-keys.md": plan_keys, "commands.md": commands}


def main() -> None:
    """Write the pages that changed."""
    FOLDER.mkdir(exist_ok=True)
    for name, make in PAGES.items():
        page, text = FOLDER / name, make()
        if not page.exists() or page.read_text(encoding="utf-8") != text:
            page.write_text(text, encoding="utf-8")
            print(f"written: docs/reference/{name}")


if __name__ == "__main__":
    main()
