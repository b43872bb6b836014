# SPDX-License-Identifier: MIT
"""Numbers about fire and gas against published and hand-computed rows."""

from __future__ import annotations

import math

import pytest

from middlecut.errors import OutOfRangeError
from middlecut.steps import hazards

FLASH_POINTS = [  # %vol, °C: published flash-point table of ethanol and water (read)
    (5, 62), (10, 49), (20, 36), (30, 29), (40, 26), (50, 24),
    (60, 22), (70, 21), (80, 20), (90, 17), (96, 17),
]  # fmt: skip

MODEL = [  # %vol, °C: activity-coefficient model anchored at 13 °C for pure ethanol (computed)
    (20, 32.5), (30, 27.9), (40, 25.3), (50, 23.5), (70, 20.7), (90, 17.1),
]  # fmt: skip


@pytest.mark.parametrize(("per_cent", "celsius"), FLASH_POINTS)
def test_flash_point_gives_the_table(per_cent: int, celsius: int) -> None:
    assert hazards.flash_point(per_cent / 100) == pytest.approx(celsius + 273.15, abs=1e-9)


@pytest.mark.parametrize(("per_cent", "celsius"), MODEL)
def test_the_margin_covers_the_model_below_the_table(per_cent: int, celsius: float) -> None:
    shown = hazards.flash_point(per_cent / 100) - 273.15
    assert celsius - 0.15 <= shown <= celsius + hazards.FLASH_POINT_MARGIN  # 0.1 K at 90 %vol


def test_the_margin_covers_the_model_at_ten_per_cent() -> None:
    # 42.9 °C by the model (computed) against 49 °C: the 5 to 6 K the facts ask for, and 0.1 K.
    assert hazards.flash_point(0.10) - 273.15 - 42.9 <= hazards.FLASH_POINT_MARGIN + 0.11


def test_flash_point_lies_between_its_rows() -> None:
    assert hazards.flash_point(0.35) - 273.15 == pytest.approx(27.5, abs=1e-9)


@pytest.mark.parametrize("strength", [0.0, 0.0499, 0.9601, 1.0, math.nan, math.inf])
def test_flash_point_ends_with_the_table(strength: float) -> None:
    with pytest.raises(OutOfRangeError):
        hazards.flash_point(strength)


def test_explosive_limits() -> None:
    # NIOSH Pocket Guide, ethyl alcohol (read): 3.3 and 19 % by volume.
    assert hazards.LOWER_EXPLOSIVE_LIMIT == 0.033


LITRE = 0.78924  # kg of ethanol in one litre at 20 °C, OIML R 22


def test_a_litre_makes_this_much_vapour() -> None:
    # 0.412 m³ at 20 °C; 12.5 m³ of air to the lower limit (computed rows, three digits).
    assert hazards.vapour_volume(LITRE) == pytest.approx(0.412, abs=5e-4)
    assert hazards.dilution_air(LITRE, 1.0) == pytest.approx(12.5, abs=0.05)


def test_a_litre_an_hour_needs_this_much_air() -> None:
    # 125 m³/h for 10 % and 50 m³/h for 25 % of the limit; the US formula gives 73.7 cfm (read).
    assert hazards.dilution_air(LITRE) == pytest.approx(125, abs=0.5)
    assert hazards.dilution_air(LITRE, 0.25) == pytest.approx(50, abs=0.5)
    assert hazards.dilution_air(LITRE) / 0.028316846592 / 60 == pytest.approx(73.7, rel=0.01)


def test_a_kilowatt_without_cooling() -> None:
    # 4.2 kg/h = 5.4 L/h = 2.2 m³/h of vapour, 670 m³/h of air for 10 % (computed, two digits).
    mass = hazards.vapour_rate(1000.0)
    assert mass * 3600 == pytest.approx(4.2, abs=0.05)
    assert mass * 3600 / LITRE == pytest.approx(5.4, abs=0.05)
    assert hazards.vapour_volume(mass) * 3600 == pytest.approx(2.2, abs=0.05)
    assert hazards.dilution_air(mass) * 3600 == pytest.approx(670, abs=5)


def test_carbon_dioxide_per_litre_of_ethanol() -> None:
    # About 0.41 m³ at 20 °C per litre of ethanol made (computed, Balling 0.9565 kg/kg).
    assert hazards.carbon_dioxide_volume(0.9565 * LITRE) == pytest.approx(0.41, abs=0.005)


@pytest.mark.parametrize("value", [-1.0, math.nan, math.inf])
def test_nonsense_is_refused(value: float) -> None:
    for function in (
        hazards.vapour_rate,
        hazards.vapour_volume,
        hazards.carbon_dioxide_volume,
        hazards.dilution_air,
    ):
        with pytest.raises(OutOfRangeError):
            function(value)


@pytest.mark.parametrize("share", [0.0, -0.1, 1.1, math.nan])
def test_a_share_of_the_limit_is_above_nothing(share: float) -> None:
    with pytest.raises(OutOfRangeError):
        hazards.dilution_air(1.0, share)
