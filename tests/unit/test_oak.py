# SPDX-License-Identifier: MIT
"""Oak as data: names, ranges, refusals, and the directions that were read."""

from __future__ import annotations

import math

import numpy as np
import pytest

from middlecut.errors import InputError, NotFoundError, OutOfRangeError
from middlecut.liquid import compounds, oak, oak_colour, oak_rates
from middlecut.liquid.evaporation import (
    CLIMATES,
    YEAR,
    EvaporationRates,
    climate_of,
    evaporation_rates,
)
from middlecut.liquid.oak_pieces import FORMS, active_mass, cask_area, piece_area, wood_form


def typical(species: str, treatment: str, compound: str) -> float:
    rows = oak.oak_content(species, treatment)
    return next(row.typical for row in rows if row.compound == compound)


def test_every_compound_of_oak_is_known() -> None:
    for treatment in oak.TREATMENTS:
        names = [row.compound for row in oak.oak_content("american oak", treatment)]
        assert len(names) == 14
        for name in names:
            if name != oak.OTHER_EXTRACT:
                assert compounds.find(name).name == name


@pytest.mark.parametrize("treatment", oak.TREATMENTS)
@pytest.mark.parametrize("species", oak.SPECIES)
def test_ranges_are_in_order_and_never_called_read(species: str, treatment: str) -> None:
    for row in oak.oak_content(species, treatment):
        assert 0.0 < row.low <= row.typical <= row.high < 0.2
        assert row.basis in {"memory", "estimate"}


def test_directions_read_in_abstracts() -> None:
    # Cadahia et al. 2003: guaiacol rises with toasting. Prida and Puech 2006: lactone and
    # ellagitannin tell the species apart.
    toasts = ("untoasted", "light toast", "medium toast", "heavy toast")
    levels = [typical("american oak", toast, "guaiacol") for toast in toasts]
    assert levels == sorted(levels)
    assert len(set(levels)) == 4
    for compound, factor in (("cis-whisky lactone", 2.0), ("vescalagin", 0.5)):
        american = typical("american oak", "medium toast", compound)
        pedunculate = typical("pedunculate oak", "medium toast", compound)
        assert (american > factor * pedunculate) == (compound == "cis-whisky lactone")
        assert (american < factor * pedunculate) == (compound == "vescalagin")


def test_numbers_from_memory_as_they_were_noted() -> None:
    # The two remembered sets: light to medium toast, and char 3 to 4; mg/kg, mean of species.
    assert typical("sessile oak", "medium toast", "vanillin") == pytest.approx(100e-6, rel=1e-12)
    assert typical("sessile oak", "heavy char", "guaiacol") == pytest.approx(15e-6, rel=1e-12)


def test_two_pools_of_a_cask() -> None:
    # 0.35 at 8 a year and 0.65 at 0.25 a year, from memory; by hand for one year at 20 °C.
    by_hand = 0.35 * (1.0 - math.exp(-8.0)) + 0.65 * (1.0 - math.exp(-0.25))
    assert oak_rates.extracted_share("cask", YEAR) == pytest.approx(by_hand, rel=1e-4)


def test_warmth_follows_arrhenius() -> None:
    # Small shares are rate times time; 32 kJ/mol from 20 to 30 °C gives 1.542.
    cold, warm = (oak_rates.extracted_share("chips", 60.0, kelvin) for kelvin in (293.15, 303.15))
    expected = math.exp(32e3 / 8.314462618 * (1.0 / 293.15 - 1.0 / 303.15))
    assert warm / cold == pytest.approx(expected, rel=1e-3)


def test_low_and_high_rates_bracket_at_every_temperature() -> None:
    for kelvin in (268.15, 293.15, 308.15):
        low, middle, high = (
            oak_rates.extracted_share("cubes", 1e6, kelvin, rate=rate)
            for rate in ("low", "typical", "high")
        )
        assert low < middle < high


def test_arrays_and_scalars() -> None:
    times = np.array([0.0, 1e5, 1e6])
    shares = oak_rates.extracted_share("chips", times)
    assert isinstance(shares, np.ndarray)
    assert isinstance(oak_rates.extracted_share("chips", 1e5), float)
    assert shares[1] == oak_rates.extracted_share("chips", 1e5)
    assert isinstance(cask_area(0.02), float)
    assert cask_area(np.array([0.02, 0.2])).shape == (2,)


@pytest.mark.parametrize("bad", [-1.0, math.nan, math.inf])
def test_times_out_of_range(bad: float) -> None:
    with pytest.raises(OutOfRangeError):
        oak_rates.extracted_share("chips", bad)


def test_heat_is_forced_ageing() -> None:
    with pytest.raises(OutOfRangeError, match="forced"):
        oak_rates.extracted_share("chips", 1e5, 333.15)


def test_unknown_names_offer_known_ones() -> None:
    for call in (
        lambda: oak.oak_content("cherry", "medium toast"),
        lambda: oak.oak_content("american oak", "burnt"),
        lambda: oak.strength_factor("methanol", 0.5),
        lambda: oak_rates.extracted_share("planks", 1.0),
        lambda: oak_rates.extracted_share("chips", 1.0, rate="usual"),
        lambda: oak_colour.colour_index(1.0, "burnt"),
        lambda: climate_of("moon"),
        lambda: evaporation_rates("temperate", area_per_volume=9.0, end="usual"),
    ):
        with pytest.raises(NotFoundError):
            call()


