# SPDX-License-Identifier: MIT
"""Get ready what the first pages need, while nobody is waiting for one.

The first prediction of a process loads the libraries of numbers, the compiled run of a still and
the tables; whoever opens the first page would wait for it. This does it beforehand, in steps, each
only when no page is being answered.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from middlecut.app.expectation import expect_sheet
from middlecut.app.giving_way import WAY
from middlecut.app.record import Record
from middlecut.app.views.due import shed_rows
from middlecut.app.views.fits import fits_of
from middlecut.errors import MiddlecutError
from middlecut.plan.examples import example_path

__all__ = ["warmed_up"]

QUIET = 0.5
"""So long no page may have been answered before a step of it begins. [s]"""
_NEWEST = 2
"""Batches whose predictions are got ready: those touched last are opened first."""
_PATIENCE = 5.0
"""So long its end is waited for when the app closes. [s]"""


@contextmanager
def warmed_up(record: Record) -> Iterator[None]:
    """Get ready, in a thread of its own, what the first pages of a record need.

    Parameters
    ----------
    record : Record
        Open as long as the context is.
    """
    ending = threading.Event()
    worker = threading.Thread(target=_work, args=(record, ending), name="warm-up", daemon=True)
    worker.start()
    try:
        yield
    finally:
        ending.set()
        worker.join(_PATIENCE)


def _work(record: Record, ending: threading.Event) -> None:
    WAY.step_back()
    for step in _steps(record):
        if ending.is_set() or not WAY.until_quiet(QUIET, ending):
            return
        try:
            step()
        except MiddlecutError:
            continue  # the page that needs it says what is wrong


def _steps(record: Record) -> Iterator[Callable[[], object]]:
    yield _load
    newest: list[str] = []
    yield lambda: newest.extend(_newest(record))
    if not newest:
        yield lambda: expect_sheet(example_path("demo").read_text(encoding="utf-8"))
    for batch in newest:
        yield lambda batch=batch: _predict(record, batch)  # type: ignore[misc]


def _load() -> None:
    """Load what pages import late, and the templates' engine."""
    import middlecut.insight.calibrate  # noqa: PLC0415
    import middlecut.insight.forecast  # noqa: F401, PLC0415


def _newest(record: Record) -> list[str]:
    now = record.clock.now()
    rows = shed_rows(record, now=now, zone=now.tzinfo) if now.tzinfo else ()
    rows = tuple(sorted(rows, key=lambda row: row.touched, reverse=True))
    return [row.batch for row in rows if not row.closed][:_NEWEST]


def _predict(record: Record, batch: str) -> None:
    state = record.batch(batch)
    if state.plan is not None:
        expect_sheet(state.plan.text, fits_of(record, state))
