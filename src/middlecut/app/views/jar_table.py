# SPDX-License-Identifier: MIT
"""The jars of a run side by side: what was measured and smelled, what is expected in each."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from middlecut.app.known_lot import KnownLot
from middlecut.app.lots_now import lots_now
from middlecut.app.ranges import KnownRanges
from middlecut.app.spirit_events import HeartsChosen, JarNoted
from middlecut.app.views.frame import StepFrame
from middlecut.app.views.lots import lot_like
from middlecut.app.views.run import JarLine, RunView, run_view
from middlecut.app.views.run_band import strength_within
from middlecut.errors import NotFoundError
from middlecut.insight.jars import Aim, JarOffer, Suggestion, suggest_jars
from middlecut.insight.odour import OdourProfile, odour_profile
from middlecut.steps.band import Band
from middlecut.steps.curve import Curve
from middlecut.steps.lot import Amount, Lot
from middlecut.steps.mixing import mixed

__all__ = ["FeintsLine", "JarRow", "JarView", "Mixture", "jar_view", "mix_jars", "suggest"]

_FOREMOST = 6


@dataclass(frozen=True, slots=True)
class JarRow:
    """One jar.

    Parameters
    ----------
    line : JarLine
        As filled.
    lot : Lot or None
        With the compounds expected at its place in the run; None while its strength is unknown.
    words : tuple of str
        What it smelled of, by the last note.
    text, keep : str
        Further words, and the verdict: "yes", "perhaps", "no" or "".
    foremost : tuple of (str, float)
        Compounds that stand out most, with their odour activity value.
    expected : float or None
        Strength expected at its place in the run, 0 to 1.
    band : Band or None
        Range of it half-way through the jar, where it is known.
    """

    line: JarLine
    lot: Lot | None
    words: tuple[str, ...]
    text: str
    keep: str
    foremost: tuple[tuple[str, float], ...]
    expected: float | None = None
    band: Band | None = None

    @property
    def name(self) -> str:
        """Name of the jar."""
        return self.line.jar.jar


@dataclass(frozen=True, slots=True)
class FeintsLine:
    """Something of the run that is not hearts.

    Parameters
    ----------
    what : str
    volume : float
        [m³]
    strength, pure_alcohol : float or None
    goes_into : tuple of str
        Steps of the plan that take it.
    basis : str
    """

    what: str
    volume: float
    strength: float | None
    pure_alcohol: float | None
    goes_into: tuple[str, ...]
    basis: str


@dataclass(frozen=True, slots=True)
class Mixture:
    """Jars put together.

    Parameters
    ----------
    jars : tuple of str
    lot : Lot
    profile : OdourProfile
    """

    jars: tuple[str, ...]
    lot: Lot
    profile: OdourProfile


@dataclass(frozen=True, slots=True)
class JarView:
    """The jars of a run.

    Parameters
    ----------
    run : RunView
    rows : tuple of JarRow
        In the order they were filled.
    chosen : HeartsChosen or None
        The choice that holds.
    lot : str
        Name of the lot the jars are for: the cut most of them belong to.
    feints : tuple of FeintsLine
    """

    run: RunView
    rows: tuple[JarRow, ...]
    chosen: HeartsChosen | None
    lot: str
    feints: tuple[FeintsLine, ...]


def jar_view(frame: StepFrame, ranges: KnownRanges | None = None) -> JarView:
    """Return the jars of a run.

    Parameters
    ----------
    frame : StepFrame
        Of a distil step.
    ranges : KnownRanges or None
        What is known of the ranges of its plan: that of the levels then comes from the draws.

    Returns
    -------
    view : JarView

    Raises
    ------
    NotFoundError
        If it is no distil step.
    """
    run = run_view(frame)
    known = ranges or KnownRanges()
    notes = {body.jar: body for _, body in frame.state.of(JarNoted) if body.step == frame.id}
    places = _places(run)
    rows = tuple(
        _row(_Expected(frame, run.curve, known), line, places[index], notes.get(line.jar.jar))
        for index, line in enumerate(run.jars)
    )
    chosen = next(
        (body for _, body in reversed(frame.state.of(HeartsChosen)) if body.step == frame.id), None
    )
    return JarView(run, rows, chosen, _lot_name(run, rows), _feints(frame, run, rows, chosen))


def mix_jars(view: JarView, jars: Iterable[str]) -> Mixture | None:
    """Return what jars make together.

    Parameters
    ----------
    view : JarView
    jars : iterable of str
        Their names.

    Returns
    -------
    mixture : Mixture or None
        None when no jar with a known strength is among them.

    Raises
    ------
    NotFoundError
        If there is no such jar.
    """
    wanted = set(jars)
    known = {row.name for row in view.rows}
    for name in sorted(wanted - known):
        raise NotFoundError("jar", name, tuple(known)[:3])
    rows = [row for row in view.rows if row.name in wanted and row.lot is not None]
    if not rows:
        return None
    lot = mixed([row.lot for row in rows if row.lot is not None], view.lot or "hearts")
    return Mixture(tuple(row.name for row in rows), lot, odour_profile(lot))


def suggest(view: JarView, aim: Aim) -> Suggestion:
    """Return which jars go together for an aim; raises as :func:`suggest_jars`."""
    offers = [
        JarOffer(row.name, row.lot, row.words, row.keep) for row in view.rows if row.lot is not None
    ]
    return suggest_jars(offers, aim)


def _places(run: RunView) -> list[tuple[float, float]]:
    """Return where each jar lies in the distillate: volume before and after it. [m³]."""
    begins = {one.mark.into: one.mark.collected_end - one.mark.volume for one in run.cuts}
    filled = dict.fromkeys(begins, 0.0)
    found = []
    for line in run.jars:
        lot = line.jar.lot or ""
        before = begins.get(lot, 0.0) + filled.get(lot, 0.0)
        filled[lot] = filled.get(lot, 0.0) + line.jar.volume
        found.append((before, before + line.jar.volume))
    return found


@dataclass(frozen=True, slots=True)
class _Expected:
    """What is expected of a run, with its ranges where they are known."""

    frame: StepFrame
    curve: Curve
    ranges: KnownRanges

    def lot(self, name: str | None) -> Lot:
        """Return the lot a jar belongs to; the first of the run where that is not said."""
        known = self.ranges.prediction or self.frame.prediction
        return known.lots.get(name or "") or next(iter(self.frame.result.made.values()))


def _row(of: _Expected, line: JarLine, place: tuple[float, float], note: JarNoted | None) -> JarRow:
    like = _slice(of, line, place)
    lot = None
    if line.strength is not None:
        lot = lot_like(like, volume=line.jar.volume, strength=line.strength, name=line.jar.jar)
    reached = place[1] <= of.curve.volume[-1]
    return JarRow(
        line,
        lot,
        () if note is None else note.descriptors,
        "" if note is None else note.text,
        "" if note is None else note.keep,
        () if lot is None else _foremost(lot),
        like.strength if reached else None,
        strength_within(of.ranges.curve(of.frame.id), start=place[0], end=place[1]),
    )


def _foremost(lot: Lot) -> tuple[tuple[str, float], ...]:
    rows = odour_profile(lot).rows[:_FOREMOST]
    return tuple((row.compound, row.oav) for row in rows if row.oav >= 1.0)


def _slice(of: _Expected, line: JarLine, place: tuple[float, float]) -> Lot:
    """Return the distillate expected between two volumes, with the ranges of its cut."""
    curve = of.curve
    ends = np.clip(place, curve.volume[0], curve.volume[-1])
    if not ends[1] > ends[0]:  # beyond the predicted run: take its very end
        ends = np.array([curve.volume[-2], curve.volume[-1]])

    def over(values: np.ndarray) -> float:
        low, high = np.interp(ends, curve.volume, values)
        return float(max(high - low, 0.0))

    whole = of.lot(line.jar.lot)
    amounts = {
        name: _ranged(_between(curve, index, ends), whole.amounts.get(name))
        for index, name in enumerate(curve.compounds)
    }
    return Lot(line.jar.jar, over(curve.water), over(curve.ethanol), amounts=amounts)


def _between(curve: Curve, index: int, ends: NDArray[np.float64]) -> float:
    """Return how much of a compound comes between two volumes, by cubics through the curve. [kg].

    Straight lines between its points would be 6 % off where a compound fades fast: the curve knows
    the concentration at each point, which is the slope there.
    """
    volume, amount = curve.volume, curve.amounts[:, index]
    place = np.clip(np.searchsorted(volume, ends, side="right") - 1, 0, len(volume) - 2)
    width = volume[place + 1] - volume[place]
    part = np.divide(ends - volume[place], width, out=np.zeros(2), where=width > 0.0)
    start, stop = amount[place], amount[place + 1]
    rise = 1e-3 * width * curve.rates[place, index]  # mg/L
    rise_after = 1e-3 * width * curve.rates[place + 1, index]
    at = (
        (2.0 * part**3 - 3.0 * part**2 + 1.0) * start
        + (part**3 - 2.0 * part**2 + part) * rise
        + (3.0 * part**2 - 2.0 * part**3) * stop
        + (part**3 - part**2) * rise_after
    )
    return float(max(at[1] - at[0], 0.0))


def _ranged(mass: float, like: Amount | None) -> Amount:
    if like is None or like.typical <= 0.0:
        return Amount(mass, mass, mass)
    return like.scaled(mass / like.typical)


def _lot_name(run: RunView, rows: Sequence[JarRow]) -> str:
    lots = [row.line.jar.lot for row in rows if row.line.jar.lot]
    if lots:
        return max(dict.fromkeys(lots), key=lots.count)
    jarred = [one.cut.into for one in run.cuts if one.cut.jar_volume is not None]
    return jarred[0] if jarred else ""


def _feints(
    frame: StepFrame, run: RunView, rows: Sequence[JarRow], chosen: HeartsChosen | None
) -> tuple[FeintsLine, ...]:
    hearts = chosen.lot if chosen is not None else _lot_name(run, rows)
    takers = {
        name: tuple(step for step, result in frame.prediction.steps.items() if name in result.used)
        for name in frame.result.made
    }
    found = []
    now = lots_now(frame.state, frame.fits).made
    for name in frame.result.made:
        if name in {hearts, run.step.residue}:
            continue
        lot = now[name].lot
        own = [row for row in rows if row.line.jar.lot == name]
        if own:
            found.append(_of_jars(name, own, takers[name]))
        else:
            found.append(
                FeintsLine(
                    name,
                    lot.volume,
                    lot.strength,
                    lot.pure_alcohol,
                    takers[name],
                    _basis(now[name]),
                )
            )
    if chosen is not None:
        out = [row for row in rows if row.line.jar.lot == hearts and row.name not in chosen.jars]
        if out:
            label = f"jars left out: {', '.join(row.name for row in out)}"
            found.append(_of_jars(label, out, ()))
    return tuple(found)


def _basis(known: KnownLot) -> str:
    return "as planned" if known.expected else known.basis


def _of_jars(what: str, rows: Sequence[JarRow], takers: tuple[str, ...]) -> FeintsLine:
    volume = sum(row.line.jar.volume for row in rows)
    lots = [row.lot for row in rows if row.lot is not None]
    if len(lots) < len(rows):
        return FeintsLine(what, volume, None, None, takers, "a strength is missing")
    lot = mixed(lots, what)
    return FeintsLine(what, lot.volume, lot.strength, lot.pure_alcohol, takers, "measured")
