# SPDX-License-Identifier: MIT
"""A still whose heat losses nobody stated is told of once, beside its first run."""

from __future__ import annotations

import pytest

from middlecut.plan.predict import predict
from middlecut.plan.read import read_plan_text
from middlecut.steps.result import Caution

PLAN = """
[batch]
name = "losses"
[still.pot]
boiler_volume = "10 L"
heater_power = "2 kW"
condenser_duty = "3 kW"
{losses}
[lot.wine]
volume = "12 L"
strength = "12 %vol"
"""
RUN = """
[[step]]
id = "run-{number}"
kind = "distil"
purpose = "strip"
still = "pot"
from = [{{ lot = "wine", volume = "6 L" }}]
cuts = [{{ into = "low wines {number}", until = "10 %vol" }}]
"""


def told(losses: str, runs: int = 1) -> list[tuple[str, Caution]]:
    text = PLAN.format(losses=losses) + "".join(RUN.format(number=n) for n in range(runs))
    prediction = predict(read_plan_text(text))
    return [
        (step, caution)
        for step, result in prediction.steps.items()
        for caution in result.cautions
        if caution.code == "heat-loss-unstated"
    ]


def test_no_loss_at_all_is_a_watch_said_at_the_first_run_only() -> None:
    ((step, caution),) = told("", runs=2)
    assert step == "run-0"
    assert caution.severity == "watch"
    assert "pot: no heat loss is stated" in caution.text
    assert "boiler_loss and head_loss in [still.pot]" in caution.text


@pytest.mark.parametrize(
    ("losses", "missing", "other"),
    [
        ('boiler_loss = "80 W"', "head_loss", "boiler_loss"),
        ('head_loss = "80 W"', "boiler_loss", "head_loss"),
    ],
)
def test_one_of_two_is_a_note_that_names_the_other(losses: str, missing: str, other: str) -> None:
    ((_, caution),) = told(losses)
    assert caution.severity == "note"
    assert f"Write {missing} in" in caution.text
    assert f"Write {other}" not in caution.text


def test_nothing_is_said_of_a_still_whose_losses_are_stated() -> None:
    assert told('boiler_loss = "80 W"\nhead_loss = "40 W"') == []


def test_the_direction_that_is_told_is_the_one_of_the_run() -> None:
    # Heat balance: what the boiler loses makes no vapour, what the head loses comes back as reflux.
    def run(losses: str) -> tuple[float, float]:
        result = predict(read_plan_text(PLAN.format(losses=losses) + RUN.format(number=0)))
        made = result.steps["run-0"]
        assert made.curve is not None
        return made.duration, made.curve.facts.first_strength

    plain, boiler, head = (run(one) for one in ("", 'boiler_loss = "300 W"', 'head_loss = "300 W"'))
    assert boiler[0] > plain[0] * 1.1
    assert head[0] > plain[0]
    assert head[1] > plain[1]


WASH = """
[batch]
name = "profiles"
[still.pot]
boiler_volume = "30 L"
heater_power = "2 kW"
boiler_loss = "80 W"
head_loss = "80 W"
condenser_duty = "3 kW"
element_covered_above = "2 L"
[[step]]
id = "wash"
kind = "ferment"
into = "wash"
volume = "20 L"
gravity = "1.060 SG"
final_gravity = "1.010 SG"
temperature = "25 °C"
duration = "7 d"
{profile}
[[step]]
id = "run"
kind = "distil"
purpose = "spirit"
still = "pot"
from = ["wash"]
cuts = [{{ into = "hearts", until = "20 %vol" }}]
[[step]]
id = "fill"
kind = "bottle"
from = "hearts"
into = "bottles"
bottle_volume = "500 mL"
strength = "36 %vol"
"""


def test_a_wash_taken_for_grain_is_told_at_the_ferment_and_wherever_methanol_is() -> None:
    steps = predict(read_plan_text(WASH.format(profile=""))).steps
    said = {name: {one.code: one for one in result.cautions} for name, result in steps.items()}
    ferment = said["wash"]["profile-unstated"]
    assert ferment.severity == "watch"
    assert "congeners and methanol are those of a grain wash" in ferment.text
    # 600 over 6 g per hL of pure alcohol, the typical rows of the congener table.
    assert "about 100 times the methanol" in ferment.text
    assert said["fill"]["methanol-assumed"].severity == "watch"
    for step, code in (("run", "methanol-run"), ("fill", "methanol")):
        assert said[step][code].text.endswith("A grain wash is assumed.")
    figure = next(one for one in steps["fill"].figures if one.key == "methanol")
    assert figure.label.endswith("taken for a grain wash")


@pytest.mark.parametrize("profile", ["grain", "fruit"])
def test_a_stated_profile_leaves_nothing_to_tell(profile: str) -> None:
    prediction = predict(read_plan_text(WASH.format(profile=f'profile = "{profile}"')))
    codes = {one.code for one in prediction.cautions}
    assert not codes & {"profile-unstated", "methanol-assumed"}
    assert not any("is assumed" in one.text for one in prediction.cautions)


def test_methanol_of_the_plan_itself_is_not_said_to_be_assumed() -> None:
    own = 'compounds = { methanol = "40 mg/L" }'
    prediction = predict(read_plan_text(WASH.format(profile=own)))
    said = {one.code: one.text for one in prediction.cautions}
    assert "so congeners are those of a grain wash" in said["profile-unstated"]
    assert "methanol-assumed" not in said
