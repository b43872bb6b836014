# SPDX-License-Identifier: MIT
"""Say in plain words what the numbers of the routes say."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from middlecut.insight.leaving import LITTLE
from middlecut.units import System, format_quantity

if TYPE_CHECKING:
    from middlecut.insight.leaving import Leaving
    from middlecut.insight.route_model import Route, RouteRow

__all__ = [
    "conclusions",
    "cost_sentence",
    "leftover_sentence",
    "risk_words",
    "route_sentence",
    "shown_share",
]

_TOLD = 0.02
"""Share left over from which on it is worth a sentence; our choice."""
_MUCH = 0.10
_LEAST_KEPT = 1e-6
"""Pure alcohol from which on it is worth a word. [m³] Our choice."""
_THROUGH_THE_STILL = ("wash-early", "wash-late", "charge", "basket")
_SURVIVES = 0.8
_KINDS = {"flavour": "flavour run", "spirit": "spirit run", "strip": "stripping run"}
_RANK = {"strip": 0, "spirit": 1, "flavour": 2}
_PREFERRED = ("charge", "basket", "wash-late", "wash-early")
_PLACES = {
    "spent solids": "stays in the spent solids",
    "blown off": "is blown off with the CO2",
    "converted": "is converted by the yeast",
    "lees": "stays with the lees",
    "stillage": "stays in the boiler",
    "heads": "goes with the heads",
    "tails": "goes with the tails",
    "held in the still": "stays in the still",
    "left over": "is in lots that are not used again",
    "lost in filling": "is lost in filling",
}


def shown_share(share: float) -> str:
    """Return a share in per cent, with as many digits as it deserves.

    Parameters
    ----------
    share : float
        0 to 1.

    Returns
    -------
    str

    Examples
    --------
    >>> [shown_share(share) for share in (0.0, 2e-6, 0.0123, 0.5, 0.9995)]
    ['0 %', '<0.01 %', '1.2 %', '50 %', '>99 %']
    """
    if share <= 0.0:
        return "0 %"
    if share < 1e-4:
        return "<0.01 %"
    if 0.99 < share < 1.0 - 1e-9:
        return ">99 %"
    return f"{share * 100:.2g} %" if share < 0.995 else "100 %"


def route_sentence(rows: Sequence[RouteRow]) -> str:
    """Return what one route does, compound by compound, the most telling first.

    Parameters
    ----------
    rows : sequence of RouteRow
        Of the route.

    Returns
    -------
    str
        At most three compounds; those that can be smelled come first.
    """
    told = sorted(rows, key=lambda row: (row.odour is None, -_oav(row), -row.share))[:3]
    if not told:
        return "No compound of it is tracked."
    return " ".join(_told(row) for row in told)


def _oav(row: RouteRow) -> float:
    return 0.0 if row.odour is None else row.odour.oav


def _told(row: RouteRow) -> str:
    losses = [(share, place) for place, share in row.shares.items() if place != "bottle"]
    share, place = max(losses, default=(0.0, ""))
    smelled = "" if row.odour is None else f", {_times(row.odour.oav)} its threshold"
    verdict = "" if row.odour is None else f" ({row.odour.verdict})"
    lost = _PLACES.get(place, f"ends as {place}")
    rest = f"; {shown_share(share)} {lost}" if share >= 0.01 else ""
    return f"{shown_share(row.share)} of the {row.compound} arrives{smelled}{verdict}{rest}."


def _times(value: float) -> str:
    if value < 0.01:
        return "less than a hundredth of"
    rounded = float(f"{value:.2g}")
    return f"{rounded:g} times" if value < 100.0 else f"{rounded:,.0f} times"


def leftover_sentence(share: float, lots: Sequence[str]) -> str:
    """Say that part of what was put in stays in lots nobody uses.

    Parameters
    ----------
    share : float
        Of all the ingredient holds of the compound with most of it there, 0 to 1.
    lots : sequence of str
        Their names, the fullest first.

    Returns
    -------
    str
        Empty when next to nothing is left over.

    Examples
    --------
    >>> leftover_sentence(0.29, ("orange spirit",))
    'Up to 29 % stays in what no later step uses up (orange spirit): it is left over, not lost.'
    """
    if share < _TOLD or not lots:
        return ""
    names = ", ".join(lots[:3])
    return (
        f"Up to {shown_share(share)} stays in what no later step uses up ({names}): it is left "
        "over, not lost."
    )


def risk_words(route: Route) -> str:
    """Return how many cautions a route brings that are more than a note.

    Parameters
    ----------
    route : Route

    Returns
    -------
    str
        "none" where there is none.
    """
    counts = [
        (sum(one.severity == severity for one in route.cautions), word)
        for severity, word in (("danger", "danger"), ("watch", "to watch"))
    ]
    return ", ".join(f"{count} {word}" for count, word in counts if count) or "none"


def cost_sentence(route: Route, lot: str, *, system: System = "metric") -> str:
    """Return what a route costs: time, spirit and risk.

    Parameters
    ----------
    route : Route
    lot : str
        The final lot.
    system : {"metric", "us"}
        System of units.

    Returns
    -------
    str
    """

    def volume(value: float) -> str:
        return format_quantity(value, "volume", system=system)

    cost = route.cost
    hours = route.added_time
    parts = [f"{format_quantity(hours, 'duration')} more" if hours > 60.0 else "no more time"]
    if cost.set_apart > 0.0:
        parts.append(f"{volume(cost.set_apart)} of spirit to set apart for it")
    if cost.alcohol_kept > _LEAST_KEPT:
        parts.append(f"{volume(cost.alcohol_kept)} of pure alcohol that its spent solids keep")
    both = [volume(one) for one in (cost.volume_with, cost.volume_without)]
    if both[0] != both[1]:
        parts.append(f"{both[0]} of {lot} instead of {both[1]}")
    parts.append(f"cautions beyond a note: {risk_words(route)}")
    return f"It costs {'; '.join(parts)}."


def conclusions(found: Sequence[Route]) -> tuple[str, ...]:
    """Return what a comparison of routes says.

    Parameters
    ----------
    found : sequence of Route
        Of its open entry points.

    Returns
    -------
    tuple of str
        About each compound, then the order in which they leave.
    """
    names = dict.fromkeys(row.compound for route in found for row in route.rows if not row.made)
    return tuple(text for text in (*(_about(name, found) for name in names), _order(found)) if text)


def _about(compound: str, found: Sequence[Route]) -> str:
    shares = {
        route.entry_point: row.share
        for route in found
        for row in route.rows
        if row.compound == compound
    }
    still = [share for point, share in shares.items() if point in _THROUGH_THE_STILL]
    beside = [share for point, share in shares.items() if point not in _THROUGH_THE_STILL]
    best = max(shares, key=lambda point: shares[point])
    through = _through(compound, found)
    if still and max(still) < LITTLE and beside and max(beside) > _MUCH:
        told = (
            f"almost none of it distils ({shown_share(max(still))} arrives at most); to taste it, "
            f"steep or dose ({shown_share(max(beside))} arrives)"
        )
    elif shares[best] < LITTLE:
        told = f"next to nothing arrives by any way ({shown_share(shares[best])} at most)"
    else:
        told = f"most arrives by {best} ({shown_share(shares[best])})"
    return f"{compound}: {'; '.join((told, *through))}."


def _through(compound: str, found: Sequence[Route]) -> tuple[str, ...]:
    """Return how a compound behaves in each run that some route leads it through."""
    runs: dict[str, tuple[Leaving, float]] = {}
    for point in _PREFERRED:
        for route in found:
            if route.entry_point == point:
                for row in route.rows:
                    if row.compound == compound:
                        runs = {**{run.step: (run, row.content) for run in row.runs}, **runs}
    if len(runs) > 1 and all(run.centre is None for run, _ in runs.values()):
        return ("nothing of it comes over in any run",)
    ordered = sorted(runs.values(), key=lambda pair: _RANK[pair[0].purpose])
    return tuple(_in_run(run, content) for run, content in ordered)


def _in_run(run: Leaving, content: float) -> str:
    """Say how a compound passes a run; cuts as shares of all there is of it, as in the tables."""
    where = f'the {_KINDS[run.purpose]} "{run.step}"'
    if run.centre is None:
        return f"nothing of it comes over in {where}"
    if run.purpose == "strip":
        verb = "survives" if run.distilled >= _SURVIVES else "comes through"
        return f"{shown_share(run.distilled)} of what reaches it {verb} {where}"
    if run.distilled < LITTLE:
        when = "not with the heads but late" if run.timing == "late" else run.timing
        share = shown_share(run.distilled)
        return f"in {where} only {share} of what reaches it leaves the boiler, {when}"
    if not run.smears:
        return f"in {where} it comes {run.timing} and keeps to the {run.main_cut}"
    two = sorted(run.cuts.items(), key=lambda item: -item[1])[:2]
    part = run.distilled * run.given / content if content > 0.0 else 0.0
    cuts = " and ".join(f"the {name} ({shown_share(share * part)} of all)" for name, share in two)
    return f"in {where} it comes {run.timing} and smears over {cuts}"


def _order(found: Sequence[Route]) -> str:
    """Return the order in which the compounds leave the first run they were put into."""
    for route in found:
        if route.entry_point not in {"charge", "basket"}:
            continue
        runs = [
            (run.centre, run.alcohol_centre, row.compound)
            for row in route.rows
            for run in row.runs
            if run.step == route.step and run.centre is not None and run.distilled >= LITTLE
        ]
        if len(runs) > 1:
            names = ", ".join(f"{name} {shown_share(centre)}" for centre, _, name in sorted(runs))
            return (
                f'Order of leaving in the run "{route.step}", by where the middle of each lies in '
                f"the volume collected (that of the alcohol at {shown_share(runs[0][1])}): {names}."
            )
    return ""
