# SPDX-License-Identifier: MIT
from __future__ import annotations

import pytest

from middlecut.errors import MiddlecutError, NotFoundError
from middlecut.liquid import compounds, volatility
from middlecut.liquid.compounds import bulk_markers, find, names, volatile_names


@pytest.mark.parametrize(
    ("asked", "name"),
    [
        ("isoamyl alcohol", "3-methyl-1-butanol"),
        ("  Isoamyl   ALCOHOL ", "3-methyl-1-butanol"),
        ("123-51-3", "3-methyl-1-butanol"),
        ("2-methyl-1-propanol (isobutanol)", "isobutanol"),
        ("ethyl butyrate", "ethyl butanoate"),
        ("β-damascenone", "beta-damascenone"),
        ("d-limonene", "limonene"),
        ("5989-27-5", "limonene"),  # d-limonene by its own number
        ("14371-10-9", "cinnamaldehyde"),  # the trans isomer by its own number
        ("TCA", "2,4,6-trichloroanisole"),
        ("acetal (1,1-diethoxyethane)", "acetal"),
    ],
)
def test_find_knows_synonyms_and_numbers(asked: str, name: str) -> None:
    assert find(asked).name == name


def test_every_name_and_number_finds_itself() -> None:
    for name in names():
        compound = find(name)
        assert compound.name == name
        assert find(compound.cas) is compound
        assert all(find(synonym) is compound for synonym in compound.synonyms)


def test_no_key_names_two_compounds() -> None:
    keys = [
        compounds._key(text)
        for name in names()
        for text in {find(name).name, find(name).cas, *find(name).synonyms}
    ]
    assert len(keys) == len(set(keys))


def test_unknown_name_says_which_are_near() -> None:
    with pytest.raises(NotFoundError) as caught:
        find("vanilin")
    assert caught.value.near[0] == "vanillin"
    assert isinstance(caught.value, MiddlecutError)
    assert "vanilin" in str(caught.value)


def test_unknown_name_with_nothing_near() -> None:
    with pytest.raises(NotFoundError) as caught:
        find("zzzz")
    assert caught.value.near == ()


def test_ethanol_and_water_are_no_dilute_compounds() -> None:
    for name in ("ethanol", "water", "7732-18-5"):
        with pytest.raises(NotFoundError):
            find(name)


def test_units_are_si() -> None:
    methanol = find("methanol")
    assert methanol.molar_mass == pytest.approx(0.03204, abs=1e-5)  # kg/mol
    assert methanol.boiling_point == pytest.approx(337.7, abs=0.2)  # K, 64.5 °C


def test_bases_are_from_the_closed_list() -> None:
    assert {find(name).basis for name in volatile_names()} == {"library", "memory"}
    assert {find(name).basis for name in names() if find(name).nonvolatile} == {""}
    assert {find(name).log_p_basis for name in names()} == {"library", "memory"}


def test_cas_numbers_have_right_check_digits() -> None:
    for name in names():
        digits = find(name).cas.replace("-", "")
        weights = range(1, len(digits))
        total = sum(int(d) * w for d, w in zip(reversed(digits[:-1]), weights, strict=True))
        assert total % 10 == int(digits[-1]), name


def test_there_are_at_least_170_compounds() -> None:
    assert len(names()) >= 170
    assert len(volatile_names()) >= 150


@pytest.mark.parametrize(
    "name", ["caffeine", "chlorogenic acid", "naringin", "ellagitannins", "citric acid"]
)
def test_what_never_distils_says_why_and_has_no_volatility(name: str) -> None:
    compound = find(name)
    assert compound.nonvolatile
    assert compound.boiling_point is None
    assert compound.name not in volatile_names()
    for refuse in (
        lambda: volatility.grade(name),
        lambda: volatility.k_value(name, 0.1, 101325.0),
        lambda: volatility.k_table((name,), 101325.0),
    ):
        with pytest.raises(NotFoundError, match="stays in the boiler"):
            refuse()


def test_what_distils_has_a_boiling_point() -> None:
    assert all(find(name).boiling_point for name in volatile_names())


@pytest.mark.parametrize(
    ("marker", "name"),
    [  # as the ingredients call them
        ("furaneol (HDMF)", "furaneol"),
        ("5-caffeoylquinic acid (chlorogenic acid)", "chlorogenic acid"),
        ("ellagitannins (as vescalagin)", "vescalagin"),
        ("gamma-irone", "gamma-irone"),
        ("93-28-7", "eugenyl acetate"),
    ],
)
def test_markers_of_ingredients_are_found(marker: str, name: str) -> None:
    assert find(marker).name == name


def test_sums_of_compounds_are_no_compounds() -> None:
    assert "cocoa butter (fat)" in bulk_markers()
    for marker, what in bulk_markers().items():
        assert what
        with pytest.raises(NotFoundError):
            find(marker)
