# SPDX-License-Identifier: MIT
"""Charts: drawing, data and table show the same numbers, in the chosen units, safely."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from middlecut.web.charts import Axis, Chart, Mark, Series, draw_chart, pack_chart, tabulate_chart
from middlecut.web.scale_ticks import nice_ticks, show_tick

CHART = Chart(
    id="run",
    title="A <run>",
    x=Axis("time", "duration"),
    y=Axis("head", "temperature"),
    series=(
        Series(
            "predicted",
            ((0.0, 351.15), (3600.0, 361.15)),
            low=(350.15, 360.15),
            high=(352.15, 362.15),
        ),
        Series("measured", ((1800.0, 356.15),), kind="points"),
    ),
    marks=(Mark(900.0, "heads & tails"),),
)


def test_the_drawing_is_well_formed_and_escaped() -> None:
    text = str(draw_chart(CHART))
    root = ET.fromstring(text)  # noqa: S314 - our own text
    assert root.tag == "svg"
    assert "A &lt;run&gt;" in text
    assert "heads &amp; tails" in text
    assert "style=" not in text


def test_places_are_proportional() -> None:
    text = str(draw_chart(CHART))
    found = re.search(r'class="line[^"]*" points="([0-9.]+),([0-9.]+) ([0-9.]+),([0-9.]+)"', text)
    dot = re.search(r'class="dot[^"]*" cx="([0-9.]+)" cy="([0-9.]+)"', text)
    assert found is not None
    assert dot is not None
    x0, y0, x1, y1 = (float(one) for one in found.groups())
    # The measured point lies half-way in time and in temperature; 0.1 is the drawing's rounding.
    assert float(dot[1]) == pytest.approx((x0 + x1) / 2, abs=0.11)
    assert float(dot[2]) == pytest.approx((y0 + y1) / 2, abs=0.11)
    assert y1 < y0


def test_all_three_forms_speak_the_chosen_units() -> None:
    data = json.loads(str(pack_chart(CHART, system="us")))
    # 351.15 K is 78 °C, which is 172.4 °F exactly.
    assert data["series"][0]["y"][0] == pytest.approx(172.4, abs=1e-5)
    assert data["y"]["unit"] == "°F"
    table = tabulate_chart(CHART, system="us")
    assert table.rows[0][1].startswith("172.4 °F")
    assert "°F" in str(draw_chart(CHART, system="us"))


def test_the_data_cannot_end_its_element() -> None:
    chart = replace(CHART, title="</script><script>alert(1)</script>")
    text = str(pack_chart(chart))
    assert "</" not in text
    assert json.loads(text)["title"] == chart.title


def test_numbers_that_are_none_are_left_out() -> None:
    points = ((0.0, float("nan")), (1.0, 351.15), (float("inf"), 351.15))
    chart = replace(CHART, series=(Series("a", points),), marks=())
    assert json.loads(str(pack_chart(chart)))["series"][0]["x"] == [
        pytest.approx(1 / 3600, abs=1e-6)
    ]
    assert "nan" not in str(draw_chart(chart))


def test_an_empty_chart_draws_its_axes() -> None:
    chart = replace(CHART, series=(), marks=())
    assert chart.empty
    ET.fromstring(str(draw_chart(chart)))  # noqa: S314 - our own text


def test_a_dense_line_is_thinned_in_the_table_only() -> None:
    points = tuple((float(number), 300.0 + number / 100) for number in range(1000))
    chart = replace(CHART, series=(Series("a", points),), marks=())
    table = tabulate_chart(chart)
    assert len(table.rows) == 40
    assert len(json.loads(str(pack_chart(chart)))["series"][0]["x"]) == 1000


@given(st.lists(st.floats(-1e6, 1e6, allow_nan=False), min_size=1, max_size=20), st.integers(3, 10))
def test_ticks_enclose_and_are_few(values: list[float], count: int) -> None:
    ticks = nice_ticks(values, count)
    span = max(abs(value) for value in values) or 1.0
    assert ticks[0] <= min(values) + 1e-6 * span
    assert ticks[-1] >= max(values) - 1e-6 * span
    assert 2 <= len(ticks) <= 2 * count + 3
    assert len({show_tick(tick, ticks) for tick in ticks}) == len(ticks)
