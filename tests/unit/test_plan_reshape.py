# SPDX-License-Identifier: MIT
"""Items of a plan's lists come and go; every other character of the file stays."""

from __future__ import annotations

import tomllib

import pytest

from middlecut.errors import InputError, NotFoundError
from middlecut.plan.examples import example_names, example_path
from middlecut.plan.reshape import PlanEdit, apply_edits, inline_table

TEXT = """# our plan
[batch]
name = "Rye" # of last year

[[step]]
id = "ferment"
after = "0 h"  # old habit
add = [
    { ingredient = "coffee", amount = "60 g", after = "0 h" },  # from the corner shop
    { ingredient = "cacao", amount = "20 g" }
]

# the run
[[step]]
id = "spirit"
cuts = [{ into = "heads", until = "78 %vol" }, { into = "hearts", until = "60 %vol" }]

[[step.add]]
ingredient = "juniper berry"   # blue ones
amount = "20 g"

# ---- down to strength
[[step]]
id = "reduce"
from = "hearts"
# the end
"""
NEW = '{ into = "new", until = "50 mL" }'


def after(*edits: PlanEdit) -> str:
    return apply_edits(TEXT, edits)


def changed(old: str, new: str) -> str:
    assert TEXT.count(old) == 1
    return TEXT.replace(old, new)


@pytest.mark.parametrize(
    ("edit", "old", "new"),
    [
        (PlanEdit("set", "step.reduce.from", "heads"), 'from = "hearts"', 'from = "heads"'),
        (PlanEdit("unset", "step.ferment.after"), 'after = "0 h"  # old habit\n', ""),
        (PlanEdit("unset", "step.ferment.add[0].after"), ', after = "0 h" }', " }"),
        (
            PlanEdit("unset", "step.ferment.add[0].amount"),
            ', amount = "60 g", after',
            ", after",
        ),
        (
            PlanEdit("unset", "step.ferment.add[0].ingredient"),
            '{ ingredient = "coffee", amount',
            "{ amount",
        ),
        (
            PlanEdit("remove", "step.ferment.add[0]"),
            TEXT.splitlines(keepends=True)[8],
            "",
        ),
        (
            PlanEdit("remove", "step.ferment.add[1]"),
            '    { ingredient = "cacao", amount = "20 g" }\n',
            "",
        ),
        (
            PlanEdit("remove", "step.spirit.cuts[0]"),
            '[{ into = "heads", until = "78 %vol" }, {',
            "[{",
        ),
        (
            PlanEdit("remove", "step.spirit.cuts[1]"),
            ', { into = "hearts", until = "60 %vol" }]',
            "]",
        ),
        (
            PlanEdit("remove", "step.spirit.add[0]"),
            '[[step.add]]\ningredient = "juniper berry"   # blue ones\namount = "20 g"\n\n',
            "",
        ),
        (PlanEdit("remove", "step.reduce"), '[[step]]\nid = "reduce"\nfrom = "hearts"\n', ""),
        (PlanEdit("insert", "step.spirit.cuts[0]", NEW), "cuts = [", f"cuts = [{NEW}, "),
        (
            PlanEdit("insert", "step.spirit.cuts[1]", NEW),
            ', { into = "hearts"',
            f', {NEW}, {{ into = "hearts"',
        ),
        (
            PlanEdit("insert", "step.spirit.cuts[9]", NEW),
            '"60 %vol" }]',
            f'"60 %vol" }}, {NEW}]',
        ),
        (
            PlanEdit("insert", "step.ferment.add[1]", NEW),
            '    { ingredient = "cacao"',
            f'    {NEW},\n    {{ ingredient = "cacao"',
        ),
        (
            PlanEdit("insert", "step.ferment.add[2]", NEW),
            '"20 g" }\n',
            f'"20 g" }},\n    {NEW},\n',
        ),
        (
            PlanEdit("insert", "step.spirit.add[1]", NEW),
            'amount = "20 g"\n\n',
            'amount = "20 g"\n\n[[step.add]]\ninto = "new"\nuntil = "50 mL"\n\n',
        ),
        (
            PlanEdit("insert", "step.spirit.add[0]", NEW),
            "[[step.add]]\n",
            '[[step.add]]\ninto = "new"\nuntil = "50 mL"\n\n[[step.add]]\n',
        ),
        (
            PlanEdit("insert", "step.reduce.add[0]", NEW),
            'from = "hearts"\n',
            f'from = "hearts"\nadd = [{NEW}]\n',
        ),
        (
            PlanEdit("insert", "step.reduce", '{ id = "steep", kind = "steep" }'),
            'amount = "20 g"\n\n#',
            'amount = "20 g"\n\n[[step]]\nid = "steep"\nkind = "steep"\n\n#',
        ),
    ],
)
def test_one_edit_changes_its_own_place_only(edit: PlanEdit, old: str, new: str) -> None:
    assert after(edit) == changed(old, new)


