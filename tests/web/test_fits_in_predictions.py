# SPDX-License-Identifier: MIT
"""What a run taught about its still is what later batches are predicted with."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import timedelta

import pytest
from bench_plan import NOW, PLAN
from visitor import Visitor, check_page

from middlecut.app.batch_events import StepStarted
from middlecut.app.expectation import expect, fitted_plan, read_plan
from middlecut.app.record import Entry, Record
from middlecut.app.shop_events import FittedValue, StillCalibrated, StillDescribed
from middlecut.app.states import still_stream
from middlecut.app.use_cases import note, open_batch
from middlecut.app.views.calibration import still_text
from middlecut.app.views.causes import causes_of
from middlecut.app.views.fits import fits_of
from middlecut.app.views.frame import step_frame
from middlecut.app.views.pantry import find_routes
from middlecut.insight.calibrated import CalibratedStill
from middlecut.insight.kept_stills import keep_stills
from middlecut.insight.routes import routes
from middlecut.plan.predict import predict
from middlecut.plan.reshape import apply_edits

LOSS = 200.0
"""Loss of heat as fitted, W; the plan says 80 W."""


def document(loss: float = LOSS) -> str:
    """Return a fit that found another loss of heat."""
    described = read_plan(PLAN).stills["pot"]
    fitted = replace(described, boiler_loss=loss)
    told = CalibratedStill(
        name="pot",
        still=fitted,
        described=described,
        parameters=(),
        inner_covariance=(),
        correlation=(),
        residuals=(),
        degrees_of_freedom=10,
        residual_deviation=1.0,
        undetermined=(),
        inseparable=(),
        trustworthy=True,
        reasons=(),
        advice=(),
        provenance={},
    )
    return json.dumps(told.to_dict())


def keep(
    record: Record, batch: str, days: float, *, loss: float = LOSS, trustworthy: bool = True
) -> None:
    """Keep a fit of a batch's run some days ago."""
    values = (FittedValue("boiler_loss", loss),)
    body = StillCalibrated(values, trustworthy, (), batch, "run", document(loss))
    entry = Entry(utc=NOW - timedelta(days=days))
    record.keep(still_stream("pot"), (body,), entry=entry)


@pytest.fixture
def taught(record: Record) -> str:
    """Return a batch whose run taught about the still, thirty days ago."""
    section = still_text(PLAN, "pot")
    described = StillDescribed("pot", section)
    record.keep(still_stream("pot"), (described,), entry=Entry(utc=NOW - timedelta(days=60)))
    first = open_batch(record, PLAN.replace('"Bench"', '"First"'))
    start(record, first, 31.0)
    keep(record, first, 30.0)
    return first


def start(record: Record, batch: str, days: float) -> None:
    note(record, batch, StepStarted("strip"), entry=Entry(utc=NOW - timedelta(days=days)))


def test_a_later_batch_is_predicted_as_measured(record: Record, taught: str) -> None:
    batch = open_batch(record, PLAN)
    fits = fits_of(record, record.batch(batch))
    assert [(one.still, one.batch, one.trouble) for one in fits] == [("pot", taught, "")]
    frame = step_frame(record.batch(batch), "strip", fits)
    plan = read_plan(PLAN)
    still = replace(plan.stills["pot"], boiler_loss=LOSS)
    own = predict(replace(plan, stills={"pot": still}))
    curve, plain = frame.result.curve, expect(PLAN).steps["strip"].curve
    wanted = own.steps["strip"].curve
    assert curve is not None
    assert plain is not None
    assert wanted is not None
    # The very prediction of a plan with that still: to the last digit.
    assert float(curve.time[-1]) == float(wanted.time[-1])
    # 1.5 kW less 80 W or 200 W: the run takes about 1420 / 1300 as long, roughly.
    ratio = float(curve.time[-1]) / float(plain.time[-1])
    assert ratio == pytest.approx(1420.0 / 1300.0, rel=0.04)


def test_a_run_is_never_predicted_from_its_own_readings(record: Record, taught: str) -> None:
    assert fits_of(record, record.batch(taught)) == ()


def test_a_prediction_does_not_move_once_a_run_began(record: Record, taught: str) -> None:
    batch = open_batch(record, PLAN)
    start(record, batch, 20.0)
    before = fits_of(record, record.batch(batch))
    keep(record, taught, 10.0, loss=300.0)
    assert fits_of(record, record.batch(batch)) == before
    later = fits_of(record, record.batch(open_batch(record, PLAN)))
    assert later[0].document == document(300.0)


def test_a_fit_not_to_be_trusted_changes_nothing(record: Record, taught: str) -> None:
    batch = open_batch(record, PLAN)
    keep(record, taught, 10.0, loss=300.0, trustworthy=False)
    assert fits_of(record, record.batch(batch))[0].document == document()


