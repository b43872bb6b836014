# SPDX-License-Identifier: MIT
"""The distil step: what it must do whatever the numbers, and what it must refuse."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest

from middlecut.errors import InputError
from middlecut.liquid import alcoholometry, equilibrium, heat
from middlecut.steps.columns import StillSource
from middlecut.steps.distil import distil
from middlecut.steps.distil_lots import HELD, SPENT
from middlecut.steps.lot import Amount, Lot
from middlecut.steps.parameters import Cut, Distil, PowerChange, Take, Until
from middlecut.steps.result import StepResult
from middlecut.steps.still import Still

PRESSURE = 101_325.0
NAMES = ("acetaldehyde", "ethyl acetate", "methanol", "3-methyl-1-butanol", "acetic acid")


def lot(volume: float, strength: float, *, name: str = "low wines", solids: float = 0.0) -> Lot:
    w = alcoholometry.mass_fraction_from_strength(strength)
    mass = volume * alcoholometry.density_20(w)
    amounts = {key: Amount(1e-4, 5e-5, 2e-4, "memory") for key in NAMES}
    return Lot(name, water=mass * (1 - w), ethanol=mass * w, solids=solids, amounts=amounts)


POT = Still("pot", 0.03, 2500.0, head_loss=150.0, boiler_loss=150.0, element_covered_above=0.004)
COLUMN = replace(POT, stages=4, stage_holdup=3e-5, column_diameter=0.054, condenser_duty=4000.0)
STRIP = Distil(
    id="strip",
    takes=(Take("low wines"),),
    still="pot",
    purpose="strip",
    cuts=(Cut("over", Until(strength=0.05)),),
    residue="stillage",
)


def run(still: Still = POT, charge: Lot | None = None, **changes: object) -> StepResult:
    parameters = replace(STRIP, **changes)  # type: ignore[arg-type]
    return distil(parameters, (charge or lot(0.018, 0.28),), still=still, pressure=PRESSURE)


def test_a_run_to_exhaustion_returns_all_of_every_compound() -> None:
    result = run(COLUMN, cuts=(Cut("over", Until(strength=0.001)),))
    for name in NAMES:
        entry = result.account.entries[name]
        assert sum(entry.went.values()) == pytest.approx(1e-4, rel=1e-9)
    over = result.made["over"].amounts
    # All of what is more volatile than water at the boiler's end has come over.
    assert over["ethyl acetate"].typical == pytest.approx(1e-4, rel=1e-6)
    assert over["methanol"].typical == pytest.approx(1e-4, rel=0.05)
    # Acetic acid is less volatile than water (K about 0.7): most of it stays (common practice).
    assert result.made["stillage"].amounts["acetic acid"].typical > 3e-5


@pytest.mark.parametrize("still", [POT, replace(POT, head_loss=0.0, coolant_duty=300.0), COLUMN])
def test_less_power_raises_strength_and_lengthens_the_run(still: Still) -> None:
    full = run(still, power=1.0)
    low = run(still, power=0.5)
    assert low.curve is not None
    assert full.curve is not None
    assert low.curve.strength[0] > full.curve.strength[0] + 0.005
    middle = 0.5 * full.curve.volume[-1]
    weak, strong = (
        np.interp(middle, result.curve.volume, result.curve.strength)
        for result in (full, low)
        if result.curve is not None
    )
    assert strong > weak + 0.005
    assert low.curve.facts.run_time > 1.5 * full.curve.facts.run_time


def test_stages_sharpen_heads_and_tails() -> None:
    early, late = [], []
    for stages in (0, 2, 5):
        # A little hold-up and an hour at total reflux, so that the stages can show what they do.
        still = replace(COLUMN, stages=stages, coolant_duty=900.0, stage_holdup=5e-6)
        cuts = (Cut("over", Until(volume=5.2e-3), power=1.0),)
        result = run(still, cuts=cuts, total_reflux=3600.0, power=0.4)
        assert result.curve is not None
        share = result.curve.amounts / 1e-4
        at = [float(np.interp(0.4e-3, result.curve.volume, share[:, i])) for i in range(len(NAMES))]
        early.append(at[NAMES.index("ethyl acetate")])
        # Higher alcohols are held back while the column is strong, and come with the tails.
        late.append(share[-1, NAMES.index("3-methyl-1-butanol")])
    assert early[0] < early[1] < early[2]
    first = [
        float(run(replace(COLUMN, stages=n, coolant_duty=900.0)).curve.strength[0])  # type: ignore[union-attr]
        for n in (0, 2, 5)
    ]
    assert first[0] < first[1] < first[2]


def test_cuts_end_where_they_should() -> None:
    result = run(
        COLUMN,
        purpose="spirit",
        cuts=(
            Cut("foreshots", Until(volume=0.15e-3), power=0.6),
            Cut("heads", Until(time=20 * 60.0)),
            Cut("hearts", Until(strength=0.62), jar_volume=0.5e-3),
            Cut("tails", Until(head_temperature=368.15), power=1.0),
            Cut("rest", Until(boiler_volume=0.011)),
        ),
    )
    assert result.curve is not None
    marks = {mark.into: mark for mark in result.curve.cuts}
    assert marks["foreshots"].volume == pytest.approx(0.15e-3, rel=1e-6)
    assert marks["heads"].end == pytest.approx(1200.0, abs=1e-6)
    assert marks["hearts"].strength_end == pytest.approx(0.62, abs=1e-5)
    assert marks["tails"].head_temperature_end == pytest.approx(368.15, abs=1e-4)
    assert result.curve.facts.boiler_volume_end == pytest.approx(0.011, rel=1e-6)
    assert [mark.into for mark in result.curve.cuts] == list(result.made)[:5]
    jars = result.curve.jars
    assert [jar.number for jar in jars] == list(range(1, len(jars) + 1))
    assert all(jar.volume == pytest.approx(0.5e-3, rel=1e-6) for jar in jars[:-1])
    assert all(a.strength > b.strength for a, b in itertools.pairwise(jars[1:]))
    # The jars together are the cut, in volume within the contraction of mixing them.
    assert sum(jar.volume for jar in jars) == pytest.approx(result.made["hearts"].volume, rel=2e-3)
    held = sum(jar.volume * jar.compounds["methanol"] for jar in jars) / 1e3
    assert held == pytest.approx(result.made["hearts"].amounts["methanol"].typical, rel=1e-6)


def test_lots_and_curve_tell_the_same() -> None:
    result = run(COLUMN)
    assert result.curve is not None
    over = result.made["over"]
    assert over.volume == pytest.approx(result.curve.volume[-1], rel=1e-6)
    assert over.ethanol == pytest.approx(result.curve.ethanol[-1], rel=1e-12)
    np.testing.assert_allclose(
        result.curve.amounts[-1], [over.amounts[name].typical for name in NAMES], rtol=1e-12
    )
    # Concentration running off, integrated over the volume run off, is what was collected.
    rate = result.curve.rates[:, NAMES.index("methanol")] * result.curve.take_off
    total = np.trapezoid(rate, result.curve.time) / 1e3
    assert total == pytest.approx(over.amounts["methanol"].typical, rel=5e-3)


def test_ranges_ride_along_in_proportion() -> None:
    over = run().made["over"].amounts["methanol"]
    assert over.low / over.typical == pytest.approx(0.5)
    assert over.high / over.typical == pytest.approx(2.0)
    assert over.basis == "memory"


def test_energy_is_power_times_time() -> None:
    result = run(power=0.8, heat_up_power=1.0)
    assert result.curve is not None
    facts = result.curve.facts
    expected = 2500.0 * (facts.heat_up_time + 0.8 * (facts.fill_time + facts.run_time))
    assert result.energy == pytest.approx(expected, rel=1e-6)
    # First law over the run, from the first drop to the end, on liquids at 20 °C.
    into = (2500.0 * 0.97 * 0.8 - 150.0) * facts.run_time
    charge, left = lot(0.018, 0.28), result.made["stillage"]
    hot = [
        (liquid.water / 18.01528e-3 + liquid.ethanol / 46.06844e-3)
        * heat.liquid_enthalpy(liquid.ethanol_mole_fraction, temperature)
        for liquid, temperature in (
            (charge, facts.boiling_temperature_start),
            (left, facts.boiling_temperature_end),
        )
    ]
    out = facts.condenser_heat + 150.0 * facts.run_time + hot[1] - hot[0]
    assert out == pytest.approx(into, rel=3e-3)


def test_heat_up_time_by_hand() -> None:
    # 18 L at 28 % vol: about 17.4 kg at about 4.2 kJ/(kg K) (perry1997) from 20 to 86 °C plus
    # 60 kJ per kg of ethanol to undo the heat of mixing: 4.8 to 5.2 MJ, at 2.35 kW net.
    result = run()
    assert result.curve is not None
    assert 4.6e6 / 2350.0 < result.curve.facts.heat_up_time < 5.6e6 / 2350.0


def test_a_higher_place_boils_cooler() -> None:
    parameters = replace(STRIP)
    high = distil(
        parameters,
        (lot(0.018, 0.28),),
        still=POT,
        pressure=equilibrium.pressure_from_altitude(1300.0),
    )
    low = run()
    assert high.curve is not None
    assert low.curve is not None
    drop = low.curve.facts.boiling_temperature_start - high.curve.facts.boiling_temperature_start
    # Water boils about 1 K lower for every 300 m (common practice).
    assert drop == pytest.approx(1300.0 / 300.0, abs=0.5)


def test_power_changes_act_on_the_way() -> None:
    result = run(power_changes=(PowerChange(Until(volume=1e-3), 0.5),))
    assert result.curve is not None
    before = result.curve.power[result.curve.volume < 0.99e-3]
    after = result.curve.power[result.curve.volume > 1.01e-3]
    assert set(before) == {1.0}
    assert set(after) == {0.5}


def test_total_reflux_gathers_heads_and_costs_time() -> None:
    divided = replace(COLUMN, reflux_ratio=0.0)
    plain = run(divided)
    held = run(divided, total_reflux=1800.0)
    assert plain.curve is not None
    assert held.curve is not None
    assert held.curve.facts.fill_time > 1800.0
    # All the heat of the hold but what the head loses by itself is in the cooling water.
    more = held.curve.facts.condenser_heat - plain.curve.facts.condenser_heat
    assert more == pytest.approx((2275.0 - 150.0) * 1800.0, rel=0.05)
    assert held.curve.strength[0] > plain.curve.strength[0] + 0.02
    column = NAMES.index("acetaldehyde")
    assert held.curve.rates[0, column] > 1.5 * plain.curve.rates[0, column]


def test_a_column_that_does_not_drain_back_is_a_named_loss() -> None:
    result = run(replace(COLUMN, drains_back=False))
    assert HELD not in result.made
    assert result.account.entries["ethanol"].went[HELD] > 0.0
    assert result.account.entries["water"].went[HELD] > 0.0


def source(entry_point: str, *, accessible: float = 0.8, compound: str = "linalool") -> StillSource:
    return StillSource(
        "orange peel",
        compound,
        Amount(2e-4, 1e-4, 4e-4, "memory"),
        accessible,
        5e-3,
        entry_point,  # type: ignore[arg-type]
    )


@pytest.mark.parametrize("entry_point", ["charge", "basket"])
def test_a_botanical_gives_what_it_can_and_the_account_closes(entry_point: str) -> None:
    bed = 2e-4 if entry_point == "basket" else 0.0
    result = distil(
        replace(STRIP, cuts=(Cut("over", Until(strength=0.02)),)),
        (lot(0.018, 0.28),),
        still=POT,
        pressure=PRESSURE,
        sources=(source(entry_point), source(entry_point, compound="caffeine")),
        bed_liquid=bed,
    )
    entry = result.account.entries["linalool"]
    assert sum(entry.came.values()) == pytest.approx(2e-4)
    assert entry.went[SPENT] >= 0.2 * 2e-4 * (1 - 1e-9)
    # Linalool is far more volatile than water from a weak boiler (K about 40 at x = 0).
    assert entry.went["over"] > 0.7 * 2e-4
    assert SPENT not in result.made


def test_a_basket_gives_its_aroma_before_the_charge_does() -> None:
    first = {}
    for entry_point, bed in (("charge", 0.0), ("basket", 2e-4)):
        result = distil(
            STRIP,
            (lot(0.018, 0.28),),
            still=POT,
            pressure=PRESSURE,
            sources=(source(entry_point),),
            bed_liquid=bed,
        )
        assert result.curve is not None
        column = result.curve.compounds.index("linalool")
        first[entry_point] = float(
            np.interp(1e-3, result.curve.volume, result.curve.amounts[:, column])
        )
    assert first["basket"] > 1.5 * first["charge"]


def test_doubling_the_botanical_doubles_its_compound() -> None:
    found = []
    for factor in (1.0, 2.0):
        single = source("basket")
        doubled = replace(single, amount=single.amount.scaled(factor))
        result = distil(
            STRIP,
            (lot(0.018, 0.28),),
            still=POT,
            pressure=PRESSURE,
            sources=(doubled,),
            bed_liquid=2e-4,
        )
        found.append(result.made["over"].amounts["linalool"].typical)
    assert found[1] == pytest.approx(2.0 * found[0], rel=1e-12)


def test_the_element_uncovers_when_the_boiler_runs_low() -> None:
    result = run(replace(POT, element_covered_above=0.012), cuts=(Cut("o", Until(strength=0.01)),))
    assert result.curve is not None
    uncovered = result.curve.facts.uncovered_after
    assert uncovered is not None
    level = np.interp(uncovered, result.curve.time, result.curve.boiler_volume)
    assert level == pytest.approx(0.012, rel=1e-3)


def test_flooding_follows_the_vapour_load() -> None:
    # By hand at the start: 2275 W / 40 kJ/mol = 57 mmol/s of vapour of about 1.2 kg/m³ through
    # 22.9 cm² is 0.75 m/s; flooding at 0.08 sqrt(790/1.2) = 2.05 m/s (Souders and Brown 1934).
    result = run(replace(COLUMN, column_loss=0.0, head_loss=0.0))
    assert result.curve is not None
    assert result.curve.facts.flood_vapour_speed == pytest.approx(0.75, rel=0.15)
    assert result.curve.facts.flood_fraction == pytest.approx(0.37, rel=0.15)


@pytest.mark.parametrize(
    ("still", "charge", "changes", "words"),
    [
        (POT, lot(0.031, 0.1), {}, "brim"),
        (POT, Lot("low wines", water=0.0, ethanol=0.0), {}, "empty"),
        (POT, Lot("low wines", water=5.0, ethanol=0.0), {}, "no ethanol"),
        (POT, None, {"cuts": (Cut("a", Until(strength=0.9)),)}, "never comes"),
        (POT, None, {"cuts": (Cut("a", Until(volume=0.0185)),)}, "never comes"),
        (
            POT,
            None,
            {"cuts": (Cut("a", Until(strength=0.4)), Cut("b", Until(strength=0.5)))},
            "never comes",
        ),
        (POT, None, {"power": 0.05}, "loses"),
        (POT, None, {"heat_up_power": 0.02}, "never boils"),
        (replace(POT, head_loss=2400.0), None, {}, "nothing comes over"),
        (replace(COLUMN, stage_holdup=4e-3), None, {}, "hold"),
        (replace(POT, head_loss=2400.0), None, {"cuts": (Cut("a", Until(time=900.0)),)}, "nothing"),
        (COLUMN, None, {"total_reflux": 600.0}, "at most 12 %"),
        (replace(COLUMN, column_loss=2300.0), None, {}, "the column loses"),
        (
            POT,
            None,
            {"cuts": (Cut("a", Until(strength=0.6)), Cut("b", Until(time=300.0)))},
            "already past",
        ),
        (POT, None, {"power_changes": (PowerChange(Until(volume=17e-3), 0.5),)}, "never comes"),
        (POT, None, {"cuts": (Cut("a", Until(strength=0.05), coolant_duty=300.0),)}, "no reflux"),
        (POT, None, {"cuts": (Cut("a", Until(strength=0.05), jar_volume=1e-6),)}, "jars"),
    ],
)
def test_what_cannot_be_run_is_refused_in_words(
    still: Still, charge: Lot | None, changes: dict[str, object], words: str
) -> None:
    with pytest.raises(InputError, match=words):
        run(still, charge, **changes)


def _early_strength(still: Still) -> float:
    curve = run(still).curve
    assert curve is not None
    target = 0.9 * float(curve.boiler_strength[0])
    return float(np.interp(-target, -curve.boiler_strength, curve.strength))


def test_a_part_of_a_stage_counts_as_a_part() -> None:
    numbers = (0.0, 0.02, 0.4, 0.98, 1.0, 1.02, 1.5, 1.98, 2.0, 2.02, 2.5, 2.98, 3.0)
    plain = replace(COLUMN, column_loss=100.0, coolant_duty=1200.0)  # a good reflux
    found = [_early_strength(replace(plain, stages=stages)) for stages in numbers]
    assert found == sorted(found)
    # No jump at a whole number: 0.02 of a stage is worth about that, on either side.
    worth = {n: found[numbers.index(n + 1.0)] - found[numbers.index(n)] for n in (0.0, 1.0, 2.0)}
    for whole in (0.0, 1.0, 2.0):
        place = numbers.index(whole)
        assert abs(found[place + 1] - found[place]) < 0.06 * worth[whole]
        assert abs(found[numbers.index(whole + 1.0)] - found[numbers.index(whole + 0.98)]) < (
            0.06 * worth[whole]
        )
    figures = {one.key: one.value for one in run(replace(COLUMN, stages=2.5)).figures}
    assert figures["stages"] == 2.5


def test_a_head_that_only_condenses_separates_nothing() -> None:
    # By hand: without stages, and with a head past which all vapour goes as it is, what comes over
    # is the boiler's own vapour, however much the head sends back.
    pot = replace(POT, head_loss=300.0, head_efficiency=0.0)
    found = _early_strength(pot)
    assert found == pytest.approx(_early_strength(replace(POT, head_loss=0.0)), abs=2e-3)
    half = _early_strength(replace(pot, head_efficiency=0.5))
    full = _early_strength(replace(pot, head_efficiency=1.0))
    assert found + 0.01 < half < full - 0.003


@pytest.mark.parametrize(("stages", "efficiency"), [(0.0, 0.3), (2.4, 0.0), (2.4, 0.5)])
def test_cuts_end_where_the_head_says_so_however_it_separates(
    stages: float, efficiency: float
) -> None:
    still = replace(COLUMN, stages=stages, head_loss=200.0, head_efficiency=efficiency)
    ends = (
        Cut("first", Until(strength=0.70)),
        Cut("then", Until(head_temperature=363.15)),
        Cut("last", Until(strength=0.05)),
    )
    curve = run(still, cuts=ends).curve
    assert curve is not None
    first, then, _ = curve.cuts
    assert first.strength_end == pytest.approx(0.70, abs=1e-5)
    assert then.head_temperature_end == pytest.approx(363.15, abs=1e-3)
    # A thermometer in the head reads the dew point of what comes over.
    at = int(np.searchsorted(curve.time, then.end))
    fraction = alcoholometry.mole_fraction_from_strength(float(curve.strength[at]))
    dew = equilibrium.dew_point(fraction, 101_325.0)[0]
    assert curve.head_temperature[at] == pytest.approx(float(dew), abs=0.02)


def test_the_vapour_load_has_no_jump_at_a_whole_stage() -> None:
    load = {
        stages: run(replace(COLUMN, stages=stages, column_loss=100.0)).curve
        for stages in (0.001, 1.0, 1.001, 2.0, 2.001)
    }
    found = {at: curve.facts.flood_fraction for at, curve in load.items() if curve is not None}
    assert found[1.001] == pytest.approx(found[1.0], rel=2e-3)
    assert found[2.001] == pytest.approx(found[2.0], rel=2e-3)


def test_what_the_plan_does_not_say_about_the_head_is_a_caution() -> None:
    coil = replace(COLUMN, coolant_duty=600.0, head_known=False)
    found = [one for one in run(coil).cautions if one.code == "head-unknown"]
    assert len(found) == 1
    assert "head_efficiency" in found[0].text
    for other in (replace(coil, head_known=True), replace(coil, coolant_duty=0.0)):
        assert "head-unknown" not in {one.code for one in run(other).cautions}


def test_what_the_plan_does_not_say_about_the_element_is_a_caution() -> None:
    codes = {caution.code for caution in run(replace(POT, element_known=False)).cautions}
    assert "element-unknown" in codes
    assert "element-unknown" not in {caution.code for caution in run().cautions}


def test_solids_and_what_does_not_boil_stay_behind() -> None:
    charge = replace(
        lot(0.018, 0.08, solids=0.5),
        amounts={"caffeine": Amount(1e-3, 1e-3, 1e-3), "methanol": Amount(1e-4, 1e-4, 1e-4)},
    )
    result = run(POT, charge)
    assert result.made["stillage"].solids == 0.5
    assert result.made["stillage"].amounts["caffeine"].typical == 1e-3
    assert "caffeine" not in result.made["over"].amounts
