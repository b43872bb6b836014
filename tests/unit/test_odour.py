# SPDX-License-Identifier: MIT
from __future__ import annotations

import json
import math
from statistics import median

import pytest

from middlecut.errors import InputError, NotFoundError
from middlecut.insight import odour
from middlecut.insight.odour import odour_profile
from middlecut.liquid import alcoholometry, aroma, compounds
from middlecut.steps.lot import Amount, Lot


def litre(strength: float, amounts: dict[str, Amount]) -> Lot:
    mass_fraction = alcoholometry.mass_fraction_from_strength(strength)
    mass = alcoholometry.density_20(mass_fraction) * 1e-3
    return Lot(
        "made by hand",
        water=mass * (1.0 - mass_fraction),
        ethanol=mass * mass_fraction,
        amounts=amounts,
    )


def test_band_joins_level_and_threshold_as_independent() -> None:
    # Factor 2 of the level and factor 3 of the threshold: exp(hypot(ln 2, ln 3)) = 3.6657.
    lot = litre(0.4, {"isoamyl acetate": Amount(2e-6, 1e-6, 4e-6)})
    row = odour_profile(lot).rows[0]
    assert row.oav == pytest.approx(2.0 / 0.245, rel=1e-6)
    assert row.oav_high / row.oav == pytest.approx(3.6657, rel=1e-4)
    assert row.oav / row.oav_low == pytest.approx(3.6657, rel=1e-4)


def test_a_level_that_may_be_nothing_may_not_be_noticed() -> None:
    row = odour_profile(litre(0.4, {"vanillin": Amount(1e-6, 0.0, 2e-6)})).rows[0]
    assert row.oav_low == 0.0
    assert row.verdict == "perhaps noticed"
    none = odour_profile(litre(0.4, {"vanillin": Amount(0.0, 0.0, 0.0)})).rows[0]
    assert (none.oav, none.verdict) == (0.0, "not noticed")


def test_a_level_that_is_likely_nothing_but_may_be_some_has_a_finite_band() -> None:
    # As the median over draws of which most have none: the highest level over the lowest threshold.
    threshold = aroma.thresholds("vanillin").for_strength(0.4)
    assert threshold is not None
    profile = odour_profile(litre(0.4, {"vanillin": Amount(0.0, 0.0, 2e-3)}))
    row = profile.rows[0]
    assert (row.oav, row.oav_low) == (0.0, 0.0)
    assert row.oav_high == pytest.approx(2.0 / threshold.low, rel=1e-6)
    assert row.verdict == "perhaps noticed"
    json.dumps(profile.to_dict(), allow_nan=False)


@pytest.mark.parametrize(
    ("level", "verdict"), [(1e-3, "not noticed"), (1.0, "perhaps noticed"), (100.0, "noticed")]
)
def test_verdict_goes_by_the_whole_band(level: float, verdict: str) -> None:
    threshold = aroma.thresholds("isoamyl acetate").ethanol_40
    assert threshold is not None
    kg = level * threshold.typical * 1e-3
    row = odour_profile(litre(0.4, {"isoamyl acetate": Amount(kg, kg, kg)})).rows[0]
    assert row.verdict == verdict


def test_rows_and_families_are_sorted_and_add_up() -> None:
    amounts = {
        name: Amount(kg, kg, kg)
        for name, kg in {"limonene": 1e-6, "ethyl hexanoate": 2e-6, "octanal": 3e-7}.items()
    }
    found = odour_profile(litre(0.45, amounts))
    values = [row.oav for row in found.rows]
    assert values == sorted(values, reverse=True)
    assert math.fsum(one.oav for one in found.families) == pytest.approx(math.fsum(values))
    citrus = next(one for one in found.families if one.family == "citrus")
    assert set(citrus.compounds) == {"limonene", "octanal"}
    for one in found.families:
        assert 0.0 <= one.oav_low <= one.oav <= one.oav_high


def test_medium_is_told_and_goes_by_the_strength() -> None:
    amounts = {"ethyl hexanoate": Amount(1e-6, 1e-6, 1e-6), "hexanal": Amount(1e-6, 1e-6, 1e-6)}
    strong = {row.compound: row for row in odour_profile(litre(0.6, amounts)).rows}
    weak = {row.compound: row for row in odour_profile(litre(0.08, amounts)).rows}
    assert strong["ethyl hexanoate"].medium == "40 % vol"
    assert weak["ethyl hexanoate"].medium == "10 % vol"
    assert strong["hexanal"].medium == "water"
    assert strong["hexanal"].threshold_basis == "read"


