# SPDX-License-Identifier: MIT
"""What every lot of a batch is now: measured, worked out from what was measured, or expected.

The one place that says so. A lot is what was last measured of it; else what its step makes from
what goes into it as that is known (jars chosen, shares set aside, water that went in, doses, the
bottles filled); else what the plan expects. A run of the still is predicted again from the charge
that is really there.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from types import MappingProxyType

from middlecut.app.batch import Batch
from middlecut.app.expectation import StillFit, expect
from middlecut.app.giving_way import WAY
from middlecut.app.known_lot import (
    EXPECTED,
    MEASURED,
    PARTLY,
    WORKED_OUT,
    KnownLot,
    as_measured,
    known_words,
)
from middlecut.app.measured import Measured, measured_lots, measured_part
from middlecut.app.spirit_events import DoseChosen, WaterAdded
from middlecut.errors import MiddlecutError
from middlecut.steps.bottle import bottle
from middlecut.steps.dilute import dilute
from middlecut.steps.lot import Lot
from middlecut.steps.mixing import mixed, water_lot
from middlecut.steps.parameters import (
    Blend,
    Bottle,
    Dilute,
    Distil,
    Draw,
    Steep,
    StepParameters,
    Take,
    Wood,
)
from middlecut.steps.result import StepResult

__all__ = ["LotsNow", "known_measures", "lots_now", "run_loaded"]


@dataclass(frozen=True, slots=True)
class LotsNow:
    """The lots of a batch as they are now.

    Parameters
    ----------
    made : mapping of str to KnownLot
        Every lot as it was made, by name, in the order of the plan.
    taken : mapping of str to (mapping of str to KnownLot)
        By step what it takes of each lot.
    offered : mapping of str to (mapping of str to KnownLot)
        By step all there is, before it takes its part, of each lot that it takes.
    left : mapping of str to KnownLot
        What the steps of the plan leave of each lot.
    """

    made: Mapping[str, KnownLot]
    taken: Mapping[str, Mapping[str, KnownLot]]
    offered: Mapping[str, Mapping[str, KnownLot]]
    left: Mapping[str, KnownLot]


def lots_now(state: Batch, fits: tuple[StillFit, ...] = ()) -> LotsNow:
    """Return every lot of a batch as it is now.

    Parameters
    ----------
    state : Batch
        With a plan.
    fits : tuple of StillFit
        Stills that run as measured.

    Returns
    -------
    lots : LotsNow

    Raises
    ------
    PlanError
        If the plan cannot be carried out as it is.
    """
    text = "" if state.plan is None else state.plan.text
    walk = _Walk(state, text, fits, measured_lots(state))
    prediction = expect(text, fits)
    for given in prediction.plan.given:
        walk.add(KnownLot(given))
    for step in prediction.plan.steps:
        walk.do(step)
    return LotsNow(
        made=MappingProxyType(walk.made),
        taken=MappingProxyType(walk.taken),
        offered=MappingProxyType(walk.offered),
        left=MappingProxyType(walk.pool),
    )


def known_measures(
    state: Batch, fits: tuple[StillFit, ...] = (), *, now: LotsNow | None = None
) -> dict[str, Measured]:
    """Return what is known of each lot beyond the plan: measured, or worked out from that.

    Parameters
    ----------
    state : Batch
        With a plan that can be carried out.
    fits : tuple of StillFit
        Stills that run as measured.
    now : LotsNow, optional
        The lots, where they are at hand already.

    Returns
    -------
    lots : dict of str to Measured
        Lots of which nothing but the plan is known are left out.
    """
    found = measured_lots(state)
    lots = lots_now(state, fits) if now is None else now
    for name, known in lots.made.items():
        measured = found.get(name, Measured())
        if known.expected or not measured.complete:
            continue
        parts = {known.volume_known, known.strength_known}
        derived = (
            known_words(known.known)
            if MEASURED not in parts
            else f"rest {known_words(known.known)}"
        )
        found[name] = replace(
            measured,
            volume=known.lot.volume if measured.volume is None else measured.volume,
            strength=known.lot.strength if measured.strength is None else measured.strength,
            origin=known.origin if known.known == MEASURED else derived,
        )
    return found


@dataclass(slots=True)
class _Walk:
    """The steps of a plan carried out on the lots as they are known."""

    state: Batch
    text: str
    fits: tuple[StillFit, ...]
    measured: Mapping[str, Measured]
    made: dict[str, KnownLot] = field(default_factory=dict)
    pool: dict[str, KnownLot] = field(default_factory=dict)
    taken: dict[str, Mapping[str, KnownLot]] = field(default_factory=dict)
    offered: dict[str, dict[str, KnownLot]] = field(default_factory=dict)

    def add(self, lot: KnownLot) -> None:
        """Put in a lot just made, as it was measured where it was."""
        name = lot.lot.name
        found = self.measured.get(name, Measured())
        known = as_measured(lot, found) if found.complete else lot
        self.made[name] = self.pool[name] = known

    def do(self, step: StepParameters) -> None:
        """Carry out one step."""
        expected = expect(self.text, self.fits).steps[step.id]
        parts = self._parts(step)
        self.taken[step.id] = MappingProxyType(parts)
        made: Mapping[str, Lot] | None = None
        changed = any(one.step == step.id for one in self._says())
        if changed or not all(one.expected for one in parts.values()):
            made = self._made(step, parts) or _in_proportion(expected, parts)
        worst = max((one.known for one in parts.values()), default=EXPECTED)
        known = min(max(worst, WORKED_OUT), PARTLY)
        if step.kind in ("distil", "steep", "wood"):
            known = PARTLY  # a model stands between what went in and what comes out
        if made is None:
            made, known = expected.made, EXPECTED
        for lot in made.values():
            self.add(KnownLot(lot, known, known))
        for name, lot in expected.made.items():
            if name not in made:  # such as no remainder, where the last bottle is just full
                self.add(KnownLot(lot.part(0.0), known, known))

    def _says(self) -> list[WaterAdded | DoseChosen]:
        """Return entries that change what a step makes."""
        water = [body for _, body in self.state.of(WaterAdded)]
        return [*water, *(body for _, body in self.state.of(DoseChosen))]

    def _parts(self, step: StepParameters) -> dict[str, KnownLot]:
        takes = _takes(step)
        plain = [one for one in takes if one.dose is None]
        rate = self._rate(step)
        if rate is not None and takes:
            dosed = next((one for one in takes if one.dose is not None), takes[-1])
            plain = [one for one in takes if one is not dosed]
            takes = (*plain, replace(dosed, volume=None, fraction=None, dose=rate))
        parts: dict[str, KnownLot] = {}
        for take in plain:
            self._take(step, take, 0.0, parts)
        base = mixed([one.lot for one in parts.values()], "base").volume if parts else 0.0
        for take in takes:
            if take not in plain:
                self._take(step, take, base, parts)
        return parts

    def _rate(self, step: StepParameters) -> float | None:
        chosen = [body for _, body in self.state.of(DoseChosen) if body.step == step.id]
        return chosen[-1].rate if chosen and isinstance(step, Blend) else None

    def _take(
        self, step: StepParameters, take: Take, base: float, parts: dict[str, KnownLot]
    ) -> None:
        known = self.pool[take.lot]
        volume = known.lot.volume
        wanted = self._wanted(step, take, base, volume)
        share = min(wanted / volume, 1.0) if volume > 0.0 else 1.0
        part = replace(known, lot=known.lot.part(share) if share < 1.0 else known.lot)
        self.pool[take.lot] = replace(known, lot=known.lot.part(1.0 - share))
        found = measured_part(self.state, step.id, take.lot)
        whole = share == 1.0 and known is self.made[take.lot]
        part = as_measured(part, found)
        if whole:
            self.made[take.lot] = part
        self.offered.setdefault(step.id, {}).setdefault(take.lot, part if share == 1.0 else known)
        earlier = parts.get(take.lot)
        if earlier is not None:
            part = replace(part, lot=mixed([earlier.lot, part.lot], take.lot))
        parts[take.lot] = part

    def _wanted(self, step: StepParameters, take: Take, base: float, volume: float) -> float:
        if isinstance(step, Draw):
            drawn = self.measured.get(step.into, Measured())
            if drawn.volume:
                return drawn.volume
        if take.volume is not None:
            return take.volume
        if take.fraction is not None:
            return take.fraction * volume
        return volume if take.dose is None else take.dose * base

    def _made(
        self, step: StepParameters, parts: Mapping[str, KnownLot]
    ) -> Mapping[str, Lot] | None:
        """Return what a step makes of its parts; None where that cannot be worked out."""
        lots = tuple(one.lot for one in parts.values() if one.lot.mass > 0.0)
        if not lots:
            return None
        try:
            if isinstance(step, Distil):
                again = run_loaded(self.text, self.fits, step.id, lots)
                return None if again is None else again.made
            if isinstance(step, Dilute):
                return {step.into: self._diluted(step, lots[0])}
            if isinstance(step, Bottle):
                return self._bottled(step, lots[0])
            return _make(step, lots)
        except MiddlecutError:  # such as a lot that is too little for the step
            return None

    def _diluted(self, step: Dilute, lot: Lot) -> Lot:
        poured = [body for _, body in self.state.of(WaterAdded) if body.step == step.id]
        if poured:
            water = [water_lot(one.mass, one.temperature or 293.15) for one in poured]
            return mixed([lot, *water], step.into)
        if lot.strength <= step.strength:  # weaker than wanted: no water goes in
            return replace(lot, name=step.into)
        return dilute(step, lot).made[step.into]

    def _bottled(self, step: Bottle, lot: Lot) -> Mapping[str, Lot]:
        """Return the bottles that were filled, or can be, and what they leave."""
        rest = f"{step.into} remainder"
        if step.into in self.measured:
            filled = self.measured[step.into].volume or 0.0
            left = max(1.0 - (filled + step.loss) / lot.volume, 0.0)
            return {step.into: replace(lot, name=step.into), rest: lot.part(left, rest)}
        if lot.volume - step.loss < step.bottle_volume:  # not one bottle
            return {step.into: lot.part(0.0, step.into), rest: lot.part(1.0, rest)}
        return bottle(step, lot).made


def _in_proportion(expected: StepResult, parts: Mapping[str, KnownLot]) -> Mapping[str, Lot]:
    """Return what was planned, as much less or more of it as went in: a rough last resort."""
    whole = sum(one.pure_alcohol for one in expected.used.values())
    share = sum(one.lot.pure_alcohol for one in parts.values()) / whole if whole > 0.0 else 1.0
    return {name: lot.part(share) for name, lot in expected.made.items()}


def _takes(step: StepParameters) -> tuple[Take, ...]:
    if isinstance(step, Distil | Blend):
        return step.takes
    if isinstance(step, Draw | Steep | Dilute | Bottle | Wood):
        return (step.take,)
    return ()


def _make(step: StepParameters, lots: tuple[Lot, ...]) -> Mapping[str, Lot] | None:
    """Return what a step makes of lots, where that needs no more than the lots."""
    match step:
        case Draw():
            return {step.into: replace(lots[0], name=step.into)}
        case Blend():
            return {step.into: mixed(lots, step.into)}
        case Steep():
            from middlecut.steps.steep import steep  # noqa: PLC0415 - its tables only when needed

            return steep(step, lots[0]).made
        case Wood():
            from middlecut.steps.wood import wood  # noqa: PLC0415 - its tables only when needed

            return wood(step, lots[0]).made
    return None


@dataclass(frozen=True, slots=True, eq=False)
class _Charge:
    """A run and what is loaded, told apart by the masses."""

    text: str
    fits: tuple[StillFit, ...]
    step: str
    lots: tuple[Lot, ...]

    def _key(self) -> tuple[object, ...]:
        masses = tuple((one.name, one.water, one.ethanol, one.solids) for one in self.lots)
        return (self.text, self.fits, self.step, masses)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Charge) and self._key() == other._key()

    def __hash__(self) -> int:
        return hash(self._key())


def run_loaded(
    text: str, fits: tuple[StillFit, ...], step: str, lots: tuple[Lot, ...]
) -> StepResult | None:
    """Predict a run from what is loaded.

    Parameters
    ----------
    text : str
        The plan that holds.
    fits : tuple of StillFit
        Stills that run as measured.
    step : str
        Id of a distil step.
    lots : tuple of Lot
        What it takes; water of the plan comes on top.

    Returns
    -------
    result : StepResult or None
        Remembered; None where that cannot run as planned.
    """
    return _run_again(_Charge(text, fits, step, lots))


@lru_cache(maxsize=64)
def _run_again(charge: _Charge) -> StepResult | None:
    from middlecut.steps.flavoured import (  # noqa: PLC0415 - the compiled kernel
        distil_with_ingredients,
    )

    plan = expect(charge.text, charge.fits).plan
    step = plan.step(charge.step)
    if not isinstance(step, Distil):
        return None
    try:
        with WAY.awaited():
            return distil_with_ingredients(
                step, charge.lots, still=plan.stills[step.still], pressure=plan.batch.pressure
            )
    except MiddlecutError:
        return None
