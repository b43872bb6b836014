# SPDX-License-Identifier: MIT
"""What the sheet says of ingredients: what to add where and when, and where their compounds go."""

from __future__ import annotations

from middlecut.plan.sheet_parts import Cell, Column, Phrase, Table
from middlecut.steps.additions import KEPT, SPENT, form_of
from middlecut.steps.ferment import LEES
from middlecut.steps.parameters import Addition, Distil, Ferment, Steep, StepParameters
from middlecut.steps.result import StepResult
from middlecut.steps.wash_additions import BLOWN_OFF, CONVERTED

__all__ = ["fates", "steep_phrases", "still_phrases", "wash_phrases"]

Quantities = tuple[tuple[float, str], ...]

_ROWS = 12
_WHERE = {"basket": "in the vapour basket", "charge": "in the boiler, before it is heated"}


def _plain(text: str) -> str:
    return text.replace("{", "(").replace("}", ")")


def _what(addition: Addition) -> str:
    return f"{{}} of {_plain(addition.ingredient.name)} ({form_of(addition)})"


def wash_phrases(step: Ferment, result: StepResult) -> tuple[Phrase, ...]:
    """Return when to put what into a wash.

    Parameters
    ----------
    step : Ferment
        The step.
    result : StepResult
        Has the times.

    Returns
    -------
    tuple of Phrase
        One an ingredient.
    """
    times = {figure.key: figure.value for figure in result.figures}
    found = []
    for number, item in enumerate(step.additions, start=1):
        start = times[f"add_{number}_start"]
        stay = times[f"add_{number}_contact"]
        when = "{} after pitching"
        if item.attenuation is not None:
            share = item.attenuation * 100.0
            when = f"when {share:.0f} % of the fall in gravity is done, about {when}"
        out = "until racking" if item.contact is None else "and take it out again"
        found.append(
            Phrase(
                f"Add {_what(item)} {when}; it stays in for {{}}, {out}.",
                ((item.amount, "mass"), (start, "duration"), (stay, "duration")),
            )
        )
    return tuple(found)


def still_phrases(step: Distil) -> tuple[Phrase, ...]:
    """Return what to put into boiler and basket.

    Parameters
    ----------
    step : Distil
        The step.

    Returns
    -------
    tuple of Phrase
        One an ingredient.
    """
    return tuple(
        Phrase(f"Put {_what(item)} {_WHERE[item.entry_point]}.", ((item.amount, "mass"),))
        for item in step.additions
    )


def steep_phrases(step: Steep, result: StepResult) -> tuple[Phrase, ...]:
    """Return what to steep in what, and for how long.

    Parameters
    ----------
    step : Steep
        The step.
    result : StepResult
        What comes of it.

    Returns
    -------
    tuple of Phrase
        What to do, then what there is.
    """
    taken = next(iter(result.used.values()))
    lot = result.made[step.into]
    words = [_what(item) for item in step.additions]
    listed = words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
    amounts: Quantities = tuple((item.amount, "mass") for item in step.additions)
    how = "stirring all the time" if step.stirred else "shaking now and then"
    phrases = [
        Phrase(
            f"Steep {listed} in {{}} of {_plain(taken.name)} at {{}}, {{}} at {{}}, {how}.",
            (
                *amounts,
                (taken.volume, "volume"),
                (taken.strength, "strength"),
                (step.duration, "duration"),
                (step.temperature, "temperature"),
            ),
        )
    ]
    phrases += [
        Phrase(f"Take {_what(item)} out after {{}}.",
               ((item.amount, "mass"), (item.contact, "duration")))
        for item in step.additions
        if item.contact is not None
    ]  # fmt: skip
    phrases.append(
        Phrase(
            f"Strain: {{}} of {_plain(step.into)} at {{}}.",
            ((lot.volume, "volume"), (lot.strength, "strength")),
        )
    )
    return tuple(phrases)


def fates(step: StepParameters, result: StepResult) -> tuple[Table, ...]:
    """Return where the compounds of the ingredients of a step go.

    Parameters
    ----------
    step : StepParameters
        The step.
    result : StepResult
        With its account.

    Returns
    -------
    tuple of Table
        One, or none where there is nothing to say.
    """
    additions: tuple[Addition, ...] = getattr(step, "additions", ()) or ()
    if not isinstance(step, Ferment | Distil | Steep) or not result.account.entries:
        return ()
    names = dict.fromkeys(
        marker.compound for item in additions for marker in item.ingredient.tracked
    )
    brought = {item.ingredient.name for item in additions}
    ends = (LEES, SPENT, KEPT, BLOWN_OFF, CONVERTED)
    rows: list[tuple[str, float, list[float]]] = []
    for name in names:
        entry = result.account.entries.get(name)
        if entry is None:
            continue
        came = sum(mass for source, mass in entry.came.items() if source in brought)
        total = sum(entry.came.values())
        if came > 0.0 and total > 0.0:
            inside = sum(entry.went.get(lot, 0.0) for lot in result.made)
            went = [inside, *(entry.went.get(end, 0.0) for end in ends)]
            rows.append((name, came, [mass / total for mass in went]))
    rows.sort(key=lambda row: -row[1])
    if not rows:
        return ()
    heads = ("lots made", "lees", "spent solids", "liquid in them", "blown off", "converted")
    shown = [i for i in range(len(heads)) if i == 0 or any(row[2][i] > 5e-4 for row in rows)]
    columns = (
        Column("compound"),
        Column("brought", "compound_mass"),
        *(Column(heads[i], "fraction") for i in shown),
    )
    cells: list[tuple[Cell, ...]] = [
        (name, came, *(shares[i] for i in shown)) for name, came, shares in rows[:_ROWS]
    ]
    more = f" {len(rows) - _ROWS} more compounds are in the JSON form." if len(rows) > _ROWS else ""
    note = "Shares of all there is of the compound, also of what came from elsewhere." + more
    return (Table("Where the ingredients' compounds go", columns, tuple(cells), note),)
