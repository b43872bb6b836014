# SPDX-License-Identifier: MIT
"""Wood against geometry computed elsewhere and against what was read or is told of casks."""

from __future__ import annotations

import csv
import math
import re
from pathlib import Path

import pytest

from middlecut.liquid.alcoholometry import density_20, mass_fraction_from_strength
from middlecut.liquid.evaporation import YEAR
from middlecut.liquid.oak_pieces import CASK_AREA_PER_VOLUME, cask_area, piece_area
from middlecut.liquid.oak_rates import extracted_share
from middlecut.steps.lot import Lot
from middlecut.steps.parameters import Take, Wood
from middlecut.steps.wood import wood

DATA = Path(__file__).parent / "data"


def rows(name: str) -> list[dict[str, str]]:
    return list(csv.DictReader((DATA / f"{name}.csv").read_text(encoding="utf-8").splitlines()))


def reading(quantity: str) -> dict[str, str]:
    return next(row for row in rows("wood_readings") if row["quantity"] == quantity)


def spirit(volume: float, strength: float) -> Lot:
    fraction = mass_fraction_from_strength(strength)
    mass = volume * density_20(fraction)
    return Lot("new make", mass * (1.0 - fraction), mass * fraction)


def aged(years: float, **changes: object) -> tuple[Lot, Lot]:
    taken = spirit(0.2, 0.60)
    fields: dict[str, object] = {
        "form": "cask",
        "species": "american oak",
        "treatment": "heavy char",
        "cask_volume": 0.2,
        "climate": "temperate",
    }
    step = Wood("w", Take("new make"), "aged", years * YEAR, **(fields | changes))  # type: ignore[arg-type]
    return taken, wood(step, taken).made["aged"]


@pytest.mark.parametrize("row", rows("cask_surface"), ids=lambda row: f"{row['volume_L']} L")
def test_cask_areas(row: dict[str, str]) -> None:
    volume = float(row["volume_L"]) * 1e-3
    area = cask_area(volume) / volume * 10.0  # cm² per litre
    printed = float(row["area_cm2_per_L"])
    # Rounded to whole cm²/L, and 1 % for the curve of the staves, which is not stated.
    assert abs(area - printed) <= 0.5 + 0.01 * printed
    # Printed to two digits after the point.
    ratio = area / (CASK_AREA_PER_VOLUME * 10.0)
    assert ratio == pytest.approx(float(row["relative_to_200L"]), abs=0.006)


def test_the_area_of_the_200_litre_cask_follows_from_its_measures() -> None:
    # Staves on a parabola: radius 30 cm at the bilge, 25 cm at the heads, 40 cm from it.
    steps = 20000
    volume = wall = 0.0
    for index in range(steps):
        z = -0.40 + 0.80 * (index + 0.5) / steps
        radius = 0.30 - 0.05 * (z / 0.40) ** 2
        slope = 0.10 * z / 0.40**2
        volume += math.pi * radius**2 * 0.80 / steps
        wall += 2.0 * math.pi * radius * math.hypot(1.0, slope) * 0.80 / steps
    area = wall + 2.0 * math.pi * 0.25**2
    # The constant is rounded to three figures.
    assert area / volume == pytest.approx(CASK_AREA_PER_VOLUME, abs=0.005)


@pytest.mark.parametrize("row", rows("oak_piece_surface"), ids=lambda row: row["form"])
def test_piece_areas(row: dict[str, str]) -> None:
    sides = [float(part) * 1e-3 for part in re.findall(r"[\d.]+", row["form"])]
    size = (sides[0], sides[1], sides[2]) if len(sides) == 3 else (sides[0],) * 3
    # Printed to three or four figures.
    assert piece_area(size) * 10.0 == pytest.approx(float(row["area_cm2_per_g"]), rel=0.006)
    dose = 90.0 / (piece_area(size) * 10.0)
    assert dose == pytest.approx(float(row["dose_gL_for_90_cm2_per_L"]), abs=0.06)


def test_bourbon_vanillin() -> None:
    # 2.13 mg/L read for one bourbon of unstated age and strength: taken as 4 years and bottled at
    # 45 % vol. The depth of the wood was chosen by this reading, so 30 % is what the assumed age
    # (2 to 8 years) and strength leave open.
    _, lot = aged(4.0)
    level = lot.amounts["vanillin"].typical / lot.volume * 1e-3 * 0.45 / lot.strength
    assert level == pytest.approx(float(reading("bourbon vanillin")["value"]) * 1e-6, rel=0.3)


@pytest.mark.parametrize("compound", ["vanillin", "cis-whisky lactone"])
def test_malt_from_a_used_cask(compound: str) -> None:
    # Read at 40 % vol after 8 years; cask unknown, taken as once filled with bourbon before.
    _, lot = aged(
        8.0, earlier_fills=1, treatment="light char", climate="cool damp", cask_volume=0.25
    )
    at_40 = 0.40 / lot.strength / lot.volume * 1e-3  # kg to kg/L at 40 % vol
    amount = lot.amounts[compound]
    value = float(reading(f"refill malt 8 years {compound}")["value"]) * 1e-6
    assert amount.low * at_40 < value < amount.high * at_40


def test_yearly_loss_of_a_warehouse() -> None:
    taken, lot = aged(1.0)
    step = Wood(
        "w", Take("new make"), "aged", YEAR, "cask", "american oak", "heavy char",
        cask_volume=0.2, climate="temperate",
    )  # fmt: skip
    evaporated = next(f.value for f in wood(step, taken).figures if f.key == "evaporated")
    # Read as "about 3.0 %"; the table's own value, so this checks the way through the model:
    # rates, mass balance and density. Contraction enters at 1e-4.
    read = float(reading("yearly loss of American warehouses")["value"]) / 100.0
    assert evaporated / taken.volume == pytest.approx(read, rel=2e-3)
    assert lot.volume < taken.volume


def test_yearly_loss_of_a_small_cask() -> None:
    taken = spirit(0.02, 0.60)
    step = Wood(
        "w", Take("new make"), "aged", YEAR, "cask", "american oak", "heavy char",
        cask_volume=0.02, climate="temperate",
    )  # fmt: skip
    evaporated = next(f.value for f in wood(step, taken).figures if f.key == "evaporated")
    row = reading("yearly loss of a temperate 20 L cask")
    assert float(row["low"]) < evaporated / taken.volume * 100.0 < float(row["high"])


def test_strength_falls_in_a_damp_store() -> None:
    taken, lot = aged(1.0, climate="cool damp")
    row = reading("strength lost in a cool damp store")
    assert float(row["low"]) < (taken.strength - lot.strength) * 100.0 < float(row["high"])


def test_strength_rises_in_a_dry_store() -> None:
    taken, lot = aged(1.0, climate="hot dry")  # direction from memory of whisky textbooks
    assert lot.strength > taken.strength + 0.002


def test_chips_take_two_to_three_weeks() -> None:
    row = reading("chips of 5 mm: 90 % out")
    assert extracted_share("chips", float(row["low"]) * 86400.0) < 0.90
    assert extracted_share("chips", float(row["high"]) * 86400.0) > 0.90


def test_cubes_take_two_to_three_months() -> None:
    row = reading("cubes of 10 to 15 mm: nearly all out")
    # "Nearly all" is taken as 80 to 97 %.
    assert extracted_share("cubes", float(row["low"]) * 86400.0) > 0.80
    assert extracted_share("cubes", float(row["high"]) * 86400.0) < 0.97
