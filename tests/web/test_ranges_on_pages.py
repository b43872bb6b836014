# SPDX-License-Identifier: MIT
"""Pages show the plain prediction at once, and ranges beside it once they are worked out."""

from __future__ import annotations

import json
import re
import threading
from dataclasses import replace

import pytest
from bench_plan import PLAN, begin
from visitor import Visitor, check_page

from middlecut.app.expectation import StillFit, expect, read_plan
from middlecut.app.ranges import KnownRanges, Ranges
from middlecut.app.record import Record
from middlecut.app.use_cases import open_batch
from middlecut.app.views.frame import step_frame
from middlecut.app.views.jar_table import jar_view
from middlecut.errors import InputError
from middlecut.insight.ensemble import predict_bands
from middlecut.plan.prediction import Prediction
from middlecut.steps.band import Band, LotBand
from middlecut.units import format_quantity
from middlecut.web.application import create_app
from middlecut.web.services import Services

WAITING = "Ranges are being worked out"


def around(value: float, share: float) -> Band:
    return Band(value * (1.0 - share), value, value * (1.0 + share), 1.0)


def bands(text: str, fits: tuple[StillFit, ...]) -> Prediction:
    """Return a prediction with lots 10 % to either side; of pure alcohol none."""
    found = predict_bands(read_plan(text), 20, 0, workers=1)
    lots = {
        name: replace(
            lot,
            band=LotBand(
                around(lot.volume, 0.1),
                around(lot.strength, 0.1),
                around(lot.pure_alcohol, 0.0),
                {},
            ),
        )
        for name, lot in expect(text, fits).lots.items()
    }
    steps = {
        name: replace(one, made={made: lots[made] for made in one.made})
        for name, one in found.steps.items()
    }
    return replace(found, lots=lots, steps=steps)


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

    def work(text: str, fits: tuple[StillFit, ...]) -> Prediction:
        gate.wait(10.0)
        return bands(text, fits)

    ranges = Ranges(work)
    visitor = Visitor(create_app(Services(record, ranges=ranges)))
    lot = expect(PLAN).lots["low wines"]
    low, high = (format_quantity(at * lot.volume, "volume") for at in (0.9, 1.1))
    unit = high.partition(" ")[2]
    assert low.endswith(unit)
    number = low.removesuffix(unit).strip()
    shown = format_quantity(lot.volume, "volume")
    volume = f'{shown} <span class="between">({number}–{high.removesuffix(unit).strip()})</span>'
    pages = {
        "": f"/batch/{batch}?by=volume&amp;still=measured",
        "/step/strip": "",
        "/book": "",
        "/sheet": "",
    }
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
    def work(text: str, fits: tuple[StillFit, ...]) -> Prediction:
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


@pytest.fixture
def ranged(record: Record) -> Visitor:
    """Return a visitor to pages whose ranges are worked out at the first look."""

    class AtOnce(Ranges):
        def of(self, text: str, fits: tuple[StillFit, ...] = ()) -> KnownRanges:
            super().of(text, fits)
            self.wait()
            return super().of(text, fits)

    return Visitor(create_app(Services(record, ranges=AtOnce(bands))))


def test_the_curve_of_a_run_has_its_band(visitor: Visitor, ranged: Visitor, batch: str) -> None:
    address = f"/batch/{batch}/step/run"
    assert "nine in ten draws" not in visitor.get(address).text
    page = ranged.get(address)
    check_page(page)
    data = re.search(r'id="run-data">(.*?)</script>', page.text, re.DOTALL)
    assert data is not None
    lines = {one["name"]: one for one in json.loads(data[1])["series"]}
    line, band = lines["predicted"], lines["nine in ten draws"]
    inside = [
        low <= dict(zip(line["x"], line["y"], strict=True))[x] <= high
        for x, low, high in zip(band["x"], band["low"], band["high"], strict=True)
    ]
    # The plain prediction is no median: a few points may lie outside of twenty draws.
    assert sum(inside) > 0.8 * len(inside)
    assert len(inside) > 0.5 * len(line["x"])
    assert page.text.count('<polygon class="band ink-0"') == 1
    section = page.text[page.text.index("What to look for") :]
    assert section.index('class="between"') < section.index("</table>")
    assert "Ranges of the jars" in section


def test_the_run_sheet_has_ranges_and_says_how_sure_it_is(
    visitor: Visitor, ranged: Visitor, batch: str
) -> None:
    plain = visitor.get(f"/batch/{batch}/sheet").text
    assert "How sure this is" not in plain
    page = ranged.get(f"/batch/{batch}/sheet")
    check_page(page)
    for words in ("How sure this is", "of 20 draws", "Ranges of the jars", "nine in ten draws"):
        assert words in page.text


def test_jars_stand_beside_what_is_expected_in_them(record: Record, ranged: Visitor) -> None:
    batch = begin(record)
    page = ranged.get(f"/batch/{batch}/step/run/jars")
    check_page(page)
    table = page.text[page.text.index("Strength of the jars") :]
    table = table[: table.index("</table>")]
    frame = step_frame(record.batch(batch), "run")
    rows = jar_view(frame).rows
    assert rows
    for row in rows:
        assert row.expected is not None
        assert row.band is None  # without ranges
        assert format_quantity(row.expected, "strength") in table
    assert table.count('class="between"') == len(rows)


def test_compared_batches_have_ranges_and_bands(
    record: Record, ranged: Visitor, batch: str
) -> None:
    other = open_batch(record, PLAN.replace('"10 L"\ngravity', '"9 L"\ngravity'))
    page = ranged.get(f"/compare?batch={batch}&batch={other}")
    check_page(page)
    table = page.text[page.text.index("What the last lot comes to") :]
    table = table[: table.index("</table>")]
    assert table.count('class="between"') >= 4  # volume and strength of both, at least
    assert page.text.count('<polygon class="band') == 2
    assert page.text.count("nine in ten draws</li>") == 2
