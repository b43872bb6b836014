# SPDX-License-Identifier: MIT
"""Wood in a plan file: read, refused, predicted, scaled and shown."""

from __future__ import annotations

from typing import get_args

import pytest

import middlecut as mc
from middlecut.liquid.evaporation import CLIMATES
from middlecut.liquid.oak import SPECIES, TREATMENTS
from middlecut.liquid.oak_pieces import FORMS
from middlecut.plan import schema
from middlecut.steps.parameters import Wood

START = """
[batch]
name = "Kiln Lane 7"
altitude = "0 m"

[lot."new make"]
volume = "18 L"
strength = "60 %vol"

[[step]]
id = "rest"
kind = "wood"
from = "new make"
into = "aged"
"""
CASK = """form = "cask"
species = "american oak"
treatment = "heavy char"
cask_volume = "20 L"
climate = "cool damp"
duration = "2 years"
"""
CHIPS = """form = "chips"
species = "sessile oak"
treatment = "medium toast"
dose = "4 g/L"
duration = "21 d"
"""


def plan(text: str) -> mc.Plan:
    return mc.read_plan_text(START + text)


def problems(text: str) -> dict[str, str]:
    with pytest.raises(mc.PlanError) as caught:
        plan(text)
    return {problem.key: f"{problem.message} {problem.remedy}" for problem in caught.value.problems}


def test_the_names_in_a_plan_are_those_of_the_tables() -> None:
    fields = schema.WoodTable.model_fields
    assert get_args(fields["form"].annotation) == FORMS
    assert get_args(fields["species"].annotation) == SPECIES
    assert get_args(fields["treatment"].annotation) == TREATMENTS
    climates = next(part for part in get_args(fields["climate"].annotation) if get_args(part))
    assert get_args(climates) == CLIMATES


def test_a_cask_is_read() -> None:
    step = plan(CASK + 'earlier_fills = 1\ntemperature = "12 °C"\nyearly_loss = "3 %"\n').steps[0]
    assert isinstance(step, Wood)
    assert step.cask_volume == pytest.approx(0.02)
    assert step.duration == pytest.approx(2.0 * 365.25 * 86400.0)
    assert (step.earlier_fills, step.climate) == (1, "cool damp")
    assert step.yearly_loss == pytest.approx(0.03)


def test_pieces_are_read() -> None:
    step = plan(CHIPS + 'piece = ["12 mm", "6 mm", "3 mm"]\nforced = "warm shelf"\n').steps[0]
    assert isinstance(step, Wood)
    assert step.piece == pytest.approx((0.012, 0.006, 0.003))
    assert (step.dose, step.forced, step.temperature) == (4.0, "warm shelf", None)


@pytest.mark.parametrize(
    ("text", "key", "part"),
    [
        (CASK.replace('cask_volume = "20 L"\n', ""), "cask_volume", "needs"),
        (CASK.replace('climate = "cool damp"\n', ""), "climate", "needs"),
        (CASK + 'dose = "4 g/L"\n', "dose", "does not go with"),
        (CHIPS.replace('dose = "4 g/L"\n', ""), "dose", "ow much wood"),
        (CHIPS + 'area = "120 cm2"\n', "area", "same thing"),
        (CHIPS + 'climate = "temperate"\n', "climate", "does not go with"),
        (CHIPS + 'temperature = "60 °C"\n', "temperature", "forced"),
        (CHIPS.replace("4 g/L", "4"), "dose", "unit"),
        (CHIPS.replace("sessile oak", "cherry"), "species", "oak"),
        (CHIPS + 'piece = ["12 mm", "6 mm"]\n', "piece", ""),
    ],
)
def test_what_is_refused(text: str, key: str, part: str) -> None:
    found = problems(text)
    assert f"step.rest.{key}" in found
    assert part in found[f"step.rest.{key}"]


def test_a_cask_that_is_too_small_is_told_with_its_line() -> None:
    with pytest.raises(mc.PlanError) as caught:
        mc.predict(plan(CASK.replace('"20 L"', '"15 L"')))
    problem = caught.value.problems[0]
    assert problem.key == "step.rest.cask_volume"
    assert problem.line == 18
    assert "18 L" in problem.message


@pytest.mark.parametrize("text", [CASK, CHIPS], ids=["cask", "chips"])
def test_prediction_closes(text: str) -> None:
    prediction = mc.predict(plan(text))
    assert prediction.lots["aged"].compounds["vanillin"] > 0.1
    entry = prediction.account.entries["vanillin"]
    assert entry.came["from the wood"] > 0.0
    assert abs(entry.gap) < 1e-9


def test_the_sheet_says_it_in_words() -> None:
    text = mc.render_text(
        mc.make_sheet(mc.predict(plan(CASK + 'forced = "rolled daily"\nearlier_fills = 1\n')))
    )
    for words in (
        "into a cask of",
        "cool damp",
        "Colour: about",
        "rolled daily",
        "not predicted",
        "fill 2 of",
    ):
        assert words in " ".join(text.split())


def test_scaling_keeps_area_for_each_litre() -> None:
    first = plan(CHIPS.replace('dose = "4 g/L"', 'area = "0.14 m2"'))
    before = mc.predict(first)
    scaled = mc.scale(first, volume=2.0 * before.lots["aged"].volume)
    step = scaled.plan.steps[0]
    assert isinstance(step, Wood)
    assert step.area == pytest.approx(0.28, rel=2e-4)  # a little more, never less
    assert any(change.key.endswith("area") for change in scaled.changes)
