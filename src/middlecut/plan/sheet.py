# SPDX-License-Identifier: MIT
"""Make the sheet of a prediction: what a person follows from wash to bottle."""

from __future__ import annotations

from dataclasses import replace

from middlecut.plan.prediction import Prediction
from middlecut.plan.refusals import whole_id
from middlecut.plan.sheet_bands import measure_next, range_notes
from middlecut.plan.sheet_parts import (
    Cell,
    Column,
    Level,
    Phrase,
    Section,
    Sheet,
    Table,
)
from middlecut.plan.sheet_steps import lot_table, make_section
from middlecut.steps.result import Caution, Entry, Figure

__all__ = ["Column", "Level", "Phrase", "Section", "Sheet", "Table", "make_sheet"]

_BULK = ("water", "ethanol", "solids", "CO2")
_ACCOUNT_COMPOUNDS = 12
_SAID_ONCE = frozenset(
    {"cooling-lost", "path-open", "ventilation", "co2", "food-anyone", "ferment-time-prior"}
)

_LEGEND = (
    ("read", "seen on the page or table named in its source"),
    ("read-abstract", "seen in the abstract of a paper"),
    ("computed", "follows from the plan by the models named below"),
    ("memory", "recalled from the general literature, not opened; may be off by a factor of 2"),
    ("estimate", "an order of magnitude; may be off by a factor of 5"),
)

_NOT_MODELLED = {
    "": (
        (
            "Differences between batches: a number without a range is what the model expects, not "
            "a promise."
        ),
        "Losses on walls, filters and in hoses, unless the plan names them.",
    ),
    "ferment": (
        (
            "Aroma and alcohol carried off with the carbon dioxide; how strain, pitch, temperature "
            "and nutrients change each congener."
        ),
        (
            "Sugar, acids and yeasts that an ingredient brings; what is set free from glycosides "
            "and what acid changes."
        ),
    ),
    "distil": (
        "Reactions in the boiler and on copper, such as esters, acetals, furfural and sulphur.",
        "Foam, entrained droplets, uneven flow in a packed column, and a draught on the still.",
        "What dissolved solids do to boiling point and volatility.",
    ),
    "steep": (
        "What air and time do to a steep, and what the solids take up of what the liquid held.",
    ),
    "dilute": ("Warming on mixing, haze and louche.",),
    "wood": (
        "Forced ageing by sound, heat or pressure: it is logged, never predicted.",
        "Oxidation, ester formation and what char takes away; congeners lost with the vapour.",
    ),
    "bottle": ("What changes in the bottle.",),
}


def make_sheet(prediction: Prediction) -> Sheet:
    """Make the sheet of a prediction.

    Parameters
    ----------
    prediction : Prediction
        As :func:`middlecut.predict` returns it.

    Returns
    -------
    Sheet
        Pure data in SI; :mod:`middlecut.plan.render` chooses units and turns it into text.
    """
    plan = prediction.plan
    sections = tuple(
        make_section(number, step, prediction.steps[step.id], plan)
        for number, step in enumerate(plan.steps, start=1)
    )
    sections = _first_charge_only(_without_repeats(sections))
    levels = tuple(_levels(prediction))
    bases = {figure.basis for section in sections for figure in section.figures}
    bases |= {level.basis for level in levels} | {"computed"}
    kinds = ("", *dict.fromkeys(step.kind for step in plan.steps))
    per_step = {id(caution) for result in prediction.steps.values() for caution in result.cautions}
    return Sheet(
        title=plan.batch.name,
        summary=_summary(prediction),
        sections=sections,
        totals=_totals(prediction),
        accounts=_accounts(prediction),
        lots=lot_table("Every lot as made", tuple(prediction.lots.values())),
        levels=levels,
        cautions=tuple(c for c in prediction.cautions if id(c) not in per_step),
        not_modelled=tuple(text for kind in kinds for text in _NOT_MODELLED.get(kind, ())),
        legend=tuple(row for row in _LEGEND if row[0] in bases),
        citations=prediction.citations,
        provenance=tuple(prediction.provenance.items()),
        ranges=range_notes(prediction.ensemble),
        measure_next=measure_next(prediction.ensemble),
        rests_on=prediction.rests_on,
    )


def _without_repeats(sections: tuple[Section, ...]) -> tuple[Section, ...]:
    """Say a note that every run has only where its number is largest."""
    strongest: dict[str, tuple[int, Caution]] = {}
    for number, section in enumerate(sections):
        for caution in section.cautions:
            before = strongest.get(caution.code)
            if before is None or (caution.value or 0.0) > (before[1].value or 0.0):
                strongest[caution.code] = (number, caution)
    return tuple(
        replace(
            section,
            cautions=tuple(
                caution
                for caution in section.cautions
                if caution.code not in _SAID_ONCE or strongest[caution.code] == (number, caution)
            ),
        )
        for number, section in enumerate(sections)
    )


