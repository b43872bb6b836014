# SPDX-License-Identifier: MIT
"""What the sheet says of each kind of step."""

from __future__ import annotations

from dataclasses import replace

from middlecut.plan.model import Plan
from middlecut.plan.sheet_additions import fates, steep_phrases, still_phrases, wash_phrases
from middlecut.plan.sheet_bands import band_figures, jar_bands
from middlecut.plan.sheet_parts import Cell, Column, Phrase, Section, Table
from middlecut.plan.sheet_wood import wood_phrases
from middlecut.steps.curve import Curve
from middlecut.steps.lot import Lot
from middlecut.steps.parameters import (
    Blend,
    Bottle,
    Dilute,
    Distil,
    Draw,
    Ferment,
    Steep,
    StepParameters,
    Wood,
)
from middlecut.steps.result import Figure, StepResult

__all__ = ["lot_table", "main_compounds", "make_section"]

Quantities = list[tuple[float, str]]

_PURPOSE = {"strip": "stripping run", "spirit": "spirit run", "flavour": "flavour run"}
_SHOWN_COMPOUNDS = 8


def make_section(number: int, step: StepParameters, result: StepResult, plan: Plan) -> Section:
    """Return what the sheet says of one step.

    Parameters
    ----------
    number : int
        Counted from 1.
    step : StepParameters
        What was planned.
    result : StepResult
        What was predicted.
    plan : Plan
        For the still.

    Returns
    -------
    Section
        Phrases, figures, tables and cautions.
    """
    tables: tuple[Table, ...] = fates(step, result)
    title, phrases = _told(step, result, plan)
    if isinstance(step, Distil) and result.curve is not None:
        tables = (*tables, _look_for(result.curve), *_jars(result.curve))
        tables = (*tables, *jar_bands(result.curve), *_travel(result))
    if len(result.made) > 1 or step.kind == "distil":
        tables = (*tables, lot_table("What you have then", tuple(result.made.values())))
    rank = {"danger": 0, "watch": 1, "note": 2}
    return Section(
        step_id=step.id,
        kind=step.kind,
        heading=f"{number}. {step.id}: {title}",
        phrases=phrases,
        figures=(*map(_in_parts, result.figures), *band_figures(result)),
        tables=tables,
        cautions=tuple(sorted(result.cautions, key=lambda caution: rank[caution.severity])),
    )


def _in_parts(figure: Figure) -> Figure:
    """Return a figure as it is shown: stages are seldom a whole number, so not as a count."""
    return replace(figure, dimension="ratio") if figure.key == "stages" else figure


def _told(  # noqa: PLR0911 - one return a kind of step
    step: StepParameters, result: StepResult, plan: Plan
) -> tuple[str, tuple[Phrase, ...]]:
    """Return the title of a step and what to do in it."""
    match step:
        case Ferment():
            return "ferment", (*_ferment(step, result), *wash_phrases(step, result))
        case Distil():
            title = f"{_PURPOSE[step.purpose]} in the still {step.still}"
            return title, (*still_phrases(step), *_distil(step, result, plan))
        case Steep():
            return "steep", steep_phrases(step, result)
        case Draw():
            return "set aside", _draw(step, result)
        case Blend():
            return "blend", _blend(step, result)
        case Dilute():
            return "dilute", _dilute(step, result)
        case Bottle():
            return "bottle", _bottle(step, result)
        case Wood():
            return f"wood, {step.form}", wood_phrases(step, result)


def lot_table(title: str, lots: tuple[Lot, ...]) -> Table:
    """Return a table of lots: volume, strength, pure alcohol.

    Parameters
    ----------
    title : str
        Above the table.
    lots : tuple of Lot
        In order.

    Returns
    -------
    Table
        One row per lot.
    """
    columns = (
        Column("lot"),
        Column("volume", "volume"),
        Column("strength", "strength"),
        Column("pure alcohol", "pure_alcohol"),
    )
    rows = tuple((lot.name, lot.volume, lot.strength, lot.pure_alcohol) for lot in lots)
    return Table(title, columns, rows)


