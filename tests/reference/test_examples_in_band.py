# SPDX-License-Identifier: MIT
"""Published batch distillations lie inside the band of their prediction (sources in data/)."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from examples_in_band import Example, coulson_richardson, examples

from middlecut.errors import PlanError

WIDEST = {
    # What the inputs leave open, from 5 to 95 %; a wider band would prove nothing.
    ("Perry", "strength of the distillate"): 0.6,
    ("Perry", "ethanol over, % of the charge's"): 5.0,
    ("Coulson and Richardson", "strength at the start"): 1.8,
    ("Coulson and Richardson", "strength at the end"): 1.5,
    ("Seader and Henley", "highest strength at total reflux"): 2.2,
    ("Whisky handbook", "low wines of a wash of 8 %"): 4.0,
    ("Whisky handbook", "heads, % of the charge"): 9.0,
    ("Whisky handbook", "middle cut, % of the charge"): 4.5,
}


@pytest.mark.parametrize("place", range(len(WIDEST)), ids=[" ".join(key) for key in WIDEST])
def test_an_example_lies_inside_a_band_that_is_not_just_wide(place: int) -> None:
    found: Example = examples()[place]
    assert found.inside, found
    assert found.low < found.typical < found.high
    assert found.width <= WIDEST[found.source, found.what], found


def test_where_practice_prints_a_range_the_prediction_lies_in_it() -> None:
    ranges = [one for one in examples() if one.printed[0] < one.printed[1]]
    assert ranges
    for one in ranges:
        assert one.printed[0] <= one.typical <= one.printed[1]


def test_two_plates_too_few_leave_the_band() -> None:
    # One too few does not: this column works close to the pinch, where a plate tells little.
    with pytest.raises(PlanError, match=r"starts at 91\.3 %vol"):  # the printed end is 91.7 % vol
        coulson_richardson(plates=2)


def test_the_page_says_what_is_computed() -> None:
    page = Path(__file__).parents[2] / "docs" / "validation" / "examples.md"
    text = page.read_text(encoding="utf-8")
    for one in examples():
        assert f"| {one.source} | {one.what} |" in text
        assert f"| {one.typical:.1f} | {one.low:.1f} to {one.high:.1f} | {one.width:.1f} |" in text
