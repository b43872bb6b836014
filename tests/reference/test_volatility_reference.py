# SPDX-License-Identifier: MIT
"""Volatility against published numbers; the same comparison is in docs/validation."""

from __future__ import annotations

import csv
import importlib.util
import math
import sys
from collections import defaultdict
from functools import lru_cache
from itertools import pairwise
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from chemicals import MW
from chemicals.elements import molecular_weight, nested_formula_parser

from middlecut.liquid import compounds, volatility

DATA = Path(__file__).parent / "data"
ATMOSPHERE = 101325.0

# recommended_k.csv: differ on purpose, see its sidecar.
CHANGED = {
    "25773-40-4": "2-isopropyl-3-methoxypyrazine: its Henry constant is not believed",
    "121-33-5": "vanillin: a group pair is missing in the model of the reference",
    "119-36-8": "methyl salicylate: likewise",
    "134-20-3": "methyl anthranilate: likewise",
    "3268-49-3": "methional: likewise",
    "64-19-7": "acetic acid: the reference takes the whole vapour pressure, dimers and all",
    "79-09-4": "propanoic acid: likewise",
    "107-92-6": "butanoic acid: likewise",
    "503-74-2": "3-methylbutanoic acid: likewise",
    "142-62-1": "hexanoic acid: likewise",
    "124-07-2": "octanoic acid: likewise",
}


