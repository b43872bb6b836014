# SPDX-License-Identifier: MIT
"""Use a calibrated still in a plan: put it in, or write it as the section of a plan file."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from importlib import metadata
from typing import TYPE_CHECKING

from middlecut.errors import InputError, NotFoundError
from middlecut.plan.positions import locate
from middlecut.plan.write import set_value, value_at

if TYPE_CHECKING:
    from middlecut.insight.calibrated import CalibratedStill
    from middlecut.insight.fermentation import FermentationCourse
    from middlecut.plan.model import Plan
    from middlecut.steps.still import Still

__all__ = ["still_section", "with_calibrated", "with_course", "with_section"]

# Key of the plan format, unit written, and what one SI unit is in it.
_KEYS = (
    ("boiler_volume", "L", 1e3),
    ("heater_power", "W", 1.0),
    ("safe_fill", "%", 1e2),
    ("heater_efficiency", "%", 1e2),
    ("boiler_loss", "W", 1.0),
    ("still_heat_capacity", "kJ/K", 1e-3),
    ("column_diameter", "mm", 1e3),
    ("stage_holdup", "mL", 1e6),
    ("column_loss", "W", 1.0),
    ("head_loss", "W", 1.0),
    ("head_holdup", "mL", 1e6),
    ("head_efficiency", "%", 1e2),
    ("coolant_duty", "W", 1.0),
    ("condenser_duty", "W", 1.0),
    ("coolant_rise", "K", 1.0),
    ("basket_volume", "L", 1e3),
    ("element_covered_above", "L", 1e3),
)
_DIGITS = 5
_BARE = re.compile(r"[A-Za-z0-9_-]+")
_LINE = re.compile(r"[^\n]*\n|[^\n]+")
_CALIBRATED, _CARE = "# Calibrated on ", "# Take with care: "


def with_calibrated(plan: Plan, calibrated: CalibratedStill, name: str | None = None) -> Plan:
    """Return a plan that runs a calibrated still in place of the one described.

    Parameters
    ----------
    plan : Plan
        What is intended.
    calibrated : CalibratedStill
        From a fit or a file.
    name : str or None
        Of the still in the plan; None: the name it was calibrated under.

    Returns
    -------
    Plan
        The same plan with that still.

    Raises
    ------
    NotFoundError
        If the plan has no still of that name.
    """
    key = calibrated.name if name is None else name
    if key not in plan.stills:
        raise NotFoundError("still", key, tuple(plan.stills)[:3])
    still = replace(calibrated.still, name=key)
    return replace(plan, stills={**plan.stills, key: still})


def still_section(calibrated: CalibratedStill, name: str | None = None) -> str:
    """Return the section of a plan file that describes a calibrated still.

    A plan stays one file from which a batch can be rebuilt: paste this over the old section.

    Parameters
    ----------
    calibrated : CalibratedStill
        From a fit or a file.
    name : str or None
        Of the still in the plan; None: the name it was calibrated under.

    Returns
    -------
    str
        TOML with units, the fitted values rounded to five digits, and where they come from.
    """
    still = calibrated.still
    if still.heater_efficiency > 1.0:
        # The mains gave more than the rated power; the format takes no share above the whole.
        power = still.heater_power * still.heater_efficiency
        still = replace(still, heater_power=power, heater_efficiency=1.0)
    told = calibrated.provenance
    key = calibrated.name if name is None else name
    source = (
        f"{_CALIBRATED}{told.get('readings', '?')} readings of {told.get('runs', '?')} "
        f"(middlecut {told.get('middlecut', '?')}, "
        f"readings {told.get('readings_sha256', '?')[:12]}"
        f"{', ' + told['date'] if told.get('date') else ''})."
    )
    word = key if _BARE.fullmatch(key) else json.dumps(key, ensure_ascii=False)
    lines = [" ".join(source.split())]
    if not calibrated.trustworthy:
        lines += [f"{_CARE}{' '.join(one.split())}" for one in calibrated.reasons]
    lines.append(f"[still.{word}]")
    for field, unit, factor in _KEYS:
        if field in _unsaid(still):
            continue
        lines.append(f'{field} = "{_number(factor * float(getattr(still, field)))} {unit}"')
    if still.stages > 0.0:
        lines.append(f"stages = {_number(still.stages)}")
    if still.reflux_ratio is not None:
        lines.append(f"reflux_ratio = {_number(still.reflux_ratio)}")
    lines.append(f"drains_back = {'true' if still.drains_back else 'false'}")
    told_of = {one.name: "fitted" for one in calibrated.parameters}
    told_of |= dict.fromkeys(calibrated.undetermined, "near the description; hardly read")
    found = []
    for line in lines:
        remark = told_of.get(line.partition(" = ")[0], "") if " = " in line else ""
        found.append(f"{line}  # {remark}" if remark else line)
    return "\n".join(found) + "\n"


def _unsaid(still: Still) -> set[str]:
    """Return what nobody has said of a still: it stays unsaid, and its caution stays."""
    silent = {
        "element_covered_above": not still.element_known,
        "head_efficiency": not still.head_known,
        "column_diameter": not still.column_diameter > 0.0,
    }
    return {field for field, unknown in silent.items() if unknown}


def with_section(text: str, calibrated: CalibratedStill, name: str | None = None) -> str:
    """Return the text of a plan with the section of a still replaced by the calibrated one.

    Parameters
    ----------
    text : str
        A plan file.
    calibrated : CalibratedStill
        From a fit or a file.
    name : str or None
        Of the still in the plan; None: the name it was calibrated under.

    Returns
    -------
    str
        Every other line as before; not yet read as a plan.

    Raises
    ------
    NotFoundError
        If the plan has no section of that still.
    """
    key = calibrated.name if name is None else name
    places = locate(text)
    if ("still", key) not in places or places["still", key].is_value:
        raise NotFoundError("section of the still", key)
    lines = _LINE.findall(text)  # as TOML counts them: no other sign ends a line
    inside = [place.line for path, place in places.items() if path[:2] == ("still", key)]
    first, last = places["still", key].line - 1, max(inside)
    while first > 0 and lines[first - 1].startswith((_CALIBRATED, _CARE)):
        first -= 1  # what an earlier fit said of itself
    kept = "".join(lines[:first]), "".join(lines[last:])
    return kept[0] + still_section(calibrated, key) + kept[1]


def with_course(text: str, step_id: str, course: FermentationCourse) -> str:
    """Return the text of a plan whose fermentation has the gravities that were fitted.

    Parameters
    ----------
    text : str
        A plan file.
    step_id : str
        Of the ferment step.
    course : FermentationCourse
        Fitted to its readings.

    Returns
    -------
    str
        Gravity and final gravity to four decimals; a line above all says where they come from.
        Not yet read as a plan.

    Raises
    ------
    InputError
        If the plan gives an attenuation in place of the final gravity.
    NotFoundError
        If the plan has no such step.
    """
    if value_at(text, f"step.{step_id}.attenuation") is not None:
        raise InputError(
            f"step.{step_id}.attenuation",
            value_at(text, f"step.{step_id}.attenuation"),
            "the fitted final gravity would stand beside it",
            "Replace attenuation by final_gravity in the plan first.",
        )
    readings = len(course.fit.residuals)
    ours = f"# Gravities of {' '.join(step_id.split())}: fitted to "
    note = f"{ours}{readings} readings (middlecut {_version()}).\n"
    leading = _LINE.findall(text)
    while leading and leading[0].startswith("# Gravities of "):
        if leading[0].startswith(ours):
            text = text.replace(leading[0], "", 1)  # what an earlier fit said of itself
        del leading[0]
    for key, window in (("gravity", course.gravity), ("final_gravity", course.final_gravity)):
        text = set_value(text, f"step.{step_id}.{key}", f"{window.typical:.4f} SG")
    return note + text


def _version() -> str:
    try:
        return metadata.version("middlecut")
    except metadata.PackageNotFoundError:
        return "unknown"


def _number(value: float) -> str:
    """Return a number of five digits without a power of ten."""
    rounded = float(f"{value:.{_DIGITS}g}")
    text = f"{rounded:.12f}".rstrip("0").rstrip(".")
    return text or "0"
