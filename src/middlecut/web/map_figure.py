# SPDX-License-Identifier: MIT
"""Draw the map of a batch: steps as posts from left to right, lots as ribbons between them.

Only places on the drawing are worked out here; every quantity comes with the map.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from urllib.parse import quote

from markupsafe import Markup, escape

from middlecut.app.flow_map import FlowMap, LotRow, MapStep, Stream
from middlecut.units import System, format_quantity

__all__ = ["draw_map"]

_NARROWEST, _WIDEST, _POST, _STUB = 132.0, 240.0, 12.0, 34.0
_LEFT, _TOP = 16.0, 22.0
_TALL = 190.0
"""Height of the fullest column's ribbons together."""
_GAP, _HEAD, _LEAST = 30.0, 34.0, 1.5
"""Between posts, above a post for its words, and the thinnest ribbon."""
_LINE = 14.5
"""Height of a line of words on a ribbon."""
_LETTER, _BESIDE = 7.1, 30.0
"""Width of a letter of them, and room for the post and between two columns."""


@dataclass(slots=True)
class _Post:
    """A step on the drawing; ribbons take their places on it from the top down."""

    step: MapStep
    x: float
    y: float = 0.0
    height: float = 0.0
    taken_in: float = 0.0
    taken_out: float = 0.0


@dataclass(slots=True)
class _Drawing:
    """What the ribbons and words need to know."""

    address: str
    system: System
    scale: float
    chart: FlowMap
    lots: Mapping[str, LotRow]
    posts: dict[str, _Post] = field(default_factory=dict)
    told: set[str] = field(default_factory=set)
    """Lots whose measurement stands on the drawing already."""

    @property
    def column(self) -> float:
        """From one step to the next: as wide as the longest words between them."""
        names = [stream.lot for stream in self.chart.streams]
        names += [f"{step.kind}, {step.word}" for step in self.chart.steps]
        names += [step.id for step in self.chart.steps]
        widest = max((len(name) for name in names), default=0) * _LETTER + _BESIDE
        return min(max(widest, _NARROWEST), _WIDEST)

    def thick(self, value: float) -> float:
        return max(value * self.scale, _LEAST)

    def slot(self, stream: Stream) -> float:
        """Room a ribbon takes where it leaves: its thickness, or its words if they are taller."""
        row = self.lots.get(stream.lot)
        lines = 2 if row is None or row.measured_value is None else 3
        return max(self.thick(stream.value), lines * _LINE + 2.0)

    def shown(self, value: float) -> str:
        return format_quantity(value, self.chart.dimension, system=self.system)


def draw_map(chart: FlowMap, *, address: str, system: System = "metric") -> Markup:
    """Return the map as SVG; each post is a link to its step.

    Parameters
    ----------
    chart : FlowMap
    address : str
        Path of the batch.
    system : {"metric", "us"}

    Returns
    -------
    svg : Markup
    """
    drawing = _Drawing(address, system, _scale(chart), chart, {row.lot: row for row in chart.lots})
    _place(drawing)
    width = _LEFT + drawing.column * (max(step.rank for step in chart.steps) + 1)
    height = max(post.y + post.height for post in drawing.posts.values()) + 26.0
    ribbons, words = _ribbons(drawing)
    posts = [part for post in drawing.posts.values() for part in _draw_post(post, drawing)]
    name = escape(f"Map of the batch by {chart.measure}")
    return Markup(  # noqa: S704 - every word in it went through escape
        f'<svg class="map" viewBox="0 0 {width:.0f} {height:.0f}" width="{width:.0f}" '
        f'height="{height:.0f}" role="group" aria-label="{name}">'
        + "".join([*ribbons, *posts, *words])
        + "</svg>"
    )


def _scale(chart: FlowMap) -> float:
    """Return pixels per unit so that the fullest step fits."""
    through: dict[str, float] = defaultdict(float)
    for stream in chart.streams:
        for end in (f"out {stream.source}", f"in {stream.target}"):
            through[end] += stream.value
    most = max((value for end, value in through.items() if end[-1] != " "), default=0.0)
    return _TALL / most if most > 0.0 else 1.0


def _place(drawing: _Drawing) -> None:
    ins: dict[str, list[Stream]] = defaultdict(list)
    outs: dict[str, list[Stream]] = defaultdict(list)
    for stream in drawing.chart.streams:
        ins[stream.target].append(stream)
        outs[stream.source].append(stream)
    bottoms: dict[int, float] = defaultdict(lambda: _TOP)
    for step in drawing.chart.steps:
        post = _Post(step, _LEFT + drawing.column * step.rank)
        sources = [drawing.posts[one.source] for one in ins[step.id] if one.source in drawing.posts]
        post.height = max(
            sum(drawing.thick(one.value) for one in ins[step.id]),
            sum(drawing.slot(one) for one in outs[step.id]),
            12.0,
        )
        wanted = sum(source.y for source in sources) / len(sources) if sources else 0.0
        post.y = max(bottoms[step.rank] + _HEAD, wanted)
        bottoms[step.rank] = post.y + post.height + _GAP
        drawing.posts[step.id] = post