def test_edits_are_counted_in_the_text_as_it_was() -> None:
    text = after(
        PlanEdit("remove", "step.ferment.add[0]"),
        PlanEdit("set", "step.ferment.add[1].amount", "5 g"),
        PlanEdit("insert", "step.ferment.add[2]", '{ ingredient = "anise", amount = "1 g" }'),
        PlanEdit("insert", "step.reduce", '{ id = "one" }'),
        PlanEdit("insert", "step.reduce", '{ id = "two" }'),
        PlanEdit("set", "step.spirit.cuts[1].until", "65 %vol"),
        PlanEdit("insert", "step.spirit.cuts[2]", NEW),
        PlanEdit("insert", "step.spirit.cuts[0]", NEW.replace("new", "first")),
        PlanEdit("remove", "step.ferment.add[0]"),  # once more is no more
    )
    steps = tomllib.loads(text)["step"]
    assert [step["id"] for step in steps] == ["ferment", "spirit", "one", "two", "reduce"]
    assert [(one["ingredient"], one["amount"]) for one in steps[0]["add"]] == [
        ("cacao", "5 g"),
        ("anise", "1 g"),
    ]
    assert [one["into"] for one in steps[1]["cuts"]] == ["first", "heads", "hearts", "new"]
    assert steps[1]["cuts"][2]["until"] == "65 %vol"
    for comment in ("# our plan", "# of last year", "# the run", "# blue ones", "# the end"):
        assert comment in text


def test_a_list_that_becomes_empty_goes_with_its_key() -> None:
    text = apply_edits(TEXT, [PlanEdit("remove", f"step.ferment.add[{index}]") for index in (0, 1)])
    assert "add" not in tomllib.loads(text)["step"][0]


@pytest.mark.parametrize("name", example_names())
def test_what_is_put_in_and_taken_out_leaves_no_trace(name: str) -> None:
    text = example_path(name).read_text(encoding="utf-8")
    tried = 0
    for step in tomllib.loads(text)["step"]:
        for key in ("add", "cuts", "reserve", "from"):
            items = step.get(key)
            for index in range(len(items) + 1 if isinstance(items, list) else 0):
                place = f"step.{step['id']}.{key}[{index}]"
                more = apply_edits(text, [PlanEdit("insert", place, NEW)])
                assert more != text
                assert apply_edits(more, [PlanEdit("remove", place)]) == text, place
                tried += 1
    assert tried > 10


def test_every_kind_of_value_can_be_written() -> None:
    import datetime as dt

    values = {
        "a b": True,
        "text": 'a "b"',
        "number": 2.5,
        "day": dt.date(2026, 3, 1),
        "list": ["x", {"lot": "y"}],
    }
    assert tomllib.loads(f"item = {inline_table(values)}")["item"] == values


@pytest.mark.parametrize(
    "edit",
    [
        PlanEdit("remove", "step.ferment.add[7]"),
        PlanEdit("unset", "step.ferment.nothing"),
        PlanEdit("remove", "step.nowhere"),
        PlanEdit("insert", "step.spirit.from", NEW),
    ],
)
def test_what_is_not_there_is_refused(edit: PlanEdit) -> None:
    with pytest.raises((InputError, NotFoundError)):
        after(edit)
