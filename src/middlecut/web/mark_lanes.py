# SPDX-License-Identifier: MIT
"""Where the words of a chart's upright lines stand: above the drawing, in lanes, never on another.

``static/mark_lanes.js`` does the same for the live twin; a change belongs in both.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

__all__ = ["Placed", "lanes_needed", "place_marks"]

_ASIDE = 4.0
"""Between a line and its word."""


@dataclass(frozen=True, slots=True)
class Placed:
    """Where the word of a line stands.

    Parameters
    ----------
    lane : int
        From the top, 0 or more; the line begins there.
    left, right : float
        Where the word begins and ends.
    """

    lane: int
    left: float
    right: float


def place_marks(
    marks: Sequence[tuple[float, float]], *, left: float, right: float
) -> tuple[Placed, ...]:
    """Place words beside their upright lines so that neither covers a word.

    Parameters
    ----------
    marks : sequence of (float, float)
        Place of each line and width of its word.
    left, right : float
        Ends of the drawing; a word that would pass the right end stands left of its line.

    Returns
    -------
    placed : tuple of Placed
        One for each mark.

    Examples
    --------
    >>> [one.lane for one in place_marks([(10.0, 50.0), (20.0, 50.0)], left=0.0, right=200.0)]
    [0, 1]
    """
    spans = [_span(x, width, left, right) for x, width in marks]
    places = [x for x, _ in marks]
    lanes: dict[int, int] = {}
    waiting = list(range(len(marks)))
    while waiting:
        one = next((at for at in waiting if not _after(at, waiting, places, spans)), waiting[0])
        waiting.remove(one)
        lanes[one] = _lane(one, lanes, places, spans)
    return tuple(Placed(lanes[number], *span) for number, span in enumerate(spans))


def lanes_needed(placed: Sequence[Placed]) -> int:
    """Return how many lanes some words take."""
    return max((one.lane + 1 for one in placed), default=0)


def _span(x: float, width: float, left: float, right: float) -> tuple[float, float]:
    if x + _ASIDE + width <= right:
        return x + _ASIDE, x + _ASIDE + width
    begin = max(x - _ASIDE - width, left)
    return begin, begin + width


def _through(x: float, span: tuple[float, float]) -> bool:
    return span[0] - _ASIDE < x < span[1] + _ASIDE


def _after(
    one: int,
    waiting: Sequence[int],
    places: Sequence[float],
    spans: Sequence[tuple[float, float]],
) -> bool:
    """Return whether a line runs through a word that has no place yet; of two the later waits."""
    return any(
        other != one
        and _through(places[one], spans[other])
        and (other < one or not _through(places[other], spans[one]))
        for other in waiting
    )


def _lane(
    one: int,
    lanes: Mapping[int, int],
    places: Sequence[float],
    spans: Sequence[tuple[float, float]],
) -> int:
    """Return the first lane below every word the line runs through where the word has room."""
    above = [lane for other, lane in lanes.items() if _through(places[one], spans[other])]
    begin, end = spans[one]
    taken = {
        lane for other, lane in lanes.items() if begin < spans[other][1] and spans[other][0] < end
    }
    lane = max(above, default=-1) + 1
    while lane in taken:
        lane += 1
    return lane
