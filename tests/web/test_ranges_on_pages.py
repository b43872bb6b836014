# SPDX-License-Identifier: MIT
"""Pages show the plain prediction at once, and ranges beside it once they are worked out."""

from __future__ import annotations

import threading
from collections.abc import Mapping

import pytest
from bench_plan import PLAN
from visitor import Visitor, check_page

from middlecut.app.expectation import StillFit, expect
from middlecut.app.ranges import Ranges
from middlecut.app.record import Record
from middlecut.app.use_cases import open_batch
from middlecut.errors import InputError
from middlecut.steps.band import Band, LotBand
from middlecut.units import format_quantity
from middlecut.web.application import create_app
from middlecut.web.services import Services

WAITING = "Ranges are being worked out"


def around(value: float, share: float) -> Band:
    return Band(value * (1.0 - share), value, value * (1.0 + share), 1.0)


def bands(text: str, fits: tuple[StillFit, ...]) -> Mapping[str, LotBand]:
    """Return ranges 10 % to either side; of pure alcohol none."""
    return {
        name: LotBand(
            around(lot.volume, 0.1), around(lot.strength, 0.1), around(lot.pure_alcohol, 0.0), {}
        )
        for name, lot in expect(text, fits).lots.items()
    }


@pytest.fixture
def batch(record: Record) -> str:
    return open_batch(record, PLAN)


def test_without_ranges_nothing_is_said(visitor: Visitor, batch: str) -> None:
    for page in ("", "/step/run"):
        text = visitor.get(f"/batch/{batch}{page}").text
        assert WAITING not in text
        assert "In brackets" not in text


def test_plain_first_then_with_ranges(record: Record, batch: str) -> None:
    gate = threading.Event()

    def work(text: str, fits: tuple[StillFit, ...]) -> Mapping[str, LotBand]:
        gate.wait(10.0)
        return bands(text, fits)

    ranges = Ranges(work)
    visitor = Visitor(create_app(Services(record, ranges=ranges)))
    lot = expect(PLAN).lots["low wines"]
    low, high = (format_quantity(at * lot.volume, "volume") for at in (0.9, 1.1))
    unit = high.partition(" ")[2]
    assert low.endswith(unit)
    number = low.removesuffix(unit).strip()
    volume = f"{format_quantity(lot.volume, 'volume')} ({number}–{high.removesuffix(unit).strip()})"
    pages = {"": f"/batch/{batch}?by=volume&amp;still=measured", "/step/strip": "", "/book": ""}
    for page, again in pages.items():
        answer = visitor.get(f"/batch/{batch}{page}")
        check_page(answer)
        assert WAITING in answer.text
        assert format_quantity(lot.volume, "volume") in answer.text
        assert f'href="{again or f"/batch/{batch}{page}"}">Look again' in answer.text
        assert volume not in answer.text
    gate.set()
    ranges.wait()
    for page in pages:
        answer = visitor.get(f"/batch/{batch}{page}")
        check_page(answer)
        assert WAITING not in answer.text
        assert volume in answer.text
        assert "nine in ten draws" in answer.text
        if page == "/book":  # pure alcohol stands elsewhere there
            continue
        # A number that nothing moves has no brackets.
        assert f'<td class="number">{format_quantity(lot.pure_alcohol, "pure_alcohol")}</td>' in (
            answer.text
        )


def test_failures_leave_the_plain_prediction(record: Record, batch: str) -> None:
    def work(text: str, fits: tuple[StillFit, ...]) -> Mapping[str, LotBand]:
        raise InputError("draws", "1 of 200 draws", "hardly any draw reached the end")

    ranges = Ranges(work)
    visitor = Visitor(create_app(Services(record, ranges=ranges)))
    visitor.get(f"/batch/{batch}")
    ranges.wait()
    answer = visitor.get(f"/batch/{batch}")
    check_page(answer)
    assert "Ranges could not be worked out" in answer.text
    assert "hardly any draw" in answer.text
    assert WAITING not in answer.text
