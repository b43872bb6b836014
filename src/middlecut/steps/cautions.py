# SPDX-License-Identifier: MIT
"""Cautions of a run, each with the number that caused it and where its limit comes from.

"danger" and "watch" say that this plan crosses a limit. What holds for every run of the kind is a
"note", with its numbers; what holds for every plan is in ``usual`` and is said once.
"""

from __future__ import annotations

from collections.abc import Mapping

from middlecut.errors import OutOfRangeError
from middlecut.steps import hazards
from middlecut.steps.curve import CutMark, RunFacts
from middlecut.steps.heat_up_cautions import first_vapour
from middlecut.steps.lot import Lot
from middlecut.steps.parameters import Distil
from middlecut.steps.result import Caution
from middlecut.steps.still import Still

__all__ = [
    "CHARGE_STRENGTH_LIMIT",
    "FOAMING_FILL",
    "SCORCHING_SOLIDS",
    "distil_cautions",
]

CHARGE_STRENGTH_LIMIT = 0.45
"""Strength of the charge from which a run calls for a caution; common practice."""

FOAMING_FILL = 0.5
"""Suggested fill for a charge that may foam; conservative, no published figure exists."""

SCORCHING_SOLIDS = 250.0
"""Dissolved solids from which laboratory practice adds water against charring. [kg m⁻³]
Regulation (EC) 2870/2000, Annex I (read)."""

_LABORATORY = "Regulation (EC) 2870/2000, Annex I"
_NO_FIGURE = "conservative default; no published figure for stills was found"
_NIOSH = "NIOSH Pocket Guide, ethyl alcohol"
_WASH_SOLIDS = 5.0  # kg/m³: more dissolved solids than this and the charge is taken for a wash
_DRY_SHARE = 0.05
_LONG_RUN = 8 * 3600.0
_SPIRIT_POWER = (0.50, 0.75)


def distil_cautions(
    *,
    parameters: Distil,
    still: Still,
    charge: Lot,
    pressure: float,
    facts: RunFacts,
    cuts: tuple[CutMark, ...],
    made: Mapping[str, Lot] | None = None,
) -> tuple[Caution, ...]:
    """Collect every caution of one run.

    Parameters
    ----------
    parameters : Distil
        The step, as checked.
    still : Still
        The still it runs on.
    charge : Lot
        What is in the boiler at the start.
    pressure : float
        Of the room. [Pa]
    facts : RunFacts
        Extremes of the run.
    cuts : tuple of CutMark
        As run.
    made : mapping of str to Lot, optional
        The lots made; with them methanol is given cut by cut.

    Returns
    -------
    tuple of Caution
        Dangers first, then watches, then notes.

    Examples
    --------
    The charge of a boiler filled to 90 % against a safe fill of two thirds brings "fill-high";
    ``tests/unit/test_distil_cautions.py`` goes through every one.
    """
    found = (
        *_fill(parameters, still, charge),
        *_strength(charge),
        *_element(still, charge, facts),
        *_head(parameters, still),
        *_condenser(still, facts, pressure),
        *_flooding(still, facts),
        *first_vapour(parameters, still, facts),
        *_reflux(parameters, still),
        *_scorching(charge, facts),
        *_open_path(still),
        *_fire(charge, cuts),
        *_running(parameters, facts),
        *_methanol(charge, made or {}, cuts),
    )
    rank = {"danger": 0, "watch": 1, "note": 2}
    return tuple(sorted(found, key=lambda caution: rank[caution.severity]))


def _fill(parameters: Distil, still: Still, charge: Lot) -> list[Caution]:
    fill = charge.volume / still.boiler_volume
    litres = f"{charge.volume * 1e3:.3g} L in a boiler of {still.boiler_volume * 1e3:.3g} L"
    if fill > still.safe_fill * (1.0 + 1e-9):
        most = still.safe_fill * still.boiler_volume * 1e3
        text = (
            f"The boiler is {fill * 100:.0f} % full: {litres}. Safe fill is "
            f"{still.safe_fill * 100:.0f} %, {most:.3g} L; above it liquid can boil over into the "
            "column. Split the charge."
        )
        return [Caution("fill-high", "danger", text, fill, still.safe_fill, "1", _NO_FIGURE)]
    solids = charge.solids / charge.volume if charge.volume > 0.0 else 0.0
    if fill > FOAMING_FILL and (parameters.purpose == "strip" or solids > _WASH_SOLIDS):
        text = (
            f"The boiler is {fill * 100:.0f} % full: {litres}. A wash may foam; at most half full "
            "is suggested for one that does. Heat slowly near the boil and watch the head."
        )
        return [Caution("foam", "watch", text, fill, FOAMING_FILL, "1", _NO_FIGURE)]
    return []