def _first_charge_only(sections: tuple[Section, ...]) -> tuple[Section, ...]:
    """Say what every charge of a step has to watch at the first; dangers stay at each."""
    first: dict[str, Section] = {}
    told = []
    for section in sections:
        before = first.setdefault(whole_id(section.step_id), section)
        if before is not section:
            known = {one.text for one in before.cautions if one.severity != "danger"}
            kept = tuple(one for one in section.cautions if one.text not in known)
            gone = [one for one in section.cautions if one.text in known]
            if gone:
                text = f"As in {before.step_id}: what is said there holds for this charge too."
                watched = any(one.severity == "watch" for one in gone)
                kept = (
                    *kept, Caution("as-in-first-charge", "watch" if watched else "note", text)
                )  # fmt: skip
            rank = {"danger": 0, "watch": 1, "note": 2}
            kept = tuple(sorted(kept, key=lambda one: rank[one.severity]))
            told.append(replace(section, cautions=kept))
        else:
            told.append(section)
    return tuple(told)


def _summary(prediction: Prediction) -> tuple[Phrase, ...]:
    plan, totals = prediction.plan, prediction.totals
    ends = [
        (step.into, result.made[step.into], result)
        for step in plan.steps
        if step.kind == "bottle"
        for result in (prediction.steps[step.id],)
    ]
    phrases = [
        Phrase(
            f"{len(plan.steps)} steps at {{}} air pressure: {{}} beside a still, {{}} of "
            "electricity, {} of cooling water.",
            (
                (plan.batch.pressure, "pressure"),
                (totals.still_time, "duration"),
                (totals.energy, "energy"),
                (totals.cooling_water, "mass"),
            ),
        )
    ]
    for name, lot, result in ends:
        count = next(figure.value for figure in result.figures if figure.key == "bottles")
        shown = name.replace("{", "(").replace("}", ")")
        phrases.append(
            Phrase(
                f"It ends in {{}} full bottles ({shown}): {{}} at {{}}.",
                ((count, "count"), (lot.volume, "volume"), (lot.strength, "strength")),
            )
        )
    dangers = sum(caution.severity == "danger" for caution in prediction.cautions)
    if dangers:
        word = "danger" if dangers == 1 else "dangers"
        steps = [
            step_id
            for step_id, result in prediction.steps.items()
            if any(caution.severity == "danger" for caution in result.cautions)
        ]
        where = f", in {', '.join(steps)}" if steps else ""
        phrases.append(Phrase(f"{dangers} {word} to mend before you start{where}."))
    return tuple(phrases)


def _totals(prediction: Prediction) -> tuple[Figure, ...]:
    totals = prediction.totals
    rows = [
        Figure("duration", "all steps one after another", totals.duration, "duration"),
        Figure("still_time", "beside a still", totals.still_time, "duration"),
        Figure("energy", "electricity", totals.energy, "energy"),
        Figure("cooling_water", "cooling water", totals.cooling_water, "mass"),
    ]
    if totals.cost is not None:
        label = f"energy and cooling water, {totals.currency}".rstrip(", ")
        rows.append(Figure("cost", label, totals.cost, "ratio"))
    return tuple(
        replace(row, low=totals.bands[row.key].low, high=totals.bands[row.key].high)
        if row.key in totals.bands
        else row
        for row in rows
    )


def _accounts(prediction: Prediction) -> tuple[Table, ...]:
    entries = prediction.account.entries
    tables = [
        _account_table(substance, entries[substance]) for substance in _BULK if substance in entries
    ]
    masses = {
        name: sum(entry.came.values()) for name, entry in entries.items() if name not in _BULK
    }
    heaviest = sorted(masses, key=lambda name: (-masses[name], name))[:_ACCOUNT_COMPOUNDS]
    rows: list[tuple[Cell, ...]] = [
        (name, masses[name], _destinations(entries[name])) for name in heaviest if masses[name] > 0
    ]
    if rows:
        columns = (
            Column("compound"),
            Column("in all", "compound_mass"),
            Column("where it is at the end"),
        )
        more = len(masses) - len(rows)
        note = f"{more} more compounds are in the CSV and JSON forms." if more > 0 else ""
        tables.append(Table("Account of the main congeners", columns, tuple(rows), note))
    return tuple(tables)


def _account_table(substance: str, entry: Entry) -> Table:
    came = sum(entry.came.values())
    rows: list[tuple[Cell, ...]] = [
        ("in", name, mass, mass / came) for name, mass in entry.came.items() if mass > 0.0
    ]
    rows += [
        ("out", name, mass, mass / came) for name, mass in entry.went.items() if mass > came * 1e-12
    ]
    columns = (Column(""), Column("name"), Column("mass", "mass"), Column("share", "fraction"))
    return Table(f"Account of {substance}", columns, tuple(rows))


def _destinations(entry: Entry, count: int = 3) -> str:
    total = sum(entry.went.values())
    if total <= 0.0:
        return "nowhere"
    ranked = sorted(entry.went.items(), key=lambda item: -item[1])[:count]
    return ", ".join(
        f"{name} {mass / total * 100:.0f} %" for name, mass in ranked if mass > 0.005 * total
    )


def _levels(prediction: Prediction) -> list[Level]:
    found = []
    for name, lot in prediction.lots.items():
        volume = lot.volume
        if volume <= 0.0:
            continue
        for compound, amount in lot.amounts.items():
            level = amount.scaled(1.0 / volume)
            found.append(Level(name, compound, level.typical, level.low, level.high, level.basis))
    return found
