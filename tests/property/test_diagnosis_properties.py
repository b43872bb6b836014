# SPDX-License-Identifier: MIT
"""Weighing of evidence and words: more never lowers, order does not matter."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from middlecut.insight.diagnose import table_fit
from middlecut.insight.diagnosis import Evidence
from middlecut.insight.evidence import together
from middlecut.insight.off_flavours import faults
from middlecut.insight.vocabulary import descriptors

WEIGHTS = st.lists(st.floats(-0.95, 0.95), max_size=8)
WORDS = st.sampled_from([one.name for one in descriptors()])
INTENSITY = st.floats(0.0, 10.0)


def pieces(weights: list[float]) -> list[Evidence]:
    return [Evidence("made up", weight, "") for weight in weights]


@given(WEIGHTS, st.floats(0.01, 0.95))
def test_one_more_piece_moves_its_cause_its_own_way(weights: list[float], more: float) -> None:
    before = together(pieces(weights))
    assert together(pieces([*weights, more])) >= before - 1e-12
    assert together(pieces([*weights, -more])) <= before + 1e-12
    assert together(pieces([*weights, 0.0])) == pytest.approx(before, abs=1e-12)


@given(WEIGHTS)
def test_evidence_stays_within_one_and_has_no_order(weights: list[float]) -> None:
    value = together(pieces(weights))
    assert -1.0 <= value <= 1.0
    assert together(pieces(weights[::-1])) == pytest.approx(value, abs=1e-12)


FOUND = st.sampled_from([one for one in faults() if not one.lost])
"""Of a lost flavour it is the other way about: the weaker its note, the better it fits."""


@given(FOUND, st.dictionaries(WORDS, INTENSITY, max_size=5), WORDS, INTENSITY)
def test_a_stronger_or_further_word_never_lowers_the_fit(
    fault: object, found: dict[str, float], word: str, more: float
) -> None:
    from middlecut.insight.off_flavours import Fault

    assert isinstance(fault, Fault)
    before, _ = table_fit(fault, found)
    stronger = {**found, word: max(more, found.get(word, 0.0))}
    after, words = table_fit(fault, stronger)
    assert 0.0 <= before <= after + 1e-12 <= 1.0 + 1e-12
    assert set(words) <= set(stronger)


@given(FOUND, st.floats(0.1, 10.0))
def test_the_own_first_word_fits_best(fault: object, value: float) -> None:
    from middlecut.insight.off_flavours import Fault

    assert isinstance(fault, Fault)
    own, _ = table_fit(fault, {fault.descriptors[0]: value})
    for word in fault.descriptors[1:]:
        assert table_fit(fault, {word: value})[0] < own


@given(st.sampled_from([one for one in faults() if one.lost]), st.lists(INTENSITY, min_size=2))
def test_more_of_a_note_never_says_that_it_was_lost(fault: object, values: list[float]) -> None:
    from middlecut.insight.off_flavours import Fault

    assert isinstance(fault, Fault)
    fits = [table_fit(fault, {fault.descriptors[0]: value})[0] for value in sorted(values)]
    assert fits == sorted(fits, reverse=True)
