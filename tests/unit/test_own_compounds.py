# SPDX-License-Identifier: MIT
"""Compounds of the user's own: what a section may say, what is refused, what follows."""

from __future__ import annotations

import copy
import pickle
from pathlib import Path

import pytest

from middlecut.errors import InputError, NotFoundError
from middlecut.liquid import aroma, compounds, extraction, ingredients, partition, volatility
from middlecut.liquid.own_compounds import clashes, own_compound
from middlecut.liquid.own_ingredients import own_ingredient, read_library
from middlecut.liquid.own_names import OwnCompound, OwnName, unknown_name

LACTONE: dict[str, object] = {
    "formula": "C8H14O2",
    "log_p": 2.1,
    "boiling_point": "215 °C",
    "air_water": "0,0007",
    "descriptor": "coconut, hay",
    "synonyms": "hay lactone",
    "threshold": {
        "water": "20 µg/L",
        "spirit": {"low": "20 µg/L", "typical": "60 µg/L", "high": "200 µg/L"},
    },
}
PRESSURE = 101325.0


def lactone(**changed: object) -> OwnCompound:
    return own_compound("meadow lactone", {**LACTONE, **changed})


def without(*keys: str) -> dict[str, object]:
    return {key: value for key, value in LACTONE.items() if key not in keys}


def test_a_section_is_read_in_si() -> None:
    found = lactone()
    # C 12.011, H 1.008, O 15.999 (IUPAC standard atomic weights): 142.198 g/mol
    assert found.molar_mass == pytest.approx(0.142198, abs=1e-6)
    assert found.boiling_point == pytest.approx(488.15)
    # 1/(K_aw R T) with R = 8.314463 J/(mol K), T = 298.15 K
    assert found.henry == pytest.approx(1.0 / (0.0007 * 8.314463 * 298.15), rel=1e-6)
    spirit = next(one for one in found.thresholds if one.medium == "40 % vol")
    assert (spirit.low, spirit.typical, spirit.high) == pytest.approx((2e-5, 6e-5, 2e-4))


@pytest.mark.parametrize("text", ["0.576 mol/(m3 Pa)", "0.576 mol/(m³ Pa)", "0,576 mol/(m3·Pa)"])
def test_a_henry_constant_may_stand_instead(text: str) -> None:
    assert own_compound("x", {**without("air_water"), "henry": text}).henry == pytest.approx(0.576)


def test_the_tables_know_it_by_the_name_that_carries_it() -> None:
    name = lactone().label
    known = aroma.thresholds(name)
    assert known.for_strength(0.4) is not None
    assert known.for_strength(0.4).typical == pytest.approx(6e-5)  # type: ignore[union-attr]
    # no number for 10 % vol: the one in water is taken, a factor 3 either way as for the table's
    weak = known.for_strength(0.1)
    assert weak is not None
    assert (weak.medium, weak.spread) == ("water", "assumed")
    assert weak.low == pytest.approx(2e-5 / 3)
    assert partition.henry(name).quality == "C"
    assert partition.air_water_partition(name, 298.15) == pytest.approx(0.0007, rel=1e-6)
    assert compounds.find(name).name == "meadow lactone"
    assert aroma.water_solubility(name).value == pytest.approx(0.142198e3 * 10**-1.6, rel=1e-4)
    # fat of 920 kg/m3 holds it as octanol does, log P 2.1
    held = extraction.solid_liquid_partition(name, 0.1, 0.0)
    assert held == pytest.approx(0.1 / 920.0 * 10**2.1, rel=0.03)


def test_plain_text_finds_it_only_among_the_own() -> None:
    found = lactone()
    for text in ("Meadow  Lactone", "hay lactone"):
        assert compounds.find(text, [found]).own == found
    with pytest.raises(NotFoundError):
        compounds.find("meadow lactone")
    with pytest.raises(NotFoundError, match="meadow lactone"):
        compounds.find("medow lactone", [found])
    assert "meadow lactone" in compounds.names([found])


