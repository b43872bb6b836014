# SPDX-License-Identifier: MIT
"""Thresholds, Henry constants and solubilities against published and independent numbers."""

from __future__ import annotations

import csv
import importlib.util
import math
from functools import lru_cache
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from middlecut.insight.odour import OdourProfile
from middlecut.liquid import aroma, compounds, volatility_tables

DATA = Path(__file__).parent / "data"
ROOT = Path(__file__).resolve().parents[2]


@lru_cache
def rows(name: str) -> list[dict[str, str]]:
    with (DATA / f"{name}.csv").open(newline="", encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


@lru_cache
def scores() -> ModuleType:
    """Return the comparisons that docs/validation/flavour.md shows."""
    path = Path(__file__).resolve().parents[2] / "tools" / "flavour_scores.py"
    spec = importlib.util.spec_from_file_location("flavour_scores", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def profile(spirit: str) -> OdourProfile:
    found: OdourProfile = scores().profile(spirit)
    return found


def test_malt_whisky_is_led_by_its_ethyl_esters() -> None:
    # Levels: Belitz et al. 2009, table 20.28. Thresholds in 40 %: Poisson and Schieberle 2008, as
    # recalled, who found ethyl butanoate, hexanoate and octanoate among the 13 odorants of highest
    # OAV of a bourbon, and isoamyl alcohol, 2-phenylethanol and guaiacol not.
    order = [row.compound for row in profile("malt").rows]
    leading = {"ethyl butanoate", "ethyl hexanoate", "ethyl octanoate"}
    assert set(order[:3]) == leading
    assert order.index("isoamyl acetate") < order.index("3-methyl-1-butanol")
    assert set(order[-2:]) == {"2-phenylethanol", "guaiacol"}


@pytest.mark.parametrize("row", scores().rows("threshold"), ids=lambda row: row["compound"])
def test_malt_whisky_oav(row: dict[str, str]) -> None:
    # Level of table 20.28 in µg/L over the recalled threshold in 40 %, by hand.
    found = {one.compound: one for one in profile("malt").rows}[row["compound"]]
    assert found.oav == pytest.approx(scores().published_oav(row), rel=1e-6)
    assert found.medium == "40 % vol"
    assert found.threshold_basis == "memory"


def test_bourbon_smells_more_of_the_wood_than_malt_does() -> None:
    # Vanillin 2.13 against 0.68 mg/L, eugenol only there: table 20.28.
    found = {
        spirit: {row.compound: row.oav for row in profile(spirit).rows}
        for spirit in ("malt", "bourbon")
    }
    ratio = found["bourbon"]["vanillin"] / found["malt"]["vanillin"]
    assert ratio == pytest.approx(2.13 / 0.68, rel=1e-6)
    assert max(found["bourbon"], key=lambda name: found["bourbon"][name]) == "vanillin"
    assert found["bourbon"]["eugenol"] > found["bourbon"]["isoamyl acetate"]


@pytest.mark.parametrize("temperature", [20, 30])
def test_stripping_losses(temperature: int) -> None:
    # Independent calculation with the same constants: printed to 3 figures, molar volume of CO2
    # taken as R T/P there or here (0.5 %): 1 % together. Constants above 3.0e5 print as 0.
    checked = 0
    for row in rows("stripping_losses"):
        if int(row["temperature_c"]) != temperature or float(row["loss_if_present"]) < 1e-4:
            continue
        present, produced = scores().stripping_losses(row)
        assert present == pytest.approx(float(row["loss_if_present"]), rel=0.01), row
        assert produced == pytest.approx(float(row["loss_if_produced"]), rel=0.01), row
        checked += 1
    assert checked >= 430


@pytest.mark.parametrize("row", rows("solubility_in_spirit"), ids=lambda row: row["compound"])
def test_solubility_in_spirit(row: dict[str, str]) -> None:
    # Printed to 3 figures: 0.5 %.
    found = aroma.solubility(row["compound"], float(row["strength_percent"]) / 100.0)
    assert found * 1e3 == pytest.approx(float(row["solubility"]), rel=0.006)


@lru_cache
def against_unifac() -> list[tuple[str, str, float, float]]:
    """Quality, compound, γ from the Henry constant over modified UNIFAC's and over our anchor."""
    with (ROOT / "tools/data/volatility_sources.csv").open(encoding="utf-8") as stream:
        sources = {row["cas"]: row for row in csv.DictReader(stream)}
    path = ROOT / "src/middlecut/liquid/tables/ln_gamma_model.csv"
    model = {}
    for line in path.read_text(encoding="utf-8").splitlines()[1:]:
        cas, temperature, at_water = line.split(",")[:3]
        if temperature == "298.150":
            model[cas] = float(at_water)
    found = []
    for name in compounds.volatile_names():
        item, row = aroma.henry(name), sources[compounds.find(name).cas]
        usable = row["vapour_pressure_method"] and row["gamma_water"] and row["cas"] in model
        if not usable or item.source == "volatility.csv":
            continue
        # The fit of the library's correlation, 330 to 385 K, taken down to 25 °C: a few per cent.
        place = volatility_tables.place(name)
        coefficients = volatility_tables.tables().pressure_coefficients[[place]]
        pressure = np.exp(volatility_tables.ln_pressure(coefficients, np.array([298.15])))[0, 0]
        gamma = 55345.0 / item.constant / float(pressure)
        found.append(
            (
                item.quality,
                name,
                gamma / math.exp(model[row["cas"]]),
                gamma / float(row["gamma_water"]),
            )
        )
    return found


@pytest.mark.parametrize(("quality", "by_model", "by_anchor"), [("A", 1.6, 1.5), ("B", 1.9, 1.5)])
def test_henry_constants_against_unifac_and_anchors(
    quality: str, by_model: float, by_anchor: float
) -> None:
    # Two independent ways to γ∞ in water at 25 °C: the Henry constant over the vapour pressure,
    # and a group model. Modified UNIFAC is known within a factor 1.5 to 2 for most of these;
    # the stated factor of the constants is 1.2 (A) and 1.5 (B). The middle must show both.
    chosen = [row for row in against_unifac() if row[0] == quality]
    assert len(chosen) >= 10
    assert math.exp(np.median([abs(math.log(row[2])) for row in chosen])) <= by_model
    assert math.exp(np.median([abs(math.log(row[3])) for row in chosen])) <= by_anchor


def test_acetic_acid_agrees_over_its_monomer() -> None:
    # The Henry constant (quality A: a factor 1.2) over the monomer's pressure against measured
    # limiting activity coefficients, which scatter from 2.9 to 3.65: 1.2 again. Over the whole
    # vapour pressure, dimers and all, the ratio would be 0.2.
    found = {row[1]: row[3] for row in against_unifac()}
    assert found["acetic acid"] == pytest.approx(1.0, rel=0.3)
