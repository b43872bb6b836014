# SPDX-License-Identifier: MIT
"""A run of the still: before it, beside it, after it."""

from __future__ import annotations

from hashlib import sha256
from typing import Annotated, Any

from fastapi import APIRouter, Form
from starlette.responses import Response

from middlecut.app.batch_events import EntryWithdrawn, NoteWritten, ReadingTaken
from middlecut.app.doubts import Doubt
from middlecut.app.events import Body
from middlecut.app.run_doubts import RunDoubts
from middlecut.app.running_totals import PRESENT
from middlecut.app.spirit_events import CutCalled, JarFilled, PowerSet
from middlecut.app.use_cases import note
from middlecut.app.views.alarms import alarms, slips
from middlecut.app.views.calibration import checked_run, fit_run, keep_fit, kept_fit
from middlecut.app.views.forecast import Said, forecast_said, sharpened
from middlecut.app.views.frame import StepFrame
from middlecut.app.views.outlook import outlook, until_words
from middlecut.app.views.run import CalledCut, LastReading, RunView, distil_parts, run_view
from middlecut.errors import ConvergenceError, InputError, UnitError
from middlecut.insight.calibrated import CalibratedStill
from middlecut.units import System, format_quantity, parse_quantity
from middlecut.web.bench import (
    Sending,
    amount,
    entry_of,
    form_of,
    keep,
    moment_of,
    reading,
    step_address,
    typed_in,
    unit_beside,
    with_unit,
)
from middlecut.web.forms import FormState
from middlecut.web.run_charts import after_table, run_chart
from middlecut.web.step_pages import frame_of, show_step
from middlecut.web.visit import Visit, Visiting

__all__ = ["context_of", "router"]

router = APIRouter()
_STEP = "/batch/{batch}/step/{step}"


class ReadForm(Sending):
    """What can be read beside a still, in one go."""

    strength: str = ""
    temperature: str = ""
    volume: str = ""
    head: str = ""
    boiler: str = ""
    power: str = ""
    text: str = ""


class CutForm(Sending):
    """A cut that is called."""

    into: str = ""
    power: str = ""
    reason: str = ""
    power_of: str = ""
    """Cut whose power the plan put into the field; another cut has its own."""
    power_given: str = ""
    """That power, as it stood in the field."""


class JarForm(Sending):
    """A jar that is full."""

    jar: str = ""
    volume: str = ""
    strength: str = ""
    temperature: str = ""
    lot: str = ""


def context_of(visit: Visit, frame: StepFrame) -> tuple[str, dict[str, Any]]:
    """Return the template of a run in its phase and what it needs."""
    view = run_view(frame)
    system = visit.preferences.units
    band = visit.ranges(frame.plan_text, frame.fits).curve(frame.id)
    shared = {"view": view, "until_words": until_words, "chart": run_chart(view, visit.now, band)}
    if view.phase == "before":
        return "step/distil_before.html", shared
    if view.phase == "after":
        return "step/distil_after.html", {
            **shared,
            "checked": checked_run(frame),
            "cuts": after_table(frame, view),
            "fitted": None,
            "fit_trouble": "",
            "forms": {"fit": FormState()},
        }
    plain = outlook(view, visit.now)
    said = None
    if visit.request.query_params.get("forecast") == "yes":
        said = forecast_said(frame, view, visit.now, fit=kept_fit(visit.record, frame))
        plain = None if plain is None else sharpened(plain, said, view, visit.now)
    mistakes = slips(frame, view)
    return "step/distil_during.html", {
        **shared,
        "slips": mistakes,
        "slipped": "strength" in view.last
        and any(one.meant and one.at == view.last["strength"].at for one in mistakes),
        "alarms": alarms(view, said, mistakes),
        "outlook": plain,
        "said": said,
        "uncovered": _uncovered(said),
        "lots": [*(one.cut.into for one in view.cuts)],
        "powers": _powers(view),
        "last": {name: _as_typed(name, one, system) for name, one in view.last.items()},
        "forms": _fresh_forms(view, system),
    }


def _uncovered(said: Said | None) -> str:
    """Return when the heating element comes out of the liquid, unless a caution says so."""
    from middlecut.insight.run_forecast import element_sentence  # noqa: PLC0415 - with a forecast

    if said is None or said.forecast is None:
        return ""
    return element_sentence(said.forecast)


