# SPDX-License-Identifier: MIT
"""Comparisons of volatility with numbers that had no part in its anchors.

In water most compounds rest on the middle of measured limiting activity coefficients, so that the
same rows say nothing about them. Here stand only comparisons with what was left out of the anchor.
Used by ``tools/validate_volatility.py`` and by the tests.
"""

from __future__ import annotations

import csv
import math
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np

from middlecut.liquid import volatility, volatility_tables
from middlecut.liquid.partition import henry

ROOT = Path(__file__).resolve().parent.parent
DATA = ROOT / "tests" / "reference" / "data"
HOT = 60.0  # °C
HENRY_TEMPERATURE = 333.15  # K, upper end of the range of the Henry constants' slopes
WATER_CONCENTRATION = 983.2 / 0.01801528  # mol/m³ of water at 60 °C
OWN_CONSTANTS = ("volatility.csv", "VPS", "analog", "estimate")
"""Henry constants that were made of vapour pressures and solubilities, not published as such."""

ASSOCIATED = ("64-19-7", "79-09-4", "107-92-6", "503-74-2", "142-62-1", "124-07-2")
"""Carboxylic acids, which other computations give the whole vapour pressure, dimers and all."""

SETS_COUNT_FROM = {"141-78-6": 0.1, "123-86-4": 0.1}
"""Ethanol mole fraction below which the sets of ethyl and butyl acetate contradict measurements."""

KINDS = {
    "series": "hot rows in water against the middle of the compound's other series",
    "other": "rows in water of compounds that rest on Henry constants or solubilities",
    "Henry": "Henry constants at 60 °C against the measured anchor",
    "ethanol": "rows in ethanol",
}
# Rows of the compilation that are not believed, and why: (cas, coldest, hottest °C, reason).
NOT_BELIEVED = (
    ("75-18-3", 98.0, 101.0, "still value at 98.5 °C, ten times below the Henry constant"),
    ("590-86-3", 98.0, 101.0, "still value at 98.5 °C, eight times below the Henry constant"),
    ("96-17-3", 98.0, 101.0, "still value at 98.5 °C, thirteen times below the Henry constant"),
    ("66-25-1", 98.0, 101.0, "still value at 98.5 °C, seven times below the value at 25 °C"),
    ("100-52-7", 98.0, 101.0, "still value at 100 °C, three times below Henry and solubility"),
    ("122-78-1", 98.0, 101.0, "still value at 100 °C, below solubility by a factor 13"),
    ("108-95-2", 0.0, 40.0, "rows below 40 °C, ten times above the hot ones"),
    ("111-87-5", 0.0, 17.0, "one row at 16 °C, 230 times below solubility"),
)


@dataclass(frozen=True, slots=True)
class Comparison:
    """One number of ours beside one that had no part in it.

    Parameters
    ----------
    compound : str
        Name.
    kind : str
        A key of ``KINDS``.
    theirs, ours : float
        γ∞, or for Henry constants the partial pressure per mole fraction. [1] or [Pa]
    believed : bool
        Whether the rows behind it are believed.
    """

    compound: str
    kind: str
    theirs: float
    ours: float
    believed: bool = True

    @property
    def factor(self) -> float:
        """How many times the two differ, at least 1."""
        return math.exp(abs(math.log(self.ours / self.theirs)))


