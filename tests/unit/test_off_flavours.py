# SPDX-License-Identifier: MIT
"""The table of faults is whole: every word, compound, test and remedy in it is known."""

from __future__ import annotations

import pytest

from middlecut.errors import NotFoundError
from middlecut.insight.evidence import TESTS, UNKNOWN
from middlecut.insight.off_flavours import fault, faults
from middlecut.insight.remedies import KINDS
from middlecut.insight.vocabulary import find_descriptor
from middlecut.liquid import compounds
from middlecut.liquid.sources import flavour_sources
from middlecut.units import parse_quantity

DIMENSIONS = {
    "late-tails": "strength",
    "long-contact": "duration",
    "load": "mass_concentration",
    "small-heads": "fraction",
    "warm-ferment": "temperature",
    "old-wash": "duration",
    "weak-bottle": "strength",
    "strong-bottle": "strength",
    "strong-hearts": "strength",
    "high-power": "fraction",
    "earlier-tails": "strength",
    "stronger-bottle": "strength",
    "shorter-contact": "duration",
    "shorter-steep": "duration",
}


def test_there_are_the_rows_that_were_promised() -> None:
    # Issue 3, section 6: at least 56 rows.
    assert len(faults()) >= 56
    names = [one.name for one in faults()]
    assert sorted(set(names)) == sorted(names)


def test_every_word_and_compound_is_known_by_its_own_name() -> None:
    for one in faults():
        assert one.descriptors, one.name
        assert [find_descriptor(word).name for word in one.descriptors] == list(one.descriptors)
        assert [compounds.find(name).name for name in one.compounds] == list(one.compounds)
        assert one.compounds or one.other_compounds, one.name
        assert [compounds.find(name).name for name in one.lost] == list(one.lost)
        # What is missed cannot be what is found.
        assert not set(one.lost) & set(one.compounds), one.name


def test_every_test_and_remedy_exists_and_its_limit_has_its_unit() -> None:
    for one in faults():
        for call in (*one.tests, *one.remedies):
            assert call.name in TESTS or call.name in KINDS, call
            if call.name == "not-known":
                assert call.limit in UNKNOWN
            elif call.name in DIMENSIONS and call.limit:
                assert parse_quantity(call.limit, DIMENSIONS[call.name]) > 0.0
        assert all(call.name in TESTS for call in one.tests)
        assert all(call.name in KINDS for call in one.remedies)


def test_every_test_and_remedy_is_used() -> None:
    tests = {call.name for one in faults() for call in one.tests}
    kinds = {call.name for one in faults() for call in one.remedies}
    assert (set(TESTS) - tests, set(KINDS) - kinds) == (set(), set())
    assert set(UNKNOWN) == {
        call.limit for one in faults() for call in one.tests if call.name == "not-known"
    }


def test_every_row_says_what_it_rests_on_and_what_to_do() -> None:
    known = {"read", "read-abstract", "computed", "memory", "estimate", "common practice"}
    for one in faults():
        assert one.basis in known, one.name
        assert one.advice, one.name
        assert one.cause, one.name
        if one.source != "own":
            assert flavour_sources(one.source), one.name
        else:
            assert one.basis == "estimate", one.name


def test_an_unknown_fault_offers_near_names() -> None:
    with pytest.raises(NotFoundError) as caught:
        fault("coffee")
    assert "coffee-bitter" in caught.value.near