_NAMES = {
    "strength": "strength",
    "volume": "volume so far",
    "head": "head temperature",
    "boiler": "boiler temperature",
    "power": "power",
    "text": "note",
}
"""What is read in one go, in words."""
_DIMENSIONS = {"volume": "volume", "strength": "strength"}


def _as_typed(name: str, one: LastReading, system: System) -> str:
    """Return a reading as it was typed; one that was not typed as it would be."""
    typed = one.text.partition(" at ")[0]
    if typed:
        return typed
    return format_quantity(one.shown, _DIMENSIONS.get(name, "temperature"), system=system)


def _warmth(view: RunView, system: System) -> str:
    """Return the temperature of the liquid as it was last given."""
    read = view.last.get("strength")
    if read is None or read.temperature is None:
        return ""
    typed = read.text.partition(" at ")[2]
    return typed or format_quantity(read.temperature, "temperature", system=system)


def _fresh_forms(view: RunView, system: System) -> dict[str, FormState]:
    """Return the forms beside the still; what seldom changes is remembered."""
    warmth = _warmth(view, system)
    jar = view.jars[-1].jar if view.jars else None
    running = view.running
    size = "" if running is None else _jar_size(running, system)
    return {
        "read": FormState({"temperature": warmth}),
        "cut": FormState(_next_cut(view)),
        "jar": FormState(
            {
                "jar": view.next_jar,
                "volume": size if jar is None else jar.as_entered.partition(" at ")[0] or size,
                "temperature": warmth,
                "lot": running.cut.into if running else "",
            }
        ),
    }


def _next_cut(view: RunView) -> dict[str, str]:
    """Return the next cut of the plan with its power."""
    if view.upcoming is None:
        return {"into": ""}
    into = view.upcoming.cut.into
    power = _powers(view)[into]
    return {"into": into, "power": power, "power_of": into, "power_given": power}


def _powers(view: RunView) -> dict[str, str]:
    """Return the power the plan has for each cut, as it is typed."""
    return {one.cut.into: format_quantity(one.mark.power, "fraction", digits=0)
            for one in view.cuts}  # fmt: skip


def _power_of_cut(view: RunView, form: FormState, step: str, into: str) -> PowerSet | None:
    """Return the power set with a cut: as typed, else as the plan has it for that very cut."""
    planned = next((one.mark.power for one in view.cuts if one.cut.into == into), None)
    typed = form.values["power"].strip()
    given = form.values["power_given"].strip()
    left = not typed or (typed == given and form.values["power_of"] != into)
    if left and planned is not None and "power" not in form.errors:
        return PowerSet(step, share=round(planned, 6))
    return _power(form, step)


def _jar_size(running: CalledCut, system: System) -> str:
    volume = running.cut.jar_volume
    return "" if volume is None else format_quantity(volume, "volume", system=system)


@router.post(f"{_STEP}/read")
def read(visit: Visiting, batch: str, step: str, sent: Annotated[ReadForm, Form()]) -> Response:
    """Record whatever was read at one moment; only what is asked about waits for its answer."""
    visit = typed_in(visit, sent)
    form = form_of(sent)
    frame = frame_of(visit, batch, step)
    distil_parts(frame)  # there is no other step to read like this
    bodies = _bodies(visit, frame, form)
    if form.good and not bodies:
        form.fault("strength", "at least one reading", "Type one, or none at all.", "Reading")
    if form.good and sent.take_back:
        _take_back(visit, batch, form)
        frame = frame_of(visit, batch, step)
    if form.good:
        _keep_readings(visit, frame, form, bodies)
    if not form.good:
        return show_step(visit, batch, step, forms={"read": form}, status=422)
    return visit.go(step_address(batch, step), said="saved")


def _take_back(visit: Visit, batch: str, form: FormState) -> None:
    """Withdraw a total that was the slip, as the form says."""
    entry = visit.record.batch(batch).entries.get(form.values["take_back"])
    if entry is None or not entry.holds:
        return  # it was taken back already
    key = form.values["entry_key"][:190]
    how = visit.entry(f"{key}-back" if key else "")
    body = EntryWithdrawn(entry.event.id, "taken for a slip when the next was read")
    form.tried("volume", "Volume so far", lambda: note(visit.record, batch, body, entry=how))