def _strength(charge: Lot) -> list[Caution]:
    if charge.strength < CHARGE_STRENGTH_LIMIT - 1e-9:
        return []
    text = (
        f"The charge has {charge.strength * 100:.1f} %vol. From 45 %vol on, dilute it before you "
        "heat it: what stays in the boiler gets scarce and everything in it burns more easily."
    )
    return [
        Caution(
            "charge-strong", "danger", text, charge.strength, CHARGE_STRENGTH_LIMIT, "1",
            "common practice; laboratories dilute above 50 %vol (" + _LABORATORY + ")",
        )
    ]  # fmt: skip


def _head(parameters: Distil, still: Still) -> list[Caution]:
    """Say what a cooled head of which nothing is known is taken for."""
    duty = max([still.coolant_duty, *(cut.coolant_duty or 0.0 for cut in parameters.cuts)])
    if still.head_known or duty <= 0.0:
        return []
    text = (
        "The plan does not say how well the cooled head separates (head_efficiency); its "
        f"{duty:.0f} W count as a whole equilibrium stage. A coil much colder than the vapour "
        "separates little, and then the spirit comes over weaker, by 2 %vol on one measured run: "
        "state it, or calibrate the still."
    )
    return [Caution("head-unknown", "note", text, duty, None, "W", "measured small run, 1300 m")]


def _element(still: Still, charge: Lot, facts: RunFacts) -> list[Caution]:
    least = still.element_covered_above
    if not still.element_known:
        text = (
            "The plan does not say how much liquid covers the heating element "
            '(element_covered_above). A bare element ignites vapour: find out, or say "0 L" if '
            f"the boiler is heated from outside. At the end {facts.boiler_volume_end * 1e3:.3g} L "
            "is left."
        )
        return [Caution("element-unknown", "watch", text, facts.boiler_volume_end, None, "m³",
                        "report of a prosecuted explosion, April 2022")]  # fmt: skip
    if least <= 0.0:
        return []
    source = "the still's own figure; report of a prosecuted explosion, April 2022"
    if charge.volume < least:
        text = (
            f"The charge of {charge.volume * 1e3:.3g} L does not cover the heating element, which "
            f"needs {least * 1e3:.3g} L. Do not switch on."
        )
        return [Caution("element-uncovered", "danger", text, charge.volume, least, "m³", source)]
    if facts.uncovered_after is not None:
        text = (
            f"The heating element comes out of the liquid {_clock(facts.uncovered_after)} after "
            f"the first drop, when less than {least * 1e3:.3g} L is left; at the end there are "
            f"{facts.boiler_volume_end * 1e3:.3g} L. Stop before that, or start with more."
        )
        return [
            Caution(
                "element-uncovered", "danger", text, facts.boiler_volume_end, least, "m³", source
            )
        ]
    if facts.boiler_volume_end < 1.25 * least:
        text = (
            f"Only {facts.boiler_volume_end * 1e3:.3g} L is left at the end; the heating element "
            f"needs {least * 1e3:.3g} L. Measure the charge before you switch on."
        )
        return [
            Caution("element-margin", "watch", text, facts.boiler_volume_end, least, "m³", source)
        ]
    return []


