# SPDX-License-Identifier: MIT
"""What is asked about beside a running still: totals, strengths, jars and cuts that look wrong."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime

from middlecut.app.batch_events import ReadingTaken
from middlecut.app.doubts import Doubt, digits_slip
from middlecut.app.running_totals import contradicted, shown_reading
from middlecut.app.spirit_events import CutCalled, JarFilled
from middlecut.app.views.charge import loaded_charge, planned_charge
from middlecut.app.views.frame import StepFrame
from middlecut.app.views.lots import true_strength
from middlecut.app.views.outlook import outlook
from middlecut.app.views.run import RunView
from middlecut.units import System, format_quantity

__all__ = ["WHOLE_RUN", "RunDoubts", "meant_strength"]

FAR_VOLUME = 2.0
"""Times what is expected by now from which a total is asked about; our estimate."""
WHOLE_RUN = 1.2
"""Times what the whole run is expected to give; our estimate."""
LITTLE = 0.1
"""Share of the whole run that any total may be off, as the first drops vary most; our estimate."""
FAR_STRENGTH, NEAR_STRENGTH = 0.20, 0.10
"""Some twenty uncertainties of an alcoholometer, and ten. [fraction by volume]"""
FAR_WARMTH, NEAR_WARMTH = 20.0, 8.0
"""The same of a thermometer in the head. [K]"""
BARE = 1000.0
"""A bare number in millilitres may have been meant in litres."""


@dataclass(frozen=True, slots=True)
class RunDoubts:
    """Looks at what is entered beside a running still.

    Parameters
    ----------
    frame : StepFrame
        Of a distil step.
    view : RunView
        The same run.
    utc : datetime
        When what is entered was so.
    system : {"metric", "us"}
    shown : callable
        Gives a moment as it is shown to people.
    """

    frame: StepFrame
    view: RunView
    utc: datetime
    system: System
    shown: Callable[[datetime], str]

    def total(self, taken: ReadingTaken, typed: str, field: str = "volume") -> tuple[Doubt, ...]:
        """Return what is odd about a total of distillate, what cannot be first.

        Parameters
        ----------
        taken : ReadingTaken
            Of the volume.
        typed : str
            As it was typed, without a unit added.
        field : str

        Returns
        -------
        doubts : tuple of Doubt
        """
        other = contradicted(self.frame.state, taken, self.utc)
        meant = self._in_litres(taken.value, typed)
        words = shown_reading(taken)
        if other is not None:
            later = other.utc > self.utc
            theirs = f"the {shown_reading(other.taken)} of {self.shown(other.utc)}"
            return (
                Doubt(
                    "contradicted",
                    field,
                    f"{words} is {'more' if later else 'less'} than {theirs}, and what was "
                    f"collected so far, all vessels of the run together, cannot become less{meant}",
                    ((f"Correct {theirs}", other.id),),
                    (
                        f"{theirs[:1].upper()}{theirs[1:]} is wrong: take it back, save this",
                        other.id,
                    ),
                    answerable=False,
                ),
            )
        return self.much(taken, typed, field)

    def much(self, taken: ReadingTaken, typed: str, field: str = "volume") -> tuple[Doubt, ...]:
        """Return the question whether a total is more than there can be, or than is expected."""
        odd = self._too_much(taken.value)
        meant = self._in_litres(taken.value, typed)
        words = f"{shown_reading(taken)} is {odd}{meant}"
        return (Doubt("much", field, words),) if odd else ()

    def jar(self, jar: JarFilled, typed: str) -> tuple[Doubt, ...]:
        """Return what is odd about a jar."""
        filled = jar.volume + sum(line.jar.volume for line in self.view.jars)
        shown = self._volume(jar.volume)
        meant = self._in_litres(filled, typed)
        whole = self._too_much(filled)
        by_now = self._by_now()
        total = self.view.last.get("volume")
        more = total is not None and filled > 1.5 * max(by_now or 0.0, total.value) + jar.volume / 2
        if whole or more:
            seen = "" if total is None else f"; the last total read is {self._volume(total.value)}"
            return (
                Doubt(
                    "jar-much",
                    "volume",
                    f"with a jar of {shown} the jars hold {self._volume(filled)}{seen}"
                    f"{', ' + whole if whole else ''}{meant}",
                ),
            )
        return ()

    def strength(self, taken: ReadingTaken, typed: str) -> tuple[Doubt, ...]:
        """Return the question whether another strength was meant."""
        last = self.view.last.get("strength")
        others = () if last is None else (last.value,)
        meant = meant_strength(self.view, taken, typed, self.utc, others)
        if meant is None:
            return ()
        expected = self._strength_now()
        return (
            Doubt(
                "slip",
                "strength",
                f"{typed.strip()} is far from the {format_quantity(expected, 'strength')} that is "
                f"expected now. Did you mean {meant}?"
                if expected is not None
                else f"Did you mean {meant}?",
            ),
        )

    def head(self, taken: ReadingTaken, typed: str) -> tuple[Doubt, ...]:
        """Return the question whether another temperature of the head was meant."""
        plain = outlook(self.view, self.utc)
        if plain is None or "F" in typed.upper():
            return ()
        far, near, zero = FAR_WARMTH, NEAR_WARMTH, 273.15
        expected = plain.head_temperature - zero
        number = taken.value - zero
        bare = f"{number:g}" if self.system == "us" else typed
        slip = digits_slip(bare, expected=expected, far=far, near=near)
        if slip is None:
            return ()
        return (
            Doubt(
                "head-slip",
                "head",
                f"{typed.strip()} in the head is far from the {expected:.0f} °C that is expected "
                f"now. Did you mean {slip.meant} °C?",
            ),
        )

    def cut(self, body: CutCalled) -> tuple[Doubt, ...]:
        """Return the question whether a cut is really called again, or going back."""
        return tuple(self._cut_doubts(body))

    def _cut_doubts(self, body: CutCalled) -> Iterator[Doubt]:
        order = [one.cut.into for one in self.view.cuts]
        called = {one.cut.into: one.called for one in self.view.cuts if one.called}
        at = called.get(body.into)
        if at is not None:
            yield Doubt(
                "cut-again",
                "into",
                f"{body.into} was called at {self.shown(at)} already; a cut is called once",
                tuple(
                    (f"The call of {self.shown(event.utc)}", event.id)
                    for event, one in self.frame.state.of(CutCalled)
                    if (one.step, one.into) == (body.step, body.into)
                ),
            )
            return
        if body.into not in order:
            return
        place = order.index(body.into)
        past = [one for one in called if order.index(one) > place]
        if past:
            yield Doubt(
                "cut-back",
                "into",
                f"{body.into} comes before {past[-1]}, which was called at "
                f"{self.shown(called[past[-1]])}; cuts go forward",
            )

    def _too_much(self, volume: float) -> str:
        """Return how a total is more than there can be, or than is expected; "" if it is not."""
        charge = (loaded_charge(self.frame) or planned_charge(self.frame)).volume
        whole = float(self.view.curve.volume[-1])
        if volume > charge:
            return f"more than the {self._volume(charge)} that went into the still"
        if volume > WHOLE_RUN * whole:
            return f"more than the {self._volume(whole)} that the whole run is expected to give"
        by_now = self._by_now()
        if by_now is not None and volume > FAR_VOLUME * by_now + LITTLE * whole:
            return (
                f"far more than the {self._volume(by_now)} that are expected by now, and the whole "
                f"run is expected to give {self._volume(whole)}"
            )
        return ""

    def _by_now(self) -> float | None:
        plain = outlook(self.view, self.utc)
        return None if plain is None else plain.volume

    def _strength_now(self) -> float | None:
        plain = outlook(self.view, self.utc)
        return None if plain is None else plain.strength

    def _in_litres(self, volume: float, typed: str) -> str:
        """Return the question whether a bare number of millilitres was meant in litres."""
        bare = typed.strip().replace(",", ".")
        litres = BARE * volume
        whole = float(self.view.curve.volume[-1])
        plain = self.system == "metric" and bare.replace(".", "", 1).isdigit()
        read = self.view.last.get("volume")
        least = 0.0 if read is None or read.at > self.utc else 0.98 * read.value
        if plain and least <= litres <= WHOLE_RUN * whole:
            return f". Did you mean {bare} L?"
        return ""

    def _volume(self, value: float) -> str:
        return format_quantity(value, "volume", system=self.system)


def _without_total(view: RunView) -> RunView:
    """Return a run without the totals read: what is expected by the clock alone."""
    return replace(view, last={name: one for name, one in view.last.items() if name != "volume"})


def meant_strength(
    view: RunView, taken: ReadingTaken, typed: str, utc: datetime, others: Iterable[float]
) -> str | None:
    """Return the strength somebody may have meant who read one that cannot well be.

    Parameters
    ----------
    view : RunView
        Of the run.
    taken : ReadingTaken
        A strength of the distillate.
    typed : str
        As it was typed.
    utc : datetime
        When it was read.
    others : iterable of float
        Other strengths of the run, at 20 °C, 0 to 1.

    Returns
    -------
    meant : str or None
        Such as "82 %vol"; None where the reading is near what is expected, or no slip of the
        finger explains it.
    """
    plain = outlook(view, utc)
    if plain is None or taken.quantity not in {"strength", "true_strength"}:
        return None
    proof = taken.reference == "60F"
    by_the_plan = outlook(_without_total(view), utc)
    known = [*others, *(() if by_the_plan is None else (by_the_plan.strength,))]
    if any(abs(other - taken.value) <= FAR_STRENGTH for other in known):
        return None  # two readings bear each other out; a total may be the slip instead
    scale, unit = (200.0, "proof") if proof else (100.0, "%vol")
    # What the instrument would show at its temperature: the difference is small beside a slip.
    shift = 0.0
    if not proof and taken.temperature is not None:
        try:
            shift = taken.value - true_strength(taken.value, taken.temperature, proof_scale=False)
        except ValueError:
            shift = 0.0
    slip = digits_slip(
        typed,
        expected=scale * (plain.strength + shift),
        far=scale * FAR_STRENGTH,
        near=scale * NEAR_STRENGTH,
    )
    return None if slip is None else f"{slip.meant} {unit}"
