# SPDX-License-Identifier: MIT
"""What a page says of an error holds no key of a plan and no name of our own."""

from __future__ import annotations

import pytest

from middlecut.app.reasons import reason_of
from middlecut.errors import (
    ConvergenceError,
    InputError,
    MiddlecutError,
    OutOfRangeError,
    PlanError,
    Problem,
)

PROBLEM = Problem("step.run.cuts[1].until", "9 L", "There is not so much.", "Give less.", 12)


@pytest.mark.parametrize(
    ("error", "said"),
    [
        (
            InputError("cuts[0].until", "441 mL", "the point never comes", "End it before."),
            "The point never comes. End it before.",
        ),
        (
            InputError("readings", 1, "two are needed", "Read once more."),
            "readings: 1 is not usable; two are needed. Read once more.",
        ),
        (
            OutOfRangeError("boiler_temperature", 263.15, 273.15, 398.15, unit="K"),
            "Boiler temperature -10.0 °C: the range is 0 to 125 °C.",
        ),
        (PlanError("plan", (PROBLEM, PROBLEM)), "There is not so much. Give less. " * 2),
        (ConvergenceError("The run", 9, 1.0), str(ConvergenceError("The run", 9, 1.0))),
    ],
)
def test_reasons(error: MiddlecutError, said: str) -> None:
    assert reason_of(error) == said.strip()