def test_earlier_fills() -> None:
    shares = [oak.remaining_after_fills(fills)[1] for fills in (0, 1, 2, 3)]
    assert shares == sorted(shares, reverse=True)
    assert oak.remaining_after_fills(7) == oak.remaining_after_fills(3)
    for bad in (-1, 21):
        with pytest.raises(OutOfRangeError):
            oak.remaining_after_fills(bad)


def test_strength_moves_tannin_and_lactone_apart() -> None:
    assert oak.strength_factor("vescalagin", 0.2) > oak.strength_factor("cis-whisky lactone", 0.2)
    assert oak.strength_factor("vescalagin", 0.8) < oak.strength_factor("cis-whisky lactone", 0.8)
    with pytest.raises(OutOfRangeError):
        oak.strength_factor("vanillin", 1.01)


def test_spreads_add_as_squares() -> None:
    # Guaiacol of medium toast 0.5 / 3 / 10 in chips: content 6 and share by hand for one day.
    rows = oak.oak_yields(
        "sessile oak",
        "medium toast",
        form="chips",
        duration=86400.0,
        temperature=293.15,
        strength=0.6,
    )
    row = next(row for row in rows if row.compound == "guaiacol")
    slow, middle = (1.0 - math.exp(-rate) for rate in (0.10, 0.14))
    down = math.exp(math.hypot(math.log(6.0), math.log(middle / slow)))
    assert row.typical / row.low == pytest.approx(down, rel=1e-4)
    assert row.typical == pytest.approx(3e-6 * middle, rel=1e-4)


def test_colour_words_go_from_pale_to_dark() -> None:
    words = [
        oak_colour.colour_name(oak_colour.colour_index(extract, "medium toast"))
        for extract in (0.01, 0.3, 5.0)
    ]
    assert words == ["water-white", "straw", "dark amber"]
    assert oak_colour.colour_index(1.0, "heavy char") > oak_colour.colour_index(1.0, "light toast")


def test_thin_pieces_take_part_whole() -> None:
    # Up to twice the depth of 3 mm everything is near a surface; beyond, a core stays out.
    thin, thick = (0.05, 0.03, 0.006), (0.05, 0.03, 0.012)
    assert active_mass(piece_area(thin), thin) == pytest.approx(1.0, rel=1e-12)
    core = (0.044 / 0.05) * (0.024 / 0.03) * (0.006 / 0.012)
    assert active_mass(piece_area(thick), thick) == pytest.approx(1.0 - core, rel=1e-12)


def test_sizes_out_of_range() -> None:
    with pytest.raises(OutOfRangeError, match="1 to 500 L"):
        cask_area(0.6)
    with pytest.raises(OutOfRangeError, match="thickness"):
        piece_area((0.01, 0.01, 0.0))
    with pytest.raises(InputError, match="three sides"):
        piece_area((0.01, 0.01))  # type: ignore[arg-type]


def test_forms_have_rates_in_order_of_fineness() -> None:
    typical_rates = [wood_form(form).fast[1] for form in FORMS]
    assert typical_rates == sorted(typical_rates)
    for form in FORMS:
        row = wood_form(form)
        assert row.fast[0] < row.fast[1] < row.fast[2]


@pytest.mark.parametrize("climate", CLIMATES)
def test_both_water_and_ethanol_leave(climate: str) -> None:
    for end in ("low", "typical", "high", "weaker", "stronger"):
        rates = evaporation_rates(climate, area_per_volume=9.05, end=end)
        assert rates.ethanol > 0.0
        assert rates.water > 0.0


def test_only_the_loss_that_was_read_is_called_read() -> None:
    assert [climate_of(name).loss_basis for name in CLIMATES] == [
        "memory",
        "read",
        "memory",
        "memory",
    ]


def test_ten_kelvin_double_the_loss() -> None:
    # 1.8 to 2.2 from memory.
    usual = evaporation_rates("temperate", area_per_volume=9.05)
    warm = evaporation_rates("temperate", area_per_volume=9.05, temperature=303.15)
    assert warm.water / usual.water == pytest.approx(2.0, rel=1e-12)
    with pytest.raises(OutOfRangeError, match="climate"):
        evaporation_rates("temperate", area_per_volume=9.05, temperature=310.0)


def test_own_loss_replaces_the_table() -> None:
    own = evaporation_rates("cool damp", area_per_volume=30.0, yearly_loss=0.02)
    table = evaporation_rates("cool damp", area_per_volume=9.05)
    assert isinstance(own, EvaporationRates)
    assert own.ethanol == pytest.approx(table.ethanol, rel=1e-12)
    assert own == evaporation_rates("cool damp", area_per_volume=30.0, yearly_loss=0.02, end="high")
    assert evaporation_rates("cool damp", area_per_volume=9.05, yearly_loss=0.0).water == 0.0
