# SPDX-License-Identifier: MIT
"""The demo batch part-way, so that a newcomer sees every page alive.

Everything in it is invented: the readings are what is expected of the demo plan plus small fixed
deviations. Each entry has its own key, so seeding a record again adds nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np

from middlecut.app.batch_events import NoteWritten, ReadingTaken, StepFinished, StepStarted
from middlecut.app.events import Body
from middlecut.app.expectation import expect, read_plan
from middlecut.app.record import Entry, Record
from middlecut.app.spirit_events import (
    AdditionMade,
    CutCalled,
    JarFilled,
    JarNoted,
    Phase,
    PowerSet,
    TastingMade,
)
from middlecut.app.use_cases import describe_still, note, open_batch
from middlecut.plan.examples import example_path
from middlecut.plan.model import Plan
from middlecut.steps.curve import Curve
from middlecut.steps.gravity_course import FINISHED_FRACTION, gravity_course
from middlecut.steps.lot import Lot
from middlecut.steps.parameters import Ferment
from middlecut.units import format_quantity

__all__ = ["demo_place", "seed_demo"]

_HOUR, _DAY = timedelta(hours=1), timedelta(days=1)
_HYDROMETER = "hydrometer 1.000 to 1.100"
_ALCOHOLMETER = "alcoholometer 0 to 100 %"
_DEVIATIONS = (0.004, -0.003, 0.005, 0.001, -0.004, 0.002, 0.006, -0.001)
"""Of strengths as read, one after another; an invented hand is no better than that."""
_ROOM = 293.15
_LAST = "demo-other-gravity-2"
"""Key of what is seeded last."""

_RUN_SO_FAR = 0.55
"""Share of the hearts that has run off when the demo is opened."""

_SMELLS = (
    (("solvent", "pear drop"), "sharp, clears slowly", "no"),
    (("pear", "green apple"), "clean, a little sharp", "perhaps"),
    (("grainy", "bready"), "round; the rye is there", "yes"),
    (("grainy", "honey"), "round", "yes"),
)


@dataclass(frozen=True, slots=True)
class _Fact:
    """One thing that was done, when, and under which key it is kept."""

    at: datetime
    key: str
    body: Body


def demo_place(usual: str) -> str:
    """Return where the demo's record lies: beside the usual one, never in it.

    Parameters
    ----------
    usual : str
        Where the record is when nobody says otherwise.

    Returns
    -------
    place : str
    """
    if "://" in usual:
        usual = "middlecut.sqlite"
    return str(Path(usual).with_name("demo.sqlite"))


def seed_demo(record: Record) -> str:
    """Fill a record with the demo batch part-way, unless it is there already.

    Parameters
    ----------
    record : Record
        Its clock is "now": the spirit run is in progress then.

    Returns
    -------
    batch : str
        Id of the demo batch.
    """
    known = record.store.find_key("demo-open")
    if known and record.store.find_key(_LAST):
        return known[0].stream.partition("/")[2]
    # Seeding that was broken off goes on with the times it began with.
    now = known[0].utc + 14 * _DAY if known else record.clock.now()
    begun = now - 14 * _DAY
    text = example_path("demo").read_text(encoding="utf-8")
    plan = read_plan(text)
    for name in plan.stills:
        entry = Entry(key=f"demo-still-{name}", utc=begun)
        describe_still(record, name, _section(text, name), entry=entry)
    batch = open_batch(record, text, origin="example demo", entry=Entry(key="demo-open", utc=begun))
    for fact in sorted(_facts(plan, text, now), key=lambda one: one.at):
        note(record, batch, fact.body, entry=Entry(key=f"demo-{fact.key}", utc=fact.at))
    _seed_other(record, now)
    return batch


def _seed_other(record: Record, now: datetime) -> None:
    """Begin a second batch that ferments as usual and should be done tomorrow."""
    text = example_path("neutral").read_text(encoding="utf-8")
    first = read_plan(text).steps[0]
    if not isinstance(first, Ferment):
        return
    course = gravity_course(first.temperature)
    start = now - timedelta(seconds=course.time_at_attenuation(FINISHED_FRACTION).typical)
    start += 20 * _HOUR
    entry = Entry(key="demo-other", utc=start)
    batch = open_batch(record, text, origin="example neutral", entry=entry)
    note(record, batch, StepStarted(first.id), entry=Entry(key="demo-other-start", utc=start))
    hours = (now - start) / _HOUR
    for key, age in (("demo-other-gravity", 0.2), (_LAST, hours - 3.0)):
        done = course.fall_done(age * 3600.0)
        shown = round(first.gravity - (first.gravity - first.final_gravity) * done, 3)
        body = ReadingTaken(
            first.id, "gravity", shown, _ROOM, uncertainty=0.0005, instrument=_HYDROMETER,
            as_entered=f"{shown:.3f} SG at 20 °C",
        )  # fmt: skip
        note(record, batch, body, entry=Entry(key=key, utc=start + age * _HOUR))


def _section(text: str, still: str) -> str:
    """Return the lines of one still of a plan file."""
    lines = text.splitlines()
    start = lines.index(f"[still.{still}]")
    kept = [lines[start]]
    for line in lines[start + 1 :]:
        if line.startswith(("[", "# ---")):
            break
        kept.append(line)
    while kept[-1].startswith("#") or not kept[-1]:
        kept.pop()  # a comment above the next section belongs to that one
    return "\n".join(kept) + "\n"


def _facts(plan: Plan, text: str, now: datetime) -> Iterator[_Fact]:
    prediction = expect(text)
    for number, start in ((1, now - 13 * _DAY), (2, now - 12.5 * _DAY)):
        yield from _fermentation(plan, f"ferment-{number}", start)
    for number, end in ((1, now - 3.2 * _DAY), (2, now - 2.2 * _DAY)):
        step = f"strip-{number}"
        result = prediction.steps[step]
        if result.curve is not None:
            made = next(iter(result.made.values()))
            yield from _stripping(step, made, result.curve, end)
    yield from _tastings(now - 2.0 * _DAY)
    yield from _jar_tastings(now - timedelta(minutes=10))
    run = prediction.steps["spirit"].curve
    if run is not None:
        yield from _spirit_run(run, now)


def _fermentation(plan: Plan, step: str, start: datetime) -> Iterator[_Fact]:
    parameters = plan.step(step)
    if not isinstance(parameters, Ferment):
        return
    yield _Fact(start, f"{step}-start", StepStarted(step, "pitched at 22 °C"))
    course = gravity_course(parameters.temperature)
    fall = parameters.gravity - parameters.final_gravity
    for index, hours in enumerate((0.2, 20.0, 44.0, 68.0, 96.0, 140.0)):
        done = course.fraction_done(hours * 3600.0) if hours > 1.0 else 0.0
        shown = round(parameters.gravity - fall * done + 0.2 * _DEVIATIONS[index], 3)
        body = ReadingTaken(
            step,
            "gravity",
            shown,
            _ROOM,
            uncertainty=0.0005,
            instrument=_HYDROMETER,
            as_entered=f"{shown:.3f} SG at 20 °C",
        )
        yield _Fact(start + hours * _HOUR, f"{step}-gravity-{index}", body)
    for index, addition in enumerate(parameters.additions):
        share = addition.attenuation or 0.0
        after = addition.time or course.time_at_attenuation(share).typical
        went_in = AdditionMade(
            step,
            addition.ingredient.name,
            addition.amount,
            addition.entry_point,
            supply="first bag of the year",
            as_entered=format_quantity(addition.amount, "mass"),
        )
        at = start + timedelta(seconds=after) + timedelta(minutes=20)
        yield _Fact(at, f"{step}-addition-{index}", went_in)
    yield _Fact(start + 8 * _DAY, f"{step}-end", StepFinished(step, "clear, drawn off the lees"))


def _stripping(step: str, made: Lot, run: Curve, end: datetime) -> Iterator[_Fact]:
    start = end - timedelta(seconds=run.facts.run_time + run.facts.heat_up_time + 600.0)
    yield _Fact(start, f"{step}-start", StepStarted(step))
    yield _Fact(start, f"{step}-power", PowerSet(step, share=1.0))
    first_drop = end - timedelta(seconds=run.facts.run_time)
    called = CutCalled(step, made.name, "the only cut: all of it goes into the spirit run")
    yield _Fact(first_drop, f"{step}-cut-{made.name}", called)
    strength = round(made.strength + _DEVIATIONS[0], 3)
    for quantity, value in (("volume", round(made.volume * 0.985, 5)), ("true_strength", strength)):
        body = ReadingTaken(step, quantity, value, lot=made.name)
        yield _Fact(end, f"{step}-{quantity}", body)
    yield _Fact(end, f"{step}-end", StepFinished(step))


def _tastings(at: datetime) -> Iterator[_Fact]:
    """Two people with the same blind glass of low wines."""
    first = (
        Phase("nose", ("grainy", "bready", "green apple"), 3, (5.0, 3.0, 2.0)),
        Phase("middle", ("grainy", "sweet taste"), 3, (5.0, 3.0), "round, a little thin"),
        Phase("finish", ("chocolate", "warming"), 2, (2.0, 2.0)),
        Phase("empty glass", ("bready",), 1, (3.0,)),
    )
    words = "Both low wines side by side, let down to 20 %. The second has the cacao."
    body = TastingMade("low wines 2", first, words, code="Q4", score=62.0, taster="M. K.")
    yield _Fact(at, "tasting", body)
    second = (
        Phase("nose", ("grainy", "chocolate"), 3, (6.0, 3.0)),
        Phase("middle", ("grainy", "warming"), 3, (4.0, 4.0)),
        Phase("finish", ("grainy", "warming"), 3, (3.0, 3.0)),
    )
    body = TastingMade("low wines 2", second, "", code="Q4", score=58.0, taster="A. R.")
    yield _Fact(at + timedelta(minutes=8), "tasting-2", body)


def _jar_tastings(at: datetime) -> Iterator[_Fact]:
    """Let the same two taste the first jar of hearts, where the plan leaves some heads."""
    first = (
        Phase("nose", ("pear drop", "honey"), 3, (5.0, 2.0), "the first thing one smells"),
        Phase("middle", ("honey", "sweet taste"), 3, (3.0, 3.0)),
        Phase("finish", ("pear drop",), 2, (3.0,)),
    )
    words = "Let down to 20 %. Clean, but the pear drop covers the rye."
    body = TastingMade("jar 1 of spirit", first, words, code="H7", score=55.0, taster="M. K.")
    yield _Fact(at, "tasting-3", body)
    second = (
        Phase("nose", ("pear drop", "pear"), 3, (6.0, 3.0)),
        Phase("middle", ("honey",), 3, (3.0,)),
    )
    words = "Heads end too soon for me."
    body = TastingMade("jar 1 of spirit", second, words, code="H7", score=52.0, taster="A. R.")
    yield _Fact(at + timedelta(minutes=2), "tasting-4", body)


def _spirit_run(run: Curve, now: datetime) -> Iterator[_Fact]:
    hearts = next(cut for cut in run.cuts if cut.into == "hearts")
    here = hearts.start + _RUN_SO_FAR * (hearts.end - hearts.start)
    first_drop = now - timedelta(seconds=here + 120.0)
    warming = run.facts.heat_up_time + run.facts.fill_time
    start = first_drop - timedelta(seconds=warming)
    yield _Fact(start, "spirit-start", StepStarted("spirit", "charge 10.4 L, boiler checked"))
    yield _Fact(start, "spirit-power-1", PowerSet("spirit", share=1.0))
    yield _Fact(first_drop, "spirit-power-2", PowerSet("spirit", share=0.6))
    for cut in run.cuts:
        if cut.start <= here:
            at = first_drop + timedelta(seconds=cut.start)
            yield _Fact(at, f"spirit-cut-{cut.into}", CutCalled("spirit", cut.into, "as planned"))
    yield from _run_readings(run, here, first_drop)
    yield from _run_jars(run, here, first_drop)
    words = NoteWritten(
        "Heads cleared late; the smell turned round after the second jar.", "spirit"
    )
    yield _Fact(now - timedelta(minutes=6), "spirit-note", words)


def _run_readings(run: Curve, here: float, first_drop: datetime) -> Iterator[_Fact]:
    for index, moment in enumerate(np.arange(240.0, here, 600.0)):
        at = first_drop + timedelta(seconds=float(moment))
        strength = float(np.interp(moment, run.time, run.strength))
        values = (
            ("strength", round(strength + _DEVIATIONS[index % 8], 3), _ROOM, "20C", _ALCOHOLMETER),
            ("head_temperature", _at(run.head_temperature, run, moment, 0.1), None, "", "head"),
            ("boiler_temperature", _at(run.boiler_temperature, run, moment, -0.2), None, "", "pot"),
            ("volume", round(_at(run.volume, run, moment, 0.0), 5), None, "", "measuring jug"),
        )
        for quantity, value, temperature, reference, instrument in values:
            body = ReadingTaken(
                "spirit", quantity, value, temperature, reference, instrument=instrument
            )
            yield _Fact(at, f"spirit-{quantity}-{index}", body)


def _at(values: object, run: Curve, moment: float, deviation: float) -> float:
    found = float(np.interp(moment, run.time, np.asarray(values)))
    return round(found + deviation, 2) if deviation else found


def _run_jars(run: Curve, here: float, first_drop: datetime) -> Iterator[_Fact]:
    full = [jar for jar in run.jars if jar.cut == "hearts" and jar.end <= here]
    for index, jar in enumerate(full):
        at = first_drop + timedelta(seconds=jar.end)
        strength = round(jar.strength + _DEVIATIONS[index % 8], 3)
        body = JarFilled("spirit", str(jar.number), jar.volume, strength, _ROOM, "20C", "hearts")
        yield _Fact(at, f"spirit-jar-{jar.number}", body)
        if index < len(_SMELLS):
            descriptors, words, keep = _SMELLS[index]
            noted = JarNoted("spirit", str(jar.number), descriptors, words, keep)
            yield _Fact(at + timedelta(minutes=2), f"spirit-smell-{jar.number}", noted)
