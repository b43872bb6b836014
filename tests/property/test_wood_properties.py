# SPDX-License-Identifier: MIT
"""Wood makes no matter, and more of it, longer and warmer, never gives less."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from middlecut.liquid.evaporation import CLIMATES, YEAR
from middlecut.liquid.oak import SPECIES, TREATMENTS
from middlecut.steps.lot import Amount, Lot
from middlecut.steps.parameters import Take, Wood
from middlecut.steps.wood import wood

LOT = Lot("hearts", 6.0, 8.0, 0.01, {"vanillin": Amount(1e-6, 5e-7, 2e-6, "memory")})
PIECES = st.builds(
    Wood,
    id=st.just("w"),
    take=st.just(Take("hearts")),
    into=st.just("aged"),
    duration=st.floats(0.0, 1e8),
    form=st.sampled_from(("staves", "cubes", "chips", "shavings")),
    species=st.sampled_from(SPECIES),
    treatment=st.sampled_from(TREATMENTS),
    dose=st.floats(0.01, 100.0),
    temperature=st.floats(263.15, 308.15),
    earlier_fills=st.integers(0, 5),
)
CASKS = st.builds(
    Wood,
    id=st.just("w"),
    take=st.just(Take("hearts")),
    into=st.just("aged"),
    duration=st.floats(0.0, 5.0 * YEAR),
    form=st.just("cask"),
    species=st.sampled_from(SPECIES),
    treatment=st.sampled_from(TREATMENTS),
    cask_volume=st.floats(0.02, 0.5),
    climate=st.sampled_from(CLIMATES),
)
OAK = ("vanillin", "cis-whisky lactone", "vescalagin", "guaiacol")


def level(step: Wood, compound: str) -> float:
    """Return what came from the wood in all."""
    return wood(step, LOT).account.entries[compound].came["from the wood"]


@settings(max_examples=60, deadline=None)
@given(step=PIECES | CASKS)
def test_accounts_close_and_nothing_is_negative(step: Wood) -> None:
    result = wood(step, LOT)
    assert max(abs(entry.gap) for entry in result.account.entries.values()) <= 1e-9
    for entry in result.account.entries.values():
        assert min(*entry.came.values(), *entry.went.values()) >= 0.0
    for amount in result.made["aged"].amounts.values():
        assert 0.0 <= amount.low <= amount.typical <= amount.high
    for figure in result.figures:
        if figure.low is not None and figure.high is not None:
            # Equal ends may differ in the last digit.
            assert figure.low <= figure.value * (1.0 + 1e-9)
            assert figure.value <= figure.high * (1.0 + 1e-9)


@settings(max_examples=40, deadline=None)
@given(step=PIECES, longer=st.floats(1.0, 9.0), warmer=st.floats(0.0, 5.0))
def test_longer_and_warmer_never_give_less(step: Wood, longer: float, warmer: float) -> None:
    kelvin = step.temperature or 293.15
    for compound in OAK:
        first = level(step, compound)
        assert level(replace(step, duration=step.duration * longer), compound) >= first
        assert level(replace(step, temperature=kelvin + warmer), compound) >= first


@settings(max_examples=40, deadline=None)
@given(step=PIECES)
def test_twice_the_wood_gives_twice_the_extract(step: Wood) -> None:
    twice = replace(step, dose=2.0 * (step.dose or 0.0))
    for compound in OAK:
        # Rounding only.
        assert level(twice, compound) == pytest.approx(2.0 * level(step, compound), rel=1e-9)


@settings(max_examples=40, deadline=None)
@given(step=CASKS, smaller=st.floats(0.1, 1.0))
def test_a_smaller_cask_gives_and_loses_more(step: Wood, smaller: float) -> None:
    size = max((step.cask_volume or 0.02) * smaller, 0.02)
    small, large = wood(replace(step, cask_volume=size), LOT), wood(step, LOT)
    for name in ("vanillin", "vescalagin"):
        came = [result.account.entries[name].came["from the wood"] for result in (small, large)]
        assert came[0] >= came[1] * (1.0 - 1e-12)
    for name in ("water", "ethanol"):
        lost = [
            result.account.entries[name].went["evaporated to the air"] for result in (small, large)
        ]
        assert lost[0] >= lost[1] * (1.0 - 1e-12)
