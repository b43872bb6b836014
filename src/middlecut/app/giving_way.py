# SPDX-License-Identifier: MIT
"""Work behind the pages stands aside while somebody waits for an answer."""

from __future__ import annotations

import contextlib
import os
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager

__all__ = ["WAY", "GivingWay"]

LONGEST = 60.0
"""Work behind the pages stands aside for so long at most, lest it never gets done. [s]"""
_NICE = 10


class GivingWay:
    """Who is waited for, and who stands aside meanwhile."""

    def __init__(self) -> None:
        self._changed = threading.Condition()
        self._awaited = 0
        self._answers = 0
        self._last = time.monotonic()

    @contextmanager
    def awaited(self) -> Iterator[None]:
        """Mark work that somebody waits for."""
        with self._changed:
            self._awaited += 1
        try:
            yield
        finally:
            with self._changed:
                self._awaited -= 1
                self._changed.notify_all()

    def begin_answer(self) -> None:
        """Note that a page is being answered."""
        with self._changed:
            self._answers += 1

    def end_answer(self) -> None:
        """Note that one answer is on its way."""
        with self._changed:
            self._answers -= 1
            self._last = time.monotonic()
            self._changed.notify_all()

    def until_quiet(self, span: float, ending: threading.Event) -> bool:
        """Return once no page was being answered for a while.

        Parameters
        ----------
        span : float
            That while. [s]
        ending : threading.Event
            Set when there is no more use in waiting.

        Returns
        -------
        quiet : bool
            False if it is no more use.
        """
        with self._changed:
            while not ending.is_set():
                left = span - (time.monotonic() - self._last)
                if not self._answers and left <= 0.0:
                    return True
                self._changed.wait(max(left, 0.05))
        return False

    def stand_aside(self) -> bool:
        """Return when nobody waits any more; False always, as the work goes on then."""
        with self._changed:
            self._changed.wait_for(lambda: self._awaited == 0, LONGEST)
        return False

    def step_back(self) -> None:
        """Let this thread have what the others leave of the processor, where threads can.

        Only Linux takes the id of a thread there; elsewhere it may be that of another process.
        """
        if sys.platform == "linux":
            with contextlib.suppress(OSError):
                os.setpriority(os.PRIO_PROCESS, threading.get_native_id(), _NICE)


WAY = GivingWay()
"""Of this process."""
