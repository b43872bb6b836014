# SPDX-License-Identifier: MIT
"""Draws and what-if on the command line: the progress bar, the changes, the comparison."""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from middlecut.cli.options import System
from middlecut.cli.output import columns, to_json, working
from middlecut.cli.results import Form
from middlecut.errors import CancelledError, InputError

if TYPE_CHECKING:
    from middlecut.insight.calibrated import CalibratedStill
    from middlecut.plan.model import Plan
    from middlecut.plan.prediction import Prediction

__all__ = ["compared", "read_changes", "with_ranges"]


def read_changes(words: Sequence[str]) -> dict[str, str]:
    """Return what --set asks for: values by their place.

    Parameters
    ----------
    words : sequence of str
        Each "place=value".

    Returns
    -------
    dict of str to str

    Raises
    ------
    InputError
        If a word has no "=" or a place comes twice.
    """
    found: dict[str, str] = {}
    for word in words:
        place, equals, value = word.partition("=")
        place, value = place.strip(), value.strip()
        if not equals or not place or not value:
            raise InputError(
                "--set", word, "a place, =, and a value", 'Write it like spirit.power="55 %".'
            )
        if place in found:
            raise InputError("--set", place, "each place once", "Leave one of the two out.")
        found[place] = value
    return found


def with_ranges(
    plan: Plan,
    changes: Mapping[str, str],
    *,
    draws: int,
    seed: int,
    still: Path | None = None,
    factors: Path | None = None,
) -> Prediction:
    """Predict a plan after some changes, with ranges when there are draws.

    Parameters
    ----------
    plan : Plan
    changes : mapping of str to str
        By place.
    draws, seed : int
        As given.
    still : Path or None
        A file of a calibrated still, run in place of the plan's description.
    factors : Path or None
        A file of factors that laboratory results have narrowed; for ranges only.

    Returns
    -------
    Prediction

    Raises
    ------
    CancelledError
        If the person at the keyboard interrupts the draws.
    """
    if changes:
        from middlecut.insight.explore import changed_plan  # noqa: PLC0415 - only with changes

        plan = changed_plan(plan, changes)
    known: dict[str, CalibratedStill] = {}
    rests_on: tuple[str, ...] = ()
    if still is not None:
        from middlecut.insight.calibrated import load_still  # noqa: PLC0415 - only with a still
        from middlecut.insight.calibrated_plan import with_calibrated  # noqa: PLC0415 - the same

        fitted = load_still(still)
        known[fitted.name] = fitted
        plan = with_calibrated(plan, fitted)
        rests_on += (fitted.origin(),)
    if factors is not None and draws < 2:
        raise InputError(
            "--factors", str(factors), "factors are taken with draws", "Add --draws 500."
        )
    if draws or seed:
        from middlecut.insight.ensemble import predict, predict_bands  # noqa: PLC0415 - the same

        if draws < 2:
            return replace(predict(plan, draws, seed), rests_on=rests_on)
        from middlecut.insight.narrowed_file import (  # noqa: PLC0415 - the same
            load_narrowed,
            narrowed_origin,
        )

        measured = () if factors is None else load_narrowed(factors)
        if factors is not None:
            rests_on += (narrowed_origin(factors),)
        try:
            with _bar(draws) as progress:
                found = predict_bands(
                    plan, draws, seed, calibrated=known, narrowed=measured, progress=progress
                )
                return replace(found, rests_on=rests_on)
        except KeyboardInterrupt:
            raise CancelledError(
                f"Stopped before the {draws} draws were done; nothing was printed or written."
            ) from None
    from middlecut.plan.predict import predict as predict_once  # noqa: PLC0415 - numerics

    with working("Predicting ..."):
        return replace(predict_once(plan), rests_on=rests_on)


def compared(plan: Plan, changes: Mapping[str, str], form: Form, system: System) -> str:
    """Return what some changes make different, in one form.

    Parameters
    ----------
    plan : Plan
    changes : mapping of str to str
        By place.
    form : Form
        Text, JSON or CSV.
    system : System
        Of units.

    Returns
    -------
    str

    Raises
    ------
    InputError
        If Markdown is asked for.
    """
    from middlecut.insight.difference_text import (  # noqa: PLC0415 - only here
        render_difference,
        render_difference_csv,
    )
    from middlecut.insight.explore import what_if  # noqa: PLC0415 - the same

    if form is Form.markdown:
        raise InputError("--compare", "--markdown", "text, JSON or CSV", "Leave --markdown out.")
    difference = what_if(plan, changes)
    if form is Form.json:
        return to_json(difference.to_dict())
    if form is Form.csv:
        return render_difference_csv(difference, system=system.value)
    return render_difference(difference, columns(), system.value)


@contextlib.contextmanager
def _bar(draws: int) -> Iterator[Callable[[int, int], None] | None]:
    """Show a bar on a terminal; it starts no thread, so that the work may fork."""
    if not sys.stderr.isatty() or os.environ.get("TERM") == "dumb":
        yield None
        return
    from rich.console import Console  # noqa: PLC0415 - only on a terminal
    from rich.progress import Progress  # noqa: PLC0415 - the same

    with Progress(console=Console(stderr=True), auto_refresh=False, transient=True) as bar:
        task = bar.add_task("Drawing ...", total=draws)

        def progress(done: int, _: int) -> None:
            bar.update(task, completed=done, refresh=True)

        yield progress
