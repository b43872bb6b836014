# SPDX-License-Identifier: MIT
"""The few lines of a comparison of routes that matter most."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from middlecut.insight.leaving import LITTLE
from middlecut.insight.route_words import shown_share

if TYPE_CHECKING:
    from middlecut.insight.route_model import Routes

__all__ = ["in_short"]

_MUCH = 0.10
_MORE_LATE = 1.5
"""How many times as much has to arrive by a late addition to be told; our choice."""
_NAMED = 6
_IN_THE_STILL = ("charge", "basket")
_IN_THE_WASH = ("wash-early", "wash-late")
_BESIDE = ("steep", "dose")

Shares = Mapping[str, Mapping[str, float]]


def in_short(found: Routes) -> tuple[str, ...]:
    """Return what a comparison of routes comes to, compounds of one kind together.

    Parameters
    ----------
    found : Routes

    Returns
    -------
    tuple of str
        What never distils, by which way most of the rest arrives, what a wash loses, and what a
        late addition saves.

    Examples
    --------
    >>> import middlecut as mc
    >>> found = mc.routes(mc.load_plan(mc.example_path()), "vanilla", amount=0.004)
    >>> in_short(found)[0].startswith("Only a steep or a dose brings vanillin")
    True
    """
    shares = _shares(found)
    lines = (
        _only_beside(shares),
        _most(shares),
        _lost_in_the_wash(shares),
        _late(shares),
        _nowhere(shares),
    )
    return tuple(line for line in lines if line)


def _shares(found: Routes) -> Shares:
    """Return the share of each of the ingredient's own compounds by entry point."""
    shares: dict[str, dict[str, float]] = {}
    for route in found.routes:
        for row in route.rows:
            if not row.made:
                shares.setdefault(row.compound, {})[route.entry_point] = row.share
    return shares


def _best(by_point: Mapping[str, float], points: Iterable[str]) -> float:
    return max((by_point[point] for point in points if point in by_point), default=0.0)


def _named(names: list[str]) -> str:
    more = len(names) - _NAMED
    shown = ", ".join(names[:_NAMED])
    return f"{shown} and {more} more" if more > 0 else shown


def _only_beside(shares: Shares) -> str:
    still = (*_IN_THE_WASH, *_IN_THE_STILL)
    names = [
        name
        for name, one in shares.items()
        if _best(one, still) < LITTLE and _best(one, _BESIDE) > _MUCH
        and any(point in one for point in still)
    ]  # fmt: skip
    if not names:
        return ""
    most = max(_best(shares[name], _BESIDE) for name in names)
    return (
        f"Only a steep or a dose brings {_named(names)}: next to nothing of that distils, up to "
        f"{shown_share(most)} arrives by steeping."
    )


def _most(shares: Shares) -> str:
    """Say by which way most arrives of what comes by the still at all."""
    groups: dict[str, list[str]] = {}
    for name, one in shares.items():
        best = max(one, key=lambda point: one[point])
        through = (*_IN_THE_WASH, *_IN_THE_STILL)
        # Where the plan has neither wash nor still, a steep and a dose are all there is.
        distils = not any(point in one for point in through) or _best(one, through) >= LITTLE
        if one[best] >= LITTLE and distils:
            groups.setdefault(best, []).append(name)
    parts = [f"by {point} of {_named(names)}" for point, names in groups.items()]
    return f"Most arrives {'; '.join(parts)}." if parts else ""


def _lost_in_the_wash(shares: Shares) -> str:
    names = [
        name
        for name, one in shares.items()
        if any(point in one for point in _IN_THE_WASH)
        and _best(one, _IN_THE_WASH) < LITTLE <= _best(one, _IN_THE_STILL)
    ]
    if not names:
        return ""
    most = max(_best(shares[name], _IN_THE_STILL) for name in names)
    return (
        f"Not into the wash: next to nothing arrives of {_named(names)}, of which charge or basket "
        f"bring up to {shown_share(most)}."
    )


def _late(shares: Shares) -> str:
    told = [
        (one["wash-late"] / max(one["wash-early"], 1e-12), name)
        for name, one in shares.items()
        if {"wash-early", "wash-late"} <= one.keys()
        and one["wash-late"] > _MORE_LATE * one["wash-early"]
        and one["wash-late"] > LITTLE
    ]
    if not told:
        return ""
    names = [name for _, name in sorted(told, reverse=True)]
    first = shares[names[0]]
    return (
        f"In the wash, late saves what early loses: {_named(names)}. Of the first "
        f"{shown_share(first['wash-early'])} arrives from pitching and "
        f"{shown_share(first['wash-late'])} from late on."
    )


def _nowhere(shares: Shares) -> str:
    names = [name for name, one in shares.items() if max(one.values()) < LITTLE]
    return f"Next to nothing arrives by any way of {_named(names)}." if names else ""
