# SPDX-License-Identifier: MIT
"""Ranges of what plans make, worked out in the background, one plan at a time."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from middlecut.app.expectation import StillFit, read_plan
from middlecut.errors import MiddlecutError
from middlecut.insight.calibrated import parse_still
from middlecut.insight.ensemble import predict_bands
from middlecut.steps.band import LotBand

__all__ = ["DRAWS", "KnownRanges", "Ranges", "work_out"]

DRAWS = 200
"""Enough for 5 and 95 % points to two digits; 500 take twice as long."""
_KEPT = 16
_WAITING = 4

_Key = tuple[str, tuple[StillFit, ...]]
_Bands = Mapping[str, LotBand]


@dataclass(frozen=True, slots=True)
class KnownRanges:
    """What is known of the ranges of a plan.

    Parameters
    ----------
    bands : mapping of str to LotBand
        By lot; empty while they are being worked out.
    waiting : bool
        Whether they are still being worked out.
    trouble : str
        Why there are none; "" where there are, or will be.
    """

    bands: _Bands = field(default_factory=lambda: MappingProxyType({}))
    waiting: bool = False
    trouble: str = ""


def work_out(text: str, fits: tuple[StillFit, ...] = ()) -> _Bands:
    """Return the range of every lot of a plan; takes seconds.

    Parameters
    ----------
    text : str
        A plan file.
    fits : tuple of StillFit
        Stills that run as measured.

    Returns
    -------
    bands : mapping of str to LotBand
        By lot.

    Raises
    ------
    PlanError, InputError
        If the plan cannot be carried out, or hardly any draw of it.
    """
    used = [one for one in fits if not one.trouble]
    calibrated = {one.still: parse_still(one.document, "calibration") for one in used}
    # One worker: the pages need the other cores, and a process with threads must not be forked.
    found = predict_bands(read_plan(text), DRAWS, 0, calibrated=calibrated, workers=1)
    return {name: lot.band for name, lot in found.lots.items() if lot.band is not None}


class Ranges:
    """Works ranges out, one plan at a time, and remembers them.

    Parameters
    ----------
    work : callable
        Takes the text of a plan and its fits; returns the ranges of its lots.
    """

    def __init__(self, work: Callable[[str, tuple[StillFit, ...]], _Bands] = work_out) -> None:
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
            return KnownRanges(self._work(*key))
        except MiddlecutError as error:
            return KnownRanges(trouble=str(error))
        except Exception as error:  # noqa: BLE001 - whatever it is, the pages go on without ranges
            return KnownRanges(trouble=f"A fault of middlecut ({type(error).__name__}).")