@lru_cache
def scores() -> ModuleType:
    """Return the comparisons that docs/validation/volatility.md shows."""
    path = Path(__file__).resolve().parents[2] / "tools" / "volatility_scores.py"
    spec = importlib.util.spec_from_file_location("volatility_scores", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["volatility_scores"] = module  # dataclasses look their module up
    spec.loader.exec_module(module)
    return module


@lru_cache
def rows(name: str) -> list[dict[str, str]]:
    with (DATA / f"{name}.csv").open(newline="", encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


def factor(ours: float, theirs: float) -> float:
    return math.exp(abs(math.log(ours / theirs)))


def recommended_errors(row: dict[str, str]) -> list[float]:
    keys = [key for key in row if key.startswith("K_x")]
    x = np.array([float(key.removeprefix("K_x")) for key in keys])
    ours = volatility.k_value(row["cas"], x, ATMOSPHERE)
    return [factor(value, float(row[key])) for value, key in zip(ours, keys, strict=True)]


def test_all_117_recommended_compounds_exist_under_their_names() -> None:
    assert len(rows("recommended_k")) == 117
    for row in rows("recommended_k"):
        assert compounds.find(row["compound"]).cas == row["cas"]


@pytest.mark.parametrize(
    "row",
    [row for row in rows("recommended_k") if row["cas"] not in CHANGED],
    ids=lambda row: row["compound"],
)
def test_recommended_k(row: dict[str, str]) -> None:
    # Same method and sources by another program: 0.5 % of printed rounding, up to 0.3 % of the
    # vapour-pressure fit and 0.1 K of another bubble-point model; 1.05 leaves room for methanol,
    # which is moved to its measured anchor here (2.6 %).
    assert max(recommended_errors(row)) <= (1.03 if row["compound"] == "methanol" else 1.012)


def test_recommended_k_median() -> None:
    errors = [error for row in rows("recommended_k") for error in recommended_errors(row)]
    assert np.median(errors) <= 1.002


def measured() -> dict[tuple[str, float], list[tuple[float, float]]]:
    """Believed (°C, γ∞) rows of each compound and solvent: hot ones, or all where none is hot."""
    found: dict[tuple[str, float], list[tuple[float, float]]] = defaultdict(list)
    for row in rows("limiting_activity_coefficients"):
        temperature = float(row["temperature_c"])
        if not scores().believed(row["cas"], temperature):
            continue
        key = (row["cas"], float(row["ethanol_mole_fraction"]))
        found[key].append((temperature, float(row["gamma"])))
    return {
        key: [item for item in items if item[0] >= 60.0] or items for key, items in found.items()
    }


def measured_error(cas: str, x: float, items: list[tuple[float, float]]) -> float:
    kelvin = np.clip(np.array([item[0] + 273.15 for item in items]), 298.15, 385.0)
    ours = volatility.limiting_activity_coefficient(cas, np.full_like(kelvin, x), kelvin)
    return factor(float(np.median(np.asarray(ours))), float(np.median([item[1] for item in items])))


@pytest.mark.parametrize(("cas", "x"), sorted(measured()))
def test_measured_limiting_activity_coefficient(cas: str, x: float) -> None:
    # At most the compound's own stated uncertainty at 95 %. In water most anchors are the middle
    # of these very rows, so there it only shows that the anchor arrives; in ethanol it is a test.
    grade = volatility.grade(cas)
    limit = (grade.factor if x > 0.0 else grade.water_factor) ** 1.96
    assert measured_error(cas, x, measured()[cas, x]) <= limit


@pytest.mark.parametrize(
    ("kinds", "least"),
    [
        (("series", "other", "Henry", "ethanol"), 35),
        # Without the series, which show how measurements repeat rather than what ours is worth.
        (("other", "Henry", "ethanol"), 20),
    ],
)
def test_goal_on_rows_that_had_no_part_in_the_anchors(kinds: tuple[str, ...], least: int) -> None:
    # DESIGN section 10: median factor at most 1.25. Brouwer et al. 2021 and Henry constants.
    count, median, _ = scores().score(*kinds)
    assert count >= least
    assert median <= 1.25


def test_goal_is_missed_where_compounds_rest_on_henry_constants() -> None:
    # Three cresols, measured at 25 to 35 °C, anchored by a Henry constant at 100 °C: the page says
    # "missed". If better data mend them, the page and this test are to say so.
    _, median, worst = scores().score("other")
    assert 1.25 < median < 3.0
    assert worst <= volatility.grade("p-cresol").factor ** 1.96


def test_independent_comparisons_lie_within_the_bands() -> None:
    for one in scores().independent():
        if one.believed and one.kind != "series":
            assert one.factor <= volatility.grade(one.compound).factor ** 1.96, one


def test_no_anchor_scores_itself() -> None:
    # A Henry constant that went into an anchor, and rows that did, are no independent evidence.
    found = {(one.compound, one.kind) for one in scores().independent() if one.believed}
    assert ("butanoic acid", "Henry") not in found
    assert ("dimethyl sulfide", "Henry") not in found
    assert ("ethyl acetate", "other") not in found
    assert ("furfural", "Henry") not in found  # made of a solubility
    one = next(one for one in scores().independent() if one.compound == "acetone")
    assert one.ours != volatility.limiting_activity_coefficient("acetone", 0.0, 350.0)


def test_published_sets_lie_within_the_bands() -> None:
    # K from NRTL and UNIQUAC sets (see binary_model_k.toml), over the whole range of composition
    # but for ethyl and butyl acetate, whose sets contradict measurements in water.
    counted = [one for one in scores().against_sets() if one.counts]
    assert len(counted) >= 200
    for one in counted:
        assert one.factor <= volatility.grade(one.cas).factor ** 1.96, one
    # The bands are no wider than the sets ask for, where sets alone set them.
    for name in ("3-methyl-1-butanol", "ethyl acetate", "isobutanol", "2-propanol"):
        worst = max(one.factor for one in counted if one.compound == name)
        assert volatility.grade(name).factor ** 1.96 <= 1.1 * worst


def test_sets_left_out_contradict_measurements_in_water() -> None:
    # Hot rows of the compilation in water: all of them are nearer to ours than to any set.
    for cas in scores().SETS_COUNT_FROM:
        at_water = [one for one in scores().against_sets() if one.cas == cas and one.x == 0.0]
        assert len(at_water) == 2
        assert all(not one.counts for one in at_water)
        nearest = max(one.ratio for one in at_water)
        anchor = volatility.limiting_activity_coefficient(cas, 0.0, 350.0)
        hot = [gamma for celsius, gamma in measured()[cas, 0.0] if celsius >= 60.0]
        assert len(hot) >= 5
        assert all(gamma > anchor * math.sqrt(nearest) for gamma in hot)


def test_hot_rows_scatter_around_ours_as_measurements_do() -> None:
    errors = [
        factor(volatility.limiting_activity_coefficient(cas, x, 350.0), gamma)
        for (cas, x), items in measured().items()
        if volatility.grade(cas).grade == "A"
        for _, gamma in items
    ]
    assert len(errors) > 200
    assert np.median(errors) <= 1.15  # the one-sigma factor of grade A


@pytest.mark.parametrize(
    ("name", "limit"), [("methanol", 1.10), ("acetone", 1.30), ("isobutanol", 1.45)]
)
def test_middle_of_the_range_against_binary_sets(name: str, limit: float) -> None:
    # NRTL and UNIQUAC sets fitted by others to binary equilibrium data, x 0.05 to 0.9. The limits
    # are the scatter between the sets themselves; pairs that split into two liquids are left out.
    cas = compounds.find(name).cas
    errors = [
        factor(
            volatility.k_value(cas, float(row["ethanol_mole_fraction"]), ATMOSPHERE),
            float(row["k"]),
        )
        for row in rows("binary_model_k")
        if row["cas"] == cas and 0.05 <= float(row["ethanol_mole_fraction"]) <= 0.9
    ]
    assert len(errors) >= 20
    assert max(errors) <= limit


SERIES: dict[str, tuple[tuple[str, int], ...]] = {
    "1-alkanols": (("methanol", 1), ("1-propanol", 3), ("1-butanol", 4), ("1-hexanol", 6),
                   ("1-octanol", 8)),
    "ethyl esters": (("ethyl formate", 1), ("ethyl acetate", 2), ("ethyl propanoate", 3),
                     ("ethyl butanoate", 4), ("ethyl hexanoate", 6), ("ethyl octanoate", 8),
                     ("ethyl decanoate", 10), ("ethyl dodecanoate", 12)),
    "acetates": (("methyl acetate", 1), ("ethyl acetate", 2), ("butyl acetate", 4),
                 ("hexyl acetate", 6)),
    "branched acetates": (("isobutyl acetate", 4), ("isoamyl acetate", 5)),
    "branched alcohols": (("isobutanol", 4), ("3-methyl-1-butanol", 5)),
    "acids": (("acetic acid", 2), ("butanoic acid", 4), ("hexanoic acid", 6),
              ("octanoic acid", 8), ("decanoic acid", 10)),
    "aldehydes": (("acetaldehyde", 2), ("hexanal", 6), ("nonanal", 9)),
    "methoxypyrazines": (("2-isopropyl-3-methoxypyrazine", 3), ("2-isobutyl-3-methoxypyrazine", 4)),
    "guaiacols": (("guaiacol", 0), ("4-methylguaiacol", 1), ("4-ethylguaiacol", 2)),
    "phenols": (("p-cresol", 1), ("4-ethylphenol", 2)),
    "lactones": (("gamma-nonalactone", 9), ("gamma-decalactone", 10)),
    "furfurals": (("furfural", 0), ("5-methylfurfural", 1)),
}  # fmt: skip
# Where γ∞ in water does not grow by a factor 2 to 4 for each CH2: what the data say, with why.
KNOWN_BREAKS = {
    ("ethyl formate", "ethyl acetate"): "the first member of a series stands apart; both measured",
    (
        "2-isopropyl-3-methoxypyrazine",
        "2-isobutyl-3-methoxypyrazine",
    ): "the former is set to a third in K, which is a fifth in γ∞; grade D",
    ("ethyl decanoate", "ethyl dodecanoate"): "one Henry constant each, grade C",
    ("hexanoic acid", "octanoic acid"): "sources disagree, grades C? and C-",
    ("hexanal", "nonanal"): "hexanal rests on one cold row, grade B-",
    ("guaiacol", "4-methylguaiacol"): "Henry constants of different sources, grades C+ and C",
    ("4-methylguaiacol", "4-ethylguaiacol"): "the latter is a solubility from memory, grade C-",
    ("gamma-nonalactone", "gamma-decalactone"): "the latter is a bare prediction, grade D",
}


def growth_per_methylene(lower: tuple[str, int], upper: tuple[str, int]) -> float:
    ratio = volatility.limiting_activity_coefficient(
        upper[0], 0.0, 373.0
    ) / volatility.limiting_activity_coefficient(lower[0], 0.0, 373.0)
    return float(ratio ** (1.0 / (upper[1] - lower[1])))


def test_homologues_break_only_where_it_is_known() -> None:
    breaks = set()
    for members in SERIES.values():
        for lower, upper in pairwise(members):
            if not 2.0 <= growth_per_methylene(lower, upper) <= 4.0:
                breaks.add((lower[0], upper[0]))
    assert breaks == set(KNOWN_BREAKS)


def test_k_of_homologues_grows_gently_at_the_water_end() -> None:
    # γ∞ grows about threefold and the vapour pressure halves for each CH2, so K itself grows by
    # 1.2 to 2.5; outside stand the first esters, esters beyond C10 and the acids (see above).
    for series in ("1-alkanols", "branched acetates", "branched alcohols"):
        members = SERIES[series]
        for lower, upper in pairwise(members):
            ratio = volatility.k_value(upper[0], 0.0, ATMOSPHERE) / volatility.k_value(
                lower[0], 0.0, ATMOSPHERE
            )
            assert 1.1 <= ratio ** (1.0 / (upper[1] - lower[1])) <= 2.5


# Not in the library; their formulas are from memory.
NOT_IN_LIBRARY = {
    "cis-whisky lactone",
    "rotundone",
    "6-gingerol",
    "vescalagin",
    "aspalathin",
    "delphinidin-3-sambubioside",
    "limonin",
}


@pytest.mark.parametrize("name", compounds.names())
def test_molar_mass_is_the_librarys_and_fits_the_formula(name: str) -> None:
    compound = compounds.find(name)
    by_formula = molecular_weight(nested_formula_parser(compound.formula)) / 1000.0
    # Printed to eight figures; atomic weights of the library's releases agree to 1e-5.
    assert compound.molar_mass == pytest.approx(by_formula, rel=2e-5)
    if name not in NOT_IN_LIBRARY:
        assert compound.molar_mass == pytest.approx(MW(compound.cas) / 1000.0, rel=2e-5)