def _condenser(still: Still, facts: RunFacts, pressure: float) -> list[Caution]:
    found = []
    peak, able = facts.condenser_peak, still.condenser_duty
    if able > 0.0 and peak > 0.8 * able:
        over = peak > able
        text = (
            f"The condenser has to take up to {peak / 1e3:.2f} kW and can take {able / 1e3:.2f} kW"
            + (
                ": vapour will leave it uncondensed. Lower the power."
                if over
                else ". Keep the water cold and running, and watch for a warm or steaming outlet."
            )
        )
        code: tuple[str, str] = ("condenser-overload", "condenser-margin")
        found.append(
            Caution(code[0] if over else code[1], "danger" if over else "watch", text, peak,
                    able if over else 0.8 * able, "W", "the still's own figure")
        )  # fmt: skip
    elif able <= 0.0 and peak > 0.0:
        text = (
            f"The condenser has to take up to {peak / 1e3:.2f} kW; the plan does not say what it "
            "can take. Find out with water before you run alcohol."
        )
        found.append(Caution("condenser-unknown", "watch", text, peak, None, "W"))
    mass = hazards.vapour_rate(facts.vapour_heat_peak)
    if mass > 0.0:
        volume, air = hazards.vapour_volume(mass) * 3600.0, hazards.dilution_air(mass) * 3600.0
        text = (
            f"Should the cooling stop, up to {mass * 3600.0:.1f} kg of alcohol vapour an hour "
            f"({volume:.1f} m³/h at 20 °C) enters the room; keeping that at a tenth of the lower "
            f"explosive limit would take {air:.0f} m³ of air an hour. No room has that: switch the "
            "heat off first."
        )
        found.append(
            Caution("cooling-lost", "note", text, air / 3600.0, None, "m³/s",
                    f"computed from {_NIOSH}, at {pressure / 1e3:.0f} kPa taken as 101 kPa")
        )  # fmt: skip
    alcohol = facts.take_off_peak * facts.first_strength
    if alcohol > 0.0:
        lost = 0.01 * alcohol * 789.24
        text = (
            f"Air the room: if one part in a hundred of the alcohol running off at its fastest, "
            f"{alcohol * 3.6e6:.2f} L/h, evaporates at the receiver, it takes "
            f"{hazards.dilution_air(lost) * 3600.0:.1f} m³ of air an hour to stay at a tenth of "
            "the lower explosive limit, and three to ten times that in a real room."
        )
        found.append(
            Caution("ventilation", "note", text, hazards.dilution_air(lost), None, "m³/s", _NIOSH)
        )
    return found


def _flooding(still: Still, facts: RunFacts) -> list[Caution]:
    load = facts.flood_fraction
    if still.stages > 0.0 and still.column_diameter <= 0.0:
        text = (
            "The plan does not say how wide the column is (column_diameter), so whether it floods "
            "was not checked. A flooding column gurgles, surges and throws liquid into the head: "
            "lower the power then."
        )
        return [Caution("flooding-unknown", "watch", text, facts.boiler_heat_peak, None, "W")]
    if load <= 0.8:
        return []
    flooded = load > 1.0
    text = f"The vapour in the column reaches {load * 100:.0f} % of the load at which it floods" + (
        ": liquid will be thrown into the head and the column stops separating. Lower the power."
        if flooded
        else ". Lower the power if the column gurgles or the take-off surges."
    )
    return [
        Caution("flooding" if flooded else "flooding-near", "danger" if flooded else "watch", text,
                load, 1.0 if flooded else 0.8, "1", "computed; estimate of the flooding load")
    ]  # fmt: skip


def _reflux(parameters: Distil, still: Still) -> list[Caution]:
    if still.stages <= 0.0 or parameters.purpose == "strip":
        return []
    returned = still.head_loss + still.column_loss + still.coolant_duty
    divided = still.reflux_ratio or any(cut.reflux_ratio for cut in parameters.cuts)
    if returned > 0.0 or divided:
        return []
    text = (
        f"No reflux is stated: the {still.stages:.3g} stages of this column do nothing, and the "
        f"run is that of a plain pot. Give {still.name} a head_loss, column_loss, coolant_duty or "
        "reflux_ratio."
    )
    return [Caution("no-reflux", "watch", text, 0.0, None, "W", "balance of heat")]


def _scorching(charge: Lot, facts: RunFacts) -> list[Caution]:
    found = []
    left = facts.boiler_volume_end
    if left < _DRY_SHARE * charge.volume:
        text = (
            f"Only {left * 1e3:.2g} L of {charge.volume * 1e3:.3g} L is left in the boiler at the "
            "end. Never boil to dryness: stop earlier or start with more water."
        )
        found.append(
            Caution("boil-dry", "danger", text, left, _DRY_SHARE * charge.volume, "m³",
                    "laboratory safety texts on distillation; the limit is ours")
        )  # fmt: skip
    if charge.solids > 0.0 and charge.volume > 0.0:
        end = charge.solids / max(left, 1e-9)
        if end >= SCORCHING_SOLIDS:
            text = (
                f"Dissolved solids rise from {charge.solids / charge.volume:.0f} to {end:.0f} g/L "
                "in the boiler and can scorch on a hot surface. Stop earlier or add water."
            )
            found.append(
                Caution("scorching", "watch", text, end, SCORCHING_SOLIDS, "kg/m³", _LABORATORY)
            )
    return found


