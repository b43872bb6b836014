# SPDX-License-Identifier: MIT
"""Everything wrong with a plan is told at once, each with line, key, value and remedy."""

from __future__ import annotations

from typing import get_args

import pytest
from pydantic import BaseModel

from middlecut.errors import InputError, PlanError, Problem
from middlecut.plan import quantities, schema
from middlecut.plan.quantities import Quantity
from middlecut.plan.read import read_plan_text
from middlecut.units import DIMENSIONS, parse_quantity

HEAD = '[batch]\nname = "Rye"\n'
STILL = '[still.kettle]\nboiler_volume = "30 L"\nheater_power = "2.4 kW"\n'
WASH = (
    '[[step]]\nid = "mash"\nkind = "ferment"\ninto = "wash"\nvolume = "26 L"\n'
    'gravity = "1.062 SG"\nfinal_gravity = "1.010 SG"\ntemperature = "28 °C"\nduration = "6 d"\n'
)
RUN = (
    '[[step]]\nid = "run"\nkind = "distil"\nfrom = "wash"\nstill = "kettle"\n'
    'purpose = "strip"\ncuts = [{ into = "low wines", until = "10 %vol" }]\n'
)
GOOD = HEAD + STILL + WASH + RUN


def problems_of(text: str) -> tuple[Problem, ...]:
    try:
        read_plan_text(text)
    except PlanError as error:
        return error.problems
    return ()


def only(text: str) -> Problem:
    found = problems_of(text)
    assert len(found) == 1, found
    return found[0]


def test_the_base_of_these_tests_is_good() -> None:
    assert problems_of(GOOD) == ()


