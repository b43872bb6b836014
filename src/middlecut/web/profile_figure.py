# SPDX-License-Identifier: MIT
"""Draw smells side by side: a row a family, a mark a batch, on a scale of powers of ten."""

from __future__ import annotations

import math
from collections.abc import Sequence

from markupsafe import Markup, escape

from middlecut.app.views.comparison import FamilyRow
from middlecut.web.levels import show_times

__all__ = ["MARKS", "draw_mark", "draw_profile"]

MARKS = ("circle", "square", "diamond", "triangle")
"""Shape of each batch's mark, in order; shapes tell them apart before colours do."""

_LEFT, _RIGHT, _TOP, _WIDE = 178.0, 34.0, 30.0, 560.0
_LINE, _PAD = 17.0, 14.0
_LOW, _HIGH = -1.0, 4.0
"""Decimal logarithms of times the threshold at the ends of the scale."""


def draw_profile(rows: Sequence[FamilyRow], names: Sequence[str]) -> Markup:
    """Return the profile as SVG; classes carry the look.

    Parameters
    ----------
    rows : sequence of FamilyRow
    names : sequence of str
        Of the batches.

    Returns
    -------
    svg : Markup
    """
    tall = [_LINE * len(row.values) + _PAD for row in rows]
    height = _TOP + sum(tall) + 40.0
    parts = [
        (
            f'<svg class="chart profile" viewBox="0 0 {_WIDE:g} {height:g}" role="img" '
            'aria-labelledby="profile-name">'
        ),
        '<title id="profile-name">Smells by family, times their threshold</title>',
        *_scale(height - 40.0),
    ]
    top = _TOP
    for row, high in zip(rows, tall, strict=True):
        middle = top + high / 2.0
        parts.append(
            f'<text text-anchor="end" x="{_LEFT - 12:g}" y="{middle + 4.5:.1f}">'
            f"{escape(row.family)}</text>"
            f'<line class="rule" x1="0" x2="{_WIDE:g}" y1="{top + high:.1f}" '
            f'y2="{top + high:.1f}"/>'
        )
        for number, one in enumerate(row.values):
            if one is None or one.oav <= 0.0:
                continue
            y = top + _PAD / 2.0 + _LINE * (number + 0.5)
            told = (
                f"{names[number]}: {row.family} {show_times(one.oav)} times, "
                f"{show_times(one.oav_low)} to {show_times(one.oav_high)}"
            )
            parts.append(
                f'<g class="ink-{number % 4}"><title>{escape(told)}</title>'
                f'<line class="line" x1="{_x(one.oav_low):.1f}" x2="{_x(one.oav_high):.1f}" '
                f'y1="{y:.1f}" y2="{y:.1f}"/>{draw_mark(number, _x(one.oav), y)}</g>'
            )
        top += high
    parts.append("</svg>")
    return Markup("".join(parts))  # noqa: S704 - every word in it went through escape


def draw_mark(number: int, x: float, y: float) -> str:
    """Return the mark of a batch as SVG."""
    shape = MARKS[number % len(MARKS)]
    if shape == "circle":
        return f'<circle class="mark-of" cx="{x:.1f}" cy="{y:.1f}" r="5"/>'
    corners = {
        "square": ((-4.5, -4.5), (4.5, -4.5), (4.5, 4.5), (-4.5, 4.5)),
        "diamond": ((0.0, -6.5), (6.5, 0.0), (0.0, 6.5), (-6.5, 0.0)),
        "triangle": ((0.0, -6.0), (6.0, 5.0), (-6.0, 5.0)),
    }[shape]
    points = " ".join(f"{x + dx:.1f},{y + dy:.1f}" for dx, dy in corners)
    return f'<polygon class="mark-of" points="{points}"/>'


def _x(value: float) -> float:
    at = math.log10(value) if value > 0.0 else _LOW
    share = (min(max(at, _LOW), _HIGH) - _LOW) / (_HIGH - _LOW)
    return _LEFT + share * (_WIDE - _LEFT - _RIGHT)


def _scale(bottom: float) -> list[str]:
    parts = []
    for power in range(int(_LOW), int(_HIGH) + 1):
        x = _x(10.0**power)
        kind = "mark" if power == 0 else "rule"
        words = {_LOW: "≤ 0.1", _HIGH: "≥ 10,000"}.get(power, f"{10.0**power:,g}")
        parts.append(
            f'<line class="{kind}" x1="{x:.1f}" x2="{x:.1f}" y1="{_TOP:g}" y2="{bottom:g}"/>'
            f'<text class="tick" text-anchor="middle" x="{x:.1f}" y="{bottom + 18:g}">{words}'
            "</text>"
        )
    parts.append(
        f'<text class="axis" text-anchor="middle" x="{_x(1.0):.1f}" y="18">threshold</text>'
        f'<text class="axis" text-anchor="end" x="{_WIDE - _RIGHT:g}" y="{bottom + 36:g}">'
        "times its odour threshold</text>"
    )
    return parts
