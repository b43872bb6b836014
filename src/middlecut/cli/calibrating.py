# SPDX-License-Identifier: MIT
"""Work out what ``middlecut calibrate`` is asked: fit a still, a fermentation, or factors."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from middlecut.cli.calibrate_text import Unused
from middlecut.cli.doors import opened
from middlecut.cli.fits import CourseFound, ExtractionFound, FactorsFound, Found, StillFound
from middlecut.cli.library import own_ingredients
from middlecut.cli.naming import naming
from middlecut.cli.output import working
from middlecut.cli.scales import read_strength
from middlecut.errors import InputError
from middlecut.insight.calibrate import fit_still
from middlecut.insight.fermentation import calibrate_fermentation
from middlecut.insight.fit_report import course_by_quantity, fit_by_quantity
from middlecut.insight.logged_run import ReadRun, read_run
from middlecut.insight.narrow import (
    narrow_volatility,
    read_lab_csv,
    result_check,
    usable_results,
)
from middlecut.insight.narrow_extraction import extraction_check, narrow_extraction
from middlecut.insight.readings import Reading, check_readings
from middlecut.insight.run_log_csv import read_run_log
from middlecut.liquid import alcoholometry
from middlecut.plan.read import load_plan
from middlecut.steps.lot import Lot
from middlecut.units import parse_quantity

if TYPE_CHECKING:
    import typer

    from middlecut.insight.readings import CheckedReadings, Refusal
    from middlecut.insight.still_model import LoggedRun
    from middlecut.plan.model import Plan

__all__ = ["Asked", "check_ending", "find"]

_ENDINGS = (".json", ".toml")


def check_ending(path: Path) -> None:
    """Refuse a file to write whose ending says no form."""
    if path.suffix.lower() not in _ENDINGS:
        raise InputError(
            "--write",
            str(path),
            f"the ending of the name chooses the form: {' or '.join(_ENDINGS)}",
            "Take .json for the still alone, .toml for the plan with the fitted values in it.",
        )


@dataclass(frozen=True, slots=True)
class Asked:
    """What was asked, as it was written.

    Parameters
    ----------
    plan : Path or None
    step : str
    readings : tuple of Path
    batch : str or None
    laboratory : Path or None
    charge, charge_strength : str or None
    profile : bool
    """

    plan: Path | None
    step: str
    readings: tuple[Path, ...]
    batch: str | None
    laboratory: Path | None
    charge: str | None
    charge_strength: str | None
    profile: bool = False

    def check(self) -> None:
        """Refuse what does not go together."""
        sources = {
            "--readings": bool(self.readings),
            "--laboratory": self.laboratory is not None,
            "--batch": self.batch is not None,
        }
        given = [name for name, there in sources.items() if there]
        if len(given) != 1:
            raise InputError(
                "calibrate",
                " and ".join(given) or "nothing to go by",
                f"one of {', '.join(sources)} is needed, and one only",
                "Write --readings run.csv.",
            )
        if (self.plan is None) != (self.batch is not None):
            raise InputError(
                "PLAN",
                "none" if self.plan is None else str(self.plan),
                "a plan file is needed with --readings and --laboratory; a batch of the record "
                "has its own plan",
                "Name the plan first, or leave it out beside --batch.",
            )
        if (self.charge is None) != (self.charge_strength is None):
            raise InputError(
                "--charge",
                self.charge or self.charge_strength,
                "volume and strength of the charge go together",
                'Write --charge "18 L" --charge-strength "30 %vol".',
            )
        if self.charge is not None and len(self.readings) != 1:
            raise InputError(
                "--charge",
                self.charge,
                "it says what one run was loaded with, and goes with one file of --readings",
                "Fit the runs one by one, or leave it out.",
            )

    def lot(self) -> Lot | None:
        """Return the charge that was given, or None."""
        if self.charge is None or self.charge_strength is None:
            return None
        volume = parse_quantity(self.charge, "volume", field="--charge")
        strength = read_strength(self.charge_strength, "--charge-strength")
        if not (volume > 0.0 and strength > 0.0):
            raise InputError(
                "--charge", f"{self.charge} at {self.charge_strength}",
                "both lie above 0", 'Write --charge "18 L" --charge-strength "30 %vol".',
            )  # fmt: skip
        with naming({"strength": ("--charge-strength", self.charge_strength)}):
            share = float(alcoholometry.mass_fraction_from_strength(strength))
        mass = volume * float(alcoholometry.density_20(share))
        return Lot("charge", mass * (1.0 - share), mass * share)


def find(asked: Asked, context: typer.Context, record: str | None) -> Found:
    """Return what the measurements say.

    Raises
    ------
    InputError
        If something given does not go together, or does not suffice for a fit.
    NotFoundError
        If there is no such file, step or batch.
    ConvergenceError
        If nothing fits.
    """
    if asked.batch is not None:
        return _of_batch(asked, asked.batch, context, record)
    assert asked.plan is not None  # noqa: S101 - checked with what was asked
    plan = load_plan(asked.plan, own_ingredients())
    text = asked.plan.read_text(encoding="utf-8-sig")
    if asked.laboratory is not None:
        return _of_laboratory(asked.step, plan, asked.laboratory)
    if plan.step(asked.step).kind == "ferment":
        return _of_wash(asked, plan, text)
    logs = [read_run_log(path) for path in asked.readings]
    read = [
        read_run(plan, asked.step, log.entries, charge=asked.lot(), name=path.stem)
        for path, log in zip(asked.readings, logs, strict=True)
    ]
    _check_different(asked.readings, [one.run for one in read])
    unreadable = tuple(one for log in logs for one in log.refused)
    return _fitted(
        plan, text, [one.run for one in read], _unused(read, unreadable), profile=asked.profile
    )


def _of_laboratory(step: str, plan: Plan, path: Path) -> Found:
    """Return what the results of a laboratory narrow; single bad rows are left out."""
    results, refused = read_lab_csv(path, plan.compounds.values())
    kind, additions = plan.step(step).kind, getattr(plan.step(step), "additions", ())
    with working("Carrying the step out again for each compound ..."):
        if kind == "distil" or (kind in {"steep", "ferment"} and additions):
            check = (result_check if kind == "distil" else extraction_check)(plan, step)
            results, more = usable_results(results, check)
            refused = tuple(sorted((*refused, *more), key=lambda one: one.line or 0))
            if refused and not results:
                listed = "\n".join(f"  - line {one.line}: {one.reason}" for one in refused)
                allowed = f"none of its {len(refused)} results can be used:\n{listed}"
                raise InputError("--laboratory", str(path), allowed)
        unused = Unused(unreadable=refused)
        if kind in {"steep", "ferment"}:
            found = narrow_extraction(plan, step, results)
            return ExtractionFound(found, unused, path.name)
        compounds = narrow_volatility(plan, step, results)
    return FactorsFound(step, compounds, unused, path.name)


def _check_different(paths: tuple[Path, ...], runs: list[LoggedRun]) -> None:
    """Refuse the same run given twice, which would count as two."""
    seen: dict[tuple[Reading, ...], Path] = {}
    for path, run in zip(paths, runs, strict=True):
        if run.readings in seen:
            raise InputError(
                "--readings",
                str(path),
                f"it holds the readings of {seen[run.readings]}, and a run counts once",
                "Leave one of the two out.",
            )
        seen[run.readings] = path


def _fitted(
    plan: Plan, text: str, runs: list[LoggedRun], unused: Unused, *, profile: bool
) -> StillFound:
    with working("Running the still many times over ..."):
        fitted = fit_still(plan.stills[runs[0].step.still], runs, profile=profile)
        quantities = fit_by_quantity(fitted, runs)
    return StillFound(text, fitted, tuple(runs), quantities, unused)


def _unused(found: list[ReadRun], unreadable: tuple[Refusal, ...]) -> Unused:
    return Unused(
        unreadable=unreadable,
        refused=tuple(one for run in found for one in run.refused),
        marks=tuple(
            f"mark {one.mark.kind} at {one.mark.time / 60.0:.1f} min: {one.reason}"
            for run in found
            for one in run.refused_marks
        ),
        flagged=tuple(one for run in found for one in run.flagged),
    )


def _of_wash(asked: Asked, plan: Plan, text: str) -> CourseFound:
    if len(asked.readings) != 1 or asked.charge is not None:
        raise InputError(
            "--readings",
            ", ".join(map(str, asked.readings)),
            "a fermentation happens once, and its plan says what is in it",
            "Give one file, and no charge.",
        )
    log = read_run_log(asked.readings[0])
    checked = check_readings(one for one in log.entries if isinstance(one, Reading))
    return _course(plan, text, asked.step, checked, log.refused)


def _course(
    plan: Plan,
    text: str,
    step: str,
    checked: CheckedReadings,
    unreadable: tuple[Refusal, ...] = (),
) -> CourseFound:
    course = calibrate_fermentation(plan, step, checked.used)
    left_out = [one.reading for one in course.refused]
    times = tuple(sorted(one.time for one in checked.used if one not in left_out))
    unused = Unused(unreadable, (*checked.refused, *course.refused), (), checked.flagged)
    return CourseFound(text, step, course, times, course_by_quantity(course), unused)


def _of_batch(asked: Asked, name: str, context: typer.Context, record: str | None) -> Found:
    """Return what the readings of a batch of the record say."""
    from middlecut.app.batch_lookup import find_batch  # noqa: PLC0415 - only here
    from middlecut.app.expectation import read_plan  # noqa: PLC0415 - the same
    from middlecut.app.views.calibration import checked_run, run_of  # noqa: PLC0415 - the same
    from middlecut.app.views.frame import step_frame  # noqa: PLC0415 - the same
    from middlecut.app.views.readings import gravity_readings  # noqa: PLC0415 - the same

    step = asked.step
    with opened(context, record) as store:
        state = find_batch(store, name)
    frame = step_frame(state, step)
    plan = read_plan(frame.plan_text)
    if frame.kind == "ferment":
        if frame.step.started is None:
            raise InputError(
                "--step", step, "it has not begun in the record", "Start it and read its gravity."
            )
        checked = check_readings(gravity_readings(state, step, frame.step.started))
        return _course(plan, frame.plan_text, step, checked)
    run, checked = run_of(frame), checked_run(frame)
    unused = Unused(refused=checked.refused, flagged=checked.flagged)
    return _fitted(plan, frame.plan_text, [run], unused, profile=asked.profile)
