# SPDX-License-Identifier: MIT
"""Which lots each step takes and makes, and whether they are there when they are wanted.

This works on the tables as they stand in the file, so that one broken value does not hide what is
wrong with the lots of all other steps. Volumes beyond what a step predicts are found by
``predict``; here only what can be known without predicting.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from middlecut import units
from middlecut.errors import InputError
from middlecut.plan.positions import Path
from middlecut.plan.problems import Problems, nearest, quote

__all__ = ["Flow", "check_lots", "default_residue", "flow_of", "volume_of"]

SLACK = 1.005
"""How far a known volume may be overdrawn before it is called a problem; within that, only the
prediction can tell, because contraction and fermentation change volumes a little."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What one step takes from one lot; volume and fraction are None when not readable."""

    lot: str
    path: Path
    volume: float | None = None
    fraction: float | None = None
    everything: bool = False


@dataclass(frozen=True, slots=True)
class Made:
    """One lot a step makes, with the most it can hold in m³ where that is known."""

    lot: str
    path: Path
    most: float | None = None


@dataclass(frozen=True, slots=True)
class Flow:
    """Lots in and out of one step."""

    name: str
    kind: str
    path: Path
    takes: tuple[Wanted, ...] = ()
    makes: tuple[Made, ...] = ()


@dataclass(slots=True)
class _Stock:
    """The state of one lot while the steps are walked."""

    left: float | None
    used_up_by: str = ""


def default_residue(step_id: str) -> str:
    """Return the name of what stays in the boiler where the plan gives none."""
    return f"{step_id} stillage"


def volume_of(raw: object) -> float | None:
    """Return a volume in m³ if it can be read."""
    return _number(raw, "volume")


def _number(raw: object, dimension: str) -> float | None:
    try:
        value = units.parse_quantity(raw, dimension)
    except InputError:
        return None
    return value if value >= 0.0 else None


def _items(raw: object) -> list[object]:
    return raw if isinstance(raw, list) else [] if raw is None else [raw]


def _takes(raw: Mapping[str, object], path: Path) -> Iterator[Wanted]:
    for index, item in enumerate(_items(raw.get("from"))):
        at = (*path, "from", index) if isinstance(raw.get("from"), list) else (*path, "from")
        if isinstance(item, str):
            yield Wanted(item, at, everything=True)
        elif isinstance(item, Mapping) and isinstance(item.get("lot"), str):
            volume, fraction = item.get("volume"), item.get("fraction")
            yield Wanted(
                str(item["lot"]),
                at,
                None if volume is None else _number(volume, "volume"),
                None if fraction is None else _number(fraction, "fraction"),
                everything=volume is None and fraction is None and item.get("dose") is None,
            )


def _parts(
    raw: Mapping[str, object], key: str, path: Path
) -> Iterator[tuple[Mapping[str, object], Path]]:
    for index, item in enumerate(_items(raw.get(key))):
        if isinstance(item, Mapping):
            yield item, (*path, key, index)


def _ferment_makes(raw: Mapping[str, object], path: Path) -> Iterator[Made]:
    left = _number(raw.get("volume"), "volume") or None
    lees = _number(raw.get("lees", "0 L"), "volume")
    left = None if left is None or lees is None else left - lees
    reserves = []
    for item, at in _parts(raw, "reserve", path):
        volume = _number(item.get("volume"), "volume")
        left = None if left is None or volume is None else left - volume
        if isinstance(item.get("into"), str):
            reserves.append(Made(str(item["into"]), (*at, "into"), volume))
    if isinstance(raw.get("into"), str):
        yield Made(str(raw["into"]), (*path, "into"), left)
    yield from reserves


def _distil_makes(raw: Mapping[str, object], path: Path) -> Iterator[Made]:
    for item, at in _parts(raw, "cuts", path):
        if isinstance(item.get("into"), str):
            most = _number(item.get("until"), "volume")
            yield Made(str(item["into"]), (*at, "into"), most)
    residue = raw.get("residue", default_residue(str(raw.get("id"))))
    if isinstance(residue, str):
        yield Made(residue, (*path, "residue"))


def flow_of(raw: Mapping[str, object], path: Path, name: str) -> Flow:
    """Return the lots in and out of one step, as far as its table can be read."""
    kind = str(raw.get("kind"))
    takes = () if kind == "ferment" else tuple(_takes(raw, path))
    if kind == "ferment":
        makes = tuple(_ferment_makes(raw, path))
    elif kind == "distil":
        makes = tuple(_distil_makes(raw, path))
    else:
        into = raw.get("into")
        most = takes[0].volume if kind == "draw" and takes else None
        makes = (Made(into, (*path, "into"), most),) if isinstance(into, str) else ()
    return Flow(name, kind, path, takes, makes)


def check_lots(flows: list[Flow], given: Mapping[str, float | None], problems: Problems) -> None:
    """Note every lot that is missing, made twice, used too early or used beyond its volume."""
    _Walk(flows, given, problems).walk()


