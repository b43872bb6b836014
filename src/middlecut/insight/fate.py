# SPDX-License-Identifier: MIT
"""The fate of one compound through a whole plan: where it comes from, and where all of it ends."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass
from difflib import get_close_matches
from typing import TYPE_CHECKING, Any

from middlecut.errors import NotFoundError
from middlecut.liquid import compounds
from middlecut.plan.predict import predict
from middlecut.steps.parameters import Distil

if TYPE_CHECKING:
    import pandas as pd

    from middlecut.plan.model import Plan
    from middlecut.steps.lot import Lot
    from middlecut.steps.result import StepResult

__all__ = ["PLACES", "Fate", "FateEnd", "FateFlow", "FateNode", "fate", "final_lot", "trace"]

PLACES: Mapping[str, str] = {
    "spent solids": "spent solids",
    "liquid kept in spent solids": "spent solids",
    "blown off with CO2": "blown off",
    "converted by yeast": "converted",
    "lees": "lees",
    "held in the still": "held in the still",
    "lost in filling": "lost in filling",
}
"""What the losses of the accounts are called as places where a compound ends; others keep their
name. Lots that are not used again end as "bottle", "stillage", "heads", "tails" or "left over"."""

_BULK = frozenset({"water", "ethanol", "solids", "CO2"})


@dataclass(frozen=True, slots=True)
class FateNode:
    """A source, a step or an end on the way of a compound.

    Parameters
    ----------
    key : str
        Unique within one fate.
    label : str
        For a person.
    kind : {"source", "step", "end"}
    """

    key: str
    label: str
    kind: str


@dataclass(frozen=True, slots=True)
class FateFlow:
    """What goes from one node to the next.

    Parameters
    ----------
    source, target : str
        Keys of nodes.
    lot : str
        Name of the lot it is carried in, or of the loss.
    mass : float
        [kg]
    share : float
        Of everything the sources brought, 0 to 1.
    """

    source: str
    target: str
    lot: str
    mass: float
    share: float


@dataclass(frozen=True, slots=True)
class FateEnd:
    """Where part of a compound ends.

    Parameters
    ----------
    place : str
        "bottle" or a kind of loss, such as "stillage", "heads" or "spent solids".
    name : str
        Name of the lot or loss.
    step : str
        Id of the step that made it; "" for a lot that was given.
    mass : float
        [kg]
    share : float
        Of everything the sources brought, 0 to 1.
    """

    place: str
    name: str
    step: str
    mass: float
    share: float


@dataclass(frozen=True, slots=True)
class Fate:
    """The way of one compound through a plan, as a graph whose ends add up to its sources.

    Parameters
    ----------
    compound : str
        Its name.
    total : float
        What all sources bring. [kg]
    nodes : tuple of FateNode
        In the order of the plan.
    flows : tuple of FateFlow
        In the order of the plan; nothing flows back.
    ends : tuple of FateEnd
        The largest first.
    """

    compound: str
    total: float
    nodes: tuple[FateNode, ...]
    flows: tuple[FateFlow, ...]
    ends: tuple[FateEnd, ...]

    def shares(self) -> dict[str, float]:
        """Return the share that ends at each place, the largest first."""
        found: dict[str, float] = {}
        for end in self.ends:
            found[end.place] = found.get(end.place, 0.0) + end.share
        return dict(sorted(found.items(), key=lambda item: -item[1]))

    def to_dict(self) -> dict[str, Any]:
        """Return the fate in SI units as plain JSON types."""
        return {
            "compound": self.compound,
            "total_kg": self.total,
            "nodes": [asdict(node) for node in self.nodes],
            "flows": [asdict(flow) for flow in self.flows],
            "ends": [asdict(end) for end in self.ends],
        }

    def to_frame(self) -> pd.DataFrame:
        """Return the flows as a table, one a line."""
        import pandas as pd  # noqa: PLC0415 - costly to import and not always wanted

        names = list(FateFlow.__dataclass_fields__)
        return pd.DataFrame([asdict(flow) for flow in self.flows], columns=names)


def fate(plan: Plan, compound: str) -> Fate:
    """Follow one compound through the whole plan.

    The plan is predicted, and what the account of every step says of the compound is joined to a
    graph: sources, steps, and the ends where it stays.

    Parameters
    ----------
    plan : Plan
        As :func:`middlecut.load_plan` returns it.
    compound : str
        Name, synonym or CAS number.

    Returns
    -------
    Fate
        Its ends add up to its sources to 1e-9.

    Raises
    ------
    NotFoundError
        If the plan holds no such compound; it carries the nearest names of those it holds.
    PlanError
        If the plan cannot be carried out.

    Notes
    -----
    Typical amounts only; :func:`middlecut.routes` gives bands. A compound that yeast turns into
    another ends as converted, and the other begins at the source "made by yeast".

    Examples
    --------
    >>> import middlecut as mc
    >>> way = fate(mc.load_plan(mc.example_path()), "phenethyl alcohol")
    >>> next(iter(way.shares()))  # it hardly follows the alcohol over
    'stillage'
    """
    prediction = predict(plan)
    held = {
        name
        for result in prediction.steps.values()
        for name, entry in result.account.entries.items()
        if name not in _BULK and any(entry.came.values())
    }
    name = _name(compound, plan)
    if name not in held:
        near = [one for one in sorted(held) if name and (name in one or one in name)]
        near += get_close_matches(name, sorted(held), n=3)
        raise NotFoundError("compound in this plan", compound, tuple(dict.fromkeys(near))[:3])
    return trace(plan, prediction.steps.values(), prediction.left, name)


def _name(compound: str, plan: Plan) -> str:
    try:
        return compounds.find(compound, plan.compounds.values()).name
    except NotFoundError:
        return compound


def final_lot(results: Iterable[StepResult]) -> str:
    """Return the name of the lot a plan is about: what it bottles, or what it makes last.

    Parameters
    ----------
    results : iterable of StepResult
        Of all steps, in order.

    Returns
    -------
    str
        Of a run that comes last, the cut with most alcohol; "" when no step makes anything.
    """
    rows = [result for result in results if result.made]
    bottled = [result for result in rows if result.kind == "bottle"]
    if not rows:
        return ""
    last = (bottled or rows)[-1]
    if last.curve is not None:
        return max(last.made, key=lambda name: last.made[name].ethanol)
    return next(iter(last.made))


def trace(
    plan: Plan, results: Iterable[StepResult], left: Mapping[str, Lot], compound: str
) -> Fate:
    """Join what the accounts of the steps say of a compound to one graph.

    Parameters
    ----------
    plan : Plan
        What was carried out.
    results : iterable of StepResult
        Of its steps, with accounts, in order.
    left : mapping of str to Lot
        What remains at the end, by name.
    compound : str
        Name as in the accounts.

    Returns
    -------
    Fate
        Empty, with a total of 0, when no step has any of it.
    """
    return _Tracer(plan, tuple(results), left, compound).fate()


class _Tracer:
    """Collects nodes, flows and ends in the order of the plan."""

    def __init__(
        self, plan: Plan, results: tuple[StepResult, ...], left: Mapping[str, Lot], compound: str
    ) -> None:
        self.plan, self.results, self.left, self.compound = plan, results, left, compound
        self.final = final_lot(results)
        self.maker = {name: result.step_id for result in results for name in result.made}
        self.nodes: dict[str, FateNode] = {}
        self.raw: list[tuple[str, str, str, float]] = []
        self.ends: list[tuple[str, str, str, float]] = []
        self.total = 0.0

    def fate(self) -> Fate:
        for result in self.results:
            self._step(result)
        places = _lot_places(self.plan, self.results, self.final)
        for name, lot in self.left.items():
            amount = lot.amounts.get(self.compound)
            if amount is not None and amount.typical > 0.0:
                place = places.get(name, "left over")
                self._end(place, name, self.maker.get(name, ""), amount.typical)
        whole = self.total if self.total > 0.0 else 1.0
        ends = sorted(self.ends, key=lambda end: -end[3])
        return Fate(
            compound=self.compound,
            total=self.total,
            nodes=tuple(self.nodes.values()),
            flows=tuple(FateFlow(*flow, flow[3] / whole) for flow in self.raw),
            ends=tuple(FateEnd(*end, end[3] / whole) for end in ends),
        )

    def _node(self, key: str, label: str, kind: str) -> str:
        self.nodes.setdefault(key, FateNode(key, label, kind))
        return key

    def _given(self, name: str) -> str:
        return self._node(f"source:{name}", name, "source")

    def _step(self, result: StepResult) -> None:
        entry = result.account.entries.get(self.compound)
        if entry is None or not any(entry.came.values()):
            return
        here = f"step:{result.step_id}"
        for name, mass in entry.came.items():
            if mass <= 0.0:
                continue
            if name in result.used and name in self.maker:
                start = f"step:{self.maker[name]}"
            elif name in result.used:
                start, self.total = self._given(name), self.total + mass
            else:
                key = f"source:{result.step_id}:{name}"
                start, self.total = self._node(key, name, "source"), self.total + mass
            self._node(here, result.step_id, "step")
            self.raw.append((start, here, name, mass))
        for name, mass in entry.went.items():
            if mass > 0.0 and name not in result.made:
                self._end(PLACES.get(name, name), name, result.step_id, mass)

    def _end(self, place: str, name: str, step: str, mass: float) -> None:
        if step:
            start = f"step:{step}"
        else:  # a given lot that was never used
            start, self.total = self._given(name), self.total + mass
        end = self._node(f"end:{step}:{name}", name, "end")
        self.raw.append((start, end, name, mass))
        self.ends.append((place, name, step, mass))


def _lot_places(plan: Plan, results: tuple[StepResult, ...], final: str) -> dict[str, str]:
    """Return where a compound ends that stays in a lot, by name of the lot."""
    used = {final, *(name for result in results for name in result.used)}
    found: dict[str, str] = {}
    for step in plan.steps:
        if isinstance(step, Distil):
            found.update(_run_places(step, used))
    found[final] = "bottle"
    return found


def _run_places(step: Distil, used: set[str]) -> Iterator[tuple[str, str]]:
    yield step.residue, "stillage"
    on = [at for at, cut in enumerate(step.cuts) if cut.into in used]
    for at, cut in enumerate(step.cuts):
        if on and at < on[0]:
            yield cut.into, "heads"
        elif on and at > on[-1]:
            yield cut.into, "tails"
        else:
            yield cut.into, "left over"
