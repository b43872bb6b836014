# SPDX-License-Identifier: MIT
"""Volatility against published numbers; the same comparison is in docs/validation."""

from __future__ import annotations

import csv
import math
from collections import defaultdict
from functools import lru_cache
from itertools import pairwise
from pathlib import Path

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
}
# limiting_activity_coefficients.csv: not believed, see its sidecar; (cas, coldest, hottest °C).
NOT_BELIEVED = (
    ("75-18-3", 98.0, 101.0),  # dimethyl sulfide
    ("66-25-1", 98.0, 101.0),  # hexanal
    ("590-86-3", 98.0, 101.0),  # 3-methylbutanal
    ("96-17-3", 98.0, 101.0),  # 2-methylbutanal
    ("100-52-7", 98.0, 101.0),  # benzaldehyde
    ("122-78-1", 98.0, 101.0),  # phenylacetaldehyde
    ("108-95-2", 0.0, 40.0),  # phenol
    ("111-87-5", 0.0, 17.0),  # 1-octanol
)


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
        if any(row["cas"] == cas and low <= temperature <= high for cas, low, high in NOT_BELIEVED):
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
    limit = volatility.grade(cas).factor ** 1.96
    assert measured_error(cas, x, measured()[cas, x]) <= limit


def test_measured_limiting_activity_coefficients_median() -> None:
    errors = [measured_error(cas, x, items) for (cas, x), items in measured().items()]
    assert len(errors) >= 30
    assert np.median(errors) <= 1.25  # DESIGN section 10
    in_ethanol = [measured_error(*key, items) for key, items in measured().items() if key[1] > 0]
    assert len(in_ethanol) == 3
    assert np.median(in_ethanol) <= 1.25


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
    ("acetic acid", "butanoic acid"): "the first member stands apart; butanoic is one cold row",
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
