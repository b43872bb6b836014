# SPDX-License-Identifier: MIT
"""Ranges of what plans make, worked out in the background, one plan at a time."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from middlecut.app.expectation import StillFit, read_plan
from middlecut.app.giving_way import WAY
from middlecut.app.reasons import reason_of
from middlecut.errors import MiddlecutError
from middlecut.insight.calibrated import parse_still
from middlecut.insight.ensemble import predict_bands
from middlecut.plan.prediction import Prediction
from middlecut.plan.sheet import Section, Sheet, make_sheet
from middlecut.plan.sheet_bands import table_bands
from middlecut.steps.band import Band, CurveBand, LotBand

__all__ = ["DRAWS", "KnownRanges", "Ranges", "work_out"]

DRAWS = 200
"""Enough for 5 and 95 % points to two digits; 500 take twice as long."""
_KEPT = 16
_WAITING = 4

_Key = tuple[str, tuple[StillFit, ...]]


@dataclass(frozen=True, slots=True)
class KnownRanges:
    """What is known of the ranges of a plan.

    Parameters
    ----------
    prediction : Prediction or None
        With the band of every number; None while they are being worked out.
    sheet : Sheet or None
        The same as words and tables.
    waiting : bool
        Whether they are still being worked out.
    trouble : str
        Why there are none; "" where there are, or will be.
    """

    prediction: Prediction | None = None
    sheet: Sheet | None = None
    waiting: bool = False
    trouble: str = ""

    @property
    def bands(self) -> dict[str, LotBand]:
        """Ranges of the lots, by lot."""
        if self.prediction is None:
            return {}
        lots = self.prediction.lots.items()
        return {name: lot.band for name, lot in lots if lot.band is not None}

    def curve(self, step: str) -> CurveBand | None:
        """Return the ranges along a run of the still."""
        result = None if self.prediction is None else self.prediction.steps.get(step)
        return None if result is None or result.curve is None else result.curve.band

    def tables(self, step: str) -> Mapping[str, Mapping[str, Mapping[str, Band]]]:
        """Return the ranges of the tables of a step, by title, row and column."""
        result = None if self.prediction is None else self.prediction.steps.get(step)
        return {} if result is None else table_bands(result)

    def section(self, step: str) -> Section | None:
        """Return what the sheet with ranges says of a step."""
        sections = () if self.sheet is None else self.sheet.sections
        return next((one for one in sections if one.step_id == step), None)


def work_out(text: str, fits: tuple[StillFit, ...] = ()) -> Prediction:
    """Return the prediction of a plan with the range of every number; takes seconds.

    Parameters
    ----------
    text : str
        A plan file.
    fits : tuple of StillFit
        Stills that run as measured.

    Returns
    -------
    prediction : Prediction

    Raises
    ------
    PlanError, InputError
        If the plan cannot be carried out, or hardly any draw of it.
    """
    used = [one for one in fits if not one.trouble]
    calibrated = {one.still: parse_still(one.document, "calibration") for one in used}
    # One worker: the pages need the other cores, and a process with threads must not be forked.
    # Between the draws it stands aside for whoever waits for a forecast or the like.
    return predict_bands(
        read_plan(text), DRAWS, 0, calibrated=calibrated, workers=1, cancelled=WAY.stand_aside
    )


class Ranges:
    """Works ranges out, one plan at a time, and remembers them.

    Parameters
    ----------
    work : callable
        Takes the text of a plan and its fits; returns the prediction with its ranges.
    """

    def __init__(self, work: Callable[[str, tuple[StillFit, ...]], Prediction] = work_out) -> None:
        self._work = work
        self._door = threading.Lock()
        self._known: OrderedDict[_Key, KnownRanges] = OrderedDict()
        self._waiting: list[_Key] = []
        self._now: _Key | None = None
        self._worker: threading.Thread | None = None

    def of(self, text: str, fits: tuple[StillFit, ...] = ()) -> KnownRanges:
        """Return what is known of a plan's ranges, at once; have them worked out if need be.

        Parameters
        ----------
        text : str
            A plan file that can be carried out.
        fits : tuple of StillFit
            Stills that run as measured.

        Returns
        -------
        known : KnownRanges
        """
        key = (text, fits)
        with self._door:
            known = self._known.get(key)
            if known is not None:
                self._known.move_to_end(key)
                return known
            if key != self._now:
                # What is looked at now comes first; what nobody asks for any more drops out.
                others = [one for one in self._waiting if one != key]
                self._waiting = [*others, key][-_WAITING:]
            if self._worker is None:
                self._worker = threading.Thread(target=self._run, name="ranges", daemon=True)
                self._worker.start()
        return KnownRanges(waiting=True)

    def wait(self) -> None:
        """Wait until nothing is left to work out."""
        worker = self._worker
        if worker is not None:
            worker.join()

    def _run(self) -> None:
        WAY.step_back()
        while True:
            with self._door:
                if not self._waiting:
                    self._worker = None
                    return
                key = self._now = self._waiting.pop()
            found = self._judged(key)
            with self._door:
                self._known[key] = found
                self._now = None
                while len(self._known) > _KEPT:
                    self._known.popitem(last=False)

    def _judged(self, key: _Key) -> KnownRanges:
        try:
            found = self._work(*key)
            # Of the single draws nothing is shown once the sheet is made; they are many megabytes.
            return KnownRanges(replace(found, ensemble=None), make_sheet(found))
        except MiddlecutError as error:
            return KnownRanges(trouble=reason_of(error))
        except Exception as error:  # noqa: BLE001 - whatever it is, the pages go on without ranges
            return KnownRanges(trouble=f"A fault of middlecut ({type(error).__name__}).")
