# SPDX-License-Identifier: MIT
"""Every caution of a run: it comes when its limit is crossed, and not before."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import pytest

from middlecut.steps.cautions import distil_cautions
from middlecut.steps.curve import CutMark, RunFacts
from middlecut.steps.lot import Amount, Lot
from middlecut.steps.parameters import Cut, Distil, Take, Until
from middlecut.steps.result import Caution
from middlecut.steps.still import Still
from middlecut.steps.usual import LAW, usual_cautions

STILL = Still(
    "pot", boiler_volume=0.030, heater_power=2000.0, condenser_duty=3000.0,
    element_covered_above=0.003,
)  # fmt: skip
STEP = Distil(
    "run", (Take("low wines"),), "pot", "spirit", (Cut("hearts", Until(strength=0.6)),), "rest",
    power=0.6,
)  # fmt: skip
CHARGE = Lot("charge", water=9.0, ethanol=3.0)  # about 29 %vol, 12.8 L
FACTS = RunFacts(
    heat_up_time=1800.0, fill_time=60.0, run_time=7200.0, energy=1.2e7, condenser_heat=8e6,
    condenser_peak=1500.0, coolant_heat=0.0, boiler_heat_peak=1000.0, flood_fraction=0.3,
    flood_vapour_speed=0.2, boiler_volume_end=0.008, uncovered_after=None, first_strength=0.8,
    first_head_temperature=353.0, boiling_temperature_start=358.0, boiling_temperature_end=371.0,
    boiler_strength_end=0.01, take_off_peak=5e-7, reflux_ratio_start=0.5, reflux_ratio_end=0.5,
    steps=100,
)  # fmt: skip
MARK = CutMark(
    into="hearts", start=0.0, end=7200.0, volume=0.003, strength=0.7, strength_start=0.8,
    strength_end=0.6, head_temperature_start=353.0, head_temperature_end=360.0,
    boiler_temperature_end=370.0, collected_end=0.003, power=0.6,
)  # fmt: skip


def run(
    *,
    step: Distil = STEP,
    still: Still = STILL,
    charge: Lot = CHARGE,
    facts: RunFacts = FACTS,
    made: dict[str, Lot] | None = None,
) -> dict[str, Caution]:
    found = distil_cautions(
        parameters=step,
        still=still,
        charge=charge,
        pressure=101325.0,
        facts=facts,
        cuts=(MARK,),
        made=made,
    )
    assert len({caution.code for caution in found}) == len(found)
    return {caution.code: caution for caution in found}


def test_a_sound_run_has_only_notes() -> None:
    found = run()
    assert {caution.severity for caution in found.values()} == {"note"}
    assert set(found) == {"cooling-lost", "ventilation", "flash-point"}


def test_fill_above_the_safe_fill() -> None:
    # Conservative default two thirds: 20 L of 30 L; no published figure exists.
    assert "fill-high" not in run(charge=CHARGE.part(0.0199 / CHARGE.volume))
    caution = run(charge=CHARGE.part(0.0201 / CHARGE.volume))["fill-high"]
    assert caution.severity == "danger"
    assert caution.value == pytest.approx(0.67, abs=1e-9)
    assert "20.1 L" in caution.text


def test_a_wash_may_foam_above_half() -> None:
    # At most half full suggested for foaming charges; conservative default.
    wash = Lot("wash", 15.5, 1.0, 0.3)
    assert run(charge=wash)["foam"].severity == "watch"
    assert "foam" not in run(charge=replace(wash, solids=0.0))  # clear low wines
    assert "foam" in run(charge=replace(wash, solids=0.0), step=replace(STEP, purpose="strip"))
    assert "foam" not in run(charge=wash.part(0.85))


@pytest.mark.parametrize(("ethanol", "strong"), [(4.8, False), (4.9, True)])
def test_a_charge_from_45_per_cent_on(ethanol: float, *, strong: bool) -> None:
    # Common practice: dilute to just under 45 %vol; laboratories dilute above 50 %vol (read).
    charge = Lot("charge", 8.0, ethanol)
    assert (charge.strength >= 0.45) is strong
    assert ("charge-strong" in run(charge=charge)) is strong


def test_a_charge_of_exactly_45_per_cent_is_cautioned() -> None:
    from scipy.optimize import brentq

    ethanol = brentq(lambda e: Lot("c", 8.0, e).strength - 0.45, 4.0, 6.0, xtol=1e-13)
    caution = run(charge=Lot("charge", 8.0, ethanol))["charge-strong"]
    assert caution.severity == "danger"
    assert "45.0 %vol" in caution.text


def test_an_uncovered_element_names_time_and_litres() -> None:
    facts = replace(FACTS, uncovered_after=4500.0, boiler_volume_end=0.0021)
    caution = run(facts=facts)["element-uncovered"]
    assert caution.severity == "danger"
    assert "75 min" in caution.text
    assert "3 L" in caution.text
    assert "2.1 L" in caution.text


def test_an_element_bare_from_the_start() -> None:
    caution = run(charge=CHARGE.part(0.2))["element-uncovered"]
    assert "Do not switch on" in caution.text


def test_a_small_margin_over_the_element() -> None:
    assert run(facts=replace(FACTS, boiler_volume_end=0.0035))["element-margin"].severity == "watch"
    assert "element-margin" not in run(facts=replace(FACTS, boiler_volume_end=0.0038))
    heated_outside = replace(STILL, element_covered_above=0.0)
    assert "element-margin" not in run(
        still=heated_outside, facts=replace(FACTS, boiler_volume_end=0.001)
    )


@pytest.mark.parametrize(
    ("peak", "code", "severity"),
    [(2390.0, None, ""), (2410.0, "condenser-margin", "watch"),
     (3010.0, "condenser-overload", "danger")],
)  # fmt: skip
def test_condenser_margin(peak: float, code: str | None, severity: str) -> None:
    found = run(facts=replace(FACTS, condenser_peak=peak))
    condenser = {key for key in found if key.startswith("condenser")}
    assert condenser == ({code} if code else set())
    if code:
        assert found[code].severity == severity


def test_a_condenser_nobody_measured() -> None:
    assert "condenser-unknown" in run(still=replace(STILL, condenser_duty=0.0))


def test_lost_cooling_names_vapour_and_air() -> None:
    # 1 kW: 4.2 kg/h, 2.2 m³/h, 670 m³/h for a tenth of the limit (computed).
    text = run()["cooling-lost"].text
    assert "4.2 kg" in text
    assert "2.2 m³/h" in text
    assert any(f"{air} m³" in text for air in range(665, 676))


def test_ventilation_of_the_receiver() -> None:
    # 5e-7 m³/s at 80 %vol is 1.44 L/h of alcohol; 125 m³/h per L/h, one part in a hundred: 1.8.
    caution = run()["ventilation"]
    assert "1.44 L/h" in caution.text
    assert "1.8 m³" in caution.text


@pytest.mark.parametrize(
    ("load", "code"), [(0.79, None), (0.81, "flooding-near"), (1.01, "flooding")]
)
def test_flooding(load: float, code: str | None) -> None:
    found = run(facts=replace(FACTS, flood_fraction=load))
    assert {key for key in found if key.startswith("flooding")} == ({code} if code else set())


def test_boiling_dry() -> None:
    still = replace(STILL, element_covered_above=0.0)
    assert "boil-dry" in run(still=still, facts=replace(FACTS, boiler_volume_end=0.0005))
    assert "boil-dry" not in run(still=still, facts=replace(FACTS, boiler_volume_end=0.0008))


def test_solids_that_scorch() -> None:
    # 250 g/L: laboratory practice adds water from there on (Regulation 2870/2000, read).
    wash = replace(CHARGE, solids=2.01)
    assert "scorching" in run(charge=wash)
    assert "scorching" not in run(charge=replace(CHARGE, solids=1.99))


def test_a_column_or_basket_must_stay_open() -> None:
    assert "column" in run(still=replace(STILL, stages=3.0))["path-open"].text
    assert "basket" in run(still=replace(STILL, basket_volume=5e-4))["path-open"].text


def test_flash_points_of_charge_and_cuts() -> None:
    caution = run()["flash-point"]
    # 70 %vol: 21 °C in the published table (read); warned 6 K earlier.
    assert "21 °C for hearts" in caution.text
    assert "15 °C" in caution.text
    assert "from about 60 %vol" in caution.text
    assert caution.value == pytest.approx(294.15, abs=1e-9)


def test_water_has_no_flash_point() -> None:
    found = distil_cautions(
        parameters=STEP, still=STILL, charge=Lot("charge", 12.0, 0.1), pressure=101325.0,
        facts=FACTS, cuts=(),
    )  # fmt: skip
    assert "flash-point" not in {caution.code for caution in found}


@pytest.mark.parametrize(
    ("power", "code"),
    [(0.49, "power-low"), (0.5, None), (0.75, None), (0.8, "power-high")],
)
def test_power_of_a_spirit_run(power: float, code: str | None) -> None:
    # Common practice: a spirit run is driven at 50 to 75 % of full power.
    found = run(step=replace(STEP, power=power))
    assert {key for key in found if key.startswith("power")} == ({code} if code else set())


def test_power_of_a_stripping_run_is_free() -> None:
    assert "power-high" not in run(step=replace(STEP, purpose="strip", power=1.0))


def test_a_long_run() -> None:
    caution = run(facts=replace(FACTS, run_time=30000.0))["run-long"]
    assert "8 h 51 min" in caution.text


def test_methanol_is_named_cut_by_cut() -> None:
    trace = {"methanol": Amount(3.0e-4, 1e-4, 6e-4, "memory")}
    charge = replace(CHARGE, amounts=trace)
    hearts = Lot("hearts", 0.5, 1.0, 0.0, {"methanol": Amount(1e-4, 1e-4, 1e-4, "memory")})
    caution = run(charge=charge, made={"hearts": hearts})["methanol-run"]
    # 0.1 g in 1 kg of ethanol, 1.267 L: 7.89 g per hL.
    assert "7.89 in hearts" in caution.text
    assert "No cut takes it away" in caution.text


def test_dangers_come_first() -> None:
    found = distil_cautions(
        parameters=replace(STEP, power=1.0), still=replace(STILL, condenser_duty=1000.0),
        charge=CHARGE, pressure=101325.0, facts=replace(FACTS, flood_fraction=0.9), cuts=(MARK,),
    )  # fmt: skip
    rank = {"danger": 0, "watch": 1, "note": 2}
    order = [rank[caution.severity] for caution in found]
    assert order == sorted(order)
    assert order[0] == 0


def test_every_caution_names_its_source() -> None:
    everything = [*run(facts=replace(FACTS, flood_fraction=2.0)).values(), *usual_cautions()]
    assert all(caution.source and caution.text.endswith(".") for caution in everything)


def test_the_usual_cautions_defer_to_the_law() -> None:
    assert LAW in {caution.text for caution in usual_cautions()}
    assert "Ask the authority" in LAW
    assert "allowed" not in LAW
    codes = [caution.code for caution in usual_cautions()]
    assert {"unattended", "ignition", "closed-path", "foreshots", "materials"} <= set(codes)
    assert len(codes) == len(set(codes))


def test_a_plan_without_a_still_is_not_told_about_stills() -> None:
    assert "foreshots" not in {caution.code for caution in usual_cautions(distils=False)}


@pytest.mark.parametrize("purpose", ["spirit", "flavour", "strip"])
def test_a_column_without_reflux_is_said_to_do_nothing(
    purpose: Literal["strip", "spirit", "flavour"],
) -> None:
    # By the balance of heat: what no part condenses does not come back down the column.
    column, step = replace(STILL, stages=2.4), replace(STEP, purpose=purpose)
    found = run(step=step, still=column)
    if purpose == "strip":
        assert "no-reflux" not in found
        return
    assert found["no-reflux"].severity == "watch"
    assert (
        "No reflux is stated: the 2.4 stages of this column do nothing" in found["no-reflux"].text
    )
    assert "no-reflux" not in run(step=step, still=STILL)  # without stages nothing is to say
    divided = replace(step, cuts=(Cut("hearts", Until(strength=0.6), reflux_ratio=2.0),))
    assert "no-reflux" not in run(step=divided, still=column)
    for with_reflux in (
        replace(column, head_loss=50.0),
        replace(column, column_loss=50.0),
        replace(column, coolant_duty=50.0),
        replace(column, reflux_ratio=1.0),
    ):
        assert "no-reflux" not in run(step=step, still=with_reflux)


def test_the_power_of_heating_up_is_held_against_condenser_and_column() -> None:
    """By hand: 2000 W into the boil; a condenser of 1600 W is passed, one of 3000 W is not."""
    hot = replace(FACTS, heat_up_peak=2000.0, heat_up_duty=2000.0)
    small = replace(STILL, condenser_duty=1600.0, heater_efficiency=1.0, boiler_loss=0.0)
    found = run(still=small, facts=hot)["heat-up-condenser"]
    assert found.severity == "watch"
    assert (found.value, found.limit) == (2000.0, 1600.0)
    assert "80 % or less before the boiler reaches 85 °C" in found.text
    assert "heat-up-condenser" not in run(facts=hot)
    assert "heat-up-condenser" not in run(still=small)  # the run itself takes 1500 W
    # 0.3 of flooding at 1000 W is 0.6 at 2000 W and 1.2 at 4000 W; half of that power is 1.2 / 2.
    assert "heat-up-flooding" not in run(facts=hot)
    flooded = run(facts=replace(FACTS, heat_up_peak=4000.0))["heat-up-flooding"]
    assert flooded.value == pytest.approx(1.2)
    # Vapour that escapes when the cooling fails is that of the hottest moment.
    air, cooler = (run(facts=one)["cooling-lost"].value for one in (hot, FACTS))
    assert air is not None
    assert cooler is not None
    assert air == pytest.approx(2.0 * cooler, rel=1e-9)


def test_a_column_of_unknown_width_is_not_passed_over() -> None:
    still = replace(STILL, stages=3.0, column_diameter=0.0)
    assert "flooding-unknown" in run(still=still, facts=replace(FACTS, flood_fraction=0.0))
    assert "flooding-unknown" not in run(still=replace(still, column_diameter=0.05))
    assert "flooding-unknown" not in run()