def _keep_readings(visit: Visit, frame: StepFrame, form: FormState, bodies: list[Body]) -> None:
    """Keep what was read; what is asked about stays in the form, the rest is not lost with it."""
    batch, find = frame.state.id, visit.record.store.find_key
    parts = {body: _part_key(form.values["entry_key"], body) for body in bodies}
    # What was kept of this entry when something beside it was asked about is not kept again.
    bodies = [body for body in bodies if not (parts[body] and find(parts[body]))]
    if not bodies:
        return
    look = _looking(visit, frame, form)
    odd = {body: _odd(look, form, body) for body in bodies}
    waiting = FormState(form.values)
    waiting.ask(one for found in odd.values() for one in found)
    asked = {one.field for one in waiting.doubts}
    good = [body for body, found in odd.items() if not asked & {one.field for one in found}]
    if len(good) in (0, len(bodies)) or visit.now - visit.typed > PRESENT:
        doubts = [one for found in odd.values() for one in found]
        keep(visit, batch, form, *bodies, field="strength", label="Reading", doubts=doubts)
    elif all(_kept_alone(visit, batch, form, body, parts[body]) for body in good):
        kept = _NAMES.keys() - asked
        saved = {name for name in kept if form.values[name].strip()}
        form.values = {
            name: "" if name in kept or name == "entry_key" else typed
            for name, typed in form.values.items()
        }
        form.ask(waiting.doubts)
        form.kept = ", ".join(_NAMES[name] for name in _NAMES if name in saved)


def _part_key(key: str, body: Body) -> str:
    """Return the key of one reading: under the key of the entry all of it would count as kept."""
    return f"{key[:190]}-{sha256(repr(body).encode()).hexdigest()[:16]}" if key else ""


def _kept_alone(visit: Visit, batch: str, form: FormState, body: Body, key: str) -> bool:
    whole = form.values
    form.values = {**whole, "entry_key": key}
    try:
        return keep(visit, batch, form, body, field="strength", label="Reading")
    finally:
        form.values = whole


def _odd(look: RunDoubts, form: FormState, body: Body) -> tuple[Doubt, ...]:
    if not isinstance(body, ReadingTaken):
        return ()
    if body.quantity == "volume":
        return look.total(body, form.values["volume"])
    if body.quantity == "strength":
        return look.strength(body, form.values["strength"])
    return look.head(body, form.values["head"]) if body.quantity == "head_temperature" else ()


def _bodies(visit: Visit, frame: StepFrame, form: FormState) -> list[Body]:
    system = visit.preferences.units
    warm = unit_beside("temperature", system)
    step = frame.id
    found: list[Body | None] = [
        reading(
            form, "strength", step=step, quantity="strength", label="Strength", unit="%vol",
            temperature="temperature", temperature_unit=warm,
        ),
        reading(
            form, "volume", step=step, quantity="volume", label="Volume so far",
            unit=unit_beside("jar", system),
        ),
        reading(
            form, "head", step=step, quantity="head_temperature", label="Head temperature",
            unit=warm,
        ),
        reading(
            form, "boiler", step=step, quantity="boiler_temperature", label="Boiler temperature",
            unit=warm,
        ),
        _power(form, step),
    ]  # fmt: skip
    words = form.text("text", "Note", longest=20_000)
    if words:
        found.append(NoteWritten(words, step))
    return [one for one in found if one is not None]


def _power(form: FormState, step: str) -> PowerSet | None:
    typed = form.text("power", "Power")
    if not typed or "power" in form.errors:
        return None
    text = with_unit(typed, "%")

    def parse() -> PowerSet:
        if "%" not in text:
            return PowerSet(step, power=parse_quantity(text, "power", field="Power"))
        share = parse_quantity(text, "fraction", field="Power")
        if not 0.0 <= share <= 1.0:
            raise UnitError("Power", typed, "0 to 100 % of full power", "Or give watts: 1200 W.")
        return PowerSet(step, share=share)

    return form.tried("power", "Power", parse)


def _looking(visit: Visit, frame: StepFrame, form: FormState) -> RunDoubts:
    """Return what looks at an entry of a run, for when the form says it was so."""
    entry = entry_of(visit, FormState(form.values))
    utc = entry.utc or entry.entered_utc or visit.now
    return RunDoubts(frame, run_view(frame), utc, visit.preferences.units, moment_of(visit))


