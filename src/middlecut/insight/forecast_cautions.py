# SPDX-License-Identifier: MIT
"""What a forecast of a run warns of: the element, the heat nobody switched off, odd courses."""

from __future__ import annotations

from middlecut.insight.run_forecast import CutForecast, RunForecast, spoken, spoken_span
from middlecut.steps.result import Caution
from middlecut.units import format_quantity

__all__ = ["forecast_cautions"]

WIDE = 1.5
"""Factor of scatter from which it is worth saying."""
RARE, HALF = 0.005, 0.5
"""Shares of the draws below which a danger before the end is left unsaid, and above which a thing
is likely."""
NEAR = 900.0
"""How long before the element comes out of the liquid it is a danger whatever the plan. [s]"""
SILENT = 3600.0
"""How long nothing may be heard of a run before it is asked whether the heat is off. [s]"""


def forecast_cautions(
    found: RunForecast, *, overdue: bool, heard: float, dry: float, element_known: bool
) -> tuple[Caution, ...]:
    """Return the cautions of a forecast, dangers first.

    Parameters
    ----------
    found : RunForecast
        As far as it goes without them.
    overdue : bool
        Whether the first drop should have come by now.
    heard : float
        When something was last read or done, on the clock of the readings. [s]
    dry : float
        Share of the runs that would have nothing left that boils by now.
    element_known : bool
        Whether it was stated how much liquid covers the heating element.

    Returns
    -------
    tuple of Caution
    """
    dangers = _of_element(found) or _of_dryness(found, dry)
    # While it fills there is nothing to write down: silence says something only where it is late.
    waiting = found.phase == "filling" and bool(dangers)
    rows = [
        *dangers,
        *([] if element_known else _of_unknown_element(found)),
        *_of_heat(found),
        *(_of_silence(found, heard) if found.phase == "running" or waiting else []),
        *_of_course(found, overdue),
        *_of_scatter(found),
    ]
    return tuple(sorted(rows, key=lambda one: one.severity != "danger"))


def _of_element(found: RunForecast) -> list[Caution]:
    band = found.uncovered
    if band is None or found.heat_off:
        return []
    low, high = band.low - found.now, band.high - found.now
    ahead = spoken_span(max(low, 0.0), max(high, 0.0))
    if band.median <= found.now:
        since = spoken_span(max(-high, 0.0), -low)
        text = (
            f"If the heat is still on, the heating element is likely out of the liquid, for "
            f"{since}: switch it off now, and let all cool before opening or filling the boiler. "
            "A dry element can set vapour alight."
        )
    elif band.share >= RARE:
        text = (
            f"The heating element comes out of the liquid in {ahead}, before the run ends "
            f"({band.share:.0%} of the draws): switch off before that. A dry element can set "
            "vapour alight."
        )
    elif low < NEAR:
        text = (
            f"The heating element comes out of the liquid in {ahead} if the heat stays on: "
            "switch off before that. A dry element can set vapour alight."
        )
    else:
        return []
    return [
        Caution(
            "element-uncovered", "danger", text, band.median, None, "s", "description of the still"
        )
    ]


def _of_heat(found: RunForecast) -> list[Caution]:
    """Ask whether the heat is off where nobody said so."""
    if found.phase != "done" or found.heat_off or found.stopped is None:
        return []
    text = (
        "Is the heat off? The last cut was called, and heat-off was not marked; the figures take "
        f"it as off since {format_quantity(found.stopped, 'duration')} on the clock. If it is on, "
        "more comes over and less is left: mark heat-off when you switch off."
    )
    band = found.uncovered
    if band is not None and band.median > found.now:
        ahead = spoken_span(max(band.low - found.now, 0.0), band.high - found.now)
        text += f" If it stays on, the heating element comes out of the liquid in {ahead}."
    return [Caution("heat-not-marked", "watch", text, found.stopped, None, "s")]


def _of_silence(found: RunForecast, heard: float) -> list[Caution]:
    silent = found.now - heard
    if silent <= SILENT:
        return []
    text = (
        f"Nothing was read or marked for {spoken(silent)}: is the heat off? These figures assume "
        "that it is on. If it is off, mark heat-off at the time it went off."
    )
    return [Caution("nothing-heard", "watch", text, silent, SILENT, "s", "own limit")]


def _of_unknown_element(found: RunForecast) -> list[Caution]:
    left = found.boiler_volume.median
    if found.heat_off or left > found.collected.median:
        return []
    text = (
        "More has come over than is left, and the plan does not say how much liquid covers the "
        "heating element (element_covered_above): make sure that it stays covered. A dry element "
        "can set vapour alight."
    )
    return [Caution("element-unknown", "watch", text, left, None, "m³", "description of the still")]


def _of_dryness(found: RunForecast, dry: float) -> list[Caution]:
    if found.stopped is not None or dry <= HALF:
        return []
    text = (
        "If the heat stayed on, the boiler is boiled all but dry: switch off now, and let all "
        "cool before opening or filling it."
    )
    return [Caution("boiler-dry", "danger", text, dry, HALF, "1", "own limit")]


def _of_course(found: RunForecast, overdue: bool) -> list[Caution]:
    rows = []
    if overdue:
        rows.append(
            Caution(
                "first-drop-overdue",
                "watch",
                "The first drop should have come by now. If vapour is lost, switch off and search; "
                "otherwise check power, coolant and the charge, or mark the drop.",
                found.now,
            )
        )
    for one in found.cuts:
        if one.state == "over" and not one.called and found.phase != "done":
            rows += _not_called(one)
        if one.state != "over" and one.end.share < 0.9:
            text = (
                f"In {1.0 - one.end.share:.0%} of the draws the sign for the end of {one.into} "
                "never comes: have another sign ready."
            )
            rows.append(Caution("sign-doubtful", "watch", text, 1.0 - one.end.share, 0.1, "1"))
    return rows


def _not_called(one: CutForecast) -> list[Caution]:
    text = f"The end of {one.into} was not marked; it is taken where the plan has it."
    return [Caution("cut-not-called", "note", text, one.end.median, None, "s")]


def _of_scatter(found: RunForecast) -> list[Caution]:
    if found.widening < WIDE:
        return []
    return [
        Caution(
            "readings-scatter",
            "note",
            f"The readings scatter {found.widening:.1f} times as far as they should; the bands are "
            "widened by that.",
            found.widening,
            WIDE,
            "1",
            "own limit",
        )
    ]