def test_names_are_text_but_never_taken_for_each_other() -> None:
    one, other = lactone(), lactone(air_water=0.07)
    levels: dict[str, int] = {one.label: 1}
    assert levels["meadow lactone"] == 1
    assert one.label != other.label
    assert one.label != unknown_name("meadow lactone")
    for again in (pickle.loads(pickle.dumps(one.label)), copy.deepcopy(one.label)):  # noqa: S301
        assert isinstance(again, OwnName)
        assert again == one.label
    # the same text, asked in turn: no cache may give the answer of the other
    ratio = [volatility.k_table((c.label,), PRESSURE).values[0, 0] for c in (one, other, one)]
    assert ratio[0] == ratio[2]
    assert ratio[1] / ratio[0] > 10.0


def test_a_name_that_nobody_describes_stays_and_smells_of_nothing() -> None:
    name = own_ingredient("x", {"markers": {"mystery": "5 mg/kg"}}).markers[0].compound
    assert aroma.thresholds(name).water is None
    with pytest.raises(NotFoundError, match="nothing else is known"):
        volatility.grade(name)


@pytest.mark.parametrize(
    ("given", "grade", "basis", "factor"),
    [
        # the factors are those measured against the table, see tests/property
        (without("air_water"), "D", "estimated", (3.0, 4.5)),
        (LACTONE, "C", "anchored", (2.0, 3.0)),
        (without("boiling_point"), "D", "anchored", (3.0, 4.5)),
        ({**without("boiling_point"), "henry_slope": 6000}, "C", "anchored", (2.0, 3.5)),
        ({**without("air_water"), "k": {"10 %vol": 20}}, "B", "measured", (1.8, 2.7)),
        (
            {**LACTONE, "k": {"10 %vol": 20}, "relative_volatility": {"70 %vol": 0.2}},
            "B",
            "measured",
            (1.3, 1.8),
        ),
    ],
)
def test_grade_and_factor_follow_from_what_is_given(
    given: dict[str, object], grade: str, basis: str, factor: tuple[float, float]
) -> None:
    found = volatility.grade(own_compound("x", given).label)
    assert (found.grade, found.basis) == (grade, basis)
    assert factor[0] <= found.factor <= factor[1]


def test_measured_volatilities_are_met() -> None:
    told = {
        **without("air_water"),
        "k": {"10 %vol": 20},
        "relative_volatility": {"70 %vol": 0.2},
    }
    name = own_compound("x", told).label
    from middlecut.liquid.alcoholometry import mole_fraction_from_strength

    weak, strong = (float(mole_fraction_from_strength(value)) for value in (0.1, 0.7))
    # each is taken as good to a factor 1.3, so that the line may miss it by a part of that
    assert volatility.k_value(name, weak, PRESSURE) == pytest.approx(20.0, rel=0.15)
    assert volatility.relative_volatility(name, strong, PRESSURE) == pytest.approx(0.2, rel=0.15)


def test_what_stays_in_the_boiler_needs_no_more() -> None:
    told = {"molar_mass": "320 g/mol", "stays_in_boiler": True}
    found = compounds.find(own_compound("root bitter", told).label)
    assert found.nonvolatile
    with pytest.raises(NotFoundError, match="stays in the boiler"):
        volatility.grade(found.name)


