# SPDX-License-Identifier: MIT
"""Pictures of routes and flows: what they say, that they fit, that they can be read aloud."""

from __future__ import annotations

import csv
from xml.etree import ElementTree as ET

import pytest

import middlecut as mc
from middlecut.insight.drawing import Box, Drawing, Ribbon, Words, clipped, shade
from middlecut.insight.fate import Fate, FateEnd, FateFlow, FateNode
from middlecut.insight.figures import (
    draw_fate,
    draw_routes,
    fate_csv,
    routes_csv,
    shown_level,
    shown_number,
)
from middlecut.insight.flow_layout import lay_out_flow
from middlecut.insight.route_model import Routes

SVG = "{http://www.w3.org/2000/svg}"


def flow(source: str, target: str, share: float) -> FateFlow:
    return FateFlow(source, target, f"{source} to {target}", share * 1e-6, share)


@pytest.fixture(scope="module")
def way() -> Fate:
    """Half passes a step, half goes round it."""
    nodes = (
        FateNode("s", "made & given", "source"),
        FateNode("a", "first", "step"),
        FateNode("b", "second", "step"),
        FateNode("c", "third", "step"),
        FateNode("end:c:bottles", "bottles", "end"),
        FateNode("end:a:lees", "lees", "end"),
    )
    flows = (
        flow("s", "a", 1.0),
        flow("a", "b", 0.5),
        flow("a", "c", 0.4995),
        flow("a", "end:a:lees", 0.0005),
        flow("b", "c", 0.5),
        flow("c", "end:c:bottles", 0.9995),
    )
    ends = (
        FateEnd("bottle", "bottles", "c", 0.9995e-6, 0.9995),
        FateEnd("lees", "lees", "a", 0.0005e-6, 0.0005),
    )
    return Fate("linalool", 1e-6, nodes, flows, ends)


@pytest.fixture(scope="module")
def found() -> Routes:
    return mc.routes(mc.load_plan(mc.example_path("neutral")), "coriander", amount=0.02)


def words_of(drawing: Drawing) -> list[str]:
    return [part.text for part in drawing.parts if isinstance(part, Words)]


def test_a_flow_leaves_nothing_out_and_stays_on_the_page(way: Fate) -> None:
    layout = lay_out_flow(way, width=600.0, left=100.0, top=50.0, height=300.0, least=1e-3)
    assert layout.hidden == pytest.approx(0.0005)
    places = {place.key: place for place in layout.places}
    assert "end:a:lees" not in places
    assert places["s"].x == 100.0
    assert places["end:c:bottles"].x == 700.0
    assert places["end:c:bottles"].bottle
    # Widths are shares of the height given, and what enters a bar leaves it.
    scale = 300.0
    assert places["b"].height == pytest.approx(0.5 * scale)
    into = sum(one.width for one in layout.ribbons if one.to_x == places["c"].x)
    assert into == pytest.approx(0.9995 * scale)
    assert all(place.y >= 50.0 for place in layout.places)


def test_a_flow_that_skips_a_column_goes_round_the_bar(way: Fate) -> None:
    layout = lay_out_flow(way, width=600.0, left=100.0, top=50.0, height=300.0, least=1e-3)
    bar = next(place for place in layout.places if place.key == "b")
    passing = [one for one in layout.ribbons if one.label == "a to c" and one.to_x == bar.x]
    assert len(passing) == 1
    assert passing[0].to_y >= bar.y + bar.height or passing[0].to_y + passing[0].width <= bar.y


def test_nothing_flows_is_an_empty_layout() -> None:
    empty = Fate("linalool", 0.0, (), (), ())
    assert lay_out_flow(empty, width=9.0, left=0.0, top=0.0, height=9.0, least=0.0).places == ()


def test_the_picture_of_a_flow_says_its_numbers(way: Fate) -> None:
    drawing = draw_fate(way)
    said = " | ".join(words_of(drawing))
    assert "linalool: 1 mg from its sources" in said
    assert "bottles >99 %" in said
    assert "Not drawn: flows below 0.1 %" in said
    root = ET.fromstring(drawing.to_svg())  # noqa: S314 - our own
    assert root.findtext(f"{SVG}title") == drawing.title
    assert "bottle >99 %" in (root.findtext(f"{SVG}desc") or "")
    paths = root.findall(f"{SVG}path")
    assert len(paths) == sum(isinstance(part, Ribbon) for part in drawing.parts)
    assert all(path.findtext(f"{SVG}title") for path in paths)


