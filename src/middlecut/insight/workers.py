# SPDX-License-Identifier: MIT
"""Spread numbered pieces of work over the cores of this machine."""

from __future__ import annotations

import gc
import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import (
    FIRST_COMPLETED,
    Executor,
    Future,
    ProcessPoolExecutor,
    ThreadPoolExecutor,
    wait,
)
from typing import Any, TypeVar

from middlecut.errors import CancelledError

__all__ = ["cores", "in_chunks"]

T = TypeVar("T")
Work = Callable[[int, int], T]
"""Does the pieces from the first number up to but without the second."""

_LARGEST = 25
_PER_WORKER = 8


def cores() -> int:
    """Return how many cores this process may use.

    Returns
    -------
    int
        At least 1.
    """
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def in_chunks(
    work: Work[T],
    count: int,
    *,
    workers: int,
    cancelled: Callable[[], bool] | None = None,
) -> Iterator[T]:
    """Do numbered pieces of work in chunks, several at once, and give each result when it is there.

    Forked processes do the work where forking is safe, that is while this process has one thread
    (they see all it holds, so nothing is copied to them); otherwise threads.

    Parameters
    ----------
    work : callable
        Takes the first number and the one after the last; must not depend on other pieces.
    count : int
        Pieces, numbered from 0.
    workers : int
        At once; 1 works here and now.
    cancelled : callable, optional
        Asked between results; when it returns True the work stops.

    Yields
    ------
    object
        What ``work`` returns, in the order in which the chunks end.

    Raises
    ------
    CancelledError
        If the work was cancelled. Chunks under way are waited for.

    Notes
    -----
    An interrupt from the keyboard reaches this process alone, which then stops the others.
    """
    size = max(1, min(_LARGEST, count // (_PER_WORKER * workers)))
    spans = [(first, min(first + size, count)) for first in range(0, count, size)]
    if workers == 1:
        for span in spans:
            _stop_if(cancelled)
            yield work(*span)
        return
    pool, submit = _pool(work, workers)
    try:
        waiting: set[Future[T]] = {submit(*span) for span in spans}
        while waiting:
            ready, waiting = wait(waiting, timeout=0.1, return_when=FIRST_COMPLETED)
            _stop_if(cancelled)
            for future in ready:
                yield future.result()
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _stop_if(cancelled: Callable[[], bool] | None) -> None:
    if cancelled is not None and cancelled():
        raise CancelledError("The work was stopped before it was done; nothing of it is kept.")


def _pool(work: Work[T], workers: int) -> tuple[Executor, Callable[[int, int], Future[T]]]:
    can_fork = "fork" in multiprocessing.get_all_start_methods()
    if can_fork and threading.active_count() == 1:
        processes = ProcessPoolExecutor(
            workers,
            mp_context=multiprocessing.get_context("fork"),
            initializer=_Worker.start,
            initargs=(work,),
        )
        return processes, lambda first, last: processes.submit(_Worker.run, first, last)
    threads = ThreadPoolExecutor(workers)
    return threads, lambda first, last: threads.submit(work, first, last)


class _Worker:
    """A forked process; it holds the work it was started with."""

    work: Work[Any] | None = None

    @classmethod
    def start(cls, work: Work[Any]) -> None:
        """Take the work over; leave interrupts to the parent."""
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        gc.freeze()  # what is inherited stays shared with the parent
        cls.work = work

    @classmethod
    def run(cls, first: int, last: int) -> Any:
        """Do some of it."""
        if cls.work is None:
            raise RuntimeError("the worker was not started with any work")
        return cls.work(first, last)