@pytest.mark.parametrize(
    ("changed", "field", "words"),
    [
        ({"lop_p": 2}, "lop_p", "the keys are"),
        ({"log_p": None}, "log_p", "is needed"),
        ({"log_p": 40}, "log_p", "allowed is -6 to 15"),
        ({"formula": None}, "molar_mass", "a molar_mass or a formula"),
        ({"formula": "C8Xx2"}, "formula", "a formula of H"),
        ({"molar_mass": "150 g/mol"}, "molar_mass", "142.2"),
        ({"molar_mass": "142.2 g"}, "molar_mass", "a mass per mol"),
        ({"boiling_point": None, "air_water": None}, "boiling_point", "is needed to follow"),
        ({"boiling_point": "2150 °C"}, "boiling_point", "allowed is"),
        ({"henry": "0.6"}, "air_water", "same in another way"),
        ({"air_water": None, "henry": "0.6 mol/L"}, "henry", "an amount per volume"),
        ({"air_water": -1}, "air_water", "allowed is"),
        ({"k": 12}, "k", "a table of strengths"),
        ({"k": {"10 %mass": 12}}, "k", "%vol is wanted"),
        ({"k": {"10 %vol": 0}}, "k", "allowed is 0.000001"),
        ({"relative_volatility": {"0 %vol": 3}}, "relative_volatility", "from 0.1 to 96 %vol"),
        ({"threshold": "20 µg/L"}, "threshold", "by medium"),
        ({"threshold": {"vodka": "20 µg/L"}}, "threshold", "the media are water, wash"),
        ({"threshold": {"water": {"low": "1 µg/L"}}}, "threshold", "low, typical and high"),
        ({"stays_in_boiler": True}, "stays_in_boiler", "boiling_point says that it distils"),
        ({"log_p": 15, "air_water": None}, "boiling_point", "times as rich"),
        ({"stays_in_boiler": 3}, "stays_in_boiler", "true, false or the reason"),
        ({"cas": "78-70-6"}, "cas", "'linalool'"),
        ({"synonyms": ["eucalyptol"]}, "synonyms", "1,8-cineole"),
        ({"synonyms": [3]}, "synonyms", "a list of words"),
        ({"descriptor": 4}, "descriptor", "a short text"),
    ],
)
def test_what_cannot_be_used_is_named(changed: dict[str, object], field: str, words: str) -> None:
    told = {key: value for key, value in {**LACTONE, **changed}.items() if value is not None}
    with pytest.raises(InputError) as caught:
        own_compound("meadow lactone", told)
    assert caught.value.field == field
    assert words in caught.value.allowed


def test_a_blank_name_is_refused() -> None:
    with pytest.raises(InputError, match="needs a name"):
        own_compound(" ", LACTONE)


@pytest.mark.parametrize("name", ["linalool", "Eucalyptol", "water", "ethanol", "78-70-6"])
def test_a_name_of_the_table_is_refused(name: str) -> None:
    with pytest.raises(InputError, match="goes by that"):
        own_compound(name, LACTONE)


def test_two_that_share_a_key_clash() -> None:
    assert clashes([lactone(), own_compound("Hay Lactone", without("synonyms"))]) == {
        "Hay Lactone": "meadow lactone"
    }


LIBRARY = """
[ingredient."sweet grass"]
like = "chamomile"
markers = { "Meadow lactone" = "60 mg/kg" }

[compound."meadow lactone"]
formula = "C8H14O2"
log_p = 2.1
boiling_point = "215 °C"
"""


def test_a_library_holds_compounds_too(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(LIBRARY, encoding="utf-8")
    library = read_library(path)
    assert [one.name for one in library.compounds] == ["meadow lactone"]
    marker = next(m for m in library[0].markers if m.compound == "meadow lactone")
    assert isinstance(marker.compound, OwnName)
    assert ingredients.search("meadow", library) == tuple(library)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("log_p = 2.1", "logp = 2.1", "compound.meadow lactone.logp"),
        ('[compound."meadow lactone"]', "[compound]\nx = 1\n[other]", "sections only"),
        (LIBRARY, "compound = 3", "a section is wanted"),
        (LIBRARY, "[compound]\nx = 3", "each compound is a table"),
        ("log_p", 'synonyms = "b"\nlog_p', ""),
    ],
)
def test_a_library_that_cannot_be_used_is_named(
    tmp_path: Path, old: str, new: str, words: str
) -> None:
    path = tmp_path / "bad.toml"
    path.write_text(LIBRARY.replace(old, new), encoding="utf-8")
    if not words:
        assert read_library(path).compounds[0].synonyms == ("b",)
        return
    with pytest.raises(InputError) as caught:
        read_library(path)
    assert "bad.toml" in str(caught.value)
    assert words in str(caught.value)
