# SPDX-License-Identifier: MIT
"""A good plan becomes SI values; a file that is no plan is refused quickly and clearly."""

from __future__ import annotations

import errno
import math
from dataclasses import fields, replace
from pathlib import Path

import pytest

from middlecut.errors import NotFoundError, PlanError
from middlecut.plan.document import LARGEST
from middlecut.plan.model import Plan
from middlecut.plan.quantities import show, strength_from
from middlecut.plan.read import check_plan, load_plan, read_plan_text
from middlecut.steps.parameters import (
    Blend,
    Bottle,
    Cut,
    Dilute,
    Distil,
    Draw,
    Ferment,
    PowerChange,
    Take,
    Until,
)
from middlecut.units import parse_strength

GOOD = """
[batch]
name = "Rye and orange"
altitude = "350 m"
energy_price = "0,32 EUR/kWh"
water_price = "4.1 EUR/m3"

[still.kettle]
boiler_volume = "30 L"
heater_power = "2.4 kW"
packing_height = "40 cm"
hetp = "10 cm"
column_diameter = "5 cm"
column_holdup = "80 mL"
head_loss = "60 W"
drains_back = false

[still."pot 2"]
boiler_volume = "2 gal_us"
heater_power = "800 W"
plates = 4
plate_efficiency = "50 %"

[ingredient.cacao]
note = "roasted nibs"

[lot.feints]
volume = "1.5 L"
strength = "62 %vol"
temperature = "15 °C"
compounds = { "ethyl acetate" = { low = "100 mg/L", typical = "120 mg/L", high = "0.2 g/L" } }

[[step]]
id = "mash"
kind = "ferment"
into = "wash"
volume = "26 L"
gravity = "1,062 SG"
final_gravity = "1.010 SG"
temperature = "82 °F"
duration = "6 d"
settling = "48 h"
lees = "1.5 L"
reserve = [{ into = "reserve", volume = "2 L" }]
compounds = { "isoamyl alcohol" = "90 mg/L" }
profile = "sugar"

[[step]]
id = "sample"
kind = "draw"
from = { lot = "wash", volume = "200 mL" }
into = "keep"

[[step]]
id = "strip"
kind = "distil"
from = "wash"
still = "kettle"
purpose = "strip"
cuts = [{ into = "low wines", until = "95 °C" }]

[[step]]
id = "spirit"
kind = "distil"
from = ["low wines", "feints", { lot = "reserve", fraction = "50 %" }]
water = "1 kg"
still = "kettle"
purpose = "spirit"
residue = "stillage"
power = "1.2 kW"
heat_up_power = "90 %"
total_reflux = "20 min"
charge_temperature = "20 °C"
cuts = [
  { into = "foreshots", until = "80 mL" },
  { into = "hearts", until = "62 %vol", power = "45 %", coolant_duty = "300 W", jars = "500 mL" },
  { into = "tails", until = { boiler_volume = "3 L" } },
]
power_changes = [{ at = "35 min", power = "40 %" }]

[[step]]
id = "together"
kind = "blend"
from = ["hearts", "tails"]
into = "blend"

[[step]]
id = "down"
kind = "dilute"
from = "blend"
strength = "46 %vol"
into = "spirit"
additions = 3

[[step]]
id = "fill"
kind = "bottle"
from = "spirit"
into = "bottles"
bottle_volume = "500 mL"
strength = "46 %vol"
tolerance = "0.5 %vol"
loss = "50 mL"
"""


@pytest.fixture(scope="module")
def plan() -> Plan:
    return read_plan_text(GOOD, "rye.toml")


def test_batch_is_in_si(plan: Plan) -> None:
    batch = plan.batch
    assert (batch.name, batch.altitude, batch.currency) == ("Rye and orange", 350.0, "EUR")
    # ISO 2533 standard atmosphere at 350 m: 101325·(1 − 0.0065·350/288.15)^5.25588 = 97.19 kPa;
    # the tolerance is the rounding of this line.
    assert batch.pressure == pytest.approx(97190.0, abs=5.0)
    assert batch.energy_price == pytest.approx(0.32 / 3.6e6)
    assert batch.water_price == 4.1


def test_stills(plan: Plan) -> None:
    kettle = plan.stills["kettle"]
    assert (kettle.boiler_volume, kettle.heater_power, kettle.head_loss) == (0.03, 2400.0, 60.0)
    assert kettle.stages == pytest.approx(4.0)
    assert kettle.stage_holdup == pytest.approx(20e-6)
    assert kettle.drains_back is False
    pot = plan.stills["pot 2"]
    assert pot.stages == 2.0
    assert pot.boiler_volume == pytest.approx(7.570823568e-3)


