# SPDX-License-Identifier: MIT
"""What is to be expected of a plan's text: read and predicted once, then remembered.

Texts of plans never change once they are in the record, so the text itself is the key,
with the fits of stills that it is predicted with.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass
from functools import lru_cache

from middlecut.app.giving_way import WAY
from middlecut.errors import PlanError, Problem
from middlecut.insight.calibrated import parse_still
from middlecut.insight.calibrated_plan import with_calibrated
from middlecut.plan.model import Plan
from middlecut.plan.predict import predict
from middlecut.plan.prediction import Prediction
from middlecut.plan.read import read_plan_text
from middlecut.plan.sheet import Sheet, make_sheet

__all__ = ["StillFit", "expect", "expect_sheet", "find_problems", "fitted_plan", "read_plan"]


@dataclass(frozen=True, slots=True)
class StillFit:
    """What runs taught about a still, in place of what a plan says of it.

    Parameters
    ----------
    still : str
        Its name in the plan.
    batch, batch_name : str
        Whose run it was fitted to; the name is "" where the record does not have it.
    document : str
        The fit as JSON text.
    trouble : str
        Why the plan cannot be carried out with it, so that it is left out; "" where it can.
    """

    still: str
    batch: str
    batch_name: str
    document: str
    trouble: str = ""


@lru_cache(maxsize=32)
def read_plan(text: str) -> Plan:
    """Return the plan of a text.

    Parameters
    ----------
    text : str
        A plan file.

    Returns
    -------
    plan : Plan

    Raises
    ------
    PlanError
        With every problem of the plan.
    """
    return read_plan_text(text, "plan")


def expect(text: str, fits: tuple[StillFit, ...] = ()) -> Prediction:
    """Return the prediction of a plan's text.

    Parameters
    ----------
    text : str
        A plan file.
    fits : tuple of StillFit
        Stills that run as they were measured; none: all as the plan describes them.

    Returns
    -------
    prediction : Prediction

    Raises
    ------
    PlanError
        If the plan cannot be read or carried out.
    """
    if fits and all(one.trouble for one in fits):
        return expect(text)
    with _one_at_a_time(text, fits):  # who asks for what is being worked out waits for it
        return _expect(text, fits)


@lru_cache(maxsize=16)
def _expect(text: str, fits: tuple[StillFit, ...]) -> Prediction:
    with WAY.awaited():
        return predict(fitted_plan(text, fits))


@lru_cache(maxsize=64)
def _one_at_a_time(text: str, fits: tuple[StillFit, ...]) -> threading.RLock:  # noqa: ARG001
    return threading.RLock()


def fitted_plan(text: str, fits: tuple[StillFit, ...] = ()) -> Plan:
    """Return the plan of a text with the stills that run as they were measured.

    Parameters
    ----------
    text : str
        A plan file.
    fits : tuple of StillFit
        Those with a trouble are left out.

    Returns
    -------
    plan : Plan

    Raises
    ------
    PlanError
        With every problem of the plan.
    """
    plan = read_plan(text)
    for one in fits:
        if not one.trouble:
            plan = with_calibrated(plan, parse_still(one.document, "calibration"), one.still)
    return plan


@lru_cache(maxsize=16)
def expect_sheet(text: str, fits: tuple[StillFit, ...] = ()) -> Sheet:
    """Return the sheet of a plan's text; raises as :func:`expect`."""
    return make_sheet(expect(text, fits))


def find_problems(text: str) -> tuple[Problem, ...]:
    """Return everything wrong with a plan's text, what shows only when it is predicted too.

    Parameters
    ----------
    text : str
        A plan file.

    Returns
    -------
    problems : tuple of Problem
        Empty for a plan that can be carried out.
    """
    try:
        expect(text)
    except PlanError as error:
        return error.problems
    return ()
