# SPDX-License-Identifier: MIT
"""What in a plan, its prediction and its readings speaks for or against a fault."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from typing import TYPE_CHECKING

from middlecut.insight import evidence_ingredients, evidence_run, evidence_wash
from middlecut.insight.diagnosis import Evidence

if TYPE_CHECKING:
    from middlecut.insight.case import Case
    from middlecut.insight.off_flavours import Fault

__all__ = ["TESTS", "UNKNOWN", "gather", "together"]

UNKNOWN: Mapping[str, str] = {
    "boil": "how long the mash or wort boiled",
    "chlorine": "whether cleaners with chlorine touched wood, cork or hoses",
    "copper": "how much clean copper the vapour meets",
    "hygiene": "how clean the fermenter was",
    "light": "whether it stood in light",
    "lots": "what each ingredient smelled of before it went in",
    "metal": "what metals the spirit stood in",
    "nutrient": "what nutrients the yeast had",
    "oxygen": "how much air got in after the first day",
    "ph": "the pH",
    "storage": "how ingredients and spirit were kept",
    "surface": "the heated area of the boiler, so that the heat on each cm² is unknown",
    "water": "the water that was used",
    "yeast": "the strain of yeast, and whether it makes phenols",
}
"""What a plan does not say, by the word the table of faults uses."""


def _not_known(case: Case, fault: Fault, limit: str) -> list[Evidence]:
    del case, fault
    return [Evidence("not-known", 0.0, f"The plan does not say {UNKNOWN[limit]}.")]


TESTS: Mapping[str, Callable[[Case, Fault, str], list[Evidence]]] = {
    **evidence_ingredients.TESTS,
    **evidence_wash.TESTS,
    **evidence_run.TESTS,
    "not-known": _not_known,
}
"""Every test, by name."""


def gather(case: Case, fault: Fault) -> tuple[Evidence, ...]:
    """Return everything the tests of a fault find.

    Parameters
    ----------
    case : Case
        The batch.
    fault : Fault
        One row of the table.

    Returns
    -------
    tuple of Evidence
        For, then against, then what is not known.
    """
    found = [one for call in fault.tests for one in TESTS[call.name](case, fault, call.limit)]
    return tuple(sorted(found, key=lambda one: (one.weight == 0.0, -one.weight)))


def together(evidence: Iterable[Evidence]) -> float:
    """Return what evidence comes to, −1 to 1.

    1 − Π(1 − w) over what speaks for, less the same over what speaks against: each piece adds, none
    counts twice, and one more for a fault never lowers it.

    Parameters
    ----------
    evidence : iterable of Evidence

    Returns
    -------
    float
        −1 to 1.
    """
    weights = [one.weight for one in evidence]
    pro = 1.0 - math.prod(1.0 - weight for weight in weights if weight > 0.0)
    con = 1.0 - math.prod(1.0 + weight for weight in weights if weight < 0.0)
    return pro - con