def test_given_lot_keeps_its_volume_and_strength(plan: Plan) -> None:
    (feints,) = plan.given
    assert feints.volume == pytest.approx(0.0015, rel=1e-9)
    assert feints.strength == pytest.approx(0.62, rel=1e-9)
    assert feints.temperature == pytest.approx(288.15)
    amount = feints.amounts["ethyl acetate"]
    assert (amount.low, amount.typical, amount.high) == pytest.approx((1.5e-4, 1.8e-4, 3e-4))


def test_steps(plan: Plan) -> None:
    mash, sample, strip, spirit, together, down, fill = plan.steps
    assert isinstance(mash, Ferment)
    assert (mash.volume, mash.gravity, mash.final_gravity) == (0.026, 1.062, 1.010)
    # 82 °F is (82 − 32)·5/9 = 27.78 °C.
    assert mash.temperature == pytest.approx(273.15 + 250 / 9)
    assert (mash.duration, mash.settling, mash.lees) == (518400.0, 172800.0, 0.0015)
    assert mash.reserve == (("reserve", 0.002),)
    assert mash.profile == "sugar"
    (compound, amount), *none = mash.compounds.items()
    assert not none
    assert compound == "3-methyl-1-butanol"
    assert amount.low == amount.typical == amount.high == pytest.approx(0.09)
    assert sample == Draw("sample", Take("wash", volume=2e-4), "keep")
    assert isinstance(strip, Distil)
    assert strip.residue == "strip stillage"
    assert strip.cuts == (Cut("low wines", Until(head_temperature=368.15)),)
    assert isinstance(spirit, Distil)
    assert spirit == Distil(
        id="spirit",
        takes=(Take("low wines"), Take("feints"), Take("reserve", fraction=0.5)),
        still="kettle",
        purpose="spirit",
        cuts=(
            Cut("foreshots", Until(volume=8e-5)),
            Cut("hearts", Until(strength=0.62), 0.45, 300.0, None, 5e-4),
            Cut("tails", Until(boiler_volume=0.003)),
        ),
        residue="stillage",
        water=1.0,
        power=0.5,
        heat_up_power=0.9,
        total_reflux=1200.0,
        power_changes=(PowerChange(Until(time=2100.0), 0.4),),
        charge_temperature=293.15,
    )
    assert together == Blend("together", (Take("hearts"), Take("tails")), "blend")
    assert down == Dilute("down", Take("blend"), 0.46, "spirit", 3)
    assert fill == Bottle("fill", Take("spirit"), "bottles", 5e-4, 0.46, 0.005, 5e-5)


def test_lines_and_text_are_kept(plan: Plan) -> None:
    rows = GOOD.split("\n")
    assert plan.text == GOOD
    assert set(plan.lines) == {step.id for step in plan.steps}
    for step_id, line in plan.lines.items():
        assert rows[line - 1] == "[[step]]"
        assert rows[line] == f'id = "{step_id}"'
    own = plan.ingredients["cacao"]
    assert (own.own, own.note, own.kinetics) == (True, "roasted nibs", "nib")
    assert plan.step("strip").kind == "distil"
    with pytest.raises(NotFoundError, match="no step called 'x'"):
        plan.step("x")


def test_strengths_and_gravities_on_other_scales() -> None:
    text = GOOD.replace('strength = "62 %vol"', 'strength = "52.09 %mass"')
    text = text.replace('"1,062 SG"', '"15.2 °P"').replace(
        'until = "62 %vol"', 'until = "124 proof"'
    )
    plan = read_plan_text(text)
    # 52.09 % mass is 60.0 % vol at 20 °C (OIML R 22 table); rounding of the printed digits.
    assert plan.given[0].strength == pytest.approx(0.600, abs=1e-4)
    mash, spirit = plan.step("mash"), plan.step("spirit")
    assert isinstance(mash, Ferment)
    # ASBC table: 15.2 °P is SG 1.0620 within its last digit.
    assert mash.gravity == pytest.approx(1.0620, abs=1e-4)
    assert isinstance(spirit, Distil)
    # 124 proof is 62 % vol at 60 °F; the step to 20 °C is below 0.1 % vol but not nothing.
    assert spirit.cuts[1].until.strength == pytest.approx(0.62, abs=1e-3)
    assert spirit.cuts[1].until.strength != 0.62


def test_attenuation_gives_the_final_gravity() -> None:
    plan = read_plan_text(GOOD.replace('final_gravity = "1.010 SG"', 'attenuation = "80 %"'))
    mash = plan.step("mash")
    assert isinstance(mash, Ferment)
    # Attenuation is defined on the extract: 15.19 °P · 0.2 = 3.04 °P, SG 1.0119 in the ASBC table.
    assert mash.final_gravity == pytest.approx(1.0119, abs=1e-4)


