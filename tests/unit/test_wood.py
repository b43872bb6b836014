# SPDX-License-Identifier: MIT
"""Spirit on wood: limits, refusals, cautions, and numbers worked by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from middlecut.errors import InputError, NotFoundError, OutOfRangeError
from middlecut.liquid import alcoholometry
from middlecut.liquid.evaporation import YEAR
from middlecut.steps.lot import Amount, Lot
from middlecut.steps.parameters import Take, Wood
from middlecut.steps.result import StepResult
from middlecut.steps.scenario import Scenario
from middlecut.steps.wood import wood
from middlecut.steps.wood_contact import ABSORBED, EVAPORATED, FROM_WOOD

DAY = 86400.0
CHIPS = Wood(
    "oak", Take("hearts"), "aged", 14 * DAY, "chips", "sessile oak", "medium toast", dose=4.6
)
CASK = Wood(
    "oak", Take("hearts"), "aged", YEAR, "cask", "american oak", "heavy char",
    cask_volume=0.02, climate="temperate",
)  # fmt: skip


def spirit(volume: float = 0.02, strength: float = 0.60, **traces: Amount) -> Lot:
    fraction = alcoholometry.mass_fraction_from_strength(strength)
    mass = volume * alcoholometry.density_20(fraction)
    return Lot("hearts", mass * (1 - fraction), mass * fraction, 0.0, traces)


def figure(result: StepResult, key: str) -> float:
    return next(row.value for row in result.figures if row.key == key)


def codes(result: StepResult) -> list[str]:
    return [caution.code for caution in result.cautions]


@pytest.mark.parametrize("step", [CHIPS, CASK], ids=lambda step: step.form)
def test_no_time_changes_nothing(step: Wood) -> None:
    taken = spirit(methanol=Amount(1e-4, 5e-5, 2e-4, "memory"))
    made = wood(replace(step, duration=0.0), taken).made["aged"]
    assert (made.water, made.ethanol, made.solids) == (taken.water, taken.ethanol, 0.0)
    assert made.amounts["methanol"] == taken.amounts["methanol"]
    assert made.amounts["vanillin"].high == 0.0


def test_hand_calculation_for_chips() -> None:
    # 4.6 g/L of chips thinner than 6 mm take part whole: 100 mg/kg of vanillin, 0.14 a day for 14
    # days, bell curve at 60 % vol exp(-(0.025/0.6)²/2); soaked-up spirit leaves the level alone.
    result = wood(CHIPS, spirit())
    by_hand = 4.6 * 100e-6 * (1 - math.exp(-0.14 * 14)) * math.exp(-0.5 * (0.025 / 0.6) ** 2)
    lot = result.made["aged"]
    # The rate is kept to six digits; dissolved wood swells the lot by 2e-4.
    level = lot.amounts["vanillin"].typical / lot.volume
    assert level == pytest.approx(by_hand, rel=5e-4)
    soaked = 4.6e-3 * 0.6e-3 * 1e3 * (1 - math.exp(-0.14 * 14))
    assert figure(result, "absorbed") / 0.02 == pytest.approx(soaked, rel=1e-4)


def test_cask_evaporates_by_area() -> None:
    # 3 % a year at 200 L times 2.154 for 20 L, first order.
    result = wood(CASK, spirit())
    expected = 1.0 - 0.97 ** (10.0 ** (1 / 3))
    # Water and ethanol go apart, so contraction shifts the volume a little.
    assert figure(result, "evaporated") / 0.02 == pytest.approx(expected, rel=2e-3)
    went = result.account.entries["ethanol"].went
    assert went[EVAPORATED] == pytest.approx(figure(result, "evaporated_ethanol"), rel=1e-12)
    assert went[ABSORBED] > 0.0


def test_the_account_names_the_wood() -> None:
    result = wood(CASK, spirit())
    assert result.account.entries["vanillin"].came[FROM_WOOD] > 0.0
    assert result.account.entries["vanillin"].came["hearts"] == 0.0
    assert result.account.entries["solids"].came[FROM_WOOD] > 0.0
    assert max(abs(entry.gap) for entry in result.account.entries.values()) < 1e-9


def test_dissolved_wood_hides_strength() -> None:
    # 27 CFR 30.32: 1 g/L hides 0.4 proof, 0.2 % vol, near 50 % vol; at 60 % vol a little less,
    # since density falls faster with strength there (0.0018 against 0.0020).
    result = wood(replace(CASK, climate="cool damp"), spirit(strength=0.50))
    hidden = figure(result, "obscuration") / figure(result, "extract_gained")
    assert hidden == pytest.approx(0.002, rel=0.1)
    lot = result.made["aged"]
    assert figure(result, "apparent_strength") < lot.strength


def test_ranges_bracket_typical() -> None:
    for row in wood(CASK, spirit()).figures:
        if row.low is not None:
            assert row.high is not None
            assert row.low <= row.value <= row.high


def test_nothing_of_wood_is_called_read() -> None:
    result = wood(CASK, spirit())
    assert {row.basis for row in result.figures} <= {"computed", "memory", "estimate"}
    assert {a.basis for a in result.made["aged"].amounts.values()} <= {"memory", "estimate"}


def test_area_and_dose_are_two_ways_to_say_the_same() -> None:
    by_dose = wood(CHIPS, spirit())
    area = figure(by_dose, "wood_area")
    by_area = wood(replace(CHIPS, dose=None, area=area), spirit())
    assert by_area.made["aged"].amounts["vanillin"].typical == pytest.approx(
        by_dose.made["aged"].amounts["vanillin"].typical, rel=1e-12
    )
    # 4.6 g/L of 10 x 5 x 3 mm equals the 90 cm²/L of a 200 L cask (computed elsewhere).
    assert figure(by_dose, "wood_area_per_litre") == pytest.approx(90e-4, rel=0.01)


def test_a_weak_lot_shows_no_apparent_strength() -> None:
    keys = [row.key for row in wood(replace(CHIPS, dose=60.0), spirit(strength=0.0)).figures]
    assert "apparent_strength" not in keys
    assert "extract_gained" in keys


@pytest.mark.parametrize(
    ("step", "match"),
    [
        (replace(CHIPS, dose=None), "dose"),
        (replace(CHIPS, area=0.1), "dose"),
        (replace(CHIPS, climate="temperate"), "climate"),
        (replace(CHIPS, yearly_loss=0.02), "climate"),
        (replace(CHIPS, cask_volume=0.02), "cask_volume"),
        (replace(CHIPS, dose=2000.0), "soak up"),
        (replace(CASK, cask_volume=None), "needs its volume"),
        (replace(CASK, cask_volume=0.019), "does not go in"),
        (replace(CASK, dose=1.0), "cask has the area"),
        (replace(CASK, duration=25 * YEAR, climate="tropical"), "Empty the cask sooner"),
    ],
)
def test_what_does_not_go_together(step: Wood, match: str) -> None:
    with pytest.raises(InputError, match=match):
        wood(step, spirit())


def test_refusals_of_the_tables_come_through() -> None:
    with pytest.raises(NotFoundError, match="climate"):
        wood(replace(CASK, climate=""), spirit())
    with pytest.raises(OutOfRangeError, match="forced"):
        wood(replace(CHIPS, temperature=330.0), spirit())
    with pytest.raises(InputError, match="nothing in the lot"):
        wood(CHIPS, Lot("hearts", 0.0, 0.0))


def test_usual_strength_is_common_practice() -> None:
    # Common practice, no source: spirit goes to wood at 55 to 63 % vol.
    assert "wood-strength" not in codes(wood(CHIPS, spirit(strength=0.60)))
    for strength in (0.50, 0.70):
        result = wood(CHIPS, spirit(strength=strength))
        caution = next(c for c in result.cautions if c.code == "wood-strength")
        assert caution.source == "common practice"


def test_cautions_of_casks_and_pieces() -> None:
    small = codes(wood(CASK, spirit()))
    assert {"cask-leaks", "cask-vapour", "wood-much-area", "wood-ageing"} <= set(small)
    pieces = codes(wood(CHIPS, spirit()))
    assert not {"cask-leaks", "cask-vapour", "wood-much-area", "wood-ageing"} & set(pieces)
    assert "wood-loss" in codes(wood(replace(CASK, duration=5 * YEAR), spirit()))


def test_a_draw_changes_what_the_wood_holds() -> None:
    rich = Scenario(content={("wood:oak", "vanillin"): 2.0}, lean=True)
    drawn, usual = wood(CHIPS, spirit(), scenario=rich), wood(CHIPS, spirit())
    for name, factor in (("vanillin", 2.0), ("eugenol", 1.0)):
        ratio = drawn.made["aged"].amounts[name].typical / usual.made["aged"].amounts[name].typical
        assert ratio == pytest.approx(factor, rel=1e-12)
    assert drawn.cautions == ()


def test_forced_ageing_is_logged_not_predicted() -> None:
    quiet = wood(CHIPS, spirit())
    forced = wood(replace(CHIPS, forced="ultrasonic bath, 2 h at 50 °C"), spirit())
    caution = next(c for c in forced.cautions if c.code == "wood-forced")
    assert "ultrasonic bath, 2 h at 50 °C" in caution.text
    assert "not predicted" in caution.text
    assert forced.figures == quiet.figures