def main_compounds(lots: tuple[Lot, ...], count: int = _SHOWN_COMPOUNDS) -> tuple[str, ...]:
    """Return the compounds that weigh most in all the lots together.

    Parameters
    ----------
    lots : tuple of Lot
        Where to look.
    count : int
        How many at most.

    Returns
    -------
    tuple of str
        Heaviest first.
    """
    masses: dict[str, float] = {}
    for lot in lots:
        for compound, amount in lot.amounts.items():
            masses[compound] = masses.get(compound, 0.0) + amount.typical
    heaviest = sorted(masses, key=lambda name: (-masses[name], name))
    return tuple(name for name in heaviest if masses[name] > 0.0)[:count]


def _parts(lots: tuple[Lot, ...]) -> tuple[str, Quantities]:
    """Return "{} of a at {} and {} of b at {}" with its quantities."""
    words, quantities = [], []
    for lot in lots:
        words.append(f"{{}} of {_plain(lot.name)} at {{}}")
        quantities += [(lot.volume, "volume"), (lot.strength, "strength")]
    return _listed(words), quantities


def _listed(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _plain(name: str) -> str:
    return name.replace("{", "(").replace("}", ")")


def _value(result: StepResult, key: str) -> float | None:
    return next((figure.value for figure in result.figures if figure.key == key), None)


def _ferment(step: Ferment, result: StepResult) -> tuple[Phrase, ...]:
    expect = "Pitch {} of wort at {} and keep it at {}. Expect {} after {}"
    quantities: Quantities = [
        (step.volume, "volume"),
        (step.gravity, "gravity"),
        (step.temperature, "temperature"),
        (step.final_gravity, "gravity"),
        (step.duration, "duration"),
    ]
    if step.settling > 0.0:
        expect += ", then give it {} to clear"
        quantities.append((step.settling, "duration"))
    phrases = [
        Phrase(f"{expect}.", tuple(quantities)),
        _rack(step, result),
    ]
    phrases += [
        Phrase(f"Keep {{}} of it aside as {_plain(name)}.", ((volume, "volume"),))
        for name, volume in step.reserve
    ]
    return tuple(phrases)


def _rack(step: Ferment, result: StepResult) -> Phrase:
    text = f"Rack {{}} of {_plain(step.into)} at {{}} off the lees"
    quantities: Quantities = [
        (sum(lot.volume for lot in result.made.values()), "volume"),
        (result.made[step.into].strength, "strength"),
    ]
    if step.lees > 0.0:
        text += "; leave {} behind"
        quantities.append((step.lees, "volume"))
    return Phrase(f"{text}.", tuple(quantities))


def _distil(step: Distil, result: StepResult, plan: Plan) -> tuple[Phrase, ...]:
    words, quantities = _parts(tuple(result.used.values()))
    load = f"Load {words}"
    if step.water > 0.0:
        load += ", with {} of water"
        quantities.append((step.water, "mass"))
    phrases = [Phrase(f"{load} into the still {_plain(step.still)}.", tuple(quantities))]
    power = plan.stills[step.still].heater_power
    if result.curve is None:
        return tuple(phrases)
    facts = result.curve.facts
    wait = facts.heat_up_time + facts.fill_time
    phrases.append(
        Phrase(
            f"Heat up at {{}} ({step.heat_up_power * 100:.0f} % of full power): the first drops "
            "come after about {}, with the head at {}, running at {}.",
            (
                (power * step.heat_up_power, "power"),
                (wait, "duration"),
                (facts.first_head_temperature, "temperature"),
                (facts.first_strength, "strength"),
            ),
        )
    )
    if step.total_reflux > 0.0:
        phrases.append(
            Phrase(
                "That includes {} at total reflux before anything is taken.",
                ((step.total_reflux, "duration"),),
            )
        )
    settings = [
        f"{{}} ({cut.power * 100:.0f} %) for {_plain(cut.into)}" for cut in result.curve.cuts
    ]
    values: Quantities = [(power * cut.power, "power") for cut in result.curve.cuts]
    phrases.append(Phrase(f"Set the heat to {_listed(settings)}.", tuple(values)))
    phrases.append(
        Phrase(
            f"The run lasts {{}} from the first drop. {{}} of {_plain(step.residue)} stays in the "
            "boiler at {}.",
            (
                (facts.run_time, "duration"),
                (facts.boiler_volume_end, "volume"),
                (facts.boiler_strength_end, "strength"),
            ),
        )
    )
    return tuple(phrases)


def _look_for(curve: Curve) -> Table:
    facts = curve.facts
    rows: list[tuple[Cell, ...]] = [
        ("first drops", 0.0, 0.0, facts.first_strength, facts.first_head_temperature, None, None)
    ]
    rows += [
        (
            f"{cut.into} ends",
            cut.end,
            cut.collected_end,
            cut.strength_end,
            cut.head_temperature_end,
            cut.volume,
            cut.strength,
        )
        for cut in curve.cuts
    ]
    columns = (
        Column("moment"),
        Column("time", "duration"),
        Column("collected", "volume"),
        Column("running at", "strength"),
        Column("head", "temperature"),
        Column("cut holds", "volume"),
        Column("cut has", "strength"),
    )
    return Table("What to look for", columns, tuple(rows), "Time counts from the first drop.")


def _jars(curve: Curve) -> tuple[Table, ...]:
    if not curve.jars:
        return ()
    columns = (
        Column("jar", "count"),
        Column("cut"),
        Column("from", "duration"),
        Column("to", "duration"),
        Column("volume", "volume"),
        Column("strength", "strength"),
    )
    rows = tuple(
        (float(jar.number), jar.cut, jar.start, jar.end, jar.volume, jar.strength)
        for jar in curve.jars
    )
    return (Table("Jars to expect", columns, rows),)


def _travel(result: StepResult) -> tuple[Table, ...]:
    made = tuple(result.made.values())
    compounds = main_compounds(made)
    if not compounds or len(made) > 6:
        return ()
    rows: list[tuple[Cell, ...]] = []
    for compound in compounds:
        masses = [lot.amounts[compound].typical if compound in lot.amounts else 0.0 for lot in made]
        total = sum(result.account.entries[compound].came.values())
        rows.append((compound, *(mass / total for mass in masses)))
    columns = (Column("share of it in"), *(Column(lot.name, "fraction") for lot in made))
    return (Table("Where the main congeners go", columns, tuple(rows)),)


def _draw(step: Draw, result: StepResult) -> tuple[Phrase, ...]:
    words, quantities = _parts(tuple(result.used.values()))
    return (Phrase(f"Set {words} aside as {_plain(step.into)}.", tuple(quantities)),)


def _blend(step: Blend, result: StepResult) -> tuple[Phrase, ...]:
    words, quantities = _parts(tuple(result.used.values()))
    lot = result.made[step.into]
    return (
        Phrase(
            f"Put {words} together: {{}} of {_plain(step.into)} at {{}}.",
            (*quantities, (lot.volume, "volume"), (lot.strength, "strength")),
        ),
    )


def _dilute(step: Dilute, result: StepResult) -> tuple[Phrase, ...]:
    words, quantities = _parts(tuple(result.used.values()))
    lot = result.made[step.into]
    stages = "at once" if step.additions == 1 else f"in {step.additions} additions, stirring"
    return (
        Phrase(
            f"Take {words} and add {{}} ({{}}) of water at {{}}, {stages}.",
            (
                *quantities,
                (_value(result, "water") or 0.0, "mass"),
                (_value(result, "water_volume") or 0.0, "volume"),
                (step.water_temperature, "temperature"),
            ),
        ),
        Phrase(
            f"That makes {{}} of {_plain(step.into)} at {{}}. Mixing warms it, often by a few "
            "kelvin: let it come back to {} before you measure it.",
            ((lot.volume, "volume"), (lot.strength, "strength"), (293.15, "temperature")),
        ),
    )


def _bottle(step: Bottle, result: StepResult) -> tuple[Phrase, ...]:
    words, quantities = _parts(tuple(result.used.values()))
    return (
        Phrase(
            f"Fill {words} into {{}} bottles of {{}}; {{}} is left over.",
            (
                *quantities,
                (_value(result, "bottles") or 0.0, "count"),
                (step.bottle_volume, "volume"),
                (_value(result, "remainder") or 0.0, "volume"),
            ),
        ),
    )