def test_another_still_is_not_the_one_that_was_measured(record: Record, taught: str) -> None:
    other = PLAN.replace('boiler_loss = "80 W"', 'boiler_loss = "90 W"')
    assert fits_of(record, record.batch(open_batch(record, other))) == ()
    described = StillDescribed("pot", still_text(PLAN, "pot"), "new lid")
    record.keep(still_stream("pot"), (described,), entry=Entry(utc=NOW - timedelta(days=5)))
    assert fits_of(record, record.batch(open_batch(record, PLAN))) == ()


def test_a_fit_that_cannot_run_is_left_out_and_said(
    visitor: Visitor, record: Record, taught: str
) -> None:
    keep(record, taught, 10.0, loss=1500.0)  # all the power there is: nothing boils over
    batch = open_batch(record, PLAN)
    fits = fits_of(record, record.batch(batch))
    assert fits[0].trouble
    assert expect(PLAN, fits) is expect(PLAN)
    answer = visitor.get(f"/batch/{batch}")
    check_page(answer)
    assert "the plan cannot be carried out" in answer.text


def test_pages_say_it_and_lead_to_the_plain_prediction(
    visitor: Visitor, record: Record, taught: str
) -> None:
    batch = open_batch(record, PLAN)
    said = f'as measured in <a href="/batch/{taught}">First</a>'
    for page in ("", "/step/strip", "/step/run", "/step/run/jars", "/step/fill", "/sheet", "/book"):
        answer = visitor.get(f"/batch/{batch}{page}")
        check_page(answer)
        assert said in answer.text, page
    assert said in visitor.get(f"/compare?batch={taught}&batch={batch}").text
    text = visitor.get(f"/batch/{batch}?by=alcohol").text
    plain = f"/batch/{batch}?by=alcohol&still=described"
    assert f'href="{plain.replace("&", "&amp;")}"' in text
    answer = visitor.get(plain)
    check_page(answer)
    assert said not in answer.text
    assert "Predict as measured" in answer.text
    assert visitor.get(f"/batch/{batch}?still=other").status_code == 422
    assert said not in visitor.get(f"/batch/{taught}").text


def test_causes_and_remedies_are_those_of_the_still_as_measured(
    visitor: Visitor, record: Record, taught: str
) -> None:
    batch = open_batch(record, PLAN)
    state = record.batch(batch)
    fits = fits_of(record, state)
    found = causes_of(state, {"nail varnish": 6.0}, "hearts", fits)
    plain = causes_of(state, {"nail varnish": 6.0}, "hearts")
    done = [one for one in found.remedies if one.verdict != "cannot be done"]
    assert done
    assert done[0].volume_before == expect(PLAN, fits).lots["hearts"].volume
    assert done[0].volume_before != plain.remedies[0].volume_before
    # A remedy is predicted with the same still, not with the one described.
    edits = [edit.of_plan for edit in done[0].edits]
    changed = predict(keep_stills(fitted_plan(PLAN, fits), read_plan(apply_edits(PLAN, edits))))
    assert done[0].volume_after == changed.lots["hearts"].volume
    tasted = {
        "subject": "hearts",
        "word-nose-nail varnish": "on",
        "strength-nose-nail varnish": "6",
    }
    begun = visitor.post(f"/batch/{batch}/step/run/start", {"anyway": "yes"})
    assert begun.status_code == 303
    assert visitor.post(f"/batch/{batch}/tasting", tasted).status_code == 303
    page = visitor.get(f"/batch/{batch}/tasting/causes?subject=hearts&word=nail varnish")
    assert page.status_code == 200
    check_page(page)
    assert f'as measured in <a href="/batch/{taught}">First</a>' in page.text


def test_a_change_of_a_fitted_still_changes_only_what_it_names(record: Record, taught: str) -> None:
    fits = fits_of(record, record.batch(open_batch(record, PLAN)))
    plan = fitted_plan(PLAN, fits)
    edited = read_plan(PLAN.replace('packing_height = "24 cm"', 'packing_height = "36 cm"'))
    still = keep_stills(plan, edited).stills["pot"]
    assert still.boiler_loss == LOSS
    assert still.stages == pytest.approx(3.0)  # 36 cm over 12 cm
    assert keep_stills(read_plan(PLAN), edited) is edited


def test_routes_run_through_the_still_as_measured(record: Record, taught: str) -> None:
    batch = open_batch(record, PLAN)
    measured = find_routes(record, batch, "orange peel, dried")
    plain = routes(read_plan(PLAN), "orange peel, dried")
    assert measured.to_dict() != plain.to_dict()
