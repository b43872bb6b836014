# SPDX-License-Identifier: MIT
"""Setting one value leaves every other character of a plan alone."""

from __future__ import annotations

import tomllib

import pytest

from middlecut.errors import InputError, NotFoundError
from middlecut.plan.write import set_value

TEXT = """# our plan
[batch]
name = "Rye" # of last year

[still.kettle]   # the copper one
boiler_volume = "30 L"

[still."pot 2.0"]
boiler_volume = "5 L"

[[step]]
id = "strip"
power = "100 %"

[[step]]
id = "spirit-run"
cuts = [
  { into = "heads", until = "78 %vol" }, # generous
  { into = "tails", until = { boiler_volume = "3 L" } },
]
# the end
"""


@pytest.mark.parametrize(
    ("key", "value", "old", "new"),
    [
        ("batch.name", "Corn", '"Rye"', '"Corn"'),
        ("batch.name", 'a "b" \\ é', '"Rye"', '"a \\"b\\" \\\\ é"'),
        ("step.strip.power", "55 %", '"100 %"', '"55 %"'),
        ("step.spirit-run.cuts[0].until", "80 %vol", '"78 %vol"', '"80 %vol"'),
        (
            "step.spirit-run.cuts[1].until",
            "5 %vol",
            '{ boiler_volume = "3 L" }',
            '"5 %vol"',
        ),
        ("step.spirit-run.cuts[1].until.boiler_volume", "2 L", '"3 L"', '"2 L"'),
        ('still."pot 2.0".boiler_volume', "6 L", '"5 L"', '"6 L"'),
        # a key that was not there yet
        (
            "step.spirit-run.cuts[0].power",
            "40 %",
            '"78 %vol" }',
            '"78 %vol", power = "40 %" }',
        ),
        (
            "still.kettle.plates",
            4,
            '"30 L"\n',
            '"30 L"\nplates = 4\n',
        ),
        (
            "still.kettle.drains_back",
            False,
            '"30 L"\n',
            '"30 L"\ndrains_back = false\n',
        ),
        ("batch.altitude", "5 m", "last year\n", 'last year\naltitude = "5 m"\n'),
        (
            "step.spirit-run.reflux_ratio",
            2.5,
            "},\n]\n",
            "},\n]\nreflux_ratio = 2.5\n",
        ),
    ],
)
def test_one_value_changes(key: str, value: str | float, old: str, new: str) -> None:
    assert TEXT.count(old) == 1
    assert set_value(TEXT, key, value) == TEXT.replace(old, new)


def test_a_table_without_keys_and_a_text_without_newline() -> None:
    assert set_value("[batch]", "batch.name", "x") == '[batch]\nname = "x"'
    assert set_value("[batch]\n\n[a]\nb=1", "batch.name", "x") == '[batch]\nname = "x"\n\n[a]\nb=1'
    assert set_value("a = {}\n", "a.b", 1) == "a = { b = 1 }\n"


def test_odd_names_are_quoted() -> None:
    changed = set_value("[lot.x]\ncompounds = {}\n", 'lot.x.compounds."ethyl acetate"', "3 mg/L")
    assert tomllib.loads(changed) == {"lot": {"x": {"compounds": {"ethyl acetate": "3 mg/L"}}}}


@pytest.mark.parametrize(
    ("key", "told"),
    [
        ("step.spirit.power", "no step called 'spirit'. Did you mean 'spirit-run'?"),
        ("step.nothing.power", "no step called 'nothing'"),
        ("still.pot.boiler_volume", "no place in the plan"),
        ("step.spirit-run.cuts[7].power", "no place in the plan"),
        ("batch.name.first", "a single value stands above it"),
        ("still.kettle", "a section stands there"),
        ("batch", "no place of a value"),
        ("step[0]", "no place of a value"),
        ("batch..name", "no place in a plan"),
        ("batch.name.", "no place in a plan"),
        ('batch."name', "no place in a plan"),
        ("batch.name]", "no place in a plan"),
        ("", "no place of a value"),
    ],
)
def test_what_cannot_be_set(key: str, told: str) -> None:
    with pytest.raises((InputError, NotFoundError)) as caught:
        set_value(TEXT, key, "x")
    assert told in str(caught.value)


def test_text_that_is_no_toml() -> None:
    with pytest.raises(InputError, match="not TOML"):
        set_value("a = ", "a.b", 1)


def test_a_change_that_would_touch_more_is_refused() -> None:
    with pytest.raises(InputError, match="Edit it by hand"):
        set_value("a.b = 1\n[c]\nd = 2\n", "a.e", "\x7f")