@router.post(f"{_STEP}/cut")
def cut(visit: Visiting, batch: str, step: str, sent: Annotated[CutForm, Form()]) -> Response:
    """Call a cut: what runs off from now on goes into another lot."""
    form = form_of(sent)
    frame = frame_of(visit, batch, step)
    view = run_view(frame)
    into = form.text("into", "Cut", required=True)
    names = [one.cut.into for one in view.cuts]
    if into and into not in names:
        form.fault("into", f"one of {', '.join(names)}", "Or change the plan first.", "Cut")
    power = _power_of_cut(view, form, step, into)
    body = CutCalled(step, into, form.text("reason", "Reason", longest=2000))
    bodies = (body,) if power is None else (body, power)
    doubts = _looking(visit, frame, form).cut(body)
    if not keep(visit, batch, form, *bodies, field="into", label="Cut", doubts=doubts):
        return show_step(visit, batch, step, forms={"cut": form}, status=422)
    return visit.go(step_address(batch, step), said="saved")


@router.post(f"{_STEP}/jar")
def fill(visit: Visiting, batch: str, step: str, sent: Annotated[JarForm, Form()]) -> Response:
    """Record a full jar."""
    visit = typed_in(visit, sent)
    form = form_of(sent)
    frame = frame_of(visit, batch, step)
    distil_parts(frame)
    system = visit.preferences.units
    name = form.text("jar", "Jar", required=True)
    volume = amount(
        form, "volume", "Volume", dimension="volume", unit=unit_beside("jar", system),
        required=True,
    )  # fmt: skip
    strong = reading(
        form, "strength", step=step, quantity="strength", label="Strength", unit="%vol",
        temperature="temperature", temperature_unit=unit_beside("temperature", system),
    )  # fmt: skip
    if form.good and volume is not None:
        body = JarFilled(
            step,
            name,
            volume,
            None if strong is None else strong.value,
            None if strong is None else strong.temperature,
            "" if strong is None else strong.reference,
            form.text("lot", "Cut") or None,
            sent.volume.strip()[:200],
        )
        doubts = _looking(visit, frame, form).jar(body, sent.volume)
        keep(visit, batch, form, body, field="jar", label="Jar", doubts=doubts)
    if not form.good:
        return show_step(visit, batch, step, forms={"jar": form}, status=422)
    return visit.go(step_address(batch, step), said="saved")


@router.post(f"{_STEP}/calibrate")
def calibrate(visit: Visiting, batch: str, step: str, sent: Annotated[Sending, Form()]) -> Response:
    """Fit the still to the readings of the run, and show what comes out; nothing is kept yet."""
    fitted, trouble = _fitted(frame_of(visit, batch, step))
    status = 200 if fitted is not None else 422
    forms = {"fit": form_of(sent)}
    return show_step(
        visit, batch, step, forms=forms, status=status, fitted=fitted, fit_trouble=trouble
    )


@router.post(f"{_STEP}/calibrate/keep")
def keep_calibration(
    visit: Visiting, batch: str, step: str, sent: Annotated[Sending, Form()]
) -> Response:
    """Keep the fitted still for the next batches."""
    form = form_of(sent)
    frame = frame_of(visit, batch, step)
    fitted, trouble = _fitted(frame)
    if fitted is not None and not fitted.trustworthy and not form.values["anyway"].strip():
        form.fault("anyway", "it cannot be trusted", "Say that it is kept anyway.", "Fit")
        return show_step(visit, batch, step, forms={"fit": form}, status=422, fitted=fitted)
    if fitted is not None:
        how = entry_of(visit, form)
        form.tried("fit", "Still", lambda: keep_fit(visit.record, frame, fitted, entry=how))
        trouble = "" if form.good else "; ".join(one.allowed for one in form.errors.values())
    if trouble or fitted is None:
        return show_step(visit, batch, step, status=422, fitted=fitted, fit_trouble=trouble)
    said = "fit-kept" if fitted.trustworthy else "fit-kept-untrusted"
    return visit.go(step_address(batch, step), said=said)


def _fitted(frame: StepFrame) -> tuple[CalibratedStill | None, str]:
    try:
        return fit_run(frame), ""
    except (InputError, ConvergenceError) as error:
        return None, str(error)
