# SPDX-License-Identifier: MIT
"""The jars of a run: smell them, see what they make together, choose, and account for the rest."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, Any

from fastapi import APIRouter, Form
from pydantic import BaseModel, Field
from starlette.responses import Response

from middlecut.app.edits import OVERTAKEN, keep_edit
from middlecut.app.events import Event
from middlecut.app.spirit_events import HeartsChosen, JarNoted
from middlecut.app.views.jar_table import JarView, jar_view, mix_jars, suggest
from middlecut.errors import InputError, NotFoundError
from middlecut.insight.jars import Aim, Suggestion
from middlecut.web.bench import Sending, amount, entry_of, form_of, seen_of, step_address
from middlecut.web.forms import FormState, allowed_by
from middlecut.web.step_pages import clash_rows, frame_of
from middlecut.web.visit import Visit, Visiting

__all__ = ["JAR_WORDS", "router"]

router = APIRouter()
_JARS = "/batch/{batch}/step/{step}/jars"

JAR_WORDS = (
    "solvent", "nail varnish", "pear drop", "green apple", "pear", "banana", "rose", "floral",
    "honey", "bready", "grainy", "nutty", "butter", "fusel", "cardboard", "musty", "struck match",
    "rotten egg", "cheesy", "sweaty",
)  # fmt: skip
"""Words that come up at the jar, quick to tap; any other can be typed."""
_PLACES = {"lowest strength": "low", "highest strength": "high"}
_KEEP = (("", "no verdict yet"), ("yes", "in"), ("perhaps", "perhaps"), ("no", "out"))


class NoteForm(Sending):
    """What a jar smells of."""

    jar: str = ""
    word: list[str] = Field(default_factory=list)
    more: str = ""
    text: str = ""
    keep: str = ""


class ChooseForm(Sending):
    """Jars that go together."""

    jar: list[str] = Field(default_factory=list)
    lot: str = ""
    reason: str = ""


@router.get(_JARS)
def show(visit: Visiting, batch: str, step: str) -> Response:
    """Show the jars, what those chosen make together, and a suggestion when one is asked for."""
    return _page(visit, batch, step)


@router.post(f"{_JARS}/note")
def smell(visit: Visiting, batch: str, step: str, sent: Annotated[NoteForm, Form()]) -> Response:
    """Record what a jar smells of and whether it should go in."""
    form = _with_lists(sent)
    words = (*sent.word, *(part.strip() for part in sent.more.split(",")))
    body = JarNoted(
        step,
        form.text("jar", "Jar", required=True),
        tuple(dict.fromkeys(word for word in words if word)),
        form.text("text", "Note", longest=20_000),
        sent.keep,
    )
    return _kept(visit, batch, step, form, body, name="note", field="more")


@router.post(f"{_JARS}/choose")
def choose(visit: Visiting, batch: str, step: str, sent: Annotated[ChooseForm, Form()]) -> Response:
    """Record which jars go together."""
    form = _with_lists(sent)
    if not sent.jar:
        form.fault("jar", "at least one jar", "Tick the jars that are to go in.", "Jars")
    lot = form.text("lot", "Name of the lot", required=True)
    body = HeartsChosen(step, tuple(sent.jar), lot, form.text("reason", "Why", longest=2000))
    return _kept(visit, batch, step, form, body, name="choose", field="jar")


def _with_lists(sent: BaseModel) -> FormState:
    """Return a form with its choices of several as one text each, to tick them again."""
    lists = {name: "\n".join(value) for name, value in sent if isinstance(value, list)}
    return FormState({**form_of(sent).values, **lists})


def _kept(
    visit: Visit,
    batch: str,
    step: str,
    form: FormState,
    body: JarNoted | HeartsChosen,
    *,
    name: str,
    field: str,
) -> Response:
    frame_of(visit, batch, step)
    how = entry_of(visit, form)
    later: tuple[Event, ...] = ()
    if form.good:
        later = form.tried(
            field, "Jars",
            lambda: keep_edit(
                visit.record, batch, body, same=lambda other: _same(body, other),
                seen=seen_of(form), entry=how,
            ),
        ) or ()  # fmt: skip
    if later:
        return _page(visit, batch, step, {name: form}, status=409, later=later)
    if not form.good:
        return _page(visit, batch, step, {name: form}, status=422)
    return visit.go(step_address(batch, step, "jars"), said="saved")


def _same(body: JarNoted | HeartsChosen, other: object) -> bool:
    if isinstance(body, HeartsChosen):
        return isinstance(other, HeartsChosen) and other.step == body.step
    return isinstance(other, JarNoted) and (other.step, other.jar) == (body.step, body.jar)


def _page(
    visit: Visit,
    batch: str,
    step: str,
    forms: dict[str, FormState] | None = None,
    *,
    status: int = 200,
    later: Iterable[Event] = (),
) -> Response:
    frame = frame_of(visit, batch, step)
    ranges = visit.ranges(frame.plan_text, frame.fits)
    view = jar_view(frame, ranges)
    asked, aim, suggestion = _asked(visit, view)
    given = forms or {}
    picked = _picked(visit, view, suggestion, given.get("choose"))
    rows = clash_rows(frame.state, later)
    if status == 200 and not asked.good:
        status = 422
    return visit.batch_page(
        frame.state,
        "step/jars.html",
        status,
        frame=frame,
        view=view,
        ranges=ranges,
        address=step_address(batch, step),
        picked=picked,
        mixture=mix_jars(view, picked),
        suggestion=suggestion,
        aim=aim,
        limitable=_limitable(view),
        unsmelled=_unsmelled(view, aim),
        words=JAR_WORDS,
        keep_choices=_KEEP,
        clash=rows,
        about=OVERTAKEN if rows else "",
        unit=lambda _kind: "%vol",
        note_forms=_note_forms(view, given.get("note")),
        astray=[
            form
            for form in given.values()
            if form.errors and not (view.rows and _has_place(view, form))
        ],
        forms={"choose": _choose_form(view), **given, "aim": asked},
    )


def _has_place(view: JarView, form: FormState) -> bool:
    """Return whether the page shows the form: the one of the choice, or that of a filled jar."""
    return "lot" in form.values or form.values.get("jar") in {row.name for row in view.rows}


def _note_forms(view: JarView, given: FormState | None) -> dict[str, FormState]:
    """Return the form of each jar with its last note, or as it was typed if it comes back."""
    found = {
        row.name: FormState(
            {
                "word": "\n".join(row.words),
                "more": ", ".join(word for word in row.words if word not in JAR_WORDS),
                "text": row.text,
                "keep": row.keep,
            }
        )
        for row in view.rows
    }
    name = "" if given is None else given.values.get("jar", "")
    return {**found, name: given} if given is not None and name in found else found


def _choose_form(view: JarView) -> FormState:
    return FormState({"lot": view.lot or "hearts"})


def _picked(
    visit: Visit, view: JarView, suggestion: Suggestion | None, form: FormState | None
) -> tuple[str, ...]:
    """Return the jars that are ticked: as sent, as asked, as suggested, as chosen, or as noted."""
    known = [row.name for row in view.rows]
    asked = visit.request.query_params.getlist("jar")
    if form is not None:
        wanted = form.values.get("jar", "").split("\n")
    elif asked:
        wanted = asked
    elif suggestion is not None and suggestion.met:
        wanted = list(suggestion.jars)
    elif view.chosen is not None:
        wanted = list(view.chosen.jars)
    else:
        wanted = [row.name for row in view.rows if row.keep != "no"]
    return tuple(name for name in known if name in set(wanted))


def _unsmelled(view: JarView, aim: Aim | None) -> tuple[str, ...]:
    """Return the jars that were judged by their smell before anybody smelled them."""
    if aim is None or not aim.without:
        return ()
    return tuple(row.name for row in view.rows if not row.words)


def _limitable(view: JarView) -> tuple[str, ...]:
    """Return the compounds that stand out in any jar."""
    names: dict[str, None] = {}
    for row in view.rows:
        names |= dict.fromkeys(compound for compound, _ in row.foremost)
    return tuple(names)


def _asked(visit: Visit, view: JarView) -> tuple[FormState, Aim | None, Suggestion | None]:
    """Return the form of the aim as asked, the aim, and what is suggested for it."""
    names = ("low", "high", "without", "limit_of", "limit", "other_of", "other")
    query: Any = visit.request.query_params
    form = FormState({name: query.get(name, "")[:400] for name in names})
    if query.get("ask") != "suggest" or not view.rows:
        return form, None, None
    low = amount(form, "low", "Lowest strength", dimension="strength", unit="%vol")
    high = amount(form, "high", "Highest strength", dimension="strength", unit="%vol")
    limits: dict[str, float] = {}
    for of, name in (("limit_of", "limit"), ("other_of", "other")):
        value = amount(form, name, "Limit", dimension="ratio", unit="")
        if form.values[of] and value is not None:
            limits[form.values[of]] = value
    if not form.good:
        return form, None, None
    without = tuple(word.strip() for word in form.values["without"].split(",") if word.strip())
    aim = Aim(low or 0.0, 1.0 if high is None else high, without, limits)
    found: list[Suggestion] = []
    try:
        found.append(suggest(view, aim))
    except InputError as error:
        place = _PLACES.get(error.field, "limit" if error.field.startswith("limit") else "low")
        words = allowed_by(error, visit.preferences.units)
        form.fault(place, words, error.remedy, form.labels.get(place, "Aim"))
    except NotFoundError as error:
        form.fault("limit_of", str(error), "Choose one from the list.", "Keep down")
    return form, aim, found[0] if found else None