def _open_path(still: Still) -> list[Caution]:
    if still.basket_volume <= 0.0 and still.stages <= 0.0:
        return []
    what = "basket" if still.basket_volume > 0.0 else "column"
    text = (
        f"The vapour goes through a {what}: make sure nothing in it can swell, slip or pack "
        "together and close the way. A blocked path turns the boiler into a pressure vessel."
    )
    return [Caution("path-open", "note", text, source="review of published distillery accidents")]


def _fire(charge: Lot, cuts: tuple[CutMark, ...]) -> list[Caution]:
    parts = [(charge.name or "charge", charge.strength)]
    parts += [(cut.into, cut.strength) for cut in cuts]
    shown, lowest = [], None
    for name, strength in parts:
        try:
            point = hazards.flash_point(strength)
        except OutOfRangeError:
            continue  # below 5 %vol there is no row; above 96 %vol there is no such spirit
        shown.append(f"{point - 273.15:.0f} °C for {name}")
        lowest = point if lowest is None else min(lowest, point)
    if lowest is None:
        return []
    strong = [name for name, strength in parts if strength >= 0.60]
    text = (
        f"Flash points, as upper figures: {', '.join(shown)}. Reckon with fire from "
        f"{lowest - hazards.FLASH_POINT_MARGIN - 273.15:.0f} °C on; hot, all of it is above."
    )
    if strong:
        text += (
            f" In a closed vessel at 20 °C the vapour over {', '.join(strong)} can explode "
            "(from about 60 %vol)."
        )
    return [
        Caution("flash-point", "note", text, lowest, lowest - hazards.FLASH_POINT_MARGIN, "K",
                hazards.FLASH_POINT_SOURCE)
    ]  # fmt: skip


def _running(parameters: Distil, facts: RunFacts) -> list[Caution]:
    found = []
    total = facts.heat_up_time + facts.fill_time + facts.run_time
    if total > _LONG_RUN:
        text = (
            f"The run takes {_clock(total)} and must not be left alone. Share the watch, or split "
            "the charge."
        )
        found.append(Caution("run-long", "watch", text, total, _LONG_RUN, "s", "our own limit"))
    if facts.stalled_for > 60.0:
        text = (
            f"For {_clock(facts.stalled_for)} of the run nothing comes over: head and coolant send "
            "all vapour back. Raise the power or take less coolant there."
        )
        found.append(Caution("stalled", "watch", text, facts.stalled_for, 60.0, "s", "our own"))
    if parameters.purpose == "spirit":
        first = parameters.cuts[0].power
        power = parameters.power if first is None else first
        low, high = _SPIRIT_POWER
        if power > high + 1e-9:
            text = (
                f"A spirit run is usually driven at 50 to 75 % of full power; this one starts at "
                f"{power * 100:.0f} %. Less power means more reflux and cleaner cuts."
            )
            found.append(Caution("power-high", "note", text, power, high, "1"))
        elif power < low - 1e-9:
            text = (
                f"A spirit run is usually driven at 50 to 75 % of full power; this one starts at "
                f"{power * 100:.0f} %. It may stall when the boiler gets weak."
            )
            found.append(Caution("power-low", "note", text, power, low, "1"))
    return found


def _methanol(charge: Lot, made: Mapping[str, Lot], cuts: tuple[CutMark, ...]) -> list[Caution]:
    lots = [("charge", charge)]
    lots += [(cut.into, made[cut.into]) for cut in cuts if cut.into in made]
    shown, highest = [], 0.0
    for name, lot in lots:
        amount = lot.amounts.get("methanol")
        if amount is None or lot.pure_alcohol <= 0.0:
            continue
        level = amount.typical / lot.pure_alcohol
        shown.append(f"{level * 100.0:.3g} in {name}")
        highest = max(highest, level)
    if not shown:
        return []
    text = f"Methanol, g per hL of pure alcohol: {', '.join(shown)}. No cut takes it away for good."
    return [Caution("methanol-run", "note", text, highest, None, "kg/m³ pure alcohol",
                    "computed from the congener table")]  # fmt: skip


def _clock(seconds: float) -> str:
    minutes = round(seconds / 60.0)
    return f"{minutes} min" if minutes < 120 else f"{minutes // 60} h {minutes % 60:02d} min"
