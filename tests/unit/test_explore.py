# SPDX-License-Identifier: MIT
"""What if: the same numbers as predicting anew, and only the steps a change touches."""

from __future__ import annotations

import json
import re
from functools import cache

import pytest

import middlecut as mc
from middlecut.errors import InputError, NotFoundError, PlanError
from middlecut.insight.difference_text import _both as both_shown
from middlecut.insight.difference_text import render_difference, render_difference_csv
from middlecut.insight.explore import Change, Explorer, changed_plan, what_if
from middlecut.plan.model import Batch, Plan
from middlecut.plan.places import full_place
from middlecut.plan.predict import predict

TEXT = """\
[batch]
name = "Trial"
energy_price = "0.3 EUR/kWh"
currency = "EUR"

[still.pot]
boiler_volume = "30 L"
heater_power = "2.4 kW"
boiler_loss = "150 W"
head_loss = "80 W"

[lot.wine]
volume = "9 L"
strength = "28 %vol"
compounds = { methanol = "20 mg/L" }

[[step]]
id = "run"
kind = "distil"
still = "pot"
purpose = "spirit"
from = ["wine"]
power = "60 %"
cuts = [{ into = "hearts", until = "55 %vol" }, { into = "tails", until = "20 %vol" }]

[[step]]
id = "reduce"
kind = "dilute"
from = "hearts"
strength = "43 %vol"
into = "ready"
"""


@cache
def explorer() -> Explorer:
    return Explorer(mc.read_plan_text(TEXT, "trial.toml"))


@pytest.mark.parametrize(
    ("place", "value", "first"),
    [
        ("run.power", "50 %", "run"),
        ("step.reduce.strength", "41 %vol", "reduce"),
        ("still.pot.head_loss", "200 W", "run"),
        ("lot.wine.strength", "25 %vol", "run"),
        ("step.run.cuts[0].until", "60 %vol", "run"),
        ("batch.name", "Another", "run"),
    ],
)
def test_a_change_gives_what_predicting_anew_gives(place: str, value: str, first: str) -> None:
    found = explorer().what_if({place: value})
    assert found.first_step == first
    assert found.after.to_dict() == predict(found.plan).to_dict()
    assert found.before.to_dict() == predict(explorer().plan).to_dict()


def test_steps_before_the_change_are_not_done_again() -> None:
    found = explorer().what_if({"reduce.strength": "41 %vol"})
    assert found.after.steps["run"] is found.before.steps["run"]
    assert {row.name for row in found.rows if row.group in {"lot", "compound"}} == {"ready"}


def test_less_power_gives_a_stronger_and_longer_run() -> None:
    # Issue 2, section 3: lowering the power at fixed head loss must raise strength and time.
    rows = {(row.group, row.name, row.key): row for row in explorer().what_if(
        {"run.power": "40 %"}).rows}  # fmt: skip
    for key in (("lot", "hearts", "strength"), ("step", "run", "run_time"),
                ("total", "", "still_time")):  # fmt: skip
        row = rows[key]
        assert row.before is not None
        assert row.after is not None
        assert row.after > row.before


def test_no_difference_has_no_rows() -> None:
    found = what_if(explorer().plan, {"run.power": "60 %"})
    assert found.first_step == ""
    assert found.rows == ()
    assert "Nothing becomes different" in render_difference(found)


def test_price_alone_changes_the_money_alone() -> None:
    rows = what_if(explorer().plan, {"batch.energy_price": "0.6 EUR/kWh"}).rows
    assert [(row.group, row.key) for row in rows] == [("total", "cost")]
    assert rows[0].after == pytest.approx(2.0 * (rows[0].before or 0.0))


def test_cautions_that_come_and_go_are_told() -> None:
    found = explorer().what_if({"still.pot.boiler_volume": "11 L"}).to_dict()
    assert any("boiler is" in text for text in found["cautions"]["new"])
    assert json.loads(json.dumps(found))["changes"] == {"still.pot.boiler_volume": "11 L"}


def test_difference_as_text_and_csv() -> None:
    found = explorer().what_if({"run.power": "50 %"})
    text = render_difference(found, 72)
    assert "hearts: strength" in text
    assert "Totals" in text
    assert max(map(len, text.splitlines())) <= 72
    assert "°F" in render_difference(explorer().what_if({"lot.wine.temperature": "40 °C"}),
                                     system="us")  # fmt: skip
    lines = render_difference_csv(found).splitlines()
    assert lines[0] == "group,name,key,before,after,unit"
    row = next(line.split(",") for line in lines if line.startswith("lot,hearts,strength"))
    assert float(row[4]) > float(row[3])
    assert row[5] == "%vol"


def test_compounds_that_change_by_one_share_stand_on_one_line() -> None:
    many = 'methanol = "20 mg/L", isobutanol = "9 mg/L", "ethyl acetate" = "30 mg/L", '
    many += '"1-propanol" = "12 mg/L"'
    plan = mc.read_plan_text(TEXT.replace('methanol = "20 mg/L"', many))
    found = what_if(plan, {"reduce.strength": "41 %vol"})
    rows = [row for row in found.rows if row.group == "compound" and row.name == "ready"]
    assert len(rows) == 4  # water added thins all of them alike
    text = render_difference(found)
    assert f"ready: {len(rows)} alike, such as " in text
    assert "ready: isobutanol" not in text