def _ribbons(drawing: _Drawing) -> tuple[list[str], list[str]]:
    shapes: list[str] = []
    words: list[str] = []
    # What goes on comes first from the top, what is left over hangs below it.
    for stream in sorted(drawing.chart.streams, key=lambda one: one.target == ""):
        source = drawing.posts.get(stream.source)
        if source is None:
            continue
        thick = drawing.thick(stream.value)
        x0, y0 = source.x + _POST, source.y + source.taken_out
        source.taken_out += drawing.slot(stream)
        target = drawing.posts.get(stream.target)
        if target is None:
            shapes.append(
                f'<rect class="ribbon left" x="{x0:.1f}" y="{y0:.1f}" width="{_STUB:g}" '
                f'height="{thick:.1f}"/>'
            )
        else:
            x1, y1 = target.x, target.y + target.taken_in
            target.taken_in += thick
            shapes.append(_ribbon((x0, y0), (x1, y1), thick, stream.lot))
        row = drawing.lots.get(stream.lot)
        shapes += _measured_bar(row, stream, drawing, (x0, y0))
        words += _ribbon_words(row, stream, drawing, (x0, y0))
    return shapes, words


def _ribbon(start: tuple[float, float], end: tuple[float, float], thick: float, lot: str) -> str:
    (x0, y0), (x1, y1) = start, end
    bend = (x0 + x1) / 2
    path = (
        f"M{x0:.1f},{y0:.1f}C{bend:.1f},{y0:.1f} {bend:.1f},{y1:.1f} {x1:.1f},{y1:.1f}"
        f"V{y1 + thick:.1f}C{bend:.1f},{y1 + thick:.1f} {bend:.1f},{y0 + thick:.1f} "
        f"{x0:.1f},{y0 + thick:.1f}Z"
    )
    return f'<path class="ribbon" d="{path}"><title>{escape(lot)}</title></path>'


def _measured_bar(
    row: LotRow | None, stream: Stream, drawing: _Drawing, at: tuple[float, float]
) -> Iterable[str]:
    if row is None or row.measured_value is None or row.value <= 0.0:
        return ()
    # A stream may be part of a lot: the measured whole is shared out as the predicted one is.
    part = stream.value / row.value
    height = max(row.measured_value * part * drawing.scale, _LEAST)
    return (
        f'<rect class="measured" x="{at[0]:.1f}" y="{at[1]:.1f}" width="4" height="{height:.1f}"/>',
    )


def _ribbon_words(
    row: LotRow | None, stream: Stream, drawing: _Drawing, at: tuple[float, float]
) -> list[str]:
    x, y = at[0] + 8.0, at[1] + 12.0
    amount = drawing.shown(stream.value)
    if row is not None and 0.0 < stream.value < 0.995 * row.value:
        amount += f" of {drawing.shown(row.value)}"
    if stream.target == "":
        amount += " left"
    lines = [("lot", stream.lot), ("amount", amount)]
    if row is not None and row.measured_value is not None and stream.lot not in drawing.told:
        drawing.told.add(stream.lot)
        lines.append(("amount", _known(row, drawing.shown(row.measured_value))))
    return [
        f'<text class="{kind}" x="{x:.1f}" y="{y + _LINE * number:.1f}">{escape(text)}</text>'
        for number, (kind, text) in enumerate(lines)
    ]


def _known(row: LotRow, amount: str) -> str:
    """Return what is known of a lot, in few words: the table says the rest."""
    if row.measured.origin.startswith("worked out"):
        return f"worked out {amount}"
    return f"measured {amount}{'' if row.measured.complete else ' so far'}"


def _draw_post(post: _Post, drawing: _Drawing) -> list[str]:
    step = post.step
    link = f"{drawing.address}/step/{quote(step.id, safe='')}"
    danger = f", {step.dangers} dangers" if step.dangers else ""
    words = escape(f"{step.id}: {step.kind}, {step.word}{danger}")
    state = step.word.replace(" ", "-")
    sign = {"done": "●", "under way": "◐"}.get(step.word, "○")
    half = ""
    if step.word == "under way":
        half = (
            f'<rect class="filling" x="{post.x:.1f}" y="{post.y + post.height / 2:.1f}" '
            f'width="{_POST:g}" height="{post.height / 2:.1f}"/>'
        )
    return [
        f'<a href="{escape(link)}" aria-label="{words}">',
        (
            f'<rect class="touch" x="{post.x - 8:.1f}" y="{post.y - _HEAD:.1f}" width="150" '
            f'height="{max(_HEAD + 10, 44):g}"/>'
        ),
        (
            f'<rect class="post {state}" x="{post.x:.1f}" y="{post.y:.1f}" width="{_POST:g}" '
            f'height="{post.height:.1f}"/>{half}'
        ),
        f'<text class="step" x="{post.x:.1f}" y="{post.y - 19:.1f}">{escape(step.id)}</text>',
        (
            f'<text class="kind" x="{post.x:.1f}" y="{post.y - 5:.1f}">{sign} '
            f"{escape(step.kind)}, {escape(step.word)}</text></a>"
        ),
    ]
