# SPDX-License-Identifier: MIT
from __future__ import annotations

import pytest

from middlecut.errors import NotFoundError
from middlecut.liquid.compounds import volatile_names
from middlecut.liquid.congeners import PROFILES, CongenerLevel, congener_levels


def by_name(profile: str) -> dict[str, CongenerLevel]:
    return {row.compound: row for row in congener_levels(profile)}


@pytest.mark.parametrize("profile", PROFILES)
def test_rows_are_ordered_and_have_a_volatility(profile: str) -> None:
    rows = congener_levels(profile)
    assert len({row.compound for row in rows}) == len(rows)
    assert {row.compound for row in rows} <= set(volatile_names())
    assert all(0.0 < row.low < row.typical < row.high for row in rows)
    assert {row.basis for row in rows} <= {"computed", "memory", "estimate"}
    assert all(row.source for row in rows)


def test_grain_has_at_least_45_compounds() -> None:
    assert len(congener_levels("grain")) >= 45


@pytest.mark.parametrize(
    ("compound", "low", "typical", "high"),
    [  # mg/L of all-malt beer: FEMS Yeast Research 2021 foab040 Table 3
        ("isoamyl acetate", 0.5, 1.5, 5.0),
        ("3-methyl-1-butanol", 30.0, 50.0, 70.0),
        ("2-phenylethanol", 8.0, 20.0, 35.0),
        ("acetaldehyde", 2.0, 8.0, 20.0),
        # Bamforth, Beer: Health and Nutrition, p. 84
        ("acetic acid", 30.0, 90.0, 200.0),
    ],
)
def test_published_rows_take_the_assumed_strength(
    compound: str, low: float, typical: float, high: float
) -> None:
    row = by_name("grain")[compound]
    # The mg/L were read; the 5 % vol that turn them into mass per pure alcohol are assumed.
    assert row.basis == "computed"
    assert "Table" in row.source or "Bamforth" in row.source
    # 1 mg/L at 5 % vol is 0.02 kg per m³ of pure alcohol.
    given = (row.low, row.typical, row.high)
    assert given == pytest.approx((low * 0.02, typical * 0.02, high * 0.02), rel=1e-12)


def test_grams_per_hectolitre_become_kilograms_per_cubic_metre() -> None:
    # New-make malt spirit from memory: isobutanol 80 g/hL of pure alcohol = 0.8 kg/m³.
    assert by_name("grain")["isobutanol"].typical == pytest.approx(0.8)


def test_methanol_comes_from_pectin() -> None:
    # Common practice: fruit washes hold far more methanol than grain, sugar nearly none.
    fruit, grain, sugar = (by_name(p)["methanol"].typical for p in ("fruit", "grain", "sugar"))
    assert fruit > 50 * grain > 50 * sugar


def test_no_row_claims_to_be_read_as_it_stands() -> None:
    bases = {p: [row.basis for row in congener_levels(p)] for p in PROFILES}
    assert bases["grain"].count("computed") == 15
    for profile in ("sugar", "fruit"):
        assert set(bases[profile]) <= {"memory", "estimate"}


def test_unknown_profile_names_the_known_ones() -> None:
    with pytest.raises(NotFoundError) as caught:
        congener_levels("potato")
    assert caught.value.near == PROFILES