def test_pressure_may_be_given_instead_of_altitude() -> None:
    plan = read_plan_text(GOOD.replace('altitude = "350 m"', 'pressure = "985 hPa"'))
    assert plan.batch.pressure == 98500.0
    assert plan.batch.altitude is None
    plan = read_plan_text(GOOD.replace('altitude = "350 m"\n', ""))
    assert plan.batch.pressure == 101325.0


def test_extract_of_a_given_lot_takes_room() -> None:
    plan = read_plan_text(GOOD.replace('temperature = "15 °C"', 'extract = "50 g/L"'))
    (lot,) = plan.given
    assert lot.solids == pytest.approx(0.075)
    assert lot.volume == pytest.approx(0.0015, rel=1e-9)
    assert lot.strength == pytest.approx(0.62, rel=1e-9)


def test_plan_cannot_be_changed(plan: Plan) -> None:
    with pytest.raises(TypeError):
        plan.stills["x"] = plan.stills["kettle"]  # type: ignore[index]
    assert replace(plan, path="other").path == "other"


def test_no_number_of_a_plan_is_left_in_human_units(plan: Plan) -> None:
    for still in plan.stills.values():
        for field in fields(still):
            value = getattr(still, field.name)
            assert not isinstance(value, str) or field.name == "name"
            assert not isinstance(value, float) or math.isfinite(value)


def refusal(path: Path) -> str:
    with pytest.raises(PlanError) as caught:
        load_plan(path)
    assert check_plan(path) == caught.value.problems
    assert len(caught.value.problems) == 1
    return str(caught.value)


def test_a_file_is_read(tmp_path: Path) -> None:
    path = tmp_path / "rye.toml"
    path.write_bytes(b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode())
    assert load_plan(str(path)).path == str(path)
    assert len(load_plan(path).steps) == 7


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "It is empty"),
        (b" \n\t\n", "It is empty"),
        (b"ok = 1\nname = \xff\xfe\n", ":2: the file: It is not text in UTF-8"),
        (b"\x00" * 50, "This is not TOML"),
        (b'[batch]\nname = "x\n', ":2: the file: This is not TOML: a closing quote is missing."),
        (b'[batch]\nname = "x', ":2: the file: This is not TOML: a closing quote is missing."),
        (b"[batch]\nname = 'x", "Add the closing ' where the text ends."),
        (b'a = { b = "1 L }\n', 'Add the closing " where the text ends.'),
        (b"[batch]\nvolume = 25 L\n", ":2: the file: This is not TOML"),
        (b"[batch]\n[batch]\n", "This is not TOML: Cannot declare"),
        (b"a = " + b"[" * 3000 + b"]" * 900, "nested too deeply"),
        (b"a = " + b"[\n" * 3000, "nested too deeply"),
        (b"a" + b".a" * 100 + b" = 1", "more than 60 points"),
        (b"a = { " + b"a." * 100 + b"a = 1 }", "more than 60 points"),
        (b"a = '" + b"x" * 5000 + b"'", "more than 4000 characters"),
        (b"a = " + b"9" * 3990 + b"9" * 5, "no section 'a'"),
    ],
)
def test_what_is_no_plan(content: bytes, told: str, tmp_path: Path) -> None:
    path = tmp_path / "plan.toml"
    path.write_bytes(content)
    if told == "no section 'a'":
        assert any(told in problem.message for problem in check_plan(path))
        return
    assert told in refusal(path)


def test_ten_megabytes_are_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "garbage.toml"
    path.write_bytes(b"\x8f=[" * 3_400_000)
    assert "larger than 1 MB" in refusal(path)
    with pytest.raises(PlanError, match="larger than 1 MB"):
        read_plan_text("a = 1\n" * (LARGEST // 6 + 1))


def test_missing_files_and_folders(tmp_path: Path) -> None:
    missing = "It cannot be read: there is no such file. Check the name and the folder."
    assert missing in refusal(tmp_path / "none.toml")
    assert "It cannot be read: that is a folder. Name the plan file in it." in refusal(tmp_path)
    assert "name cannot be used" in refusal(Path("a\0b"))


def test_a_locked_file_is_told_like_a_missing_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Refused by hand, as the tests may run as one who may read everything.
    def locked(*_: object, **__: object) -> None:
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr("pathlib.Path.open", locked)
    told = refusal(tmp_path / "plan.toml")
    assert "It cannot be read: you may not read it. Allow yourself to read it" in told


@pytest.mark.parametrize("strength", [0.05, 0.4, 0.625, 0.955])
def test_strengths_are_shown_as_proof_in_us_units(strength: float) -> None:
    text = show(strength, "strength", system="us")
    assert text.endswith(" proof")
    # One decimal of proof is 0.05 proof at most, 0.00025 as a fraction by volume.
    assert strength_from(parse_strength(text)) == pytest.approx(strength, abs=2.6e-4)
    assert show(strength, "strength") == f"{strength * 100:.1f} %vol"
    assert show(0.025, "volume", system="us") == "6.60 US gal"
