# SPDX-License-Identifier: MIT
"""Words of a chart's upright lines stand clear of each other and of every line."""

from __future__ import annotations

import json
import re
from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from middlecut.web.charts import Axis, Chart, Mark, Series, draw_chart, pack_chart, tabulate_chart
from middlecut.web.mark_lanes import lanes_needed, place_marks

LEFT, RIGHT = 52.0, 474.0
CHART = Chart(
    "run",
    "A run",
    Axis("time", "duration"),
    Axis("strength", "strength", low=0.0),
    (Series("predicted", ((0.0, 0.9), (7200.0, 0.1))),),
)


def test_cuts_that_come_close_stand_below_each_other() -> None:
    # heads and hearts called minutes apart, now, and two ends: what a run of two hours shows
    marks = [(56.0, 110.0), (80.0, 120.0), (280.0, 30.0), (380.0, 100.0), (470.0, 80.0)]
    placed = place_marks(marks, left=LEFT, right=RIGHT)
    assert placed[0].lane < placed[1].lane  # the line of the second begins below the first word
    assert placed[4].right <= 470.0  # left of its line: there is no room on the right
    assert lanes_needed(placed) <= 3


@given(
    st.lists(
        st.tuples(st.floats(LEFT, RIGHT, width=32), st.integers(2, 14)), min_size=1, max_size=6
    )
)
def test_no_word_lies_on_another(found: list[tuple[float, int]]) -> None:
    marks = [(x, 8.2 * letters) for x, letters in found]
    placed = place_marks(marks, left=LEFT, right=RIGHT)
    for place in placed:
        assert 0 <= place.lane < len(marks)
        assert LEFT <= place.left < place.right <= RIGHT + 1e-9
    for number, one in enumerate(placed):
        for other in placed[number + 1 :]:
            apart = one.right <= other.left or other.right <= one.left
            assert apart or one.lane != other.lane


def test_the_drawing_grows_for_its_lanes_and_keeps_its_plot() -> None:
    plain = str(draw_chart(CHART))
    crowded = replace(CHART, marks=(Mark(60.0, "heads called"), Mark(300.0, "hearts called")))
    text = str(draw_chart(crowded))
    heights = [
        float(re.search(r'viewBox="0 0 480 ([\d.]+)"', one)[1])  # type: ignore[index]
        for one in (plain, text)
    ]
    assert heights[1] - heights[0] == 2 * 17.0
    tops = [float(one) for one in re.findall(r'class="mark" [^>]*y1="([\d.]+)"', text)]
    assert tops == [24.0, 41.0]  # one below the other, above the drawing at 30 + 34


def test_what_happened_and_what_is_expected_look_different() -> None:
    marks = (Mark(60.0, "heads called", happened=True), Mark(300.0, "hearts end"))
    text = str(draw_chart(replace(CHART, marks=marks)))
    assert text.count('class="mark happened"') == 1
    assert text.count('class="mark"') == 1
    data = json.loads(str(pack_chart(replace(CHART, marks=marks))))
    assert [one["happened"] for one in data["marks"]] == [True, False]
    assert data["y"]["low"] == 0.0  # both drawings begin their axis there
    assert "high" not in data["y"]


def test_a_band_is_drawn_without_a_line_and_said_as_a_range() -> None:
    band = Series("nine in ten", ((0.0, 0.9),), kind="band", low=(0.85,), high=(0.93,))
    banded = replace(CHART, series=(*CHART.series, band))
    rows = tabulate_chart(banded).rows
    # 0 h: the line's 90 % vol, and the range beside it; at 2 h the line only.
    assert [len([cell for cell in row if cell]) for row in rows] == [3, 2]
    assert rows[0][2] == "85.0 %vol to 93.0 %vol"
    text = str(draw_chart(banded))
    assert text.count("<polyline") == 1
    assert text.count('class="band') == 1


def test_the_table_reads_a_line_and_its_band_at_the_same_places() -> None:
    times = [60.0 * number for number in range(161)]
    line = Series("predicted", tuple((at, 0.9 - at / 2e4) for at in times))
    # The band ends before the line does: thinned by itself it would stand in rows of its own.
    known = [(at, value) for at, value in line.points if at < 8000.0]
    band = Series(
        "nine in ten",
        tuple(known),
        kind="band",
        low=tuple(value - 0.02 for _, value in known),
        high=tuple(value + 0.02 for _, value in known),
    )
    rows = tabulate_chart(replace(CHART, series=(line, band))).rows
    assert len(rows) == 40
    assert all(row[1] for row in rows)
    assert sum(bool(row[2]) for row in rows) > 30