@pytest.mark.parametrize(
    ("old", "new", "key", "message", "remedy"),
    [
        # units and numbers
        ('"26 L"', '"26"', "step.mash.volume", "unit is missing", '"26 L"'),
        ('"26 L"', "26", "step.mash.volume", "unit is missing", '"26 L"'),
        ('"26 L"', '"26 kW"', "step.mash.volume", "unit of power", '"25 L"'),
        ('"26 L"', '"-3 L"', "step.mash.volume", "allowed is 10 mL to 5000 L", '"25 L"'),
        ('"26 L"', '"1,500 L"', "step.mash.volume", "comma before three digits", '"1500 L"'),
        ('"1.062 SG"', '"1.4 SG"', "step.mash.gravity", "1.001 SG to 1.13 SG", '"1.062 SG"'),
        ('"1.062 SG"', '"95 °P"', "step.mash.gravity", "range", ""),
        ('"28 °C"', '"80 °C"', "step.mash.temperature", "5 °C to 40 °C", '"28 °C"'),
        ('"6 d"', '"6 x"', "step.mash.duration", "written in s, min, h", '"6 d"'),
        ('"30 L"', '"0 L"', "still.kettle.boiler_volume", "500 mL to 2000 L", '"30 L"'),
        ('"2.4 kW"', '"1 MW"', "still.kettle.heater_power", "written in W, kW", '"1 W"?'),
        ('"2.4 kW"', '"5 W"', "still.kettle.heater_power", "50 W to 200 kW", '"2.4 kW"'),
        # what was probably meant; 1 hp is 745.7 W and 1 PS 735.5 W by definition
        ('"26 L"', '"25 kg"', "step.mash.volume", "unit of mass", 'for example "25 L"'),
        ('"2.4 kW"', '"2 hp"', "still.kettle.heater_power", "in W, kW", 'Write "1.49 kW"'),
        ('"2.4 kW"', '"2 PS"', "still.kettle.heater_power", "in W, kW", 'Write "1.47 kW"'),
        ('"1.062 SG"', '"1050"', "step.mash.gravity", "unit is missing", 'Write "1.050 SG"'),
        ('"1.062 SG"', "1050", "step.mash.gravity", "unit is missing", 'Write "1.050 SG"'),
        ('"1.062 SG"', '"1050 SG"', "step.mash.gravity", "1.001 SG to", 'Write "1.050 SG"'),
        ('"1.062 SG"', '"12 °Bx"', "step.mash.gravity", "written in SG", 'Write "12 °P"'),
        ('"10 %vol"', '"62 %"', "step.run.cuts[0].until", "a cut ends at", '"62 %mass" if it'),
        ('"Rye"', '"Rye"\naltitude = "1,300 m"', "batch.altitude", "comma", "if you mean 1.3 m"),
        (
            '"Rye"', '"Rye"\naltitude = "1.300 m"', "batch.altitude",
            "reads as 1.3 m above the sea", 'Write "1300 m", or "1.3 m"',
        ),
        # strengths
        ('"10 %vol"', '"98 %vol"', "step.run.cuts[0].until", "azeotrope", '"62 %vol"'),
        ('"10 %vol"', '"196 proof"', "step.run.cuts[0].until", "azeotrope", '"62 %vol"'),
        ('"10 %vol"', '"300 proof"', "step.run.cuts[0].until", "0 to 200", '"80 proof"'),
        ('"10 %vol"', '"10 %"', "step.run.cuts[0].until", "a cut ends at", "%vol"),
        ('"10 %vol"', '"10"', "step.run.cuts[0].until", "a cut ends at", "%vol"),
        ('"10 %vol"', "10", "step.run.cuts[0].until", "a cut ends at", "%vol"),
        ('"10 %vol"', "{ }", "step.run.cuts[0].until", "exactly one condition", "boiler_volume"),
        (
            '"10 %vol"', '{ boilr_volume = "4 L" }', "step.run.cuts[0].until",
            "the conditions are volume", "boiler_volume",
        ),
        ('"10 %vol"', '{ time = "4 L" }', "step.run.cuts[0].until", '"L" is a unit of volume', ""),
        # keys and kinds
        ("temperature =", "temprature =", "step.mash.temprature", "no key", "temperature?"),
        ('final_gravity = "1.010 SG"\n', "", "step.mash.final_gravity", "is needed", "atten"),
        ('volume = "26 L"\n', "", "step.mash.volume", "this key is needed", 'volume = "25 L"'),
        ('purpose = "strip"\n', "", "step.run.purpose", "is needed", 'purpose = "spirit"'),
        ('"strip"', '"stripping"', "step.run.purpose", '"strip", "spirit"', '"strip"?'),
        ('kind = "distil"', 'kind = "distill"', "step.run.kind", "has a kind", '"distil"?'),
        ('kind = "distil"\n', "", "step.run.kind", "has a kind", "ferment"),
        ('"Rye"', "5", "batch.name", "text in quotes", "quotes"),
        ('"Rye"', '"Rye "', "batch.name", "blank", "Rename"),
        ('"Rye"', '""', "batch.name", "this is empty", "name"),
        ('id = "run"', 'id = "run 1"', "step.run 1.id", "letters, digits", "spirit-run"),
        ('id = "run"', 'id = "mash"', "step.mash.id", "same id", "its own id"),
        ("cuts = [{", "cuts = [] #", "step.run.cuts", "at least one", "Add one"),
        ('"wash"\nstill', '["wash", 5]\nstill', "step.run.from[1]", "a table is wanted", "braces"),
        ("[still.kettle]", "[stil.x]\n[still.kettle]", "stil", "no section 'stil'", "still?"),
        # what belongs together
        ('"Rye"', '"Rye"\naltitude = "1 m"\npressure = "1 bar"', "batch.pressure", "same", ""),
        ('"30 L"', '"30 L"\nplates = 4', "still.kettle.plate_efficiency", "needs", '"60 %"'),
        ('"30 L"', '"30 L"\nhetp = "9 cm"', "still.kettle.packing_height", "needs", '"40 cm"'),
        ('"30 L"', '"30 L"\ncolumn_holdup = "9 mL"', "still.kettle.column_holdup", "no column", ""),
        (
            '"30 L"', '"30 L"\nelement_covered_above = "31 L"',
            "still.kettle.element_covered_above", "never full enough", "least liquid",
        ),
        ('"1.010 SG"', '"1.070 SG"', "step.mash.final_gravity", "below the first", "Swap"),
        ('"kettle"', '"ketle"', "step.run.still", 'there is "kettle"', '"kettle"?'),
        ('"strip"', '"strip"\npower = "3 kW"', "step.run.power", "heater of 2.40 kW", "100 %"),
        ('"strip"', '"strip"\npower = "0 %"', "step.run.power", "2 % to 100 %", '"60 %"'),
        ('"strip"', '"strip"\nwater = "40 L"', "step.run.from", "40.0 L does not go", "Divide"),
        ('"10 %vol" }', '"10 %vol", reflux_ratio = 3 }', "step.run.cuts[0].reflux_ratio", "", ""),
        (
            '"10 %vol" }', '"10 %vol" }, { into = "x", until = "20 %vol" }',
            "step.run.cuts[1].until", "already runs until 10.0 %vol", "order",
        ),
        (
            '"10 %vol" }', '"1 h" }, { into = "x", until = "30 min" }',
            "step.run.cuts[1].until", "have to rise", "order",
        ),
        (
            '"10 %vol" }',
            '{ boiler_volume = "4 L" } }, { into = "x", until = { boiler_volume = "5 L" } }',
            "step.run.cuts[1].until", "already runs until 4.00 L", "order",
        ),
        (
            '"strip"',
            '"strip"\nadd = [{ ingredient = "clive", amount = "5 g", entry = "basket" }]',
            "step.run.add[0].ingredient", "no ingredient of that name is known", '"clove"',
        ),
    ],
)  # fmt: skip
def test_one_problem(old: str, new: str, key: str, message: str, remedy: str) -> None:
    text = GOOD.replace(old, new, 1)
    assert text != GOOD
    problem = only(text)
    assert problem.key == key
    assert message.casefold() in problem.message.casefold()
    assert remedy.casefold() in problem.remedy.casefold()
    assert problem.line is not None
    row = text.split("\n")[problem.line - 1]
    word = key.rpartition(".")[2].partition("[")[0]
    if not new:
        assert row == "[[step]]"
    elif f"{word} =" in text:
        # The line is that of the key, or inside the list or table it opens.
        assert word in row or "{" in row