@lru_cache
def read(name: str) -> list[dict[str, str]]:
    """Rows of a reference table."""
    with (DATA / f"{name}.csv").open(newline="", encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


def believed(cas: str, temperature: float) -> bool:
    """Whether a measured row counts. Temperature in °C."""
    return not any(
        cas == other and low <= temperature <= high for other, low, high, _ in NOT_BELIEVED
    )


def rests_on_rows(compound: str) -> bool:
    """Whether the anchor is made of the compiled limiting activity coefficients."""
    return "(Brouwer)" in volatility.grade(compound).anchor


def rests_on_them_alone(compound: str) -> bool:
    """Whether nothing else went into the anchor."""
    anchor = volatility.grade(compound).anchor
    return anchor.startswith("measured gamma_inf")


Rows = dict[tuple[str, float], list[tuple[float, float]]]


def rows_by_compound() -> Rows:
    """(°C, γ∞) of each (cas, x), in the order of the compilation, those not believed too."""
    found: Rows = defaultdict(list)
    for row in read("limiting_activity_coefficients"):
        key = (row["cas"], float(row["ethanol_mole_fraction"]))
        found[key].append((float(row["temperature_c"]), float(row["gamma"])))
    return found


def series_of(rows: Iterable[tuple[float, float]]) -> list[list[tuple[float, float]]]:
    """Split rows where the temperature falls: so one source's rows follow each other."""
    found: list[list[tuple[float, float]]] = []
    for temperature, gamma in rows:
        if not found or temperature < found[-1][-1][0]:
            found.append([])
        found[-1].append((temperature, gamma))
    return found


def _series() -> Iterator[Comparison]:
    for (cas, x), rows in rows_by_compound().items():
        if x > 0.0 or not rests_on_rows(cas):
            continue
        hot = [
            [gamma for temperature, gamma in one if temperature >= HOT]
            for one in series_of(item for item in rows if believed(cas, item[0]))
        ]
        hot = [one for one in hot if one]
        for place, left_out in enumerate(hot):
            rest = [gamma for other, one in enumerate(hot) if other != place for gamma in one]
            if rest:
                name = volatility.grade(cas).compound
                yield Comparison(name, "series", float(np.median(left_out)), float(np.median(rest)))


def _rows(kind: str) -> Iterator[Comparison]:
    """Rows that are no anchor: in ethanol, or in water of compounds anchored by other data."""
    for (cas, x), rows in rows_by_compound().items():
        if (x > 0.0) != (kind == "ethanol"):
            continue
        for good in (True, False):
            chosen = [item for item in rows if believed(cas, item[0]) is good]
            if not chosen or (kind == "other" and good and rests_on_rows(cas)):
                continue
            kelvin = np.clip(np.array([item[0] + 273.15 for item in chosen]), 298.15, 385.0)
            ours = volatility.limiting_activity_coefficient(cas, np.full_like(kelvin, x), kelvin)
            theirs = float(np.median([item[1] for item in chosen]))
            name = volatility.grade(cas).compound
            yield Comparison(name, kind, theirs, float(np.median(np.asarray(ours))), good)


def _henry() -> Iterator[Comparison]:
    found = volatility_tables.tables()
    for row in found.rows:
        if not rests_on_them_alone(row.name):
            continue
        constant = henry(row.name)
        if constant.source in OWN_CONSTANTS or constant.slope_basis != "table":
            continue
        rise = math.exp(constant.slope * (1.0 / HENRY_TEMPERATURE - 1.0 / 298.15))
        place = found.index[row.cas]
        pressure = volatility_tables.ln_pressure(
            found.pressure_coefficients[[place]], np.array([HENRY_TEMPERATURE])
        )
        gamma = volatility.limiting_activity_coefficient(row.name, 0.0, HENRY_TEMPERATURE)
        yield Comparison(
            row.name,
            "Henry",
            WATER_CONCENTRATION / (constant.constant * rise),
            gamma * float(np.exp(pressure[0, 0])),
        )


@dataclass(frozen=True, slots=True)
class SetComparison:
    """K by one published binary parameter set beside ours.

    Parameters
    ----------
    compound, cas, model : str
        What, and by which kind of set.
    x : float
        Ethanol mole fraction of the liquid.
    ratio : float
        Theirs over ours.
    counts : bool
        Whether the set is believed there.
    """

    compound: str
    cas: str
    model: str
    x: float
    ratio: float
    counts: bool

    @property
    def factor(self) -> float:
        """How many times the two differ, at least 1."""
        return max(self.ratio, 1.0 / self.ratio)


def against_sets() -> list[SetComparison]:
    """K of published binary parameter sets beside ours; acids are left out."""
    found = []
    for row in read("binary_model_k"):
        cas, x = row["cas"], float(row["ethanol_mole_fraction"])
        if cas in ASSOCIATED:
            continue
        ours = volatility.k_value(cas, x, float(row["pressure_kpa"]) * 1e3)
        name = volatility.grade(cas).compound
        counts = x >= SETS_COUNT_FROM.get(cas, 0.0)
        found.append(SetComparison(name, cas, row["model"], x, float(row["k"]) / ours, counts))
    return found


def independent() -> list[Comparison]:
    """Every comparison with what had no part in the anchor."""
    return [*_series(), *_rows("other"), *_henry(), *_rows("ethanol")]


def by_compound(comparisons: Iterable[Comparison]) -> dict[tuple[str, str], float]:
    """Median factor of each compound and kind, so that much-measured ones do not outweigh."""
    found: dict[tuple[str, str], list[float]] = defaultdict(list)
    for one in comparisons:
        found[one.compound, one.kind].append(one.factor)
    return {key: float(np.median(factors)) for key, factors in found.items()}


def score(*kinds: str, all_rows: bool = False) -> tuple[int, float, float]:
    """Count, median and worst factor of the comparisons of some kinds, one a compound and kind."""
    chosen = [one for one in independent() if one.kind in kinds and (all_rows or one.believed)]
    factors = list(by_compound(chosen).values())
    return len(factors), float(np.median(factors)), max(factors)
