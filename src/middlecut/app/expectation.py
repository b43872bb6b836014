# SPDX-License-Identifier: MIT
"""What is to be expected of a plan's text: read and predicted once, then remembered.

Texts of plans never change once they are in the record, so the text itself is the key.
"""

from __future__ import annotations

from functools import lru_cache

from middlecut.errors import PlanError, Problem
from middlecut.plan.model import Plan
from middlecut.plan.predict import predict
from middlecut.plan.prediction import Prediction
from middlecut.plan.read import read_plan_text
from middlecut.plan.sheet import Sheet, make_sheet

__all__ = ["expect", "expect_sheet", "find_problems", "read_plan"]


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


@lru_cache(maxsize=16)
def expect(text: str) -> Prediction:
    """Return the prediction of a plan's text.

    Parameters
    ----------
    text : str
        A plan file.

    Returns
    -------
    prediction : Prediction

    Raises
    ------
    PlanError
        If the plan cannot be read or carried out.
    """
    return predict(read_plan(text))


@lru_cache(maxsize=16)
def expect_sheet(text: str) -> Sheet:
    """Return the sheet of a plan's text; raises as :func:`expect`."""
    return make_sheet(expect(text))


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
