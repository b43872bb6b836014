# SPDX-License-Identifier: MIT
"""Find places for the nodes and bands of a flow picture: columns by depth, heights by share."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from middlecut.insight.fate import Fate, FateFlow

__all__ = ["FlowLayout", "Place", "PlacedRibbon", "lay_out_flow"]

_GAP = 26.0
_BAR = 12.0
_SIDE = 128.0


@dataclass(frozen=True, slots=True)
class Place:
    """Where a node stands.

    Parameters
    ----------
    key, label, kind : str
        Of the node.
    x, y, height : float
        [px]
    share : float
        Of all that the sources bring.
    bottle : bool
        Whether it is the end that counts.
    room : float
        Width there is for its label. [px]
    """

    key: str
    label: str
    kind: str
    x: float
    y: float
    height: float
    share: float
    bottle: bool
    room: float


@dataclass(frozen=True, slots=True)
class PlacedRibbon:
    """Where a flow runs.

    Parameters
    ----------
    x, y, to_x, to_y, width : float
        [px]
    label : str
        What carries it.
    share : float
        Of all that the sources bring.
    to_bottle : bool
        Whether some of it reaches the end that counts.
    """

    x: float
    y: float
    to_x: float
    to_y: float
    width: float
    label: str
    share: float
    to_bottle: bool


@dataclass(frozen=True, slots=True)
class _Part:
    """A flow, or the part of it between two columns."""

    source: str
    target: str
    flow: FateFlow


@dataclass(frozen=True, slots=True)
class _Field:
    """Where columns stand and how many pixels a share of 1 is high."""

    left: float
    step: float
    scale: float


@dataclass(frozen=True, slots=True)
class FlowLayout:
    """The whole layout.

    Parameters
    ----------
    places : tuple of Place
    ribbons : tuple of PlacedRibbon
    hidden : float
        Sum of the shares of the flows that were left out.
    bottom : float
        Lowest point used. [px]
    """

    places: tuple[Place, ...]
    ribbons: tuple[PlacedRibbon, ...]
    hidden: float
    bottom: float


def lay_out_flow(
    way: Fate, *, width: float, left: float, top: float, height: float, least: float
) -> FlowLayout:
    """Lay out the flow of a compound from left to right.

    A node stands one column to the right of the last it is fed from; within a column nodes follow
    the height of what feeds them, so that few bands cross.

    Parameters
    ----------
    way : Fate
        The flow.
    width, left, top, height : float
        Field for the bars. [px]
    least : float
        Flows below this share are left out.

    Returns
    -------
    FlowLayout
        Empty when nothing flows.
    """
    flows = [flow for flow in way.flows if flow.share >= least]
    hidden = sum(flow.share for flow in way.flows if flow.share < least)
    if not flows:
        return FlowLayout((), (), hidden, top)
    columns = _columns(way, flows)
    step = width / max(*columns.values(), 1)
    parts, columns = _in_parts(flows, columns)
    kinds = {node.key: node.kind for node in way.nodes}
    bars = _bars(parts, columns, kinds, top, height)
    on = _to_bottle(way, flows)
    field = _Field(left, step, height / _widest(flows))
    ribbons = _ribbons(parts, columns, bars, field, on)
    bottles = {f"end:{end.step}:{end.name}" for end in way.ends if end.place == "bottle"}
    shares = _shares(flows)
    places = tuple(
        Place(
            node.key,
            node.label,
            node.kind,
            left + step * columns[node.key],
            bars[node.key][0],
            bars[node.key][1],
            shares[node.key],
            node.key in bottles,
            _SIDE if node.kind != "step" else step + 8.0,
        )
        for node in way.nodes
        if node.key in bars
    )
    bottom = max(place.y + place.height for place in places)
    return FlowLayout(places, tuple(ribbons), hidden, bottom)


def _in_parts(flows: list[FateFlow], columns: dict[str, int]) -> tuple[list[_Part], dict[str, int]]:
    """Cut flows that pass by a column into parts, with a hidden node where they pass."""
    parts, columns = [], dict(columns)
    for number, flow in enumerate(flows):
        here = flow.source
        for column in range(columns[flow.source] + 1, columns[flow.target]):
            key = f"via:{number}:{column}"
            columns[key] = column
            parts.append(_Part(here, key, flow))
            here = key
        parts.append(_Part(here, flow.target, flow))
    return parts, columns


def _ribbons(
    parts: list[_Part],
    columns: dict[str, int],
    bars: dict[str, tuple[float, float]],
    field: _Field,
    on: set[str],
) -> list[PlacedRibbon]:
    """Place the parts: at either end of a bar in the order of the other ends."""
    starts = {key: y for key, (y, _) in bars.items()}
    enters = dict(starts)
    leave: dict[int, float] = {}
    for at in sorted(range(len(parts)), key=lambda at: bars[parts[at].target][0]):
        leave[at] = starts[parts[at].source]
        starts[parts[at].source] += parts[at].flow.share * field.scale
    found = []
    for at in sorted(range(len(parts)), key=lambda at: bars[parts[at].source][0]):
        part = parts[at]
        bar = 0.0 if part.source.startswith("via:") else _BAR
        found.append(
            PlacedRibbon(
                x=field.left + field.step * columns[part.source] + bar,
                y=leave[at],
                to_x=field.left + field.step * columns[part.target],
                to_y=enters[part.target],
                width=part.flow.share * field.scale,
                label=part.flow.lot,
                share=part.flow.share,
                to_bottle=part.flow.target in on,
            )
        )
        enters[part.target] += part.flow.share * field.scale
    return found


def _columns(way: Fate, flows: list[FateFlow]) -> dict[str, int]:
    """Return the column of each node; a source stands right before what it feeds."""
    used = {key for flow in flows for key in (flow.source, flow.target)}
    columns = {node.key: 0 for node in way.nodes if node.key in used}
    kinds = {node.key: node.kind for node in way.nodes}
    for _ in columns:
        changed = False
        for flow in flows:
            after = columns[flow.source] + 1
            if columns[flow.target] < after:
                columns[flow.target], changed = after, True
        if not changed:
            break
    for flow in flows:
        if kinds[flow.source] == "source":
            columns[flow.source] = columns[flow.target] - 1
    return columns


def _shares(flows: Iterable[FateFlow]) -> dict[str, float]:
    return _part_shares(_Part(flow.source, flow.target, flow) for flow in flows)


def _widest(flows: Iterable[FateFlow]) -> float:
    return max(1.0, *_shares(flows).values())


def _bars(
    parts: list[_Part],
    columns: dict[str, int],
    kinds: dict[str, str],
    top: float,
    height: float,
) -> dict[str, tuple[float, float]]:
    """Return the upper edge and the height of each bar, and of the hidden nodes between."""
    shares = _part_shares(parts)
    scale = height / max(1.0, *shares.values())
    bars: dict[str, tuple[float, float]] = {}
    for column in range(max(columns.values()) + 1):
        members = [key for key, at in columns.items() if at == column]
        wanted = {key: _height_of_feeders(key, parts, bars, top) for key in members}
        members.sort(key=lambda key: (kinds.get(key) == "end", wanted[key], -shares[key]))
        y = top
        for key in members:
            thick = max(shares[key] * scale, 1.0)
            bars[key] = (y, thick)
            y += max(thick, 4.0) + _GAP
    return bars


def _part_shares(parts: Iterable[_Part]) -> dict[str, float]:
    into: dict[str, float] = {}
    out: dict[str, float] = {}
    for part in parts:
        into[part.target] = into.get(part.target, 0.0) + part.flow.share
        out[part.source] = out.get(part.source, 0.0) + part.flow.share
    return {key: max(into.get(key, 0.0), out.get(key, 0.0)) for key in {**into, **out}}


def _height_of_feeders(
    key: str, parts: list[_Part], bars: dict[str, tuple[float, float]], top: float
) -> float:
    feeders = [
        (bars[part.source][0], part.flow.share)
        for part in parts
        if part.target == key and part.source in bars
    ]
    whole = sum(share for _, share in feeders)
    return sum(y * share for y, share in feeders) / whole if whole > 0.0 else top


def _to_bottle(way: Fate, flows: list[FateFlow]) -> set[str]:
    """Return the nodes that something of the bottle has passed."""
    found = {f"end:{end.step}:{end.name}" for end in way.ends if end.place == "bottle"}
    for flow in reversed(flows):
        if flow.target in found:
            found.add(flow.source)
    return found