def test_entry_points_of_ingredients_are_the_six() -> None:
    literal = get_args(schema.AddTable.model_fields["entry"].annotation)[0]
    assert set(get_args(literal)) == set(schema.ENTRY_POINTS)


def test_all_problems_at_once_in_the_order_of_the_file() -> None:
    text = (
        GOOD.replace('"30 L"', '"30"')
        .replace('"26 L"', '"26 kg"')
        .replace("duration", "duratoin")
        .replace('"kettle"', '"ketle"')
        .replace('"10 %vol"', '"99 %vol"')
        .replace('from = "wash"', 'from = "wsh"')
    )
    found = problems_of(text)
    assert [problem.key for problem in found] == [
        "still.kettle.boiler_volume",
        "step.mash.volume",
        "step.mash.duratoin",
        "step.run.from",
        "step.run.still",
        "step.run.cuts[0].until",
    ]
    lines = [problem.line or 0 for problem in found]
    assert lines == sorted(lines)
    told = str(PlanError("rye.toml", found))
    assert len(told.split("\n")) == 6
    assert told.startswith('rye.toml:4: still.kettle.boiler_volume = "30": The unit is missing')


def test_cuts_in_the_order_they_run_are_no_problem() -> None:
    for first, second in (
        ('"62 %vol"', '"10 %vol"'),
        ('"90 °C"', '"95 °C"'),
        ('"30 min"', '"2 h"'),
        ('{ boiler_volume = "9 L" }', '{ boiler_volume = "5 L" }'),
        ('"500 mL"', '"300 mL"'),
        ('"62 %vol"', '"300 mL"'),
    ):
        cuts = f'{first} }}, {{ into = "x", until = {second} }}'
        assert problems_of(GOOD.replace('"10 %vol" }', cuts)) == ()


def test_levels_of_compounds() -> None:
    def wash(levels: str) -> Problem:
        return only(HEAD + WASH + f"compounds = {levels}\n")

    assert '"ethyl acetate"' in wash('{ "ethyl acetat" = "2 mg/L" }').remedy
    assert "low, typical, high" in wash('{ "ethyl acetate" = { low = "2 mg/L" } }').message
    high = wash('{ "ethyl acetate" = { low = "3 mg/L", typical = "2 mg/L", high = "4 mg/L" } }')
    assert "have to rise" in high.message
    twice = wash('{ "isoamyl alcohol" = "2 mg/L", "3-methyl-1-butanol" = "3 mg/L" }')
    assert "the same compound" in twice.message
    assert "a table is wanted" in wash('"5 mg/L"').message.casefold()
    assert "mg/L" in wash('{ "ethyl acetate" = "2 %" }').message