def test_compounds_that_change_each_in_its_own_way_are_told_one_by_one() -> None:
    text = render_difference(explorer().what_if({"run.power": "50 %"}))
    assert "mg/L" in text


def test_us_differences_are_in_proof() -> None:
    text = render_difference(explorer().what_if({"reduce.strength": "41 %vol"}), system="us")
    assert " proof" in text
    assert "%vol" not in text.split("Lots", 1)[1]
    stronger = render_difference(explorer().what_if({"lot.wine.strength": "25 %vol"}), system="us")
    assert re.search(r"[+-][\d.]+ proof$", stronger, re.MULTILINE)
    assert "points" not in stronger


def test_before_and_after_have_one_unit() -> None:
    row = Change("lot", "hearts", "volume", "volume at 20 °C", "volume", 0.95e-3, 1.25e-3)
    assert both_shown(row, "metric") == ("0.95 L", "1.25 L")
    gallons = Change("lot", "hearts", "volume", "volume at 20 °C", "volume", 4.0e-3, 3.5e-3)
    # 1 US gal is 3.785412 L.
    assert both_shown(gallons, "us") == ("1.06 US gal", "0.925 US gal")


def test_a_lot_that_is_new_has_no_number_before() -> None:
    found = explorer().what_if({"reduce.into": "bottled"})
    rows = {row.name: row for row in found.rows if row.key == "volume" and row.group == "lot"}
    assert rows["ready"].after is None
    assert rows["bottled"].before is None
    assert "none" in render_difference(found)


def test_unusable_changes_are_refused() -> None:
    plan = explorer().plan
    with pytest.raises(NotFoundError, match="step"):
        what_if(plan, {"step.sprit.power": "50 %"})
    with pytest.raises(PlanError, match="powr"):
        changed_plan(plan, {"run.powr": "50 %"})
    with pytest.raises(PlanError, match="power"):
        changed_plan(plan, {"run.power": "500 W/m"})
    with pytest.raises(PlanError, match="never comes"):
        explorer().what_if({"run.cuts[0].until": "95 %vol"})
    with pytest.raises(InputError, match="text"):
        changed_plan(Plan("made", Batch("made"), ()), {"batch.name": "x"})


def test_a_still_needs_no_section_and_a_cut_may_be_named_by_its_lot() -> None:
    plan = explorer().plan
    for said, place in (
        ("pot.head_loss", "still.pot.head_loss"),
        ("wine.strength", "lot.wine.strength"),
    ):
        assert full_place(plan, said) == place
        with pytest.raises(PlanError, match=place.rsplit(".", 1)[-1]):
            changed_plan(plan, {said: "3 bananas"})
    for said in ("run.hearts.until", "step.run.hearts.until", "run.cuts.hearts.until"):
        assert changed_plan(plan, {said: "60 %vol"}) == changed_plan(
            plan, {"step.run.cuts[0].until": "60 %vol"}
        )
    assert full_place(plan, 'run."tails".until') == "step.run.cuts[1].until"


@pytest.mark.parametrize(
    ("said", "near"),
    [
        ("shed.head_loss", "still.pot.head_loss"),
        ("run.hears.until", "run.cuts[0].until"),
        ("run.talis.until", "run.cuts[1].until"),
        ("rum.power", "run.power"),
    ],
)
def test_a_place_that_is_not_there_brings_the_nearest_ones(said: str, near: str) -> None:
    with pytest.raises(NotFoundError) as caught:
        changed_plan(explorer().plan, {said: "55 %"})
    assert caught.value.near[0] == near


def test_nonsense_brings_no_place_that_has_nothing_to_do_with_it() -> None:
    with pytest.raises(InputError) as caught:
        changed_plan(explorer().plan, {"nonsense": "1"})
    assert "notes" not in str(caught.value)
    with pytest.raises(InputError, match=r"batch\.altitude"):
        changed_plan(explorer().plan, {"altitud": "1 m"})


def test_the_largest_change_comes_first_and_rounding_is_left_out() -> None:
    text = render_difference(explorer().what_if({"run.cuts[0].until": "50 %vol"}))
    lots = text.split("Lots", 1)[1].split("Compounds", 1)[0].splitlines()
    names = [line.split(":")[0].strip() for line in lots if ":" in line]
    assert names[0] == "ready"  # what the plan is for
    assert names.index("tails") < names.index("hearts")  # it loses a larger share
    steps = text.split("Steps", 1)[1].split("Totals", 1)[0]
    assert "pure alcohol" not in steps  # said of the lots already
    assert "points" in text
    small = render_difference(explorer().what_if({"run.power": "60.01 %"}))
    assert "contraction" not in small


def test_cautions_lead_with_their_gravity() -> None:
    found = explorer().what_if({"still.pot.boiler_volume": "9.5 L"})
    new = found.to_dict()["cautions"]["new"]
    assert new
    order = [text.split(",")[0] for text in new]
    assert order == sorted(order, key=["DANGER", "WATCH", "NOTE"].index)
    text = render_difference(found)
    assert text.index(f"New {new[0][:30]}") < text.index("  Steps")
    assert max(map(len, text.splitlines())) <= 88
    back = Explorer(found.plan).what_if({"still.pot.boiler_volume": "30 L"})
    assert "No longer DANGER" in render_difference(back)
    assert "No caution comes or goes." in render_difference(
        explorer().what_if({"reduce.strength": "41 %vol"})
    )