def test_everything_lies_within_the_picture(found: Routes, way: Fate) -> None:
    for drawing in (draw_routes(found), draw_fate(way)):
        for part in drawing.parts:
            if isinstance(part, Box):
                assert part.x >= 0.0
                assert part.x + part.width <= drawing.width
                assert part.y + part.height <= drawing.height
            elif isinstance(part, Words):
                assert 0.0 < part.y < drawing.height


def test_the_heat_map_says_every_number_and_every_closed_door(found: Routes) -> None:
    drawing = draw_routes(found)
    said = words_of(drawing)
    for route in found.routes:
        assert route.entry_point in said
        for row in route.rows:
            assert shown_level(row.concentration) in said
            if row.odour is not None:
                assert f"{shown_number(row.odour.oav)} ×" in said
    assert any(text.startswith("basket: no still") for text in said)


def test_ink_on_the_deepest_shade_can_be_read(found: Routes) -> None:
    # WCAG 2.2, 1.4.3: text needs a contrast of 4.5.
    fills = {part.fill for part in draw_routes(found).parts if isinstance(part, Box)}
    assert len(fills) > 3
    for fill in fills:
        assert contrast(fill, "#1d1a16") > 4.5


def contrast(one: str, two: str) -> float:
    """Return the contrast ratio of two colours as WCAG 2.2 defines it."""
    first, second = sorted((luminance(one), luminance(two)), reverse=True)
    return (first + 0.05) / (second + 0.05)


def luminance(colour: str) -> float:
    """Return the relative luminance of a colour as WCAG 2.2 defines it."""
    parts = [int(colour[at : at + 2], 16) / 255.0 for at in (1, 3, 5)]
    lin = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * lin[0] + 0.7152 * lin[1] + 0.0722 * lin[2]


def test_the_data_are_the_numbers(found: Routes, way: Fate) -> None:
    rows = list(csv.DictReader(routes_csv(found).splitlines()))
    assert len(rows) == sum(len(route.rows) for route in found.routes)
    first = found.routes[0].rows[0]
    assert float(rows[0]["mg_per_L"]) == first.concentration
    flows = list(csv.DictReader(fate_csv(way).splitlines()))
    assert [float(row["share"]) for row in flows] == [one.share for one in way.flows]
    assert flows[0]["from"] == "made & given"


def test_marks_of_the_language_are_escaped() -> None:
    drawing = Drawing(10.0, 10.0, "a < b & c", "d", [Words(1.0, 1.0, "<&>")])
    root = ET.fromstring(drawing.to_svg())  # noqa: S314 - our own
    assert root.findtext(f"{SVG}title") == "a < b & c"
    assert root.findtext(f"{SVG}text") == "<&>"


def test_a_picture_can_be_had_as_png(way: Fate) -> None:
    pytest.importorskip("matplotlib")
    assert draw_fate(way).to_png().startswith(b"\x89PNG\r\n\x1a\n")


def test_long_words_are_cut_and_short_ones_kept() -> None:
    assert clipped("linalool", 200.0) == "linalool"
    assert clipped("3-mercapto-3-methylbutyl formate", 100.0).endswith("…")
    assert shade(0.5) not in {shade(0.0), shade(1.0)}


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.0, "none"), (1234.0, "1,200 mg/L"), (0.02, "20 µg/L"), (3e-9, "<0.01 ng/L")],
)
def test_levels_are_shown_in_the_unit_that_suits(value: float, text: str) -> None:
    assert shown_level(value) == text


def test_a_flow_fits_a_window_of_1200_pixels() -> None:
    # Where a window is narrower than the picture, its right labels are cut off.
    nodes = (FateNode("a", "a", "source"), FateNode("b", "b", "end"))
    way = Fate("x", 1.0, nodes, (FateFlow("a", "b", "x", 1.0, 1.0),), ())
    assert draw_fate(way).width <= 1200.0
