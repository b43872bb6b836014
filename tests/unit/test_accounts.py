# SPDX-License-Identifier: MIT
"""The account builder: everything that came went somewhere, by name."""

from __future__ import annotations

import pytest

from middlecut.errors import BalanceError
from middlecut.steps.accounts import account_of, add_entries, substances_of
from middlecut.steps.lot import Amount, Lot
from middlecut.steps.result import Entry

WASH = Lot("wash", 9.0, 0.6, 0.3, {"ethyl acetate": Amount(2e-4, 1e-4, 5e-4, "read")})


def test_a_split_lot_closes() -> None:
    went = {"a": WASH.part(0.3, "a"), "b": WASH.part(0.7, "b")}
    account = account_of({"wash": WASH}, went).check("split")
    assert set(account.entries) == {"water", "ethanol", "solids", "ethyl acetate"}
    assert account.entries["ethyl acetate"].went["a"] == pytest.approx(6e-5, rel=1e-12)


def test_a_missing_gram_is_found() -> None:
    short = Lot("a", 9.0, 0.599, 0.3, WASH.amounts)
    with pytest.raises(BalanceError, match="account of ethanol"):
        account_of({"wash": WASH}, {"a": short}).check("leak")


def test_a_lost_compound_is_found() -> None:
    with pytest.raises(BalanceError, match="ethyl acetate"):
        account_of({"wash": WASH}, {"a": Lot("a", 9.0, 0.6, 0.3)}).check("leak")


def test_extra_entries_are_added_source_by_source() -> None:
    made = Lot("wash", 9.0, 0.6)
    account = account_of(
        {"wort": Lot("wort", 9.0, 0.0, 1.0)},
        {"wash": made},
        {
            "solids": Entry({}, {"ethanol": 0.6, "CO2": 0.4}),
            "ethanol": Entry({"made by yeast": 0.6}, {}),
        },
    ).check("ferment")
    assert account.entries["ethanol"].came == {"wort": 0.0, "made by yeast": 0.6}


def test_adding_entries_keeps_the_first_order_and_adds_same_names() -> None:
    total = add_entries(
        {"water": Entry({"a": 1.0}, {})}, {"water": Entry({"a": 2.0, "b": 1.0}, {})}
    )
    assert dict(total["water"].came) == {"a": 3.0, "b": 1.0}


def test_substances_start_with_the_bulk() -> None:
    assert substances_of([WASH]) == ("water", "ethanol", "solids", "ethyl acetate")


def test_the_account_is_plain_json() -> None:
    account = account_of({"wash": WASH}, {"wash": WASH})
    assert account.to_dict()["water"] == {"came": {"wash": 9.0}, "went": {"wash": 9.0}}
