# SPDX-License-Identifier: MIT
"""The second shape of a tasting: intensities by descriptor, and who tasted."""

from __future__ import annotations

import math
from datetime import UTC, datetime

import pytest

from middlecut.app.batch import fresh
from middlecut.app.codec import decode_body, encode_body
from middlecut.app.decide_spirit import SPIRIT_CHECKS
from middlecut.app.demo import _jar_tastings, _tastings
from middlecut.app.spirit_events import Phase, TastingMade
from middlecut.errors import InputError, OutOfRangeError, StoreError
from middlecut.insight.vocabulary import find_descriptor

MOMENT = datetime(2027, 3, 1, tzinfo=UTC)
check = SPIRIT_CHECKS[TastingMade]


def test_a_tasting_of_the_first_shape_is_read() -> None:
    old = {
        "subject": "hearts",
        "phases": [{"phase": "palate", "descriptors": ["pear"], "strength": 3}],
        "text": "good",
        "code": "K3",
        "score": 71.5,
        "step": None,
    }
    body = decode_body("tasting.made", 1, old)
    assert body == TastingMade("hearts", (Phase("palate", ("pear",), 3),), "good", "K3", 71.5)
    assert decode_body("tasting.made", 2, encode_body(body)) == body


def test_a_damaged_tasting_of_the_first_shape_is_told() -> None:
    with pytest.raises(StoreError, match="damaged"):
        decode_body("tasting.made", 1, {"subject": "x", "phases": ["nose"]})


@pytest.mark.parametrize(
    ("phase", "error"),
    [
        (Phase("nose", ("pear", "honey"), None, (3.0,)), InputError),
        (Phase("nose", ("pear",), None, (10.1,)), OutOfRangeError),
        (Phase("nose", ("pear",), None, (-0.1,)), OutOfRangeError),
        (Phase("nose", ("pear",), None, (math.nan,)), OutOfRangeError),
        (Phase("nose", (), None, (), "x" * 20_001), InputError),
    ],
)
def test_a_phase_that_cannot_be_is_refused(phase: Phase, error: type[Exception]) -> None:
    with pytest.raises(error):
        check(fresh("b"), TastingMade("hearts", (phase,)), MOMENT)


def test_the_demo_tastes_in_words_of_the_vocabulary() -> None:
    bodies = [fact.body for fact in (*_tastings(MOMENT), *_jar_tastings(MOMENT))]
    assert len({body.taster for body in bodies if isinstance(body, TastingMade)}) == 2
    for body in bodies:
        assert isinstance(body, TastingMade)
        check(fresh("b"), body, MOMENT)
        for phase in body.phases:
            assert [find_descriptor(word).name for word in phase.descriptors] == list(
                phase.descriptors
            )