def test_prices() -> None:
    def batch(keys: str) -> Problem:
        return only(GOOD.replace('"Rye"\n', f'"Rye"\n{keys}\n', 1))

    assert '"0.32 EUR/kWh"' in batch("energy_price = 0.3").remedy
    assert "energy" in batch('energy_price = "0.3 EUR/L"').message
    both = batch('energy_price = "0.3 EUR/kWh"\nwater_price = "4 USD/m3"')
    assert '"USD", others are in "EUR"' in both.message
    assert "short word" in batch('currency = "5 EUR"').message


def test_sections_of_the_wrong_shape() -> None:
    assert {one.key for one in problems_of("step = 5\nbatch = 1\nstill = [1]\nlot = 3")} == {
        "step",
        "batch",
        "still",
        "lot",
    }
    found = problems_of(HEAD + "[still]\nboiler_volume = '3 L'\n[lot]\n'' = {}\n" + WASH)
    assert {one.key for one in found} == {"still.boiler_volume", 'lot.""'}
    found = problems_of("step = [1, {}]\n" + HEAD)
    assert {one.key for one in found} == {"step[0]", "step[1].kind"}
    found = problems_of(HEAD + "".join(f"x{index} = 1\n" for index in range(300)) + WASH)
    assert len(found) == 201
    assert found[-1].message == "100 more problems are not shown."
    assert problems_of(HEAD + f"notes = 'so{'.' * 300}'\n# {'.' * 300} = 1\n" + WASH) == ()
    assert "at most 500 steps" in only(HEAD + "[[step]]\n" * 501).message


def ranges() -> list[Quantity]:
    """Return every range of the schema and of the readers beside it."""
    found = [value for value in vars(quantities).values() if isinstance(value, Quantity)]
    found += quantities.CONDITIONS.values()
    for model in vars(schema).values():
        if isinstance(model, type) and issubclass(model, BaseModel):
            for info in model.model_fields.values():
                waiting: list[object] = [*info.metadata, info.annotation]
                while waiting:
                    part = waiting.pop()
                    waiting += get_args(part)
                    if isinstance(part, Quantity):
                        found.append(part)
    return found


def test_every_range_tells_the_truth() -> None:
    rows = ranges()
    assert len(rows) > 60
    for row in rows:
        assert row.low < row.high
        assert row.read(row.sample.strip('"')) > 0.0
        for bound, step in ((row.low, -1.0), (row.high, 1.0)):
            text = row.bound(bound)
            # What the message calls allowed is allowed, to the digits the message prints.
            value = parse_quantity(text, row.dimension)
            assert value == pytest.approx(bound, rel=5e-3, abs=1e-12)
            with pytest.raises(InputError, match="allowed is"):
                row.within(bound + step * max(1e-6, abs(bound) * 0.01), text)


def test_examples_of_quantities_have_the_right_kind() -> None:
    for row in ranges():
        if DIMENSIONS[row.dimension].bare:
            assert not row.sample.startswith('"')
        else:
            assert row.sample.startswith('"')


@pytest.mark.parametrize("altitude", ["1.3 m", "0.300 m", "12.500 m", "1.300 km", "1300 m"])
def test_an_altitude_without_doubt_is_taken(altitude: str) -> None:
    assert problems_of(GOOD.replace('"Rye"', f'"Rye"\naltitude = "{altitude}"')) == ()


@pytest.mark.parametrize(
    ("name", "remedy"),
    [
        ("strip-1", 'Add purpose = "strip".'),
        ("gin-run", 'Add purpose = "flavour".'),
        ("run", 'Add purpose = "spirit" (or "strip", or "flavour").'),
    ],
)
def test_a_missing_purpose_is_guessed_from_the_name_of_the_run(name: str, remedy: str) -> None:
    text = GOOD.replace('purpose = "strip"\n', "").replace('id = "run"', f'id = "{name}"')
    assert only(text).remedy == remedy