def test_a_threshold_in_water_lengthens_the_band_downwards_in_spirit() -> None:
    # Hexanal, 4.5 to 5 µg/L in water, read. In the middle of 27 compounds 40 % vol asks 7 times.
    amounts = {"hexanal": Amount(1e-6, 1e-6, 1e-6)}
    spirit = odour_profile(litre(0.4, amounts)).rows[0]
    wash = odour_profile(litre(0.08, amounts)).rows[0]
    assert spirit.oav == pytest.approx(wash.oav)
    assert wash.oav_low / spirit.oav_low == pytest.approx(7.0)
    assert wash.oav_high == pytest.approx(spirit.oav_high)


def test_the_rise_over_water_is_the_middle_of_the_tables() -> None:
    found = [aroma.thresholds(name) for name in compounds.names()]
    water = [
        one.ethanol_40.typical / one.water.typical for one in found if one.ethanol_40 and one.water
    ]
    ten = [
        one.ethanol_40.typical / one.ethanol_10.typical
        for one in found
        if one.ethanol_40 and one.ethanol_10
    ]
    assert (len(water), len(ten)) == (27, 24)
    assert median(water) == pytest.approx(odour.RISE_OVER_WATER, rel=0.05)
    assert median(ten) == pytest.approx(1.0, abs=0.3)


def test_a_family_is_one_of_smell_where_there_is_one() -> None:
    row = odour_profile(litre(0.4, {"propanoic acid": Amount(1e-6, 1e-6, 1e-6)})).rows[0]
    assert row.family == "sour and cheese"


def test_what_has_no_threshold_is_named() -> None:
    found = odour_profile(
        litre(0.4, {name: Amount(1e-6, 0.0, 2e-6) for name in ("caffeine", "vanillin")})
    )
    assert found.without_threshold == ("caffeine",)
    assert [row.compound for row in found.rows] == ["vanillin"]


def test_twice_the_compound_is_twice_the_value() -> None:
    one = odour_profile(litre(0.4, {"linalool": Amount(1e-6, 5e-7, 2e-6)})).rows[0]
    two = odour_profile(litre(0.4, {"linalool": Amount(2e-6, 1e-6, 4e-6)})).rows[0]
    assert two.oav == pytest.approx(2.0 * one.oav)
    assert two.oav_low == pytest.approx(2.0 * one.oav_low)


def test_nothing_to_smell_is_refused() -> None:
    with pytest.raises(InputError, match="nothing to smell"):
        odour_profile(Lot("empty", water=0.0, ethanol=0.0))
    with pytest.raises(NotFoundError):
        odour_profile(litre(0.4, {"unobtainium": Amount(1.0, 1.0, 1.0)}))


def test_a_lot_without_compounds_has_an_empty_profile() -> None:
    found = odour_profile(Lot("water", water=1.0, ethanol=0.0))
    assert found.rows == ()
    assert found.families == ()
    assert found.to_frame().empty


def test_it_goes_to_json_and_to_a_table() -> None:
    found = odour_profile(litre(0.4, {"vanillin": Amount(1e-6, 5e-7, 2e-6, "read")}))
    again = json.loads(json.dumps(found.to_dict(), allow_nan=False))
    assert again["rows"][0]["descriptors"] == ["vanilla"]
    assert again["notes"]
    frame = found.to_frame()
    assert list(frame["compound"]) == ["vanillin"]
    assert frame["oav"][0] == pytest.approx(found.rows[0].oav)


def test_the_range_of_a_threshold_holds_every_figure_that_contradicts_it() -> None:
    # Vanillin (aroma.csv): 20 to 200 µg/L in water, 200 in 10 %vol, 22 in 40 %vol with an assumed
    # factor of 3: a threshold that falls with strength says how far panels differ.
    level = Amount(15e-6, 15e-6, 15e-6)
    spirit = odour_profile(litre(0.4, {"vanillin": level})).rows[0]
    assert spirit.threshold == pytest.approx(22e-3)
    assert spirit.threshold_high == pytest.approx(200e-3)
    assert spirit.oav_low == pytest.approx(15.0 / 200e-3, rel=1e-6)
    assert spirit.threshold_low == pytest.approx(22e-3 / 3.0)
    wash = odour_profile(litre(0.08, {"vanillin": level})).rows[0]
    assert wash.threshold_low == pytest.approx(22e-3)
    # What rises as it should is left as it is: isoamyl acetate 30 µg/L in 10 %, 245 in 40 %vol.
    ester = odour_profile(litre(0.4, {"isoamyl acetate": level})).rows[0]
    assert ester.threshold_low == pytest.approx(245e-3 / 3.0)
    assert ester.threshold_high == pytest.approx(245e-3 * 3.0)


def test_how_strong_goes_by_decades_over_the_whole_band() -> None:
    assert [odour.grade(one) for one in (0.9, 1.0, 10.0, 99.0, 100.0)] == [
        "not there", "gentle", "clear", "clear", "strong",
    ]  # fmt: skip
    row = odour_profile(litre(0.4, {"vanillin": Amount(15e-6, 15e-6, 15e-6)})).rows[0]
    assert row.graded == "clear to strong"
