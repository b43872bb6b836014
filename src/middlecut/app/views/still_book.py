# SPDX-License-Identifier: MIT
"""The stills of the workshop: how each is built, its limits, and what runs taught about it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from middlecut.app.batch import Batch
from middlecut.app.expectation import read_plan
from middlecut.app.record import Record
from middlecut.app.shop_events import StillCalibrated
from middlecut.app.stills import StillState
from middlecut.app.use_cases import AROUND_A_STILL
from middlecut.app.views.calibration import still_text
from middlecut.errors import InputError, NotFoundError, PlanError
from middlecut.insight.calibrate import CHARGE_STRENGTH, OFFSET, OFFSETS
from middlecut.insight.calibrated import CalibratedStill, parse_still
from middlecut.insight.calibrated_plan import still_section
from middlecut.steps import hazards
from middlecut.steps.result import Caution
from middlecut.steps.still import Still

__all__ = [
    "CalibrationView",
    "Limit",
    "Offer",
    "ParameterRow",
    "StillView",
    "fitted_rows",
    "limits_of",
    "offers",
    "still_cautions",
    "still_view",
    "stills",
]

_WORDS = {
    "heater_efficiency": ("share of the electrical power that reaches the liquid", "fraction"),
    "head_loss": ("heat the head loses to the room", "power"),
    "coolant_duty": ("heat the coolant in the head takes", "power"),
    "column_loss": ("heat the column loses to the room", "power"),
    "boiler_loss": ("heat the boiler loses to the room", "power"),
    "stage_holdup": ("liquid on one stage", "volume"),
    "stages": ("stages of the column", "ratio"),
}
_ALIKE = 0.8
"""Correlation from which two fitted numbers are named as tied to each other; our choice."""


@dataclass(frozen=True, slots=True)
class Limit:
    """A number that a run of the still keeps to.

    Parameters
    ----------
    label : str
    value : float or None
        [SI] None: the description does not say.
    dimension : str
    words : str
        What it means.
    """

    label: str
    value: float | None
    dimension: str
    words: str


@dataclass(frozen=True, slots=True)
class ParameterRow:
    """A fitted number beside what was described.

    Parameters
    ----------
    label : str
    dimension : str
    value, low, high, before : float
        [SI]
    known : bool
        Whether the readings say anything about it.
    """

    label: str
    dimension: str
    value: float
    low: float
    high: float
    before: float
    known: bool


@dataclass(frozen=True, slots=True)
class CalibrationView:
    """A calibration of a still.

    Parameters
    ----------
    body : StillCalibrated
    batch : str
        Name of the batch whose run it is.
    fitted : CalibratedStill or None
        None where its document cannot be read.
    rows : tuple of ParameterRow
    ties : tuple of str
        Sentences on numbers that the readings cannot tell apart.
    section : str
        What to put into a plan; "" where the document cannot be read.
    """

    body: StillCalibrated
    batch: str
    fitted: CalibratedStill | None
    rows: tuple[ParameterRow, ...]
    ties: tuple[str, ...]
    section: str


@dataclass(frozen=True, slots=True)
class StillView:
    """All there is about a still.

    Parameters
    ----------
    state : StillState
    still : Still or None
        None where this release cannot read the description.
    limits : tuple of Limit
    cautions : tuple of Caution
    calibrations : tuple of CalibrationView
        The newest first.
    used : tuple of (str, str)
        Id and name of the batches whose plans name it.
    """

    state: StillState
    still: Still | None
    limits: tuple[Limit, ...]
    cautions: tuple[Caution, ...]
    calibrations: tuple[CalibrationView, ...]
    used: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Offer:
    """A still that a plan describes and the record does not know yet.

    Parameters
    ----------
    name : str
    batch, batch_name : str
    text : str
        Its section.
    """

    name: str
    batch: str
    batch_name: str
    text: str


def stills(record: Record) -> tuple[StillState, ...]:
    """Return every still that was described, by name."""
    names = (stream.partition("/")[2] for stream in record.store.streams("still"))
    return tuple(sorted((record.still(name) for name in names), key=lambda one: one.id))


def still_view(record: Record, name: str) -> StillView:
    """Return all there is about a still.

    Parameters
    ----------
    record : Record
    name : str

    Returns
    -------
    view : StillView

    Raises
    ------
    NotFoundError
        If no still of that name was described.
    """
    state = record.still(name)
    batches = _batches(record)
    names = {batch.id: batch.name for batch in batches}
    still = _read(state)
    return StillView(
        state=state,
        still=still,
        limits=limits_of(still) if still else (),
        cautions=still_cautions(still) if still else (),
        calibrations=tuple(_calibration(one, names) for one in reversed(state.calibrated)),
        used=tuple((one.id, one.name) for one in batches if name in _stills_of(one)),
    )


def offers(record: Record) -> tuple[Offer, ...]:
    """Return the stills that plans describe and the record does not know yet, each once."""
    known = {state.id for state in stills(record)}
    found: dict[str, Offer] = {}
    for batch in _batches(record):
        for name in _stills_of(batch):
            if name in known or name in found or batch.plan is None:
                continue
            try:
                text = still_text(batch.plan.text, name)
            except NotFoundError:
                continue
            found[name] = Offer(name, batch.id, batch.name, text)
    return tuple(found.values())


def _batches(record: Record) -> tuple[Batch, ...]:
    ids = (stream.partition("/")[2] for stream in record.store.streams("batch"))
    return tuple(record.batch(one) for one in ids)


def _stills_of(batch: Batch) -> tuple[str, ...]:
    if batch.plan is None:
        return ()
    try:
        return tuple(read_plan(batch.plan.text).stills)
    except PlanError:
        return ()


def _read(state: StillState) -> Still | None:
    if state.described is None:
        return None
    try:
        plan = read_plan(f"{state.described.text}\n{AROUND_A_STILL}")
    except PlanError:
        return None
    return plan.stills.get(state.described.name)


def limits_of(still: Still) -> tuple[Limit, ...]:
    """Return the numbers that every run of a still keeps to.

    Parameters
    ----------
    still : Still

    Returns
    -------
    limits : tuple of Limit
    """
    found = [
        Limit(
            "Largest charge",
            still.safe_fill * still.boiler_volume,
            "volume",
            "safe fill; above it liquid can boil over. A wash that foams takes half the boiler.",
        ),
        Limit(
            "Least liquid",
            still.element_covered_above or None,
            "volume",
            "below it the heating element is uncovered: switch off before"
            if still.element_covered_above
            else "heated from outside, or not described",
        ),
        Limit(
            "Heat into the liquid at full power",
            _heat(still),
            "power",
            "what boils liquid once the boiler is hot",
        ),
        Limit(
            "Condenser takes",
            still.condenser_duty or None,
            "power",
            "all the vapour has to be condensed, also when the head returns nothing",
        ),
    ]
    if still.basket_volume > 0.0:
        words = "for what the vapour passes through"
        found.append(Limit("Basket", still.basket_volume, "volume", words))
    return tuple(found)


def _heat(still: Still) -> float:
    return max(still.heater_power * still.heater_efficiency - still.boiler_loss, 0.0)


def still_cautions(still: Still) -> tuple[Caution, ...]:
    """Return what a still is dangerous for whatever is run in it.

    Parameters
    ----------
    still : Still

    Returns
    -------
    cautions : tuple of Caution
        The charge and the plan bring more.
    """
    heat, able = _heat(still), still.condenser_duty
    found: list[Caution] = []
    if able <= 0.0:
        text = (
            "The description does not say what the condenser can take. Find out with water before "
            "alcohol is run: nothing may steam at the outlet at full power."
        )
        found.append(Caution("condenser-unknown", "watch", text, heat, None, "W"))
    elif heat > able:
        text = (
            f"At full power up to {heat / 1e3:.2f} kW reach the condenser, which can take "
            f"{able / 1e3:.2f} kW: vapour would leave it. Keep the power at "
            f"{100.0 * (able + still.boiler_loss) / _full(still):.0f} % or less."
        )
        found.append(
            Caution("condenser-overload", "danger", text, heat, able, "W", "its own figure")
        )
    if heat > 0.0:
        mass = hazards.vapour_rate(heat)
        text = (
            f"Should the cooling stop at full power, up to {mass * 3600.0:.1f} kg of alcohol "
            f"vapour an hour come into the room, and {hazards.dilution_air(mass) * 3600.0:.0f} m³ "
            "of air an hour would be needed to thin it. No room has that: switch the heat off "
            "first. Never leave a running still."
        )
        found.append(Caution("cooling-lost", "danger", text, mass, None, "kg/s", "NIOSH, computed"))
    text = (
        "The way from boiler to outlet has to stay open: nothing may ever close it. Where a still "
        "may stand and what it may be used for the law of the place decides; this page says only "
        "how it is built."
    )
    found.append(Caution("path-open", "danger", text))
    return tuple(found)


def _full(still: Still) -> float:
    return still.heater_power * still.heater_efficiency


def _calibration(body: StillCalibrated, names: dict[str, str]) -> CalibrationView:
    fitted = None
    if body.document:
        try:
            fitted = parse_still(body.document, "calibration")
        except InputError:
            fitted = None  # written by a later release; its summary can still be shown
    if fitted is None:
        rows = tuple(
            ParameterRow(*_named(one.name), one.value, one.value, one.value, one.value, known=True)
            for one in body.values
        )
        return CalibrationView(body, names.get(body.batch, ""), None, rows, (), "")
    rows = fitted_rows(fitted)
    ties = tuple(_ties(fitted))
    section = still_section(fitted)
    return CalibrationView(body, names.get(body.batch, ""), fitted, rows, ties, section)


def fitted_rows(fitted: CalibratedStill) -> tuple[ParameterRow, ...]:
    """Return the fitted numbers of a still and its instruments beside what was described."""
    vague = set(fitted.undetermined)
    return tuple(
        ParameterRow(
            *_named(one.name, one.prior_deviation),
            one.value,
            one.low,
            one.high,
            one.prior_mean,
            one.name not in vague,
        )
        for one in fitted.parameters
    )


def _named(name: str, spread: float = 0.0) -> tuple[str, str]:
    """Return label and dimension of a number; an instrument's kind shows in how far it may be off.

    "points" are those of a strength, as a share of the volume.
    """
    if name in _WORDS:
        return _WORDS[name]
    if name.startswith(CHARGE_STRENGTH):
        return f"charge {name.removeprefix(CHARGE_STRENGTH)} is stronger by", "points"
    if name.startswith(OFFSET):
        strength = "alcoholometer" in name or 0.0 < spread <= OFFSETS["strength"]
        label = f"{name.removeprefix(OFFSET)} shows too much by"
        return label, "points" if strength else "temperature_difference"
    return name.replace("_", " "), "ratio"


def _ties(fitted: CalibratedStill) -> Iterable[str]:
    """Say which fitted numbers move together, so that neither is to be read by itself."""
    told: set[frozenset[str]] = set()
    for one, other, value in fitted.inseparable:
        told.add(frozenset((one, other)))
        yield (
            f"The readings cannot tell “{_named(one)[0]}” from “{_named(other)[0]}” "
            f"(correlation {value:+.2f}): only both together are known."
        )
    names = [one.name for one in fitted.parameters]
    for place, one in enumerate(names):
        for later, other in enumerate(names[place + 1 :], place + 1):
            value = fitted.correlation[place][later]
            if abs(value) >= _ALIKE and frozenset((one, other)) not in told:
                yield (
                    f"“{_named(one)[0]}” and “{_named(other)[0]}” move together (correlation "
                    f"{value:+.2f}): if one is wrong, so is the other."
                )