class _Walk:
    """Walks the steps in order and keeps what is left of every lot."""

    def __init__(
        self, flows: list[Flow], given: Mapping[str, float | None], problems: Problems
    ) -> None:
        self.flows = flows
        self.given = given
        self.problems = problems
        self.stock = {name: _Stock(volume) for name, volume in given.items()}
        self.makers: dict[str, int] = {}
        for index, flow in enumerate(flows):
            for made in flow.makes:
                self.makers.setdefault(made.lot, index)

    def walk(self) -> None:
        for index, flow in enumerate(self.flows):
            seen: set[str] = set()
            for wanted in flow.takes:
                if wanted.lot in seen:
                    self.problems.add(
                        wanted.path,
                        f'this step already takes from "{wanted.lot}"',
                        "Name each lot once in a step, with one volume or fraction.",
                    )
                elif wanted.lot in self.stock:
                    self._use(wanted, flow)
                elif wanted.lot in self.makers:
                    self._too_early(wanted, index)
                else:
                    self._unknown(wanted)
                seen.add(wanted.lot)
            for made in flow.makes:
                self._make(made, flow)

    def _make(self, made: Made, flow: Flow) -> None:
        if made.most is not None and made.most <= 0.0 and flow.kind == "ferment":
            self.problems.add(
                made.path,
                "lees and reserve take all of the wash",
                "Make the volume larger, or take less off.",
            )
        if made.lot not in self.stock:
            self.stock[made.lot] = _Stock(made.most)
            return
        if made.lot in self.given:
            where = f"the section [lot.{made.lot}] describes it"
        else:
            where = f'step "{self.flows[self.makers[made.lot]].name}" makes it'
        self.problems.add(
            made.path,
            f'there is already a lot called "{made.lot}"; {where}',
            "Give each lot a name of its own; a blend step puts lots together.",
            value=made.lot,
        )

    def _use(self, wanted: Wanted, flow: Flow) -> None:
        stock = self.stock[wanted.lot]
        if stock.used_up_by:
            part = f'{{ lot = "{wanted.lot}", fraction = "50 %" }}'
            self.problems.add(
                wanted.path,
                f'nothing is left of "{wanted.lot}"; step "{stock.used_up_by}" takes all of it',
                f'Let step "{stock.used_up_by}" take a volume or a fraction, like {part}.',
                value=wanted.lot,
            )
        elif wanted.everything or (wanted.fraction or 0.0) >= 1.0:
            stock.used_up_by = flow.name
        elif stock.left is not None:
            self._reduce(wanted, stock, stock.left)

    def _reduce(self, wanted: Wanted, stock: _Stock, left: float) -> None:
        if wanted.fraction is not None:
            stock.left = left * (1.0 - max(0.0, wanted.fraction))
        volume = wanted.volume or 0.0
        if volume > left * SLACK:
            most = units.format_quantity(max(0.0, left), "volume")
            asked = units.format_quantity(volume, "volume")
            self.problems.add(
                wanted.path,
                f'{asked} is wanted, but at most {most} of "{wanted.lot}" is left at this step',
                f'Take less, or take all that is left by writing "{wanted.lot}" alone.',
            )
        if wanted.volume is not None:
            stock.left = max(0.0, left - volume)

    def _unknown(self, wanted: Wanted) -> None:
        names = sorted({*self.stock, *self.makers})
        near = nearest(wanted.lot, names)
        remedy = (
            f'Did you mean "{near}"?'
            if near
            else f"Make it in an earlier step, or describe it in a section [lot.{wanted.lot}]."
        )
        message = f'no step makes a lot called "{wanted.lot}"'
        message += f"; the lots are {quote(names[:12])}" if names else ""
        self.problems.add(wanted.path, message, remedy, value=wanted.lot)

    def _too_early(self, wanted: Wanted, index: int) -> None:
        maker = self.makers[wanted.lot]
        later = self.flows[maker].name
        line = self.problems.line(self.flows[maker].path)
        place = f'step "{later}"' + (f" (line {line})" if line else "")
        if maker == index:
            message = f'this step makes "{wanted.lot}" itself, so it cannot take from it'
            remedy = "Give what it makes another name."
        elif index in _upstream(maker, self.flows, self.makers):
            message = f'the lots go in a circle: {place} makes "{wanted.lot}" out of this step'
            remedy = f"Describe what an earlier batch left in a section [lot.{wanted.lot}]."
        else:
            message = f'"{wanted.lot}" is used here but made later, in {place}'
            remedy = f'Move step "{later}" before this one.'
        self.problems.add(wanted.path, message, remedy, value=wanted.lot)


def _upstream(start: int, flows: list[Flow], makers: Mapping[str, int]) -> set[int]:
    """Return every step whose lots the given step needs, directly or through others."""
    found: set[int] = set()
    waiting = [start]
    while waiting:
        for wanted in flows[waiting.pop()].takes:
            maker = makers.get(wanted.lot)
            if maker is not None and maker not in found:
                found.add(maker)
                waiting.append(maker)
    return found
